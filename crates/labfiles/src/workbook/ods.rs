//! Sheets of an OpenDocument spreadsheet. Elements and attributes: OpenDocument 1.3 part 3,
//! sections 9.1, 9.2, 16.29 and 19.

use super::packed::Packed;
use super::plain;
use super::refused::Refused;
use super::sheet::{Area, Sheet};
use super::xml::{Element, Step, Xml};
use crate::limits::{Budget, MOST_SHEETS};
use std::collections::BTreeSet;

/// The most cells that one cell is repeated to; the sheet's end is filled with such empty ones.
const REPEATED: usize = 1_100_000;

pub(crate) fn sheets(packed: &mut Packed<'_>, budget: &mut Budget) -> Result<Vec<Sheet>, Refused> {
    if let Some(manifest) = packed.text("META-INF/manifest.xml")?
        && manifest.contains("encryption-data")
    {
        return Err(Refused::locked());
    }
    let content = packed
        .text("content.xml")?
        .ok_or_else(|| Refused::broken("content.xml is missing"))?;
    let mut xml = Xml::new(&content);
    let mut sheets: Vec<Sheet> = Vec::new();
    let mut hidden = BTreeSet::new();
    let mut style = String::new();
    while let Some(step) = xml.next()? {
        let Step::Open(element) = step else { continue };
        match element.name() {
            "style" => style = element.attribute("style:name")?.unwrap_or_default(),
            "table-properties"
                if element.attribute("table:display")?.as_deref() == Some("false") =>
            {
                hidden.insert(style.clone());
            }
            // Tables elsewhere are changes kept, or copies of other files.
            "tracked-changes" | "dde-link" | "shapes" => xml.skip()?,
            "table" => {
                if sheets.len() == MOST_SHEETS {
                    return Err(Refused::much(format!("more than {MOST_SHEETS} sheets")));
                }
                let name = element.attribute("table:name")?.unwrap_or_default();
                let style = element.attribute("table:style-name")?.unwrap_or_default();
                let mut sheet = Sheet::new(&name, hidden.contains(&style));
                table(&mut xml, &mut sheet, budget).map_err(|e| e.in_sheet(&name))?;
                sheets.push(sheet);
            }
            _ => {}
        }
    }
    Ok(sheets)
}

/// The rows of a table, to its end.
fn table(xml: &mut Xml<'_>, sheet: &mut Sheet, budget: &mut Budget) -> Result<(), Refused> {
    let mut next = 1_usize;
    while let Some(step) = xml.next()? {
        match step {
            Step::Open(element) => match element.name() {
                "table-row" => {
                    let repeated = element.count("table:number-rows-repeated")?.min(REPEATED);
                    let cells = row(xml)?;
                    for (column, repeats, cell) in &cells {
                        if let Some((below, right)) = cell.spans {
                            sheet.merge(Area {
                                top: next,
                                bottom: next.saturating_add(below.saturating_sub(1)),
                                left: *column,
                                right: column.saturating_add(right.saturating_sub(1)),
                            })?;
                        }
                        if cell.text.is_empty() {
                            continue;
                        }
                        for row in next..next.saturating_add(repeated) {
                            for column in *column..column.saturating_add(*repeats) {
                                sheet.points += usize::from(cell.point);
                                sheet.put(budget, row, column, &cell.text)?;
                            }
                        }
                    }
                    next = next.saturating_add(repeated);
                }
                "shapes" | "forms" | "named-expressions" | "table-source" => xml.skip()?,
                _ => {}
            },
            Step::Close(name) if name.as_str() == "table" => return Ok(()),
            _ => {}
        }
    }
    Err(Refused::broken("a table without an end"))
}

#[derive(Debug, Default)]
struct Cell {
    text: String,
    point: bool,
    /// rows down and columns right that it is merged over
    spans: Option<(usize, usize)>,
}

/// The cells of a row that say something: column, repeats, cell.
fn row(xml: &mut Xml<'_>) -> Result<Vec<(usize, usize, Cell)>, Refused> {
    let mut cells = Vec::new();
    let mut next = 0_usize;
    while let Some(step) = xml.next()? {
        match step {
            Step::Open(element) if element.name() == "table-cell" => {
                let repeated = repeats(&element)?;
                let spans = (
                    element.count("table:number-rows-spanned")?,
                    element.count("table:number-columns-spanned")?,
                );
                let mut cell = cell(xml, &element)?;
                cell.spans = Some(spans).filter(|s| *s != (1, 1) && !cell.text.is_empty());
                if !cell.text.is_empty() {
                    cells.push((next, repeated, cell));
                }
                next = next.saturating_add(repeated);
            }
            Step::Open(element) if element.name() == "covered-table-cell" => {
                // What lies under a merged cell is not seen.
                next = next.saturating_add(repeats(&element)?);
                xml.skip()?;
            }
            Step::Open(_) => xml.skip()?,
            Step::Close(name) if name.as_str() == "table-row" => return Ok(cells),
            _ => {}
        }
    }
    Err(Refused::broken("a row without an end"))
}

fn repeats(element: &Element<'_>) -> Result<usize, Refused> {
    let repeats = element.count("table:number-columns-repeated")?;
    Ok(repeats.min(REPEATED))
}

