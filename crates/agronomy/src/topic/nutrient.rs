//! Nutrients, materials and credits.

use super::Topic;
use super::field::named;
use super::inputs::{Inputs, Key, TopicError};
use crate::constant::Constant;
use crate::crop;
use crate::material;
use crate::nitrogen::{self, CoverCrop, Irrigation, Past};
use crate::table;
use crate::working::{Figure, Source};
use quantity::plain;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::OnceLock;

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "grade",
        about: "lb of a fertilizer that brings a target of a nutrient, from its grade.",
        keys: &[
            Key::needed("target", "lb of the nutrient"),
            Key::needed("percent", "the nutrient in the bag, percent of weight"),
            Key::maybe(
                "available",
                "how much of it counts this season, percent; 100 where not given",
            ),
        ],
        example: "target=1 percent=28",
        run: grade,
    },
    Topic {
        name: "material",
        about: "lb of a named material for a target of a nutrient, counting what is available.",
        keys: &[
            Key::needed(
                "material",
                "a material’s key, see `spadework tables materials`",
            ),
            Key::needed(
                "nutrient",
                "n, p2o5, k2o, lime, sulfur, ca, mg, s, b, zn, mn, cu, fe",
            ),
            Key::needed("target", "lb of the nutrient"),
            Key::maybe(
                "area",
                "the ground it goes on with its unit, to hold the amount against the most that may go on",
            ),
        ],
        example: "material=feather_meal nutrient=n target=2.5",
        run: material_amount,
    },
    Topic {
        name: "oxide",
        about: "An element as its oxide or carbonate, or back.",
        keys: &[
            Key::needed("amount", "how much, in any unit of weight or percent"),
            Key::needed(
                "from",
                "P, K, Ca, Mg, P2O5, K2O, CaO, MgO, CaCO3, MgCO3, N, NO3, NH4, S or SO4",
            ),
            Key::needed("to", "the same list"),
        ],
        example: "amount=10 from=P to=P2O5",
        run: oxide,
    },
    Topic {
        name: "nitrogen",
        about: "Nitrogen for a crop after the credits given.",
        keys: &[
            Key::needed("crop", "a crop’s key, see `spadework tables crops`"),
            Key::maybe("organic_matter", "soil organic matter, percent"),
            Key::maybe("cover_crop", "a kind, see `spadework tables cover-crops`"),
            Key::maybe("dry_lb", "cover crop dry matter, lb/acre"),
            Key::maybe("cover_n", "nitrogen in its dry matter, percent"),
            Key::maybe("water_ppm", "nitrate nitrogen in irrigation water, ppm"),
            Key::maybe("water_inches", "irrigation in the season, inches"),
            Key::maybe(
                "previous",
                "what grew last year, see `spadework tables previous-crops`",
            ),
            Key::maybe(
                "residue",
                "a crop of the same year whose residues stay, its key",
            ),
            Key::maybe("residue_part", "how that crop was grown, such as bunching"),
            Key::maybe(
                "nitrate_ppm",
                "nitrate nitrogen in the top 12 inches just before sidedressing, ppm; it takes the place of the rest",
            ),
            Key::maybe("manured", "yes where manure went on for this crop"),
            Key::maybe("yield", "the harvest you expect, lb/acre of fresh weight"),
        ],
        example: "crop=broccoli organic_matter=3.2 cover_crop=annual_legume_flowering",
        run: nitrogen_need,
    },
    Topic {
        name: "irrigation-nitrogen",
        about: "Nitrogen that irrigation water brings.",
        keys: &[
            Key::needed("ppm", "nitrate nitrogen in the water, ppm"),
            Key::needed("inches", "acre-inches of water"),
        ],
        example: "ppm=20 inches=24",
        run: irrigation,
    },
    Topic {
        name: "cover-crop-nitrogen",
        about: "Nitrogen that a cover crop leaves to the next crop.",
        keys: &[
            Key::needed("kind", "a kind, see `spadework tables cover-crops`"),
            Key::maybe("dry_lb", "dry matter, lb/acre"),
            Key::maybe("n", "nitrogen in the dry matter, percent"),
            Key::maybe("surface", "yes where it is left on the surface"),
        ],
        example: "kind=annual_legume_flowering dry_lb=3400 n=3.2",
        run: cover_crop,
    },
    Topic {
        name: "manure-nitrogen",
        about: "Available nitrogen in a manure from its analysis.",
        keys: &[
            Key::needed("total", "total nitrogen, lb/ton"),
            Key::needed("ammonium", "ammonium nitrogen, lb/ton"),
            Key::maybe("nitrate", "nitrate nitrogen, lb/ton"),
            Key::needed(
                "organic_share",
                "share of organic nitrogen released, 0 to 1",
            ),
            Key::needed(
                "ammonium_kept",
                "share of ammonium not lost to the air, 0 to 1",
            ),
        ],
        example: "total=21 ammonium=8 organic_share=0.25 ammonium_kept=0.66",
        run: manure,
    },
    Topic {
        name: "earlier-nitrogen",
        about: "Nitrogen left from compost or manure of earlier years.",
        keys: &[
            Key::needed("total", "total nitrogen spread then, lb/acre"),
            Key::needed("years_ago", "1, 2 or 3"),
            Key::maybe("compost", "yes for compost, no for other organic material"),
            Key::maybe(
                "manure",
                "cow, sheep, swine, horse or poultry, for two years ago",
            ),
        ],
        example: "total=200 years_ago=1 compost=yes",
        run: earlier,
    },
    Topic {
        name: "sidedress",
        about: "Nitrogen to sidedress sweet corn from a nitrate test before it.",
        keys: &[
            Key::needed("ppm", "nitrate nitrogen in the top 12 inches, ppm"),
            Key::maybe("crop", "sweet_corn, the one crop with a table here"),
            Key::maybe("manured", "yes where the field was manured"),
        ],
        example: "ppm=18 manured=yes",
        run: sidedress,
    },
    Topic {
        name: "carried-off",
        about: "What a harvest carries off.",
        keys: &[
            Key::needed("yield", "lb harvested"),
            Key::needed(
                "percent",
                "the nutrient in the harvest, percent of fresh weight",
            ),
        ],
        example: "yield=36000 percent=0.149",
        run: carried_off,
    },
];

