//! One way to lime: a crop or a target, a buffer and a depth.

use super::{Key, Soil};
use crate::reading::push_say;
use agronomy::crop::crops;
use agronomy::lime::{self, Method, Quick, QuickRate, Request};
use agronomy::soil::Buffer;
use quantity::plain;

pub(super) struct Plan {
    pub(super) aim: Result<Aim, &'static str>,
    buffer: Option<Buffer>,
    depth_in: Option<f64>,
    /// The buffer's method made ready, for the target or the nearest its table goes to
    pub(super) quick: Option<(Quick, f64)>,
    /// Said where the table ends before the target; else empty
    stops_short: String,
    pub(super) no_lime_this_year: bool,
}

#[derive(Clone, Copy)]
pub(super) struct Aim {
    pub(super) low: f64,
    pub(super) high: f64,
    target: f64,
}

/// An answer by the road with working.
#[derive(Debug, Clone)]
pub(super) struct Slow {
    pub(super) lb_per_acre: Option<f64>,
    pub(super) method: &'static str,
    pub(super) unconfirmed: bool,
    pub(super) say: String,
}

const AT_LEAST: &str = "Lime: at least this much; the table ends here.";

fn stops_short(nearest: f64, target: f64) -> String {
    format!(
        "Lime to pH {} for {}: there its table ends.",
        plain(nearest, 3),
        plain(target, 3)
    )
}

impl Plan {
    /// What is to be said of a rate.
    pub(super) fn say_of(&self, rate: QuickRate, say: &mut Vec<u8>) {
        if !self.stops_short.is_empty() {
            push_say(say, &self.stops_short);
        }
        if rate.at_least {
            push_say(say, AT_LEAST);
        }
        if rate.no_acidity {
            push_say(say, "The buffer shows no acidity: ask the lab.");
        }
    }

    pub(super) fn new(key: Key) -> Self {
        let crop = crops().get(key.crop());
        let range = crop.and_then(|c| c.target_ph.as_ref());
        let own = key.number(1);
        let aim = match (own, range, crop) {
            (Some(target), _, _) => Ok(Aim {
                low: target,
                high: target,
                target,
            }),
            (None, Some(range), _) => Ok(Aim {
                low: range.low,
                high: range.high,
                target: range.aim(),
            }),
            (None, None, Some(_)) => Err(
                "No pH range is held for this crop, so there is no lime rate: give a target pH.",
            ),
            (None, None, None) => Err("No crop and no target pH, so there is no lime rate."),
        };
        let buffer = Buffer::ALL.get(key.buffer()).copied();
        let depth_in = key.number(2);
        let quick = aim
            .ok()
            .zip(buffer)
            .and_then(|(aim, buffer)| ready(buffer, aim.target, depth_in));
        Self {
            stops_short: match (&quick, aim) {
                (Some((_, nearest)), Ok(aim)) if *nearest != aim.target => {
                    stops_short(*nearest, aim.target)
                }
                _ => String::new(),
            },
            no_lime_this_year: own.is_none() && range.is_some_and(|r| r.no_lime_in_crop_year),
            aim,
            buffer,
            depth_in,
            quick,
        }
    }

    /// The rate by the road with working.
    pub(super) fn ask(&self, ph: f64, soil: Soil) -> Slow {
        let no = |say: String| Slow {
            lb_per_acre: None,
            method: "",
            unconfirmed: false,
            say,
        };
        let Ok(aim) = self.aim else {
            return no(String::new());
        };
        if soil.buffer_ph.is_none() && soil.acidity.is_none() && soil.lbc.is_none() {
            return no(
                "pH is below the target and the row has no buffer pH, so there is no lime rate."
                    .to_owned(),
            );
        }
        let by_buffer = Request {
            ph,
            target_ph: aim.target,
            buffer: self.buffer.zip(soil.buffer_ph),
            depth_in: self.depth_in,
            ..Request::default()
        };
        let mut request = Request {
            acidity: soil.acidity,
            lbc: soil.lbc,
            ..by_buffer
        };
        match lime::toward(&request, None) {
            Err(why) => no(why.to_string()),
            Ok((figure, used)) => {
                let mut say = String::new();
                if used != aim.target {
                    say = stops_short(used, aim.target);
                }
                if figure.what.starts_with("At least") {
                    say = format!("{say} {AT_LEAST}").trim().to_owned();
                }
                request.target_ph = used;
                Slow {
                    lb_per_acre: Some(figure.value),
                    method: lime::choose(&request, None).map_or("", Method::key),
                    unconfirmed: figure.weakest().is_some_and(|e| e.unconfirmed()),
                    say,
                }
            }
        }
    }
}

/// The method of a buffer, for the target or the nearest that its table goes to.
fn ready(buffer: Buffer, target: f64, depth_in: Option<f64>) -> Option<(Quick, f64)> {
    let mut probe = Request {
        // Below every target, so that only the table's own ends stand in the way.
        ph: 0.0,
        target_ph: target,
        buffer: Some((buffer, 6.0)),
        depth_in,
        ..Request::default()
    };
    if let Err(stopped) = lime::recommend(&probe, None)
        && let Some(nearest) = lime::nearest_target(&stopped, &probe)
    {
        probe.target_ph = nearest;
    }
    let method = lime::choose(&probe, None).ok()?;
    Quick::new(method, probe.target_ph, depth_in).map(|q| (q, probe.target_ph))
}
