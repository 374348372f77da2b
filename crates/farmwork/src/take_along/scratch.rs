use super::disk;
use crate::Result;
use std::path::{Path, PathBuf};
use std::{env, fs};

/// A folder for files that are of no use afterwards; it goes when this goes.
#[derive(Debug)]
pub struct Scratch(PathBuf);

impl Scratch {
    /// # Errors
    /// No folder can be made.
    pub fn new() -> Result<Self> {
        let path = env::temp_dir().join(format!("spadework-{}", farmbook::new_mark()));
        fs::create_dir(&path).map_err(disk(&path))?;
        Ok(Self(path))
    }

    pub fn path(&self) -> &Path {
        &self.0
    }
}

impl Drop for Scratch {
    fn drop(&mut self) {
        // What cannot be removed is for the computer to clear away.
        let _ = fs::remove_dir_all(&self.0);
    }
}
