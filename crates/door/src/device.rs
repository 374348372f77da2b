//! Devices that gave the password, and what each carries since.

use crate::{DoorError, Result};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// A device that may open the book.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Device {
    pub id: u32,
    /// Who uses it; changes that come from it are noted under this name.
    pub name: String,
    pub since: Date,
    pub last_seen: Date,
    /// SHA-256 of the pass, as hexadecimal digits.
    pub(crate) pass: String,
}

/// What a device carries: 32 random bytes as hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pass(String);

fn digits(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, b| {
        let _ = write!(text, "{b:02x}");
        text
    })
}

pub(crate) fn digest_of(pass: &str) -> String {
    digits(&Sha256::digest(pass.as_bytes()))
}

impl Pass {
    pub(crate) fn new() -> Result<Self> {
        let mut bytes = [0; 32];
        getrandom::fill(&mut bytes).map_err(DoorError::Random)?;
        Ok(Self(digits(&bytes)))
    }

    pub fn text(&self) -> &str {
        &self.0
    }
}
