//! What each reader is fed with, and what must hold whatever it is fed.

pub mod made;
pub mod mutate;
pub mod seeds;

use labfiles::{Table, propose, questions, read};

/// Longest sentence that a refusal may be, in bytes.
const LONGEST: usize = 1_000;

/// A reader under test.
pub struct Reader {
    pub name: &'static str,
    pub run: fn(&[u8]),
    pub seeds: fn() -> Vec<Vec<u8>>,
}

pub const READERS: [Reader; 8] = [
    Reader {
        name: "text",
        run: text,
        seeds: seeds::text,
    },
    Reader {
        name: "workbook",
        run: workbook,
        seeds: seeds::workbook,
    },
    Reader {
        name: "tables",
        run: tables,
        seeds: seeds::all,
    },
    Reader {
        name: "exchange",
        run: exchange,
        seeds: made::exchange,
    },
    Reader {
        name: "long",
        run: text,
        seeds: made::long,
    },
    Reader {
        name: "pasted",
        run: pasted,
        seeds: made::pasted,
    },
    Reader {
        name: "pdf",
        run: pdf,
        seeds: made::pdf,
    },
    Reader {
        name: "picture",
        run: picture,
        seeds: made::picture,
    },
];

/// Text to cells, meanings and samples.
pub fn text(bytes: &[u8]) {
    match labfiles::sniff("f.csv", bytes) {
        Ok(table) => through(&table),
        Err(problem) => sentence(&problem.to_string()),
    }
}

/// A packed workbook. Bytes that are no archive are taken as the sheet of one, so that a mutation
/// reaches the reader of sheets instead of the checksum.
pub fn workbook(bytes: &[u8]) {
    let whole;
    let bytes = if bytes.starts_with(b"PK") || bytes.starts_with(b"\xD0\xCF") {
        bytes
    } else {
        whole = seeds::around(bytes);
        &whole
    };
    match labfiles::workbook("f.xlsx", bytes) {
        Ok(tables) => {
            assert!(
                !tables.is_empty(),
                "a workbook that is read holds something"
            );
            tables.iter().for_each(through);
        }
        Err(problem) => sentence(&problem.to_string()),
    }
}

/// Any file.
pub fn tables(bytes: &[u8]) {
    match labfiles::tables("f", bytes) {
        Ok(tables) => tables.iter().for_each(through),
        Err(problem) => sentence(&problem.to_string()),
    }
}

/// A report in the exchange standard, as XML or JSON.
pub fn exchange(bytes: &[u8]) {
    match labfiles::exchange("f", bytes) {
        Ok(tables) => tables.iter().for_each(through),
        Err(problem) => sentence(&problem.to_string()),
    }
}

/// Text from a mail.
pub fn pasted(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    match labfiles::pages::pasted("the mail", &text) {
        Ok(tables) => tables.iter().for_each(through),
        Err(problem) => sentence(&problem.to_string()),
    }
}

/// Pages with text; a page without is left, since reading pictures is another program’s work.
pub fn pdf(bytes: &[u8]) {
    match labfiles::pages::pdf_text("f.pdf", bytes) {
        Ok(pages) if pages.words.is_empty() => {}
        Ok(pages) => match pages.tables("f.pdf") {
            Ok(tables) => tables.iter().for_each(through),
            Err(problem) => sentence(&problem.to_string()),
        },
        Err(problem) => sentence(&problem.to_string()),
    }
}

/// A picture up to where another program would read it: it is opened, sized, turned and cut.
pub fn picture(bytes: &[u8]) {
    match labfiles::pages::crop(bytes, 1, [10.0, 10.0, 30.0, 20.0]) {
        Ok(png) => assert!(png.starts_with(b"\x89PNG")),
        Err(problem) => sentence(&problem.to_string()),
    }
}

fn sentence(said: &str) {
    assert!(said.len() < LONGEST && said.ends_with('.'), "{said}");
    assert!(!said.contains(|c: char| c.is_control()), "{said:?}");
}

/// What is read can be written, and what is written is a file that can be read.
fn written(report: &labfiles::Report) {
    let all: Vec<labfiles::out::Written> = report
        .samples
        .iter()
        .filter(|s| !s.test.measured.is_empty() && !s.test.sample.trim().is_empty())
        .take(3)
        .map(|s| labfiles::out::Written {
            test: s.test.clone(),
            ..Default::default()
        })
        .collect();
    if all.is_empty() {
        return;
    }
    let csv = labfiles::out::tidy_csv(&all);
    if let Err(why) = labfiles::sniff("f.csv", &csv) {
        panic!(
            "a copy cannot be read: {why}\n{}",
            String::from_utf8_lossy(&csv)
        );
    }
    for copy in [
        labfiles::out::exchange_xml(&all),
        labfiles::out::exchange_json(&all),
    ] {
        if let Err(why) = labfiles::exchange("f", &copy) {
            panic!(
                "a copy cannot be read: {why}\n{}",
                String::from_utf8_lossy(&copy)
            );
        }
    }
}

/// A table to samples: answered with the first choice as long as anything is asked.
fn through(table: &Table) {
    for row in table.rows() {
        assert!(row.filled().next().is_some(), "a row holds something");
        assert!(row.width() <= 2_000);
    }
    let mut layout = propose(table);
    let mut open = questions(&layout);
    // Each of many columns offers many choices; a few answers reach what matters.
    for _ in 0..if layout.columns.len() > 40 { 2 } else { 12 } {
        let Some(q) = open.iter().find(|q| !q.choices.is_empty()) else {
            break;
        };
        let (topic, column, key) = (q.topic, q.column, q.choices[0].key.clone());
        layout
            .answer(topic, column, &key)
            .expect("a choice that is offered can be taken");
        open = questions(&layout);
    }
    match read(table, &layout) {
        Ok(report) => {
            written(&report);
            for (i, sample) in report.samples.iter().enumerate() {
                for (j, m) in sample.test.measured.iter().enumerate() {
                    assert!(m.value.is_finite() && m.value >= 0.0, "{m:?}");
                    let _ = report.working(i, j);
                }
                for j in 0..sample.test.recommended.len() {
                    let _ = report.working_of_rate(i, j);
                }
            }
        }
        Err(problems) => {
            assert!(!problems.is_empty() && problems.len() <= 200);
            problems.iter().for_each(|p| sentence(&p.to_string()));
        }
    }
}
