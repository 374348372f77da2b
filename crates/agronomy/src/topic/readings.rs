//! Soil readings: base saturation, salts, sodium, organic matter, trace elements, tables side by side.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use crate::cations;
use crate::conversion;
use crate::crop;
use crate::micronutrient;
use crate::organic_matter;
use crate::reading;
use crate::salt_class::{self, Medium, Method};
use crate::sodium;
use crate::soil::{Analyte, Bound, Extractant, Measured};
use crate::texture::Texture;
use crate::working::Figure;
use quantity::plain;

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "compare",
        about: "One soil test value beside every table: what each says, and which do not apply.",
        keys: &[
            Key::needed("analyte", "p, k, ca, mg, s, b, zn, mn, cu, fe"),
            Key::needed("extractant", "what the lab used, e.g. mehlich3"),
            Key::needed("ppm", "the test, ppm"),
            Key::maybe(
                "group",
                "a crop key, sandy or clayey; every group where not given",
            ),
        ],
        example: "analyte=p extractant=mehlich3 ppm=35",
        run: compare,
    },
    Topic {
        name: "convert",
        about: "What a soil test would be about by another extractant: an estimate, never a test.",
        keys: &[
            Key::needed("analyte", "p or k"),
            Key::needed("from", "what the lab used, e.g. mehlich3"),
            Key::needed("to", "the other one, e.g. bray_p1"),
            Key::needed("ppm", "the test, ppm"),
        ],
        example: "analyte=p from=mehlich3 to=bray_p1 ppm=22",
        run: convert,
    },
    Topic {
        name: "base-saturation",
        about: "Cation exchange capacity and each cation’s share of it.",
        keys: &[
            Key::needed("ca", "calcium, ppm"),
            Key::needed("mg", "magnesium, ppm"),
            Key::needed("k", "potassium, ppm"),
            Key::maybe("na", "sodium, ppm"),
            Key::maybe("acidity", "exchangeable acidity, meq/100 g"),
            Key::maybe(
                "clemson_buffer_ph",
                "Clemson’s buffer pH, in place of the acidity",
            ),
            Key::maybe("cec", "the lab’s own CEC, meq/100 g"),
            Key::maybe("ph", "pH in water"),
            Key::maybe("share", "cec, ca, mg, k, na or acidity: answer with that"),
        ],
        example: "ca=1200 mg=140 k=160 acidity=2 ph=6.2",
        run: base_saturation,
    },
    Topic {
        name: "salts-class",
        about: "What a reading of soluble salts means, by its method.",
        keys: &[
            Key::needed("salts", "dS/m, the same as mmho/cm"),
            Key::needed(
                "method",
                "saturated_paste, one_to_one, one_to_two, saturated_media, pour_through or water",
            ),
            Key::maybe(
                "medium",
                "soil or potting_mix; soil where the method allows it",
            ),
            Key::maybe("texture", "needed for one_to_one: sand, loam, clay …"),
        ],
        example: "salts=2.4 method=saturated_paste",
        run: salts,
    },
    Topic {
        name: "sodium",
        about: "Sodium: SAR from a saturation extract, or its share of the CEC.",
        keys: &[
            Key::maybe("na", "sodium in the extract, meq/L"),
            Key::maybe("ca", "calcium in the extract, meq/L"),
            Key::maybe("mg", "magnesium in the extract, meq/L"),
            Key::maybe("sar", "SAR, for the exchangeable sodium that goes with it"),
            Key::maybe("na_ppm", "exchangeable sodium in the soil, ppm"),
            Key::maybe("cec", "meq/100 g, with na_ppm"),
        ],
        example: "na=12 ca=6 mg=4",
        run: sodium,
    },
    Topic {
        name: "organic-matter",
        about: "What a percentage of organic matter means for a texture.",
        keys: &[
            Key::needed("om", "organic matter, percent"),
            Key::needed("texture", "loamy_sand, sandy_loam, loam, silt_loam, clay …"),
        ],
        example: "om=2.8 texture=sandy_loam",
        run: organic,
    },
    Topic {
        name: "manganese-index",
        about: "Mehlich-3 manganese and pH as one index.",
        keys: &[
            Key::needed("mn", "manganese by Mehlich-3, ppm"),
            Key::needed("ph", "pH in water"),
        ],
        example: "mn=10 ph=6.5",
        run: manganese,
    },
    Topic {
        name: "boron",
        about: "The most boron a crop’s soil may get in one dressing.",
        keys: &[
            Key::needed("crop", "a crop’s key or name"),
            Key::maybe("ppm", "boron test, ppm"),
        ],
        example: "crop=cabbage ppm=0.3",
        run: boron,
    },
    Topic {
        name: "boron-yield",
        about: "Yield of a crop at a boron concentration in the soil water.",
        keys: &[
            Key::needed("crop", "bean_snap, broccoli or radish"),
            Key::needed("boron", "mg/L in the soil water"),
        ],
        example: "crop=bean_snap boron=3",
        run: boron_yield,
    },
];

fn compare(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let analyte = Analyte::from_key(inputs.text("analyte")?)
        .ok_or_else(|| inputs.bad("analyte", "one of p, k, ca, mg, s, b, zn, mn, cu, fe"))?;
    let extractant = extractant(inputs, "extractant")?;
    let value = inputs.amount("ppm")?;
    let measured = Measured {
        analyte,
        value,
        bound: Bound::Exact,
        extractant: Some(extractant),
        buffer: None,
        printed: plain(value, 5),
        printed_unit: "ppm".to_owned(),
    };
    Ok(reading::compare(reading::systems(), &measured, inputs.maybe("group"))?.figure())
}

