//! Nitrogen over the weeks: availability, the model of its release, a crop’s uptake, the two together.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use super::nitrogen::{covered, named_crop, weather};
use super::nitrogen_inputs::{anchor, celsius, spreadings, temperatures};
use crate::crop::NeedKind;
use crate::nitrogen::{self, Covered, Plan, Spreading};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

const SOIL_TEMP: Key = Key::maybe(
    "soil_temp",
    "mean soil temperature of each week with its unit, with commas: 58F,60F or 14C; the last one goes on",
);
const WEEK_OF_YEAR: Key = Key::maybe(
    "week_of_year",
    "1 to 52, the first week, for the invented climate where no temperature is given",
);

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "available-nitrogen",
        about: "The share of a material’s nitrogen that becomes available, by class, by % N or by C:N.",
        keys: &[
            Key::maybe(
                "material",
                "a class: feather, granular, compost_other, cattle, litter and others",
            ),
            Key::maybe(
                "green_n",
                "nitrogen in the dry matter of green plant matter, percent",
            ),
            Key::maybe("dry_n", "nitrogen in a dry organic fertilizer, percent"),
            Key::maybe("c_to_n", "carbon to nitrogen"),
            Key::maybe(
                "amount",
                "nitrogen spread, lb/acre; the answer is a percentage where not given",
            ),
        ],
        example: "material=feather amount=80",
        run: available,
    },
    Topic {
        name: "nitrogen-weeks",
        about: "Nitrogen that a material has made available by a week after it was spread.",
        keys: &[
            Key::maybe("material", "a class, as for available-nitrogen"),
            Key::maybe(
                "green_n",
                "nitrogen in the dry matter of green plant matter, percent",
            ),
            Key::maybe("dry_n", "nitrogen in a dry organic fertilizer, percent"),
            Key::maybe("c_to_n", "carbon to nitrogen"),
            Key::needed("week", "how many weeks after spreading, 1 to 156"),
            Key::maybe(
                "amount",
                "total nitrogen spread, lb/acre; 100 where not given, so that the answer reads as percent",
            ),
            Key::maybe("ammonium", "of it ammonium nitrogen, lb/acre"),
            Key::maybe("nitrate", "of it nitrate nitrogen, lb/acre"),
            Key::maybe("days", "days until it is worked in; 0 where not given"),
            Key::maybe(
                "place",
                "injected, left_liquid, left_solid or on_residue, where it is not worked in",
            ),
            Key::maybe(
                "weather",
                "for ammonia: average, cool-wet, cool-dry, warm-wet or warm-dry",
            ),
            SOIL_TEMP,
            WEEK_OF_YEAR,
        ],
        example: "material=feather week=4 amount=80 soil_temp=60F",
        run: by_week,
    },
    Topic {
        name: "soil-half-life",
        about: "Weeks in which half of the soil’s ready organic nitrogen is let go at a temperature.",
        keys: &[Key::needed(
            "soil_temp",
            "soil temperature with its unit: 77F or 25C",
        )],
        example: "soil_temp=25C",
        run: half_life,
    },
    Topic {
        name: "crop-uptake",
        about: "Nitrogen that a crop has taken up by a week after planting.",
        keys: &[
            Key::needed("crop", "a crop’s key, see `spadework tables crops`"),
            Key::needed("week", "weeks after planting"),
            Key::maybe(
                "total",
                "all it takes up, lb N/acre; a published total where not given",
            ),
            Key::maybe("season_weeks", "length of the season, weeks"),
        ],
        example: "crop=lettuce_head week=4 total=120",
        run: uptake,
    },
    Topic {
        name: "nitrogen-season",
        about: "Supply against uptake over a season: how short the crop is at the worst.",
        keys: &[
            Key::needed("crop", "a crop’s key, see `spadework tables crops`"),
            Key::maybe(
                "total",
                "all it takes up, lb N/acre; a published total where not given",
            ),
            Key::maybe("season_weeks", "length of the season, weeks"),
            Key::maybe(
                "spread",
                "class:lb N/acre:week with commas, e.g. feather:60:1,compost_other:150:0; week 1 is the first after planting",
            ),
            Key::maybe("organic_matter", "soil organic matter, percent"),
            Key::maybe(
                "mineral",
                "nitrate and ammonium nitrogen there before, lb/acre",
            ),
            SOIL_TEMP,
            WEEK_OF_YEAR,
        ],
        example: "crop=lettuce_head total=120 spread=feather:60:0,granular:60:3 organic_matter=3 soil_temp=58F,60F,62F,64F",
        run: over_season,
    },
];

fn available(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let amount = match inputs.maybe("amount") {
        Some(_) => Some(inputs.amount("amount")?),
        None => None,
    };
    if let Some(key) = inputs.maybe("material") {
        // One of the four only; the class adds its own cautions.
        anchor(inputs)?;
        return Ok(nitrogen::available_of_class(key, amount)?.1);
    }
    Ok(nitrogen::available(&anchor(inputs)?, amount)?)
}

