use crate::*;
use proptest::prelude::*;

/// Factors against `uom`, a general unit library.
#[test]
fn factors_agree_with_a_general_unit_library() {
    use uom::si::{area, f64 as si, length, mass, volume};
    // The library carries some factors to seven digits.
    let near = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 1e-6, "{a} against {b}");
    near(
        Length::feet(1.0).si(),
        si::Length::new::<length::foot>(1.0).get::<length::meter>(),
    );
    near(
        Length::inches(1.0).si(),
        si::Length::new::<length::inch>(1.0).get::<length::meter>(),
    );
    near(
        Area::square_feet(1.0).si(),
        si::Area::new::<area::square_foot>(1.0).get::<area::square_meter>(),
    );
    near(
        Area::hectares(1.0).si(),
        si::Area::new::<area::hectare>(1.0).get::<area::square_meter>(),
    );
    near(
        Mass::pounds(1.0).si(),
        si::Mass::new::<mass::pound>(1.0).get::<mass::kilogram>(),
    );
    near(
        Mass::short_tons(1.0).si(),
        si::Mass::new::<mass::ton_short>(1.0).get::<mass::kilogram>(),
    );
    near(
        Volume::gallons(1.0).si(),
        si::Volume::new::<volume::gallon>(1.0).get::<volume::cubic_meter>(),
    );
    near(
        Volume::cubic_yards(1.0).si(),
        si::Volume::new::<volume::cubic_yard>(1.0).get::<volume::cubic_meter>(),
    );
    // The library's acre is the US survey acre, 4 parts in a million larger than ours.
    let acre = si::Area::new::<area::acre>(1.0).get::<area::square_meter>();
    assert!((Area::acres(1.0).si() / acre - 1.0).abs() < 1e-5);
}

/// Common practice, no source: 20 lb per 1,000 ft2 on 2,700 ft2 is 54 lb.
#[test]
fn rate_on_area() {
    let mass = Rate::lb_per_1000_ft2(20.0).on(Area::square_feet(2_700.0));
    assert!((mass.to_pounds() - 54.0).abs() < 1e-9);
}

#[test]
fn numbers_read_as_a_person_writes_them() {
    assert_eq!(plain(0.0, 3), "0");
    assert_eq!(plain(1234.56, 3), "1,235");
    assert_eq!(plain(12.345, 3), "12.3");
    assert_eq!(plain(5.0, 3), "5");
    assert_eq!(plain(-0.25, 2), "−0.25");
    assert_eq!(plain(f64::NAN, 2), "–");
}

#[test]
fn typed_quantities_are_read_or_refused_with_a_sentence() {
    assert!((parse_area("2,640 ft²").unwrap().to_square_feet() - 2640.0).abs() < 1e-9);
    assert!((parse_mass("1 ton").unwrap().to_pounds() - 2000.0).abs() < 1e-9);
    assert_eq!(
        parse_area("2640").unwrap_err(),
        ParseError::NoUnit("2640".into(), "2640 ft2")
    );
    assert!(parse_length("-3 ft").is_err());
    assert!(parse_length("three ft").is_err());
    assert!(
        parse_mass("3 furlong")
            .unwrap_err()
            .to_string()
            .contains("furlong")
    );
}

proptest! {
    #[test]
    fn rates_and_areas_conserve_mass(lb in 0.001f64..1e6, ft2 in 1.0f64..1e8) {
        let rate = Mass::pounds(lb) / Area::square_feet(ft2);
        prop_assert!((rate.on(Area::square_feet(ft2)).to_pounds() / lb - 1.0).abs() < 1e-12);
    }

    #[test]
    fn hostile_text_never_panics(text in ".{0,40}") {
        let _ = (parse_area(&text), parse_length(&text), parse_mass(&text));
    }
}
