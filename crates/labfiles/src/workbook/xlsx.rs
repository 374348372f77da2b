//! Sheets of an Office Open XML workbook. Elements and attributes: ECMA-376 part 1, 18.2 to 18.8;
//! relations: part 2, clause 9.

use super::packed::Packed;
use super::plain;
use super::refused::Refused;
use super::sheet::{Area, Sheet};
use super::shown::{Format, built_in};
use super::xml::{Element, Step, Xml};
use crate::limits::{Budget, MOST_SHEETS, MOST_TEXT};
use std::collections::BTreeMap;

/// The last row and one past the last column that a sheet can have.
const LAST_ROW: usize = 1_048_576;
const COLUMNS: usize = 16_384;
const WORKBOOK: &str = "xl/workbook.xml";

/// What all sheets of a workbook share.
struct Shared {
    strings: Strings,
    /// by a cell's style; none where a number is shown as it is
    formats: Vec<Option<Format>>,
    from_1904: bool,
}

/// The table of texts, one after another.
#[derive(Default)]
struct Strings {
    text: String,
    ends: Vec<u32>,
}

impl Strings {
    fn get(&self, at: usize) -> Option<&str> {
        let end = *self.ends.get(at)? as usize;
        let before = at.checked_sub(1).and_then(|a| self.ends.get(a));
        self.text.get(before.map_or(0, |e| *e as usize)..end)
    }
}

pub(crate) fn sheets(packed: &mut Packed<'_>, budget: &mut Budget) -> Result<Vec<Sheet>, Refused> {
    let book_at = related(packed, "_rels/.rels", "")?
        .into_values()
        .find(|(kind, _)| kind.ends_with("/officeDocument"))
        .map_or_else(|| WORKBOOK.to_owned(), |(_, target)| target);
    let book = packed
        .text(&book_at)?
        .ok_or_else(|| Refused::broken("its list of sheets is missing"))?;
    let (folder, name) = book_at.rsplit_once('/').unwrap_or(("", &book_at));
    let parts = related(
        packed,
        &joined(folder, &format!("_rels/{name}.rels")),
        folder,
    )?;
    let part = |kind: &str| {
        let mut all = parts.values();
        all.find(|(k, _)| k.ends_with(kind)).map(|(_, t)| t.clone())
    };
    let (listed, from_1904) = listed(&book)?;
    let mut shared = Shared {
        strings: Strings::default(),
        formats: Vec::new(),
        from_1904,
    };
    if let Some(at) = part("/sharedStrings")
        && let Some(text) = packed.text(&at)?
    {
        shared.strings = strings(&text, budget)?;
    }
    if let Some(at) = part("/styles")
        && let Some(text) = packed.text(&at)?
    {
        shared.formats = formats(&text)?;
    }
    let mut sheets = Vec::new();
    for Listed { name, id, hidden } in listed {
        let Some((kind, at)) = parts.get(&id) else {
            return Err(Refused::broken("a sheet is missing"));
        };
        // Charts and macros have sheets of their own kind.
        if !kind.ends_with("/worksheet") {
            continue;
        }
        let text = packed
            .text(at)?
            .ok_or_else(|| Refused::broken("a sheet is missing"))?;
        let mut sheet = Sheet::new(&name, hidden);
        read(&text, &mut sheet, &shared, budget).map_err(|e| e.in_sheet(&name))?;
        sheets.push(sheet);
    }
    Ok(sheets)
}

/// A path in the package from a folder and a target relative to it.
fn joined(folder: &str, target: &str) -> String {
    if let Some(whole) = target.strip_prefix('/') {
        return whole.to_owned();
    }
    let mut parts: Vec<&str> = folder.split('/').filter(|p| !p.is_empty()).collect();
    for part in target.split('/') {
        match part {
            ".." => {
                parts.pop();
            }
            "." | "" => {}
            part => parts.push(part),
        }
    }
    parts.join("/")
}

