//! Files of outlines, written by independent writers of the open forms.
#![allow(dead_code)] // each test file uses a part
#![allow(clippy::unwrap_used)]

use ground::Ring;
use std::io::{Cursor, Write};

/// An invented field: four corners near 40.47° N, 74.43° W, some 68 by 78 m.
pub fn field() -> Ring {
    vec![
        [-74.4300, 40.4700],
        [-74.4292, 40.4700],
        [-74.4292, 40.4707],
        [-74.4300, 40.4707],
    ]
}

/// The same shape some way to the east and the north, degrees.
pub fn moved(ring: &Ring, east: f64, north: f64) -> Ring {
    ring.iter().map(|[x, y]| [x + east, y + north]).collect()
}

pub fn closed(ring: &Ring) -> Ring {
    ring.iter().chain(ring.first()).copied().collect()
}

/// A name with its outer ring and its holes.
pub type Named<'a> = (&'a str, Ring, Vec<Ring>);

pub fn geojson(blocks: &[Named]) -> Vec<u8> {
    use geojson::{Feature, FeatureCollection, GeoJson, Geometry, GeometryValue, Position};
    let ring = |r: &Ring| -> Vec<Position> {
        closed(r)
            .into_iter()
            .map(|[x, y]| Position::from(vec![x, y]))
            .collect()
    };
    let features = blocks.iter().map(|(name, outer, holes)| {
        let coordinates = std::iter::once(outer).chain(holes).map(ring).collect();
        let mut feature = Feature::from(Geometry::new(GeometryValue::Polygon { coordinates }));
        feature.set_property("name", *name);
        feature
    });
    GeoJson::FeatureCollection(FeatureCollection::new(features.collect::<Vec<_>>()))
        .to_string()
        .into_bytes()
}

pub fn kml(blocks: &[Named]) -> Vec<u8> {
    use kml::types::{Coord, Geometry, LinearRing, Placemark, Polygon};
    let ring = |r: &Ring| LinearRing {
        coords: closed(r)
            .into_iter()
            .map(|[x, y]| Coord::new(x, y, Some(12.5)))
            .collect(),
        ..LinearRing::default()
    };
    let elements = blocks
        .iter()
        .map(|(name, outer, holes)| {
            kml::Kml::Placemark(Placemark {
                name: Some((*name).to_owned()),
                geometry: Some(Geometry::Polygon(Polygon::new(
                    ring(outer),
                    holes.iter().map(ring).collect(),
                ))),
                ..Placemark::default()
            })
        })
        .collect();
    let document = kml::Kml::KmlDocument(kml::KmlDocument {
        elements,
        ..kml::KmlDocument::default()
    });
    let mut out = Vec::new();
    kml::KmlWriter::from_writer(&mut out)
        .write(&document)
        .unwrap();
    out
}

/// Each ring as a track that comes back to its start.
pub fn gpx(blocks: &[Named]) -> Vec<u8> {
    let tracks = blocks
        .iter()
        .map(|(name, outer, _)| track(name, &closed(outer)))
        .collect();
    tracks_file(tracks)
}

pub fn track(name: &str, walk: &[[f64; 2]]) -> gpx::Track {
    let points = walk
        .iter()
        .map(|[x, y]| gpx::Waypoint::new(geo::Point::new(*x, *y)))
        .collect();
    let mut segment = gpx::TrackSegment::new();
    segment.points = points;
    let mut track = gpx::Track::new();
    track.name = Some(name.to_owned());
    track.segments = vec![segment];
    track
}

pub fn tracks_file(tracks: Vec<gpx::Track>) -> Vec<u8> {
    let file = gpx::Gpx {
        version: gpx::GpxVersion::Gpx11,
        tracks,
        ..gpx::Gpx::default()
    };
    let mut out = Vec::new();
    gpx::write(&file, &mut out).unwrap();
    out
}

/// A zip archive of some files.
pub fn zipped(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default()
        .compression_method(zip::CompressionMethod::Deflated);
    for (name, bytes) in files {
        zip.start_file(*name, options).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// The .shp and .dbf of a shapefile.
pub fn shapes(blocks: &[Named]) -> (Vec<u8>, Vec<u8>) {
    use shapefile::{Point, Polygon, PolygonRing, Writer, dbase};
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("blocks.shp");
    {
        let table = dbase::TableWriterBuilder::new()
            .add_character_field("ACRES".try_into().unwrap(), 10)
            .add_character_field("NAME".try_into().unwrap(), 40);
        let mut writer: Writer<_> = Writer::from_path(&path, table).unwrap();
        let ring = |r: &Ring| -> Vec<Point> {
            closed(r)
                .into_iter()
                .map(|[x, y]| Point::new(x, y))
                .collect()
        };
        for (name, outer, holes) in blocks {
            let rings = std::iter::once(PolygonRing::Outer(ring(outer)))
                .chain(holes.iter().map(|h| PolygonRing::Inner(ring(h))))
                .collect();
            let mut record = dbase::Record::default();
            record.insert("ACRES".to_owned(), "1".to_owned().into());
            record.insert("NAME".to_owned(), (*name).to_owned().into());
            writer
                .write_shape_and_record(&Polygon::with_rings(rings), &record)
                .unwrap();
        }
    }
    let read = |end: &str| std::fs::read(path.with_extension(end)).unwrap();
    (read("shp"), read("dbf"))
}

pub const DEGREES: &str = "GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\",6378137.0,298.257223563]],PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]]";

pub fn shapefile(blocks: &[Named], prj: Option<&str>) -> Vec<u8> {
    let (shp, dbf) = shapes(blocks);
    let mut files: Vec<(&str, &[u8])> = vec![("farm/blocks.shp", &shp), ("farm/blocks.dbf", &dbf)];
    if let Some(prj) = prj {
        files.push(("farm/blocks.prj", prj.as_bytes()));
    }
    zipped(&files)
}
