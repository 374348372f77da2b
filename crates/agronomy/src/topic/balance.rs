//! Phosphate and potash over the years: what leaves, what stays, how the test moves.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use crate::dose;
use crate::harvest;
use crate::material::{self, Analysis};
use crate::phosphorus_potassium::{self as pk, BalanceError, Nutrient};
use crate::soil::Extractant;
use crate::working::{Figure, Source};
use quantity::plain;

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "removal",
        about: "What the harvest of a crop carries off the ground.",
        keys: &[
            Key::needed(
                "crop",
                "a crop’s key, see `spadework tables crops`, or a key of crops/content.csv",
            ),
            Key::needed("nutrient", "n, p2o5 or k2o"),
            Key::maybe(
                "yield",
                "the harvest; the crop’s usual yield where not given",
            ),
            Key::maybe(
                "unit",
                "of the yield, e.g. ton/acre or t/ha; lb/acre where not given",
            ),
        ],
        example: "crop=carrot nutrient=p2o5 yield=20 unit=ton/acre",
        run: removal,
    },
    Topic {
        name: "test-change",
        about: "How far a surplus of phosphate or potash, or a lack of it, moves the soil test.",
        keys: &[
            Key::needed("nutrient", "p2o5 or k2o"),
            Key::needed("extractant", "bray_p1, mehlich3 or ammonium_acetate"),
            Key::needed(
                "lb",
                "lb per acre beyond what the crop carries off; below zero where less is put on",
            ),
        ],
        example: "nutrient=p2o5 extractant=bray_p1 lb=60",
        run: test_change,
    },
    Topic {
        name: "test-raise",
        about: "Phosphate or potash to raise a soil test, beyond what crops carry off.",
        keys: &[
            Key::needed("nutrient", "p2o5 or k2o"),
            Key::needed("extractant", "bray_p1, mehlich3 or ammonium_acetate"),
            Key::needed("from", "the test, ppm"),
            Key::needed("to", "the level to reach, ppm"),
        ],
        example: "nutrient=p2o5 extractant=bray_p1 from=20 to=40",
        run: test_raise,
    },
    Topic {
        name: "draw-down",
        about: "Years of cropping with none added until a rich soil is down to a level.",
        keys: &[
            Key::needed("nutrient", "p2o5 or k2o"),
            Key::needed("extractant", "bray_p1, mehlich3 or ammonium_acetate"),
            Key::needed("from", "the test, ppm"),
            Key::needed("to", "the level to come down to, ppm"),
            Key::maybe("removal", "lb per acre carried off in a year"),
            Key::maybe("crop", "a crop’s key, where removal is not given"),
            Key::maybe("yield", "its harvest, lb/acre"),
        ],
        example: "nutrient=p2o5 extractant=mehlich3 from=220 to=120 crop=carrot yield=30000",
        run: draw_down,
    },
    Topic {
        name: "p-threshold",
        about: "The level of a phosphorus test above which no more is added, and which published levels a value passes.",
        keys: &[
            Key::needed(
                "extractant",
                "bray_p1, mehlich3, olsen, morgan or modified_morgan",
            ),
            Key::needed("ppm", "the test, ppm P"),
        ],
        example: "extractant=bray_p1 ppm=75",
        run: threshold,
    },
    Topic {
        name: "overshoot",
        about: "Phosphate or potash that a rate of compost, manure or meal brings beyond the need; below zero where it falls short.",
        keys: &[
            Key::needed(
                "material",
                "a material’s key, see `spadework tables materials`",
            ),
            Key::maybe("rate", "how much is spread"),
            Key::maybe(
                "unit",
                "of the rate, e.g. ton/acre; lb/acre where not given",
            ),
            Key::maybe(
                "nitrogen",
                "lb N per acre it is chosen for, in place of a rate",
            ),
            Key::maybe("nutrient", "p2o5 or k2o; p2o5 where not given"),
            Key::maybe("need", "lb per acre asked for; none where not given"),
            Key::maybe("removal", "lb per acre one harvest carries off"),
            Key::maybe(
                "percent",
                "of P2O5 or K2O in it as spread, by your own analysis",
            ),
        ],
        example: "material=compost_poultry nitrogen=100 need=50 removal=25",
        run: overshoot,
    },
    Topic {
        name: "phosphorus-limited",
        about: "The most of a material that brings no more phosphate or potash than is asked for.",
        keys: &[
            Key::needed(
                "material",
                "a material’s key, see `spadework tables materials`",
            ),
            Key::needed("need", "lb per acre asked for"),
            Key::maybe("nutrient", "p2o5 or k2o; p2o5 where not given"),
            Key::maybe(
                "percent",
                "of P2O5 or K2O in it as spread, by your own analysis",
            ),
        ],
        example: "material=manure_layer need=40",
        run: most_within,
    },
    Topic {
        name: "starter",
        about: "Phosphate left to broadcast when part of it goes on in a band as a starter.",
        keys: &[
            Key::needed("broadcast", "lb per acre that are asked for broadcast"),
            Key::maybe(
                "starter",
                "lb per acre in the band; all of it where not given",
            ),
        ],
        example: "broadcast=120 starter=60",
        run: starter,
    },
];

