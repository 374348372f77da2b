//! A CSV file taken apart as far as it goes, so that one bad row does not hide the next.

use super::Fault;

/// One row: its number and its cells under the header's names.
#[derive(Debug, Clone)]
pub(super) struct Cells {
    pub(super) row: usize,
    cells: Vec<(String, String)>,
}

impl Cells {
    /// The cell, empty where the row has none.
    pub(super) fn get(&self, column: &str) -> &str {
        self.cells
            .iter()
            .find(|(name, _)| name == column)
            .map_or("", |(_, cell)| cell)
    }
}

#[derive(Debug)]
pub(super) struct Sheet {
    file: String,
    pub(super) rows: Vec<Cells>,
}

impl Sheet {
    /// Reads a file and notes what is wrong with its shape; none where its columns cannot be used.
    pub(super) fn read(
        file: &str,
        text: &str,
        needed: &[&str],
        maybe: &[&str],
        faults: &mut Vec<Fault>,
    ) -> Option<Self> {
        let mut reader = csv::ReaderBuilder::new()
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
        let mut sheet = Self {
            file: file.to_owned(),
            rows: Vec::new(),
        };
        let header: Vec<String> = match reader.headers() {
            Ok(names) => names.iter().map(str::to_owned).collect(),
            Err(e) => {
                faults.push(sheet.whole(e.to_string(), "a CSV file"));
                return None;
            }
        };
        let mut usable = true;
        for name in needed {
            let times = header.iter().filter(|h| h == name).count();
            if times != 1 {
                usable = false;
                faults.push(Fault {
                    row: Some(1),
                    column: Some((*name).to_owned()),
                    ..sheet.whole(
                        format!("this column {times} times"),
                        "it once in the header",
                    )
                });
            }
        }
        for name in &header {
            if !needed.contains(&name.as_str()) && !maybe.contains(&name.as_str()) {
                faults.push(Fault {
                    row: Some(1),
                    column: Some(name.clone()),
                    stops: false,
                    ..sheet.whole(
                        "a column that is not read",
                        format!("only {}", [needed, maybe].concat().join(", ")),
                    )
                });
            }
        }
        for (i, record) in reader.records().enumerate() {
            let record = match record {
                Ok(record) => record,
                Err(e) => {
                    faults.push(Fault {
                        row: Some(i + 2),
                        ..sheet.whole(e.to_string(), "a row of text in UTF-8")
                    });
                    continue;
                }
            };
            if record.len() != header.len() {
                faults.push(Fault {
                    row: Some(i + 2),
                    ..sheet.whole(
                        format!("{} cells", record.len()),
                        format!(
                            "{}, one for each column; put words with a comma in double quotes",
                            header.len()
                        ),
                    )
                });
            }
            sheet.rows.push(Cells {
                row: i + 2,
                cells: header
                    .iter()
                    .cloned()
                    .zip(record.iter().map(str::to_owned))
                    .collect(),
            });
        }
        usable.then_some(sheet)
    }

    /// A fault of the file as a whole.
    pub(super) fn whole(&self, found: impl Into<String>, expected: impl Into<String>) -> Fault {
        Fault {
            file: self.file.clone(),
            row: None,
            column: None,
            found: found.into(),
            expected: expected.into(),
            stops: true,
        }
    }

    /// A fault of one cell.
    pub(super) fn at(&self, cells: &Cells, column: &str, expected: impl Into<String>) -> Fault {
        let cell = cells.get(column);
        let found = if cell.is_empty() {
            "nothing".to_owned()
        } else {
            format!("“{cell}”")
        };
        Fault {
            row: Some(cells.row),
            column: Some(column.to_owned()),
            ..self.whole(found, expected)
        }
    }

    /// As [`Self::at`], for a fault that leaves the table usable.
    pub(super) fn doubt(&self, cells: &Cells, column: &str, expected: impl Into<String>) -> Fault {
        Fault {
            stops: false,
            ..self.at(cells, column, expected)
        }
    }
}
