//! Nitrogen: splitting a season, credits for what came before, nitrate tests, ammonia, limits.

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
        name: "soil-nitrogen",
        about: "Nitrogen from soil organic matter in a season, by one of three methods.",
        keys: &[
            Key::needed("organic_matter", "percent"),
            Key::maybe("method", "vermont (where not given), germany or share"),
        ],
        example: "organic_matter=3.5 method=vermont",
        run: soil,
    },
    Topic {
        name: "cover-crop-share",
        about: "Nitrogen that a cover crop leaves, as a plain share of what it holds.",
        keys: &[
            Key::needed("dry_lb", "dry matter, lb/acre"),
            Key::needed("n", "nitrogen in the dry matter, percent"),
            Key::maybe(
                "surface",
                "warm or cool climate where it is left on the surface",
            ),
        ],
        example: "dry_lb=3400 n=3.2",
        run: cover_share,
    },
    Topic {
        name: "previous-crop-nitrogen",
        about: "Nitrogen credit for what grew last year, by one guide.",
        keys: &[
            Key::needed(
                "previous",
                "sod_legume, alfalfa_good, soybean, dry_bean and others",
            ),
            Key::maybe(
                "guide",
                "germany, vermont, nebraska, north-dakota or illinois",
            ),
        ],
        example: "previous=alfalfa_good guide=nebraska",
        run: previous,
    },
    Topic {
        name: "residue-nitrogen",
        about: "Nitrogen credit for a vegetable’s residues worked in earlier the same year.",
        keys: &[
            Key::needed("crop", "the crop that was worked in, its key"),
            Key::maybe(
                "part",
                "which of its kinds, where the table tells them apart",
            ),
            Key::maybe("removed", "yes where the whole plant was taken off"),
            Key::maybe(
                "sampled_weeks",
                "weeks from working in to sampling mineral nitrogen, where it was sampled",
            ),
        ],
        example: "crop=broccoli",
        run: residue,
    },
    Topic {
        name: "residual-nitrogen",
        about: "What manure or compost spread this year and in earlier years gives this year.",
        keys: &[
            Key::needed(
                "kind",
                "cow, sheep, swine, horse or poultry manure; organic or compost by the German ordinance",
            ),
            Key::needed(
                "amount",
                "organic nitrogen of a manure, total nitrogen of organic and compost, lb/acre each time",
            ),
            Key::maybe("dry_matter", "of a manure, percent"),
            Key::needed(
                "years_ago",
                "years ago it was spread, with commas; 0 is this year",
            ),
        ],
        example: "kind=cow amount=50 dry_matter=15 years_ago=0,1,2",
        run: residual,
    },
    Topic {
        name: "three-year-nitrogen",
        about: "What manure or compost gives over three years.",
        keys: &[
            Key::needed("kind", "feedlot, compost or poultry_litter"),
            Key::needed("total", "total nitrogen spread, lb/acre"),
        ],
        example: "kind=compost total=200",
        run: three_years,
    },
    Topic {
        name: "manure-per-ton",
        about: "First-year nitrogen of manure that was not analyzed, by a guide’s figure per ton.",
        keys: &[
            Key::needed("guide", "vermont, nebraska or illinois"),
            Key::needed("tons", "tons/acre"),
        ],
        example: "guide=vermont tons=10",
        run: per_ton,
    },
    Topic {
        name: "manure-rate",
        about: "Tons of manure for a need of one nutrient.",
        keys: &[
            Key::needed("need", "lb of the nutrient per acre"),
            Key::needed("per_ton", "lb of it in a ton that counts this season"),
        ],
        example: "need=160 per_ton=8.53",
        run: rate,
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
        if !part.note.is_empty() {
            figure.caution(
                format!("Part {}: {}.", part.part, part.note),
                part.source.clone(),
            );
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

fn soil(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(nitrogen::organic_matter_by(
        inputs.amount("organic_matter")?,
        inputs.maybe("method").unwrap_or("vermont"),
    )?)
}

fn cover_share(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let surface = match inputs.maybe("surface") {
        None | Some("no") => None,
        Some("warm") => Some(true),
        Some("cool") => Some(false),
        Some(_) => return Err(inputs.bad("surface", "no, warm or cool")),
    };
    Ok(nitrogen::cover_crop_share(
        inputs.amount("dry_lb")?,
        inputs.amount("n")?,
        surface,
    )?)
}

fn previous(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(nitrogen::previous_crop(inputs.text("previous")?, inputs.maybe("guide"))?.figure)
}

fn residue(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(nitrogen::residue(
        named_crop(inputs)?,
        inputs.maybe("part"),
        inputs.yes("removed")?,
        inputs.maybe_number("sampled_weeks")?,
    )?
    .figure)
}

fn residual(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let years: Vec<u8> = inputs
        .text("years_ago")?
        .split(',')
        .map(|y| y.trim().parse::<u8>())
        .collect::<Result<_, _>>()
        .map_err(|_| inputs.bad("years_ago", "whole years with commas between, e.g. 0,1,2"))?;
    Ok(nitrogen::residual(
        inputs.text("kind")?,
        inputs.amount("amount")?,
        inputs.maybe_number("dry_matter")?,
        &years,
    )?)
}

fn three_years(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(nitrogen::three_years(
        inputs.text("kind")?,
        inputs.amount("total")?,
    )?)
}

fn per_ton(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    Ok(nitrogen::manure_per_ton(
        inputs.text("guide")?,
        inputs.amount("tons")?,
    )?)
}

fn rate(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let (need, per_ton) = (inputs.amount("need")?, inputs.positive("per_ton")?);
    let mut figure = Figure::new("Manure for a need");
    figure.step(
        "manure",
        need / per_ton,
        "tons/acre",
        format!("{} / {}", plain(need, 4), plain(per_ton, 4)),
        Source::arithmetic(),
    );
    nitrogen::on_manure(&mut figure);
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
