//! Rates in every unit, manure on a sheet and the most that may go on.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use crate::dose;
use crate::working::{Evidence, Figure, Source};
use quantity::{Length, Mass, Rate, plain};

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "rate",
        about: "A rate in another unit: by acre, 1,000 ft2, 100 ft2, bed, 100 ft of row, hectare, m2.",
        keys: &[
            Key::needed("rate", "a number in the unit of the rate"),
            Key::needed(
                "unit",
                "lb/acre, ton/acre, lb/1000 ft2, lb/100 ft2, lb/bed, lb/100 ft row, kg/ha, t/ha or g/m2",
            ),
            Key::needed("to", "the unit wanted, from the same list"),
            Key::maybe(
                "bed_length",
                "the length of a bed with its unit, for lb/bed",
            ),
            Key::maybe("bed_width", "the width of a bed with its unit, for lb/bed"),
            Key::maybe(
                "spacing",
                "from the middle of a row to the next, with its unit, for lb/100 ft row",
            ),
        ],
        example: "rate=50 unit=lb/acre to=lb/bed bed_length=100ft bed_width=30in",
        run: rate,
    },
    Topic {
        name: "manure-sheet",
        about: "What a manure spreader puts down, from what lands on a sheet.",
        keys: &[
            Key::needed("length", "of the sheet with its unit"),
            Key::needed("width", "of the sheet with its unit"),
            Key::needed("caught", "the weight on the sheet, with its unit"),
        ],
        example: "length=5.5ft width=4ft caught=15lb",
        run: sheet,
    },
    Topic {
        name: "limit",
        about: "The most of a material that may go on a piece of ground at once.",
        keys: &[
            Key::needed(
                "material",
                "a material’s key, see `spadework tables materials`",
            ),
            Key::maybe("area", "the ground with its unit; an acre where not given"),
        ],
        example: "material=borax area=1000ft2",
        run: limit,
    },
];

pub(super) fn definition() -> Source {
    Source::new("legal definition of the units", Evidence::Derived)
}

const KNOWN: &str =
    "lb/acre, ton/acre, lb/1000 ft2, lb/100 ft2, lb/bed, lb/100 ft row, kg/ha, t/ha or g/m2";

/// lb per acre in one of a unit.
fn one(inputs: &Inputs<'_>, key: &'static str) -> Result<f64, TopicError> {
    let unit = inputs.text(key)?;
    let ground = match unit {
        "lb/bed" => inputs.length("bed_length")? * inputs.length("bed_width")?,
        "lb/100 ft row" => Length::feet(100.0) * inputs.length("spacing")?,
        _ => {
            return dose::lb_per_acre(1.0, unit)
                .ok_or_else(|| inputs.bad(key, format!("a unit of rate: {KNOWN}")));
        }
    };
    Ok((Mass::pounds(1.0) / ground).to_lb_per_acre())
}

fn rate(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let rate = inputs.amount("rate")?;
    let (from, to) = (one(inputs, "unit")?, one(inputs, "to")?);
    let mut figure = Figure::new("The rate in another unit");
    let per_acre = figure.step(
        "the rate",
        rate * from,
        "lb/acre",
        format!("{} {}", plain(rate, 5), inputs.text("unit")?),
        definition(),
    );
    let unit = inputs.text("to")?.to_owned();
    figure.step(
        "the same rate",
        rate * (from / to),
        unit.clone(),
        format!(
            "{} / {} (lb/acre in 1 {unit})",
            plain(per_acre, 5),
            plain(to, 5)
        ),
        definition(),
    );
    Ok(figure)
}

pub(super) fn mass(inputs: &Inputs<'_>, key: &'static str) -> Result<Mass, TopicError> {
    quantity::parse_mass(inputs.text(key)?).map_err(|why| TopicError::Quantity {
        key: key.to_owned(),
        why,
    })
}

fn sheet(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let ground = inputs.length("length")? * inputs.length("width")?;
    let caught = mass(inputs, "caught")?;
    let rate = caught / ground;
    let mut figure = Figure::new("What the manure spreader puts down");
    figure.step(
        "the sheet",
        ground.to_square_feet(),
        "ft2",
        "length × width",
        Source::arithmetic(),
    );
    figure.step(
        "put down",
        rate.to_lb_per_acre(),
        "lb/acre",
        format!(
            "{} / {} × 43,560",
            plain(caught.to_pounds(), 4),
            plain(ground.to_square_feet(), 4)
        ),
        definition(),
    );
    figure.step(
        "put down",
        rate.to_short_tons_per_acre(),
        "ton/acre",
        "lb/acre / 2,000",
        definition(),
    );
    figure.caution(
        "Lay several sheets in the path and take the mean: one sheet tells only of one place.",
        Source::new("common practice", Evidence::CommonPractice),
    );
    Ok(figure)
}

