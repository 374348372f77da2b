//! How many cores, how sure, and whether the soil moved.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use crate::doubt::{self, Answered, Confidence, Doubt};
use crate::reading;
use crate::sampling::{self, OwnCores, Spread};
use crate::soil::{Analyte, Bound, Extractant, Measured};
use crate::working::Figure;

const CONFIDENCE: Key = Key::maybe(
    "confidence",
    "how often it should hold, percent; 80 where not given",
);
const CORES: Key = Key::maybe(
    "cores",
    "cores mixed into the sample; a dozen where not given",
);
const SCATTER: Key = Key::maybe(
    "scatter",
    "your own scatter between cores: percent of the mean, for pH in pH units; published where not given",
);
const OWN: Key = Key::maybe("own", "your own cores, tested one by one, parted by commas");

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "cores",
        about: "Cores to mix for a sample that comes as near the truth as you want.",
        keys: &[
            Key::needed("analyte", "what must be right: p, k, om, ph …"),
            Key::needed(
                "margin",
                "how near: percent of the value, for pH in pH units",
            ),
            SCATTER,
            OWN,
            CONFIDENCE,
        ],
        example: "analyte=p margin=25",
        run: cores,
    },
    Topic {
        name: "own-scatter",
        about: "Your own ground’s scatter between cores, from several samples of the same ground.",
        keys: &[
            Key::needed("analyte", "p, k, om, ph …"),
            Key::needed(
                "samples",
                "values of one piece of ground parted by commas, pieces by a slash: 41,38,55/20,22,31",
            ),
            CORES,
        ],
        example: "analyte=p samples=41,38,55,47/20,22,31,26 cores=12",
        run: own_scatter,
    },
    Topic {
        name: "samples",
        about: "Samples that a published rule asks for on a piece of ground.",
        keys: &[
            Key::needed("area", "an area with its unit, e.g. 12acre"),
            Key::maybe(
                "rule",
                "minnesota_level, minnesota_hilly, wisconsin, wisconsin_responsive, clemson or nebraska; clemson where not given",
            ),
        ],
        example: "area=12acre",
        run: samples,
    },
    Topic {
        name: "category-chance",
        about: "The chance that the ground truly belongs to the class a test was read as.",
        keys: &[
            Key::needed("table", "a table’s id, see `spadework tables readings`"),
            Key::needed("analyte", "p, k, ca, mg …"),
            Key::needed("ppm", "the test, ppm"),
            Key::maybe(
                "extractant",
                "where it is not the table’s own, e.g. mehlich3",
            ),
            Key::maybe("group", "the table’s group: a crop key, sandy or clayey"),
            CORES,
            SCATTER,
        ],
        example: "table=M3_NJ analyte=p ppm=35 cores=15",
        run: category_chance,
    },
    Topic {
        name: "interval",
        about: "Between what the true mean of the ground lies, given one test.",
        keys: &[
            Key::needed("analyte", "p, k, om, ph …"),
            Key::needed("value", "the test, in its unit"),
            CORES,
            SCATTER,
            CONFIDENCE,
        ],
        example: "analyte=ph value=6.1 cores=15",
        run: interval,
    },
    Topic {
        name: "change",
        about: "Whether two tests of the same ground differ by more than their doubt.",
        keys: &[
            Key::needed("analyte", "p, k, om, ph …"),
            Key::needed("before", "the earlier test, in its unit"),
            Key::needed("after", "the later test"),
            CORES,
            SCATTER,
            CONFIDENCE,
        ],
        example: "analyte=p before=48 after=62 cores=15",
        run: change,
    },
    Topic {
        name: "trend",
        about: "Whether a row of yearly tests moves (Mann-Kendall, Theil-Sen).",
        keys: &[
            Key::needed(
                "tests",
                "year:value pairs parted by commas, e.g. 2021:48,2022:51",
            ),
            Key::maybe("unit", "the unit of the values; ppm where not given"),
        ],
        example: "tests=2021:48,2022:51,2023:55,2024:54,2025:60,2026:63",
        run: trend,
    },
    Topic {
        name: "answer",
        about: "How far a ground answers to lime, phosphate or potash by its own tests, as a multiple of the published answer.",
        keys: &[
            Key::needed("analyte", "what was tested: ph, p or k"),
            Key::needed(
                "tests",
                "expected:found pairs parted by commas: what the published figures had led to expect, and what was found; the first pair is the first test twice",
            ),
            CORES,
            SCATTER,
        ],
        example: "analyte=ph tests=5.6:5.6,6.4:6.1,6.3:6.0,6.9:6.5",
        run: answer,
    },
];

