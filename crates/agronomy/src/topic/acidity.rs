//! More of lime and acid: what a lime is worth, doses, timing, lime that rides along, other
//! acidifiers.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use crate::dose;
use crate::lime::{self, Form, Index, Quality, Situation};
use crate::material;
use crate::sulfur;
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

/// The sieves that any definition asks for.
const SIEVES: [(&str, u32); 9] = [
    ("p4", 4),
    ("p8", 8),
    ("p10", 10),
    ("p20", 20),
    ("p30", 30),
    ("p40", 40),
    ("p50", 50),
    ("p60", 60),
    ("p100", 100),
];

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "lime-value",
        about: "What a lime is worth by a state’s definition: purity, fineness and dry matter.",
        keys: &[
            Key::needed(
                "definition",
                "iowa, new_york, nebraska, kentucky; recalled and unconfirmed: illinois_year_1, illinois_year_4, minnesota, ohio, oklahoma_kansas, missouri",
            ),
            Key::needed("cce", "calcium carbonate equivalent, percent of dry weight"),
            Key::maybe("moisture", "water as sold, percent"),
            Key::maybe("p4", "percent passing 4 mesh"),
            Key::maybe("p8", "percent passing 8 mesh"),
            Key::maybe("p10", "percent passing 10 mesh"),
            Key::maybe("p20", "percent passing 20 mesh"),
            Key::maybe("p30", "percent passing 30 mesh"),
            Key::maybe("p40", "percent passing 40 mesh"),
            Key::maybe("p50", "percent passing 50 mesh"),
            Key::maybe("p60", "percent passing 60 mesh"),
            Key::maybe("p100", "percent passing 100 mesh"),
        ],
        example: "definition=iowa cce=92 moisture=2 p4=100 p8=90 p60=55",
        run: lime_value,
    },
    Topic {
        name: "lime-percent",
        about: "A lime’s printed value in percent of pure calcium carbonate.",
        keys: &[
            Key::needed("value", "the value as printed"),
            Key::needed(
                "measure",
                "cce, effective_percent, effective_lb_per_ton or nv (% CaO)",
            ),
        ],
        example: "value=1260 measure=effective_lb_per_ton",
        run: lime_percent,
    },
    Topic {
        name: "lime-cce",
        about: "The calcium carbonate equivalent of a pure compound, by chemistry.",
        keys: &[Key::needed(
            "formula",
            "CaCO3, MgCO3, Ca(OH)2, Mg(OH)2, CaO, MgO, CaMg(CO3)2, CaSiO3 or K2CO3",
        )],
        example: "formula=Ca(OH)2",
        run: lime_cce,
    },
    Topic {
        name: "lime-depth",
        about: "A lime rate made for one depth, for another.",
        keys: &[
            Key::needed("rate", "the rate, in any unit"),
            Key::needed("made_for", "the depth it was made for, inches"),
            Key::needed("depth", "the depth worked, inches"),
        ],
        example: "rate=4000 made_for=8 depth=6",
        run: lime_depth,
    },
    Topic {
        name: "lime-doses",
        about: "The first dose of a lime rate, where it is too much to go on at once.",
        keys: &[
            Key::needed("rate", "the rate of lime as spread, in the unit given"),
            Key::maybe(
                "unit",
                "lb/acre where not given; ton/acre, lb/100 ft2, lb/1000 ft2, kg/ha, t/ha, kg/daa or g/m2",
            ),
            Key::needed(
                "where",
                "garden, turf, greens, incorporated, not_incorporated, no_till, established, maintenance, sharp_sand, mineral_field, ley, uk_grass or ireland",
            ),
        ],
        example: "rate=15 unit=\"lb/100 ft2\" where=garden",
        run: lime_doses,
    },
    Topic {
        name: "lime-kind",
        about: "Dolomitic or calcitic lime, by the soil’s magnesium.",
        keys: &[Key::needed("mg", "the soil test’s magnesium, ppm")],
        example: "mg=42",
        run: lime_kind,
    },
    Topic {
        name: "lime-timing",
        about: "How long lime takes, and what its form asks of the hand that spreads it.",
        keys: &[Key::needed(
            "form",
            "ground, pelleted, hydrated, burnt, ash or surface",
        )],
        example: "form=ground",
        run: lime_timing,
    },
    Topic {
        name: "lime-carried",
        about: "The lime that rides along in a material, or the acid it makes.",
        keys: &[
            Key::needed(
                "material",
                "a material’s key, see `spadework tables materials`",
            ),
            Key::needed("lb", "lb of material as spread"),
            Key::maybe("cce", "the load’s own CCE, percent of weight"),
            Key::maybe(
                "moisture",
                "the load’s own water, percent, where its CCE is of dry weight",
            ),
        ],
        example: "material=wood_ash lb=100",
        run: lime_carried,
    },
    Topic {
        name: "acid-from-nitrogen",
        about: "The lime that a nitrogen fertilizer uses up; below zero it makes acid.",
        keys: &[
            Key::needed(
                "material",
                "urea, amm_sulfate, amm_nitrate, can_20, can_27, ca_nitrate, k_nitrate, na_nitrate, scu, map, dap, blood_meal, cottonseed_meal or fish_scrap",
            ),
            Key::needed("n", "lb of N"),
        ],
        example: "material=amm_sulfate n=100",
        run: acid_from_nitrogen,
    },
    Topic {
        name: "acidifier",
        about: "Another acidifier in place of a weight of elemental sulfur.",
        keys: &[
            Key::needed("sulfur", "lb of elemental S, or lb on an area"),
            Key::needed(
                "material",
                "sulfur, aluminium_sulfate, aluminium_sulfate_14, iron_sulfate or ammonium_sulfate",
            ),
            Key::maybe(
                "pure",
                "what the bag holds of it, percent; 100 where not given",
            ),
        ],
        example: "sulfur=100 material=iron_sulfate",
        run: acidifier,
    },
    Topic {
        name: "free-lime",
        about: "The sulfur that free lime in the soil would use up before pH falls.",
        keys: &[
            Key::needed("carbonate", "calcium carbonate in the soil, percent"),
            Key::maybe("depth", "inches; 6 2/3 where not given"),
        ],
        example: "carbonate=1 depth=6.667",
        run: free_lime,
    },
    Topic {
        name: "sulfur-timing",
        about: "How long sulfur takes.",
        keys: &[],
        example: "",
        run: sulfur_timing,
    },
    Topic {
        name: "ph-water",
        about: "The pH in water that a pH in 0.01 M calcium chloride stands for.",
        keys: &[Key::needed("cacl2", "pH in 0.01 M calcium chloride")],
        example: "cacl2=5.4",
        run: ph_water,
    },
];

