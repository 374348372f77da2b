//! What a bag brings, what its nutrient costs, and mixes.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use crate::blend::{self, Blend, BlendError, Part};
use crate::material;
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "supply",
        about: "What an amount or a rate of a material brings of a nutrient.",
        keys: &[
            Key::needed("amount", "a number in the unit given"),
            Key::needed(
                "unit",
                "lb, kg, ton, tonne, lb/acre, kg/ha, ton/acre, t/ha, lb/1000 ft2, lb/100 ft2 or g/m2",
            ),
            Key::maybe("percent", "the nutrient in it, percent of weight"),
            Key::maybe(
                "lb_per_ton",
                "the nutrient in it, lb per short ton, in place of percent",
            ),
        ],
        example: "amount=15 unit=ton lb_per_ton=12.8",
        run: supply,
    },
    Topic {
        name: "nutrient-by-volume",
        about: "The nutrient in a gallon of a liquid or a yard of compost.",
        keys: &[
            Key::needed("density", "lb per gallon or per cubic yard"),
            Key::needed("percent", "the nutrient in it, percent of weight as it is"),
            Key::maybe("volume", "how many gallons or yards; 1 where not given"),
        ],
        example: "density=10.67 percent=28",
        run: by_volume,
    },
    Topic {
        name: "cost-per-nutrient",
        about: "What a lb of a nutrient costs in a bag or a load, the other nutrients in it taken off at what they are worth.",
        keys: &[
            Key::needed("price", "the price of the bag or load"),
            Key::needed("weight", "its weight with its unit, e.g. 50lb or 1ton"),
            Key::needed("percent", "the nutrient in it, percent of weight"),
            Key::maybe(
                "available",
                "how much of it counts this season, percent; 100 where not given",
            ),
            Key::maybe(
                "other",
                "another nutrient in it that you need, percent of weight",
            ),
            Key::maybe("other_worth", "what a lb of that is worth to you"),
        ],
        example: "price=28 weight=50lb percent=12 available=60",
        run: cost,
    },
    Topic {
        name: "blend",
        about: "lb of materials that together bring an N-P-K target, or make a grade; the total, with each material as a step.",
        keys: &[
            Key::needed(
                "parts",
                "materials parted by commas: keys (k_sulfate) counted by what is available, or grades (46-0-0)",
            ),
            Key::needed(
                "target",
                "lb of N, P2O5 and K2O, e.g. 100-60-80; or with weight, a grade in percent",
            ),
            Key::maybe("weight", "lb of the finished mix, to make a grade"),
        ],
        example: "parts=46-0-0,18-46-0,0-0-60 target=100-60-80",
        run: mixture,
    },
];

fn supply(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let amount = inputs.amount("amount")?;
    let unit = inputs.text("unit")?;
    // A ton is told in pounds and a tonne in kilograms.
    let (times, told) = match unit {
        "lb" | "kg" | "lb/acre" | "kg/ha" | "lb/1000 ft2" | "lb/100 ft2" | "g/m2" => (1.0, unit),
        "ton" => (2_000.0, "lb"),
        "tonne" => (1_000.0, "kg"),
        "ton/acre" => (2_000.0, "lb/acre"),
        "t/ha" => (1_000.0, "kg/ha"),
        _ => {
            return Err(inputs.bad(
                "unit",
                "lb, kg, ton, tonne, lb/acre, kg/ha, ton/acre, t/ha, lb/1000 ft2, lb/100 ft2 or g/m2",
            ));
        }
    };
    let percent = match (inputs.maybe("percent"), inputs.maybe("lb_per_ton")) {
        (Some(_), None) => inputs.amount("percent")?,
        (None, Some(_)) => inputs.amount("lb_per_ton")? / 20.0,
        _ => {
            return Err(TopicError::Together(
                "supply needs percent=… or lb_per_ton=…, one of the two.".to_owned(),
            ));
        }
    };
    if percent > 100.0 {
        return Err(TopicError::Together(format!(
            "A material cannot hold {} % of a nutrient.",
            plain(percent, 4)
        )));
    }
    let mut figure = Figure::new("What it brings");
    figure.step(
        "of the nutrient",
        amount * times * percent / 100.0,
        told,
        format!("{} {unit} × {} %", plain(amount, 5), plain(percent, 4)),
        Source::arithmetic(),
    );
    Ok(figure)
}

fn share(inputs: &Inputs<'_>, key: &'static str) -> Result<f64, TopicError> {
    let value = inputs.positive(key)?;
    if value > 100.0 {
        return Err(inputs.bad(key, "a percentage up to 100"));
    }
    Ok(value / 100.0)
}

fn by_volume(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let density = inputs.positive("density")?;
    let share = share(inputs, "percent")?;
    let volume = match inputs.maybe("volume") {
        None => 1.0,
        Some(_) => inputs.amount("volume")?,
    };
    let mut figure = Figure::new("Nutrient in the volume");
    figure.step(
        "of the nutrient",
        density * volume * share,
        "lb",
        format!(
            "{} × {} × {} %",
            plain(volume, 4),
            plain(density, 5),
            plain(share * 100.0, 4)
        ),
        Source::arithmetic(),
    );
    Ok(figure)
}