fn analyte(i: &Inputs<'_>) -> Result<Analyte, TopicError> {
    Analyte::from_key(i.text("analyte")?)
        .ok_or_else(|| i.bad("analyte", "something a lab measures: p, k, om, ph …"))
}

fn confidence(i: &Inputs<'_>) -> Result<Confidence, TopicError> {
    match i.maybe_number("confidence")? {
        None => Ok(Confidence::USUAL),
        Some(percent) => Ok(Confidence::percent(percent)?),
    }
}

/// The kind of spread a test has: in its own unit where it is normal.
fn spread(analyte: Analyte, number: f64) -> Spread {
    match sampling::shape(analyte) {
        Some((sampling::Shape::Normal, _)) => Spread::Absolute(number),
        _ => Spread::Relative(number / 100.0),
    }
}

fn count(i: &Inputs<'_>) -> Result<u32, TopicError> {
    match i.maybe_number("cores")? {
        None => sampling::usual_cores().ok_or(TopicError::from(sampling::SamplingError::Table(
            "usual number of cores",
        ))),
        Some(n) if (1.0..=10_000.0).contains(&n) && n.fract() == 0.0 => Ok(n as u32),
        Some(_) => Err(i.bad("cores", "a whole number from 1 to 10,000")),
    }
}

fn doubt_of(i: &Inputs<'_>, analyte: Analyte) -> Result<Doubt, TopicError> {
    let own = match i.maybe("scatter") {
        None => None,
        Some(_) => Some(spread(analyte, i.positive("scatter")?)),
    };
    Ok(doubt::of_test(analyte, count(i)?, own)?)
}

fn own_scatter(i: &Inputs<'_>) -> Result<Figure, TopicError> {
    let analyte = analyte(i)?;
    let cores = count(i)?;
    let groups = i
        .text("samples")?
        .split('/')
        .map(|ground| {
            let values = ground
                .split(',')
                .map(|v| v.trim().parse::<f64>().ok().filter(|v| v.is_finite()))
                .collect::<Option<Vec<f64>>>()
                .ok_or_else(|| {
                    i.bad(
                        "samples",
                        "numbers parted by commas, pieces of ground by a slash",
                    )
                })?;
            Ok(sampling::Alike { cores, values })
        })
        .collect::<Result<Vec<_>, TopicError>>()?;
    sampling::own_scatter(analyte, &groups)
        .map(|own| own.figure)
        .ok_or_else(|| {
            i.bad(
                "samples",
                format!(
                    "at least {} samples more than pieces of ground, all above zero",
                    sampling::LEAST_FREEDOM
                ),
            )
        })
}

fn cores(i: &Inputs<'_>) -> Result<Figure, TopicError> {
    let analyte = analyte(i)?;
    let margin = i.positive("margin")?;
    let normal = matches!(spread(analyte, 1.0), Spread::Absolute(_));
    let unit = if normal { "pH" } else { "%" };
    let confidence = confidence(i)?;
    if let Some(list) = i.maybe("own") {
        let values = list
            .split(',')
            .map(|v| {
                v.trim()
                    .parse::<f64>()
                    .map_err(|_| i.bad("own", "numbers parted by commas"))
            })
            .collect::<Result<Vec<f64>, _>>()?;
        let own = OwnCores::new(&values)?;
        let scatter = own.spread(!normal).shown();
        return Ok(sampling::cores_needed(
            scatter,
            margin,
            confidence,
            Some(own.count),
            unit,
        )?);
    }
    let scatter = match i.maybe("scatter") {
        Some(_) => i.positive("scatter")?,
        None => match sampling::field_variation(analyte) {
            Some(v) if !v.whole_test => v.spread.shown(),
            _ => {
                return Err(TopicError::Together(format!(
                    "No published scatter between cores is held for {}; give your own as scatter=…",
                    analyte.name().to_lowercase()
                )));
            }
        },
    };
    let mut figure = sampling::cores_needed(scatter, margin, confidence, None, unit)?;
    if i.maybe("scatter").is_none()
        && let Some(v) = sampling::field_variation(analyte)
    {
        figure.working.insert(
            0,
            crate::working::Step {
                what: "published scatter between cores".to_owned(),
                value: scatter,
                unit: unit.to_owned(),
                formula: v.what.clone(),
                source: v.source.clone(),
            },
        );
    }
    Ok(figure)
}

