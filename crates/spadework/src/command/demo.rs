use super::book::season_now;
use super::serve::{PORT, open};
use anyhow::Context;
use clap::Args;
use farmbook::Book;
use std::path::PathBuf;

#[derive(Args)]
#[command(after_help = "Example:\n  spadework demo\n  spadework demo --fresh --port 0")]
pub(crate) struct Demo {
    /// The port on this computer; 0 takes a free one
    #[arg(long, default_value_t = PORT)]
    port: u16,
    /// Put the book of an earlier demo aside and begin anew
    #[arg(long)]
    fresh: bool,
    /// Where the invented farm’s book is kept
    #[arg(long)]
    file: Option<PathBuf>,
}

/// The place for a person’s data by the desktop standard (XDG base directories).
fn usual_place() -> anyhow::Result<PathBuf> {
    let base = std::env::var_os("XDG_DATA_HOME")
        .map(PathBuf::from)
        .filter(|p| p.is_absolute())
        .or_else(|| std::env::var_os("HOME").map(|h| PathBuf::from(h).join(".local/share")))
        .context("There is no home folder to keep the demo in; name a place with --file")?;
    Ok(base.join("spadework").join("demo").join("pipit-lane.book"))
}

pub(super) fn run(args: Demo, json: bool) -> anyhow::Result<()> {
    let path = match args.file {
        Some(path) => path,
        None => usual_place()?,
    };
    if args.fresh && path.exists() {
        let aside = path.with_extension(format!(
            "{}.book",
            jiff::ZonedDateTime::now().strftime("%Y-%m-%d-%H%M%S")
        ));
        std::fs::rename(&path, &aside)
            .with_context(|| format!("{} cannot be put aside", path.display()))?;
        // The log beside it belongs to the book that was put aside.
        for tail in ["-wal", "-shm"] {
            let mut log = path.clone().into_os_string();
            log.push(tail);
            let mut to = aside.clone().into_os_string();
            to.push(tail);
            let _ = std::fs::rename(log, to);
        }
    }
    let book = if path.exists() {
        Book::open(&path)?
    } else {
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder)
                .with_context(|| format!("{} cannot be made", folder.display()))?;
        }
        farmwork::demo::create(&path, season_now())?
    };
    if !json {
        println!(
            "Pipit Lane, an invented farm, is kept in {}.",
            path.display()
        );
    }
    open(web::App::new(book), args.port, false, json)
}
