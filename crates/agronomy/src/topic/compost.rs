//! Layers of compost and mulch.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use super::spreading::{definition, mass};
use crate::material::Material;
use crate::working::{Evidence, Figure, Source};
use quantity::{Length, Volume, plain};

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "compost-depth",
        about: "What a layer of compost or mulch of a depth weighs.",
        keys: &[
            Key::needed("area", "an area with its unit"),
            Key::needed("depth", "how deep, with its unit, e.g. 0.5in or 2cm"),
            Key::maybe("material", "a material’s key, for its bulk density"),
            Key::maybe(
                "density",
                "lb per cubic yard by your own weighing, in place of a material",
            ),
        ],
        example: "area=1000ft2 depth=0.5in material=compost_general",
        run: compost,
    },
    Topic {
        name: "compost-layer",
        about: "How deep a weight or a volume of compost or mulch lies on a piece of ground.",
        keys: &[
            Key::needed("area", "an area with its unit"),
            Key::maybe("yards", "cubic yards of it"),
            Key::maybe("weight", "or its weight with its unit"),
            Key::maybe("material", "a material’s key, for its bulk density"),
            Key::maybe(
                "density",
                "lb per cubic yard by your own weighing, in place of a material",
            ),
        ],
        example: "area=1000ft2 yards=1.5",
        run: lies,
    },
];

/// lb per cubic yard: low, middle, high, and whose figure; none where none is asked for.
fn density(inputs: &Inputs<'_>) -> Result<Option<([f64; 3], Source)>, TopicError> {
    match (inputs.maybe("material"), inputs.maybe("density")) {
        (None, None) => Ok(None),
        (None, Some(_)) => {
            let own = inputs.positive("density")?;
            Ok(Some(([own; 3], Source::stated("your own weighing"))))
        }
        (Some(_), None) => {
            let material = super::field::named(inputs)?;
            let (per_ft3, source) = material
                .density
                .as_ref()
                .ok_or_else(|| no_density(material))?;
            Ok(Some((per_ft3.map(|d| d * 27.0), source.clone())))
        }
        (Some(_), Some(_)) => Err(TopicError::Together(
            "Give a material or a density, not both.".to_owned(),
        )),
    }
}

fn no_density(material: &Material) -> TopicError {
    TopicError::Together(format!(
        "No bulk density is held for {}: weigh a bucket of known size and give density=… in lb per cubic yard.",
        material.name.to_lowercase()
    ))
}

fn compost(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let area = inputs.area("area")?;
    let depth = inputs.length("depth")?;
    let density = density(inputs)?;
    let volume = Volume::cubic_metres(area.si() * depth.si());
    let mut figure = Figure::new("A layer of this depth");
    figure.step(
        "volume",
        volume.to_cubic_feet(),
        "ft3",
        format!(
            "{} ft2 × {} in / 12",
            plain(area.to_square_feet(), 5),
            plain(depth.to_inches(), 4)
        ),
        Source::arithmetic(),
    );
    figure.step(
        "volume",
        volume.to_gallons(),
        "gal",
        "ft3 × 7.4805",
        definition(),
    );
    let yards = figure.step(
        "volume",
        volume.to_cubic_yards(),
        "yd3",
        "ft3 / 27",
        definition(),
    );
    let Some(([low, mid, high], source)) = density else {
        return Ok(figure);
    };
    let lb = yards * mid;
    figure.step(
        "as a rate",
        lb / area.to_acres() / 2_000.0,
        "ton/acre",
        format!(
            "{} × {} / {} acre / 2,000",
            plain(yards, 4),
            plain(mid, 4),
            plain(area.to_acres(), 4)
        ),
        source.clone(),
    );
    figure.step(
        "weight",
        lb,
        "lb",
        format!("{} yd3 × {} lb/yd3", plain(yards, 4), plain(mid, 4)),
        source,
    );
    if low < high {
        (figure.low, figure.high) = (Some(yards * low), Some(yards * high));
    }
    figure.caution(
        "An inch of compost is a heavy dose of phosphate and potash: work out what it brings (overshoot) before it goes on.",
        Source::new("common practice", Evidence::CommonPractice),
    );
    Ok(figure)
}

fn lies(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let area = inputs.area("area")?;
    let mut figure = Figure::new("How deep it lies");
    let mut range = None;
    let yards = match (inputs.maybe("yards"), inputs.maybe("weight")) {
        (Some(_), None) => inputs.amount("yards")?,
        (None, Some(_)) => {
            let lb = mass(inputs, "weight")?.to_pounds();
            let ([low, mid, high], source) = density(inputs)?.ok_or_else(|| {
                TopicError::Together(
                    "A weight needs its bulk density: give material=… or density=… in lb per cubic yard."
                        .to_owned(),
                )
            })?;
            range = (low < high).then_some((mid / high, mid / low));
            figure.step(
                "volume",
                lb / mid,
                "yd3",
                format!("{} / {}", plain(lb, 5), plain(mid, 4)),
                source,
            )
        }
        _ => {
            return Err(TopicError::Together(
                "compost-layer needs yards=… or weight=…, one of the two.".to_owned(),
            ));
        }
    };
    let volume = Volume::cubic_yards(yards);
    let depth = Length::metres(volume.si() / area.si());
    figure.step(
        "depth",
        depth.to_inches(),
        "inches",
        format!(
            "{} × 27 / {} × 12",
            plain(yards, 4),
            plain(area.to_square_feet(), 5)
        ),
        Source::arithmetic(),
    );
    if let Some((low, high)) = range {
        figure.low = Some(depth.to_inches() * low);
        figure.high = Some(depth.to_inches() * high);
    }
    Ok(figure)
}
