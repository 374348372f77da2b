use super::grid::Grid;
use super::tables::tables;
use super::*;
use crate::working::Evidence;
use proptest::prelude::*;

fn with_buffer(buffer: Buffer, value: f64, ph: f64, target: f64) -> Request {
    Request {
        ph,
        target_ph: target,
        buffer: Some((buffer, value)),
        ..Request::default()
    }
}

fn with_acidity(acidity: f64, ph: f64, target: f64) -> Request {
    Request {
        ph,
        target_ph: target,
        acidity: Some(acidity),
        ..Request::default()
    }
}

#[test]
fn shipped_tables_parse() {
    assert_eq!(load(), Ok(()));
    assert_eq!(tables().sikora.points().count(), 22 * 5 - 3);
    assert_eq!(tables().smp.points().count(), 7 * 2 - 1);
    assert_eq!(tables().garden.points().count(), 38 * 3 - 7);
}

#[test]
fn exact_at_every_printed_point() {
    let check = |grid: &Grid, to_lb: f64, ask: &dyn Fn(f64, f64) -> Result<Figure, LimeError>| {
        for (reading, target, rate) in grid.points() {
            let got = ask(reading, target).unwrap().value;
            assert!(
                (got - rate * to_lb).abs() < 1e-6,
                "{reading} {target}: {got} for {rate}"
            );
        }
    };
    check(&tables().sikora, 2_000.0, &|b, t| {
        requirement(Method::Sikora, &with_buffer(Buffer::Sikora, b, 4.0, t))
    });
    check(&tables().smp, 1.0, &|b, t| {
        requirement(Method::SmpIowa, &with_buffer(Buffer::Smp, b, 4.0, t))
    });
    check(&tables().garden, 43.56, &|a, t| {
        requirement(Method::MehlichPaGarden, &with_acidity(a, 4.0, t))
    });
}

#[test]
fn held_back_cells_are_refused() {
    for buffer in [5.1, 5.0, 4.9, 5.15, 4.85] {
        for target in [6.8, 6.6, 7.0] {
            let r = requirement(
                Method::Sikora,
                &with_buffer(Buffer::Sikora, buffer, 4.5, target),
            );
            assert!(
                matches!(r, Err(LimeError::Held { .. })),
                "{buffer} {target}"
            );
        }
        let r = requirement(
            Method::Sikora,
            &with_buffer(Buffer::Sikora, buffer, 4.5, 6.4),
        );
        assert!(r.is_ok());
    }
    let iowa = requirement(Method::SmpIowa, &with_buffer(Buffer::Smp, 5.8, 4.5, 6.9));
    assert!(matches!(iowa, Err(LimeError::Held { .. })));
    for acidity in [0.5, 1.9, 4.0] {
        let pa = requirement(Method::MehlichPa, &with_acidity(acidity, 5.0, 6.5));
        assert!(matches!(pa, Err(LimeError::Held { .. })), "{acidity}");
    }
    let garden = requirement(Method::MehlichPaGarden, &with_acidity(22.5, 5.0, 6.5));
    assert!(matches!(garden, Err(LimeError::Held { .. })));
}

#[test]
fn no_named_buffer_means_no_rate() {
    let mut request = Request {
        ph: 5.5,
        target_ph: 6.5,
        ..Request::default()
    };
    assert_eq!(choose(&request, None), Err(LimeError::NoBuffer));
    assert_eq!(recommend(&request, None), Err(LimeError::NoBuffer));
    assert!(LimeError::NoBuffer.to_string().contains("ask the lab"));
    request.buffer = Some((Buffer::AdamsEvans, 7.7));
    assert_eq!(
        choose(&request, None),
        Err(LimeError::NoTable("Adams-Evans"))
    );
    // A Mehlich number must never be read with the Sikora table, even when asked.
    request.buffer = Some((Buffer::Mehlich, 5.8));
    assert!(matches!(
        requirement(Method::Sikora, &request),
        Err(LimeError::Missing { .. })
    ));
    assert!(choose(&request, Some(Method::Sikora)).is_err());
}

