//! Outlines come out of every form as an independent writer put them in.

#![allow(clippy::unwrap_used)]

mod made;
use ground::*;
use made::*;
use proptest::prelude::*;

fn hole() -> Ring {
    vec![
        [-74.4297, 40.4702],
        [-74.4295, 40.4702],
        [-74.4295, 40.4704],
        [-74.4297, 40.4704],
    ]
}

fn blocks() -> Vec<Named<'static>> {
    vec![
        ("North Field", field(), vec![hole()]),
        ("Tunnel <1> & “2”", moved(&field(), 0.002, 0.001), vec![]),
    ]
}

#[test]
fn every_form_gives_the_corners_that_were_written() {
    let kml_bytes = kml(&blocks());
    let files: [(FileForm, Vec<u8>); 5] = [
        (FileForm::GeoJson, geojson(&blocks())),
        (FileForm::Kml, kml_bytes.clone()),
        (FileForm::Kmz, zipped(&[("doc.kml", &kml_bytes)])),
        (FileForm::Gpx, gpx(&blocks())),
        (FileForm::Shapefile, shapefile(&blocks(), Some(DEGREES))),
    ];
    for (form, bytes) in files {
        let file = read(&bytes, None).unwrap();
        assert_eq!(file.form, form);
        assert_eq!(file.features.len(), 2, "{form:?}");
        assert_eq!(doubts(&file.features, &[]), vec![], "{form:?}");
        for (feature, (name, outer, holes)) in file.features.iter().zip(blocks()) {
            assert_eq!(feature.name, name, "{form:?}");
            assert_eq!(feature.outline.coordinates, Coordinates::Degrees);
            let [part] = &feature.outline.parts[..] else {
                unreachable!("one part: {form:?}")
            };
            // A shapefile turns rings about; the corners are the same.
            let same = |a: &Ring, b: &Ring| {
                let sorted = |r: &Ring| {
                    let mut r = r.clone();
                    r.sort_by(|a, b| a.partial_cmp(b).unwrap());
                    r
                };
                assert_eq!(sorted(a), sorted(b), "{form:?}");
            };
            same(&part.outer, &outer);
            // A track has no holes.
            if form != FileForm::Gpx {
                assert_eq!(part.holes.len(), holes.len(), "{form:?}");
                for (a, b) in part.holes.iter().zip(&holes) {
                    same(a, b);
                }
            }
        }
    }
}

#[test]
fn a_route_is_a_walk_and_points_are_passed_over() {
    let text = r#"<?xml version="1.0"?><!-- <trk/> --><g:gpx xmlns:g="http://www.topografix.com/GPX/1/1" version="1.1">
      <g:wpt lat="40.47" lon="-74.43"><g:name>Gate</g:name></g:wpt>
      <g:wpt lat="40.48" lon="-74.43"/>
      <g:rte><g:name>Low &amp; wet</g:name>
        <g:rtept lat="40.47" lon="-74.43"><g:name>a</g:name></g:rtept>
        <g:rtept lat="40.47" lon="-74.429"/><g:rtept lat="40.471" lon="-74.429"/>
      </g:rte></g:gpx>"#;
    let file = read(text.as_bytes(), None).unwrap();
    assert_eq!(file.features[0].name, "Low & wet");
    assert_eq!(file.passed_over, ["2 points"]);
    assert!(
        file.features[0].notes.is_empty(),
        "three corners are an outline as they stand"
    );
}

#[test]
fn a_walk_that_does_not_come_back_is_closed_and_it_is_said() {
    let ring = field();
    let mut walk = ring.clone();
    // 30 m short of the start along the last side.
    walk.push([-74.4300, 40.4700 + 0.00027]);
    let file = read(&tracks_file(vec![track("Walk", &walk)]), None).unwrap();
    let note = &file.features[0].notes[0];
    assert!(
        note.contains("98 ft from where it began") && note.contains("closed"),
        "{note}"
    );
    let whole = read(&gpx(&[("Walk", ring, vec![])]), None).unwrap();
    assert!(whole.features[0].notes.is_empty());
    let close = |o: &Outline| area(o).si();
    let (a, b) = (
        close(&file.features[0].outline),
        close(&whole.features[0].outline),
    );
    assert!(
        (a - b).abs() < 1e-3,
        "{a} {b}: the gap lay on a straight side"
    );
}

