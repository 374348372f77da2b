use super::*;
use proptest::prelude::*;

fn part(name: &str, grade: [f64; 3]) -> Part {
    Part {
        name: name.to_owned(),
        grade,
    }
}

fn trade() -> Vec<Part> {
    vec![
        part("urea", [46.0, 0.0, 0.0]),
        part("DAP", [18.0, 46.0, 0.0]),
        part("potash", [0.0, 0.0, 60.0]),
    ]
}

#[test]
fn the_classic_three() {
    // 100-60-80: 60 / 0.46, then (100 − 0.18 × 130.4) / 0.46, then 80 / 0.6.
    let b = exact(&trade(), [100.0, 60.0, 80.0]).unwrap();
    for (got, want) in b.lb.iter().zip([166.352, 130.435, 133.333]) {
        assert!((got - want).abs() < 0.01, "{:?}", b.lb);
    }
}

#[test]
fn meals_for_a_bed() {
    let parts = [
        part("bone meal", [5.0, 12.0, 0.0]),
        part("feather meal", [12.0, 0.0, 0.0]),
        part("potassium sulfate", [0.0, 0.0, 50.0]),
    ];
    let b = exact(&parts, [0.2, 0.1, 0.2]).unwrap();
    for (got, want) in b.lb.iter().zip([0.833_333, 1.319_44, 0.4]) {
        assert!((got - want).abs() < 0.001, "{:?}", b.lb);
    }
}

#[test]
fn two_parts_and_a_filler() {
    let parts = [
        part("superphosphate", [0.0, 20.0, 0.0]),
        part("potash", [0.0, 0.0, 60.0]),
    ];
    let (b, filler) = grade(&parts, [0.0, 8.0, 8.0], 2_000.0).unwrap();
    assert!((b.lb[0] - 800.0).abs() < 1e-6 && (b.lb[1] - 266.667).abs() < 0.01);
    assert!((filler - 933.333).abs() < 0.01);
    assert!(matches!(
        grade(&parts, [0.0, 19.0, 19.0], 2_000.0),
        Err(BlendError::TooRich(_))
    ));
}

#[test]
fn impossible_is_said_with_the_nearest() {
    // DAP for 60 lb of P2O5 brings 23 lb of N already.
    let e = exact(&trade(), [10.0, 60.0, 0.0]).unwrap_err();
    let text = e.to_string();
    assert!(
        text.contains("lb too much N") && text.contains("DAP"),
        "{text}"
    );
    let BlendError::NotExact { covering, .. } = e else {
        panic!("{e}");
    };
    assert!((covering.over[0] - (60.0 / 0.46 * 0.18 - 10.0)).abs() < 1e-9);
    assert!(covering.over[1].abs() < 1e-9);
    assert_eq!(
        exact(&trade()[..2], [1.0, 1.0, 1.0]),
        Err(BlendError::Missing("K2O"))
    );
    assert!(exact(&[], [1.0, 0.0, 0.0]).is_err());
    assert!(exact(&trade(), [f64::NAN, 0.0, 0.0]).is_err());
    assert!(exact(&[part("odd", [80.0, 80.0, 0.0])], [1.0, 0.0, 0.0]).is_err());
}

#[test]
fn one_part_alone_does_where_it_fits() {
    let b = exact(&[part("even", [10.0, 10.0, 10.0])], [5.0, 5.0, 5.0]).unwrap();
    assert!((b.lb[0] - 50.0).abs() < 1e-9);
    // And two parts of one grade are no trouble.
    let b = exact(
        &[
            part("even", [10.0, 10.0, 10.0]),
            part("same", [10.0, 10.0, 10.0]),
        ],
        [5.0, 5.0, 5.0],
    )
    .unwrap();
    assert!((b.total_lb - 50.0).abs() < 1e-9);
}

proptest! {
    #[test]
    fn what_goes_in_comes_out(
        grades in prop::collection::vec((0.0..33.0_f64, 0.0..33.0_f64, 0.0..33.0_f64), 1..6),
        amounts in prop::collection::vec(0.0..500.0_f64, 6),
    ) {
        let parts: Vec<Part> = grades.iter().enumerate()
            .map(|(i, g)| part(&i.to_string(), [g.0, g.1, g.2])).collect();
        // A target that a mix can meet, since one did.
        let mut target = [0.0; 3];
        let mut made = 0.0;
        for (p, w) in parts.iter().zip(&amounts) {
            made += w;
            for (t, g) in target.iter_mut().zip(p.grade) { *t += g / 100.0 * w; }
        }
        prop_assume!(target.iter().any(|t| *t > 1e-3));
        match exact(&parts, target) {
            Ok(b) => {
                prop_assert!(b.lb.iter().all(|w| *w >= 0.0));
                for o in b.over { prop_assert!(o.abs() < 1e-5 * (1.0 + made), "{o}"); }
                prop_assert!(b.total_lb <= made * (1.0 + 1e-6) + 1e-6);
            }
            // Two nearly equal grades can put the sum out of reach of plain numbers; then the
            // covering mix is as good as exact.
            Err(BlendError::NotExact { covering, .. }) => {
                for o in covering.over { prop_assert!(o.abs() < 1e-3 * (1.0 + made), "{o}"); }
            }
            Err(e) => prop_assert!(false, "{e}"),
        }
    }
}