fn extractant(inputs: &Inputs<'_>, key: &'static str) -> Result<Extractant, TopicError> {
    Extractant::from_key(inputs.text(key)?).ok_or_else(|| {
        inputs.bad(
            key,
            format!("one of {}", Extractant::ALL.map(Extractant::key).join(", ")),
        )
    })
}

fn convert(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let analyte = Analyte::from_key(inputs.text("analyte")?)
        .ok_or_else(|| inputs.bad("analyte", "p or k"))?;
    let way = (extractant(inputs, "from")?, extractant(inputs, "to")?);
    Ok(conversion::estimate(analyte, way, inputs.amount("ppm")?)?.figure)
}

fn base_saturation(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let acidity = match (
        inputs.maybe_number("acidity")?,
        inputs.maybe_number("clemson_buffer_ph")?,
    ) {
        (Some(_), Some(_)) => {
            return Err(TopicError::Together(
                "Give acidity or clemson_buffer_ph, not both.".to_owned(),
            ));
        }
        (None, Some(ph)) if !(4.0..=8.0).contains(&ph) => {
            return Err(inputs.bad("clemson_buffer_ph", "a buffer pH from 4 to 8"));
        }
        (None, Some(ph)) => Some(cations::clemson_acidity(ph)),
        (acidity, None) => acidity,
    };
    let found = cations::saturation(&cations::Request {
        ca: inputs.amount("ca")?,
        mg: inputs.amount("mg")?,
        k: inputs.amount("k")?,
        na: inputs.maybe_number("na")?,
        acidity,
        cec: inputs.maybe_number("cec")?,
        ph: inputs.maybe_number("ph")?,
    })?;
    let mut figure = found.figure;
    match inputs.maybe("share") {
        None => {}
        Some("cec") => {
            figure.what = "Cation exchange capacity".to_owned();
            figure.value = found.cec;
            figure.unit = "meq/100 g".to_owned();
        }
        Some(key) => {
            let share = found
                .shares
                .iter()
                .find(|s| s.key == key)
                .ok_or_else(|| inputs.bad("share", "cec or one of the cations given"))?;
            figure.what = format!("{}’s share of the CEC", share.name);
            figure.value = share.percent;
        }
    }
    Ok(figure)
}

fn texture(inputs: &Inputs<'_>) -> Result<Option<Texture>, TopicError> {
    inputs
        .maybe("texture")
        .map(|key| {
            Texture::from_key(key)
                .ok_or_else(|| inputs.bad("texture", Texture::ALL.map(Texture::key).join(", ")))
        })
        .transpose()
}

fn salts(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let method = Method::from_key(inputs.text("method")?)
        .ok_or_else(|| inputs.bad("method", Method::ALL.map(Method::key).join(", ")))?;
    let medium = match inputs.maybe("medium") {
        Some(key) => Medium::from_key(key)
            .ok_or_else(|| inputs.bad("medium", Medium::ALL.map(Medium::key).join(", ")))?,
        None => match method {
            Method::Water => Medium::Water,
            Method::SaturatedMedia | Method::PourThrough => Medium::PottingMix,
            _ => Medium::Soil,
        },
    };
    Ok(salt_class::class(inputs.amount("salts")?, method, medium, texture(inputs)?)?.figure)
}

fn sodium(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let given = |keys: &[&str]| keys.iter().all(|k| inputs.maybe(k).is_some());
    let none = |keys: &[&str]| keys.iter().all(|k| inputs.maybe(k).is_none());
    if given(&["na", "ca", "mg"]) && none(&["sar", "na_ppm", "cec"]) {
        return Ok(sodium::sar(
            inputs.amount("na")?,
            inputs.amount("ca")?,
            inputs.amount("mg")?,
        )?);
    }
    if given(&["sar"]) && none(&["na", "ca", "mg", "na_ppm", "cec"]) {
        return Ok(sodium::esp_from_sar(inputs.amount("sar")?)?);
    }
    if given(&["na_ppm", "cec"]) && none(&["na", "ca", "mg", "sar"]) {
        let amount = cations::meq(Analyte::Na, inputs.amount("na_ppm")?).map(|(m, _, _)| m);
        return Ok(sodium::esp(
            amount.unwrap_or(f64::NAN),
            inputs.positive("cec")?,
        )?);
    }
    Err(TopicError::Together(
        "Give na, ca and mg of the saturation extract in meq/L, or sar alone, or na_ppm and cec of the soil."
            .to_owned(),
    ))
}

fn organic(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let ground = texture(inputs)?
        .ok_or_else(|| inputs.bad("texture", Texture::ALL.map(Texture::key).join(", ")))?;
    Ok(organic_matter::class(inputs.amount("om")?, ground)?.figure)
}

fn manganese(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let (_, figure) = micronutrient::manganese_index(inputs.amount("mn")?, inputs.number("ph")?)?;
    Ok(figure)
}

fn boron(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let name = inputs.text("crop")?;
    let found = crop::find(name)
        .or_else(|| crop::find_by_name(name))
        .ok_or_else(|| inputs.bad("crop", "a crop; `spadework tables crops` lists them"))?;
    Ok(micronutrient::boron(&found.key, inputs.maybe_number("ppm")?)?.figure)
}

fn boron_yield(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(micronutrient::boron_yield(
        inputs.text("crop")?,
        inputs.amount("boron")?,
    )?)
}
