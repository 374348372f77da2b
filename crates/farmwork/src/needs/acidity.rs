//! Lime where pH must rise, sulfur where it must fall.

use super::{LimeSideBySide, Line};
use crate::learned::{Learned, Own};
use crate::readings::BlockReading;
use crate::sure;
use crate::weights::weight;
use crate::words;
use agronomy::crop::Crop;
use agronomy::dose::Dose;
use agronomy::lime::{self, LimeError};
use agronomy::soil::{Analyte, Recommendable, SoilTest};
use agronomy::sulfur::{self, Carbonate};
use agronomy::working::{Evidence, Figure, Source};
use farmbook::{BlockKind, Learnable, Planting};
use planner::Nutrient;
use quantity::plain;

fn ph_words(ph: f64) -> String {
    words::measured(Analyte::Ph, ph)
}

/// The pH aimed at, with the range that needs nothing.
struct Aim {
    low: f64,
    high: f64,
    target: f64,
    own: bool,
    source: Source,
}

fn aim(planting: &Planting, crop: &Crop) -> Option<Aim> {
    if let Some(own) = planting.target_ph {
        return Some(Aim {
            low: own,
            high: own,
            target: own,
            own: true,
            source: Source::stated("the pH you set for this block"),
        });
    }
    let range = crop.target_ph.as_ref()?;
    Some(Aim {
        low: range.low,
        high: range.high,
        target: range.aim(),
        own: false,
        source: range.source.clone(),
    })
}

pub(super) fn lines(
    reading: &BlockReading,
    planting: &Planting,
    crop: &Crop,
    learned: &Learned,
    notes: &mut Vec<String>,
) -> Vec<Line> {
    let own = learned.of(Learnable::Lime);
    let Some(test) = &reading.test else {
        return vec![Line::none(Nutrient::Lime, "no soil test")];
    };
    let aim = aim(planting, crop);
    let ph = test.test.value(Analyte::Ph);
    if let Some(past) = &planting.credits.lime
        && past.months_ago < 24
    {
        notes.push(format!(
            "{} lb/acre of effective lime went on {} months ago and may still be at work: test pH again before more.",
            plain(past.lb_ecce_per_acre, 3),
            past.months_ago
        ));
    }
    if let Some(printed) = super::printed(reading, crop, Recommendable::Lime) {
        // A rate that would lift ground past this crop’s range was meant for another one.
        if let (Some(ph), Some(aim)) = (ph, &aim)
            && printed.lb_per_acre > 0.0
            && ph >= aim.low
        {
            notes.push(format!(
                "The lab printed {} {} of lime, but pH {} is already within or above the range of {} to {} for this crop: none is planned.",
                printed.printed,
                printed.printed_unit,
                ph_words(ph),
                ph_words(aim.low),
                ph_words(aim.high)
            ));
            let mut line = Line::none(Nutrient::Lime, "pH is not below the crop’s range");
            line.asked = Some(0.0);
            return vec![line];
        }
        let mut figure = super::as_printed("Lime", printed);
        figure.cautions.extend(lime::cautions());
        return vec![limed(
            reading,
            figure,
            "printed by the lab",
            (own, true),
            notes,
        )];
    }
    let Some(ph) = ph else {
        return vec![Line::none(Nutrient::Lime, "the report gives no pH")];
    };
    let Some(aim) = aim else {
        return vec![Line::none(
            Nutrient::Lime,
            "no pH range is held for this crop; set a target pH",
        )];
    };
    let range = crop.target_ph.as_ref().filter(|_| !aim.own);
    if let Some(range) = range
        && !range.note.is_empty()
        && ph < aim.low
    {
        notes.push(range.note.clone());
    }
    if ph < aim.low && range.is_some_and(|r| r.no_lime_in_crop_year) {
        let mut line = Line::none(
            Nutrient::Lime,
            "pH is below the crop’s range, but lime stays off in the year this crop grows",
        );
        line.asked = Some(0.0);
        return vec![line];
    }
    if ph < aim.low {
        vec![lime(reading, ph, &aim, own, notes)]
    } else if ph > aim.high {
        vec![acid(reading, crop, ph, &aim, notes)]
    } else {
        let mut figure = Figure::new("pH against the crop’s range");
        figure.step(
            "pH is in the range, no lime",
            0.0,
            "lb/acre",
            format!(
                "{} ≤ {} ≤ {}",
                ph_words(aim.low),
                ph_words(ph),
                ph_words(aim.high)
            ),
            aim.source.clone(),
        );
        let mut line = Line::none(Nutrient::Lime, "pH is in the crop’s range");
        line.asked = Some(0.0);
        line.working = vec![figure];
        vec![line]
    }
}

