//! What a pound short or over is taken to cost on a block: the weights of the table, more or less by
//! how far the crop answers to the nutrient there.

use crate::needs::{BlockNeeds, Line};
use crate::weights::weight;
use agronomy::micronutrient::responses;
use agronomy::reading::Level;
use agronomy::soil::Analyte;
use farmbook::BlockKind;
use planner::Nutrient;

/// Money for a lb that is lacking.
pub(super) fn of_a_lb_short(nutrient: Nutrient, on: &BlockNeeds) -> f64 {
    let money = match nutrient {
        Nutrient::N => weight("short_n"),
        Nutrient::P2o5 => weight("short_p2o5"),
        Nutrient::K2o => weight("short_k2o"),
        Nutrient::Lime => weight("short_lime"),
        Nutrient::Sulfur => weight("short_sulfur"),
        Nutrient::Ca => weight("short_ca"),
        Nutrient::Mg => weight("short_mg"),
        Nutrient::S => weight("short_s"),
        Nutrient::B | Nutrient::Zn | Nutrient::Mn | Nutrient::Cu | Nutrient::Fe => {
            weight("short_trace")
        }
        Nutrient::Salt => 0.0,
    };
    money * answer(nutrient, on)
}

/// Money for a lb that is too much.
pub(super) fn of_a_lb_over(line: &Line, on: &BlockNeeds) -> f64 {
    let money = match line.nutrient {
        Nutrient::N => weight("over_n"),
        Nutrient::P2o5 if line.very_high => weight("over_very_high_p2o5"),
        Nutrient::P2o5 => weight("over_p2o5"),
        Nutrient::K2o => weight("over_k2o"),
        Nutrient::Lime => weight("over_lime"),
        Nutrient::Sulfur => weight("over_sulfur"),
        Nutrient::B | Nutrient::Cu => weight("over_boron_copper"),
        _ => 0.0,
    };
    let mut times = 1.0;
    let covered = on.reading.block.kind == BlockKind::Tunnel;
    if covered && matches!(line.nutrient, Nutrient::N | Nutrient::K2o) {
        // No rain washes out what is left under cover: it stays as salt.
        times *= weight("over_covered");
    }
    if line.nutrient == Nutrient::K2o && level(Analyte::Mg, on).is_some_and(|l| l < Level::Optimum)
    {
        // Potassium keeps the crop from taking magnesium up where little of it is there.
        times *= weight("over_k2o_low_mg");
    }
    money * times
}

fn level(analyte: Analyte, on: &BlockNeeds) -> Option<Level> {
    on.reading.reading(analyte).map(|r| r.level)
}

/// How far the crop answers to what it lacks: by the class of the soil for phosphate and potash, by the
/// crop's printed response for trace elements.
fn answer(nutrient: Nutrient, on: &BlockNeeds) -> f64 {
    let soil = match nutrient {
        Nutrient::P2o5 => level(Analyte::P, on),
        Nutrient::K2o => level(Analyte::K, on),
        _ => None,
    };
    if let Some(level) = soil {
        return match level {
            Level::VeryLow | Level::Low => 1.0,
            Level::Medium => weight("answer_medium"),
            Level::Optimum | Level::High | Level::VeryHigh => weight("answer_rich"),
        };
    }
    match response(nutrient, on) {
        Some("low") => weight("answer_trace_low"),
        Some("high") => weight("answer_trace_high"),
        _ => 1.0,
    }
}

/// The printed response of the block's crop to a trace element: `low`, `medium` or `high`.
fn response(nutrient: Nutrient, on: &BlockNeeds) -> Option<&'static str> {
    let crop = on.reading.crop.as_ref()?;
    let found = responses().iter().find(|r| r.crop == crop.key)?;
    Some(match nutrient {
        Nutrient::B => &found.b,
        Nutrient::Zn => &found.zn,
        Nutrient::Mn => &found.mn,
        Nutrient::Cu => &found.cu,
        Nutrient::Fe => &found.fe,
        _ => return None,
    })
}
