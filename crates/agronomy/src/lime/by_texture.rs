//! Lime rates that do without a buffer: by texture, organic matter and pH alone. Coarse, and used
//! only where they are asked for.

use super::coarse::{ByPh, Norway, Step};
use super::method::{Side, missing, outside, past_table, say_goal, unit};
use super::tables::{constant, tables};
use super::{LimeError, Method, Request};
use crate::texture::Texture;
use crate::working::{Figure, Source};
use quantity::{Rate, plain};

const SAME: f64 = 1e-9;

fn has(textures: &[String], texture: Texture) -> bool {
    textures.iter().any(|t| t == texture.key())
}

/// Printed classes run from whole percent to whole percent.
fn norway_class(request: &Request) -> Option<&'static Norway> {
    let om = request.organic_matter_pct?.round();
    tables().coarse.norway.iter().find(|n| {
        om >= n.om.0
            && om <= n.om.1
            && (n.textures.iter().any(|t| t == "any")
                || request.texture.is_some_and(|t| has(&n.textures, t)))
    })
}

fn uk_lines(request: &Request) -> Vec<&'static ByPh> {
    let om = request.organic_matter_pct.unwrap_or(0.0);
    // The lines for organic soil, between mineral and peaty, are left out.
    let (Ok(organic), Ok(peat)) = (constant("uk_organic_from"), constant("uk_peat_above")) else {
        return Vec::new();
    };
    let (organic, peat) = (organic.value, peat.value);
    if (organic..=peat).contains(&om) {
        return Vec::new();
    }
    tables()
        .coarse
        .by_ph
        .iter()
        .filter(|l| l.method == Method::UkRb209.key())
        .filter(|l| {
            if om > peat {
                l.textures.iter().any(|t| t == "peat")
            } else {
                request.texture.is_some_and(|t| has(&l.textures, t))
            }
        })
        .collect()
}

fn steps(method: Method, request: &Request) -> Vec<&'static Step> {
    let region = match method {
        Method::TextureCool => "cool",
        _ => "warm",
    };
    tables()
        .coarse
        .steps
        .iter()
        .filter(|s| s.region == region && request.texture.is_some_and(|t| has(&s.textures, t)))
        .collect()
}

/// Whether the request holds what one of these methods goes by.
pub(super) fn fits(method: Method, request: &Request) -> bool {
    match method {
        Method::NorwayTexture => norway_class(request).is_some(),
        Method::TaiwanPh => true,
        Method::UkRb209 => !uk_lines(request).is_empty(),
        _ => !steps(method, request).is_empty(),
    }
}

/// The rate, and the key of the depth the table was made for; none where its source states none.
pub(super) fn rate(
    method: Method,
    request: &Request,
    figure: &mut Figure,
) -> Result<Option<&'static str>, LimeError> {
    match method {
        Method::NorwayTexture => norway(request, figure).map(|()| None),
        Method::TaiwanPh => taiwan(request, figure).map(|()| None),
        Method::UkRb209 => uk(request, figure).map(|()| Some("uk_depth")),
        _ => texture(method, request, figure).map(|()| Some("usda_depth")),
    }
}

fn no_depth(request: &Request, figure: &mut Figure, source: &Source) {
    if let Some(depth) = request.depth_in {
        figure.caution(
            format!(
                "The source states no depth, so the rate is not changed for your {} in.",
                plain(depth, 3)
            ),
            source.clone(),
        );
    }
}

fn norway(request: &Request, figure: &mut Figure) -> Result<(), LimeError> {
    let method = Method::NorwayTexture;
    let class = norway_class(request).ok_or_else(|| missing(method))?;
    let (low, high) = (
        constant("norway_low_target")?,
        constant("norway_high_target")?,
    );
    if request.target_ph < low.value || request.target_ph > high.value {
        return Err(outside(method, low.value, high.value, request.target_ph));
    }
    let rise = request.target_ph - request.ph;
    let cao = figure.step(
        format!("table: {}", class.soil),
        class.per_tenth * rise * 10.0,
        "kg CaO/daa",
        format!(
            "{} for each 0.1 pH × ({} − {}) / 0.1",
            plain(class.per_tenth, 4),
            plain(request.target_ph, 3),
            plain(request.ph, 3)
        ),
        class.source.clone(),
    );
    let ratio = constant("cao_to_caco3")?;
    let caco3 = figure.step(
        "as pure calcium carbonate",
        cao * ratio.value,
        "kg CaCO3/daa",
        format!("{} × {}", plain(cao, 4), ratio.value),
        ratio.source.clone(),
    );
    let to_acre = Rate::kg_per_ha(10.0).to_lb_per_acre();
    figure.step(
        "on an acre",
        caco3 * to_acre,
        unit(method),
        format!("{} kg/daa × {}", plain(caco3, 4), plain(to_acre, 5)),
        Source::arithmetic(),
    );
    if let Some(other) = class.other_high {
        figure.low = Some(figure.value);
        figure.high = Some(figure.value * other / class.per_tenth);
        figure.caution(
            format!(
                "Another Norwegian source (Agropub, Bioforsk) prints up to {} kg CaO/daa for such soil; that is the upper end of the range.",
                plain(other, 3)
            ),
            Source::new("Agropub (Bioforsk, Norway), liming article", crate::working::Evidence::Seen),
        );
    }
    if rise > 1.0 {
        figure.caution(
            format!(
                "The source prints the rate for each 0.1 pH and its own example rises 0.6: a rise of {} in one go is stretched. Lime half-way and test again.",
                plain(rise, 2)
            ),
            class.source.clone(),
        );
    }
    no_depth(request, figure, &class.source);
    Ok(())
}

