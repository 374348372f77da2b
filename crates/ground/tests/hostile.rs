//! Broken and hostile files give outlines or a sentence, never a failure of the program.

#![allow(clippy::unwrap_used)]

mod made;
use ground::*;
use made::*;
use proptest::prelude::*;
use quantity::Length;
use std::sync::LazyLock;

static SEEDS: LazyLock<Vec<Vec<u8>>> = LazyLock::new(|| {
    let hole = vec![
        [-74.4297, 40.4702],
        [-74.4295, 40.4702],
        [-74.4295, 40.4704],
    ];
    let blocks = [
        ("North", field(), vec![hole]),
        ("South", moved(&field(), 0.0, -0.001), vec![]),
    ];
    let kml_bytes = kml(&blocks);
    vec![
        geojson(&blocks),
        zipped(&[("doc.kml", &kml_bytes)]),
        kml_bytes,
        gpx(&blocks),
        shapefile(&blocks, Some(DEGREES)),
    ]
});

/// Everything the program does with a file that came in.
fn use_it(bytes: &[u8], grid: Option<GridUnit>) {
    let file = match read(bytes, grid) {
        Ok(file) => file,
        Err(why) => {
            let text = why.to_string();
            assert!(text.ends_with('.') && text.len() < 400, "{text}");
            return;
        }
    };
    assert!(!file.features.is_empty());
    let found = doubts(&file.features, &[]);
    let mut sound = Vec::new();
    for (at, feature) in file.features.iter().enumerate() {
        let o = &feature.outline;
        assert!(area(o).si() >= 0.0 || !area(o).is_finite());
        if found
            .iter()
            .any(|d| d.feature == at && d.weight == Weight::Stops)
        {
            continue;
        }
        assert!(area(o).si() > 0.0);
        sound.push(o.clone());
        let plan = BedPlan {
            bed_width: Length::inches(30.0),
            path_width: Length::inches(18.0),
            bearing: None,
            beds: None,
        };
        if let Ok(layout) = lay_out(o, &plan) {
            assert!(layout.tops.si() <= layout.gross.si() * 1.000_1 + 0.1);
        }
    }
    for (i, j, _) in overlaps(&sound) {
        assert!(i < j && j < sound.len());
    }
}

fn unit() -> impl Strategy<Value = Option<GridUnit>> {
    prop_oneof![
        Just(None),
        Just(Some(GridUnit::Feet)),
        Just(Some(GridUnit::Metres))
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_500))]

    #[test]
    fn mutated_files(
        seed in 0..5usize,
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..12),
        cut in prop::option::of(any::<prop::sample::Index>()),
        unit in unit(),
    ) {
        let mut bytes = SEEDS[seed].clone();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if let Some(cut) = cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        use_it(&bytes, unit);
    }

    /// The shapes and the table inside an archive, which a checksum would otherwise guard.
    #[test]
    fn mutated_shapes(
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..8),
        in_table in any::<bool>(),
        unit in unit(),
    ) {
        static SHAPES: LazyLock<(Vec<u8>, Vec<u8>)> = LazyLock::new(|| {
            shapes(&[("North", field(), vec![]), ("South", moved(&field(), 0.0, -0.001), vec![])])
        });
        let (mut shp, mut dbf) = SHAPES.clone();
        let changed = if in_table { &mut dbf } else { &mut shp };
        for (at, byte) in changes {
            let at = at.index(changed.len());
            changed[at] = byte;
        }
        use_it(&zipped(&[("a.shp", &shp), ("a.dbf", &dbf)]), unit);
    }

    #[test]
    fn random_bytes(
        head in prop_oneof![
            Just(&b""[..]), Just(&b"{"[..]), Just(&b"<kml>"[..]), Just(&b"<gpx>"[..]),
            Just(&b"PK\x03\x04"[..]), Just(&b"PK\x05\x06"[..]),
        ],
        rest in prop::collection::vec(any::<u8>(), 0..600),
    ) {
        use_it(&[head, &rest].concat(), None);
    }

    /// Any numbers at all as corners.
    #[test]
    fn any_corners(
        ring in prop::collection::vec(prop::array::uniform2(prop_oneof![
            -180.0..180.0f64, -90.0..90.0f64, 40.0..40.001f64, Just(0.0),
            -1e308..1e308f64, any::<f64>(),
        ]), 0..12),
        unit in unit(),
    ) {
        let position = |c: &[f64; 2]| format!("[{:?},{:?}]", c[0], c[1]);
        let corners = ring.iter().map(position).collect::<Vec<_>>().join(",");
        let text = format!("{{\"type\":\"Polygon\",\"coordinates\":[[{corners}]]}}");
        use_it(text.as_bytes(), unit);
        let places = ring.iter()
            .map(|[x, y]| format!("<trkpt lat=\"{y:?}\" lon=\"{x:?}\"/>"))
            .collect::<String>();
        use_it(format!("<gpx><trk><trkseg>{places}</trkseg></trk></gpx>").as_bytes(), unit);
    }

    /// A farm-sized scribble: corners close together in any order.
    #[test]
    fn scribbles(
        ring in prop::collection::vec(prop::array::uniform2(0..40i32), 3..30),
        unit in unit(),
    ) {
        let blocks = [("A", ring.iter().map(|[x, y]| {
            [-74.43 + f64::from(*x) * 1e-5, 40.47 + f64::from(*y) * 1e-5]
        }).collect::<Ring>(), vec![])];
        use_it(&geojson(&blocks), unit);
        use_it(&gpx(&blocks), None);
    }
}