fn limit(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let material = super::field::named(inputs)?;
    let most = material.most.as_ref().ok_or_else(|| {
        TopicError::Together(format!(
            "No published limit is held for {}: the label and the need decide.",
            material.name.to_lowercase()
        ))
    })?;
    let acres = match inputs.maybe("area") {
        None => 1.0,
        Some(_) => inputs.area("area")?.to_acres(),
    };
    let mut figure = Figure::new(format!("Most {} at once", material.name.to_lowercase()));
    figure.step(
        "by the acre",
        most.lb_per_acre,
        "lb/acre",
        most.why.clone(),
        most.source.clone(),
    );
    figure.step(
        "by 1,000 ft2",
        most.lb_per_acre / Rate::lb_per_1000_ft2(1.0).to_lb_per_acre(),
        "lb/1000 ft2",
        format!("{} / 43.56", plain(most.lb_per_acre, 4)),
        definition(),
    );
    figure.step(
        "on this ground",
        most.lb_per_acre * acres,
        "lb",
        format!("{} × {} acre", plain(most.lb_per_acre, 4), plain(acres, 4)),
        Source::arithmetic(),
    );
    figure.cautions.extend(material.cautions.iter().cloned());
    Ok(figure)
}

#[cfg(test)]
mod tests {
    use crate::topic::work_out;
    use proptest::prelude::*;

    const UNITS: [&str; 9] = [
        "lb/acre",
        "ton/acre",
        "lb/1000 ft2",
        "lb/100 ft2",
        "lb/bed",
        "lb/100 ft row",
        "kg/ha",
        "t/ha",
        "g/m2",
    ];

    fn value(topic: &str, pairs: &[(&str, String)]) -> f64 {
        let pairs: Vec<_> = pairs
            .iter()
            .map(|(k, v)| ((*k).to_owned(), v.clone()))
            .collect();
        work_out(topic, &pairs).unwrap().value
    }

    fn turned(rate: f64, unit: &str, to: &str) -> f64 {
        value(
            "rate",
            &[
                ("rate", rate.to_string()),
                ("unit", unit.to_owned()),
                ("to", to.to_owned()),
                ("bed_length", "30m".to_owned()),
                ("bed_width", "75cm".to_owned()),
                ("spacing", "36in".to_owned()),
            ],
        )
    }

    #[test]
    fn a_bed_gets_its_share_of_an_acre() {
        // 50 lb an acre on 100 ft by 2.5 ft: 50 × 250 / 43,560.
        let lb = value(
            "rate",
            &[
                ("rate", "50".to_owned()),
                ("unit", "lb/acre".to_owned()),
                ("to", "lb/bed".to_owned()),
                ("bed_length", "100ft".to_owned()),
                ("bed_width", "2.5ft".to_owned()),
            ],
        );
        assert!((lb - 0.286_961).abs() < 1e-6, "{lb}");
        // An acre is 14,520 ft of row at 3 ft: a pound per 100 ft is 145.2 lb.
        assert!((turned(1.0, "lb/100 ft row", "lb/acre") - 145.2).abs() < 1e-9);
    }

    #[test]
    fn beds_and_rows_need_their_size() {
        let pairs = [("rate", "1"), ("unit", "lb/bed"), ("to", "lb/acre")]
            .map(|(k, v)| (k.to_owned(), v.to_owned()));
        let e = work_out("rate", &pairs).unwrap_err().to_string();
        assert!(e.contains("bed_length"), "{e}");
        let pairs = [("rate", "1"), ("unit", "stone/rood"), ("to", "lb/acre")]
            .map(|(k, v)| (k.to_owned(), v.to_owned()));
        assert!(
            work_out("rate", &pairs)
                .unwrap_err()
                .to_string()
                .contains("lb/100 ft row")
        );
    }

    proptest! {
        #[test]
        fn every_unit_comes_back(rate in 0.001..50_000.0_f64, a in 0usize..9, b in 0usize..9) {
            let there = turned(rate, UNITS[a], UNITS[b]);
            let back = turned(there, UNITS[b], UNITS[a]);
            prop_assert!((back - rate).abs() < 1e-9 * rate, "{} {}", UNITS[a], UNITS[b]);
        }

        #[test]
        fn what_is_to_be_caught_gives_the_rate(width in 1.0..40.0_f64, distance in 10.0..500.0_f64, target in 0.1..60.0_f64, passes in 1u8..4) {
            let strip = [("width", format!("{width}ft")), ("distance", format!("{distance}ft")), ("passes", passes.to_string())];
            let mut ask = strip.to_vec();
            ask.push(("target", target.to_string()));
            let caught = value("spreader-catch", &ask);
            let mut got = strip.to_vec();
            got.push(("caught", format!("{caught:.15}lb")));
            prop_assert!((value("spreader", &got) - target).abs() < 1e-6 * target);
        }

        #[test]
        fn a_layer_and_its_yards_agree(area in 10.0..50_000.0_f64, depth in 0.05..6.0_f64) {
            let ground = ("area", format!("{area}ft2"));
            let yards = value("compost-depth", &[ground.clone(), ("depth", format!("{depth}in"))]);
            let back = value("compost-layer", &[ground, ("yards", yards.to_string())]);
            prop_assert!((back - depth).abs() < 1e-9 * depth.max(1.0));
        }
    }
}