/// What a part refers to: id to (kind, path). Files outside the package are never looked at.
fn related(
    packed: &mut Packed<'_>,
    name: &str,
    folder: &str,
) -> Result<BTreeMap<String, (String, String)>, Refused> {
    let mut all = BTreeMap::new();
    let Some(text) = packed.text(name)? else {
        return Ok(all);
    };
    let mut xml = Xml::new(&text);
    while let Some(step) = xml.next()? {
        if let Step::Open(element) = step
            && element.name() == "Relationship"
            && element.attribute("TargetMode")?.as_deref() != Some("External")
            && let (Some(id), Some(kind), Some(target)) = (
                element.attribute("Id")?,
                element.attribute("Type")?,
                element.attribute("Target")?,
            )
        {
            all.insert(id, (kind, joined(folder, &target)));
        }
    }
    Ok(all)
}

struct Listed {
    name: String,
    id: String,
    hidden: bool,
}

/// The sheets in order, and whether days are counted from 1904.
fn listed(book: &str) -> Result<(Vec<Listed>, bool), Refused> {
    let (mut sheets, mut from_1904) = (Vec::new(), false);
    let mut xml = Xml::new(book);
    while let Some(step) = xml.next()? {
        let Step::Open(element) = step else { continue };
        match element.name() {
            "workbookPr" => {
                let from = element.attribute("date1904")?;
                from_1904 = matches!(from.as_deref(), Some("1" | "true" | "on"));
            }
            "sheet" => {
                if sheets.len() == MOST_SHEETS {
                    return Err(Refused::much(format!("more than {MOST_SHEETS} sheets")));
                }
                let state = element.attribute("state")?;
                sheets.push(Listed {
                    name: element.attribute("name")?.unwrap_or_default(),
                    id: element.attribute("id")?.unwrap_or_default(),
                    hidden: matches!(state.as_deref(), Some("hidden" | "veryHidden")),
                });
            }
            _ => {}
        }
    }
    Ok((sheets, from_1904))
}

fn strings(text: &str, budget: &mut Budget) -> Result<Strings, Refused> {
    let mut all = Strings::default();
    let mut xml = Xml::new(text);
    let mut inside = false;
    while let Some(step) = xml.next()? {
        match step {
            Step::Open(element) => match element.name() {
                "t" => inside = true,
                // How a text is pronounced is no part of it.
                "rPh" => xml.skip()?,
                _ => {}
            },
            Step::Text(part) if inside => all.text.push_str(&part),
            Step::Text(_) => {}
            Step::Close(name) => match name.as_str() {
                "t" => inside = false,
                "si" => {
                    budget.cells(1).map_err(Refused::much)?;
                    let end = u32::try_from(all.text.len());
                    all.ends
                        .push(end.map_err(|_| Refused::much("endless text"))?);
                }
                _ => {}
            },
        }
    }
    Ok(all)
}

/// The number formats of the cell styles, by position.
fn formats(text: &str) -> Result<Vec<Option<Format>>, Refused> {
    let mut own: BTreeMap<usize, String> = BTreeMap::new();
    let mut of_cells = Vec::new();
    let mut within = false;
    let mut xml = Xml::new(text);
    let number = |text: Option<String>| text.and_then(|t| t.trim().parse::<usize>().ok());
    while let Some(step) = xml.next()? {
        match step {
            Step::Open(element) => match element.name() {
                "numFmt" => {
                    if let (Some(id), Some(code)) = (
                        number(element.attribute("numFmtId")?),
                        element.attribute("formatCode")?,
                    ) {
                        own.insert(id, code);
                    }
                }
                "cellXfs" => within = true,
                "xf" if within && of_cells.len() < 70_000 => {
                    of_cells.push(number(element.attribute("numFmtId")?).unwrap_or(0));
                }
                _ => {}
            },
            Step::Close(name) if name.as_str() == "cellXfs" => within = false,
            _ => {}
        }
    }
    // Each format is taken apart once, however many styles use it.
    let mut parsed: BTreeMap<usize, Option<Format>> = BTreeMap::new();
    let all = of_cells.into_iter().map(|id| {
        let format = parsed.entry(id).or_insert_with(|| {
            let code = own.get(&id).map_or_else(|| built_in(id), String::as_str);
            (code != "General").then(|| Format::parse(code))
        });
        format.clone()
    });
    Ok(all.collect())
}

