//! How labs print things: units, methods, rates, base saturation, below detection.

use crate::doubt::Saturated;
use crate::words::{Kind, WORDS, Words, tokens};
use crate::{Layout, Meaning, RateUnit, Unit, propose, read, sniff};
use agronomy::soil::{Analyte, Buffer, Extractant, Recommendable};

fn layout(text: &str) -> Layout {
    propose(&sniff("x.csv", text.as_bytes()).unwrap())
}

fn meaning(header: &str) -> (Meaning, bool) {
    let text = format!("Sample,pH,{header}\nA,6.2,1\nB,6.4,2\n");
    let layout = layout(&text);
    (layout.columns[2].meaning, layout.columns[2].sure)
}

#[test]
fn every_key_of_the_vocabulary_is_known() {
    Words::load().unwrap();
    let text = include_str!("../../../reference/labfiles/words.csv");
    for line in text.lines().skip(1) {
        let mut cells = line.split(',');
        let (words, kind, key) = (
            cells.next().unwrap(),
            cells.next().unwrap(),
            cells.next().unwrap(),
        );
        let known = match kind {
            "analyte" => Analyte::from_key(key).is_some(),
            "unit" => Unit::from_key(key).is_some(),
            "rate" => RateUnit::from_key(key).is_some(),
            "extractant" => Extractant::from_key(key).is_some(),
            "buffer" => Buffer::from_key(key).is_some(),
            "lime" => Recommendable::from_key(key).is_some(),
            _ => true,
        };
        assert!(known, "{line}");
        // A phrase that cannot come out of a header would never be found.
        if !matches!(kind, "missing" | "rating" | "summary") && !words.starts_with('"') {
            assert_eq!(tokens(words).join(" "), words, "{line}");
        }
    }
}

#[test]
fn rates_beside_the_usual_four() {
    for (header, what, unit) in [
        ("Sulfur rec lb/acre", Recommendable::S, RateUnit::LbPerAcre),
        (
            "Mg recommended (kg/ha)",
            Recommendable::Mg,
            RateUnit::KgPerHa,
        ),
        ("Boron to apply lb/A", Recommendable::B, RateUnit::LbPerAcre),
        (
            "Zn lb/1000 sq ft",
            Recommendable::Zn,
            RateUnit::LbPer1000Ft2,
        ),
        (
            "Manganese requirement lb/ac",
            Recommendable::Mn,
            RateUnit::LbPerAcre,
        ),
        (
            "Cu needed lb per acre",
            Recommendable::Cu,
            RateUnit::LbPerAcre,
        ),
        (
            "Fe rec lbs/100 ft2",
            Recommendable::Fe,
            RateUnit::LbPer100Ft2,
        ),
        (
            "Ca to apply lb/acre",
            Recommendable::Ca,
            RateUnit::LbPerAcre,
        ),
        (
            "Gypsum tons/acre",
            Recommendable::Gypsum,
            RateUnit::TonPerAcre,
        ),
        (
            "Suggested N rate kg/ha",
            Recommendable::N,
            RateUnit::KgPerHa,
        ),
    ] {
        let (found, sure) = meaning(header);
        let wanted = Meaning::Recommendation {
            what,
            unit: Some(unit),
            cce: None,
        };
        assert_eq!((found, sure), (wanted, true), "{header}");
        assert_eq!(Meaning::from_key(&found.key()).unwrap().key(), found.key());
    }
    // What the soil holds is no rate, and a rate in a form of its own is not taken for the element.
    assert!(matches!(meaning("Mg lb/acre").0, Meaning::Value { .. }));
    assert_eq!(meaning("MgO rec lb/acre"), (Meaning::Ignore, false));
}

#[test]
fn a_rate_is_kept_with_the_test() {
    let text = "Sample,pH,Sulfur rec lb/acre,Boron rec lb/1000 ft2\nA,6.2,20,0.05\n";
    let table = sniff("x.csv", text.as_bytes()).unwrap();
    let report = read(&table, &propose(&table)).unwrap();
    let test = &report.samples[0].test;
    let rate = |what| test.recommendation(what).unwrap().lb_per_acre;
    assert_eq!(rate(Recommendable::S), 20.0);
    assert!((rate(Recommendable::B) - 0.05 * 43.56).abs() < 1e-9);
}

