//! Nitrogen that is there already: soil, cover crop, last year’s crop, residues, manure of any year.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use super::nitrogen::named_crop;
use crate::nitrogen;
use crate::working::{Figure, Source};
use quantity::plain;

pub(super) const TOPICS: &[Topic] = &[
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
];

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
