use crate::change::Table;
use crate::row::{get, json, to_json};
use crate::{Book, Error, Id, Result, valid};
use rusqlite::Row;
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// A plan as it was made, with the problem it answers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StoredPlan {
    pub id: Id,
    pub season: i64,
    /// RFC 3339 with offset.
    pub made_at: String,
    /// JSON, as it is kept: that of a large farm is large, and who reads it knows what it holds.
    pub problem: String,
    /// JSON as well.
    pub plan: String,
    /// Tells whether what the plan rests on has changed since.
    pub inputs_hash: String,
    pub locks: Value,
}

/// A plan to be put in the book.
#[derive(Debug, Clone, PartialEq)]
pub struct NewPlan {
    pub season: i64,
    pub problem: Value,
    pub plan: Value,
    pub inputs_hash: String,
    pub locks: Value,
}

const SELECT: &str = "SELECT s.id, s.season, s.made_at, s.inputs_hash, s.locks,
    p.bytes AS problem, q.bytes AS plan FROM season_plan s
    JOIN kept p ON p.sha256 = s.problem_sha256 JOIN kept q ON q.sha256 = s.plan_sha256";

fn document(row: &Row<'_>, column: &str) -> Result<String> {
    String::from_utf8(get(row, column)?)
        .map_err(|e| Error::Damaged(format!("{column} cannot be read: {e}")))
}

fn read(row: &Row<'_>) -> Result<StoredPlan> {
    Ok(StoredPlan {
        id: get(row, "id")?,
        season: get(row, "season")?,
        made_at: get(row, "made_at")?,
        problem: document(row, "problem")?,
        plan: document(row, "plan")?,
        inputs_hash: get(row, "inputs_hash")?,
        locks: json(row, "locks")?,
    })
}

impl Book {
    pub fn save_plan(&mut self, plan: &NewPlan) -> Result<Id> {
        valid::season(plan.season)?;
        let problem = to_json(&plan.problem)?;
        let answer = to_json(&plan.plan)?;
        let locks = to_json(&plan.locks)?;
        self.change(&format!("Made a plan for {}", plan.season), |book| {
            let problem = book.keep(problem.as_bytes())?;
            let answer = book.keep(answer.as_bytes())?;
            let made_at = book.now();
            book.insert(
                Table::Plan,
                &[
                    ("season", plan.season.into()),
                    ("made_at", made_at.into()),
                    ("problem_sha256", problem.into()),
                    ("plan_sha256", answer.into()),
                    ("inputs_hash", plan.inputs_hash.clone().into()),
                    ("locks", locks.into()),
                ],
            )
        })
    }

    pub fn plan(&self, id: Id) -> Result<StoredPlan> {
        self.first(&format!("{SELECT} WHERE s.id = ?1"), [id], read)?
            .ok_or_else(|| Error::not_found("plan with number", id))
    }

    pub fn latest_plan(&self, season: i64) -> Result<Option<StoredPlan>> {
        let sql = format!("{SELECT} WHERE s.season = ?1 ORDER BY s.id DESC LIMIT 1");
        self.first(&sql, [season], read)
    }

    /// The plans of a season that were made before one, newest first.
    pub fn plans_before(&self, plan: Id, season: i64) -> Result<Vec<StoredPlan>> {
        let sql = format!("{SELECT} WHERE s.season = ?1 AND s.id < ?2 ORDER BY s.id DESC");
        self.list(&sql, [season, plan], read)
    }

    /// The number and moment of each plan of a season, newest first, without reading the plans.
    pub fn plans_made(&self, season: i64) -> Result<Vec<(Id, String)>> {
        let sql = "SELECT id, made_at FROM season_plan WHERE season = ?1 ORDER BY id DESC";
        self.list(sql, [season], |row| Ok((get(row, 0)?, get(row, 1)?)))
    }
}