#[test]
fn each_number_finds_its_method() {
    let pick = |r: &Request| choose(r, None);
    assert_eq!(
        pick(&with_buffer(Buffer::Sikora, 6.2, 5.5, 6.5)),
        Ok(Method::Sikora)
    );
    assert_eq!(
        pick(&with_buffer(Buffer::Mehlich, 6.0, 5.5, 6.5)),
        Ok(Method::MehlichNc)
    );
    assert_eq!(
        pick(&with_buffer(Buffer::Smp, 6.2, 5.5, 6.5)),
        Ok(Method::SmpIowa)
    );
    assert_eq!(pick(&with_acidity(5.0, 5.5, 6.5)), Ok(Method::MehlichPa));
    assert_eq!(
        pick(&with_acidity(5.0, 5.5, 6.0)),
        Ok(Method::MehlichPaGarden)
    );
    let lbc = Request {
        ph: 5.5,
        target_ph: 6.5,
        lbc: Some(200.0),
        ..Request::default()
    };
    assert_eq!(pick(&lbc), Ok(Method::GeorgiaLbc));
    // A modified Mehlich buffer has no table here; the acidity beside it has.
    let both = Request {
        buffer: Some((Buffer::ModifiedMehlich, 5.9)),
        ..with_acidity(5.0, 5.5, 6.5)
    };
    assert_eq!(pick(&both), Ok(Method::MehlichPa));
}

#[test]
fn at_the_target_it_is_zero_with_a_sentence() {
    let request = Request {
        ph: 6.6,
        target_ph: 6.5,
        ..Request::default()
    };
    let figure = recommend(&request, None).unwrap();
    assert_eq!((figure.value, figure.unit.as_str()), (0.0, "lb/acre"));
    assert!(figure.working[0].what.contains("needs no lime"));
}

#[test]
fn depth_scales_and_a_recalled_depth_is_marked() {
    let mut request = with_buffer(Buffer::Sikora, 6.0, 5.0, 6.4);
    let six = requirement(Method::Sikora, &request).unwrap().value;
    request.depth_in = Some(3.0);
    assert_eq!(
        requirement(Method::Sikora, &request).unwrap().value,
        six / 2.0
    );
    let mut nc = with_buffer(Buffer::Mehlich, 6.0, 5.0, 6.4);
    let plain = requirement(Method::MehlichNc, &nc).unwrap();
    assert_eq!(plain.weakest(), Some(Evidence::Derived));
    nc.depth_in = Some(6.0);
    let scaled = requirement(Method::MehlichNc, &nc).unwrap();
    assert_eq!(scaled.weakest(), Some(Evidence::Memory));
    assert!((scaled.value - plain.value * 0.75).abs() < 1e-9);
}

#[test]
fn georgia_follows_its_formula() {
    // LBC30 of 100, 200 and 300 give 170.4, 386.8 and 649.3 (derived from the published formula).
    for (lbc, full) in [(100.0, 170.42), (200.0, 386.84), (300.0, 649.26)] {
        let r = Request {
            ph: 5.5,
            target_ph: 6.5,
            lbc: Some(lbc),
            ..Request::default()
        };
        let figure = requirement(Method::GeorgiaLbc, &r).unwrap();
        assert!((figure.working[0].value - full).abs() < 0.01);
        assert!((figure.value - full * 2.0).abs() < 0.05);
    }
}

#[test]
fn bad_numbers_are_refused() {
    for request in [
        Request {
            ph: f64::NAN,
            ..with_acidity(5.0, 5.0, 6.5)
        },
        with_acidity(-1.0, 5.0, 6.5),
        with_acidity(f64::INFINITY, 5.0, 6.5),
        with_buffer(Buffer::Sikora, 62.0, 5.0, 6.5),
        Request {
            depth_in: Some(0.0),
            ..with_acidity(5.0, 5.0, 6.5)
        },
    ] {
        assert!(
            matches!(recommend(&request, None), Err(LimeError::BadValue(..))),
            "{request:?}"
        );
    }
    assert!(product(1000.0, Quality::Cce(0.0), 0.0).is_err());
    assert!(product(1000.0, Quality::Cce(90.0), 100.0).is_err());
}