fn lime_value(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let index = Index::from_key(inputs.text("definition")?).ok_or_else(|| {
        inputs.bad(
            "definition",
            format!("one of {}", Index::ALL.map(Index::key).join(", ")),
        )
    })?;
    let mut passing = Vec::new();
    for (key, mesh) in SIEVES {
        if let Some(pct) = inputs.maybe_number(key)? {
            passing.push((mesh, pct));
        }
    }
    let moisture = inputs.maybe_number("moisture")?.unwrap_or(0.0);
    Ok(lime::effective_value(
        index,
        inputs.positive("cce")?,
        moisture,
        &passing,
    )?)
}

fn lime_percent(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let value = inputs.positive("value")?;
    let quality = match inputs.text("measure")? {
        "cce" => Quality::Cce(value),
        "effective_percent" => Quality::EffectivePercent(value),
        "effective_lb_per_ton" => Quality::EffectiveLbPerTon(value),
        "nv" => Quality::NeutralisingValue(value),
        _ => {
            return Err(inputs.bad(
                "measure",
                "one of cce, effective_percent, effective_lb_per_ton, nv",
            ));
        }
    };
    Ok(lime::to_effective_pct(quality)?)
}

fn lime_cce(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(lime::cce_of(inputs.text("formula")?)?)
}

fn lime_depth(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let (rate, made_for, depth) = (
        inputs.amount("rate")?,
        inputs.positive("made_for")?,
        inputs.positive("depth")?,
    );
    let mut figure = Figure::new("Lime for the depth worked");
    figure.step(
        "for the depth worked",
        lime::for_depth(rate, made_for, depth),
        "same unit",
        format!(
            "{} × {} / {}",
            plain(rate, 5),
            plain(depth, 4),
            plain(made_for, 4)
        ),
        Source::new(
            "proportion to the depth worked; Tri-State E-2567 takes half of an 8 in rate for 4 in",
            Evidence::Seen,
        ),
    );
    Ok(figure)
}

