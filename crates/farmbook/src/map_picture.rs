use crate::change::Table;
use crate::row::{get, json, to_json};
use crate::{Book, Error, Result, valid};
use ground::Frame;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// The most bytes of a picture.
const MOST_BYTES: usize = 20 * 1024 * 1024;

/// Where a picture lies: metres on a plane.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PicturePlace {
    pub frame: Frame,
    /// Of its middle, east and north.
    pub middle: [f64; 2],
    /// From its left to its right edge, metres.
    pub width: f64,
    /// How far its upper edge is turned from north, degrees clockwise.
    pub turned: f64,
    /// Picture points across and down.
    pub pixels: [u32; 2],
}

/// A photo or scan under the map.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MapPicture {
    pub file_name: String,
    pub place: PicturePlace,
    pub sha256: String,
}

fn check(place: &PicturePlace) -> Result<()> {
    let sound = place.middle.iter().all(|v| v.abs() <= 1e7)
        && (0.1..=100_000.0).contains(&place.width)
        && place.turned.abs() <= 360.0;
    if sound {
        Ok(())
    } else {
        Err(Error::invalid(
            "The place of the picture",
            "near the farm, from 1 ft to 60 miles wide and turned by at most 360 degrees",
        ))
    }
}

impl Book {
    /// Keeps a picture under the map in the place of the one there is.
    ///
    /// # Errors
    /// Empty or larger than 20 MB; a place that is none.
    pub fn set_picture(
        &mut self,
        file_name: &str,
        bytes: &[u8],
        place: &PicturePlace,
    ) -> Result<()> {
        let file_name = valid::name("The picture’s name", file_name)?;
        if bytes.is_empty() || bytes.len() > MOST_BYTES {
            return Err(Error::invalid("A picture", "from 1 byte to 20 MB"));
        }
        check(place)?;
        self.change(&format!("Laid “{file_name}” under the map"), |book| {
            let sha = book.keep(bytes)?;
            let fields: Vec<(&'static str, Sql)> = vec![
                ("file_name", file_name.clone().into()),
                ("sha256", sha.into()),
                ("place", to_json(place)?.into()),
            ];
            book.put_picture(fields)
        })
    }

    fn put_picture(&mut self, mut fields: Vec<(&'static str, Sql)>) -> Result<()> {
        if self.picture()?.is_some() {
            return self.update(Table::Picture, 1, &fields);
        }
        fields.push(("id", 1.into()));
        self.insert(Table::Picture, &fields).map(|_| ())
    }

    /// Lays the picture elsewhere.
    ///
    /// # Errors
    /// There is none, or the place is none.
    pub fn place_picture(&mut self, place: &PicturePlace) -> Result<()> {
        check(place)?;
        let Some(held) = self.picture()? else {
            return Err(Error::invalid(
                "The picture",
                "in the book before it is placed",
            ));
        };
        let place = to_json(place)?;
        self.change(
            &format!("Placed “{}” under the map", held.file_name),
            |book| book.update(Table::Picture, 1, &[("place", place.into())]),
        )
    }

    /// Takes the picture from under the map; its bytes stay for undoing.
    pub fn remove_picture(&mut self) -> Result<()> {
        match self.picture()? {
            None => Ok(()),
            Some(held) => self.change(
                &format!("Took “{}” from under the map", held.file_name),
                |book| book.delete(Table::Picture, 1),
            ),
        }
    }

    pub fn picture(&self) -> Result<Option<MapPicture>> {
        self.first("SELECT * FROM map_picture WHERE id = 1", [], |row| {
            Ok(MapPicture {
                file_name: get(row, "file_name")?,
                place: json(row, "place")?,
                sha256: get(row, "sha256")?,
            })
        })
    }

    /// The picture's bytes as they came.
    pub fn picture_bytes(&self) -> Result<Option<Vec<u8>>> {
        match self.picture()? {
            None => Ok(None),
            Some(held) => self.kept(&held.sha256).map(Some),
        }
    }
}