/// A receiver goes on past the start, a little beside it.
#[test]
fn a_walk_past_its_start_is_cut_where_it_crosses() {
    let mut walk: Ring = vec![
        [-74.42995, 40.47001],
        [-74.4292, 40.4700],
        [-74.4292, 40.4707],
        [-74.4300, 40.4707],
        [-74.4300, 40.4700],
        [-74.4298, 40.47000],
        [-74.4296, 40.47003],
    ];
    let file = read(&tracks_file(vec![track("Walk", &walk)]), None).unwrap();
    assert!(
        file.features[0].notes[0].contains("past its own start"),
        "{:?}",
        file.features[0].notes
    );
    assert_eq!(doubts(&file.features, &[]), vec![]);
    walk.truncate(5);
    let plain = area(
        &read(&tracks_file(vec![track("W", &walk)]), None)
            .unwrap()
            .features[0]
            .outline,
    );
    let cut = area(&file.features[0].outline);
    assert!(
        (plain.si() / cut.si() - 1.0).abs() < 0.01,
        "{plain:?} {cut:?}"
    );
}

#[test]
fn loops_where_the_receiver_stood_are_straightened() {
    let mut walk = closed(&field());
    let metre = 1.0 / 111_000.0;
    // A knot of a metre in the middle of the north side.
    let knot = [-74.4296, 40.4707];
    for (x, y) in [
        (0.0, 0.0),
        (-1.0, 0.6),
        (0.5, 0.7),
        (0.2, -0.6),
        (-1.2, 0.1),
    ] {
        walk.insert(walk.len() - 2, [knot[0] + x * metre, knot[1] + y * metre]);
    }
    let file = read(&tracks_file(vec![track("Walk", &walk)]), None).unwrap();
    let feature = &file.features[0];
    assert!(
        feature.notes.iter().any(|n| n.contains("small loops")),
        "{:?}",
        feature.notes
    );
    assert_eq!(doubts(&file.features, &[]), vec![]);
    let clean = read(&gpx(&[("W", field(), vec![])]), None).unwrap();
    let (a, b) = (
        area(&feature.outline).si(),
        area(&clean.features[0].outline).si(),
    );
    assert!((a / b - 1.0).abs() < 0.02, "{a} {b}");
}

#[test]
fn a_shapefile_on_a_plain_grid_says_its_unit() {
    let square = |side: f64| -> Ring {
        let (x, y) = (500_000.0, 400_000.0);
        vec![[x, y], [x, y + side], [x + side, y + side], [x + side, y]]
    };
    let projected = |name: &str, unit: &str| {
        format!(
            "PROJCS[\"{name}\",{DEGREES},PROJECTION[\"Transverse_Mercator\"],PARAMETER[\"Scale_Factor\",0.9999],{unit}]"
        )
    };
    for (unit, side_m) in [
        ("UNIT[\"Meter\",1.0]", 100.0),
        ("UNIT[\"Foot\",0.3048]", 30.48),
        ("UNIT[\"Foot_US\",0.3048006096012192]", 30.480_060_96),
        ("UNIT[\"metre\",1,AUTHORITY[\"EPSG\",\"9001\"]]", 100.0),
    ] {
        let bytes = shapefile(
            &[("A", square(100.0), vec![])],
            Some(&projected("NJ", unit)),
        );
        let file = read(&bytes, None).unwrap();
        let got = area(&file.features[0].outline).si();
        assert!((got - side_m * side_m).abs() < 1e-4, "{unit}: {got}");
        assert_eq!(doubts(&file.features, &[]), vec![]);
    }
    // Without a .prj nobody knows.
    let bare = shapefile(&[("A", square(100.0), vec![])], None);
    let why = read(&bare, None).unwrap_err();
    assert!(matches!(why, GroundError::UnitUnknown { .. }), "{why}");
    let told = read(&bare, Some(GridUnit::Feet)).unwrap();
    let got = area(&told.features[0].outline).to_square_feet();
    assert!((got - 10_000.0).abs() < 1e-6, "{got}");
    let screen = projected(
        "WGS_1984_Web_Mercator_Auxiliary_Sphere",
        "UNIT[\"Meter\",1.0]",
    );
    let why = read(
        &shapefile(&[("A", square(9.0), vec![])], Some(&screen)),
        None,
    )
    .unwrap_err();
    assert!(matches!(why, GroundError::Stretched { .. }), "{why}");
}