fn by_week(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let week: u32 = inputs
        .text("week")?
        .parse()
        .ok()
        .filter(|w| (1..=156).contains(w))
        .ok_or_else(|| inputs.bad("week", "a whole number from 1 to 156"))?;
    let total_n = match inputs.maybe("amount") {
        Some(_) => inputs.amount("amount")?,
        None => 100.0,
    };
    let maybe = |key| match inputs.maybe(key) {
        Some(_) => inputs.amount(key),
        None => Ok(0.0),
    };
    let spreading = Spreading {
        anchor: anchor(inputs)?,
        total_n,
        ammonium_n: maybe("ammonium")?,
        nitrate_n: maybe("nitrate")?,
        week: 1,
        covered: covered(inputs)?.unwrap_or(Covered::WithinDays(0.0)),
        weather: weather(inputs)?,
    };
    let (temps, source) = temperatures(inputs, week as usize)?;
    let mut figure = nitrogen::given_by(&spreading, week, &temps, &source)?;
    let manure = match inputs.maybe("material") {
        Some(key) => nitrogen::release_class(key)?.family == "manure",
        None => false,
    };
    if manure {
        if inputs.maybe("ammonium").is_none() {
            nitrogen::on_unanalyzed(&mut figure);
        }
        nitrogen::on_manure(&mut figure);
    }
    Ok(figure)
}

fn half_life(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let temp = celsius(inputs.text("soil_temp")?)
        .ok_or_else(|| inputs.bad("soil_temp", "a temperature with F or C, e.g. 77F"))?;
    Ok(nitrogen::soil_half_life(temp)?)
}

fn crop_uptake(inputs: &Inputs<'_>) -> Result<(nitrogen::Uptake, Source), TopicError> {
    let crop = named_crop(inputs)?;
    let weeks = inputs.maybe_number("season_weeks")?;
    let (total, source) = match inputs.maybe("total") {
        Some(_) => (
            inputs.amount("total")?,
            Source::stated("the uptake you gave"),
        ),
        None => crop
            .nitrogen
            .iter()
            .find(|r| r.kind == NeedKind::Total)
            .or_else(|| crop.nitrogen.first())
            .map(|r| {
                (
                    r.value,
                    Source::new(
                        format!("{}, read as what the crop takes up", r.source.text),
                        r.source.evidence.max(Evidence::Derived),
                    ),
                )
            })
            .ok_or_else(|| {
                TopicError::Together(format!(
                    "No nitrogen figure is held for {}; give total=….",
                    crop.name.to_lowercase()
                ))
            })?,
    };
    Ok((nitrogen::uptake(crop, total, weeks)?, source))
}

fn uptake(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let week = inputs.amount("week")?;
    let (of, source) = crop_uptake(inputs)?;
    let mut figure = Figure::new("Nitrogen taken up");
    figure.step(
        "in the whole season",
        of.total,
        "lb N/acre",
        format!(
            "{} lb/acre over {} weeks",
            plain(of.total, 4),
            plain(of.weeks, 3)
        ),
        source,
    );
    figure.step(
        format!("by week {}", plain(week, 3)),
        of.by(week),
        "lb N/acre",
        format!(
            "logistic, middle at {} weeks, steepness {} weeks",
            plain(of.middle, 3),
            plain(of.steepness, 3)
        ),
        Source::new(
            of.sources
                .iter()
                .map(|s| s.text.as_str())
                .collect::<Vec<_>>()
                .join("; "),
            of.sources
                .iter()
                .map(|s| s.evidence)
                .max()
                .unwrap_or(Evidence::Derived)
                .max(Evidence::Derived),
        ),
    );
    Ok(figure)
}

fn over_season(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let (of, uptake_source) = crop_uptake(inputs)?;
    let spreadings = spreadings(inputs)?;
    let first_week = spreadings.iter().map(|s| s.week).min().unwrap_or(1).min(1);
    let count = (of.weeks.ceil() as i32 - first_week + 1).clamp(1, 156) as usize;
    let (soil_c, soil_source) = temperatures(inputs, count)?;
    let result = nitrogen::weeks(&Plan {
        spreadings,
        organic_matter_pct: inputs.maybe_number("organic_matter")?,
        mineral_n: inputs.maybe_number("mineral")?.unwrap_or(0.0),
        uptake: Some(of),
        first_week,
        soil_c,
        soil_source,
    })?;
    let sum = |f: fn(&nitrogen::Week) -> f64| result.weeks.iter().map(f).sum::<f64>();
    let weakest = result
        .sources
        .iter()
        .map(|s| s.evidence)
        .max()
        .unwrap_or(Evidence::Derived)
        .max(Evidence::Derived);
    let model = || {
        Source::new(
            result
                .sources
                .iter()
                .map(|s| s.text.as_str())
                .collect::<Vec<_>>()
                .join("; "),
            weakest,
        )
    };
    let mut figure = Figure::new("Nitrogen over the season");
    figure.step(
        "from the materials",
        sum(|w| w.spread),
        "lb N/acre",
        format!("of {} spread", plain(result.applied, 4)),
        model(),
    );
    figure.step(
        "from soil organic matter",
        sum(|w| w.soil),
        "lb N/acre",
        "the seasonal credit by the warmth of each week",
        model(),
    );
    figure.step(
        "taken up",
        sum(|w| w.uptake),
        "lb N/acre",
        format!("over {} weeks", result.weeks.len()),
        uptake_source,
    );
    figure.step(
        "left at the end",
        result.surplus,
        "lb N/acre",
        "supply − uptake, not below 0",
        Source::arithmetic(),
    );
    let (week, short) = result.shortest.unwrap_or((0, 0.0));
    figure.step(
        "short at the worst",
        short,
        "lb N/acre",
        match result.first_short {
            Some(first) => format!("first short in week {first}, most in week {week}"),
            None => "never short".to_owned(),
        },
        Source::arithmetic(),
    );
    figure.cautions = result.cautions;
    Ok(figure)
}
