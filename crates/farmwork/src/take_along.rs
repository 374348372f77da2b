//! The whole book to take along as one file, and another book laid beside it.

mod beside;
mod scratch;

pub use beside::{Beside, OfBlock, OfKind, SHOWN, beside};
pub use scratch::Scratch;

use crate::{Result, WorkError};
use farmbook::Book;
use std::fs::{self, File};
use std::io::{self, BufReader, BufWriter, Read, Write};
use std::path::{Path, PathBuf};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipArchive, ZipWriter};

/// The most bytes that a zip may unpack to.
const MOST_UNPACKED: u64 = 4 << 30;
/// The most files in a zip: a file for each table, and one for each thing that was kept.
const MOST_FILES: usize = 60_000;
/// The folder in the zip.
const INSIDE: &str = "farm";

fn said(text: impl Into<String>) -> WorkError {
    WorkError::Said(text.into())
}

fn disk(path: &Path) -> impl FnOnce(io::Error) -> WorkError {
    let path = path.to_owned();
    move |e| {
        said(format!(
            "“{}” cannot be written or read: {e}.",
            path.display()
        ))
    }
}

/// Writes the whole book as a zip of its open folder; the file must not exist yet. The same book gives the
/// same bytes, whenever it is written.
///
/// # Errors
/// The file exists or cannot be written, or the book’s own.
pub fn to_zip(book: &Book, path: &Path) -> Result<()> {
    let scratch = Scratch::new()?;
    let folder = scratch.path().join(INSIDE);
    book.to_folder(&folder)?;
    let mut files = listed(&folder)?;
    // The order on the disk says nothing; names do.
    files.sort();
    if files.len() > MOST_FILES {
        return Err(said(format!(
            "The book keeps {} files, and a zip takes {MOST_FILES}: write it as a folder with `spadework export`.",
            files.len()
        )));
    }
    let out = File::create_new(path).map_err(disk(path))?;
    let mut zip = ZipWriter::new(BufWriter::new(out));
    // No moment and no rights of this computer.
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644)
        .large_file(true);
    let packed = |e: zip::result::ZipError| said(format!("The zip could not be written: {e}."));
    for name in files {
        let from = folder.join(&name);
        zip.start_file(format!("{INSIDE}/{name}"), options)
            .map_err(packed)?;
        let mut file = BufReader::new(File::open(&from).map_err(disk(&from))?);
        io::copy(&mut file, &mut zip).map_err(disk(path))?;
    }
    let mut out = zip.finish().map_err(packed)?;
    out.flush().map_err(disk(path))
}

/// The files of a folder and of the folders in it, by name.
fn listed(folder: &Path) -> Result<Vec<String>> {
    let mut out = Vec::new();
    for entry in fs::read_dir(folder).map_err(disk(folder))? {
        let entry = entry.map_err(disk(folder))?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if entry.path().is_dir() {
            out.extend(listed(&entry.path())?.iter().map(|f| format!("{name}/{f}")));
        } else {
            out.push(name);
        }
    }
    Ok(out)
}

/// Makes a new book from the zip of one.
///
/// # Errors
/// A file stands there already, or the zip is not whole: one sentence.
pub fn from_zip(zip: &Path, book: &Path) -> Result<Book> {
    let scratch = Scratch::new()?;
    let folder = scratch.path().join("unpacked");
    unpack(zip, &folder)?;
    Ok(Book::from_folder(&folder, book)?)
}

/// Opens a book that came from elsewhere, to be looked at: the book itself or the zip of its folder. The
/// file must lie in the scratch folder, where all that it needs is put.
///
/// # Errors
/// It is neither, it is not whole, or it unpacks to more than a farm’s book could: one sentence.
pub fn open_other(file: &Path, scratch: &Scratch) -> Result<Book> {
    let mut head = Vec::new();
    File::open(file)
        .and_then(|f| f.take(16).read_to_end(&mut head))
        .map_err(disk(file))?;
    if head.starts_with(b"SQLite format 3\0") {
        return Ok(Book::open_strange(file)?);
    }
    if head.starts_with(b"PK") {
        return from_zip(file, &scratch.path().join("other.book"));
    }
    Err(said(
        "The file is neither a book nor the zip of one: choose what “The whole book as a zip” or a backup gave.",
    ))
}

