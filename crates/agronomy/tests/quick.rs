//! The roads without working against those with it: on random soils and at every printed edge they must
//! give the same class, the same rate to the last bit, and rest on the same evidence.

// Helpers outside a test function are not exempt by themselves; a failing step should stop the test.
#![allow(clippy::unwrap_used, clippy::panic)]

use agronomy::crop;
use agronomy::lime::{self, Method, Request};
use agronomy::phosphorus_potassium::{self as pk, Nutrient};
use agronomy::reading::{self, System};
use agronomy::soil::{Analyte, Bound, Buffer, Extractant, Measured};
use agronomy::texture::Texture;
use proptest::prelude::*;

fn measured(analyte: Analyte, extractant: Extractant, value: f64) -> Measured {
    Measured {
        analyte,
        value,
        bound: Bound::Exact,
        extractant: Some(extractant),
        buffer: None,
        printed: value.to_string(),
        printed_unit: "ppm".to_owned(),
    }
}

/// Every printed end in ppm, the half steps beside it, and the numbers next to each.
fn edges(system: &System) -> Vec<f64> {
    let mut all = vec![0.0, 1e9, -1.0, f64::NAN, f64::INFINITY];
    for band in &system.bands {
        let cut = band.in_ppm();
        for end in [band.low, band.high, cut.low, cut.high]
            .into_iter()
            .flatten()
        {
            all.extend([end, end.next_up(), end.next_down(), end + 0.5, end - 0.5]);
        }
    }
    all
}

fn agree_on_reading(system: &System, m: &Measured, group: Option<&str>) -> bool {
    let quick = match reading::Quick::new(system, m.analyte, m.extractant.unwrap(), group) {
        Ok(quick) => quick,
        Err(why) => {
            let slow = reading::look_up(system, m, group);
            if m.value.is_finite() && m.value >= 0.0 {
                assert_eq!(slow.unwrap_err(), why);
            }
            return false;
        }
    };
    let slow = reading::look_up(system, m, group).ok();
    let found = quick.at(m.value).and_then(|at| quick.bands().nth(at));
    assert_eq!(
        found.map(|b| (&b.category, b.level, &b.group, &b.source)),
        slow.as_ref()
            .map(|r| (&r.category, r.level, &r.group, &r.source)),
        "{} {:?} {}",
        system.id,
        m.analyte,
        m.value
    );
    assert_eq!(
        found.map(|b| quick.evidence(b)),
        slow.as_ref().and_then(|r| r.figure.weakest())
    );
    found.is_some()
}

fn agree_on_need(
    nutrient: Nutrient,
    system: &System,
    m: &Measured,
    group: Option<&str>,
    crop: &crop::Crop,
) -> bool {
    let removal = crop.carried_off(None).map(|(lb, source)| {
        let at = if nutrient == Nutrient::P2o5 { 1 } else { 2 };
        (lb[at], source)
    });
    let extractant = m.extractant.unwrap();
    let quick = pk::Quick::new(
        nutrient,
        system,
        extractant,
        group,
        &crop.key,
        removal.as_ref().map(|(lb, source)| (*lb, source)),
    );
    let Ok(quick) = quick else { return false };
    let slow = reading::look_up(system, m, group).ok();
    let found = quick.at(m.value);
    assert_eq!(found.is_some(), slow.is_some());
    let (Some(found), Some(slow)) = (found, slow) else {
        return false;
    };
    let slow = pk::need(nutrient, Some(&slow), &crop.key, None, removal);
    if let Some(fixed) = quick.fixed(found.band) {
        assert_eq!(fixed, found.need, "{} {}", system.id, crop.key);
    }
    match (found.need, slow) {
        (Ok(quick), Ok(slow)) => {
            let at = format!("{} {} {}", system.id, crop.key, m.value);
            let (q, s) = (quick.lb_per_acre, slow.figure.value);
            assert_eq!(q.to_bits(), s.to_bits(), "{at}: {q} for {s}");
            assert_eq!(quick.basis, &slow.basis, "{at}");
            assert_eq!(Some(quick.evidence), slow.figure.weakest(), "{at}");
            true
        }
        (Err(quick), Err(slow)) => {
            assert_eq!(quick, &slow);
            false
        }
        (quick, slow) => panic!("{} {}: {quick:?}, {slow:?}", system.id, crop.key),
    }
}

#[test]
fn classes_agree_at_every_printed_edge() {
    let mut read = 0;
    for system in reading::systems().iter() {
        let edges = edges(system);
        for analyte in Analyte::ALL {
            let groups = system.groups(analyte);
            for extractant in system.extractants() {
                for group in groups.iter().copied().map(Some).chain([None, Some("kale")]) {
                    for value in &edges {
                        let m = measured(analyte, extractant, *value);
                        read += usize::from(agree_on_reading(system, &m, group));
                    }
                }
            }
        }
    }
    assert!(read > 5_000, "only {read} values fell in a class");
}

#[test]
fn rates_agree_for_every_crop_at_every_printed_edge() {
    let mut with_rate = 0;
    for system in reading::systems().iter() {
        let edges = edges(system);
        for crop in crop::crops() {
            for nutrient in Nutrient::ALL {
                for extractant in system.extractants() {
                    let texture = Some(Texture::Clay);
                    let group = system.group_for(nutrient.analyte(), Some(&crop.key), texture);
                    for value in &edges {
                        let m = measured(nutrient.analyte(), extractant, *value);
                        with_rate += usize::from(agree_on_need(nutrient, system, &m, group, crop));
                    }
                }
            }
        }
    }
    assert!(with_rate > 20_000, "only {with_rate} rates were compared");
}

