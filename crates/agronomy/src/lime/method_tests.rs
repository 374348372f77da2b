//! The coarse and recalled methods.

use super::*;
use crate::working::Evidence;
use proptest::prelude::*;

fn soil(ph: f64, target_ph: f64, texture: Texture, om: f64) -> Request {
    Request {
        ph,
        target_ph,
        texture: Some(texture),
        organic_matter_pct: Some(om),
        ..Request::default()
    }
}

fn with(buffer: Buffer, value: f64, ph: f64, target_ph: f64) -> Request {
    Request {
        ph,
        target_ph,
        buffer: Some((buffer, value)),
        ..Request::default()
    }
}

#[test]
fn recalled_and_coarse_methods_are_never_chosen_by_themselves() {
    let everything = Request {
        acidity: Some(6.0),
        lbc: Some(200.0),
        neutralizable: Some(4.0),
        depth_in: Some(6.0),
        ..soil(5.2, 6.5, Texture::Loam, 3.0)
    };
    for buffer in [
        None,
        Some((Buffer::Sikora, 6.2)),
        Some((Buffer::Smp, 6.2)),
        Some((Buffer::Mehlich, 6.0)),
        Some((Buffer::AdamsEvans, 7.6)),
    ] {
        for (acidity, lbc) in [(Some(6.0), None), (None, Some(200.0)), (None, None)] {
            let request = Request {
                buffer,
                acidity,
                lbc,
                ..everything.clone()
            };
            if let Ok(method) = choose(&request, None) {
                assert!(!method.evidence().unconfirmed(), "{method:?}");
                assert!(!method.coarse(), "{method:?}");
            }
        }
    }
    let none = Request {
        buffer: Some((Buffer::AdamsEvans, 7.6)),
        acidity: None,
        lbc: None,
        ..everything
    };
    assert!(matches!(choose(&none, None), Err(LimeError::NoTable(_))));
    assert_eq!(
        choose(&none, Some(Method::AdamsEvans)),
        Ok(Method::AdamsEvans)
    );
}

#[test]
fn recalled_methods_say_that_they_are_unconfirmed() {
    let mut heard = 0;
    for method in Method::ALL {
        let request = Request {
            buffer: method
                .buffer()
                .map(|b| (b, if b == Buffer::AdamsEvans { 7.7 } else { 6.2 })),
            acidity: Some(6.0),
            lbc: Some(200.0),
            neutralizable: Some(4.0),
            depth_in: (method == Method::KansasSmp).then_some(6.0),
            ..soil(
                5.0,
                if method == Method::Woodruff { 7.0 } else { 6.5 },
                Texture::Loam,
                3.0,
            )
        };
        let figure = requirement(method, &request).unwrap();
        let said = figure
            .cautions
            .iter()
            .any(|c| c.text.starts_with("UNCONFIRMED"));
        let recalled = method.evidence() == Evidence::Memory;
        assert_eq!(said, recalled, "{method:?}");
        assert_eq!(
            figure.weakest() == Some(Evidence::Memory),
            recalled,
            "{method:?}"
        );
        assert_eq!(
            method.name().contains("unconfirmed"),
            recalled,
            "{method:?}"
        );
        heard += usize::from(said);
    }
    assert_eq!(heard, 8);
}

#[test]
fn norway_follows_its_own_example() {
    // Sharp sand, pH 5.5 to 6.1: 25 × 6 = 150 kg CaO/daa.
    let figure = requirement(Method::NorwayTexture, &soil(5.5, 6.1, Texture::Sand, 2.0)).unwrap();
    assert!((figure.working[0].value - 150.0).abs() < 1e-9);
    assert!(
        (figure.value - 150.0 * 1.7848 * 8.9218).abs() < 0.1,
        "{}",
        figure.value
    );
    assert!(figure.high.unwrap() > figure.value);
    // Organic matter between two printed classes goes to the nearer.
    let rate = |om| {
        requirement(Method::NorwayTexture, &soil(5.5, 6.1, Texture::Clay, om))
            .unwrap()
            .working[0]
            .value
    };
    for (om, kg) in [(3.4, 240.0), (3.6, 300.0), (30.0, 360.0), (80.0, 540.0)] {
        assert!((rate(om) - kg).abs() < 1e-9, "{om}");
    }
    let deep = Request {
        depth_in: Some(12.0),
        ..soil(5.5, 6.1, Texture::Sand, 2.0)
    };
    let deep = requirement(Method::NorwayTexture, &deep).unwrap();
    assert_eq!(deep.value, figure.value);
    assert!(deep.cautions.iter().any(|c| c.text.contains("no depth")));
    let far = requirement(Method::NorwayTexture, &soil(4.2, 6.5, Texture::Sand, 2.0)).unwrap();
    assert!(far.cautions.iter().any(|c| c.text.contains("stretched")));
}

