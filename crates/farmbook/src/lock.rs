use crate::change::Table;
use crate::row::get;
use crate::{Book, Id, Result, valid};
use quantity::plain;
use rusqlite::{Row, params};
use serde::{Deserialize, Serialize};

/// An amount the grower has fixed; plans must keep it.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Lock {
    pub season: i64,
    pub block: Id,
    /// Key of the material table.
    pub material: String,
    /// On the whole block, lb; 0 keeps the material off it.
    pub lb: f64,
    /// Key of the pass; empty where it holds for the season: a zero keeps the material off in all of
    /// them, anything else goes on in the material’s usual one.
    #[serde(default)]
    pub pass: String,
}

fn read(row: &Row<'_>) -> Result<Lock> {
    Ok(Lock {
        season: get(row, "season")?,
        block: get(row, "block_id")?,
        material: get(row, "material")?,
        lb: get(row, "lb")?,
        pass: get(row, "pass")?,
    })
}

impl Book {
    pub fn set_lock(&mut self, lock: &Lock) -> Result<()> {
        valid::season(lock.season)?;
        valid::not_negative("The fixed amount", lock.lb, 100_000_000.0, "lb")?;
        let material = valid::name("The material", &lock.material)?;
        let block = self.block(lock.block)?.name;
        let what = format!("Fixed {material} on “{block}” at {} lb", plain(lock.lb, 3));
        self.change(&what, |book| {
            let fields = [
                ("season", lock.season.into()),
                ("block_id", lock.block.into()),
                ("material", material.clone().into()),
                ("pass", lock.pass.trim().to_owned().into()),
                ("lb", lock.lb.into()),
            ];
            match book.lock_row(lock.season, lock.block, &material, lock.pass.trim())? {
                Some(id) => book.update(Table::Lock, id, &fields),
                None => book.insert(Table::Lock, &fields).map(|_| ()),
            }
        })
    }

    /// Frees an amount again; nothing happens where none was fixed.
    pub fn clear_lock(&mut self, season: i64, block: Id, material: &str, pass: &str) -> Result<()> {
        let Some(id) = self.lock_row(season, block, material, pass)? else {
            return Ok(());
        };
        let name = self.block(block)?.name;
        self.change(&format!("Freed {material} on “{name}”"), |book| {
            book.delete(Table::Lock, id)
        })
    }

    fn lock_row(&self, season: i64, block: Id, material: &str, pass: &str) -> Result<Option<Id>> {
        let sql = "SELECT id FROM plan_lock
             WHERE season = ?1 AND block_id = ?2 AND material = ?3 AND pass = ?4";
        self.first(sql, params![season, block, material, pass], |row| {
            get(row, "id")
        })
    }

    pub fn locks(&self, season: i64) -> Result<Vec<Lock>> {
        let sql = "SELECT * FROM plan_lock WHERE season = ?1 ORDER BY block_id, material, pass";
        self.list(sql, [season], read)
    }
}
