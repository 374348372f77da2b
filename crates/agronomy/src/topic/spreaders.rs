//! Spreaders and buckets: what a walk laid down, what to catch, how far to walk, which setting.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use super::spreading::mass;
use crate::spreader::{
    self, AtSetting, Found, Laid, Reach, Walk, Way, Width, at_settings, setting_for,
};
use crate::working::{Evidence, Figure, Source};
use quantity::{FT2_PER_ACRE, plain};

const PASSES: Key = Key::maybe(
    "passes",
    "how many times the ground is crossed; 1 where not given",
);

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "spreader",
        about: "What a spreader puts down, from what was caught over a measured strip.",
        keys: &[
            Key::needed("width", "of the strip with its unit"),
            Key::needed("distance", "walked or driven, with its unit"),
            Key::needed("caught", "the weight caught or used up, with its unit"),
            Key::maybe("target", "lb of material per 1,000 ft2 that is wanted"),
            PASSES,
        ],
        example: "width=3ft distance=100ft caught=1.2lb target=5",
        run: laid,
    },
    Topic {
        name: "hand-spread",
        about: "What was spread by hand, from counted handfuls, cups or scoops on measured ground.",
        keys: &[
            Key::needed("count", "how many"),
            Key::needed("each", "what one weighs, with its unit"),
            Key::needed("width", "of the ground with its unit"),
            Key::needed("distance", "the length of the ground with its unit"),
            Key::maybe("target", "lb of material per 1,000 ft2 that is wanted"),
        ],
        example: "count=12 each=4oz width=30in distance=100ft",
        run: by_hand,
    },
    Topic {
        name: "spreader-catch",
        about: "The weight to catch over a measured strip when a spreader is set right.",
        keys: &[
            Key::needed("width", "of the strip with its unit"),
            Key::needed("distance", "walked or driven, with its unit"),
            Key::needed(
                "target",
                "lb per 1,000 ft2 of the material, or of a nutrient with percent",
            ),
            Key::maybe("percent", "the nutrient in the material, percent of weight"),
            PASSES,
        ],
        example: "width=3ft distance=100ft target=1 percent=20",
        run: catch,
    },
    Topic {
        name: "spreader-distance",
        about: "How far to walk to cover so much ground with a spreader of a width.",
        keys: &[
            Key::needed("width", "that one trip covers, with its unit"),
            Key::needed("area", "the ground with its unit"),
        ],
        example: "width=8ft area=1000ft2",
        run: distance,
    },
    Topic {
        name: "spreader-swath",
        about: "The effective swath of a spreader that throws, from pans across its path.",
        keys: &[
            Key::needed(
                "spacing",
                "from the middle of a pan to the next, with its unit",
            ),
            Key::needed(
                "pans",
                "what each pan caught from left to right, with commas between; an odd number",
            ),
        ],
        example: "spacing=2ft pans=1,3,6,7,6,3,1",
        run: swath,
    },
    Topic {
        name: "spreader-setting",
        about: "The setting that lays down a rate, between settings that were walked.",
        keys: &[
            Key::needed(
                "walked",
                "settings with their lb per 1,000 ft2, as in 4:2.1,6:3.8",
            ),
            Key::needed("target", "lb of material per 1,000 ft2 that is wanted"),
        ],
        example: "walked=4:2.1,6:3.8 target=3",
        run: setting,
    },
    Topic {
        name: "bucket-reach",
        about: "How much ground a full bucket covers at a rate.",
        keys: &[
            Key::needed("bucket", "what a full one weighs, with its unit"),
            Key::needed("rate", "lb of material per 1,000 ft2"),
        ],
        example: "bucket=24lb rate=12",
        run: reach,
    },
    Topic {
        name: "cups",
        about: "Cups that hold a weight, where a pint of the material was weighed.",
        keys: &[
            Key::needed("amount", "the weight with its unit"),
            Key::needed("pint", "what a pint of it weighs, with its unit"),
        ],
        example: "amount=1lb pint=13oz",
        run: cups,
    },
];

fn definition() -> Source {
    super::spreading::definition()
}

fn feet(inputs: &Inputs<'_>, key: &'static str) -> Result<f64, TopicError> {
    Ok(inputs.length(key)?.to_feet())
}