#[test]
fn taiwan_goes_by_its_bands() {
    let at = |ph| requirement(Method::TaiwanPh, &soil(ph, 6.0, Texture::Loam, 2.0));
    let kg = |ph| at(ph).unwrap().working[0].value;
    assert_eq!(
        (kg(4.4), kg(4.8), kg(5.1), kg(5.5)),
        (4000.0, 4000.0, 3000.0, 2000.0)
    );
    assert!(at(4.5).unwrap().high.unwrap() > at(4.5).unwrap().value);
    assert!(matches!(at(5.6), Err(LimeError::PastTable { .. })));
}

#[test]
fn texture_steps_add_up_and_stop_at_their_ends() {
    let at = |ph, target, t| requirement(Method::TextureCool, &soil(ph, target, t, 2.0));
    // Loam, cool: 1.2 ton from 4.5 to 5.5 and 1.7 ton from 5.5 to 6.5.
    assert!((at(4.5, 6.5, Texture::Loam).unwrap().value - 5_800.0).abs() < 1e-6);
    assert!((at(5.0, 6.0, Texture::Loam).unwrap().value - 2_900.0).abs() < 1e-6);
    assert!(matches!(
        at(4.4, 6.5, Texture::Loam),
        Err(LimeError::Held { .. })
    ));
    assert!(matches!(
        at(5.0, 6.6, Texture::Loam),
        Err(LimeError::Target { .. })
    ));
    assert!(matches!(
        at(5.0, 6.5, Texture::Clay),
        Err(LimeError::Missing { .. })
    ));
}

#[test]
fn britain_is_exact_at_its_lines_and_stops() {
    let at = |ph, target, t, om| requirement(Method::UkRb209, &soil(ph, target, t, om));
    let tons = |ph, t| at(ph, 6.7, t, 3.0).unwrap().working[0].value / 892.18;
    assert!((tons(5.5, Texture::Clay) - 10.0).abs() < 1e-3);
    assert!((tons(5.75, Texture::Sand) - 5.5).abs() < 1e-3);
    let past = at(4.5, 6.7, Texture::Sand, 3.0).unwrap();
    assert!(past.what.starts_with("At least"));
    assert!(matches!(
        at(6.4, 6.7, Texture::Sand, 3.0),
        Err(LimeError::PastTable { .. })
    ));
    assert!(matches!(
        at(5.5, 6.7, Texture::Sand, 15.0),
        Err(LimeError::Missing { .. })
    ));
    assert!(at(5.0, 6.0, Texture::Sand, 40.0).unwrap().value > 10_000.0);
    assert!(matches!(
        at(5.0, 6.7, Texture::Sand, 40.0),
        Err(LimeError::Target { .. })
    ));
}

#[test]
fn adams_evans_matches_its_derived_check() {
    // Acid saturation 0.7073 at pH 5.0 and 0.2601 at 6.5; buffer 7.80 gives 1,517 lb.
    let figure = requirement(Method::AdamsEvans, &with(Buffer::AdamsEvans, 7.8, 5.0, 6.5)).unwrap();
    assert!((figure.working[0].value - 0.7073).abs() < 1e-4);
    assert!((figure.working[1].value - 0.2601).abs() < 1e-4);
    assert!((figure.value - 1_517.0).abs() < 1.0);
    let rich = Request {
        cec: Some(13.0),
        ..with(Buffer::AdamsEvans, 7.8, 5.0, 6.5)
    };
    assert!(matches!(
        requirement(Method::AdamsEvans, &rich),
        Err(LimeError::Cec { .. })
    ));
    let sour = requirement(Method::AdamsEvans, &with(Buffer::AdamsEvans, 6.5, 4.0, 6.5)).unwrap();
    assert!(sour.value.is_finite() && sour.cautions.iter().any(|c| c.text.contains("5 ton")));
}

#[test]
fn tri_state_never_asks_more_for_a_lower_goal() {
    for index in 480..=690 {
        let buffer = f64::from(index) / 100.0;
        let at = |goal| {
            requirement(Method::TriState, &with(Buffer::Smp, buffer, 4.5, goal))
                .unwrap()
                .value
        };
        assert!(
            at(6.0) <= at(6.5) + 1e-9 && at(6.5) <= at(6.8) + 1e-9,
            "{buffer}"
        );
    }
    let past = requirement(Method::TriState, &with(Buffer::Smp, 4.5, 4.2, 6.5)).unwrap();
    assert!(past.what.starts_with("At least"));
    // Past the mild end there is a rate of zero or none at all.
    match requirement(Method::TriState, &with(Buffer::Smp, 7.2, 5.5, 6.5)) {
        Ok(figure) => assert_eq!(figure.value, 0.0),
        Err(e) => assert!(matches!(e, LimeError::PastTable { .. })),
    }
}

