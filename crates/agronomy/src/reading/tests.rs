use super::*;
use proptest::prelude::*;

fn measured(analyte: Analyte, value: f64, extractant: Extractant) -> Measured {
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

#[test]
fn shipped_tables_parse() {
    assert_eq!(load().map(|s| s.all().len()), Ok(30));
    assert_eq!(unit::load().map(|u| u.len()), Ok(10));
    assert_eq!(common::load().map(|c| c.len()), Ok(7));
    assert_eq!(systems().all().len(), 30);
}

#[test]
fn never_reads_with_another_extractants_table() {
    for system in systems().iter() {
        for extractant in Extractant::ALL {
            for analyte in Analyte::ALL {
                let has = system
                    .bands
                    .iter()
                    .any(|b| b.nutrient == analyte && b.extractant == extractant);
                let reading = read(system, &measured(analyte, 30.0, extractant), None);
                assert!(
                    has || reading.is_none(),
                    "{} {analyte:?} {extractant:?}",
                    system.id
                );
            }
        }
    }
    let nj = systems().by_id("M3_NJ").unwrap();
    let mut nameless = measured(Analyte::P, 30.0, Extractant::Mehlich3);
    nameless.extractant = None;
    assert_eq!(
        look_up(nj, &nameless, None),
        Err(ReadingError::NoExtractant("Phosphorus"))
    );
}

#[test]
fn pounds_per_acre_are_shown_in_the_working() {
    let nj = systems().by_id("M3_NJ").unwrap();
    let r = read(nj, &measured(Analyte::P, 31.0, Extractant::Mehlich3), None).unwrap();
    assert_eq!(r.category, "medium");
    assert_eq!(r.value, 31.0);
    let step = &r.figure.working[1];
    assert_eq!((step.value, step.unit.as_str()), (62.0, "lb/acre"));
    assert!(step.what.contains("2 million lb"));
    assert_eq!(r.bands.len(), 5);
    assert!(r.bands.iter().all(|b| b.unit == "ppm"));
    // Where one band stops the next begins, so a page can draw the line without a gap.
    for pair in r.bands.windows(2) {
        assert!((pair[0].high.unwrap() - pair[1].low.unwrap()).abs() < 1e-9);
    }
}

#[test]
fn sandy_and_clayey_ground_read_apart() {
    let mi = systems().by_id("BRAY_MI").unwrap();
    let k = measured(Analyte::K, 110.0, Extractant::AmmoniumAcetate);
    assert_eq!(read(mi, &k, Some("sandy")).unwrap().level, Level::High);
    assert_eq!(read(mi, &k, Some("clayey")).unwrap().level, Level::Low);
    assert!(matches!(
        look_up(mi, &k, None),
        Err(ReadingError::WhichGroup { .. })
    ));
    let p = measured(Analyte::P, 30.0, Extractant::BrayP1);
    assert_eq!(read(mi, &p, Some("sandy")).unwrap().level, Level::Low);
}

#[test]
fn a_single_printed_range_names_nothing_outside_it() {
    let ma = systems().by_id("MM_MA").unwrap();
    let at = |v| {
        look_up(
            ma,
            &measured(Analyte::B, v, Extractant::ModifiedMorgan),
            None,
        )
    };
    assert_eq!(at(0.3).unwrap().level, Level::Optimum);
    assert!(matches!(at(2.0), Err(ReadingError::NoBand { .. })));
}

#[test]
fn recalled_limits_are_marked() {
    let ma = systems().by_id("MM_MA").unwrap();
    let r = read(
        ma,
        &measured(Analyte::P, 1.0, Extractant::ModifiedMorgan),
        None,
    )
    .unwrap();
    assert_eq!(r.figure.weakest(), Some(Evidence::Memory));
    assert_eq!(r.figure.cautions.len(), 1);
}

#[test]
fn a_value_below_the_detection_limit_says_so() {
    let nj = systems().by_id("M3_NJ").unwrap();
    let mut m = measured(Analyte::P, 1.0, Extractant::Mehlich3);
    m.bound = Bound::Below;
    assert!(
        read(nj, &m, None).unwrap().figure.cautions[0]
            .text
            .contains("lower")
    );
}

#[test]
fn bad_rows_are_named() {
    let about = "id,name,region,scope,extractant,default_group\nX,X,,,mehlich3,\n";
    let head = "nutrient,extractant,group,category,level,low,high,unit,step,source,evidence\n";
    let parse = |rows: &str| System::parse("X", about, &format!("{head}{rows}"));
    assert!(parse("p,mehlich3,all,low,low,0,10,ppm,1,s,local\n").is_ok());
    for rows in [
        "p,mehlich3,all,low,low,10,1,ppm,1,s,local\n",
        "p,mehlich3,all,low,low,0,10,ppm,1,s,local\np,mehlich3,all,high,high,10,20,ppm,1,s,local\n",
        "p,mehlich3,all,a,high,0,10,ppm,1,s,local\np,mehlich3,all,b,low,11,20,ppm,1,s,local\n",
        "p,mehlich3,all,low,low,0,10,stone,1,s,local\n",
        "p,mehlich3,all,low,low,0,10,ppm,1,s,rumour\n",
        "p,mehlich3,all,low,low,0,10,ppm,0,s,local\n",
    ] {
        assert!(parse(rows).is_err(), "{rows}");
    }
}

proptest! {
    #[test]
    fn more_in_the_soil_never_reads_lower(a in 0.0..2000.0f64, b in 0.0..2000.0f64) {
        let (low, high) = if a <= b { (a, b) } else { (b, a) };
        for system in systems().iter() {
            for band in &system.bands {
                let at = |v| read(system, &measured(band.nutrient, v, band.extractant), Some(&band.group));
                if let (Some(l), Some(h)) = (at(low), at(high)) {
                    prop_assert!(l.level <= h.level, "{} {:?} {low} {high}", system.id, band.nutrient);
                }
            }
        }
    }

    #[test]
    fn the_drawn_band_holds_the_value(v in 0.0..2000.0f64) {
        for system in systems().iter() {
            for band in &system.bands {
                if let Some(r) = read(system, &measured(band.nutrient, v, band.extractant), Some(&band.group)) {
                    let drawn = r.bands.iter().find(|b| b.category == r.category).unwrap();
                    prop_assert!(drawn.low.unwrap_or(0.0) <= v + 1e-6);
                    prop_assert!(v <= drawn.high.unwrap_or(f64::INFINITY) + 1e-6);
                }
            }
        }
    }

    #[test]
    fn the_short_way_agrees_with_the_full_reading(v in 0.0..2000.0f64, named in any::<bool>()) {
        for system in systems().iter() {
            for band in &system.bands {
                let m = measured(band.nutrient, v, band.extractant);
                let group = named.then_some(band.group.as_str());
                prop_assert_eq!(
                    classify(system, &m, group).map(|b| b.category.clone()),
                    read(system, &m, group).map(|r| r.category)
                );
            }
        }
    }
}
