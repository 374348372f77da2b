//! Lime toward a target that the method may not reach.

use super::{LimeError, Method, Request, recommend};
use crate::working::Figure;

/// As [`recommend`], and where the method’s table stops short of the target, at the end nearest to it
/// if that lies above the soil’s pH. Gives the rate with the target it was worked out for.
pub fn toward(request: &Request, preferred: Option<Method>) -> Result<(Figure, f64), LimeError> {
    let stopped = match recommend(request, preferred) {
        Ok(figure) => return Ok((figure, request.target_ph)),
        Err(why) => why,
    };
    let Some(nearest) = nearest_target(&stopped, request) else {
        return Err(stopped);
    };
    let request = Request {
        target_ph: nearest,
        ..request.clone()
    };
    Ok((recommend(&request, preferred)?, nearest))
}

/// Where a method’s table stops short of the request’s target: the end nearest to it, if lime is needed
/// to reach that. None for any other reason.
pub fn nearest_target(stopped: &LimeError, request: &Request) -> Option<f64> {
    let LimeError::Target { low, high, .. } = stopped else {
        return None;
    };
    let (low, high) = (low.parse::<f64>().ok()?, high.parse::<f64>().ok()?);
    (low <= high)
        .then(|| request.target_ph.clamp(low, high))
        .filter(|nearest| *nearest > request.ph)
}