fn grade(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let target = inputs.amount("target")?;
    let percent = inputs.positive("percent")?;
    let available = match inputs.maybe("available") {
        Some(_) => inputs.positive("available")?,
        None => 100.0,
    };
    for (key, value) in [("percent", percent), ("available", available)] {
        if value > 100.0 {
            return Err(inputs.bad(key, "a percentage up to 100"));
        }
    }
    let mut figure = Figure::new("Fertilizer for a target");
    figure.step(
        "fertilizer",
        target / (percent / 100.0) / (available / 100.0),
        "lb",
        if available < 100.0 {
            format!(
                "{} / {} % / {} %",
                plain(target, 4),
                plain(percent, 4),
                plain(available, 4)
            )
        } else {
            format!("{} / {} %", plain(target, 4), plain(percent, 4))
        },
        Source::arithmetic(),
    );
    Ok(figure)
}

fn material_amount(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let material = named(inputs)?;
    let area = inputs
        .maybe("area")
        .map(|_| inputs.area("area"))
        .transpose()?;
    Ok(material::amount_on(
        material,
        inputs.text("nutrient")?,
        inputs.amount("target")?,
        area,
    )?)
}

#[derive(Deserialize)]
struct MassRow {
    formula: String,
    g_per_mol: f64,
    source: String,
    evidence: String,
}

fn masses() -> &'static BTreeMap<String, Constant> {
    static MASSES: OnceLock<BTreeMap<String, Constant>> = OnceLock::new();
    MASSES.get_or_init(|| {
        let name = "materials/molar_masses.csv";
        let text = include_str!("../../../../reference/materials/molar_masses.csv");
        table::rows::<MassRow>(name, text)
            .unwrap_or_default()
            .into_iter()
            .enumerate()
            .filter_map(|(i, r)| {
                let source = table::source(name, i + 2, &r.source, &r.evidence).ok()?;
                Some((
                    r.formula,
                    Constant {
                        value: r.g_per_mol,
                        source,
                    },
                ))
            })
            .collect()
    })
}

/// The element that two forms share, with how many of its atoms each holds.
const FORMS: &[(&str, &[(&str, f64)])] = &[
    ("phosphorus", &[("P", 1.0), ("P2O5", 2.0)]),
    ("potassium", &[("K", 1.0), ("K2O", 2.0)]),
    ("calcium", &[("Ca", 1.0), ("CaO", 1.0), ("CaCO3", 1.0)]),
    ("magnesium", &[("Mg", 1.0), ("MgO", 1.0), ("MgCO3", 1.0)]),
    ("nitrogen", &[("N", 1.0), ("NO3", 1.0), ("NH4", 1.0)]),
    ("sulfur", &[("S", 1.0), ("SO4", 1.0)]),
];

fn oxide(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let amount = inputs.amount("amount")?;
    let (from, to) = (inputs.text("from")?, inputs.text("to")?);
    let atoms =
        |forms: &[(&str, f64)], name: &str| forms.iter().find(|(f, _)| *f == name).map(|(_, n)| *n);
    let (element, in_from, in_to) = FORMS
        .iter()
        .find_map(|(element, forms)| {
            Some((*element, atoms(forms, from)?, atoms(forms, to)?))
        })
        .ok_or_else(|| {
            TopicError::Together(format!(
                "{from} and {to} are not two forms of one element held here; use P, P2O5; K, K2O; Ca, CaO, CaCO3; Mg, MgO, MgCO3; N, NO3, NH4; S, SO4."
            ))
        })?;
    let mass = |formula: &str| {
        masses()
            .get(formula)
            .ok_or_else(|| TopicError::Together(format!("No molar mass is held for {formula}.")))
    };
    let (mass_from, mass_to) = (mass(from)?, mass(to)?);
    let mut figure = Figure::new(format!("{element} as {to}"));
    let factor = figure.step(
        format!("{to} for one {from}"),
        mass_to.value / in_to / (mass_from.value / in_from),
        format!("{to}/{from}"),
        format!(
            "({} / {in_to}) / ({} / {in_from})",
            mass_to.value, mass_from.value
        ),
        mass_to.source.clone(),
    );
    figure.step(
        format!("as {to}"),
        amount * factor,
        "same unit",
        format!("{} × {}", plain(amount, 5), plain(factor, 5)),
        Source::arithmetic(),
    );
    Ok(figure)
}