#[test]
fn what_holds_no_outline_is_told_what_it_is() {
    let says = |bytes: &[u8], wanted: &str| {
        let text = read(bytes, None).unwrap_err().to_string();
        assert!(text.contains(wanted) && text.ends_with('.'), "{text}");
    };
    says(b"", "an empty file");
    says(b"%PDF-1.7", "a PDF");
    says(b"name,lat,lon\n", "a text file of another kind");
    says(b"<!DOCTYPE html><html></html>", "a web page");
    says(b"{\"a\": 1}", "nothing in it says that it is a feature");
    says(
        b"{\"type\": \"FeatureCollection\", \"features\": [",
        "line 1",
    );
    says(br#"{"type":"Point","coordinates":[1,2]}"#, "only a point");
    says(&zipped(&[("a.txt", b"hello")]), "without a .kml or .shp");
    says(&shapes(&blocks()).0, "zip the .shp, .dbf and .prj together");
    says(
        br#"{"type":"Polygon","coordinates":[[["a",1],[2,2],[3,1]]]}"#,
        "is no position",
    );
    says(
        b"<kml><Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>1,2 3 4,5</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark></kml>",
        "\u{201c}3\u{201d} is no place",
    );
    says(
        b"<!DOCTYPE kml [<!ENTITY a \"b\">]><kml>&a;</kml>",
        "document type",
    );
    says(
        b"<gpx><trk><trkseg><trkpt lat=\"1\"/></trkseg></trk></gpx>",
        "no lat and lon",
    );
    says(b"<gpx><trk>", "ends inside");
}

/// A small packed file may unpack to a great one.
#[test]
fn a_bomb_is_not_unpacked() {
    let kml = vec![b' '; 30 << 20];
    let bytes = zipped(&[("doc.kml", &kml)]);
    assert!(bytes.len() < 100_000);
    let why = read(&bytes, None).unwrap_err();
    assert!(matches!(why, GroundError::TooMuch { .. }), "{why}");
    let deep = "<a>".repeat(100_000);
    let why = read(format!("<kml>{deep}").as_bytes(), None).unwrap_err();
    assert!(why.to_string().contains("deep"), "{why}");
    let deep = "{\"type\":\"GeometryCollection\",\"geometries\":[".repeat(50_000);
    assert!(read(deep.as_bytes(), None).is_err());
    let many: Ring = (0..20_000).map(|i| [f64::from(i) * 1e-6, 1.0]).collect();
    let why = read(&geojson(&[("A", many, vec![])]), None).unwrap_err();
    assert!(why.to_string().contains("10,000 corners"), "{why}");
}

/// A ring around a centre with corners at growing angles never crosses itself.
fn star() -> impl Strategy<Value = Ring> {
    (
        (-170.0..170.0f64, -50.0..65.0f64),
        prop::collection::vec(0.2..1.0f64, 3..40),
    )
        .prop_map(|((lon, lat), radii)| {
            let n = radii.len() as f64;
            radii
                .iter()
                .enumerate()
                .map(|(i, r)| {
                    let angle = std::f64::consts::TAU * i as f64 / n;
                    let round = |v: f64| (v * 1e7).round() / 1e7;
                    [
                        round(lon + 0.001 * r * angle.cos()),
                        round(lat + 0.001 * r * angle.sin()),
                    ]
                })
                .collect()
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_same_block_has_the_same_area_in_every_form(ring in star()) {
        let block = [("A", ring.clone(), vec![])];
        let kml_bytes = kml(&block);
        let wanted = area(&Outline {
            coordinates: Coordinates::Degrees,
            parts: vec![Part { outer: ring, holes: vec![] }],
        });
        for bytes in [
            geojson(&block),
            zipped(&[("doc.kml", &kml_bytes)]),
            kml_bytes,
            gpx(&block),
            shapefile(&block, None),
        ] {
            let file = read(&bytes, None).unwrap();
            let got = area(&file.features[0].outline);
            prop_assert!((got.si() - wanted.si()).abs() < 1e-4, "{got:?} {wanted:?}");
            prop_assert_eq!(doubts(&file.features, &[]), vec![]);
        }
    }
}
