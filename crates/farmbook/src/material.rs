use crate::change::Table;
use crate::row::{get, json, json_or_none, to_json};
use crate::{Book, Error, Id, Result, valid};
use rusqlite::Row;
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};
use serde_json::Value;

const MOST_LB: f64 = 100_000_000.0;

/// What the grower says about one material.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MaterialChoice {
    /// Key of the material table.
    pub material: String,
    /// Whether plans may use it.
    pub use_it: bool,
    pub packs: Vec<PackPrice>,
    /// On hand and in no lot, lb.
    pub stock_lb: f64,
    /// On hand lot by lot, in the order in which they are to be used up.
    pub lots: Vec<LotOnHand>,
    /// What the label or a test says where it differs from the table.
    pub analysis_override: Option<Value>,
    /// Blocks it must not go on.
    pub refused_on: Vec<Id>,
    pub note: String,
}

/// A pack it is sold in.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct PackPrice {
    pub label: String,
    /// Contents, lb.
    pub lb: f64,
    /// In the farm's currency, per pack.
    pub price: Option<f64>,
    /// Made up for a demonstration; shown as such.
    pub invented: bool,
    /// Number of the supplier; none where it is fetched or comes without a charge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub supplier: Option<Id>,
    /// The fewest that are sold at once.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least_count: Option<u32>,
    /// Lower prices for larger counts, each for the whole count.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub breaks: Vec<CountPrice>,
}

/// The price of each pack from a count on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CountPrice {
    pub from_count: u32,
    /// In the farm's currency, per pack.
    pub price: f64,
}

/// What is left of one lot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LotOnHand {
    /// As printed on the bag.
    pub lot: String,
    pub lb: f64,
}

impl PackPrice {
    fn check_breaks(&self) -> Result<()> {
        let mut before = (self.least_count.unwrap_or(1).max(1), self.price);
        for step in &self.breaks {
            let what = format!("The price of “{}” from {} on", self.label, step.from_count);
            valid::not_negative(&what, step.price, 10_000_000.0, "")?;
            if step.from_count <= before.0 || before.1.is_none_or(|p| step.price >= p) {
                return Err(Error::invalid(
                    what,
                    "below the price of fewer, from a larger count on",
                ));
            }
            before = (step.from_count, Some(step.price));
        }
        Ok(())
    }
}

impl MaterialChoice {
    pub fn new(material: impl Into<String>) -> Self {
        Self {
            material: material.into(),
            use_it: true,
            packs: Vec::new(),
            stock_lb: 0.0,
            lots: Vec::new(),
            analysis_override: None,
            refused_on: Vec::new(),
            note: String::new(),
        }
    }

    /// All that is on hand, lots included, lb.
    pub fn on_hand(&self) -> f64 {
        self.stock_lb + self.lots.iter().map(|l| l.lb).sum::<f64>()
    }

    fn fields(&self) -> Result<Vec<(&'static str, Sql)>> {
        let material = valid::name("The material", &self.material)?;
        let mut packs = self.packs.clone();
        for pack in &mut packs {
            pack.label = valid::name("The pack’s name", &pack.label)?;
            valid::positive(&format!("“{}”", pack.label), pack.lb, MOST_LB, "lb")?;
            if let Some(price) = pack.price {
                let what = format!("The price of “{}”", pack.label);
                valid::not_negative(&what, price, 10_000_000.0, "")?;
            }
            pack.check_breaks()?;
        }
        valid::not_negative("The stock", self.stock_lb, MOST_LB, "lb")?;
        let mut lots = self.lots.clone();
        for lot in &mut lots {
            lot.lot = valid::name("The lot", &lot.lot)?;
            valid::not_negative(&format!("Lot “{}”", lot.lot), lot.lb, MOST_LB, "lb")?;
        }
        Ok(vec![
            ("material", material.into()),
            ("use_it", self.use_it.into()),
            ("packs", to_json(&packs)?.into()),
            ("stock_lb", self.stock_lb.into()),
            ("lots", to_json(&lots)?.into()),
            (
                "analysis_override",
                self.analysis_override
                    .as_ref()
                    .map(to_json)
                    .transpose()?
                    .into(),
            ),
            ("refused_on", to_json(&self.refused_on)?.into()),
            ("note", valid::note("The note", &self.note)?.into()),
        ])
    }
}

fn read(row: &Row<'_>) -> Result<MaterialChoice> {
    Ok(MaterialChoice {
        material: get(row, "material")?,
        use_it: get(row, "use_it")?,
        packs: json(row, "packs")?,
        stock_lb: get(row, "stock_lb")?,
        lots: json(row, "lots")?,
        analysis_override: json_or_none(row, "analysis_override")?,
        refused_on: json(row, "refused_on")?,
        note: get(row, "note")?,
    })
}

impl Book {
    /// Sets what is said about a material in place of what was said before.
    pub fn set_material(&mut self, choice: &MaterialChoice) -> Result<()> {
        let fields = choice.fields()?;
        let material = choice.material.trim();
        self.change(&format!("Set {material}"), |book| {
            for block in &choice.refused_on {
                book.block(*block)?;
            }
            for supplier in choice.packs.iter().filter_map(|p| p.supplier) {
                book.supplier(supplier)?;
            }
            match book.material_row(material)? {
                Some(id) => book.update(Table::Material, id, &fields),
                None => book.insert(Table::Material, &fields).map(|_| ()),
            }
        })
    }

    /// Forgets what was said about a material; nothing happens where nothing was.
    pub fn clear_material(&mut self, material: &str) -> Result<()> {
        let Some(id) = self.material_row(material)? else {
            return Ok(());
        };
        self.change(&format!("Cleared {material}"), |book| {
            book.delete(Table::Material, id)
        })
    }

    /// Takes a block that goes out of the book off every list of refusals.
    pub(crate) fn forget_refusals(&mut self, block: Id) -> Result<()> {
        for choice in self.materials()? {
            if choice.refused_on.contains(&block) {
                let id = self
                    .material_row(&choice.material)?
                    .ok_or_else(|| Error::not_found("material", &choice.material))?;
                let left: Vec<Id> = choice
                    .refused_on
                    .into_iter()
                    .filter(|b| *b != block)
                    .collect();
                self.update(
                    Table::Material,
                    id,
                    &[("refused_on", to_json(&left)?.into())],
                )?;
            }
        }
        Ok(())
    }

    fn material_row(&self, material: &str) -> Result<Option<Id>> {
        let sql = "SELECT id FROM material_choice WHERE material = ?1";
        self.first(sql, [material], |row| get(row, "id"))
    }

    pub fn material(&self, material: &str) -> Result<Option<MaterialChoice>> {
        let sql = "SELECT * FROM material_choice WHERE material = ?1";
        self.first(sql, [material], read)
    }

    pub fn materials(&self) -> Result<Vec<MaterialChoice>> {
        self.list("SELECT * FROM material_choice ORDER BY material", [], read)
    }
}
