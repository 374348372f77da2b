//! What may be mixed, sprays on leaves and metals in soil.

use super::Topic;
use super::inputs::{Inputs, Key, TopicError};
use crate::material::{self, advice, may_mix};
use crate::working::{Evidence, Figure, Source};
use quantity::plain;

pub(super) const TOPICS: &[Topic] = &[
    Topic {
        name: "mix",
        about: "How many published reasons there are against mixing, storing or dissolving two materials together.",
        keys: &[
            Key::needed("a", "a material’s key, see `spadework tables materials`"),
            Key::needed("b", "another"),
        ],
        example: "a=lime_calcitic b=urea",
        run: mix,
    },
    Topic {
        name: "foliar",
        about: "The strength of a spray of a micronutrient on leaves.",
        keys: &[Key::needed("nutrient", "b, cu, mn, zn or fe")],
        example: "nutrient=b",
        run: foliar,
    },
    Topic {
        name: "soil-metal",
        about: "How many of the published levels of lead or arsenic in soil a value passes.",
        keys: &[
            Key::needed("metal", "lead or arsenic"),
            Key::needed("ppm", "total metal in the soil, ppm"),
        ],
        example: "metal=lead ppm=240",
        run: metal,
    },
];

fn mix(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let of = |key: &'static str| {
        material::find(inputs.text(key)?).ok_or_else(|| {
            inputs.bad(
                key,
                "the key of a material; `spadework tables materials` lists them",
            )
        })
    };
    let (a, b) = (of("a")?, of("b")?);
    let found = may_mix(a, b);
    let mut figure = Figure::new(format!(
        "Against mixing {} and {}",
        a.name.to_lowercase(),
        b.name.to_lowercase()
    ));
    for clash in &found.clashes {
        figure.step(
            clash.verdict.name(),
            1.0,
            "reason",
            clash.sentence(),
            clash.source.clone(),
        );
        figure.caution(clash.sentence(), clash.source.clone());
    }
    let count = found.clashes.len() as f64;
    figure.step(
        if found.dry() {
            "may be mixed dry and spread at once"
        } else {
            "may not be mixed dry"
        },
        count,
        if found.clashes.len() == 1 {
            "reason"
        } else {
            "reasons"
        },
        "what the table holds against the two",
        Source::arithmetic(),
    );
    if found.free() {
        figure.caution(
            "Nothing is held against the two, which is no promise: keep a jar of both for a day and look for caking, heat or a smell of ammonia.",
            Source::new("common practice", Evidence::CommonPractice),
        );
    }
    Ok(figure)
}

fn foliar(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let nutrient = inputs.text("nutrient")?;
    let rows: Vec<_> = advice()
        .foliar
        .iter()
        .filter(|f| f.nutrient == nutrient)
        .collect();
    let first = rows
        .first()
        .ok_or_else(|| inputs.bad("nutrient", "b, cu, mn, zn or fe"))?;
    let mut figure = Figure::new(format!("Spray of {} on leaves", material::label(nutrient)));
    for row in rows.iter().skip(1).chain([first]) {
        figure.step(
            row.what_for.clone(),
            f64::midpoint(row.low, row.high),
            row.unit.clone(),
            if row.note.is_empty() {
                "the middle of what is printed".to_owned()
            } else {
                row.note.clone()
            },
            row.source.clone(),
        );
    }
    (figure.low, figure.high) = (Some(first.low), Some(first.high));
    figure.caution(
        "Leaves take up only small amounts and salts burn them: more than 90 % of what a vegetable takes comes through the soil. Follow the label and test leaves first.",
        Source::new("Univ. Delaware Extension, foliar feeding", Evidence::Seen),
    );
    Ok(figure)
}

fn metal(inputs: &Inputs<'_>) -> Result<Figure, TopicError> {
    let metal = inputs.text("metal")?;
    let ppm = inputs.amount("ppm")?;
    let mut levels: Vec<_> = advice()
        .metals
        .iter()
        .filter(|m| m.of == "soil" && m.metal == metal)
        .filter_map(|m| m.value.or(m.low).map(|v| (v, m)))
        .collect();
    if levels.is_empty() {
        return Err(inputs.bad("metal", "lead or arsenic"));
    }
    levels.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut figure = Figure::new(format!("{metal} in soil"));
    for (level, m) in &levels {
        figure.step(
            m.basis.clone(),
            *level,
            "ppm",
            format!(
                "{} {} {}: {}",
                plain(ppm, 4),
                if ppm > *level { ">" } else { "≤" },
                plain(*level, 4),
                m.meaning
            ),
            m.source.clone(),
        );
    }
    let passed = levels.iter().filter(|(l, _)| ppm > *l).count();
    figure.step(
        "levels passed",
        passed as f64,
        "of the levels",
        format!("{} of {}", passed, levels.len()),
        Source::arithmetic(),
    );
    figure.caution(
        "These are residential screening levels and not limits for gardens, and there is no safe level of lead: where one is passed, ask your health department or extension before food is grown. Mulch, raised beds of clean mix, washing and peeling cut what is eaten.",
        Source::new("general knowledge, not read", Evidence::Memory),
    );
    Ok(figure)
}
