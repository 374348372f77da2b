use crate::change::Table;
use crate::row::{get, json, to_json};
use crate::{Book, Error, Id, Result, valid};
use rusqlite::types::Value as Sql;
use serde::{Deserialize, Serialize};

/// How a season is to be planned. What is absent is left to the plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Wish {
    /// Money for materials and deliveries.
    pub budget: Option<f64>,
    /// How many different materials the farm may use, and a block may get.
    pub most_materials: Option<u32>,
    pub most_materials_per_block: Option<u32>,
    /// Keys of the passes the farm does not make.
    pub passes_left_out: Vec<String>,
    /// Keys of materials that are used only where nothing else will do.
    pub rather_not: Vec<String>,
    /// How much a shortage or a surplus weighs against money: 1 as usual, more is closer to the
    /// need, less is cheaper.
    pub closeness: f64,
    /// How much a visit to a block weighs against money: 1 as usual, more makes fewer.
    pub visits: f64,
}

impl Default for Wish {
    fn default() -> Self {
        Self {
            budget: None,
            most_materials: None,
            most_materials_per_block: None,
            passes_left_out: Vec::new(),
            rather_not: Vec::new(),
            closeness: 1.0,
            visits: 1.0,
        }
    }
}

impl Wish {
    fn check(&self) -> Result<()> {
        if let Some(money) = self.budget {
            valid::not_negative("The budget", money, 100_000_000.0, "")?;
        }
        for (what, most) in [
            ("The number of materials", self.most_materials),
            ("The materials of a block", self.most_materials_per_block),
        ] {
            if most == Some(0) || most.is_some_and(|m| m > 1_000) {
                return Err(Error::invalid(what, "between 1 and 1,000"));
            }
        }
        for (what, weight) in [
            ("The weight of the need", self.closeness),
            ("The weight of a visit", self.visits),
        ] {
            if !(0.01..=100.0).contains(&weight) {
                return Err(Error::invalid(what, "between 0.01 and 100"));
            }
        }
        Ok(())
    }
}

impl Book {
    /// Sets how a season is planned, in place of what was set before.
    ///
    /// # Errors
    /// A figure that cannot be.
    pub fn set_wish(&mut self, season: i64, wish: &Wish) -> Result<()> {
        valid::season(season)?;
        wish.check()?;
        let fields: Vec<(&'static str, Sql)> =
            vec![("season", season.into()), ("wish", to_json(wish)?.into())];
        self.change(&format!("Set how {season} is planned"), |book| {
            let sql = "SELECT id FROM season_wish WHERE season = ?1";
            let row: Option<Id> = book.first(sql, [season], |row| get(row, "id"))?;
            match row {
                Some(id) => book.update(Table::Wish, id, &fields),
                None => book.insert(Table::Wish, &fields).map(|_| ()),
            }
        })
    }

    /// How a season is planned; as usual where nothing was set.
    pub fn wish(&self, season: i64) -> Result<Wish> {
        let sql = "SELECT wish FROM season_wish WHERE season = ?1";
        Ok(self
            .first(sql, [season], |row| json(row, "wish"))?
            .unwrap_or_default())
    }
}
