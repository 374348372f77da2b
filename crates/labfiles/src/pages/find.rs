//! From the words of all pages to one table.

use super::lines::{self, Sheet};
use super::panel;
use super::record::{self, Cell, Record};
use super::say::Label;
use super::told;
use super::wide::{self, Wide};
use super::{MOST_WORDS, Word};
use crate::methods::Told;
use crate::problem::Problem;
use crate::table::Table;

/// The most lines of methods that go over the table.
const TOLD_LINES: usize = 30;

/// What one page gave.
struct Page {
    wides: Vec<Wide>,
    /// samples that the lines tell one by one, and labels without results
    records: Vec<Record>,
    told: Vec<Cell>,
}

/// Finds the results on pages by where the words stand, whether a row is a sample or a page is.
///
/// Lengths are points from the page's top left. All samples come as one table, a row a sample,
/// under headers such as `P (Mehlich-3) ppm`: a header's lines are joined, a header repeated on later
/// pages is dropped, and what a page plainly states of methods and units is carried into the headers
/// of the values it governs. Ratings and bars are left out. Each cell keeps the place it stood in.
///
/// # Errors
/// No results that can be told apart, or more words than a report has; one sentence each.
pub fn tables_of_words(file_name: &str, words: &[Word]) -> Result<Vec<Table>, Problem> {
    if words.len() > MOST_WORDS {
        return Err(Problem::of_file(
            file_name,
            format!("more than {MOST_WORDS} words"),
            "a lab's report; send its pages of results alone",
        ));
    }
    let sheets = lines::sheets(words);
    let mut groups = 0;
    let mut pages: Vec<Page> = Vec::new();
    let mut last: Option<Wide> = None;
    for sheet in &sheets {
        let page = page(sheet, last.as_ref(), &mut groups);
        if let Some(wide) = page.wides.last() {
            last = Some(wide.clone());
        }
        pages.push(page);
    }
    let tolds: Vec<Told> = pages.iter().map(|p| told::of(&p.told)).collect();
    let agree = tolds.iter().enumerate().all(|(i, a)| {
        tolds
            .iter()
            .skip(i + 1)
            .take(200)
            .all(|b| told::agree(a, b))
    });
    let lines = common(&pages, agree);
    spread(&mut pages);
    let whole = told::of(&lines);
    let mut records = Vec::new();
    for (page, of_page) in pages.into_iter().zip(tolds) {
        let told = if agree { &whole } else { &of_page };
        records.extend(samples(page, told, &mut groups));
    }
    let mut records = record::joined(records);
    records.retain(|r| !r.values.is_empty());
    record::table(file_name, &lines, &records)
        .map(|table| vec![table])
        .ok_or_else(|| {
            Problem::of_file(
                file_name,
                "no results that can be told apart",
                "a header over columns of values, or a line with name, value and unit for each test",
            )
        })
}

fn page(sheet: &Sheet, last: Option<&Wide>, groups: &mut usize) -> Page {
    let wides = wide::find(sheet, last);
    let taken: Vec<usize> = wides.iter().flat_map(|w| w.lines.iter().copied()).collect();
    *groups += 1;
    let found = panel::find(sheet, &taken, groups);
    *groups += 1;
    Page {
        wides,
        records: found.records,
        told: found
            .texts
            .into_iter()
            .filter(|c| told::tells(&c.text))
            .collect(),
    }
}

/// What the first page of a table says of all samples, such as the date, holds on the pages that
/// go on with it and say nothing.
fn spread(pages: &mut [Page]) {
    let mut said: Option<Record> = None;
    for page in pages {
        let own: Vec<&Record> = page
            .records
            .iter()
            .filter(|r| r.values.is_empty())
            .collect();
        match (own.as_slice(), page.records.len()) {
            ([one], 1) => said = Some((*one).clone()),
            ([], 0) if !page.wides.is_empty() => {
                let mut record = said.clone().unwrap_or_default();
                record
                    .labels
                    .retain(|(l, _, _)| !matches!(l, Label::Sample | Label::LabNumber));
                if !record.labels.is_empty() {
                    page.records.push(record);
                }
            }
            _ => said = None,
        }
    }
}

/// The lines of methods that hold for the whole report.
fn common(pages: &[Page], agree: bool) -> Vec<Cell> {
    let key = |c: &Cell| record::header_key(&c.text);
    let mut seen: Vec<String> = Vec::new();
    let mut out = Vec::new();
    for page in pages {
        for cell in &page.told {
            let everywhere = || {
                pages
                    .iter()
                    .filter(|p| !p.wides.is_empty() || !p.records.is_empty())
                    .all(|p| p.told.iter().any(|c| key(c) == key(cell)))
            };
            if out.len() < TOLD_LINES && !seen.contains(&key(cell)) && (agree || everywhere()) {
                seen.push(key(cell));
                out.push(cell.clone());
            }
        }
    }
    out
}

/// A page's samples with headers that name what the page states.
fn samples(page: Page, told: &Told, groups: &mut usize) -> Vec<Record> {
    let (mut singles, labels): (Vec<Record>, Vec<Record>) =
        page.records.into_iter().partition(|r| !r.values.is_empty());
    for record in &mut singles {
        for (header, _) in &mut record.values {
            *header = told::carried(header, told, false);
        }
    }
    let mut rows = Vec::new();
    for wide in &page.wides {
        *groups += 1;
        let of_wide: Vec<Record> = records_of(wide, told, *groups);
        rows.push(of_wide);
    }
    for of_wide in &mut rows {
        let alone = of_wide.len() == 1;
        for row in of_wide {
            let nameless =
                row.label(Label::Sample).is_none() && row.label(Label::LabNumber).is_none();
            // A row without a name on a page of one sample is that sample's.
            let owner = match (singles.as_slice(), labels.as_slice()) {
                ([one], []) if alone && nameless => Some(one),
                ([], [one]) => Some(one),
                _ => None,
            };
            for (label, header, cell) in owner.iter().flat_map(|o| &o.labels) {
                let of_sample = matches!(label, Label::Sample | Label::LabNumber);
                if !of_sample || (alone && nameless) {
                    row.add_label(*label, header, cell.clone());
                }
            }
        }
    }
    let mut out: Vec<Record> = rows.into_iter().flatten().collect();
    out.extend(singles);
    out
}

fn records_of(wide: &Wide, told: &Told, group: usize) -> Vec<Record> {
    let headers: Vec<(Option<Label>, String)> = wide
        .headers
        .iter()
        .enumerate()
        .map(|(i, header)| match Label::of(header) {
            Some(label) => (Some(label), header.clone()),
            None => (None, told::carried(header, told, wide::has_units(wide, i))),
        })
        .collect();
    wide.rows
        .iter()
        .map(|row| {
            let mut record = Record {
                group,
                ..Record::default()
            };
            for ((label, header), (i, cell)) in headers.iter().zip(row.iter().enumerate()) {
                if cell.text.is_empty() {
                    continue;
                }
                record.page = cell.origin.map_or(record.page, |o| o.page);
                match label {
                    Some(label) if record.label(*label).is_none() => {
                        record.add_label(*label, header, cell.clone());
                    }
                    _ if header.is_empty() => {
                        let header = format!("column {}", i + 1);
                        record.values.push((header, cell.clone()));
                    }
                    _ => record.values.push((header.clone(), cell.clone())),
                }
            }
            record
        })
        .collect()
}
