//! Conversions against published factors, cell by cell reading, headers, blocks.

use crate::facts::{FACTS, Facts};
use crate::number::{Cell, MarkEvidence, cell, layer};
use crate::words::Words;
use crate::*;
use agronomy::soil::{Analyte, Bound, Extractant, Measured, Recommendable, SoilTest};

const NOTHING: Ground = Ground {
    depth_in: None,
    doubled: false,
    density: None,
};

fn depth(inches: f64) -> Ground {
    Ground {
        depth_in: Some(inches),
        ..NOTHING
    }
}

fn convert(a: Analyte, unit: Unit, form: Option<Form>, ground: Ground, printed: f64) -> f64 {
    Conversion::of(a, unit, form, ground)
        .unwrap()
        .apply(printed)
}

#[track_caller]
fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} against {expected}"
    );
}

#[test]
fn tables_parse_and_are_complete() {
    Words::load().unwrap();
    Facts::load().unwrap();
    for unit in Unit::ALL {
        assert!(FACTS.unit(*unit).is_some(), "{}", unit.key());
        assert!(Analyte::ALL.iter().any(|a| unit.fits(*a)), "{}", unit.key());
    }
    for form in Form::ALL {
        assert!(form.analyte().is_some(), "{}", form.key());
    }
    for extractant in Extractant::ALL {
        assert!(FACTS.extract(extractant).is_some(), "{}", extractant.key());
    }
    for analyte in Analyte::ALL {
        let own = Unit::of(analyte).find(|u| {
            let way = Conversion::of(analyte, *u, None, NOTHING);
            way.is_ok_and(|w| (w.factor() - 1.0).abs() < 1e-12)
        });
        assert!(own.is_some(), "no unit of its own for {}", analyte.key());
    }
    for key in [
        "soil_mass",
        "soil_mass_depth",
        "ph_low",
        "ph_high",
        "ph_least",
        "ph_most",
        "om_high",
        "percent_most",
        "buffer_high",
        "buffer_low",
        "buffer_under_ph",
        "buffer_acid_ph",
        "cation_over",
        "cation_double_low",
        "cation_double_high",
        "cation_under",
        "cation_neutral_ph",
        "ppm_most",
        "cec_most",
        "salts_high",
        "depth_most",
    ] {
        assert!(FACTS.limit(key).is_finite(), "{key}");
    }
}

/// Ohio State agBMPs, Understanding Soil Test Reports for Phosphorus Values: 15, 25, 50, 120 and
/// 150 ppm are 30, 50, 100, 240 and 300 lb/acre; 60 lb/acre is 30 ppm. University of California
/// Cooperative Extension, base cation saturation note: Ca 4,100 and Mg 670 ppm are 8,200 and
/// 1,340 lb/acre. J. Soil Water Conserv. 60(1):10: Morgan P 4.5 mg/kg is 9 lb/acre. All seen.
#[test]
fn lb_per_acre_of_labs_that_double() {
    let doubled = Ground {
        doubled: true,
        ..NOTHING
    };
    for (a, lb, ppm) in [
        (Analyte::P, 30.0, 15.0),
        (Analyte::P, 50.0, 25.0),
        (Analyte::P, 60.0, 30.0),
        (Analyte::P, 100.0, 50.0),
        (Analyte::P, 240.0, 120.0),
        (Analyte::P, 300.0, 150.0),
        (Analyte::P, 9.0, 4.5),
        (Analyte::Ca, 8200.0, 4100.0),
        (Analyte::Mg, 1340.0, 670.0),
    ] {
        near(convert(a, Unit::LbPerAcre, None, doubled, lb), ppm, 1e-9);
        let by_depth = depth(20.0 / 3.0);
        near(convert(a, Unit::LbPerAcre, None, by_depth, lb), ppm, 1e-6);
    }
}

