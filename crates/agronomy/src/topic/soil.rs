//! Soil tests, lime and sulfur.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use crate::lime::{self, Method, Quality};
use crate::meaning;
use crate::reading;
use crate::soil::{Analyte, Bound, Buffer, Extractant, Measured};
use crate::sulfur::{self, Carbonate};
use crate::texture::Texture;
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "ppm",
        about: "ppm in the soil as lb/acre, for a depth.",
        keys: &[
            Key::needed("ppm", "the test, ppm (mg/kg)"),
            Key::maybe("depth", "depth sampled in inches; 6 2/3 where not given"),
        ],
        example: "ppm=45 depth=6.667",
        run: ppm,
    },
    Topic {
        name: "reading",
        about: "What a published table calls a soil test value.",
        keys: &[
            Key::needed("table", "a table’s id, see `spadework tables readings`"),
            Key::needed("analyte", "p, k, ca, mg, s, b, zn, mn, cu, fe"),
            Key::needed("ppm", "the test, ppm"),
            Key::maybe(
                "extractant",
                "where it is not the table’s own, e.g. mehlich3",
            ),
            Key::maybe("group", "the table’s group: a crop key, sandy or clayey"),
            Key::maybe("ph", "pH in water, for what it does to trace elements"),
        ],
        example: "table=M3_NJ analyte=p ppm=35",
        run: read,
    },
    Topic {
        name: "lime",
        about: "Lime from pH and the lab’s buffer, by a published method.",
        keys: &[
            Key::needed("ph", "pH in water"),
            Key::needed("target_ph", "pH to lime to"),
            Key::maybe("buffer", "sikora, mehlich, smp, modified_mehlich …"),
            Key::maybe("buffer_ph", "the buffer pH"),
            Key::maybe("acidity", "exchangeable acidity, meq/100 g"),
            Key::maybe("lbc", "lime buffer capacity, mg CaCO3/kg per pH"),
            Key::maybe("depth", "inches the lime is worked in"),
            Key::maybe("texture", "for the methods that go by texture"),
            Key::maybe(
                "organic_matter",
                "percent, for the methods that go by texture",
            ),
            Key::maybe("neutralizable", "neutralizable acidity, meq/100 g"),
            Key::maybe("cec", "cation exchange capacity, meq/100 g"),
            Key::maybe(
                "method",
                "sikora, mehlich_nc, mehlich_pa, mehlich_pa_garden, georgia_lbc or smp_iowa; coarse: norway_texture, taiwan_ph; recalled and unconfirmed: smp_classic, tri_state, adams_evans, woodruff, kansas_smp, texture_cool, texture_warm, uk_rb209",
            ),
        ],
        example: "ph=5.6 target_ph=6.4 buffer=sikora buffer_ph=6.5",
        run: lime,
    },
    Topic {
        name: "lime-methods",
        about: "What every method that fits the report says of the same soil, side by side.",
        keys: &[
            Key::needed("ph", "pH in water"),
            Key::needed("target_ph", "pH to lime to"),
            Key::maybe("buffer", "sikora, mehlich, smp, modified_mehlich …"),
            Key::maybe("buffer_ph", "the buffer pH"),
            Key::maybe("acidity", "exchangeable acidity, meq/100 g"),
            Key::maybe("lbc", "lime buffer capacity, mg CaCO3/kg per pH"),
            Key::maybe("depth", "inches the lime is worked in"),
            Key::maybe("texture", "sand, loamy_sand, sandy_loam, loam …"),
            Key::maybe("organic_matter", "percent"),
            Key::maybe("neutralizable", "neutralizable acidity, meq/100 g"),
            Key::maybe("cec", "cation exchange capacity, meq/100 g"),
        ],
        example: "ph=5.6 target_ph=6.5 buffer=smp buffer_ph=6.4 texture=loam",
        run: lime_methods,
    },
    Topic {
        name: "lime-product",
        about: "lb of a lime that does the work of pure calcium carbonate.",
        keys: &[
            Key::needed("need", "lb of calcium carbonate equivalent per acre"),
            Key::needed("value", "the lime’s value in the measure named"),
            Key::needed(
                "measure",
                "cce, effective_percent, effective_lb_per_ton or nv (% CaO)",
            ),
            Key::maybe(
                "moisture",
                "water as spread, percent, where the analysis is dry",
            ),
        ],
        example: "need=2000 value=90 measure=cce",
        run: lime_product,
    },
    Topic {
        name: "sulfur",
        about: "Elemental sulfur to bring pH down.",
        keys: &[
            Key::needed("ph", "pH in water"),
            Key::needed("target_ph", "pH to go down to"),
            Key::maybe(
                "texture",
                "sand, loamy_sand, sandy_loam, loam, silt_loam, clay_loam, clay …",
            ),
            Key::maybe("cec", "meq/100 g, where the texture is not known"),
            Key::maybe("organic_matter", "percent"),
            Key::maybe("free_lime", "yes, no or untested (vinegar test)"),
            Key::maybe("blueberry", "yes or no"),
            Key::maybe(
                "source",
                "one source alone: ontario, extension_blueberry, tennessee or michigan",
            ),
        ],
        example: "ph=6.2 target_ph=4.8 texture=sandy_loam blueberry=yes free_lime=no",
        run: sulfur,
    },
];

