//! What the grower has and can buy, as the planner sees it.

use crate::compost::Composts;
use crate::needs::BlockNeeds;
use crate::record::stock::{self, Moves};
use crate::weights::{stand_in_price, weight};
use crate::{Result, WorkError, season, timing};
use agronomy::material::{self, Analysis, Kind, Material};
use agronomy::soil::Analyte;
use agronomy::working::{Evidence, Source};
use farmbook::{Book, Farm, MaterialChoice, PackPrice};
use planner::Nutrient;
use quantity::Volume;
use std::collections::BTreeSet;

/// A material with what the grower says about it.
#[derive(Debug, Clone)]
pub struct Choice {
    /// With the grower’s own analysis in it, and counted by how it was made.
    pub material: Material,
    pub choice: MaterialChoice,
    /// Why a plan leaves it out although it is ticked; none where it may be used.
    pub left_out: Option<String>,
}

/// The materials the grower ticked, in the order of the table.
///
/// What is on hand is what the record makes it.
pub fn chosen(book: &Book) -> Result<Vec<Choice>> {
    chosen_by(book, &Moves::of(book)?)
}

/// The same with what is on hand by other moves.
pub(crate) fn chosen_by(book: &Book, moves: &Moves) -> Result<Vec<Choice>> {
    let farm = book.farm()?;
    let choices = book.materials()?;
    let composts = Composts::of(book)?;
    let mut all = Vec::new();
    for generic in material::materials() {
        let Some(choice) = choices.iter().find(|c| c.material == generic.id) else {
            continue;
        };
        if !choice.use_it {
            continue;
        }
        let material = composts.counted(own_analysis(generic, choice)?);
        let left_out = left_out(&farm, &material);
        let mut choice = choice.clone();
        stock::bring_up(&mut choice, moves);
        all.push(Choice {
            material,
            choice,
            left_out,
        });
    }
    Ok(all)
}

pub(crate) fn own_analysis(generic: &Material, choice: &MaterialChoice) -> Result<Material> {
    match &choice.analysis_override {
        None => Ok(generic.clone()),
        Some(stored) => {
            let own: Analysis = serde_json::from_value(stored.clone())
                .map_err(|e| WorkError::Stored("analysis", e.to_string()))?;
            Ok(generic.with_analysis(
                &own,
                Source::new("the label or test you entered", Evidence::Local),
            ))
        }
    }
}

/// Why a material may not be planned with on this farm.
pub fn left_out(farm: &Farm, material: &Material) -> Option<String> {
    (farm.organic && !material.rule.may_use()).then(|| {
        format!(
            "{} is not for organic ground ({})",
            material.name,
            material.rule.sentence()
        )
    })
}

/// The analysis as printed on sheets, marked where it is only recalled.
pub fn grade(material: &Material) -> String {
    let grade = material.grade();
    if material.source.evidence.unconfirmed() && !grade.is_empty() {
        format!("{grade}, unconfirmed: see the label")
    } else {
        grade
    }
}

/// Why a material must not go on a block, whatever it brings; none where it may.
pub fn unfit(material: &Material, block: &BlockNeeds) -> Option<String> {
    let ph = block
        .reading
        .line(Analyte::Ph)
        .map(|line| line.measured.value);
    let crop = block.reading.crop.as_ref().map_or("", |c| c.key.as_str());
    let asks_lime = block.line(Nutrient::Lime).is_some_and(|l| l.need > 0.0);
    let free_lime = block.reading.block.free_lime == Some(true);
    if !material.suits(timing::ground(block.reading.block.kind)) {
        return Some(format!(
            "{} stays off standing plants",
            material.name.to_lowercase()
        ));
    }
    match material.id.as_str() {
        "wood_ash" if matches!(crop, "potato" | "blueberry") => {
            Some("wood ash stays off potato and blueberry ground".to_owned())
        }
        "wood_ash" if !asks_lime => Some("wood ash goes only where lime is asked for".to_owned()),
        "rock_phos_hard" | "rock_phos_soft" if free_lime || ph.is_none_or(|ph| ph > 6.2) => {
            Some("rock phosphate gives little except on acid ground".to_owned())
        }
        "sulfur" if free_lime => Some("free lime uses the sulfur up".to_owned()),
        _ => None,
    }
}

/// The packs it is sold in where the grower named none: its usual bags, or a load.
pub fn usual_packs(material: &Material, invented_prices: bool) -> Vec<PackPrice> {
    let per_lb = stand_in_price(&material.id);
    let price = |lb: f64| {
        invented_prices
            .then_some(per_lb)
            .flatten()
            .map(|p| (p * lb * 100.0).round() / 100.0)
    };
    let pack = |label: String, lb: f64| PackPrice {
        label,
        lb,
        price: price(lb),
        invented: invented_prices,
        ..PackPrice::default()
    };
    // One size to begin with: two sizes of one price only make a plan look busy.
    if let Some(lb) = material.bags_lb.first() {
        return vec![pack(format!("{} lb bag", quantity::plain(*lb, 4)), *lb)];
    }
    match (&material.kind, &material.density) {
        (Kind::Compost | Kind::Plant | Kind::Mulch, Some(([_, middle, _], _))) => {
            let lb = (middle * Volume::cubic_yards(1.0).to_cubic_feet()).round();
            vec![pack("cubic yard".to_owned(), lb)]
        }
        _ => vec![pack("ton load".to_owned(), 2_000.0)],
    }
}

