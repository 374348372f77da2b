//! How much is read. Far above any farm, low enough that no file can fill the memory.

/// The most bytes of a file as it comes, and of any file unpacked from it.
pub(crate) const MOST_BYTES: usize = 20 * 1024 * 1024;
/// The most files in an archive.
pub(crate) const MOST_FILES: usize = 1_000;
/// The most outlines of a file.
pub(crate) const MOST_FEATURES: usize = 2_000;
/// The most corners of one outline.
pub(crate) const MOST_CORNERS: usize = 10_000;
/// The most corners of a file.
pub(crate) const MOST_CORNERS_ALL: usize = 200_000;
/// How deep elements of a document may lie in each other.
pub(crate) const MOST_DEPTH: usize = 64;
/// The most letters of a name.
pub(crate) const LONGEST_NAME: usize = 80;