#[test]
fn every_method_that_fits_is_shown_side_by_side() {
    let request = Request {
        acidity: Some(6.0),
        depth_in: Some(6.0),
        ..with(Buffer::Smp, 6.2, 5.2, 6.5)
    };
    let all = every(&request);
    let keys: Vec<&str> = all.iter().map(|(m, _)| m.key()).collect();
    assert_eq!(
        keys,
        [
            "mehlich_pa",
            "mehlich_pa_garden",
            "smp_iowa",
            "taiwan_ph",
            "smp_classic",
            "tri_state",
            "kansas_smp"
        ]
    );
    assert!(all.iter().all(|(m, r)| r.is_ok() || *m == Method::TaiwanPh));
}

/// Every method, over a grid of soils from sour to mild, so that no comparison is empty.
#[test]
fn each_method_falls_or_holds_as_the_soil_grows_milder() {
    for method in Method::ALL {
        let target = if method == Method::Woodruff { 7.0 } else { 6.5 };
        let mut compared = 0;
        for texture in Texture::ALL {
            let mut before = f64::INFINITY;
            for step in 0..=40 {
                let mild = f64::from(step) / 40.0;
                let request = Request {
                    buffer: method.buffer().map(|name| {
                        let low = if name == Buffer::AdamsEvans { 7.0 } else { 5.0 };
                        (name, low + mild * 1.4)
                    }),
                    acidity: Some(20.0 - 17.0 * mild),
                    lbc: Some(400.0 - 300.0 * mild),
                    neutralizable: Some(8.0 - 7.0 * mild),
                    depth_in: Some(6.0),
                    ..soil(4.5 + 1.7 * mild, target, texture, 3.0)
                };
                if let Ok(figure) = requirement(method, &request) {
                    assert!(
                        figure.value <= before + 1e-6,
                        "{method:?} {texture:?} {mild}: {} after {before}",
                        figure.value
                    );
                    compared += usize::from(before.is_finite());
                    before = figure.value;
                }
            }
        }
        assert!(compared >= 20, "{method:?}: {compared}");
    }
}

proptest! {
    #[test]
    fn deeper_never_needs_less(
        a in 1.0..15.0f64, b in 1.0..15.0f64, ph in 4.0..6.2f64, reading in 4.8..6.9f64,
        meq in 2.0..20.0f64, target in 5.6..7.0f64, t in 0usize..10, om in 0.0..60.0f64,
    ) {
        let (shallow, deep) = if a <= b { (a, b) } else { (b, a) };
        for method in Method::ALL {
            let request = |depth| Request {
                buffer: method.buffer().map(|name| {
                    (name, if name == Buffer::AdamsEvans { reading + 1.0 } else { reading })
                }),
                acidity: Some(meq),
                lbc: Some(meq * 20.0),
                neutralizable: Some(meq),
                depth_in: Some(depth),
                ..soil(ph, target, Texture::ALL[t], om)
            };
            if let (Ok(less), Ok(more)) =
                (requirement(method, &request(shallow)), requirement(method, &request(deep)))
            {
                prop_assert!(more.value >= less.value - 1e-6, "{method:?}");
                prop_assert!(more.low.is_none_or(|l| l <= more.value + 1e-6));
                prop_assert!(more.high.is_none_or(|h| h >= more.value - 1e-6));
            }
        }
    }

    #[test]
    fn a_small_step_in_a_reading_makes_a_small_step_in_lime(
        buffer in 4.9..6.7f64, ph in 4.6..5.4f64, t in 0usize..10,
    ) {
        const STEP: f64 = 1e-6;
        for method in [
            Method::SmpClassic, Method::TriState, Method::AdamsEvans, Method::KansasSmp,
            Method::TextureCool, Method::TextureWarm, Method::UkRb209, Method::NorwayTexture,
        ] {
            let at = |ph, buffer: f64| requirement(method, &Request {
                buffer: method.buffer().map(|name| {
                    (name, if name == Buffer::AdamsEvans { buffer + 1.0 } else { buffer })
                }),
                depth_in: Some(6.0),
                ..soil(ph, 6.5, Texture::ALL[t], 3.0)
            });
            if let (Ok(a), Ok(b)) = (at(ph, buffer), at(ph + STEP, buffer + STEP)) {
                prop_assert!((a.value - b.value).abs() < 0.1, "{method:?}: {} {}", a.value, b.value);
            }
        }
    }
}
