//! Who may open the book from another device.

use crate::text;
use anyhow::Context;
use clap::Args;
use door::Door;
use farmbook::Book;
use jiff::ZonedDateTime;
use std::io::{BufRead, IsTerminal};
use std::path::PathBuf;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework phones farm.book --set-password\n  spadework serve farm.book --network\n  spadework phones farm.book --shut-out 3"
)]
pub(crate) struct Phones {
    /// The book
    book: PathBuf,
    /// Set the password for phones, asked for here or read as one line
    #[arg(long, conflicts_with_all = ["shut_out", "forget"])]
    set_password: bool,
    /// Number of a phone to shut out
    #[arg(long, value_name = "NUMBER", conflicts_with = "forget")]
    shut_out: Option<u32>,
    /// Remove password, phones and certificate
    #[arg(long)]
    forget: bool,
}

/// One line, without showing it where a person types.
fn asked() -> anyhow::Result<String> {
    let stdin = std::io::stdin();
    if stdin.is_terminal() {
        let first = rpassword::prompt_password("Password for phones: ")?;
        let again = rpassword::prompt_password("The same again: ")?;
        anyhow::ensure!(
            first == again,
            "The two passwords differ; nothing was changed."
        );
        return Ok(first);
    }
    let mut line = String::new();
    stdin
        .lock()
        .read_line(&mut line)
        .context("No password could be read")?;
    Ok(line.trim_end_matches(['\r', '\n']).to_owned())
}

pub(super) fn run(args: &Phones, json: bool) -> anyhow::Result<()> {
    // A door stands beside a book, and nowhere else.
    let book = Book::open(&args.book)?;
    let door = Door::beside(book.path());
    if args.forget {
        door.forget()?;
    } else if let Some(id) = args.shut_out {
        door.shut_out(id)?;
    } else if args.set_password {
        door.set_password(&asked()?, &book.farm()?.name, ZonedDateTime::now().date())?;
    }
    let (set, devices) = (door.is_set()?, door.devices()?);
    let fingerprint = match set {
        true => Some(door.authority()?.fingerprint()?),
        false => None,
    };
    if json {
        let devices: Vec<_> = devices
            .iter()
            .map(|d| {
                serde_json::json!({
                    "number": d.id, "name": d.name, "since": d.since, "last_seen": d.last_seen,
                })
            })
            .collect();
        return text::json(&serde_json::json!({
            "password_set": set, "certificate_sha256": fingerprint, "phones": devices,
        }));
    }
    match fingerprint {
        None => text::line("No password is set: only this computer can open the book.")?,
        Some(f) => text::line(format!(
            "A password is set; `spadework serve {} --network` lets phones in.\nFingerprint of the certificate (SHA-256): {f}",
            args.book.display()
        ))?,
    }
    for d in &devices {
        text::line(format!(
            "{:>4}  {}, since {}, last seen {}",
            d.id, d.name, d.since, d.last_seen
        ))?;
    }
    Ok(())
}
