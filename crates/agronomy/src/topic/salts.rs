//! Soluble salts: what a crop loses to them and the water against them.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use crate::material::advice;
use crate::salts::{self, Method, SaltError};
use crate::working::{Figure, Source};
use quantity::plain;

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "salts",
        about: "The yield a crop keeps at a reading of soluble salts in the soil.",
        keys: &[
            Key::needed(
                "crop",
                "a crop’s key, or one of the tolerance list: squash_zucchini, tomato_cherry",
            ),
            Key::needed("ec", "the reading, dS/m (the same as mmho/cm)"),
            Key::maybe(
                "method",
                "saturated_paste, one_to_five or water; saturated_paste where not given",
            ),
            Key::maybe("gypsum", "yes on gypsum ground"),
            Key::maybe("tunnel", "yes under cover"),
        ],
        example: "crop=tomato ec=4 tunnel=yes",
        run: yield_at,
    },
    Topic {
        name: "salt-limit",
        about: "The saturated-paste reading at which a crop keeps a share of its yield.",
        keys: &[
            Key::needed("crop", "a crop’s key, or one of the tolerance list"),
            Key::maybe("yield", "percent of the full yield; 100 where not given"),
        ],
        example: "crop=bean_snap yield=90",
        run: limit,
    },
    Topic {
        name: "salt-water-limit",
        about: "The saltiest irrigation water at which a crop keeps a share of its yield in the long run.",
        keys: &[
            Key::needed("crop", "a crop’s key, or one of the tolerance list"),
            Key::maybe("yield", "percent of the full yield; 100 where not given"),
        ],
        example: "crop=sweet_corn yield=90",
        run: water_limit,
    },
    Topic {
        name: "leaching",
        about: "The share of the irrigation water that must drain through to hold salts down, and the water to put on.",
        keys: &[
            Key::needed("water", "salts in the water, dS/m"),
            Key::maybe("soil", "the saturated-paste reading to hold, dS/m"),
            Key::maybe(
                "crop",
                "a crop’s key: its own limit is held where soil is not given",
            ),
            Key::maybe(
                "yield",
                "percent of the full yield to keep; 100 where not given",
            ),
            Key::maybe(
                "use",
                "what the crop uses in the season, inches; rain counts towards it",
            ),
            Key::maybe("use_mm", "the same in millimetres"),
        ],
        example: "water=0.6 crop=tomato use=20",
        run: leaching,
    },
    Topic {
        name: "leaching-depth",
        about: "Inches of clean water that bring the salts of the soil down from one reading to another.",
        keys: &[
            Key::needed("from", "the reading now, dS/m"),
            Key::needed("to", "the reading wanted, dS/m"),
            Key::maybe("tunnel", "yes under cover"),
        ],
        example: "from=4 to=2 tunnel=yes",
        run: depth,
    },
    Topic {
        name: "salt-index",
        about: "How a fertilizer ranks for salt, per lb of it and per lb of a nutrient in it.",
        keys: &[
            Key::needed(
                "material",
                "a material’s key, see `spadework tables materials`",
            ),
            Key::maybe(
                "nutrient",
                "n, p2o5 or k2o, to rank it by what it is bought for",
            ),
        ],
        example: "material=kcl nutrient=k2o",
        run: index,
    },
];

fn said(e: &SaltError) -> TopicError {
    TopicError::Together(e.to_string())
}