/// Nitrate to 12 in at 3.6 lb/acre per ppm: 25 ppm are 90 lb/acre (the reference pack's worked
/// example W26, computed: 3.6 is a bulk density of 1.32). The same mass by the identity
/// lb/acre = ppm x 0.2266135 x density x depth at 1.32383995 g/cm3 (derived).
#[test]
fn lb_per_acre_goes_with_depth() {
    let a = Analyte::NitrateN;
    near(
        convert(a, Unit::LbPerAcre, None, depth(12.0), 90.0),
        25.0,
        1e-6,
    );
    for inches in [1.0, 6.0, 6.7, 8.0, 24.0] {
        let lb = 10.0 * 0.226_613_5 * 1.323_839_95 * inches;
        near(
            convert(a, Unit::LbPerAcre, None, depth(inches), lb),
            10.0,
            1e-5,
        );
        // 1 lb/acre is 1.12085 kg/ha (derived).
        near(
            convert(a, Unit::KgPerHa, None, depth(inches), lb * 1.120_851_16),
            10.0,
            1e-5,
        );
    }
    let way = Conversion::of(Analyte::K, Unit::LbPerAcre, None, depth(6.0)).unwrap();
    let steps = way.steps(270.0);
    assert_eq!(steps.len(), 1);
    near(steps[0].value, 150.0, 1e-6);
    assert!(
        steps[0]
            .formula
            .contains("6 in of soil weighs 1,800,000 lb per acre")
    );
}

/// Clemson Agricultural Service Laboratory, CEC calculations, sample 113282 (seen): K 221, Mg 28,
/// Ca 400 and Na 12 lb/acre are 0.28, 0.12, 1.00 and 0.03 meq/100 g.
#[test]
fn cations_as_a_lab_sums_them() {
    let doubled = Ground {
        doubled: true,
        ..NOTHING
    };
    for (a, lb, meq) in [
        (Analyte::K, 221.0, 0.28),
        (Analyte::Mg, 28.0, 0.12),
        (Analyte::Ca, 400.0, 1.00),
        (Analyte::Na, 12.0, 0.03),
    ] {
        let ppm = convert(a, Unit::LbPerAcre, None, doubled, lb);
        near(
            ppm / convert(a, Unit::MeqPer100G, None, NOTHING, 1.0),
            meq,
            0.005,
        );
    }
    // University lecture notes, recomputed: 4 meq Ca per 100 g is 801.56 ppm; a university soils
    // handout: 0.98 meq K at 39.1 g per equivalent is 383.18 ppm.
    near(
        convert(Analyte::Ca, Unit::MeqPer100G, None, NOTHING, 4.0),
        801.56,
        0.005,
    );
    near(
        convert(Analyte::K, Unit::CmolPerKg, None, NOTHING, 0.98),
        383.18,
        0.03,
    );
}

/// Penn State rounds P to P2O5 as 2.3 and K to K2O as 1.2 (seen). FAO Irrigation and Drainage
/// Paper 61: 1 dS/m = 1 mmho/cm = 1000 uS/cm (seen). The rest are identities.
#[test]
fn oxides_salts_and_volumes() {
    let p2o5 = convert(Analyte::P, Unit::Ppm, Some(Form::P2o5), NOTHING, 2.3);
    near(p2o5, 1.0, 0.005);
    near(
        convert(Analyte::K, Unit::MgPerKg, Some(Form::K2o), NOTHING, 1.2),
        1.0,
        0.005,
    );
    near(
        convert(Analyte::Salts, Unit::UsPerCm, None, NOTHING, 1000.0),
        1.0,
        1e-12,
    );
    near(
        convert(Analyte::Salts, Unit::MmhoPerCm, None, NOTHING, 0.7),
        0.7,
        1e-12,
    );
    near(
        convert(Analyte::OrganicMatter, Unit::GPerKg, None, NOTHING, 32.0),
        3.2,
        1e-12,
    );
    let scoop = Ground {
        density: Some(0.8),
        ..NOTHING
    };
    near(
        convert(Analyte::P, Unit::MgPerDm3, None, scoop, 40.0),
        50.0,
        1e-9,
    );
    near(
        convert(Analyte::Acidity, Unit::MeqPer100Cm3, None, scoop, 1.2),
        1.5,
        1e-9,
    );
    let ca = convert(Analyte::Ca, Unit::MeqPer100Cm3, None, scoop, 0.8);
    near(ca, 200.39, 1e-9);
}

