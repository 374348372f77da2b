//! The file.

use crate::authority::Authority;
use crate::device::{Device, Pass, digest_of};
use crate::{DoorError, Result};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use std::io::{ErrorKind, Write};
use std::path::Path;

const LAYOUT: u32 = 1;
/// The most devices that may hold a pass; the one that came first goes when another comes.
const MOST: usize = 100;
const LONGEST_NAME: usize = 60;

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Kept {
    layout: u32,
    pub(crate) password: String,
    pub(crate) authority: Authority,
    next: u32,
    pub(crate) devices: Vec<Device>,
}

impl Kept {
    pub(crate) fn new(password: String, authority: Authority) -> Self {
        Self {
            layout: LAYOUT,
            password,
            authority,
            next: 1,
            devices: Vec::new(),
        }
    }

    pub(crate) fn let_in(&mut self, pass: &Pass, name: &str, today: Date) {
        let name: String = name.trim().chars().filter(|c| !c.is_control()).collect();
        let name = match name.chars().take(LONGEST_NAME).collect::<String>() {
            empty if empty.is_empty() => format!("device {}", self.next),
            name => name,
        };
        if self.devices.len() >= MOST {
            self.devices.remove(0);
        }
        self.devices.push(Device {
            id: self.next,
            name,
            since: today,
            last_seen: today,
            pass: digest_of(pass.text()),
        });
        self.next += 1;
    }

    pub(crate) fn carries(&self, pass: &str) -> Option<Device> {
        let digest = digest_of(pass);
        self.devices.iter().find(|d| d.pass == digest).cloned()
    }
}

pub(crate) fn read(path: &Path) -> Result<Option<Kept>> {
    let text = match std::fs::read(path) {
        Ok(text) => text,
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(None),
        Err(e) => return Err(DoorError::File(path.to_owned(), e)),
    };
    match serde_json::from_slice::<Kept>(&text) {
        Ok(kept) if kept.layout == LAYOUT => Ok(Some(kept)),
        _ => Err(DoorError::Spoiled(path.to_owned())),
    }
}

/// Puts the file in place as a whole, readable by its owner alone.
pub(crate) fn write(path: &Path, kept: &Kept) -> Result<()> {
    let file = |e: std::io::Error| DoorError::File(path.to_owned(), e);
    let text = serde_json::to_vec_pretty(kept).map_err(|e| file(e.into()))?;
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    // Made for the owner alone, and so it stays when it is put in place.
    let mut new = tempfile::NamedTempFile::new_in(folder).map_err(file)?;
    new.write_all(&text).map_err(file)?;
    new.as_file().sync_all().map_err(file)?;
    new.persist(path).map_err(|e| file(e.error))?;
    Ok(())
}
