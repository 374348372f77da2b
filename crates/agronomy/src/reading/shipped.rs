//! The tables that come with the program, and a grower's own beside them.

use super::System;
use super::check::{self, Fault};
use crate::soil::Extractant;
use crate::table::TableError;
use std::sync::OnceLock;

/// A set of tables.
#[derive(Debug, Clone, Default)]
pub struct Systems {
    systems: Vec<System>,
}

/// A grower's own table as text: the contents of its two files.
#[derive(Debug, Clone, Copy)]
pub struct OwnTable<'a> {
    /// The folder's name; the table's id must be the same.
    pub folder: &'a str,
    /// `system.csv`
    pub system: &'a str,
    /// `bands.csv`
    pub bands: &'a str,
}

impl Systems {
    pub fn all(&self) -> &[System] {
        &self.systems
    }

    pub fn iter(&self) -> std::slice::Iter<'_, System> {
        self.systems.iter()
    }

    pub fn by_id(&self, id: &str) -> Option<&System> {
        self.systems.iter().find(|s| s.id == id)
    }

    /// The tables that hold at least one row for the extractant, in the set's order.
    pub fn for_extractant(&self, extractant: Extractant) -> Vec<&System> {
        self.systems
            .iter()
            .filter(|s| s.extractants().contains(&extractant))
            .collect()
    }

    /// This set with a grower's own tables before it.
    ///
    /// # Errors
    /// Every fault of every table, as [`check`](super::check_table) finds them, when one of them keeps a
    /// table from being used. Faults that leave it usable do not stop it.
    pub fn with(&self, own: &[OwnTable<'_>]) -> Result<Self, Vec<Fault>> {
        let mut known = self.clone();
        let mut added = Vec::new();
        let mut faults = Vec::new();
        for table in own {
            let found = check::check_table(table, &known);
            if found.iter().any(|f| f.stops) {
                faults.extend(found);
                continue;
            }
            match System::parse(table.folder, table.system, table.bands) {
                Ok(system) => {
                    known.systems.push(system.clone());
                    added.push(system);
                }
                Err(e) => faults.push(Fault::from(e)),
            }
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        added.extend(self.systems.iter().cloned());
        Ok(Self { systems: added })
    }
}

macro_rules! folders {
    ($($id:literal),+ $(,)?) => {
        [$((
            $id,
            include_str!(concat!("../../../../reference/readings/", $id, "/system.csv")),
            include_str!(concat!("../../../../reference/readings/", $id, "/bands.csv")),
        )),+]
    };
}

/// Parses the tables that come with the program. Those read in their source stand first.
pub fn load() -> Result<Systems, TableError> {
    let mut systems = Vec::new();
    for (id, about, bands) in folders!(
        "M3_NJ",
        "M3_DE",
        "M3_FL",
        "M1_GA_COASTAL",
        "M1_GA_PIEDMONT",
        "BRAY_MI",
        "BRAY_MWVG",
        "MM_MA",
        "MM_CT",
        "MORGAN_IE",
        "OLSEN_ON",
        "UK_RB209",
        "OLSEN_CA",
        "DTPA_HAVLIN",
        "SME_MA",
        "M3_PA",
        "M3_AR",
        "M3_NC",
        "M1_FL",
        "M1_GA_ROW_COASTAL",
        "M1_GA_ROW_PIEDMONT",
        "M1_AL",
        "M1_VA",
        "M1_SC",
        "M1_TN",
        "BRAY_WI",
        "OREGON",
        "COLORADO",
        "MM_VT",
        "MORGAN_NY",
    ) {
        systems.push(System::parse(id, about, bands)?);
    }
    Ok(Systems { systems })
}

/// The tables that come with the program; none if they cannot be parsed, which a test rules out.
pub fn systems() -> &'static Systems {
    static SHIPPED: OnceLock<Systems> = OnceLock::new();
    SHIPPED.get_or_init(|| load().unwrap_or_default())
}

/// The shipped tables that hold at least one row for the extractant.
pub fn systems_for(extractant: Extractant) -> Vec<&'static System> {
    systems().for_extractant(extractant)
}