/// A cell as it is read.
#[derive(Default)]
struct Cell {
    row: usize,
    column: usize,
    kind: String,
    style: usize,
    value: String,
    formula: String,
    is_formula: bool,
}

/// Which text is being read.
#[derive(PartialEq)]
enum In {
    Nothing,
    Value,
    Formula,
}

fn read(
    text: &str,
    sheet: &mut Sheet,
    shared: &Shared,
    budget: &mut Budget,
) -> Result<(), Refused> {
    let mut xml = Xml::new(text);
    let (mut row, mut column) = (0_usize, 0_usize);
    let mut cell = Cell::default();
    let mut inside = In::Nothing;
    while let Some(step) = xml.next()? {
        match step {
            Step::Open(element) => match element.name() {
                "row" => {
                    row = match element.attribute("r")? {
                        Some(text) => text.trim().parse().unwrap_or(0),
                        None => row + 1,
                    };
                    column = 0;
                    if !(1..=LAST_ROW).contains(&row) {
                        return Err(Refused::broken("a row that no sheet has"));
                    }
                }
                "c" => {
                    cell = start(&element, row, column)?;
                    column = cell.column + 1;
                }
                "v" | "t" => inside = In::Value,
                "f" => {
                    inside = In::Formula;
                    cell.is_formula = true;
                }
                "rPh" => xml.skip()?,
                "mergeCell" => {
                    let reference = element.attribute("ref")?.unwrap_or_default();
                    sheet.merge(area(&reference)?)?;
                }
                _ => {}
            },
            Step::Text(part) if cell.value.len() + part.len() > MOST_TEXT => {
                return Err(too_long());
            }
            Step::Text(part) => match inside {
                In::Value => cell.value.push_str(&part),
                In::Formula => cell.formula.push_str(&part),
                In::Nothing => {}
            },
            Step::Close(name) => match name.as_str() {
                "v" | "t" | "f" => inside = In::Nothing,
                "c" => put(std::mem::take(&mut cell), sheet, shared, budget)?,
                _ => {}
            },
        }
    }
    Ok(())
}

fn too_long() -> Refused {
    Refused::much(format!("more than {} MB of text", MOST_TEXT / 1024 / 1024))
}

fn start(element: &Element<'_>, row: usize, column: usize) -> Result<Cell, Refused> {
    let (row, column) = match element.attribute("r")? {
        Some(text) => {
            place(text.trim()).ok_or_else(|| Refused::broken("a cell without a place"))?
        }
        None => (row, column),
    };
    if row == 0 {
        return Err(Refused::broken("a cell outside all rows"));
    }
    let style = element.attribute("s")?;
    Ok(Cell {
        row,
        column,
        kind: element.attribute("t")?.unwrap_or_default(),
        style: style.and_then(|s| s.trim().parse().ok()).unwrap_or(0),
        ..Cell::default()
    })
}

/// Row from 1 and column from 0 of `C5` or `$C$5`.
fn place(reference: &str) -> Option<(usize, usize)> {
    let reference = reference.replace('$', "");
    let end = reference.find(|c: char| !c.is_ascii_alphabetic())?;
    let (letters, digits) = reference.split_at(end);
    if letters.is_empty() || letters.len() > 3 {
        return None;
    }
    let column = letters.bytes().fold(0, |sum, b| {
        sum * 26 + usize::from(b.to_ascii_uppercase() - b'A') + 1
    });
    let row = digits.parse().ok()?;
    ((1..=LAST_ROW).contains(&row) && column <= COLUMNS).then_some((row, column - 1))
}

