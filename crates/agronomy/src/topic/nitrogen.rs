//! Nitrogen: splitting a season, nitrate tests, ammonia, limits.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use crate::crop::{self, Crop};
use crate::nitrogen::{self, BeforeCorn, CornHistory, Covered, Weather};
use crate::working::{Figure, Source};
use quantity::plain;

const CROP: Key = Key::needed("crop", "a crop’s key, see `spadework tables crops`");

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "nitrogen-split",
        about: "A season’s nitrogen in its parts, with when each goes on, by one published system.",
        keys: &[
            CROP,
            Key::maybe(
                "system",
                "midwest, new-england, germany, norway and others; the first that holds the crop where not given",
            ),
            Key::maybe("sandy", "yes on sandy ground"),
            Key::maybe("part", "a number, for that part alone"),
        ],
        example: "crop=broccoli system=midwest",
        run: split,
    },
    Topic {
        name: "nitrate-test",
        about: "Nitrogen to sidedress so that a nitrate test comes up to the published level.",
        keys: &[
            CROP,
            Key::needed("ppm", "nitrate nitrogen in the top 12 inches, ppm"),
            Key::maybe("guide", "heckman, northeast, california or texas"),
            Key::maybe("sandy", "yes on sandy ground low in organic matter"),
        ],
        example: "crop=cabbage ppm=18",
        run: nitrate,
    },
    Topic {
        name: "nitrate-test-corn",
        about: "Nitrogen to sidedress field corn by Penn State’s worksheet.",
        keys: &[
            Key::needed("ppm", "nitrate nitrogen in the top 12 inches, ppm"),
            Key::needed("bushels", "expected yield, bushels of grain per acre"),
            Key::maybe("manured", "yes where manured since the last harvest"),
            Key::maybe(
                "manured_before",
                "yes where manured in the three years before that",
            ),
            Key::maybe("previous", "corn, soybean, forage_legume or other"),
        ],
        example: "ppm=15 bushels=150 previous=corn",
        run: corn,
    },
    Topic {
        name: "ammonia-loss",
        about: "Ammonia lost to the air by how soon manure is covered, percent or lb.",
        keys: &[
            Key::maybe("days", "days until it is worked in"),
            Key::maybe("place", "injected, left_liquid, left_solid or on_residue"),
            Key::maybe(
                "weather",
                "average, cool-wet, cool-dry, warm-wet or warm-dry",
            ),
            Key::maybe("ammonium", "ammonium nitrogen, lb/acre"),
        ],
        example: "days=1 weather=warm-dry ammonium=40",
        run: ammonia,
    },
    Topic {
        name: "nitrogen-limit",
        about: "A spreading against the German limit on nitrogen from manure or compost.",
        keys: &[
            Key::needed(
                "total",
                "total nitrogen, lb/acre: of a year for manure, of three for compost",
            ),
            Key::maybe("compost", "yes for compost"),
        ],
        example: "total=120",
        run: limit,
    },
];