fn lime_doses(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let unit = inputs.maybe("unit").unwrap_or("lb/acre");
    let each = dose::lb_per_acre(1.0, unit).ok_or_else(|| {
        inputs.bad(
            "unit",
            "one of lb/acre, ton/acre, lb/100 ft2, lb/1000 ft2, kg/ha, t/ha, kg/daa, g/m2",
        )
    })?;
    let place = Situation::from_key(inputs.text("where")?).ok_or_else(|| {
        inputs.bad(
            "where",
            format!("one of {}", Situation::ALL.map(Situation::key).join(", ")),
        )
    })?;
    let rate = inputs.positive("rate")?;
    let doses = lime::doses(rate * each, place);
    let mut figure = Figure::new(if doses.len() > 1 {
        format!("The first of {} doses of lime", doses.len())
    } else {
        "The whole rate of lime at once".to_owned()
    });
    // The first dose is the figure's own, so it is stated last.
    for (i, d) in doses.iter().enumerate().rev() {
        let when = match d.after_months {
            Some(0.0) if i == 0 => "now".to_owned(),
            Some(0.0) => "the same season".to_owned(),
            Some(months) => format!("{} months after the first", plain(months, 3)),
            None => "after a new test".to_owned(),
        };
        figure.step(
            format!("dose {} of {}, {when}", i + 1, doses.len()),
            d.lb_per_acre / each,
            unit,
            d.how.clone(),
            d.source.clone().unwrap_or_else(Source::arithmetic),
        );
    }
    figure.cautions.extend(lime::cautions());
    Ok(figure)
}

fn lime_kind(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(lime::kind_by_magnesium(inputs.amount("mg")?)?.1)
}

fn lime_timing(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let form = Form::from_key(inputs.text("form")?).ok_or_else(|| {
        inputs.bad(
            "form",
            format!("one of {}", Form::ALL.map(Form::key).join(", ")),
        )
    })?;
    Ok(lime::timing(form)?)
}

fn lime_carried(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let generic = material::find(inputs.text("material")?).ok_or_else(|| {
        inputs.bad(
            "material",
            "a material held here; `spadework tables materials` lists them",
        )
    })?;
    let own = match (
        inputs.maybe_number("cce")?,
        inputs.maybe_number("moisture")?,
    ) {
        (None, None) => None,
        (cce, moisture) => {
            if moisture.is_some_and(|m| !(0.0..100.0).contains(&m)) {
                return Err(inputs.bad("moisture", "from 0 to less than 100 percent"));
            }
            let analysis = material::Analysis {
                cce,
                moisture,
                dry_basis: moisture.is_some(),
                ..material::Analysis::default()
            };
            Some(generic.with_analysis(&analysis, Source::stated("the load’s own analysis")))
        }
    };
    let material = own.as_ref().unwrap_or(generic);
    material::lime_effect(material, inputs.amount("lb")?)?.ok_or_else(|| {
        TopicError::Together(format!(
            "No lime value of {} is held here, which is not the same as none: have it tested and give cce=…",
            material.name.to_lowercase()
        ))
    })
}

fn acid_from_nitrogen(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(lime::acid_from_nitrogen(
        inputs.text("material")?,
        inputs.amount("n")?,
    )?)
}

fn acidifier(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(sulfur::equivalent(
        inputs.text("material")?,
        inputs.amount("sulfur")?,
        inputs.maybe_number("pure")?.unwrap_or(100.0),
    )?)
}

fn free_lime(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let depth = match inputs.maybe("depth") {
        Some(_) => inputs.positive("depth")?,
        None => 20.0 / 3.0,
    };
    Ok(sulfur::to_dissolve(inputs.amount("carbonate")?, depth)?)
}

fn sulfur_timing(_: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(sulfur::time_to_act()?)
}

fn ph_water(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(lime::ph_in_water(inputs.number("cacl2")?)?)
}