fn said(e: &BalanceError) -> TopicError {
    TopicError::Together(e.to_string())
}

fn nutrient(inputs: &Inputs<'_>) -> Result<Nutrient, TopicError> {
    match inputs.maybe("nutrient") {
        None => Ok(Nutrient::P2o5),
        Some(key) => Nutrient::from_key(key).ok_or_else(|| inputs.bad("nutrient", "p2o5 or k2o")),
    }
}

fn extractant(inputs: &Inputs<'_>) -> Result<Extractant, TopicError> {
    let keys: Vec<&str> = Extractant::ALL.iter().map(|e| e.key()).collect();
    Extractant::from_key(inputs.text("extractant")?)
        .ok_or_else(|| inputs.bad("extractant", format!("an extractant: {}", keys.join(", "))))
}

/// A rate with its unit as lb per acre.
fn per_acre(inputs: &Inputs<'_>, key: &'static str) -> Result<f64, TopicError> {
    let value = inputs.amount(key)?;
    let unit = inputs.maybe("unit").unwrap_or("lb/acre");
    dose::lb_per_acre(value, unit)
        .ok_or_else(|| inputs.bad("unit", format!("a unit of rate: {}", dose::UNITS)))
}

fn removal(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let harvest = inputs
        .maybe("yield")
        .map(|_| per_acre(inputs, "yield"))
        .transpose()?;
    harvest::carried_off(inputs.text("crop")?, inputs.text("nutrient")?, harvest)
        .map_err(|e| TopicError::Together(e.to_string()))
}

fn test_change(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    pk::test_change(nutrient(inputs)?, extractant(inputs)?, inputs.number("lb")?)
        .map_err(|e| said(&e))
}

fn test_raise(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    pk::to_raise(
        nutrient(inputs)?,
        extractant(inputs)?,
        inputs.amount("from")?,
        inputs.amount("to")?,
    )
    .map_err(|e| said(&e))
}

fn draw_down(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let nutrient = nutrient(inputs)?;
    let removal = if inputs.maybe("removal").is_some() {
        let lb = inputs.amount("removal")?;
        (lb, Source::stated("the removal you gave"), Vec::new())
    } else if inputs.maybe("crop").is_some() {
        let harvest = inputs.maybe_number("yield")?;
        let f = harvest::carried_off(inputs.text("crop")?, nutrient.key(), harvest)
            .map_err(|e| TopicError::Together(e.to_string()))?;
        let source = f
            .working
            .last()
            .map_or_else(Source::arithmetic, |s| s.source.clone());
        (f.value, source, f.working)
    } else {
        return Err(TopicError::Together(
            "draw-down needs removal=…, lb per acre carried off in a year, or crop=….".to_owned(),
        ));
    };
    let mut figure = pk::years_to_draw_down(
        nutrient,
        extractant(inputs)?,
        (inputs.amount("from")?, inputs.amount("to")?),
        (removal.0, removal.1),
    )
    .map_err(|e| said(&e))?;
    let steps = std::mem::replace(&mut figure.working, removal.2);
    figure.working.extend(steps);
    Ok(figure)
}