/// The factors stand on the atomic weights that the materials use.
#[test]
fn forms_and_charges_follow_from_molar_masses() {
    let text = include_str!("../../../reference/materials/molar_masses.csv");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let mass: std::collections::BTreeMap<String, f64> = reader
        .records()
        .map(|r| r.unwrap())
        .map(|r| (r[0].to_owned(), r[2].parse().unwrap()))
        .collect();
    for (form, oxide, element, atoms) in [
        (Form::P2o5, "P2O5", "P", 2.0),
        (Form::K2o, "K2O", "K", 2.0),
        (Form::Mgo, "MgO", "Mg", 1.0),
        (Form::Cao, "CaO", "Ca", 1.0),
        (Form::So4, "SO4", "S", 1.0),
        (Form::No3, "NO3", "N", 1.0),
        (Form::Nh4, "NH4", "N", 1.0),
    ] {
        let expected = mass[oxide] / (mass[element] * atoms);
        near(FACTS.form(form).unwrap().per_element, expected, 2e-5);
    }
    for (analyte, element, charge) in [
        (Analyte::Ca, "Ca", 2.0),
        (Analyte::Mg, "Mg", 2.0),
        (Analyte::K, "K", 1.0),
        (Analyte::Na, "Na", 1.0),
        (Analyte::Al, "Al", 3.0),
    ] {
        let expected = mass[element] / charge * 10.0;
        near(FACTS.charge(analyte).unwrap().value, expected, 1e-2);
    }
}

/// New Mexico State University Extension, Determining Amounts of Fertilizer for Small Areas,
/// Table 1 (seen): 1,000 lb/acre is 22 lb 15 oz per 1,000 ft2, 100 and 2,000 lb/acre are 0.23 and
/// 4.59 lb per 100 ft2.
#[test]
fn rates_on_small_areas() {
    near(
        RateUnit::LbPer1000Ft2.lb_per_acre() * (22.0 + 15.0 / 16.0),
        1000.0,
        1.4,
    );
    near(100.0 / RateUnit::LbPer100Ft2.lb_per_acre(), 0.23, 0.005);
    near(2000.0 / RateUnit::LbPer100Ft2.lb_per_acre(), 4.59, 0.005);
    near(RateUnit::TonPerAcre.lb_per_acre(), 2000.0, 1e-9);
    near(RateUnit::KgPerHa.lb_per_acre() * 1.120_851_16, 1.0, 1e-7);
    near(
        RateUnit::TonnePerHa.lb_per_acre() * 1.120_851_16,
        1000.0,
        1e-4,
    );
    near(RateUnit::GPerM2.lb_per_acre() * 0.112_085_116, 1.0, 1e-7);
    // 3 tons of material with 90 % of the effect are 5,400 lb of pure calcium carbonate (derived).
    let way = Conversion::of_rate(Recommendable::Lime, RateUnit::TonPerAcre, Some(90.0));
    near(way.apply(3.0), 5400.0, 1e-9);
    assert_eq!(way.steps(3.0).len(), 2);
}

#[test]
fn a_unit_that_cannot_be_converted_is_refused() {
    let of = |a, u, f, g| Conversion::of(a, u, f, g).unwrap_err();
    assert_eq!(
        of(Analyte::P, Unit::LbPerAcre, None, NOTHING),
        NoConversion::Depth
    );
    assert_eq!(
        of(Analyte::P, Unit::MgPerDm3, None, NOTHING),
        NoConversion::Density
    );
    assert_eq!(
        of(Analyte::P, Unit::MeqPer100G, None, NOTHING),
        NoConversion::Unit
    );
    assert_eq!(
        of(Analyte::Cec, Unit::Ppm, None, NOTHING),
        NoConversion::Unit
    );
    assert_eq!(
        of(Analyte::Salts, Unit::Ppm, None, NOTHING),
        NoConversion::Unit
    );
    assert_eq!(
        of(Analyte::OrganicMatter, Unit::LbPerAcre, None, depth(6.0)),
        NoConversion::Unit
    );
    assert_eq!(
        of(Analyte::K, Unit::Ppm, Some(Form::P2o5), NOTHING),
        NoConversion::Unit
    );
    for bad in [0.0, -6.0, f64::NAN, f64::INFINITY] {
        assert_eq!(
            of(Analyte::P, Unit::LbPerAcre, None, depth(bad)),
            NoConversion::Depth
        );
    }
}