#[test]
fn large_rates_are_split() {
    let per_100 = |v: f64| v * 435.6;
    let count = |v: f64, s| doses(v, s).len();
    assert_eq!(count(per_100(10.0), Situation::Garden), 1);
    assert_eq!(count(per_100(11.0), Situation::Garden), 2);
    assert_eq!(count(per_100(20.0), Situation::Garden), 2);
    assert_eq!(count(per_100(21.0), Situation::Garden), 3);
    assert_eq!(count(4_000.0, Situation::NotIncorporated), 1);
    assert_eq!(count(4_001.0, Situation::NotIncorporated), 2);
    assert_eq!(count(9_000.0, Situation::NotIncorporated), 3);
    assert_eq!(count(8_000.0, Situation::Incorporated), 1);
    assert_eq!(count(8_100.0, Situation::Incorporated), 2);
    assert!(doses(0.0, Situation::Garden).is_empty());
}

proptest! {
    #[test]
    fn more_acid_never_needs_less_lime(
        a in 4.5..7.5f64, b in 4.5..7.5f64,
        ph_a in 4.0..6.5f64, ph_b in 4.0..6.5f64,
        meq in 0.0..30.0f64, more in 0.0..10.0f64,
        lbc in 20.0..500.0f64, target in 5.6..7.2f64,
        t in 0usize..10, om in 0.0..60.0f64,
    ) {
        let texture = Texture::ALL[t];
        let (low, high) = if a <= b { (a, b) } else { (b, a) };
        let (sour, mild) = if ph_a <= ph_b { (ph_a, ph_b) } else { (ph_b, ph_a) };
        for method in Method::ALL {
            let buffer = method.buffer();
            let request = |ph, buffer_ph, acidity, lbc| Request {
                ph,
                target_ph: target,
                buffer: buffer.map(|name| (name, buffer_ph)),
                acidity: Some(acidity),
                lbc: Some(lbc),
                depth_in: Some(6.0),
                texture: Some(texture),
                organic_matter_pct: Some(om),
                neutralizable: Some(acidity),
                cec: None,
            };
            let less = requirement(method, &request(mild, high, meq, lbc));
            let worse = requirement(method, &request(sour, low, meq + more, lbc + more));
            if let (Ok(less), Ok(worse)) = (less, worse) {
                prop_assert!(
                    worse.value >= less.value - 1e-6,
                    "{method:?}: {} then {}", less.value, worse.value
                );
            }
        }
    }

    #[test]
    fn doses_add_up(rate in 1.0..60_000.0f64) {
        for s in [
            Situation::Garden,
            Situation::Turf,
            Situation::NotIncorporated,
            Situation::Established,
            Situation::Incorporated,
        ] {
            let parts = doses(rate, s);
            let sum: f64 = parts.iter().map(|d| d.lb_per_acre).sum();
            prop_assert!((sum - rate).abs() < 1e-6);
            prop_assert!(parts.iter().all(|d| d.lb_per_acre > 0.0));
            if s == Situation::NotIncorporated {
                prop_assert!(parts.iter().all(|d| d.lb_per_acre <= 4_000.0 + 1e-6));
            }
        }
    }
}

#[test]
fn past_the_sour_end_the_rate_is_a_floor_and_says_so() {
    for (method, request, floor) in [
        (
            Method::SmpIowa,
            with_buffer(Buffer::Smp, 4.9, 4.5, 6.5),
            7_900.0,
        ),
        (
            Method::Sikora,
            with_buffer(Buffer::Sikora, 4.5, 4.2, 6.0),
            17_800.0,
        ),
        (Method::MehlichPaGarden, with_acidity(90.0, 4.2, 7.0), 0.0),
    ] {
        let figure = requirement(method, &request).unwrap();
        if floor > 0.0 {
            assert!((figure.value - floor).abs() < 1e-6, "{}", figure.value);
        }
        assert!(figure.what.starts_with("At least"), "{}", figure.what);
        assert_eq!(figure.low, Some(figure.value));
        assert!(figure.cautions[0].text.starts_with("AT LEAST"));
        assert!(figure.working[0].what.contains("past the last line"));
        let shallow = Request {
            depth_in: Some(3.0),
            ..request
        };
        let shallow = requirement(method, &shallow).unwrap();
        assert_eq!(shallow.low, Some(shallow.value));
    }
    // On the last printed line nothing is said.
    let last = requirement(Method::SmpIowa, &with_buffer(Buffer::Smp, 5.8, 4.5, 6.5)).unwrap();
    assert!(last.low.is_none() && !last.what.contains("least"));
}

