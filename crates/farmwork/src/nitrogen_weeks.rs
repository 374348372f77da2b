//! Nitrogen week by week under the plan: what soil and materials let go against what the crop takes up.

use crate::needs::BlockNeeds;
use crate::planning::Made;
use crate::season::Days;
use crate::soil_temperature::SoilYear;
use crate::supply::Choice;
use agronomy::material::{self, Kind, Material, Pass};
use agronomy::nitrogen::{self, Anchor, Covered, Plan, Spreading, Weather, Weeks};
use agronomy::soil::Analyte;
use agronomy::working::{Evidence, Source};
use planner::Nutrient;

/// Planting is taken for the middle of May where no day is set.
pub(crate) const WEEK_OF_PLANTING: u32 = 20;

/// What the published first-season share of a material is held to in the model.
///
/// The source prints a season and no weeks; 26 weeks at 15 °C are taken for one, as for the legal minima of
/// the year of application.
pub(crate) fn anchor(of: &Material) -> Anchor {
    let share = |percent: f64| (percent / 100.0).clamp(0.0, 1.0);
    let mineral = of.kind == Kind::Synthetic;
    Anchor {
        what: of.name.to_lowercase(),
        share: share(of.release.value),
        low: Some(share(of.release.low)),
        high: Some(share(of.release.high)),
        of_organic: false,
        weeks: if mineral { 0.0 } else { 26.0 },
        temp_c: if mineral { 25.0 } else { 15.0 },
        note: "a season is taken as 26 weeks at 15 °C".to_owned(),
        source: of.release.source.clone(),
    }
}

/// The weeks of a block’s crop from planting to harvest; none where no season is held for the crop or no
/// nitrogen is asked.
pub fn of_block(n: &BlockNeeds, made: &Made, choices: &[Choice], soil: &SoilYear) -> Option<Weeks> {
    let crop = n.reading.crop.as_ref()?;
    let line = n.line(Nutrient::N)?;
    let asked = line.asked.filter(|lb| *lb > 0.0)?;
    let uptake = nitrogen::uptake(crop, asked, None).ok()?;
    let weeks = uptake.weeks.ceil() as usize;
    let acres = n.acres();
    if acres <= 0.0 || weeks == 0 {
        return None;
    }
    let block = n.reading.block.id.to_string();
    // Weeks are counted from planting; what went on before it is taken to go on with it.
    let days = Days::of(n);
    let week_of_pass = |key: &str| {
        let pass = Pass::from_key(key).filter(|p| p.beside_the_crop());
        pass.zip(days.as_ref()).map_or(1, |(pass, days)| {
            let after = days.planting.until(days.day(pass));
            after.map_or(0, |s| s.get_days()) / 7 + 1
        })
    };
    let spreadings = made
        .plan
        .amounts
        .iter()
        .filter(|a| a.block == block && a.lb > 0.0)
        .filter_map(|a| {
            let of = &choices
                .iter()
                .find(|c| c.material.id == a.material)?
                .material;
            let total_n = a.lb / acres * material::total(of, "n");
            let mineral = of.kind == Kind::Synthetic;
            (total_n > 0.0).then(|| Spreading {
                anchor: anchor(of),
                total_n,
                ammonium_n: 0.0,
                nitrate_n: if mineral { total_n } else { 0.0 },
                week: week_of_pass(&a.pass),
                covered: Covered::WithinDays(0.0),
                weather: Weather::Average,
            })
        })
        .collect();
    // Cover crop, earlier compost and water are counted as there from the start.
    let there = line
        .credits
        .iter()
        .filter(|(what, _)| !what.contains("organic matter"))
        .map(|(_, lb)| lb)
        .sum();
    let (soil_c, soil_source) = soil.weeks(days.as_ref()?.planting, weeks).ok()?;
    let mut found = nitrogen::weeks(&Plan {
        spreadings,
        organic_matter_pct: n
            .reading
            .line(Analyte::OrganicMatter)
            .map(|l| l.measured.value),
        mineral_n: there,
        uptake: Some(uptake),
        first_week: 1,
        soil_c,
        soil_source,
    })
    .ok()?;
    found.sources.push(Source::new(
        "what goes on before or at planting worked in then, the rest in its week; credits beside organic matter counted as there from the start; a first-season share taken as 26 weeks at 15 °C",
        Evidence::CommonPractice,
    ));
    Some(found)
}
