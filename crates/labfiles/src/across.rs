//! A table with a row an analyte and a sample in each column, turned to a row a sample.

use crate::pivot::Pivot;
use crate::table::{Row, Table};
use crate::{header, long};

/// How far down the row of names is looked for.
const WITHIN: usize = 12;
/// The fewest rows of analytes that make such a table.
const LEAST: usize = 3;

/// Turns a table whose first column names analytes and whose other columns are samples; columns of
/// units and methods go into the headers. Each value keeps the row of the file it stood in.
///
/// None: the table is not of that kind.
pub(crate) fn turned(table: &Table) -> Option<Table> {
    let rows = table.rows();
    let (at, end) = (0..rows.len().min(WITHIN)).find_map(|at| {
        let values = rows.get(at + 1..)?;
        let end = values.iter().take_while(|r| names_a_value(r)).count();
        (end >= LEAST && !names_a_value(rows.get(at)?)).then_some((at, end))
    })?;
    let head = rows.get(at)?;
    let values = rows.get(at + 1..at + 1 + end)?;
    let (about, samples): (Vec<usize>, Vec<usize>) = (1..head.width())
        .filter(|c| !head.cell(*c).is_empty())
        .partition(|c| is_about(values, *c));
    if samples.is_empty()
        || samples
            .iter()
            .all(|c| values.iter().all(|r| r.cell(*c).is_empty()))
    {
        return None;
    }
    // “Result” over the values heads a page of one sample, not a sample of that name.
    if samples.iter().any(|c| long::is_part(head.cell(*c))) {
        return None;
    }
    let mut pivot = Pivot::default();
    let sample = pivot.column("sample", None, || "Sample".to_owned());
    let lines: Vec<usize> = samples.iter().map(|_| pivot.line(head.number())).collect();
    for (line, column) in lines.iter().zip(&samples) {
        pivot.say(*line, sample, head.cell(*column), head.number());
    }
    for row in values {
        let text = text_of(row, &about);
        let column = pivot.column(&format!("{}\0{text}", row.number()), None, || text.clone());
        for (line, at) in lines.iter().zip(&samples) {
            pivot.say(*line, column, row.cell(*at), row.number());
        }
        if pivot.is_too_large() {
            return None;
        }
    }
    let whole = |row: &Row| {
        let cells = row.cells().map(str::to_owned).collect::<Vec<_>>();
        (row.number(), cells)
    };
    let above = rows[..at].iter().map(whole).collect();
    let below = rows[at + 1 + end..].iter().map(whole).collect();
    Some(pivot.table(table.file(), Some(table), above, head.number(), below, ""))
}

/// Whether the row begins with the name of a value or a rate.
fn names_a_value(row: &Row) -> bool {
    let name = row.cell(0);
    !name.is_empty() && header::guess(name).meaning.is_number()
}

/// Whether a column says units or methods, and no value.
fn is_about(values: &[Row], column: usize) -> bool {
    let cells: Vec<&str> = values
        .iter()
        .map(|r| r.cell(column))
        .filter(|c| !c.is_empty())
        .collect();
    !cells.is_empty()
        && cells.iter().all(|c| {
            !c.starts_with(|x: char| x.is_ascii_digit() || "<>".contains(x))
                || header::is_under_header(c) && c.chars().any(char::is_alphabetic)
        })
}

fn text_of(row: &Row, about: &[usize]) -> String {
    let mut text = row.cell(0).to_owned();
    for column in about {
        let more = row.cell(*column);
        if !more.is_empty() {
            text.push_str(&format!(" ({more})"));
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use crate::{propose, questions, read, tables};
    use agronomy::soil::{Analyte, Extractant};

    #[test]
    fn samples_side_by_side_become_rows() {
        let text = "Lab\nTest,Unit,Method,Barn,Creek\npH,,1:1 water,6.0,5.5\nPhosphorus,ppm,Mehlich 3,92,107\nPotassium,ppm,Mehlich 3,170,\n";
        let table = tables("a.csv", text.as_bytes()).unwrap().remove(0);
        let layout = propose(&table);
        assert!(
            questions(&layout).iter().all(|q| !q.blocking),
            "{layout:#?}"
        );
        let report = read(&table, &layout).unwrap();
        let names: Vec<_> = report.tests().map(|t| t.sample.as_str()).collect();
        assert_eq!(names, ["Barn", "Creek"]);
        let p = report.samples[1].test.get(Analyte::P).unwrap();
        assert_eq!((p.value, p.extractant), (107.0, Some(Extractant::Mehlich3)));
        assert_eq!(report.samples[1].test.value(Analyte::K), None);
    }
}
