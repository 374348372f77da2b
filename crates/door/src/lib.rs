//! Who may open the book from another device: a password, the devices that gave it, and the certificate by
//! which they know this computer.
//!
//! It all stands in one small file beside the book, which its owner alone may read. It is of this computer
//! and not of the farm: neither an export nor a copy of the book carries it. The password is kept as an
//! argon2id digest and a device’s pass as a SHA-256 digest, so the file opens nothing by itself.

mod authority;
mod device;
mod kept;
mod near;
mod password;

pub use authority::{Authority, Certificate};
pub use device::{Device, Pass};
pub use near::{addresses, host_name, is_near};
pub use password::SHORTEST;

use jiff::civil::Date;
use kept::Kept;
use std::ffi::OsString;
use std::net::Ipv4Addr;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// What may be wrong with the door.
#[derive(Debug, thiserror::Error)]
pub enum DoorError {
    #[error("{0}: {1}")]
    File(PathBuf, std::io::Error),
    #[error(
        "{0} is not what this program wrote there; remove it and set a password for other devices anew."
    )]
    Spoiled(PathBuf),
    #[error("Found a password of {0} letters, expected at least {SHORTEST}.")]
    Short(usize),
    #[error("Found a password of more than {0} letters; a few words are enough.")]
    Long(usize),
    #[error("No password is set for other devices yet; set one first.")]
    NotSet,
    #[error("There is no such device; it may have been shut out already.")]
    NoDevice,
    #[error("The certificate for other devices could not be made ({0}).")]
    Certificate(#[from] rcgen::Error),
    #[error("This computer gives no random numbers ({0}); no device can be let in.")]
    Random(getrandom::Error),
}

pub type Result<T> = std::result::Result<T, DoorError>;

/// The door of one book.
#[derive(Debug)]
pub struct Door {
    path: PathBuf,
    /// One change at a time: each reads the file, changes it and puts it in place as a whole.
    changing: Mutex<()>,
}

impl Door {
    /// The door of the book at this path. Nothing is written before a password is set.
    pub fn beside(book: &Path) -> Self {
        let mut path: OsString = book.into();
        path.push(".door");
        Self {
            path: path.into(),
            changing: Mutex::new(()),
        }
    }

    /// Whether a password was set.
    ///
    /// # Errors
    /// The file cannot be read or is not ours.
    pub fn is_set(&self) -> Result<bool> {
        Ok(self.read()?.is_some())
    }

    /// Sets the password. Every device that was let in by an earlier one has to give the new one; the
    /// certificate that devices trust stays.
    ///
    /// # Errors
    /// The password is too short or too long, or the file cannot be written.
    pub fn set_password(&self, password: &str, farm: &str, today: Date) -> Result<()> {
        let digest = password::digest(password)?;
        let _one = self.alone();
        let authority = match self.read()? {
            Some(kept) => kept.authority,
            None => authority::made(farm, today)?,
        };
        kept::write(&self.path, &Kept::new(digest, authority))
    }

    /// Removes password, devices and certificate.
    ///
    /// # Errors
    /// The file cannot be removed.
    pub fn forget(&self) -> Result<()> {
        let _one = self.alone();
        match std::fs::remove_file(&self.path) {
            Err(e) if e.kind() != std::io::ErrorKind::NotFound => {
                Err(DoorError::File(self.path.clone(), e))
            }
            _ => Ok(()),
        }
    }

    /// Lets a device in that gives the password; none where the password is another.
    ///
    /// # Errors
    /// No password is set, or the file cannot be read or written.
    pub fn let_in(&self, password: &str, name: &str, today: Date) -> Result<Option<Pass>> {
        let kept = self.set()?;
        if !password::is(password, &kept.password) {
            return Ok(None);
        }
        let pass = Pass::new()?;
        self.change(|kept| {
            kept.let_in(&pass, name, today);
            Ok(())
        })?;
        Ok(Some(pass))
    }

    /// The device that carries this pass; none where it was never given or the device was shut out.
    ///
    /// # Errors
    /// The file cannot be read or written.
    pub fn who(&self, pass: &str, today: Date) -> Result<Option<Device>> {
        let Some(kept) = self.read()? else {
            return Ok(None);
        };
        let Some(device) = kept.carries(pass) else {
            return Ok(None);
        };
        if device.last_seen != today {
            let id = device.id;
            self.change(|kept| {
                if let Some(d) = kept.devices.iter_mut().find(|d| d.id == id) {
                    d.last_seen = today;
                }
                Ok(())
            })?;
        }
        Ok(Some(device))
    }

    /// Every device that may open the book, the newest first.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn devices(&self) -> Result<Vec<Device>> {
        let mut all = self.read()?.map_or_else(Vec::new, |kept| kept.devices);
        all.reverse();
        Ok(all)
    }

    /// Takes a device’s pass away.
    ///
    /// # Errors
    /// There is no such device, or the file cannot be written.
    pub fn shut_out(&self, id: u32) -> Result<()> {
        self.change(|kept| {
            let before = kept.devices.len();
            kept.devices.retain(|d| d.id != id);
            if kept.devices.len() == before {
                return Err(DoorError::NoDevice);
            }
            Ok(())
        })
    }

    /// What devices are asked to trust.
    ///
    /// # Errors
    /// No password is set, or the file cannot be read.
    pub fn authority(&self) -> Result<Authority> {
        Ok(self.set()?.authority)
    }

    /// A certificate for these addresses of this computer, signed by what devices trust.
    ///
    /// # Errors
    /// No password is set, or the certificate cannot be made.
    pub fn certificate(&self, addresses: &[Ipv4Addr], today: Date) -> Result<Certificate> {
        self.set()?.authority.sign(addresses, today)
    }

    fn alone(&self) -> MutexGuard<'_, ()> {
        self.changing.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn read(&self) -> Result<Option<Kept>> {
        kept::read(&self.path)
    }

    fn set(&self) -> Result<Kept> {
        self.read()?.ok_or(DoorError::NotSet)
    }

    fn change(&self, work: impl FnOnce(&mut Kept) -> Result<()>) -> Result<()> {
        let _one = self.alone();
        let mut kept = self.set()?;
        work(&mut kept)?;
        kept::write(&self.path, &kept)
    }
}