/// A cell as seen, and whether its number has a decimal point.
fn cell(xml: &mut Xml<'_>, element: &Element<'_>) -> Result<Cell, Refused> {
    let kind = element.attribute("office:value-type")?.unwrap_or_default();
    let value = element.attribute("office:value")?;
    let date = element.attribute("office:date-value")?;
    let formula = element.attribute("table:formula")?;
    let seen = seen(xml)?;
    let seen = seen.trim();
    let mut cell = Cell::default();
    let number = || value.and_then(|v| v.trim().parse::<f64>().ok());
    match kind.as_str() {
        "date" => cell.text = date.map_or_else(|| seen.to_owned(), |d| iso(&d)),
        "float" | "percentage" | "currency" if !is_error(seen) => match number() {
            Some(number) => {
                cell.text = as_seen(number, seen, kind == "percentage");
                cell.point = cell.text.contains('.');
            }
            None => cell.text = seen.to_owned(),
        },
        "" if seen.is_empty() => {
            // A formula whose value was never worked out would be a value lost in silence.
            cell.text = formula.map_or_else(String::new, |f| format!("={f}"));
        }
        _ => cell.text = seen.to_owned(),
    }
    Ok(cell)
}

fn is_error(seen: &str) -> bool {
    seen.starts_with('#') || seen.starts_with("Err:")
}

/// `2026-03-04T00:00:00` is a day, with a time other than midnight both.
fn iso(date: &str) -> String {
    match date.split_once('T') {
        Some((day, time)) if time.trim_matches(['0', ':', '.', 'Z']).is_empty() => day.to_owned(),
        Some((day, time)) => format!("{day} {}", time.trim_end_matches('Z')),
        None => date.to_owned(),
    }
}

/// A number with the decimals, the sign of a bound and the unit that its cell shows, whatever the
/// country's marks.
fn as_seen(value: f64, seen: &str, percent: bool) -> String {
    let scaled = if percent { value * 100.0 } else { value };
    let exact = plain::number(scaled);
    let digit = |c: char| c.is_ascii_digit();
    let (Some(from), Some(to)) = (seen.find(digit), seen.rfind(digit)) else {
        // A word is shown for the number, such as “n.d.”.
        return if seen.is_empty() {
            exact
        } else {
            seen.to_owned()
        };
    };
    let digits = &seen[from..=to];
    let after = seen[to + 1..].trim();
    let before = seen[..from].trim().trim_end_matches(['-', '−', '(']);
    let shown: String = digits.chars().filter(char::is_ascii_digit).collect();
    let decimals = digits
        .rfind(['.', ','])
        .map_or(0, |at| digits.len() - at - 1);
    let number = [decimals, 0]
        .into_iter()
        .map(|d| plain::fixed(scaled, d))
        .find(|text| text.chars().filter(char::is_ascii_digit).eq(shown.chars()))
        .filter(|text| {
            let count = |t: &str| t.chars().filter(digit_of).skip_while(|c| *c == '0').count();
            count(text) > 1 || count(&exact) <= count(text)
        });
    match number {
        Some(number) => format!("{before}{number}{}{after}", gap(after)),
        // `<0.1` shown for 0.05: the cell's words are what the lab says.
        None if before.starts_with(['<', '>', '≤', '≥']) => seen.to_owned(),
        None if percent => format!("{exact}%"),
        None => exact,
    }
}

fn digit_of(c: &char) -> bool {
    c.is_ascii_digit()
}

fn gap(after: &str) -> &'static str {
    let word = after.starts_with(|c: char| c.is_alphanumeric());
    if word { " " } else { "" }
}

/// The paragraphs of a cell, without notes and pictures, to the cell's end.
fn seen(xml: &mut Xml<'_>) -> Result<String, Refused> {
    let mut text = String::new();
    let mut inside = 0_usize;
    while let Some(step) = xml.next()? {
        match step {
            Step::Open(element) => match element.name() {
                "p" | "h" => {
                    if !text.is_empty() {
                        text.push(' ');
                    }
                    inside += 1;
                }
                "s" => {
                    let count = element.count("text:c")?.min(100);
                    text.push_str(&" ".repeat(count));
                }
                "tab" | "line-break" => text.push(' '),
                "span" | "a" => {}
                _ => xml.skip()?,
            },
            Step::Text(part) if inside > 0 => text.push_str(&part),
            Step::Text(_) => {}
            Step::Close(name) => match name.as_str() {
                "p" | "h" => inside = inside.saturating_sub(1),
                "table-cell" => return Ok(text),
                _ => {}
            },
        }
    }
    Err(Refused::broken("a cell without an end"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_as_seen_in_any_country() {
        for (value, seen, percent, expected) in [
            (6.2, "6,20", false, "6.20"),
            (6.2, "6.2", false, "6.2"),
            (1240.0, "1.240", false, "1240"),
            (1240.5, "1.240,50", false, "1240.50"),
            (1240.0, "1,240", false, "1240"),
            (0.032, "3,20%", true, "3.20%"),
            (0.05, "<0.1", false, "<0.1"),
            (0.1, "< 0,1", false, "<0.1"),
            (12.04, "12.0 ppm", false, "12.0 ppm"),
            (0.4, "0", false, "0.4"),
            (0.0, "n.d.", false, "n.d."),
            (-1.5, "-1,5", false, "-1.5"),
            (6.200000000000001, "", false, "6.2"),
        ] {
            assert_eq!(as_seen(value, seen, percent), expected, "{seen}");
        }
        assert_eq!(iso("2026-03-04T00:00:00"), "2026-03-04");
        assert_eq!(iso("2026-03-04"), "2026-03-04");
        assert_eq!(iso("2026-03-04T10:30:00"), "2026-03-04 10:30:00");
    }
}