fn ppm(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let value = inputs.amount("ppm")?;
    let depth = match inputs.maybe("depth") {
        Some(_) => inputs.positive("depth")?,
        None => 20.0 / 3.0,
    };
    let mut figure = Figure::new("Soil test as lb/acre");
    let million = figure.step(
        "weight of the soil",
        2.0 * depth / (20.0 / 3.0),
        "million lb/acre",
        format!("2 × {} in / 6.667 in", plain(depth, 4)),
        Source::new(
            "Penn State, University of Minnesota and Ohio State extension: an acre 6 2/3 in deep weighs 2 million lb",
            Evidence::Seen,
        ),
    );
    figure.step(
        "in the soil",
        value * million,
        "lb/acre",
        format!("{} ppm × {}", plain(value, 4), plain(million, 4)),
        Source::arithmetic(),
    );
    Ok(figure)
}

fn read(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let system = reading::systems()
        .by_id(inputs.text("table")?)
        .ok_or_else(|| {
            inputs.bad(
                "table",
                "the id of a table; `spadework tables readings` lists them",
            )
        })?;
    let analyte = Analyte::from_key(inputs.text("analyte")?)
        .ok_or_else(|| inputs.bad("analyte", "one of p, k, ca, mg, s, b, zn, mn, cu, fe"))?;
    let value = inputs.amount("ppm")?;
    let extractant = match inputs.maybe("extractant") {
        None => system.extractant,
        Some(key) => Extractant::from_key(key)
            .ok_or_else(|| inputs.bad("extractant", "an extractant’s key, e.g. mehlich3"))?,
    };
    let measured = Measured {
        analyte,
        value,
        bound: Bound::Exact,
        extractant: Some(extractant),
        buffer: None,
        printed: plain(value, 5),
        printed_unit: "ppm".to_owned(),
    };
    let ph = inputs.maybe_number("ph")?;
    let found = reading::look_up(system, &measured, inputs.maybe("group"))?;
    let mut figure = found.figure;
    meaning::caution(&mut figure, &meaning::of(analyte, found.level, ph));
    Ok(figure)
}

fn lime(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let method = match inputs.maybe("method") {
        None => None,
        Some(key) => Some(Method::from_key(key).ok_or_else(|| {
            inputs.bad(
                "method",
                format!("one of {}", Method::ALL.map(Method::key).join(", ")),
            )
        })?),
    };
    Ok(lime::recommend(&lime_request(inputs)?, method)?)
}

