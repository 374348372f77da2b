//! Reading rows into records.

use crate::{Book, Error, Result};
use jiff::civil::Date;
use rusqlite::types::FromSql;
use rusqlite::{Params, Row, RowIndex};
use serde::Serialize;
use serde::de::DeserializeOwned;

/// A column by its name; by its place where thousands of rows are read, since each name is looked up anew.
pub(crate) fn get<T: FromSql>(row: &Row<'_>, column: impl RowIndex) -> Result<T> {
    Ok(row.get(column)?)
}

pub(crate) fn json<T: DeserializeOwned>(row: &Row<'_>, column: &str) -> Result<T> {
    from_json(&get::<String>(row, column)?, column)
}

pub(crate) fn json_or_none<T: DeserializeOwned>(row: &Row<'_>, column: &str) -> Result<Option<T>> {
    get::<Option<String>>(row, column)?
        .map(|text| from_json(&text, column))
        .transpose()
}

pub(crate) fn date(row: &Row<'_>, column: &str) -> Result<Option<Date>> {
    get::<Option<String>>(row, column)?
        .map(|text| {
            text.parse()
                .map_err(|_| Error::Damaged(format!("“{text}” is not a date in {column}")))
        })
        .transpose()
}

/// A key word such as `field` or `sandy_loam`.
pub(crate) fn word<T: DeserializeOwned>(text: &str, column: &str) -> Result<T> {
    serde_json::from_value(serde_json::Value::String(text.to_owned()))
        .map_err(|_| Error::Damaged(format!("“{text}” is not known in {column}")))
}

pub(crate) fn to_word<T: Serialize>(value: &T) -> Result<String> {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(text)) => Ok(text),
        _ => Err(Error::invalid("A key word", "a plain word")),
    }
}

pub(crate) fn to_json<T: Serialize>(value: &T) -> Result<String> {
    serde_json::to_string(value).map_err(|e| Error::invalid(format!("A record ({e})"), "writable"))
}

pub(crate) fn from_json<T: DeserializeOwned>(text: &str, column: &str) -> Result<T> {
    serde_json::from_str(text).map_err(|e| Error::Damaged(format!("{column} cannot be read: {e}")))
}

impl Book {
    pub(crate) fn list<T>(
        &self,
        sql: &str,
        params: impl Params,
        read: impl Fn(&Row<'_>) -> Result<T>,
    ) -> Result<Vec<T>> {
        let mut statement = self.conn.prepare_cached(sql)?;
        let mut rows = statement.query(params)?;
        let mut found = Vec::new();
        while let Some(row) = rows.next()? {
            found.push(read(row)?);
        }
        Ok(found)
    }

    pub(crate) fn first<T>(
        &self,
        sql: &str,
        params: impl Params,
        read: impl Fn(&Row<'_>) -> Result<T>,
    ) -> Result<Option<T>> {
        let mut statement = self.conn.prepare_cached(sql)?;
        let mut rows = statement.query(params)?;
        rows.next()?.map(read).transpose()
    }
}
