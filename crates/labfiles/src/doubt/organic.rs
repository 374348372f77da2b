//! Organic matter printed as a part of one or in g/kg and taken for per cent.

use super::history::Past;
use super::suggestion::Suggestion;
use super::{Doubt, DoubtKind, Subject, exact, facts};
use crate::facts::FACTS;
use agronomy::soil::Analyte;
use quantity::plain;

pub(crate) fn question(subject: &Subject<'_>, past: &Past) -> Option<Doubt> {
    let m = subject.exact(Analyte::OrganicMatter)?;
    let value = m.value;
    if value <= 0.0 || value > FACTS.limit("om_high") {
        return None;
    }
    let last = past.newest().into_iter().find_map(|t| {
        let then = exact(&t.test, Analyte::OrganicMatter)?.value;
        (then > 0.0).then_some((then, t.day()))
    });
    let near = |by: f64| {
        let log = last
            .as_ref()
            .and_then(|(then, _)| facts::log_ratio(value * by, *then));
        log.map(|l| l.abs() < facts::limit("om_last"))
    };
    let fraction = value < facts::limit("om_fraction")
        || (near(100.0) == Some(true)
            && last
                .as_ref()
                .is_some_and(|(then, _)| then / value > facts::limit("om_times_low")));
    if fraction && near(1.0) != Some(true) {
        let sentence = format!(
            "Organic matter {} % is next to none; it may be a part of one: {} %{}.",
            plain(value, 3),
            plain(value * 100.0, 3),
            last_said(last.as_ref())
        );
        return Some(doubt(
            subject,
            value,
            sentence,
            100.0,
            "Take it as a part of one",
        ));
    }
    // What little charge organic matter can have must fit into the CEC.
    let cec = subject.exact(Analyte::Cec).map(|m| m.value);
    let too_much =
        value > facts::limit("om_look") && cec.is_some_and(|c| value * facts::limit("om_meq") > c);
    let tenfold =
        value > facts::limit("om_look") && near(0.1) == Some(true) && near(1.0) == Some(false);
    if too_much || tenfold {
        let beside = match cec {
            Some(cec) if too_much => format!(
                "Organic matter {} % would hold more charge than the CEC of {} meq/100 g; it may be g/kg",
                plain(value, 3),
                plain(cec, 3)
            ),
            _ => format!("Organic matter {} % may be g/kg", plain(value, 3)),
        };
        let sentence = format!("{beside}{}.", last_said(last.as_ref()));
        return Some(doubt(subject, value, sentence, 0.1, "It is g/kg"));
    }
    None
}

fn last_said(last: Option<&(f64, String)>) -> String {
    last.map_or_else(String::new, |(then, day)| {
        format!("; last time{day} it was {} %", plain(*then, 3))
    })
}

fn doubt(subject: &Subject<'_>, value: f64, sentence: String, by: f64, says: &str) -> Doubt {
    let a = Analyte::OrganicMatter;
    Doubt::of(&subject.test.sample, Some(a), sentence)
        .kind(DoubtKind::OrganicMatter)
        .read_as(a, value)
        .suggest([
            Suggestion::scale(says, a, None, value, by),
            Suggestion::leave_out(a),
        ])
}