/// What every method that the report has the numbers for would say, a step for each.
fn lime_methods(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let request = lime_request(inputs)?;
    let mut figure = Figure::new("Lime by every method that fits");
    let mut rates = Vec::new();
    for (method, rate) in lime::every(&request) {
        match rate {
            Ok(rate) => {
                if !method.evidence().unconfirmed() {
                    rates.push(rate.value);
                }
                figure.step(
                    method.name(),
                    rate.value,
                    rate.unit.clone(),
                    rate.what.clone(),
                    method
                        .basis()
                        .map_or_else(Source::arithmetic, |b| b.caution.source.clone()),
                );
            }
            Err(why) => figure.caution(format!("{}: {why}", method.name()), Source::arithmetic()),
        }
    }
    if figure.working.is_empty() {
        // The plain recommendation says what is missing.
        return Ok(lime::recommend(&request, None)?);
    }
    let low = rates.iter().copied().reduce(f64::min);
    let high = rates.iter().copied().reduce(f64::max);
    if let (Some(low), Some(high)) = (low, high) {
        figure.step(
            "the highest of those read in their source",
            high,
            "lb/acre",
            format!("{} to {}", plain(low, 4), plain(high, 4)),
            Source::arithmetic(),
        );
        (figure.low, figure.high) = (Some(low), Some(high));
    }
    Ok(figure)
}

fn lime_request(inputs: &Inputs<'_>) -> Result<lime::Request, TopicError> {
    let buffer = match (inputs.maybe("buffer"), inputs.maybe_number("buffer_ph")?) {
        (None, None) => None,
        (Some(key), Some(ph)) => Some((
            Buffer::from_key(key).ok_or_else(|| {
                inputs.bad(
                    "buffer",
                    "a buffer’s name: sikora, mehlich, smp, modified_mehlich, adams_evans, moore_sikora or woodruff",
                )
            })?,
            ph,
        )),
        _ => {
            return Err(TopicError::Together(
                "buffer and buffer_ph belong together: a buffer pH means nothing without the buffer’s name."
                    .to_owned(),
            ));
        }
    };
    Ok(lime::Request {
        ph: inputs.number("ph")?,
        target_ph: inputs.number("target_ph")?,
        buffer,
        acidity: inputs.maybe_number("acidity")?,
        lbc: inputs.maybe_number("lbc")?,
        depth_in: inputs.maybe_number("depth")?,
        texture: texture(inputs)?,
        organic_matter_pct: inputs.maybe_number("organic_matter")?,
        neutralizable: inputs.maybe_number("neutralizable")?,
        cec: inputs.maybe_number("cec")?,
    })
}

fn lime_product(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
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
    let moisture = inputs.maybe_number("moisture")?.unwrap_or(0.0);
    Ok(lime::product(inputs.amount("need")?, quality, moisture)?)
}

fn sulfur(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let (texture, from_cec) = match (texture(inputs)?, inputs.maybe_number("cec")?) {
        (Some(texture), _) => (texture, None),
        (None, Some(cec)) => {
            let (texture, figure) = sulfur::texture_from_cec(cec)?;
            (texture, Some(figure))
        }
        (None, None) => {
            return Err(TopicError::Together(
                "“sulfur” needs texture=… (or cec=… where the texture is not known).".to_owned(),
            ));
        }
    };
    let carbonate = match inputs.maybe("free_lime") {
        None | Some("untested") => Carbonate::Untested,
        Some("yes") => Carbonate::Present,
        Some("no") => Carbonate::Absent,
        Some(_) => return Err(inputs.bad("free_lime", "yes, no or untested")),
    };
    let request = sulfur::Request {
        ph: inputs.number("ph")?,
        target_ph: inputs.number("target_ph")?,
        texture: Some(texture),
        organic_matter_pct: inputs.maybe_number("organic_matter")?,
        carbonate,
        blueberry: inputs.yes("blueberry")?,
    };
    let mut figure = match inputs.maybe("source") {
        None => sulfur::requirement(&request)?,
        Some(key) => sulfur::by_source(&request, key)?,
    };
    if let Some(guess) = from_cec {
        figure.working.splice(0..0, guess.working);
        figure.cautions.extend(guess.cautions);
    }
    Ok(figure)
}

fn texture(inputs: &Inputs<'_>) -> Result<Option<Texture>, TopicError> {
    match inputs.maybe("texture") {
        None => Ok(None),
        Some(key) => Texture::from_key(key)
            .map(Some)
            .ok_or_else(|| inputs.bad("texture", Texture::ALL.map(Texture::key).join(", "))),
    }
}