fn nitrogen_need(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let crop = crop::find_by_name(inputs.text("crop")?).ok_or_else(|| {
        inputs.bad(
            "crop",
            "a crop held here; `spadework tables crops` lists them",
        )
    })?;
    let cover = match inputs.maybe("cover_crop") {
        None => None,
        Some(kind) => Some(CoverCrop {
            kind: kind.to_owned(),
            dry_lb_per_acre: inputs.maybe_number("dry_lb")?,
            n_pct: inputs.maybe_number("cover_n")?,
            worked_in: true,
        }),
    };
    let water = match (
        inputs.maybe_number("water_ppm")?,
        inputs.maybe_number("water_inches")?,
    ) {
        (None, None) => None,
        (Some(nitrate_n_ppm), Some(inches)) => Some(Irrigation {
            nitrate_n_ppm,
            inches,
        }),
        _ => {
            return Err(TopicError::Together(
                "water_ppm and water_inches belong together.".to_owned(),
            ));
        }
    };
    let need = nitrogen::need(
        crop,
        &nitrogen::Request {
            printed: None,
            organic_matter_pct: inputs.maybe_number("organic_matter")?,
            cover_crop: cover,
            irrigation: water,
            previous: inputs.maybe("previous").map(str::to_owned),
            residue: inputs.maybe("residue").map(|crop| nitrogen::Left {
                crop: crop.to_owned(),
                part: inputs.maybe("residue_part").map(str::to_owned),
                taken_off: false,
            }),
            nitrate: match inputs.maybe_number("nitrate_ppm")? {
                None => None,
                Some(ppm) => Some(nitrogen::NitrateTest {
                    ppm,
                    manured: inputs.yes("manured")?,
                }),
            },
            past: Vec::new(),
            yield_lb_per_acre: inputs.maybe_number("yield")?,
        },
    )?;
    Ok(need.net)
}

fn irrigation(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(nitrogen::irrigation(&Irrigation {
        nitrate_n_ppm: inputs.amount("ppm")?,
        inches: inputs.amount("inches")?,
    })?
    .figure)
}

fn cover_crop(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(nitrogen::cover_crop(&CoverCrop {
        kind: inputs.text("kind")?.to_owned(),
        dry_lb_per_acre: inputs.maybe_number("dry_lb")?,
        n_pct: inputs.maybe_number("n")?,
        worked_in: !inputs.yes("surface")?,
    })?
    .figure)
}

fn manure(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(nitrogen::manure_available(
        inputs.amount("total")?,
        inputs.amount("ammonium")?,
        inputs.maybe_number("nitrate")?.unwrap_or(0.0),
        inputs.amount("organic_share")?,
        inputs.amount("ammonium_kept")?,
    )?)
}

fn earlier(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let years_ago: u8 = inputs
        .text("years_ago")?
        .parse()
        .map_err(|_| inputs.bad("years_ago", "1, 2 or 3"))?;
    let past = Past {
        what: "spreading".to_owned(),
        compost: inputs.yes("compost")?,
        manure: inputs.maybe("manure").map(str::to_owned),
        total_n_lb_per_acre: inputs.amount("total")?,
        years_ago,
    };
    nitrogen::carry_over(&past)?
        .map(|c| c.figure)
        .ok_or_else(|| {
            inputs.bad(
                "years_ago",
                "a year that a source gives a share for: 1 to 3 for compost, 1 and 2 for a named kind of manure, 1 for the rest",
            )
        })
}

fn sidedress(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let crop = crop::find(inputs.maybe("crop").unwrap_or("sweet_corn"))
        .ok_or_else(|| inputs.bad("crop", "the key of a crop held here"))?;
    Ok(nitrogen::sidedress(
        crop,
        inputs.amount("ppm")?,
        inputs.yes("manured")?,
    )?)
}

fn carried_off(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let (harvest, percent) = (inputs.amount("yield")?, inputs.amount("percent")?);
    let mut figure = Figure::new("Carried off with the harvest");
    figure.step(
        "carried off",
        harvest * percent / 100.0,
        "lb",
        format!("{} × {} %", plain(harvest, 5), plain(percent, 4)),
        Source::arithmetic(),
    );
    Ok(figure)
}