fn samples(i: &Inputs<'_>) -> Result<Figure, TopicError> {
    let rule = i.maybe("rule").unwrap_or("clemson");
    Ok(sampling::samples_for(i.area("area")?.to_acres(), rule)?)
}

fn category_chance(i: &Inputs<'_>) -> Result<Figure, TopicError> {
    let analyte = analyte(i)?;
    let system = reading::systems()
        .by_id(i.text("table")?)
        .ok_or_else(|| i.bad("table", "the id of a table of classes"))?;
    let extractant = match i.maybe("extractant") {
        Some(key) => {
            Extractant::from_key(key).ok_or_else(|| i.bad("extractant", "an extractant’s key"))?
        }
        None => system.extractant,
    };
    let ppm = i.positive("ppm")?;
    let measured = Measured {
        analyte,
        value: ppm,
        bound: Bound::Exact,
        extractant: Some(extractant),
        buffer: None,
        printed: i.text("ppm")?.to_owned(),
        printed_unit: "ppm".to_owned(),
    };
    let read = reading::look_up(system, &measured, i.maybe("group"))?;
    Ok(doubt::chances(&read, &doubt_of(i, analyte)?).1)
}

fn interval(i: &Inputs<'_>) -> Result<Figure, TopicError> {
    let analyte = analyte(i)?;
    let value = i.positive("value")?;
    Ok(doubt_of(i, analyte)?.figure_of(value, analyte.unit(), confidence(i)?))
}

fn change(i: &Inputs<'_>) -> Result<Figure, TopicError> {
    let analyte = analyte(i)?;
    let (before, after) = (i.positive("before")?, i.positive("after")?);
    Ok(doubt::change(
        before,
        after,
        &doubt_of(i, analyte)?,
        unit(analyte),
        confidence(i)?,
    ))
}

fn unit(analyte: Analyte) -> &'static str {
    if analyte.unit().is_empty() {
        "pH"
    } else {
        analyte.unit()
    }
}

fn answer(i: &Inputs<'_>) -> Result<Figure, TopicError> {
    let analyte = analyte(i)?;
    let prior = match analyte {
        Analyte::Ph => doubt::lime_prior(),
        Analyte::P | Analyte::K => doubt::nutrient_prior(0.0),
        _ => return Err(i.bad("analyte", "ph, p or k")),
    };
    let doubt = doubt_of(i, analyte)?;
    let expected = "expected:found pairs parted by commas, e.g. 5.6:5.6,6.4:6.1";
    let tests = i
        .text("tests")?
        .split(',')
        .map(|pair| {
            let (expected, found) = pair.split_once(':')?;
            let (expected, measured): (f64, f64) =
                (expected.trim().parse().ok()?, found.trim().parse().ok()?);
            let sd = match doubt.shape {
                sampling::Shape::Lognormal => doubt.sigma(measured) * measured,
                sampling::Shape::Normal => doubt.sigma(measured),
            };
            (expected.is_finite() && measured > 0.0).then_some(Answered {
                expected,
                measured,
                sd,
            })
        })
        .collect::<Option<Vec<Answered>>>()
        .ok_or_else(|| i.bad("tests", expected))?;
    doubt::learn(&prior, &tests)
        .map(|found| found.figure)
        .ok_or_else(|| {
            i.bad(
                "tests",
                "two pairs or more, between which a change was expected",
            )
        })
}

fn trend(i: &Inputs<'_>) -> Result<Figure, TopicError> {
    let expected = "year:value pairs parted by commas, e.g. 2021:48,2022:51";
    let points = i
        .text("tests")?
        .split(',')
        .map(|pair| {
            let (year, value) = pair.split_once(':')?;
            Some((year.trim().parse().ok()?, value.trim().parse().ok()?))
        })
        .collect::<Option<Vec<(f64, f64)>>>()
        .ok_or_else(|| i.bad("tests", expected))?;
    Ok(doubt::trend(&points, i.maybe("unit").unwrap_or("ppm"))?.figure)
}
