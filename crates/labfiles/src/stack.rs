//! A header over several rows: “Organic” over “Matter” over “%”.

use crate::header;
use crate::table::Row;
use crate::words::WORDS;

/// The header's texts with the row under it taken in; none where that row is a sample.
///
/// A row belongs to the header when it holds units and methods only, or when it holds no number and
/// with it no fewer columns are understood than without. `above` is the header's last row so far: a cell
/// that only repeats it stands for a merged cell.
pub(crate) fn with_row(texts: &[String], above: &Row, row: &Row) -> Option<Vec<String>> {
    let pieces: Vec<(usize, &str)> = row
        .filled()
        .filter(|(i, cell)| above.cell(*i) != *cell)
        .collect();
    if pieces.is_empty() {
        return None;
    }
    let mut joined = texts.to_vec();
    for (i, cell) in &pieces {
        if joined.len() <= *i {
            joined.resize(*i + 1, String::new());
        }
        let text = &mut joined[*i];
        if !text.is_empty() {
            text.push(' ');
        }
        text.push_str(cell);
    }
    let units = pieces.iter().all(|(_, cell)| header::is_under_header(cell));
    (units || continues(texts, &joined, &pieces)).then_some(joined)
}

/// How many rows above may name what the header's row leaves empty.
const ABOVE: usize = 2;

/// The texts of the header's row; where it is empty, the header's words right above it: a spreadsheet's
/// cell merged over several rows holds its text in the first.
pub(crate) fn top(rows: &[Row], at: usize) -> Vec<String> {
    let Some(row) = rows.get(at) else {
        return Vec::new();
    };
    let above: Vec<&Row> = rows[at.saturating_sub(ABOVE)..at]
        .iter()
        .rev()
        // A title stands alone in its row.
        .filter(|r| r.filled().count() >= 2 && r.number() + ABOVE >= row.number())
        .collect();
    let width = above
        .iter()
        .map(|r| r.width())
        .fold(row.width(), usize::max);
    (0..width)
        .map(|i| match row.cell(i) {
            "" => above
                .iter()
                .map(|r| r.cell(i))
                .find(|cell| !cell.is_empty())
                .filter(|cell| header::recognised(std::iter::once(*cell)) == 1)
                .unwrap_or_default(),
            cell => cell,
        })
        .map(str::to_owned)
        .collect()
}

/// Whether more is understood with the row than without, or as much and the row is all known words.
fn continues(texts: &[String], joined: &[String], pieces: &[(usize, &str)]) -> bool {
    let number =
        |cell: &str| cell.starts_with(|c: char| c.is_ascii_digit() || "<>+-.=".contains(c));
    let known = |texts: &[String]| header::recognised(texts.iter().map(String::as_str));
    let all_known = pieces
        .iter()
        .all(|(_, cell)| WORDS.scan(cell).unknown.is_empty());
    pieces.len() >= 2
        && !pieces.iter().any(|(_, cell)| number(cell))
        && known(joined) >= known(texts) + usize::from(!all_known)
}

#[cfg(test)]
mod tests {
    use crate::table::Table;
    use crate::{Meaning, propose};

    fn table(rows: &[&[&str]]) -> Table {
        let rows = rows.iter().enumerate();
        Table::new(
            "made.csv",
            rows.map(|(i, r)| (i + 1, r.iter().map(|c| (*c).to_owned()).collect())),
        )
    }

    #[test]
    fn a_header_over_three_rows_is_one() {
        let table = table(&[
            &["Sample", "Soil", "Organic", "K"],
            &["ID", "pH", "Matter", ""],
            &["", "water", "%", "K, ppm"],
            &["North", "6.1", "3.2", "140"],
        ]);
        let layout = propose(&table);
        assert_eq!(layout.under_rows, [2, 3]);
        let keys: Vec<String> = layout.columns.iter().map(|c| c.meaning.key()).collect();
        assert_eq!(keys, ["sample", "value:ph", "value:om", "value:k"]);
        assert!(layout.columns.iter().all(|c| c.sure));
    }

    #[test]
    fn a_cell_merged_downwards_is_taken_once() {
        let table = table(&[
            &["Sample", "Organic", "Organic", "pH"],
            &["Sample", "Matter", "Matter rating", "water"],
            &["North", "3.2", "M", "6.1"],
        ]);
        let layout = propose(&table);
        assert_eq!(layout.under_rows, [2]);
        assert_eq!(layout.columns[0].header, "Sample");
    }

    #[test]
    fn a_cell_merged_over_two_rows_names_its_column() {
        let table = table(&[
            &["Fern Soil Lab", "", "", "", "", ""],
            &["Sample", "Lab No.", "Acidity", "Mehlich 3 (ppm)", "", ""],
            &["", "", "pH", "K", "Mg", "Ca"],
            &["", "", "water", "", "", ""],
            &["North", "17", "6.1", "140", "88", "910"],
        ]);
        let layout = propose(&table);
        assert_eq!(layout.header_row, 3);
        let keys: Vec<String> = layout.columns.iter().map(|c| c.meaning.key()).collect();
        assert_eq!(
            keys,
            [
                "sample",
                "lab_number",
                "value:ph",
                "value:k",
                "value:mg",
                "value:ca"
            ]
        );
    }

    #[test]
    fn a_sample_without_numbers_stays_a_sample() {
        let table = table(&[
            &["Sample", "Crop", "pH", "K ppm"],
            &["North", "carrot", "n/a", "n/a"],
            &["South", "leek", "6.1", "140"],
        ]);
        let layout = propose(&table);
        assert!(layout.under_rows.is_empty(), "{:?}", layout.under_rows);
        assert_eq!(layout.columns[0].meaning, Meaning::Sample);
    }
}