fn passes(inputs: &Inputs<'_>) -> Result<f64, TopicError> {
    match inputs.maybe("passes") {
        None => Ok(1.0),
        Some(_) => {
            let n = inputs.positive("passes")?;
            if n.fract() == 0.0 {
                Ok(n)
            } else {
                Err(inputs.bad("passes", "a whole number"))
            }
        }
    }
}

/// The figure of a walk, with the advice where a target is given.
fn walked(inputs: &Inputs<'_>, way: Way, laid: Laid, passes: f64) -> Result<Figure, TopicError> {
    let walk = Walk {
        way,
        width: Width::Measured {
            ft: feet(inputs, "width")?,
        },
        length_ft: feet(inputs, "distance")?,
        trips: 1,
        laid,
    };
    let mut figure = walk.rate()?;
    if passes > 1.0 {
        let once = figure.value;
        figure.step(
            "in all passes",
            once * passes,
            "lb/1000 ft2",
            format!("{} × {}", plain(once, 5), plain(passes, 3)),
            Source::arithmetic(),
        );
    }
    if inputs.maybe("target").is_some() {
        let target = inputs.positive("target")?;
        let all = spreader::advice(way, figure.value, Some(target));
        figure.cautions.extend(all.into_iter().take(1));
    }
    Ok(figure)
}

fn laid(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let lb = mass(inputs, "caught")?.to_pounds();
    walked(inputs, Way::Drop, Laid::Weighed { lb }, passes(inputs)?)
}

fn by_hand(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let counted = Laid::Counted {
        count: inputs.positive("count")?,
        of: String::new(),
        each_lb: mass(inputs, "each")?.to_pounds(),
    };
    walked(inputs, Way::Hand, counted, 1.0)
}

fn catch(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let target = inputs.positive("target")?;
    let passes = passes(inputs)?;
    let mut figure = Figure::new("What to catch");
    let mut product = target;
    if inputs.maybe("percent").is_some() {
        let percent = inputs.positive("percent")?;
        if percent > 100.0 {
            return Err(inputs.bad("percent", "a percentage up to 100"));
        }
        product = figure.step(
            "of the material",
            target / percent * 100.0,
            "lb/1000 ft2",
            format!("{} / {} %", plain(target, 4), plain(percent, 4)),
            Source::arithmetic(),
        );
    }
    if passes > 1.0 {
        product = figure.step(
            "in one pass",
            product / passes,
            "lb/1000 ft2",
            format!("{} / {}", plain(product, 4), plain(passes, 3)),
            Source::new(
                "Rutgers Snyder Farm, Drop spreader calibration: two passes at half the rate, crosswise",
                Evidence::Seen,
            ),
        );
    }
    let (width, distance) = (inputs.length("width")?, inputs.length("distance")?);
    let strip = figure.step(
        "the strip",
        (width * distance).to_square_feet(),
        "ft2",
        format!(
            "{} ft × {} ft",
            plain(width.to_feet(), 4),
            plain(distance.to_feet(), 5)
        ),
        Source::arithmetic(),
    );
    figure.step(
        "to catch",
        product * strip / 1_000.0,
        "lb",
        format!("{} × {} / 1,000", plain(product, 4), plain(strip, 5)),
        Source::arithmetic(),
    );
    Ok(figure)
}

fn distance(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let (width, area) = (feet(inputs, "width")?, inputs.area("area")?);
    let ft2 = area.to_square_feet();
    let mut figure = Figure::new("How far to walk");
    if inputs.text("area")?.contains("ac") {
        figure.step(
            "the ground",
            ft2,
            "ft2",
            format!("{} acre × 43,560", plain(ft2 / FT2_PER_ACRE, 4)),
            definition(),
        );
    }
    figure.step(
        "to walk",
        ft2 / width,
        "ft",
        format!("{} ft2 / {} ft", plain(ft2, 5), plain(width, 4)),
        Source::arithmetic(),
    );
    Ok(figure)
}