/// Unpacks the zip of a book’s folder. Only names that such a folder has are taken, so that nothing lands
/// elsewhere.
fn unpack(file: &Path, to: &Path) -> Result<()> {
    let broken = |e: zip::result::ZipError| said(format!("The zip cannot be read: {e}."));
    let from = File::open(file).map_err(disk(file))?;
    let mut zip = ZipArchive::new(BufReader::new(from)).map_err(broken)?;
    if zip.len() > MOST_FILES {
        return Err(said(format!(
            "Found {} files in the zip, expected at most {MOST_FILES}.",
            zip.len()
        )));
    }
    fs::create_dir_all(to.join("kept")).map_err(disk(to))?;
    let mut left = MOST_UNPACKED;
    for at in 0..zip.len() {
        let mut packed = zip.by_index(at).map_err(broken)?;
        if packed.is_dir() {
            continue;
        }
        let name = packed.name().map_err(broken)?.into_owned();
        let Some(name) = known(&name) else {
            let name: String = name.chars().filter(|c| !c.is_control()).take(60).collect();
            return Err(said(format!(
                "Found “{name}” in the zip, expected about.json, tables as CSV and the kept files of a book."
            )));
        };
        let path = to.join(name);
        let out = File::create_new(&path).map_err(|_| said("A file stands in the zip twice."))?;
        let mut out = BufWriter::new(out);
        let taken = io::copy(&mut (&mut packed).take(left + 1), &mut out)
            .and_then(|n| out.flush().map(|()| n))
            .map_err(|e| said(format!("A file in the zip cannot be unpacked: {e}.")))?;
        left = left.checked_sub(taken).ok_or_else(|| {
            said("The zip unpacks to more than 4 GB, which is more than a farm’s book holds.")
        })?;
    }
    Ok(())
}

/// The place of a packed file in the folder, with or without a folder around it; none where a book has no
/// such file.
fn known(name: &str) -> Option<PathBuf> {
    let parts: Vec<&str> = name.split('/').collect();
    let table = |n: &str| {
        let stem = n.strip_suffix(".csv");
        stem.is_some_and(|s| {
            !s.is_empty() && s.bytes().all(|b| b.is_ascii_lowercase() || b == b'_')
        })
    };
    let kept = |n: &str| n.len() == 64 && n.bytes().all(|b| b.is_ascii_hexdigit());
    let (first, last) = match parts.as_slice() {
        [last] => ("", *last),
        [folder, last] if *folder != "kept" => ("", *last),
        ["kept", last] | [_, "kept", last] => ("kept", *last),
        _ => return None,
    };
    match first {
        "" if last == "about.json" || table(last) => Some(PathBuf::from(last)),
        "kept" if kept(last) => Some(Path::new("kept").join(last)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_files_of_a_book_are_taken_from_a_zip() {
        let sha = "a".repeat(64);
        for (name, there) in [
            ("about.json".to_owned(), true),
            ("farm/about.json".to_owned(), true),
            ("farm/soil_test.csv".to_owned(), true),
            (format!("kept/{sha}"), true),
            (format!("farm/kept/{sha}"), true),
            ("../about.json".to_owned(), true),
            ("../../etc/passwd".to_owned(), false),
            ("/etc/passwd".to_owned(), false),
            ("farm/../soil.csv/x".to_owned(), false),
            ("farm/kept/../x".to_owned(), false),
            ("farm/..csv".to_owned(), false),
            (format!("kept/{}", &sha[1..]), false),
            ("farm/Soil.csv".to_owned(), false),
            (String::new(), false),
        ] {
            let found = known(&name);
            assert_eq!(found.is_some(), there, "{name}");
            // Whatever the name, it stays in the folder.
            assert!(
                found.is_none_or(
                    |p| p.components().count() <= 2 && !p.to_string_lossy().contains("..")
                )
            );
        }
    }
}