#[test]
fn past_the_mild_end_no_rate_is_carried_on() {
    for buffer in [6.95, 7.4] {
        for target in [6.4, 6.5] {
            let r = requirement(
                Method::Sikora,
                &with_buffer(Buffer::Sikora, buffer, 5.5, target),
            );
            assert!(matches!(r, Err(LimeError::PastTable { .. })), "{r:?}");
        }
        // The last line asks for none at this target, and a milder soil cannot ask for more.
        let none = requirement(
            Method::Sikora,
            &with_buffer(Buffer::Sikora, buffer, 5.5, 6.0),
        );
        let none = none.unwrap();
        assert_eq!(none.value, 0.0);
        assert!(none.working[0].what.contains("past the last line"));
    }
    let iowa = |target| requirement(Method::SmpIowa, &with_buffer(Buffer::Smp, 7.3, 6.0, target));
    assert_eq!(iowa(6.5).unwrap().value, 0.0);
    assert!(matches!(iowa(6.9), Err(LimeError::PastTable { .. })));
    let carolina = requirement(
        Method::MehlichNc,
        &with_buffer(Buffer::Mehlich, 6.7, 5.5, 6.5),
    )
    .unwrap();
    assert_eq!(carolina.value, 0.0);
    assert!(carolina.cautions[0].text.contains("no acidity"));
}

#[test]
fn each_method_says_what_lime_it_counts() {
    for method in Method::ALL {
        let basis = method.basis().unwrap();
        for text in [&basis.lime, &basis.unit, &basis.depth, &basis.targets] {
            assert!(!text.is_empty(), "{method:?}");
        }
        assert!(basis.caution.text.contains("bag’s"), "{method:?}");
        let request = Request {
            ph: 5.0,
            target_ph: if method == Method::Woodruff { 7.0 } else { 6.5 },
            buffer: method
                .buffer()
                .map(|b| (b, if b == Buffer::AdamsEvans { 7.7 } else { 6.2 })),
            acidity: Some(6.0),
            lbc: Some(200.0),
            depth_in: (method == Method::KansasSmp).then_some(6.0),
            texture: Some(Texture::SandyLoam),
            organic_matter_pct: Some(3.0),
            neutralizable: Some(4.0),
            cec: Some(6.0),
        };
        let figure = requirement(method, &request).unwrap();
        assert!(figure.what.contains(&basis.lime), "{}", figure.what);
        assert!(figure.cautions.contains(&basis.caution));
        assert_eq!(
            figure.working.last().unwrap().unit,
            basis.unit,
            "{method:?}"
        );
    }
    let oregon = Method::Sikora.basis().unwrap();
    assert!(oregon.lime.contains("100-score"));
    assert!(oregon.caution.text.contains("lime score"));
}

#[test]
fn a_cce_alone_is_warned_of() {
    let said = |quality, text: &str| {
        let figure = product(2_000.0, quality, 0.0).unwrap();
        assert!(figure.cautions.iter().any(|c| c.text.contains(text)));
    };
    said(Quality::Cce(95.0), "nothing of fineness");
    said(Quality::NeutralisingValue(50.0), "nothing of fineness");
    said(Quality::EffectivePercent(80.0), "must not be corrected");
    assert!(quality_caution().unwrap().text.contains("lime score"));
}

#[test]
fn cautions_stand_by_themselves() {
    let all = cautions();
    assert!(all.iter().any(|c| c.text.contains("dust mask")));
    assert!(all.iter().any(|c| c.text.contains("over-lime")));
    assert_eq!(organic_soil_note(20.0), None);
    assert_eq!(organic_soil_note(f64::NAN), None);
    let muck = organic_soil_note(45.0).unwrap();
    assert!(muck.text.contains("5.3"));
    assert_eq!(muck.source.evidence, Evidence::Secondary);
}
