use super::*;
use crate::crop;
use proptest::prelude::*;

#[test]
fn the_tables_parse() {
    load().unwrap();
    assert_eq!(cover_crop_kinds().len(), 8);
}

#[test]
fn organic_matter_counts_against_a_total_only() {
    let request = Request {
        organic_matter_pct: Some(4.0),
        ..Request::default()
    };
    let total = need(crop::find("fennel").unwrap(), &request).unwrap();
    assert_eq!(total.kind, NeedKind::Total);
    assert_eq!(total.credits.len(), 1);
    assert!((total.asked.value - total.net.value - 40.0).abs() < 1e-9);
    let rate = need(crop::find("tomato").unwrap(), &request).unwrap();
    assert_eq!(rate.kind, NeedKind::Recommendation);
    assert!(rate.credits.is_empty());
}

#[test]
fn the_lab_is_believed_first() {
    let printed = Recommended {
        nutrient: Recommendable::N,
        lb_per_acre: 75.0,
        printed: "75".into(),
        printed_unit: "lb/acre".into(),
    };
    let request = Request {
        printed: Some(&printed),
        organic_matter_pct: Some(5.0),
        ..Request::default()
    };
    let need = need(crop::find("fennel").unwrap(), &request).unwrap();
    assert_eq!(need.basis, Basis::Lab);
    assert_eq!(need.net.value, 75.0);
}

#[test]
fn impossible_values_are_refused() {
    assert!(organic_matter(f64::NAN).is_err());
    assert!(organic_matter(-1.0).is_err());
    assert!(organic_matter(140.0).is_err());
    assert!(manure_available(5.0, 6.0, 0.0, 0.3, 0.5).is_err());
    let unknown = CoverCrop {
        kind: "moss".into(),
        dry_lb_per_acre: None,
        n_pct: None,
        worked_in: true,
    };
    assert!(cover_crop(&unknown).is_err());
    assert!(sidedress(crop::find("tomato").unwrap(), 10.0, true).is_err());
}

proptest! {
    #[test]
    fn more_cover_crop_never_needs_more_nitrogen(
        lb in 0.0..12_000.0_f64, more in 0.0..6_000.0_f64, n in 0.0..6.0_f64, worked_in: bool
    ) {
        let beet = crop::find("beet").unwrap();
        let at = |lb| {
            let request = Request {
                cover_crop: Some(CoverCrop {
                    kind: "annual_legume_young".into(),
                    dry_lb_per_acre: Some(lb),
                    n_pct: Some(n),
                    worked_in,
                }),
                ..Request::default()
            };
            need(beet, &request).unwrap().net.value
        };
        prop_assert!(at(lb + more) <= at(lb) + 1e-9);
        prop_assert!(at(lb) >= 0.0);
    }

    #[test]
    fn net_is_asked_less_credits(om in 0.0..20.0_f64, ppm in 0.0..60.0_f64, inches in 0.0..30.0_f64) {
        for crop in crop::crops().iter().filter(|c| !c.nitrogen.is_empty()) {
            let request = Request {
                organic_matter_pct: Some(om),
                irrigation: Some(Irrigation { nitrate_n_ppm: ppm, inches }),
                ..Request::default()
            };
            let need = need(crop, &request).unwrap();
            let credits: f64 = need.credits.iter().map(|c| c.lb_per_acre).sum();
            prop_assert!((need.net.value - (need.asked.value - credits).max(0.0)).abs() < 1e-9);
        }
    }
}