#[test]
fn units_and_methods_as_labs_print_them() {
    let unit = |header: &str| match meaning(header).0 {
        Meaning::Value { unit, .. } => unit,
        other => panic!("{header}: {other:?}"),
    };
    for (header, wanted) in [
        ("P µg/g", Unit::MgPerKg),
        ("K mg/100 g", Unit::MgPer100G),
        ("Soluble salts mhos x 10-5", Unit::MhoE5PerCm),
        ("EC mS/m", Unit::MsPerM),
        ("EC mS/cm", Unit::MmhoPerCm),
        ("Soluble salts (mmhos x 10)", Unit::MmhoX10PerCm),
    ] {
        assert_eq!(unit(header), Some(wanted), "{header}");
    }
    let method = |header: &str| match meaning(header).0 {
        Meaning::Value { extractant, .. } => extractant,
        other => panic!("{header}: {other:?}"),
    };
    for (header, wanted) in [
        ("P (Mehlich No. 3) ppm", Extractant::Mehlich3),
        ("P 0.5 M NaHCO3 ppm", Extractant::Olsen),
        ("K 1N NH4OAc ppm", Extractant::AmmoniumAcetate),
        ("Zn 0.1 N HCl ppm", Extractant::HydrochloricAcid),
        ("Mn 0.1 N H3PO4 ppm", Extractant::PhosphoricAcid),
        ("S Ca(H2PO4)2 ppm", Extractant::CalciumPhosphate),
        ("K saturated media extract ppm", Extractant::SaturatedMedia),
        ("Zn AB-DTPA ppm", Extractant::AbDtpa),
    ] {
        assert_eq!(method(header), Some(wanted), "{header}");
    }
    // Methods that no table here reads are asked about, not guessed at.
    for header in [
        "P Colwell ppm",
        "P Bray P2 ppm",
        "K Lancaster ppm",
        "pH KCl",
    ] {
        assert!(!meaning(header).1, "{header}");
    }
    // Salts: 35 of 10^-5 mho/cm are 0.35 dS/m (1 mmho/cm is 1 dS/m, FAO 61).
    let text = "Sample,pH,Soluble salts mhos x 10-5\nA,6.2,35\n";
    let table = sniff("x.csv", text.as_bytes()).unwrap();
    let report = read(&table, &propose(&table)).unwrap();
    let salts = report.samples[0].test.value(Analyte::Salts).unwrap();
    assert!((salts - 0.35).abs() < 1e-12);
}

#[test]
fn base_saturation_is_read_to_be_checked() {
    for (header, of) in [
        ("% Base Sat K", Saturated::K),
        ("Ca base saturation %", Saturated::Ca),
        ("Base saturation %", Saturated::Bases),
        ("Mg % sat", Saturated::Mg),
    ] {
        assert_eq!(
            meaning(header),
            (Meaning::Saturation { of }, true),
            "{header}"
        );
    }
    // A bare `% sat` names nothing.
    assert_eq!(meaning("% Sat").0, Meaning::Ignore);
    let text = "Sample,pH,CEC meq/100 g,Ca ppm M3,Mg ppm M3,K ppm M3,% Ca,% Mg,% K,% H\n\
                A,6.2,10.0,1202,146,156,60.0,12.0,4.0,24.0\n\
                B,6.2,10.0,1202,146,188,60.0,12.0,4.0,24.0\n";
    let table = sniff("x.csv", text.as_bytes()).unwrap();
    let layout = propose(&table);
    let is: Vec<_> = layout.columns[6..]
        .iter()
        .map(|c| c.meaning.key())
        .collect();
    assert_eq!(
        is,
        [
            "saturation:ca",
            "saturation:mg",
            "saturation:k",
            "saturation:acidity"
        ]
    );
    let report = read(&table, &layout).unwrap();
    assert_eq!(report.samples[0].saturations.len(), 4);
    assert_eq!(report.samples[0].test.measured.len(), 5);
    let doubts: Vec<_> = report.doubts.iter().map(crate::Doubt::key).collect();
    assert_eq!(doubts, ["saturation/k/B"]);
    // One such column alone is still asked.
    assert_eq!(meaning("% K"), (Meaning::Ignore, false));
    // A cell that is no number stands in nobody's way.
    let odd = text.replace("60.0,12.0,4.0,24.0\nB", "n/a,see note,4.0,24.0\nB");
    let table = sniff("x.csv", odd.as_bytes()).unwrap();
    let report = read(&table, &propose(&table)).unwrap();
    assert_eq!(report.samples[0].saturations.len(), 2);
}

#[test]
fn below_detection_without_a_limit_is_kept() {
    for word in [
        "BDL",
        "<DL",
        "trace",
        "not detected",
        "< MDL",
        "None detected",
    ] {
        let text = format!("Sample,pH,Zn ppm DTPA\nA,6.2,{word}\nB,6.4,0.8\n");
        let table = sniff("x.csv", text.as_bytes()).unwrap();
        let report = read(&table, &propose(&table)).unwrap();
        let a = &report.samples[0];
        assert_eq!(a.test.value(Analyte::Zn), None, "{word}");
        assert_eq!((a.kept.len(), a.kept[0].printed.as_str()), (1, word));
    }
    // No measurement leaves nothing; a limit is a number with a bound.
    for word in ["N/A", "---", "n.d.", "pending", ""] {
        let text = format!("Sample,pH,Zn ppm DTPA\nA,6.2,{word}\nB,6.4,0.8\n");
        let table = sniff("x.csv", text.as_bytes()).unwrap();
        let report = read(&table, &propose(&table)).unwrap();
        let a = &report.samples[0];
        assert!(
            a.kept.is_empty() && a.test.value(Analyte::Zn).is_none(),
            "{word}"
        );
    }
    assert!(WORDS.scan("trace elements").has(Kind::Group));
}

#[test]
fn the_invented_farms_report_raises_no_new_question() {
    let bytes = include_bytes!("../../../demo/soil_report.csv");
    let table = sniff("soil_report.csv", bytes).unwrap();
    let layout = propose(&table);
    for q in crate::questions(&layout) {
        println!("{}", q.sentence);
    }
    if let Ok(report) = read(&table, &layout) {
        let said: Vec<&str> = report.doubts.iter().map(|d| d.sentence.as_str()).collect();
        assert_eq!(said, Vec::<&str>::new());
    } else {
        panic!("{:?}", read(&table, &layout));
    }
}
