//! How the farm’s composts were made, and which of them count as raw manure.

use crate::Result;
use agronomy::compost::{self, Verdict};
use agronomy::material::Material;
use farmbook::{Book, CompostMade};

/// What the book says of composts.
#[derive(Debug, Clone)]
pub struct Composts {
    organic: bool,
    said: Vec<CompostMade>,
}

impl Composts {
    pub fn of(book: &Book) -> Result<Self> {
        Ok(Self {
            organic: book.farm()?.organic,
            said: book.composts()?,
        })
    }

    /// What is said of a lot, else of the material; empty for what is in no lot.
    pub fn said(&self, material: &str, lot: &str) -> Option<&CompostMade> {
        let of = |lot: &str| {
            self.said
                .iter()
                .find(|c| c.material == material && c.lot == lot)
        };
        of(lot).or_else(|| of(""))
    }

    /// The lots of a material of which something is said by themselves.
    pub fn lots<'a>(&'a self, material: &'a str) -> impl Iterator<Item = &'a CompostMade> {
        self.said
            .iter()
            .filter(move |c| c.material == material && !c.lot.is_empty())
    }

    /// What the rule makes of a lot; none for a material whose making it does not ask for.
    pub fn verdict(&self, material: &Material, lot: &str) -> Option<Verdict> {
        compost::asked(material)?;
        Some(match self.said(&material.id, lot) {
            Some(said) => compost::judge(&said.made),
            None => compost::unsaid(self.organic),
        })
    }

    /// The material as plans and days count it: by what is said of it as a whole.
    pub fn counted(&self, material: Material) -> Material {
        match self.verdict(&material, "") {
            Some(verdict) => material.as_made(&verdict),
            None => material,
        }
    }
}