fn agree_on_lime(method: Method, request: &Request) -> bool {
    let buffer = request.buffer.unwrap().1;
    let slow = lime::requirement(method, request);
    let Some(quick) = lime::Quick::new(method, request.target_ph, request.depth_in) else {
        return false;
    };
    assert_eq!(quick.method(), method);
    let Some(rate) = quick.at(request.ph, buffer) else {
        assert!(slow.is_err(), "{request:?}: none for {slow:?}");
        return false;
    };
    if quick.by_buffer_alone() && request.ph < request.target_ph {
        assert_eq!(quick.at(request.ph / 2.0, buffer), Some(rate));
    }
    let slow = slow.unwrap();
    assert_eq!(
        rate.lb_per_acre.to_bits(),
        slow.value.to_bits(),
        "{request:?}"
    );
    assert_eq!(rate.at_least, slow.what.starts_with("At least"));
    let asks = |c: &agronomy::working::Caution| c.text.contains("shows no acidity");
    assert_eq!(rate.no_acidity, slow.cautions.iter().any(asks));
    assert_eq!(Some(rate.evidence), slow.weakest(), "{request:?}");
    rate.lb_per_acre > 0.0
}

fn with_buffer(buffer: Buffer, ph: f64, buffer_ph: f64, target_ph: f64) -> Request {
    Request {
        ph,
        target_ph,
        buffer: Some((buffer, buffer_ph)),
        ..Request::default()
    }
}

const READY: [(Method, Buffer); 3] = [
    (Method::Sikora, Buffer::Sikora),
    (Method::MehlichNc, Buffer::Mehlich),
    (Method::SmpIowa, Buffer::Smp),
];

/// Every tenth and half tenth that a lab may print.
#[test]
fn lime_agrees_on_the_grid_of_printed_numbers() {
    for (method, buffer) in READY {
        let mut limed = 0;
        for target in (50..=76).map(|t| f64::from(t) / 10.0) {
            for buffer_ph in (880..=1460).map(|b| f64::from(b) / 200.0) {
                let request = with_buffer(buffer, target - 1.3, buffer_ph, target);
                limed += usize::from(agree_on_lime(method, &request));
            }
        }
        assert!(limed > 1_000, "{method:?}: only {limed} rates");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4_000))]

    #[test]
    fn lime_agrees_on_random_soils(
        which in 0_usize..3,
        ph in 3.0_f64..9.0,
        buffer_ph in 4.0_f64..8.0,
        target in 5.0_f64..7.6,
        depth in proptest::option::of(1.0_f64..14.0),
        tenths in any::<bool>(),
    ) {
        let print = |v: f64| if tenths { (v * 10.0).round() / 10.0 } else { v };
        let (method, buffer) = READY[which];
        let mut request = with_buffer(buffer, print(ph), print(buffer_ph), print(target));
        request.depth_in = depth;
        agree_on_lime(method, &request);
    }

    #[test]
    fn values_agree_on_random_soils(
        system in 0_usize..1_000,
        crop in 0_usize..1_000,
        value in prop_oneof![0.0_f64..60.0, 0.0_f64..600.0],
        decimals in 0_i32..4,
        sandy in any::<bool>(),
    ) {
        let systems = reading::systems().all();
        let system = &systems[system % systems.len()];
        let crop = &crop::crops()[crop % crop::crops().len()];
        let scale = 10_f64.powi(decimals);
        let value = (value * scale).round() / scale;
        let texture = Some(if sandy { Texture::Sand } else { Texture::Loam });
        for analyte in Analyte::ALL {
            let group = system.group_for(analyte, Some(&crop.key), texture);
            for extractant in Extractant::ALL {
                agree_on_reading(system, &measured(analyte, extractant, value), group);
            }
        }
        for nutrient in Nutrient::ALL {
            let group = system.group_for(nutrient.analyte(), Some(&crop.key), texture);
            for extractant in system.extractants() {
                let m = measured(nutrient.analyte(), extractant, value);
                agree_on_need(nutrient, system, &m, group, crop);
            }
        }
    }
}

#[test]
fn a_table_that_stops_short_is_used_at_its_nearest_end() {
    let request = with_buffer(Buffer::Smp, 5.5, 6.4, 6.2);
    assert!(lime::recommend(&request, None).is_err());
    let (figure, target) = lime::toward(&request, None).unwrap();
    assert_eq!(target, 6.5);
    let at_end = with_buffer(Buffer::Smp, 5.5, 6.4, 6.5);
    assert_eq!(figure, lime::recommend(&at_end, None).unwrap());
    // Nothing is gained by an end that lies below the soil.
    let sour_goal = with_buffer(Buffer::Mehlich, 6.7, 6.4, 6.9);
    assert!(lime::toward(&sour_goal, None).is_err());
    let plain = with_buffer(Buffer::Sikora, 5.5, 6.4, 6.4);
    let (figure, target) = lime::toward(&plain, None).unwrap();
    assert_eq!(
        (figure, target),
        (lime::recommend(&plain, None).unwrap(), 6.4)
    );
}
