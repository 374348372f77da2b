//! Files that stand under their names only when they are whole.

use crate::bad;
use crate::error::BulkError;
use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Where the bad rows of an output go: `results.csv` has `results.bad.csv`.
pub fn bad_path(output: &Path) -> PathBuf {
    let csv = output
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("csv"));
    if csv {
        output.with_extension("bad.csv")
    } else {
        with_ending(output, ".bad.csv")
    }
}

fn with_ending(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// Holds the input apart from what is written.
pub(crate) fn apart(input: &Path, outputs: &[&Path]) -> Result<(), BulkError> {
    let real = |path: &Path| fs::canonicalize(path).ok();
    let source = real(input).ok_or_else(|| match fs::metadata(input) {
        Err(e) => BulkError::read(input, &e),
        Ok(_) => BulkError::Read(input.to_owned(), "its folder cannot be read".to_owned()),
    })?;
    for output in outputs {
        for written in [(*output).to_owned(), part_path(output)] {
            if real(&written).is_some_and(|r| r == source || same_file(&r, &source)) {
                return Err(BulkError::OverInput(written));
            }
        }
    }
    Ok(())
}

#[cfg(unix)]
fn same_file(a: &Path, b: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (fs::metadata(a), fs::metadata(b)) {
        (Ok(a), Ok(b)) => (a.dev(), a.ino()) == (b.dev(), b.ino()),
        _ => false,
    }
}

#[cfg(not(unix))]
fn same_file(_: &Path, _: &Path) -> bool {
    false
}

fn part_path(path: &Path) -> PathBuf {
    with_ending(path, ".part")
}

/// A file that is written beside its name and takes it at the end; dropped before that, it is taken
/// away. What a run that was killed left behind is written over by the next.
struct Pending {
    path: PathBuf,
    part: PathBuf,
    file: File,
    done: bool,
}

impl Pending {
    fn new(path: &Path) -> Result<Self, BulkError> {
        if fs::metadata(path).is_ok_and(|m| !m.is_file()) {
            return Err(BulkError::Write(
                path.to_owned(),
                "it is not a file".to_owned(),
            ));
        }
        let part = part_path(path);
        let file = OpenOptions::new()
            .write(true)
            .create(true)
            .truncate(false)
            .open(&part)
            .map_err(|e| BulkError::write(path, &e))?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(BulkError::Busy(path.to_owned())),
            // Some network disks know no locks; without them two runs at once are the user's care.
            Err(TryLockError::Error(e)) if e.kind() == io::ErrorKind::Unsupported => {}
            Err(TryLockError::Error(e)) => return Err(BulkError::write(path, &e)),
        }
        // Another run may have given the file its name between opening and locking.
        if !still_there(&file, &part) {
            return Err(BulkError::Busy(path.to_owned()));
        }
        file.set_len(0).map_err(|e| BulkError::write(path, &e))?;
        Ok(Self {
            path: path.to_owned(),
            part,
            file,
            done: false,
        })
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), BulkError> {
        self.file
            .write_all(bytes)
            .map_err(|e| BulkError::write(&self.path, &e))
    }

    fn sync(&self) -> Result<(), BulkError> {
        self.file
            .sync_all()
            .map_err(|e| BulkError::write(&self.path, &e))
    }

    /// Gives the file its name; after [`Pending::sync`].
    fn rename(mut self) -> Result<(), BulkError> {
        fs::rename(&self.part, &self.path).map_err(|e| BulkError::write(&self.path, &e))?;
        self.done = true;
        Ok(())
    }
}

impl Drop for Pending {
    fn drop(&mut self) {
        if !self.done {
            // Nothing more can be done about a file that will not go.
            let _ = fs::remove_file(&self.part);
        }
    }
}

#[cfg(unix)]
fn still_there(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), fs::symlink_metadata(path)) {
        (Ok(a), Ok(b)) => (a.dev(), a.ino()) == (b.dev(), b.ino()),
        _ => false,
    }
}

#[cfg(not(unix))]
fn still_there(_: &File, _: &Path) -> bool {
    true
}

/// The output and the file of bad rows.
pub(crate) struct Sink {
    output: Pending,
    bad_path: PathBuf,
    bad: Option<Pending>,
}

impl Sink {
    pub(crate) fn new(output: &Path, bad_path: &Path) -> Result<Self, BulkError> {
        Ok(Self {
            output: Pending::new(output)?,
            bad_path: bad_path.to_owned(),
            bad: None,
        })
    }

    pub(crate) fn write(&mut self, bytes: &[u8]) -> Result<(), BulkError> {
        self.output.write(bytes)
    }

    pub(crate) fn write_bad(&mut self, bytes: &[u8]) -> Result<(), BulkError> {
        let bad = match &mut self.bad {
            Some(bad) => bad,
            None => {
                let mut bad = Pending::new(&self.bad_path)?;
                bad.write(bad::NAMES)?;
                self.bad.insert(bad)
            }
        };
        bad.write(bytes)
    }

    /// Puts both files on the disk and gives them their names, the output last.
    pub(crate) fn commit(self) -> Result<(), BulkError> {
        self.output.sync()?;
        match self.bad {
            Some(bad) => {
                bad.sync()?;
                bad.rename()?;
            }
            // What an earlier run said of other rows would mislead.
            None => match fs::remove_file(&self.bad_path) {
                Err(e) if e.kind() != io::ErrorKind::NotFound => {
                    return Err(BulkError::write(&self.bad_path, &e));
                }
                _ => {}
            },
        }
        let folder = folder(&self.output.path);
        self.output.rename()?;
        sync_folder(&folder)
    }
}

fn folder(path: &Path) -> PathBuf {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    }
}

/// A name is on the disk when its folder is.
#[cfg(unix)]
fn sync_folder(folder: &Path) -> Result<(), BulkError> {
    File::open(folder)
        .and_then(|f| f.sync_all())
        .map_err(|e| BulkError::write(folder, &e))
}

#[cfg(not(unix))]
fn sync_folder(_: &Path) -> Result<(), BulkError> {
    Ok(())
}