/// The largest bag it is bought in; none for loads and yards.
pub(crate) fn bag(choices: &[Choice], id: &str) -> Option<f64> {
    let choice = choices.iter().find(|c| c.material.id == id)?;
    let packs = if choice.choice.packs.is_empty() {
        usual_packs(&choice.material, false)
    } else {
        choice.choice.packs.clone()
    };
    packs
        .iter()
        .map(|p| p.lb)
        .filter(|lb| *lb <= 100.0)
        .reduce(f64::max)
}

/// What the scale can show for a material: half an ounce-fine where a little is too much.
fn weigh_step(material: &Material) -> f64 {
    match material.kind {
        Kind::Micronutrient => 1.0 / 16.0,
        Kind::Compost | Kind::Manure | Kind::Mulch => 5.0,
        _ => 0.25,
    }
}

const COUNTED: [(Nutrient, &str); 12] = [
    (Nutrient::N, "n"),
    (Nutrient::P2o5, "p2o5"),
    (Nutrient::K2o, "k2o"),
    (Nutrient::Sulfur, "sulfur"),
    (Nutrient::Ca, "ca"),
    (Nutrient::Mg, "mg"),
    (Nutrient::S, "s"),
    (Nutrient::B, "b"),
    (Nutrient::Zn, "zn"),
    (Nutrient::Mn, "mn"),
    (Nutrient::Cu, "cu"),
    (Nutrient::Fe, "fe"),
];

const METALS: [Nutrient; 4] = [Nutrient::Zn, Nutrient::Mn, Nutrient::Cu, Nutrient::Fe];

/// Whether what the analysis gives can be taken up in the first season.
fn ready(of: &Material) -> bool {
    matches!(
        of.kind,
        Kind::Micronutrient | Kind::Mineral | Kind::Synthetic
    )
}

/// lb of each nutrient that some block asks about, per lb of the material.
pub(crate) fn brings(of: &Material, asked: &BTreeSet<Nutrient>) -> Vec<(Nutrient, f64)> {
    let mut all: Vec<(Nutrient, f64)> = COUNTED
        .into_iter()
        // What acidifies is sulfur that the crop has yet to wait for.
        .filter(|(n, _)| !(*n == Nutrient::S && of.kind == Kind::Acid))
        // Metals in organic matter are given as totals, of which a crop finds little.
        .filter(|(n, _)| !METALS.contains(n) || ready(of))
        .filter_map(|(nutrient, key)| Some((nutrient, material::supplied(of, key).ok()?.value)))
        .filter(|(nutrient, share)| *share > 0.0 && asked.contains(nutrient))
        .collect();
    if asked.contains(&Nutrient::Lime) {
        all.extend(season::lime_share(of).map(|share| (Nutrient::Lime, share)));
    }
    all
}

/// The planner’s view of one choice.
pub(crate) fn for_planner(
    choice: &Choice,
    most_here: Option<f64>,
    asked: &BTreeSet<Nutrient>,
) -> planner::Material {
    let material = &choice.material;
    let packs = if choice.choice.packs.is_empty() {
        usual_packs(material, false)
    } else {
        choice.choice.packs.clone()
    };
    let most = [material.most.as_ref().map(|m| m.lb_per_acre), most_here]
        .into_iter()
        .flatten()
        .reduce(f64::min);
    planner::Material {
        id: material.id.clone(),
        name: material.name.clone(),
        supplies: brings(material, asked),
        packs: packs
            .into_iter()
            .map(|p| planner::Pack {
                price: p.price.unwrap_or_else(|| {
                    stand_in_price(&material.id).unwrap_or_else(|| weight("trip")) * p.lb
                }),
                label: p.label,
                lb: p.lb,
                supplier: p.supplier.map(|id| id.to_string()).unwrap_or_default(),
                least_count: p.least_count.unwrap_or_default(),
                breaks: p
                    .breaks
                    .into_iter()
                    .map(|b| planner::PriceBreak {
                        from_count: b.from_count,
                        price: b.price,
                    })
                    .collect(),
            })
            .collect(),
        stock_lb: choice.choice.stock_lb,
        lots: choice
            .choice
            .lots
            .iter()
            .map(|l| planner::Lot {
                id: l.lot.clone(),
                lb: l.lb,
            })
            .collect(),
        least_even_lb_per_acre: material
            .least_even_lb_per_acre
            .unwrap_or(0.0)
            .min(most.unwrap_or(f64::MAX)),
        most_lb_per_acre: most,
        weigh_step_lb: weigh_step(material),
        ..planner::Material::default()
    }
}

/// The materials to begin with: what such a farm usually buys. The grower changes the ticks.
pub fn usual(organic: bool) -> &'static [&'static str] {
    if organic {
        &[
            "compost_general",
            "feather_meal",
            "blood_meal",
            "alfalfa_meal",
            "fish_scrap",
            "litter_pellet",
            "bone_steamed",
            "k_sulfate",
            "langbeinite",
            "lime_calcitic",
            "lime_dolomitic",
            "sulfur",
        ]
    } else {
        &[
            "compost_general",
            "urea",
            "amm_sulfate",
            "ca_nitrate",
            "map",
            "tsp",
            "kcl",
            "k_sulfate",
            "npk_10_10_10",
            "lime_calcitic",
            "lime_dolomitic",
            "sulfur",
        ]
    }
}

/// Ticks the usual materials with their usual packs, leaving what is set already as it is.
pub fn tick_usual(book: &mut Book, invented_prices: bool) -> Result<()> {
    let farm = book.farm()?;
    for id in usual(farm.organic) {
        if book.material(id)?.is_some() {
            continue;
        }
        if let Some(material) = material::find(id) {
            let mut choice = MaterialChoice::new(*id);
            choice.use_it = true;
            choice.packs = usual_packs(material, invented_prices);
            book.set_material(&choice)?;
        }
    }
    Ok(())
}