#[test]
fn cells_read_as_labs_write_them() {
    let read = |text, comma| match cell(text, comma) {
        Cell::Number { value, bound, .. } => Some((value, bound)),
        Cell::Missing => None,
        Cell::Bad(why) => panic!("{text}: {why}"),
    };
    let exact = |v| Some((v, Bound::Exact));
    for (text, value) in [
        ("6.5", exact(6.5)),
        (" 1,240 ", exact(1240.0)),
        ("1,234,567.5", exact(1_234_567.5)),
        (".5", exact(0.5)),
        ("5.", exact(5.0)),
        ("+5", exact(5.0)),
        ("1.2E+03", exact(1200.0)),
        ("1e-2", exact(0.01)),
        ("45 VH", exact(45.0)),
        ("45L", exact(45.0)),
        ("<0.1", Some((0.1, Bound::Below))),
        ("< 0.1", Some((0.1, Bound::Below))),
        (">500", Some((500.0, Bound::Above))),
        ("", None),
        ("-", None),
        ("n/a", None),
        ("ND", None),
        ("N.D.", None),
    ] {
        assert_eq!(read(text, false), value, "{text}");
    }
    for (text, value) in [
        ("6,5", 6.5),
        ("1.240", 1240.0),
        ("1.203,5", 1203.5),
        ("0,25", 0.25),
    ] {
        assert_eq!(read(text, true), exact(value), "{text}");
    }
    for text in [
        "six",
        "1,24",
        "12,34,567",
        "1.2.3",
        "1,234.5,6",
        "--5",
        "<",
        "=1+1",
        "@A1",
        "-4",
        "1 2",
        "0,123",
        "∞",
        "NaN",
        "inf",
        "e5",
        ",",
        ".",
        "1e999",
    ] {
        let refused = match cell(text, false) {
            Cell::Bad(_) => true,
            // A number with something behind it is refused later for its unit.
            Cell::Number { rest, .. } => !rest.is_empty(),
            Cell::Missing => text == ".",
        };
        assert!(refused, "{text}: {:?}", cell(text, false));
    }
}

#[test]
fn the_decimal_mark_is_taken_only_where_cells_show_it() {
    let told = |cells: &[&str]| {
        let mut evidence = MarkEvidence::default();
        cells.iter().for_each(|c| evidence.look(c));
        evidence.decimal_comma()
    };
    assert_eq!(told(&["6", "120", "x"]), Some(false));
    assert_eq!(told(&["6.5", "1,240"]), Some(false));
    assert_eq!(told(&["6,5", "1.240"]), Some(true));
    assert_eq!(told(&["1,240"]), None);
    assert_eq!(told(&["6,5", "6.5"]), None);
    assert_eq!(told(&["0.123"]), Some(false));
}

#[test]
fn layers() {
    assert_eq!(layer("6", false), Some((0.0, 6.0, "")));
    assert_eq!(layer("0-6 in", false), Some((0.0, 6.0, "in")));
    assert_eq!(layer("15 – 30 cm", false), Some((15.0, 30.0, "cm")));
    for bad in ["", "6-0", "deep", "0-0", "6-", "-", "1-2-3"] {
        assert_eq!(layer(bad, false), None, "{bad}");
    }
}

fn block(id: i64, name: &str, aliases: &[&str]) -> BlockNames {
    BlockNames {
        id,
        name: name.to_owned(),
        aliases: aliases.iter().map(|a| (*a).to_owned()).collect(),
    }
}