fn taiwan(request: &Request, figure: &mut Figure) -> Result<(), LimeError> {
    let method = Method::TaiwanPh;
    let (low, high) = (
        constant("taiwan_low_target")?,
        constant("taiwan_high_target")?,
    );
    if request.target_ph < low.value || request.target_ph > high.value {
        return Err(outside(method, low.value, high.value, request.target_ph));
    }
    // The bands are printed in tenths.
    let ph = (request.ph * 10.0).round() / 10.0;
    let bands = &tables().coarse.taiwan;
    let band = bands
        .iter()
        .find(|b| ph <= b.ph_to + SAME)
        .ok_or_else(|| LimeError::PastTable {
            method: method.name(),
            last: bands.last().map_or_else(String::new, |b| plain(b.ph_to, 3)),
            reading: plain(request.ph, 3),
        })?;
    let kg = figure.step(
        format!("table: pH up to {}", plain(band.ph_to, 3)),
        band.low,
        "kg of ground limestone/ha",
        if band.high > band.low {
            format!(
                "the lower end of {} to {}",
                plain(band.low, 4),
                plain(band.high, 4)
            )
        } else {
            plain(band.low, 4)
        },
        band.source.clone(),
    );
    let to_acre = Rate::kg_per_ha(1.0).to_lb_per_acre();
    figure.step(
        "on an acre",
        kg * to_acre,
        unit(method),
        format!("{} × {}", plain(kg, 4), plain(to_acre, 4)),
        Source::arithmetic(),
    );
    if band.high > band.low {
        figure.low = Some(figure.value);
        figure.high = Some(band.high * to_acre);
    }
    no_depth(request, figure, &band.source);
    Ok(())
}

fn uk(request: &Request, figure: &mut Figure) -> Result<(), LimeError> {
    const REACH: f64 = 0.25;
    let method = Method::UkRb209;
    let lines = uk_lines(request);
    let (Some(first), Some(last)) = (lines.first(), lines.last()) else {
        return Err(missing(method));
    };
    if (request.target_ph - first.target).abs() > REACH + SAME {
        return Err(outside(
            method,
            first.target - REACH,
            first.target + REACH,
            request.target_ph,
        ));
    }
    let at = request.ph.clamp(first.ph, last.ph);
    let above = lines.iter().find(|l| l.ph >= at - SAME).unwrap_or(last);
    let below = lines
        .iter()
        .rev()
        .find(|l| l.ph <= at + SAME)
        .unwrap_or(first);
    let width = above.ph - below.ph;
    let share = if width < SAME {
        0.0
    } else {
        (at - below.ph) / width
    };
    let rate = figure.step(
        format!("table: {}, pH {}", first.soil, plain(request.ph, 3)),
        below.lb_per_acre + share * (above.lb_per_acre - below.lb_per_acre),
        "lb of ground limestone/acre",
        if width < SAME {
            format!("line {}", plain(below.ph, 3))
        } else {
            format!(
                "between lines {} and {}",
                plain(below.ph, 3),
                plain(above.ph, 3)
            )
        },
        first.source.clone(),
    );
    let (nv, ratio) = (constant("uk_nv")?, constant("cao_to_caco3")?);
    figure.step(
        "as pure calcium carbonate",
        rate * nv.value / 100.0 * ratio.value,
        unit(method),
        format!("{} × {} % CaO × {}", plain(rate, 4), nv.value, ratio.value),
        nv.source.clone(),
    );
    say_goal(figure, first.target, request.target_ph, &first.source);
    if request.ph < first.ph - SAME {
        past_table(
            figure,
            method,
            Side::Sour(first.ph),
            request.ph,
            &first.source,
        )?;
    } else if request.ph > last.ph + SAME {
        past_table(
            figure,
            method,
            Side::Mild(last.ph),
            request.ph,
            &first.source,
        )?;
    }
    Ok(())
}

fn texture(method: Method, request: &Request, figure: &mut Figure) -> Result<(), LimeError> {
    let steps = steps(method, request);
    let (Some(first), Some(last)) = (steps.first(), steps.last()) else {
        return Err(missing(method));
    };
    if request.target_ph < first.ph.0 || request.target_ph > last.ph.1 {
        return Err(outside(method, first.ph.0, last.ph.1, request.target_ph));
    }
    if request.ph < first.ph.0 - SAME {
        return Err(LimeError::Held {
            method: method.name(),
            why: format!(
                "its lines below pH {} have blanks for most textures",
                plain(first.ph.0, 3)
            ),
        });
    }
    let mut tons = 0.0;
    let mut terms = Vec::new();
    for s in &steps {
        let share =
            ((request.target_ph.min(s.ph.1) - request.ph.max(s.ph.0)) / (s.ph.1 - s.ph.0)).max(0.0);
        if share > 0.0 {
            tons += share * s.tons;
            terms.push(format!("{} × {}", plain(share, 3), plain(s.tons, 3)));
        }
    }
    let tons = figure.step(
        format!("table: {}, by the share of each pH step", first.soil),
        tons,
        "ton of limestone/acre",
        terms.join(" + "),
        first.source.clone(),
    );
    super::method::pounds(figure, method, tons);
    Ok(())
}