pub(super) fn named_crop(inputs: &Inputs<'_>) -> Result<&'static Crop, TopicError> {
    crop::find_by_name(inputs.text("crop")?).ok_or_else(|| {
        inputs.bad(
            "crop",
            "a crop held here; `spadework tables crops` lists them",
        )
    })
}

fn split(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let crop = named_crop(inputs)?;
    let sandy = inputs.yes("sandy")?;
    let of = nitrogen::split_systems_of(crop);
    let system = match inputs.maybe("system") {
        Some(system) => system,
        None => of.first().map(|s| s.key.as_str()).unwrap_or_default(),
    };
    let mut parts = nitrogen::need_split_on(crop, system, sandy)?;
    if let Some(part) = inputs.maybe("part") {
        parts.retain(|p| p.part.to_string() == part);
        if parts.is_empty() {
            return Err(inputs.bad("part", "the number of a part"));
        }
    }
    let mut figure = Figure::new(format!(
        "Nitrogen for {} in its parts",
        crop.name.to_lowercase()
    ));
    let mut said = None;
    for part in &parts {
        figure.step(
            format!("{}. {}", part.part, part.timing),
            part.value,
            "lb N/acre",
            if part.low < part.high {
                format!("{} to {} lb/acre", plain(part.low, 3), plain(part.high, 3))
            } else {
                format!("{} lb/acre", plain(part.value, 3))
            },
            part.source.clone(),
        );
        if !part.note.is_empty() && Some(part.note.as_str()) != said {
            figure.caution(
                if part.printed {
                    format!("Part {}: {}.", part.part, part.note)
                } else {
                    format!("The season’s figure is for {}.", part.note)
                },
                part.source.clone(),
            );
            said = Some(&part.note);
        }
    }
    let (low, high) = parts
        .iter()
        .fold((0.0, 0.0), |(l, h), p| (l + p.low, h + p.high));
    if parts.len() > 1 {
        figure.step(
            "the season",
            parts.iter().map(|p| p.value).sum(),
            "lb N/acre",
            parts
                .iter()
                .map(|p| plain(p.value, 4))
                .collect::<Vec<_>>()
                .join(" + "),
            Source::arithmetic(),
        );
    }
    if low < high {
        figure.low = Some(low);
        figure.high = Some(high);
    }
    if parts.iter().any(|p| p.source.evidence.unconfirmed()) {
        figure.caution(
            "This rate is recalled, not read in the source: check it with your adviser.",
            parts
                .first()
                .map_or_else(Source::arithmetic, |p| p.source.clone()),
        );
    }
    nitrogen::on_leaching(&mut figure, sandy);
    Ok(figure)
}

fn nitrate(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let crop = named_crop(inputs)?;
    Ok(nitrogen::raise_to_level(
        &crop.key,
        inputs.maybe("guide"),
        inputs.amount("ppm")?,
        inputs.yes("sandy")?,
    )?)
}

fn corn(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let previous = match inputs.maybe("previous") {
        None | Some("other") => BeforeCorn::Other,
        Some("corn") => BeforeCorn::Corn,
        Some("soybean") => BeforeCorn::Soybean,
        Some("forage_legume") => BeforeCorn::ForageLegume,
        Some(_) => return Err(inputs.bad("previous", "corn, soybean, forage_legume or other")),
    };
    Ok(nitrogen::pennsylvania_corn(
        inputs.amount("ppm")?,
        &CornHistory {
            yield_bu: inputs.amount("bushels")?,
            manured_since_harvest: inputs.yes("manured")?,
            manured_before: inputs.yes("manured_before")?,
            previous,
        },
    )?)
}

/// How manure is covered: `days` or `place`, not both.
pub(super) fn covered(inputs: &Inputs<'_>) -> Result<Option<Covered>, TopicError> {
    Ok(match (inputs.maybe("days"), inputs.maybe("place")) {
        (Some(_), Some(_)) => {
            return Err(TopicError::Together(
                "Give days or place, not both.".to_owned(),
            ));
        }
        (Some(_), None) => Some(Covered::WithinDays(inputs.amount("days")?)),
        (None, Some("injected")) => Some(Covered::Injected),
        (None, Some("left_liquid")) => Some(Covered::LeftLiquid),
        (None, Some("left_solid")) => Some(Covered::LeftSolid),
        (None, Some("on_residue")) => Some(Covered::OnResidue),
        (None, Some(_)) => {
            return Err(inputs.bad("place", "injected, left_liquid, left_solid or on_residue"));
        }
        (None, None) => None,
    })
}

pub(super) fn weather(inputs: &Inputs<'_>) -> Result<Weather, TopicError> {
    let word = inputs.maybe("weather").unwrap_or("average");
    Weather::from_word(word).ok_or_else(|| {
        inputs.bad(
            "weather",
            "average, cool-wet, cool-dry, warm-wet or warm-dry",
        )
    })
}

fn ammonia(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let covered = covered(inputs)?.ok_or_else(|| {
        TopicError::Together(
            "Say days=… until it is worked in, or place=… where it stays; for example: ammonia-loss days=1".to_owned(),
        )
    })?;
    let ammonium = match inputs.maybe("ammonium") {
        Some(_) => Some((inputs.amount("ammonium")?, "lb N/acre")),
        None => None,
    };
    Ok(nitrogen::ammonia_loss(ammonium, covered, weather(inputs)?)?)
}

fn limit(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(nitrogen::within_limit(
        inputs.yes("compost")?,
        inputs.amount("total")?,
    )?)
}