#[test]
fn blocks_are_sure_only_where_names_agree() {
    let blocks = [
        block(1, "Field 1", &["North end"]),
        block(11, "Field 11", &[]),
        block(2, "Tunnel A", &["HT-A"]),
        block(3, "Orchard", &[]),
    ];
    let one = |name: &str| match_blocks(&[name.to_owned()], &blocks).remove(0);
    for (name, id) in [
        ("Field 1", 1),
        ("FIELD_01", 1),
        ("field1", 1),
        ("north END", 1),
        ("Field-11", 11),
        ("ht a", 2),
    ] {
        let m = one(name);
        assert!(m.sure && m.best == Some(id), "{m:?}");
    }
    for name in [
        "Field 111",
        "Fild 1",
        "Field",
        "Tunnel",
        "Field 1 2",
        "1",
        "",
    ] {
        assert!(!one(name).sure, "{name}");
    }
    assert_eq!(one("Tunel A").best, Some(2));
    assert_eq!(one("Fild 11").best, Some(11));
    assert_eq!(one("zzz").best, None);
    let both = match_blocks(
        &["Orchard".into(), "orchard".into(), "Field 1".into()],
        &blocks,
    );
    assert_eq!(
        both.iter().map(|m| m.sure).collect::<Vec<_>>(),
        [false, false, true]
    );
    // A sample that is only like a block does not unsettle the one that has its name.
    let tunnels = [
        block(1, "Tunnel 1", &[]),
        block(2, "Tunnel 2", &[]),
        block(3, "Kitchen Beds", &[]),
    ];
    let m = match_blocks(
        &[
            "Tunnel one".into(),
            "Tunnel 2".into(),
            "Kitchen Beds".into(),
        ],
        &tunnels,
    );
    assert_eq!(
        m.iter().map(|m| (m.best, m.sure)).collect::<Vec<_>>(),
        [(Some(1), false), (Some(2), true), (Some(3), true)]
    );
    let m = match_blocks(&["Tunnel 2 east".into(), "Tunnel 2".into()], &tunnels[1..]);
    assert!(m[0].best.is_none() && !m[0].sure && m[1].sure, "{m:?}");
    let twins = [block(1, "Home", &[]), block(2, "Away", &["home"])];
    let m = match_blocks(&["Home".into()], &twins).remove(0);
    assert!(!m.sure && m.others.len() == 1);
}

fn test_of(values: &[(Analyte, f64)]) -> SoilTest {
    SoilTest {
        sample: "x".to_owned(),
        measured: values
            .iter()
            .map(|(analyte, value)| Measured {
                analyte: *analyte,
                value: *value,
                bound: Bound::Exact,
                extractant: analyte.needs_extractant().then_some(Extractant::Mehlich3),
                buffer: None,
                printed: value.to_string(),
                printed_unit: String::new(),
            })
            .collect(),
        ..SoilTest::default()
    }
}

#[test]
fn doubts_are_raised_and_not_raised() {
    use Analyte::{BufferPh, Ca, Cec, Fe, K, Mg, OrganicMatter, Ph, Salts};
    let count = |values: &[(Analyte, f64)]| doubts(&test_of(values)).len();
    for (doubtful, fine) in [
        ((Ph, 2.9), (Ph, 3.0)),
        ((Ph, 11.1), (Ph, 11.0)),
        ((OrganicMatter, 61.0), (OrganicMatter, 60.0)),
        ((BufferPh, 8.3), (BufferPh, 8.2)),
        ((BufferPh, 3.9), (BufferPh, 4.0)),
        ((Salts, 4.1), (Salts, 4.0)),
        ((Cec, 301.0), (Cec, 300.0)),
        ((Fe, 100_001.0), (Fe, 100_000.0)),
    ] {
        assert_eq!((count(&[doubtful]), count(&[fine])), (1, 0), "{doubtful:?}");
    }
    assert_eq!(count(&[(Ph, 6.0), (BufferPh, 5.5)]), 1);
    assert_eq!(count(&[(Ph, 7.4), (BufferPh, 7.0)]), 0);
    let cations = |ph, by: f64| {
        count(&[
            (Ph, ph),
            (Cec, 10.0),
            (Ca, 1403.0 * by),
            (Mg, 243.0 * by),
            (K, 196.0 * by),
        ])
    };
    assert_eq!(cations(6.5, 1.0), 0);
    assert_eq!(cations(6.5, 2.1), 1);
    assert_eq!(cations(6.5, 1.5), 1);
    assert_eq!(cations(7.4, 0.5), 1);
    assert_eq!(cations(5.4, 0.5), 0);
    let mut bare = test_of(&[(K, 100.0)]);
    bare.measured[0].extractant = None;
    assert_eq!(doubts(&bare).len(), 1);
}

#[test]
fn a_depth_is_found_beside_other_numbers() {
    for (line, inches) in [
        ("Extraction: Mehlich-3; depth 0 to 6.67 in", Some(6.67)),
        ("Depth sampled: 8 in, 12 cores", Some(8.0)),
        ("Mehlich-3, 2026, depth not stated", None),
        ("Order 1234 in 2026", None),
    ] {
        let text = format!("{line}\n\nSample,pH,P (ppm)\nA,6.2,40\nB,6.4,50\n");
        let layout = propose(&sniff("x.csv", text.as_bytes()).unwrap());
        assert_eq!(layout.depth_in, inches, "{line}");
    }
}
