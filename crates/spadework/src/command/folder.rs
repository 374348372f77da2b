use crate::text;
use clap::Args;
use farmbook::{Book, Difference};
use farmwork::take_along::{self, Scratch};
use std::path::{Path, PathBuf};

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework export farm.book farm-2027\n  spadework export farm.book farm-2027.zip"
)]
pub(crate) struct Export {
    /// The book
    book: PathBuf,
    /// The folder to write, or a file that ends in .zip to have it packed; it must not exist yet
    folder: PathBuf,
}

#[derive(Args)]
#[command(after_help = "Example:\n  spadework rebuild farm-2027 farm-again.book")]
pub(crate) struct Rebuild {
    /// A folder that `spadework export` wrote, or the zip of one
    folder: PathBuf,
    /// The book to make
    book: PathBuf,
}

#[derive(Args)]
#[command(after_help = "Example:\n  spadework differences farm.book backups/farm-2027-01-05.book")]
pub(crate) struct Differences {
    /// One book
    book: PathBuf,
    /// The other one, or the zip of it
    other: PathBuf,
    /// Count by block and kind instead of listing every value
    #[arg(long)]
    count: bool,
}

fn is_zip(path: &Path) -> bool {
    path.extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("zip"))
}

pub(super) fn export(args: &Export, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    if is_zip(&args.folder) {
        take_along::to_zip(&book, &args.folder)?;
    } else {
        book.to_folder(&args.folder)?;
    }
    if json {
        return text::json(&serde_json::json!({ "folder": args.folder }));
    }
    text::line(format!(
        "Wrote the whole book to {}. Its about.json says what every table and column means; \
         `spadework rebuild` makes a book of it again.",
        args.folder.display()
    ))?;
    Ok(())
}

pub(super) fn rebuild(args: &Rebuild, json: bool) -> anyhow::Result<()> {
    let book = if is_zip(&args.folder) {
        take_along::from_zip(&args.folder, &args.book)?
    } else {
        Book::from_folder(&args.folder, &args.book)?
    };
    let (farm, blocks) = (book.farm()?, book.blocks()?.len());
    if json {
        return text::json(
            &serde_json::json!({ "book": args.book, "farm": farm.name, "blocks": blocks }),
        );
    }
    text::line(format!(
        "Made {} for {}, with {blocks} blocks and everything that was written down.",
        args.book.display(),
        farm.name
    ))?;
    Ok(())
}

pub(super) fn differences(args: &Differences, json: bool) -> anyhow::Result<()> {
    let book = Book::open(&args.book)?;
    let scratch = Scratch::new()?;
    let other = if is_zip(&args.other) {
        take_along::open_other(&args.other, &scratch)?
    } else {
        Book::open(&args.other)?
    };
    if args.count {
        return counted(&book, &other, json);
    }
    let all = book.differences(&other)?;
    if json {
        return text::json(&all);
    }
    if all.is_empty() {
        text::line("The two books say the same.")?;
        return Ok(());
    }
    let mut table = "";
    for d in &all {
        if d.table != table {
            text::line(&d.what)?;
            table = &d.table;
        }
        text::line(format!("  {}", said(d)))?;
    }
    Ok(())
}

fn counted(book: &Book, other: &Book, json: bool) -> anyhow::Result<()> {
    let found = take_along::beside(book, other)?;
    if json {
        return text::json(&found);
    }
    if !found.same_farm {
        text::line(
            "The two were not begun as one book: rows of one number may be different things.",
        )?;
    }
    if found.count == 0 {
        text::line("The two books say the same.")?;
    }
    for of in &found.blocks {
        text::line(of.block.as_deref().unwrap_or("The farm as a whole"))?;
        for kind in &of.kinds {
            text::line(format!(
                "  {}: {} only in the first, {} only in the second, {} values differ",
                kind.what.trim_end_matches('.'),
                kind.here,
                kind.there,
                kind.differ
            ))?;
        }
    }
    Ok(())
}

fn said(d: &Difference) -> String {
    let name = if d.name.is_empty() {
        format!("row {}", d.row)
    } else {
        format!("{} (row {})", cut(&d.name), d.row)
    };
    match (d.column.is_empty(), &d.here, &d.there) {
        (true, Some(_), _) => format!("{name}: only in the first book"),
        (true, None, _) => format!("{name}: only in the second book"),
        (false, here, there) => format!(
            "{name}, {}: {} in the first, {} in the second",
            d.column.replace('_', " "),
            value(here.as_deref()),
            value(there.as_deref())
        ),
    }
}

fn value(text: Option<&str>) -> String {
    text.map_or_else(|| "nothing".to_owned(), |t| format!("“{}”", cut(t)))
}

fn cut(text: &str) -> String {
    const MOST: usize = 80;
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    text.chars().take(MOST - 1).chain(['…']).collect()
}
