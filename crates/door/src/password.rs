//! A password as it is kept.

use crate::{DoorError, Result};
use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use unicode_normalization::UnicodeNormalization;

/// The fewest letters of a password.
pub const SHORTEST: usize = 8;
const LONGEST: usize = 200;

/// Two keyboards may write one letter in two ways.
fn plain(password: &str) -> String {
    password.nfc().collect()
}

/// The argon2id digest of a password with its salt, in the PHC string format.
///
/// # Errors
/// It is too short or too long.
pub(crate) fn digest(password: &str) -> Result<String> {
    let password = plain(password);
    match password.chars().count() {
        n if n < SHORTEST => Err(DoorError::Short(n)),
        n if n > LONGEST => Err(DoorError::Long(LONGEST)),
        _ => Argon2::default()
            .hash_password(password.as_bytes())
            .map(|digest| digest.to_string())
            .map_err(|_| DoorError::Random(getrandom::Error::UNSUPPORTED)),
    }
}

pub(crate) fn is(password: &str, digest: &str) -> bool {
    let password = plain(password);
    password.chars().count() <= LONGEST
        && PasswordHash::new(digest).is_ok_and(|kept| {
            Argon2::default()
                .verify_password(password.as_bytes(), &kept)
                .is_ok()
        })
}