/// Whether the newest test is below what the crop wants, or the lab printed a lime rate.
pub(super) fn may_need_lime(reading: &BlockReading) -> bool {
    let (Some(test), Some(planting), Some(crop)) =
        (&reading.test, &reading.planting, &reading.crop)
    else {
        return false;
    };
    let printed = super::printed(reading, crop, Recommendable::Lime);
    printed.is_some_and(|p| p.lb_per_acre > 0.0)
        || test
            .test
            .value(Analyte::Ph)
            .zip(aim(planting, crop))
            .is_some_and(|(ph, aim)| ph < aim.low)
}

/// What lime a report asks for, and how far it is to lift the pH.
pub(crate) struct Asked {
    pub(crate) from_ph: f64,
    pub(crate) to_ph: f64,
    /// lb of pure calcium carbonate per acre
    pub(crate) lb_per_acre: f64,
    pub(crate) source: Source,
}

/// What a report asks for by its own method where it has the numbers, else by the rate that the lab
/// printed; none where no lime is due by it.
pub(super) fn asked(reading: &BlockReading, soil: &SoilTest) -> Option<Asked> {
    let aim = aim(reading.planting.as_ref()?, reading.crop.as_ref()?)?;
    let ph = soil.value(Analyte::Ph)?;
    let mut request = request(reading, soil, ph, aim.target);
    let by_method = match lime::recommend(&request, None) {
        Err(stopped) => lime::nearest_target(&stopped, &request).and_then(|nearest| {
            request.target_ph = nearest;
            lime::recommend(&request, None).ok()
        }),
        found => found.ok(),
    };
    let rate = by_method
        // The end of a table is no rate.
        .filter(|f| !f.what.starts_with("At least"))
        .or_else(|| {
            let printed = soil.recommendation(Recommendable::Lime)?;
            request.target_ph = aim.target;
            Some(super::as_printed("Lime", printed))
        })?;
    let last = rate.working.last().map(|s| s.source.clone());
    Some(Asked {
        from_ph: ph,
        to_ph: request.target_ph,
        lb_per_acre: rate.value,
        source: last.unwrap_or_else(Source::arithmetic),
    })
    .filter(|a| a.to_ph > a.from_ph && a.lb_per_acre > 0.0)
}

fn lime(
    reading: &BlockReading,
    ph: f64,
    aim: &Aim,
    own: Option<&Own>,
    notes: &mut Vec<String>,
) -> Line {
    let Some(test) = &reading.test else {
        return Line::none(Nutrient::Lime, "no soil test");
    };
    let soil = &test.test;
    let mut request = request(reading, soil, ph, aim.target);
    if soil.get(Analyte::BufferPh).is_none() && request.acidity.is_none() && request.lbc.is_none() {
        let why = "the report gives no buffer pH for this sample, so there is no lime rate; ask the lab whether it can still run one";
        notes.push(format!(
            "Lime: pH {} is below the range of {} to {}, but {why}.",
            ph_words(ph),
            ph_words(aim.low),
            ph_words(aim.high)
        ));
        return Line::none(Nutrient::Lime, why);
    }
    let mut outcome = lime::recommend(&request, None);
    // A table that stops short of the target is used at its nearest end, and that is said.
    if let Err(stopped) = &outcome
        && let Some(nearest) = lime::nearest_target(stopped, &request)
        && let LimeError::Target {
            low, high, method, ..
        } = stopped
    {
        notes.push(format!(
            "The {method} covers pH {low} to {high}; lime is worked out to {} instead of {}.",
            ph_words(nearest),
            ph_words(aim.target)
        ));
        request.target_ph = nearest;
        outcome = lime::recommend(&request, None);
    }
    match outcome {
        Ok(mut rate) => {
            if let Some(note) = soil
                .value(Analyte::OrganicMatter)
                .and_then(lime::organic_soil_note)
            {
                rate.cautions.push(note);
            }
            let mut figure = Figure::new(rate.what.clone());
            figure.step(
                "target pH",
                request.target_ph,
                "pH",
                if aim.own {
                    "set for this block".to_owned()
                } else {
                    format!(
                        "the middle of {} to {}",
                        ph_words(aim.low),
                        ph_words(aim.high)
                    )
                },
                aim.source.clone(),
            );
            if rate.what.starts_with("At least") {
                notes.push(format!(
                    "Lime: the soil is more acid than the table goes; {} lb/acre is the least it needs. Test again before the next season.",
                    plain(rate.value, 4)
                ));
            }
            figure.working.extend(rate.working);
            figure.cautions = rate.cautions;
            figure.value = rate.value;
            figure.unit = rate.unit;
            figure.low = rate.low;
            figure.high = rate.high;
            doubted(reading, &request, &mut figure);
            let basis = format!("pH {} to {}", ph_words(ph), ph_words(request.target_ph));
            limed(reading, figure, &basis, (own, false), notes)
        }
        Err(why) => {
            notes.push(format!("Lime: {why}"));
            Line::none(Nutrient::Lime, why.to_string())
        }
    }
}