fn cost(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let price = inputs.amount("price")?;
    let weight = quantity::parse_mass(inputs.text("weight")?)
        .map_err(|why| TopicError::Quantity {
            key: "weight".to_owned(),
            why,
        })?
        .to_pounds();
    let share_in = share(inputs, "percent")?;
    let available = match inputs.maybe("available") {
        None => 1.0,
        Some(_) => share(inputs, "available")?,
    };
    let mut figure = Figure::new("Cost of a nutrient");
    let mut left = price;
    match (inputs.maybe("other"), inputs.maybe("other_worth")) {
        (None, None) => {}
        (Some(_), Some(_)) => {
            let other = share(inputs, "other")?;
            let worth = inputs.amount("other_worth")?;
            left = figure.step(
                "the price without the other nutrient",
                (price - weight * other * worth).max(0.0),
                "money",
                format!(
                    "{} − {} × {} % × {}, not below 0",
                    plain(price, 5),
                    plain(weight, 5),
                    plain(other * 100.0, 4),
                    plain(worth, 4)
                ),
                Source::new(
                    "New Mexico State Univ. Extension (R. Flynn), Guide A-133: take off what the other nutrient is worth",
                    Evidence::Seen,
                ),
            );
        }
        _ => {
            return Err(TopicError::Together(
                "other and other_worth belong together.".to_owned(),
            ));
        }
    }
    let lb = figure.step(
        "nutrient that counts",
        weight * share_in * available,
        "lb",
        format!(
            "{} × {} % × {} %",
            plain(weight, 5),
            plain(share_in * 100.0, 4),
            plain(available * 100.0, 4)
        ),
        Source::arithmetic(),
    );
    figure.step(
        "cost",
        left / lb,
        "money/lb",
        format!("{} / {}", plain(left, 5), plain(lb, 5)),
        Source::arithmetic(),
    );
    Ok(figure)
}

/// `100-60-80` as three numbers.
fn three(text: &str) -> Option<[f64; 3]> {
    let mut found = [0.0; 3];
    let mut parts = text.split(['-', '–']);
    for slot in &mut found {
        *slot = parts
            .next()?
            .trim()
            .parse()
            .ok()
            .filter(|v: &f64| v.is_finite())?;
    }
    parts.next().is_none().then_some(found)
}

/// A material by grade or key. A key counts what is available in the first season.
fn part(text: &str) -> Result<(Part, Source), TopicError> {
    if let Some(grade) = three(text) {
        let part = Part {
            name: text.to_owned(),
            grade,
        };
        return Ok((part, Source::stated("the grade you gave")));
    }
    let m = material::find(text).ok_or_else(|| TopicError::BadValue {
        key: "parts".to_owned(),
        found: text.chars().take(60).collect(),
        expected:
            "a grade like 46-0-0 or the key of a material; `spadework tables materials` lists them"
                .to_owned(),
    })?;
    let mut grade = [0.0; 3];
    for (slot, nutrient) in grade.iter_mut().zip(["n", "p2o5", "k2o"]) {
        *slot = material::supplied(m, nutrient)?.value * 100.0;
    }
    Ok((
        Part {
            name: m.name.to_lowercase(),
            grade,
        },
        m.source.clone(),
    ))
}

fn mixture(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let target = three(inputs.text("target")?)
        .ok_or_else(|| inputs.bad("target", "N-P2O5-K2O like 100-60-80"))?;
    let mut parts = Vec::new();
    let mut sources = Vec::new();
    for text in inputs.text("parts")?.split(',').map(str::trim) {
        let (part, source) = part(text)?;
        parts.push(part);
        sources.push(source);
    }
    let said = |e: BlendError| TopicError::Together(e.to_string());
    let (blend, filler, told) = if inputs.maybe("weight").is_some() {
        let weight = inputs.positive("weight")?;
        let (blend, filler) = blend::grade(&parts, target, weight).map_err(said)?;
        (blend, Some(filler), target.map(|t| t / 100.0 * weight))
    } else {
        (blend::exact(&parts, target).map_err(said)?, None, target)
    };
    Ok(mixed(&parts, &sources, &blend, filler, told))
}

fn mixed(
    parts: &[Part],
    sources: &[Source],
    blend: &Blend,
    filler: Option<f64>,
    target: [f64; 3],
) -> Figure {
    let mut figure = Figure::new("The mix");
    for ((part, lb), source) in parts.iter().zip(&blend.lb).zip(sources) {
        let brings: Vec<String> = ["N", "P2O5", "K2O"]
            .iter()
            .zip(part.grade)
            .filter(|(_, p)| *p > 0.0)
            .map(|(n, p)| format!("{} lb {n}", plain(lb * p / 100.0, 3)))
            .collect();
        figure.step(
            part.name.clone(),
            *lb,
            "lb",
            if brings.is_empty() {
                "brings nothing of the three".to_owned()
            } else {
                format!("brings {}", brings.join(", "))
            },
            source.clone(),
        );
    }
    if let Some(filler) = filler {
        figure.step(
            "filler",
            filler,
            "lb",
            "what is left to the weight",
            Source::arithmetic(),
        );
    }
    figure.step(
        "all together",
        blend.total_lb + filler.unwrap_or(0.0),
        "lb",
        format!(
            "the lightest mix that brings {} lb N, {} lb P2O5 and {} lb K2O",
            plain(target[0], 4),
            plain(target[1], 4),
            plain(target[2], 4)
        ),
        Source::arithmetic(),
    );
    figure.caution(
        "Not everything may be mixed: see `spadework figure mix` for two of them at a time. Grains of different size part again in the spreader.",
        Source::new(
            "International Plant Nutrition Institute SE Asia, SEAP-3024 Fertilizer compatibility and storage (2013)",
            Evidence::Seen,
        ),
    );
    figure
}
