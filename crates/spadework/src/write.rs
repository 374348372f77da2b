//! Writing a file whole or not at all.

use std::ffi::OsString;
use std::fs;
use std::io;
use std::path::Path;

/// Writes bytes beside their place and gives them its name, so that no half file is ever seen there.
pub(crate) fn whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut name = OsString::from(path.file_name().unwrap_or_default());
    name.push(format!(".{}.part", std::process::id()));
    let beside = path.with_file_name(name);
    let done = fs::write(&beside, bytes).and_then(|()| fs::rename(&beside, path));
    if done.is_err() {
        // What cannot be written cannot always be taken away either.
        let _ = fs::remove_file(&beside);
    }
    done
}