fn area(reference: &str) -> Result<Area, Refused> {
    let (from, to) = reference.split_once(':').unwrap_or((reference, reference));
    let broken = || Refused::broken("merged cells");
    let (top, left) = place(from).ok_or_else(broken)?;
    let (bottom, right) = place(to).ok_or_else(broken)?;
    Ok(Area {
        top,
        bottom,
        left,
        right,
    })
}

fn put(cell: Cell, sheet: &mut Sheet, shared: &Shared, budget: &mut Budget) -> Result<(), Refused> {
    let value = cell.value.as_str();
    let text = match cell.kind.as_str() {
        "s" => {
            let at = value.trim().parse().ok();
            let text = at.and_then(|at| shared.strings.get(at));
            let text = text.ok_or_else(|| Refused::broken("a text that is missing"))?;
            return sheet.put(budget, cell.row, cell.column, &unescaped(text));
        }
        "b" => match value.trim() {
            "1" => "TRUE".to_owned(),
            "0" => "FALSE".to_owned(),
            other => other.to_owned(),
        },
        "d" => value.trim().trim_end_matches("T00:00:00").replace('T', " "),
        "" | "n" => {
            let number: Option<f64> = value.trim().parse().ok();
            let text = match number.filter(|n| n.is_finite()) {
                Some(number) => match shared.formats.get(cell.style) {
                    Some(Some(format)) => format.show(number, shared.from_1904),
                    _ => plain::number(number),
                },
                None => value.to_owned(),
            };
            sheet.points += usize::from(number.is_some() && text.contains('.'));
            text
        }
        // Errors such as #N/A stay as they are and are questioned as no number.
        _ => unescaped(value),
    };
    if text.is_empty() && cell.is_formula && value.is_empty() && cell.kind != "str" {
        // A formula whose value was never worked out would be a value lost in silence.
        let formula = format!("={}", cell.formula);
        return sheet.put(budget, cell.row, cell.column, &formula);
    }
    sheet.put(budget, cell.row, cell.column, &text)
}

/// `_x000D_` stands for a character that the format cannot hold.
fn unescaped(text: &str) -> String {
    if !text.contains("_x") {
        return text.to_owned();
    }
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find("_x") {
        let (before, from) = rest.split_at(at);
        out.push_str(before);
        let code = from
            .get(2..6)
            .filter(|_| from.get(6..7) == Some("_"))
            .and_then(|hex| u32::from_str_radix(hex, 16).ok())
            .and_then(char::from_u32);
        match code {
            Some(c) => {
                out.push(c);
                rest = from.get(7..).unwrap_or_default();
            }
            None => {
                out.push_str("_x");
                rest = from.get(2..).unwrap_or_default();
            }
        }
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_letters_and_a_number() {
        assert_eq!(place("A1"), Some((1, 0)));
        assert_eq!(place("$C$5"), Some((5, 2)));
        assert_eq!(place("XFD1048576"), Some((1_048_576, 16_383)));
        for none in [
            "", "A", "1", "A0", "XFE1", "ZZZZ1", "A1048577", "A-1", "ÄA1",
        ] {
            assert_eq!(place(none), None, "{none}");
        }
    }

    #[test]
    fn paths_stay_inside_the_package() {
        assert_eq!(
            joined("xl", "worksheets/sheet1.xml"),
            "xl/worksheets/sheet1.xml"
        );
        assert_eq!(joined("xl", "/xl/styles.xml"), "xl/styles.xml");
        assert_eq!(joined("xl", "../../../etc/x"), "etc/x");
    }

    #[test]
    fn escapes_are_characters() {
        assert_eq!(unescaped("a_x000D_b_x_c_xZZZZ_"), "a\rb_x_c_xZZZZ_");
        assert_eq!(unescaped("_x00"), "_x00");
    }
}
