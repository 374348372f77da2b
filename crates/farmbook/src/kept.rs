//! Bytes under their SHA-256, written once and never changed.

use crate::{Book, Error, Result};
use rusqlite::params;
use sha2::{Digest, Sha256};
use std::fmt::Write;

pub(crate) fn sha256(bytes: &[u8]) -> String {
    let mut hex = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        // Writing to a string cannot fail.
        let _ = write!(hex, "{byte:02x}");
    }
    hex
}

impl Book {
    /// Keeps bytes inside the running change and gives their SHA-256.
    pub(crate) fn keep(&mut self, bytes: &[u8]) -> Result<String> {
        let sha = sha256(bytes);
        let sql = "INSERT INTO kept (sha256, bytes) VALUES (?1, ?2) ON CONFLICT DO NOTHING";
        self.conn
            .prepare_cached(sql)?
            .execute(params![sha, bytes])?;
        Ok(sha)
    }

    pub(crate) fn kept(&self, sha: &str) -> Result<Vec<u8>> {
        let sql = "SELECT bytes FROM kept WHERE sha256 = ?1";
        self.first(sql, [sha], |row| Ok(row.get(0)?))?
            .ok_or_else(|| Error::Damaged("a kept file is missing".to_owned()))
    }
}
