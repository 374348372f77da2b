//! Sulfur that a harvest carries off: printed as a range per acre of a crop, not as a content.

use super::{HarvestError, picked};
use crate::crop::{self, Crop};
use crate::table::{self, TableError, wrong};
use crate::working::{Figure, Source};
use quantity::plain;
use serde::Deserialize;
use std::sync::OnceLock;

#[derive(Deserialize)]
struct Row {
    crops: String,
    low: f64,
    high: f64,
    source: String,
    evidence: String,
}

/// What a crop of the usual size carries off, lb of S per acre.
struct Range {
    /// Empty for every other vegetable.
    crops: Vec<String>,
    low: f64,
    high: f64,
    source: Source,
}

/// Crops that are no vegetables by the crop table’s groups: of these nothing is printed.
const NO_VEGETABLE: [&str; 2] = ["berry", "cover"];

fn load() -> Result<Vec<Range>, TableError> {
    let name = "crops/sulfur.csv";
    let text = include_str!("../../../../reference/crops/sulfur.csv");
    table::rows::<Row>(name, text)?
        .into_iter()
        .enumerate()
        .map(|(i, r)| {
            if !(0.0 < r.low && r.low <= r.high && r.high < 500.0) {
                return Err(wrong(
                    name,
                    i,
                    "a range runs from a low end to a high one, lb/acre".to_owned(),
                ));
            }
            let crops: Vec<String> = r
                .crops
                .split(';')
                .filter(|c| *c != "*")
                .map(str::to_owned)
                .collect();
            if let Some(c) = crops.iter().find(|c| crop::find(c).is_none()) {
                return Err(wrong(name, i, format!("“{c}” is no crop of crops.csv")));
            }
            Ok(Range {
                crops,
                low: r.low,
                high: r.high,
                source: table::source(name, i + 2, &r.source, &r.evidence)?,
            })
        })
        .collect()
}

/// Empty if the table cannot be parsed, which a test rules out.
fn ranges() -> &'static [Range] {
    static RANGES: OnceLock<Vec<Range>> = OnceLock::new();
    RANGES.get_or_init(|| load().unwrap_or_default())
}

/// lb of S per acre: the middle of what is printed for a crop of the kind, by the harvest’s share of the
/// usual yield; low and high are the printed ends.
pub(super) fn carried_off(
    crop: Option<&Crop>,
    said: &str,
    yield_lb_per_acre: Option<f64>,
) -> Result<Figure, HarvestError> {
    let unknown = || HarvestError::Unknown {
        nutrient: "S",
        crop: said.to_lowercase(),
    };
    let of = crop
        .filter(|c| !NO_VEGETABLE.contains(&c.group.as_str()))
        .ok_or_else(unknown)?;
    let range = ranges()
        .iter()
        .find(|r| r.crops.contains(&of.key))
        .or_else(|| ranges().iter().find(|r| r.crops.is_empty()))
        .ok_or_else(unknown)?;
    // A printed amount per acre says nothing of a harvest without the yield that goes with it.
    let (usual, from) = of
        .usual_yield
        .clone()
        .filter(|(y, _)| *y > 0.0)
        .ok_or_else(unknown)?;
    let mut figure = Figure::new(format!("S carried off with {}", said.to_lowercase()));
    let harvest = picked(&mut figure, crop, said, yield_lb_per_acre)?;
    let share = figure.step(
        "the harvest beside the crop’s usual yield",
        harvest / usual,
        "times",
        format!("{} / {}", plain(harvest, 5), plain(usual, 5)),
        from,
    );
    figure.step(
        "carried off",
        share * range.low.midpoint(range.high),
        "lb/acre",
        format!(
            "{} × the middle of {} to {}",
            plain(share, 3),
            plain(range.low, 3),
            plain(range.high, 3)
        ),
        range.source.clone(),
    );
    figure.low = Some(share * range.low);
    figure.high = Some(share * range.high);
    Ok(figure)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::harvest::carried_off;

    /// University of Delaware Extension, Weekly Crop Update, “Sulfur and Vegetable Crops”: vegetables in
    /// general 10 to 25 lb/acre, crops of the mustard family 30 to 45.
    #[test]
    fn a_usual_crop_carries_off_what_is_printed() {
        assert_eq!(load().unwrap().len(), 2);
        for (crop, low, high) in [
            ("sweet_corn", 10.0, 25.0),
            ("carrot", 10.0, 25.0),
            ("cabbage", 30.0, 45.0),
            ("radish", 30.0, 45.0),
        ] {
            let f = carried_off(crop, "s", None).unwrap();
            let near = |a: Option<f64>, b: f64| (a.unwrap() - b).abs() < 1e-9;
            assert!(near(f.low, low) && near(f.high, high), "{crop}: {f:?}");
            assert!((f.value - low.midpoint(high)).abs() < 1e-9);
            let (usual, _) = crop::find(crop).unwrap().usual_yield.clone().unwrap();
            let half = carried_off(crop, "s", Some(usual / 2.0)).unwrap();
            assert!((half.value * 2.0 - f.value).abs() < 1e-9);
        }
    }

    /// The mustards of the crop table all have their own row, so that none is taken for another vegetable.
    #[test]
    fn every_brassica_is_a_mustard() {
        for c in crop::crops().iter().filter(|c| c.group == "brassica") {
            assert!(
                ranges().iter().any(|r| r.crops.contains(&c.key)),
                "{}",
                c.key
            );
        }
    }

    #[test]
    fn what_is_not_printed_is_not_zero() {
        for c in crop::crops()
            .iter()
            .filter(|c| NO_VEGETABLE.contains(&c.group.as_str()))
        {
            assert!(
                carried_off(&c.key, "s", Some(1_000.0)).is_err(),
                "{}",
                c.key
            );
        }
        assert!(carried_off("edamame_shelled", "s", Some(1_000.0)).is_err());
        assert!(carried_off("tomato", "s", Some(-1.0)).is_err());
    }
}