fn request(reading: &BlockReading, soil: &SoilTest, ph: f64, target_ph: f64) -> lime::Request {
    lime::Request {
        ph,
        target_ph,
        buffer: soil
            .get(Analyte::BufferPh)
            .and_then(|m| m.buffer.map(|b| (b, m.value))),
        acidity: soil.value(Analyte::Acidity),
        lbc: soil.value(Analyte::LimeBufferCapacity),
        // On standing plants lime stays on the surface: the method’s own depth is used as it is.
        depth_in: (reading.block.kind != BlockKind::Perennial).then_some(reading.block.depth_in),
        ..lime::Request::default()
    }
}

/// What every method that the report has the numbers for would say of the block, and the pH aimed at; none
/// where no lime is due.
pub(super) fn side_by_side(reading: &BlockReading) -> Option<LimeSideBySide> {
    let soil = &reading.test.as_ref()?.test;
    let ph = soil.value(Analyte::Ph)?;
    let aim = aim(reading.planting.as_ref()?, reading.crop.as_ref()?)?;
    if ph >= aim.low {
        return None;
    }
    let request = lime::Request {
        texture: reading.block.texture,
        organic_matter_pct: soil.value(Analyte::OrganicMatter),
        cec: soil.value(Analyte::Cec),
        ..request(reading, soil, ph, aim.target)
    };
    Some(LimeSideBySide {
        target_ph: aim.target,
        methods: lime::every(&request),
    })
}

/// Sets the range that the doubt of pH and buffer pH gives the rate: each is moved to its ends alone, and
/// the two shifts are added as variances are.
fn doubted(reading: &BlockReading, request: &lime::Request, figure: &mut Figure) {
    let rate = figure.value;
    let at = |request: lime::Request| lime::recommend(&request, None).ok().map(|f| f.value);
    let mut shifts = Vec::new();
    if let Some((low, high)) = reading
        .line(Analyte::Ph)
        .and_then(|l| sure::ends(reading, &l.measured))
    {
        let with = |ph: f64| {
            at(lime::Request {
                ph,
                ..request.clone()
            })
        };
        shifts.push(("pH", low, high, with(low), with(high)));
    }
    if let (Some(line), Some((kind, _))) = (reading.line(Analyte::BufferPh), request.buffer)
        && let Some((low, high)) = sure::ends(reading, &line.measured)
    {
        let with = |b: f64| {
            at(lime::Request {
                buffer: Some((kind, b)),
                ..request.clone()
            })
        };
        shifts.push(("buffer pH", low, high, with(low), with(high)));
    }
    let (mut less, mut more, mut told) = (0.0, 0.0, Vec::new());
    for (what, low, high, at_low, at_high) in shifts {
        let (Some(a), Some(b)) = (at_low, at_high) else {
            // An end beyond the table says nothing of the range.
            return;
        };
        less += (rate - a.min(b)).max(0.0).powi(2);
        more += (a.max(b) - rate).max(0.0).powi(2);
        told.push(format!(
            "{what} {} to {}: {} to {}",
            ph_words(low),
            ph_words(high),
            plain(a.min(b), 4),
            plain(a.max(b), 4)
        ));
    }
    if told.is_empty() {
        return;
    }
    let (unit, low, high) = (figure.unit.clone(), figure.low, figure.high);
    figure.step(
        "what the doubt of the test leaves open, four of five cases",
        rate,
        unit,
        told.join("; "),
        Source::new(
            "the same method at the ends of pH and of buffer pH, the shifts added as variances",
            Evidence::Derived,
        ),
    );
    let own = ((rate - less.sqrt()).max(0.0), rate + more.sqrt());
    figure.low = Some(low.map_or(own.0, |l| l.min(own.0)));
    figure.high = Some(high.map_or(own.1, |h| h.max(own.1)));
}

