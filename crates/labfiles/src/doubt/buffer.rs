//! pH beside buffer pH. A buffer starts at a pH of its own; a neutral soil leaves it there, an acid soil
//! draws it down.

use super::history::Past;
use super::suggestion::{Change, Suggestion};
use super::{Doubt, DoubtKind, Subject, exact, facts};
use crate::facts::FACTS;
use agronomy::soil::Analyte;
use quantity::plain;

pub(crate) fn question(subject: &Subject<'_>, past: &Past) -> Option<Doubt> {
    let m = subject.exact(Analyte::BufferPh)?;
    let read = m.value;
    if read > FACTS.limit("buffer_high") || read < FACTS.limit("buffer_low") {
        // Questioned as a value already.
        return None;
    }
    let ph = subject.exact(Analyte::Ph).map(|m| m.value);
    let known = m
        .buffer
        .and_then(|b| facts::buffer(b).map(|f| (b.name(), f)));
    let swap = Suggestion::new(
        "Swap pH and buffer pH.",
        Change::Swap {
            a: Analyte::Ph,
            b: Analyte::BufferPh,
            a_by: 1.0,
            b_by: 1.0,
        },
    );
    let slack = known.map_or(FACTS.limit("buffer_under_ph"), |(_, f)| f.under_ph);
    let expected;
    let mut suggestions = Vec::new();
    let sentence = if let Some(ph) =
        ph.filter(|ph| *ph <= FACTS.limit("buffer_acid_ph") && read < ph - slack)
    {
        suggestions.push(swap);
        expected = Some((
            ph,
            known.map_or(FACTS.limit("buffer_high"), |(_, f)| f.start),
        ));
        format!(
            "Buffer pH {} is below the soil's own pH {}; the two columns may be swapped.",
            plain(read, 4),
            plain(ph, 4)
        )
    } else if let Some((ph, then)) = ph.and_then(|ph| Some((ph, crossed(subject, past)?))) {
        suggestions.push(swap);
        expected = Some((then.1, then.1));
        format!(
            "pH {} and buffer pH {} may be swapped: last time they were {} and {}.",
            plain(ph, 3),
            plain(read, 3),
            plain(then.0, 3),
            plain(then.1, 3)
        )
    } else if let Some((name, fact)) = known {
        let start = plain(fact.start, 3);
        if read > fact.start + facts::limit("buffer_over_start") {
            expected = Some((FACTS.limit("buffer_low"), fact.start));
            format!(
                "Buffer pH {} is above pH {start}, where the {name} buffer starts: it may be another buffer.",
                plain(read, 3)
            )
        } else if let Some(ph) = ph.filter(|ph| {
            *ph >= FACTS.limit("cation_neutral_ph") && read < fact.start - fact.neutral_drop
        }) {
            expected = Some((fact.start - fact.neutral_drop, fact.start));
            suggestions.push(swap);
            format!(
                "Soil pH is {}, yet the {name} buffer fell from {start} to {}: a neutral soil leaves it near its start.",
                plain(ph, 3),
                plain(read, 3)
            )
        } else if let Some(ph) = ph.filter(|ph| {
            let sand = subject
                .exact(Analyte::Cec)
                .is_some_and(|c| c.value < facts::limit("buffer_sand_cec"));
            *ph <= facts::limit("buffer_acid_ph") && !sand && read > fact.start - fact.acid_top
        }) {
            expected = Some((ph.min(fact.start), fact.start - fact.acid_top));
            format!(
                "Soil pH is {}, yet the {name} buffer stayed at {}, next to its start of {start}: so acid a soil draws it down.",
                plain(ph, 3),
                plain(read, 3)
            )
        } else {
            return None;
        }
    } else {
        return None;
    };
    suggestions.push(Suggestion::leave_out(Analyte::BufferPh));
    let mut doubt = Doubt::of(&subject.test.sample, Some(Analyte::BufferPh), sentence)
        .kind(DoubtKind::Buffer)
        .read_as(Analyte::BufferPh, read)
        .suggest(suggestions);
    doubt.expected = expected;
    Some(doubt)
}

/// pH and buffer pH of last time, where each of today's is like the other one's.
fn crossed(subject: &Subject<'_>, past: &Past) -> Option<(f64, f64)> {
    let (ph, buffer) = (
        subject.exact(Analyte::Ph)?,
        subject.exact(Analyte::BufferPh)?,
    );
    let (then_ph, then_buffer) = past.newest().into_iter().find_map(|t| {
        let then = exact(&t.test, Analyte::BufferPh).filter(|m| m.buffer == buffer.buffer)?;
        Some((exact(&t.test, Analyte::Ph)?.value, then.value))
    })?;
    let apart = |a: f64, b: f64| {
        let ph = facts::usual(Analyte::Ph)?.times(then_ph, a)?;
        let buffer = facts::usual(Analyte::BufferPh)?.times(then_buffer, b)?;
        Some(ph.hypot(buffer) / 2f64.sqrt())
    };
    (apart(ph.value, buffer.value)? > facts::limit("crossed_far")
        && apart(buffer.value, ph.value)? < facts::limit("other_near"))
    .then_some((then_ph, then_buffer))
}