fn crop(inputs: &Inputs<'_>) -> Result<&'static salts::Tolerance, TopicError> {
    salts::tolerance(inputs.text("crop")?).ok_or_else(|| {
        let known: Vec<&str> = salts::tolerances().iter().map(|t| t.key.as_str()).collect();
        inputs.bad(
            "crop",
            format!("a crop of the salt tolerance list: {}", known.join(", ")),
        )
    })
}

fn percent(inputs: &Inputs<'_>) -> Result<f64, TopicError> {
    match inputs.maybe("yield") {
        None => Ok(100.0),
        Some(_) => inputs.amount("yield"),
    }
}

fn yield_at(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let crop = crop(inputs)?;
    let ec = inputs.amount("ec")?;
    let method = match inputs.maybe("method") {
        None => Method::SaturatedPaste,
        Some(key) => Method::from_key(key)
            .ok_or_else(|| inputs.bad("method", "saturated_paste, one_to_five or water"))?,
    };
    let gypsum = inputs.yes("gypsum")?;
    let paste = salts::as_saturated_paste(method, ec).map_err(|e| said(&e))?;
    let at = |ece: f64| salts::relative_yield(crop, ece, gypsum).map_err(|e| said(&e));
    let kept = at(paste.value)?;
    let mut figure = Figure::new(kept.what);
    figure.working.extend(paste.working);
    figure.working.extend(kept.working);
    figure.value = kept.value;
    figure.unit = kept.unit;
    if let (Some(low), Some(high)) = (paste.low, paste.high) {
        figure.low = Some(at(high)?.value);
        figure.high = Some(at(low)?.value);
    }
    figure.cautions.extend(kept.cautions);
    figure.cautions.extend(paste.cautions);
    if inputs.yes("tunnel")? {
        figure.cautions.extend(salts::tunnel_cautions());
    }
    Ok(figure)
}

fn limit(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    salts::ece_for_yield(crop(inputs)?, percent(inputs)?).map_err(|e| said(&e))
}

fn water_limit(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let mut figure = limit(inputs)?;
    let ece = figure.value;
    let one = salts::as_saturated_paste(Method::Water, 1.0).map_err(|e| said(&e))?;
    let source = one
        .working
        .last()
        .map_or_else(Source::arithmetic, |s| s.source.clone());
    figure.step(
        "irrigation water",
        ece / one.value,
        "dS/m",
        format!("{} / {}", plain(ece, 4), plain(one.value, 3)),
        source,
    );
    figure.what = "Saltiest water for this yield".to_owned();
    figure.cautions.extend(one.cautions);
    Ok(figure)
}

fn leaching(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let water = inputs.amount("water")?;
    let (soil, before) = if inputs.maybe("soil").is_some() {
        (inputs.amount("soil")?, Vec::new())
    } else if inputs.maybe("crop").is_some() {
        let f = limit(inputs)?;
        (f.value, f.working)
    } else {
        return Err(TopicError::Together(
            "leaching needs soil=…, the reading to hold, or crop=…, whose own limit is then held."
                .to_owned(),
        ));
    };
    let mut figure = match (inputs.maybe("use"), inputs.maybe("use_mm")) {
        (None, None) => salts::leaching_requirement(water, soil),
        (Some(_), None) => salts::water_for_crop(water, soil, inputs.amount("use")?, "inches"),
        (None, Some(_)) => salts::water_for_crop(water, soil, inputs.amount("use_mm")?, "mm"),
        (Some(_), Some(_)) => {
            return Err(TopicError::Together(
                "Give use in inches or use_mm in millimetres, not both.".to_owned(),
            ));
        }
    }
    .map_err(|e| said(&e))?;
    let steps = std::mem::replace(&mut figure.working, before);
    figure.working.extend(steps);
    Ok(figure)
}

fn depth(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let mut figure = salts::water_to_bring_down(inputs.positive("from")?, inputs.amount("to")?)
        .map_err(|e| said(&e))?;
    if inputs.yes("tunnel")? {
        figure.cautions.extend(salts::tunnel_cautions());
    }
    Ok(figure)
}

fn index(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let material = super::field::named(inputs)?;
    let found = advice().salt_index_of(material).ok_or_else(|| {
        TopicError::Together(format!(
            "No salt index is held for {}: keep it off seed and young roots all the same.",
            material.name.to_lowercase()
        ))
    })?;
    let mut figure = Figure::new(format!("Salt index of {}", material.name.to_lowercase()));
    figure.step(
        "weight for weight, sodium nitrate being 100",
        found.value,
        "salt index",
        plain(found.value, 4),
        found.source.clone(),
    );
    if let Some(nutrient) = inputs.maybe("nutrient") {
        let percent = match nutrient {
            "n" => material.analysis.n,
            "p2o5" => material.analysis.p2o5,
            "k2o" => material.analysis.k2o,
            _ => return Err(inputs.bad("nutrient", "n, p2o5 or k2o")),
        };
        let percent = percent.filter(|p| *p > 0.0).ok_or_else(|| {
            inputs.bad("nutrient", format!("in {}", material.name.to_lowercase()))
        })?;
        // By the trade's rule: per unit of 20 lb, the nutrient in 1 % of a short ton.
        figure.step(
            "per 20 lb of the nutrient (1 % of a ton)",
            found.value / percent,
            "salt index per unit",
            format!("{} / {}", plain(found.value, 4), plain(percent, 4)),
            material.source.clone(),
        );
    }
    figure.cautions.extend(salts::index_cautions());
    Ok(figure)
}