/// A lime rate by the published figures and by the block’s own answer, in doses that the ground can take.
fn limed(
    reading: &BlockReading,
    mut figure: Figure,
    basis: &str,
    (own, printed): (Option<&Own>, bool),
    notes: &mut Vec<String>,
) -> Line {
    let own = own.and_then(|o| o.need(figure.value, printed));
    if let Some(own) = &own {
        own.apply(&mut figure);
    }
    let mut line = split(reading, figure, basis, notes);
    line.taught(own);
    line
}

/// A lime rate in doses that the ground can take; the first one is for this plan.
fn split(reading: &BlockReading, figure: Figure, basis: &str, notes: &mut Vec<String>) -> Line {
    let situation = match reading.block.kind {
        BlockKind::Field => lime::Situation::Incorporated,
        BlockKind::Tunnel | BlockKind::RaisedBed => lime::Situation::Garden,
        BlockKind::Perennial => lime::Situation::Established,
    };
    in_doses(
        Nutrient::Lime,
        figure.value,
        lime::doses(figure.value, situation),
        figure,
        basis,
        notes,
    )
}

fn in_doses(
    nutrient: Nutrient,
    rate: f64,
    doses: Vec<Dose>,
    mut figure: Figure,
    basis: &str,
    notes: &mut Vec<String>,
) -> Line {
    // Doses without a wait between them belong to one season; only how they are spread differs.
    let (now, later): (Vec<Dose>, Vec<Dose>) =
        doses.into_iter().partition(|d| d.after_months == Some(0.0));
    let need: f64 = if now.is_empty() {
        rate
    } else {
        now.iter().map(|d| d.lb_per_acre).sum()
    };
    if let [first, _, ..] = now.as_slice() {
        notes.push(format!("{}: {}.", nutrient.name(), first.how));
    }
    let ceiling = match (now.first(), later.is_empty()) {
        (Some(dose), false) => {
            figure.step(
                "what goes on this season",
                need,
                "lb/acre",
                format!("of {} lb/acre: {}", plain(rate, 4), dose.how),
                dose.source.clone().unwrap_or_else(Source::arithmetic),
            );
            Some((
                need,
                format!("no more than one dose at a time ({})", dose.how),
            ))
        }
        _ => None,
    };
    Line {
        nutrient,
        asked: Some(rate),
        credits: Vec::new(),
        need,
        range: match (figure.low, figure.high) {
            (Some(low), Some(high)) => Some((low, high)),
            _ => None,
        },
        ceiling,
        basis: basis.to_owned(),
        later,
        others: Vec::new(),
        very_high: false,
        own: None,
        working: vec![figure],
    }
}

fn acid(reading: &BlockReading, crop: &Crop, ph: f64, aim: &Aim, notes: &mut Vec<String>) -> Line {
    let needs_acid = aim.high < weight("acid_crop_ph");
    let margin = if aim.own || needs_acid {
        weight("sulfur_margin")
    } else {
        weight("sulfur_above")
    };
    if ph <= aim.high + margin {
        let mut line = Line::none(
            Nutrient::Lime,
            format!(
                "pH {} is a little above the range of {} to {}: no lime, and no sulfur for so small a step",
                ph_words(ph),
                ph_words(aim.low),
                ph_words(aim.high)
            ),
        );
        line.asked = Some(0.0);
        return line;
    }
    let request = sulfur::Request {
        ph,
        target_ph: aim.high,
        texture: reading.block.texture,
        organic_matter_pct: reading
            .test
            .as_ref()
            .and_then(|t| t.test.value(Analyte::OrganicMatter)),
        carbonate: match reading.block.free_lime {
            Some(true) => Carbonate::Present,
            Some(false) => Carbonate::Absent,
            None => Carbonate::Untested,
        },
        blueberry: crop.key == "blueberry",
    };
    match sulfur::requirement(&request) {
        Ok(figure) => {
            let situation = if crop.key == "blueberry" {
                sulfur::Situation::Blueberry
            } else if reading.block.kind == BlockKind::Perennial {
                sulfur::Situation::Standing
            } else {
                sulfur::Situation::Preplant
            };
            let basis = format!("pH {} down to {}", ph_words(ph), ph_words(aim.high));
            in_doses(
                Nutrient::Sulfur,
                figure.value,
                sulfur::doses(figure.value, situation),
                figure,
                &basis,
                notes,
            )
        }
        Err(why) => {
            notes.push(format!("Sulfur: {why}"));
            Line::none(Nutrient::Sulfur, why.to_string())
        }
    }
}
