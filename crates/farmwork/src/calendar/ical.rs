//! The calendar as a file for phones and calendar programs: iCalendar, RFC 5545.
//!
//! Each application keeps its UID through every plan of the season, and SEQUENCE goes up with every change
//! of the book and every day, so a program that takes the file again moves what it has instead of doubling
//! it. What is too late or left out of the newest plan comes as cancelled.

use super::{Application, Calendar, Dropped, State, Window};
use crate::setback::Near;
use crate::words;
use icalendar::{Calendar as File, Component, Event, EventStatus, Parameter, Property};
use jiff::ToSpan;
use jiff::civil::Date;

/// The file; every line ends as the standard asks.
pub fn file(calendar: &Calendar) -> String {
    let mut file = File::empty();
    for (name, value) in [
        ("VERSION", "2.0"),
        ("PRODID", "-//Spadework//Spreading//EN"),
        ("CALSCALE", "GREGORIAN"),
        ("METHOD", "PUBLISH"),
    ] {
        file.append_property(Property::new(name, value));
    }
    file.append_property(text(
        "X-WR-CALNAME",
        &format!("Spreading {}, {}", calendar.season, calendar.farm),
    ));
    for a in &calendar.applications {
        file.extend(event(calendar, a));
    }
    for d in &calendar.dropped {
        file.push(dropped(calendar, d));
    }
    file.to_string()
}

/// The event of an application; none where no day can be told.
fn event(calendar: &Calendar, a: &Application) -> Option<Event> {
    let window = a.window.as_ref()?;
    let late = match a.state {
        State::Late => "Late: ",
        State::Shut => "Too late: ",
        _ => "",
    };
    let summary = format!(
        "{late}{} of {} on {}",
        words::lb(a.lb),
        a.material.to_lowercase(),
        a.block
    );
    let mut event = begun(calendar, &a.key, a.listed()?, &summary);
    event.append_property(text("DESCRIPTION", &description(a, window)));
    event.append_property(text("LOCATION", &a.block));
    event.status(match a.state {
        State::Shut => EventStatus::Cancelled,
        _ => EventStatus::Confirmed,
    });
    Some(event)
}

fn dropped(calendar: &Calendar, d: &Dropped) -> Event {
    let summary = format!(
        "No longer planned: {} on {}",
        d.material.to_lowercase(),
        d.block
    );
    let mut event = begun(calendar, &d.key, calendar.today, &summary);
    event.status(EventStatus::Cancelled);
    event
}

/// What every event has: its mark, its day, and that it blocks nobody’s time.
fn begun(calendar: &Calendar, key: &str, day: Date, summary: &str) -> Event {
    let mut event = Event::new();
    event.append_property(text("UID", &format!("{key}@{}.spadework", calendar.mark)));
    event.add_property(
        "DTSTAMP",
        calendar.today.strftime("%Y%m%dT000000Z").to_string(),
    );
    event.sequence(u32::try_from(calendar.revision).unwrap_or(0));
    event.append_property(on("DTSTART", day));
    // The end is the day after, which no longer belongs to it.
    event.append_property(on("DTEND", day.checked_add(1.day()).unwrap_or(day)));
    event.append_property(text("SUMMARY", summary));
    event.add_property("TRANSP", "TRANSPARENT");
    event
}

fn on(name: &str, day: Date) -> Property {
    Property::new(name, day.strftime("%Y%m%d").to_string())
        .append_parameter(Parameter::new("VALUE", "DATE"))
        .done()
}

fn description(a: &Application, window: &Window) -> String {
    let mut lines = vec![a.says.clone()];
    lines.extend(a.near.as_ref().map(Near::says));
    lines.push(format!(
        "From {} on, best {}, by {}{}.",
        window.earliest.day,
        window.best.day,
        window.latest.day,
        window.stop.as_ref().map_or_else(String::new, |stop| {
            format!(", never after {}", stop.day)
        })
    ));
    lines.extend(a.ways.iter().cloned());
    lines.extend(a.conditions.iter().map(|c| c.text.clone()));
    lines.push("Follow the label, local rules and a licensed adviser.".to_owned());
    lines.join("\n")
}

/// Words of the farm’s own: what steers a reader of the file becomes a space, save the ends of lines.
fn text(name: &str, value: &str) -> Property {
    let clean: String = value
        .chars()
        .map(|c| if c.is_control() && c != '\n' { ' ' } else { c })
        .collect();
    let value = match name {
        "DESCRIPTION" => clean,
        _ => clean.replace('\n', " "),
    };
    Property::new(name, value)
}