fn threshold(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let extractant = extractant(inputs)?;
    pk::p_threshold(extractant, inputs.amount("ppm")?).ok_or_else(|| {
        TopicError::Together(format!(
            "No published level is held for {} P: ask your state’s nutrient management rules.",
            extractant.name()
        ))
    })
}

/// The material, with the percentage of the grower's own analysis where one is given.
fn analysed(inputs: &Inputs<'_>, nutrient: Nutrient) -> Result<material::Material, TopicError> {
    let generic = super::field::named(inputs)?;
    if inputs.maybe("percent").is_none() {
        return Ok(generic.clone());
    }
    let percent = inputs.amount("percent")?;
    if percent > 100.0 {
        return Err(inputs.bad("percent", "a percentage up to 100"));
    }
    let own = match nutrient {
        Nutrient::P2o5 => Analysis {
            p2o5: Some(percent),
            ..Analysis::default()
        },
        Nutrient::K2o => Analysis {
            k2o: Some(percent),
            ..Analysis::default()
        },
    };
    Ok(generic.with_analysis(&own, Source::stated("your own analysis")))
}

fn overshoot(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let nutrient = nutrient(inputs)?;
    let material = analysed(inputs, nutrient)?;
    let (rate, before) = match (inputs.maybe("rate"), inputs.maybe("nitrogen")) {
        (Some(_), None) => (per_acre(inputs, "rate")?, Vec::new()),
        (None, Some(_)) => {
            let generic = super::field::named(inputs)?;
            let f = material::amount_for(generic, "n", inputs.amount("nitrogen")?)?;
            (f.value, f.working)
        }
        _ => {
            return Err(TopicError::Together(
                "overshoot needs rate=… or nitrogen=…, the lb N per acre the rate is chosen for; one of the two."
                    .to_owned(),
            ));
        }
    };
    let need = match inputs.maybe("need") {
        Some(_) => inputs.amount("need")?,
        None => 0.0,
    };
    let removal = inputs
        .maybe("removal")
        .map(|_| inputs.amount("removal"))
        .transpose()?;
    let mut figure = match pk::overshoot(&material, rate, nutrient, need, removal)? {
        Some(over) => over.figure,
        None => pk::surplus(&material, rate, nutrient, need)?,
    };
    let steps = std::mem::replace(&mut figure.working, before);
    figure.working.extend(steps);
    Ok(figure)
}

fn most_within(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let nutrient = nutrient(inputs)?;
    let material = analysed(inputs, nutrient)?;
    Ok(pk::most_within(
        &material,
        nutrient,
        inputs.amount("need")?,
    )?)
}

fn starter(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let asked = inputs.amount("broadcast")?;
    let (share, source) = pk::starter_share()
        .ok_or_else(|| TopicError::Together("The starter figure could not be read.".to_owned()))?;
    let mut figure = Figure::new("Phosphate with a starter band");
    if inputs.maybe("starter").is_none() {
        figure.step(
            "all of it in the band",
            asked * share,
            "lb/acre",
            format!("{} × {}", plain(asked, 4), plain(share, 3)),
            source,
        );
        return Ok(figure);
    }
    let band = inputs.amount("starter")?;
    let counts = figure.step(
        "the band counts as broadcast",
        band / share,
        "lb/acre",
        format!("{} / {}", plain(band, 4), plain(share, 3)),
        source,
    );
    figure.step(
        "left to broadcast",
        (asked - counts).max(0.0),
        "lb/acre",
        format!("{} − {}, not below 0", plain(asked, 4), plain(counts, 4)),
        Source::arithmetic(),
    );
    Ok(figure)
}