fn swath(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let spacing = feet(inputs, "spacing")?;
    let pans: Option<Vec<f64>> = inputs
        .text("pans")?
        .split(',')
        .map(|p| p.trim().parse().ok())
        .collect();
    let pans = pans.ok_or_else(|| inputs.bad("pans", "numbers with commas between"))?;
    let mut figure = Figure::new("Effective swath");
    spreader::swath(spacing, &pans, &mut figure)?;
    Ok(figure)
}

fn settings(inputs: &Inputs<'_>) -> Result<Vec<AtSetting>, TopicError> {
    let pairs: Option<Vec<(String, f64)>> = inputs
        .text("walked")?
        .split(',')
        .map(|pair| {
            let (setting, rate) = pair.split_once(':')?;
            let rate: f64 = rate.trim().parse().ok()?;
            (rate.is_finite() && rate > 0.0).then(|| (setting.trim().to_owned(), rate))
        })
        .collect();
    let pairs = pairs.ok_or_else(|| {
        inputs.bad(
            "walked",
            "settings with their lb per 1,000 ft2, as in 4:2.1,6:3.8",
        )
    })?;
    Ok(at_settings(&pairs))
}

fn setting(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let target = inputs.positive("target")?;
    let walked = settings(inputs)?;
    let own = Source::stated("the walks you named");
    let mut figure = Figure::new("The setting");
    let none = |why: String| Err(TopicError::Together(why));
    match setting_for(&walked, target) {
        Some(Found::At { setting, lays }) => match spreader::number(&setting) {
            Some(mark) => {
                figure.step(
                    "setting",
                    mark,
                    "on the dial",
                    format!("it lays {} lb, within the tolerance", plain(lays, 4)),
                    own,
                );
                Ok(figure)
            }
            None => none(format!(
                "The setting “{setting}” lays {} lb per 1,000 ft2: as near as a walk can tell.",
                plain(lays, 4)
            )),
        },
        Some(Found::Between { mark, lower, upper }) => {
            let at = |name: &str| {
                walked
                    .iter()
                    .find(|s| s.setting == name)
                    .map_or(f64::NAN, |s| s.mean)
            };
            let (r1, r2) = (plain(at(&lower), 4), plain(at(&upper), 4));
            figure.step(
                "setting",
                mark,
                "on the dial",
                format!(
                    "{lower} + ({} − {r1}) / ({r2} − {r1}) × ({upper} − {lower})",
                    plain(target, 4)
                ),
                own,
            );
            Ok(figure)
        }
        Some(Found::AllMore { setting, lays }) => none(format!(
            "Every walk laid down more than {} lb; the least was {} lb at {setting}: walk a smaller setting.",
            plain(target, 4),
            plain(lays, 4)
        )),
        Some(Found::AllLess { setting, lays }) => none(format!(
            "Every walk laid down less than {} lb; the most was {} lb at {setting}: walk a larger setting, or cross the ground more often.",
            plain(target, 4),
            plain(lays, 4)
        )),
        Some(Found::NoMarks { below, above }) => none(format!(
            "It lies between “{below}” and “{above}”, and one cannot go between marks that are no numbers: walk one between them."
        )),
        None => none("No walk was given.".to_owned()),
    }
}

fn reach(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let bucket = mass(inputs, "bucket")?.to_pounds();
    let rate = inputs.positive("rate")?;
    let mut figure = Figure::new("How far a bucket goes");
    let ft2 = match spreader::goes(bucket, rate, None) {
        Some(Reach::Ground { ft2 }) => ft2,
        _ => return Err(inputs.bad("rate", "a rate that a bucket can be spread at")),
    };
    figure.step(
        "ground",
        ft2,
        "ft2",
        format!("{} lb / {} × 1,000", plain(bucket, 4), plain(rate, 4)),
        Source::arithmetic(),
    );
    Ok(figure)
}

fn cups(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let amount = mass(inputs, "amount")?.to_pounds();
    let pint = mass(inputs, "pint")?.to_pounds();
    let count = spreader::cups(amount, pint, 0.125)
        .ok_or_else(|| inputs.bad("amount", "a weight that cups can hold"))?;
    let mut figure = Figure::new("Cups");
    figure.step(
        "cups",
        count,
        "cups",
        format!("2 × {} lb / {} lb", plain(amount, 4), plain(pint, 4)),
        definition(),
    );
    Ok(figure)
}
