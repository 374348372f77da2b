//! Files made to fill memory or time: each is read or refused in a sentence, within 10 seconds, and
//! the whole run stays below 300 MB.

// The helpers of a test may stop it.
#![allow(clippy::unwrap_used)]

mod made;

use labfiles::{MOST_BYTES, Table, propose, read, tables};
use made::{around, data, file, ods, ods_of, pack, sheet, xlsx, xlsx_of};
use std::fmt::Write;
use std::sync::Mutex;
use std::time::{Duration, Instant};

const MOST_TIME: Duration = Duration::from_secs(10);
const MOST_MEMORY: usize = 300 * 1024;
/// What did not go as it should; all bombs are tried before the test fails.
static WRONG: Mutex<Vec<String>> = Mutex::new(Vec::new());
const OPEN: &str = "<worksheet><sheetData>";
const CLOSE: &str = "</sheetData></worksheet>";

/// The most memory that the process has had at once, in KB; none where the system does not say.
fn peak() -> Option<usize> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

/// Reads a file to the end and returns what it says: the refusal, the problems or the samples.
fn outcome(name: &str, bytes: &[u8]) -> String {
    match tables(name, bytes) {
        Err(problem) => problem.to_string(),
        Ok(all) => all
            .iter()
            .map(|table: &Table| match read(table, &propose(table)) {
                Ok(report) => format!("{} samples. ", report.samples.len()),
                Err(problems) => format!("{} ", problems[0]),
            })
            .collect(),
    }
}

#[track_caller]
fn bomb(what: &str, bytes: Vec<u8>, says: &str) {
    assert!(bytes.len() <= MOST_BYTES, "{what}: {} bytes", bytes.len());
    let start = Instant::now();
    let said = outcome("bomb.xlsx", &bytes);
    let took = start.elapsed();
    println!(
        "{what}: {} KB, {took:?}, peak {:?} KB: {said:.150}",
        bytes.len() / 1024,
        peak()
    );
    let mut wrong = WRONG.lock().unwrap();
    if !said.contains(says) {
        wrong.push(format!("{what}: {said:.300}"));
    }
    if took >= MOST_TIME {
        wrong.push(format!("{what}: {took:?}"));
    }
    if peak().is_some_and(|kb| kb >= MOST_MEMORY) {
        wrong.push(format!("{what}: {:?} KB", peak()));
    }
}

fn repeated<'a>(
    head: &'a str,
    middle: &'a [u8],
    times: usize,
    tail: &'a str,
) -> impl Iterator<Item = &'a [u8]> {
    std::iter::once(head.as_bytes())
        .chain(std::iter::repeat_n(middle, times))
        .chain(std::iter::once(tail.as_bytes()))
}

#[test]
fn bombs_are_refused_or_read_small() {
    unpacking();
    rectangles();
    elements();
    texts();
    plain_text();
    let wrong = WRONG.lock().unwrap();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

fn unpacking() {
    let blanks = vec![b' '; 1 << 20];
    bomb(
        "zip bomb",
        xlsx_of(repeated(OPEN, &blanks, 300, CLOSE)),
        "unpacks to more than 64 MB",
    );
    let mut files = around(&[sheet("One", "")], "", "");
    let mut lie = file(
        "xl/worksheets/sheet0.xml",
        repeated(OPEN, &blanks, 300, CLOSE),
    );
    lie.size = 1_000;
    files.push(lie);
    bomb("zip bomb that lies", pack(&files), "cut off or damaged");
    let sheets: Vec<made::Sheet> = (0..20).map(|_| sheet("S", "")).collect();
    let mut files = around(&sheets, "", "");
    for i in 0..20 {
        let name = format!("xl/worksheets/sheet{i}.xml");
        files.push(file(&name, repeated(OPEN, &blanks, 20, CLOSE)));
    }
    bomb(
        "many sheets that unpack",
        pack(&files),
        "unpacks to more than 96 MB",
    );
    let many: Vec<made::File> = (0..30_000).map(|i| file(&format!("f{i}"), [""])).collect();
    bomb(
        "many packed files",
        pack(&many),
        "more than 2000 packed files",
    );
    let sheets: Vec<made::Sheet> = (0..1_500).map(|_| sheet("S", data(&[&["a"]]))).collect();
    bomb("many sheets", xlsx(&sheets), "more than 200 sheets");
    let mut locked = around(&[sheet("One", "")], "", "");
    locked[2].flags = 1;
    bomb("locked entry", pack(&locked), "locked with a password");
    let mut old = b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1".to_vec();
    old.extend("EncryptedPackage".encode_utf16().flat_map(u16::to_le_bytes));
    bomb("locked workbook", old, "locked with a password");
    let manifest = file(
        "META-INF/manifest.xml",
        ["<a><manifest:encryption-data/></a>"],
    );
    let mime = file(
        "mimetype",
        ["application/vnd.oasis.opendocument.spreadsheet"],
    );
    bomb(
        "locked ods",
        pack(&[mime, manifest, file("content.xml", ["\u{1}"])]),
        "save it without a password",
    );
    let mut bytes = xlsx(&[sheet("One", data(&[&["Sample", "pH"], &["A", "6"]]))]);
    bomb("whole", bytes.clone(), "1 samples");
    // Without the last two bytes, the length of a note at the end, nothing is missing.
    for end in 0..bytes.len() - 2 {
        let said = outcome("cut.xlsx", &bytes[..end]);
        assert!(said.contains("expected"), "{end}: {said}");
    }
    let middle = bytes.len() / 3;
    for at in middle..middle + 200 {
        bytes[at] ^= 0x55;
        outcome("bent.xlsx", &bytes);
        bytes[at] ^= 0x55;
    }
}

fn rectangles() {
    let far = |cell: &str| format!("{OPEN}<row><c r=\"A1\"><v>1</v></c>{cell}</row>{CLOSE}");
    bomb(
        "last column",
        xlsx_of([far(r#"<c r="XFD1048576"><v>1</v></c>"#)]),
        "column XFD of row 1048576",
    );
    bomb(
        "no such cell",
        xlsx_of([far(r#"<c r="ZZZZ9"><v>1</v></c>"#)]),
        "a cell without a place",
    );
    bomb(
        "same cell",
        xlsx_of([far(r#"<c r="A1"><v>2</v></c>"#)]),
        "A1 stands twice",
    );
    let claims = format!(
        "<dimension ref=\"A1:XFD1048576\"/>{}",
        data(&[&["Sample", "pH"], &["A", "6"]])
    );
    bomb(
        "a claim of all cells",
        xlsx(&[sheet("One", claims)]),
        "1 samples",
    );
    let wide: String = (1..=2_000)
        .map(|row| format!(r#"<row r="{row}"><c r="BXX{row}"><v>1</v></c></row>"#))
        .collect();
    bomb(
        "wide rows",
        xlsx_of([OPEN, &wide, CLOSE]),
        "more than 2000000 cells",
    );
    bomb(
        "many rows",
        xlsx_of(repeated(
            OPEN,
            b"<row><c><v>1</v></c></row>",
            600_000,
            CLOSE,
        )),
        "more than 250000 rows",
    );
    let merged = repeated(
        "<worksheet><sheetData><row><c><v>1</v></c><c r=\"BXX1\"><v>1</v></c></row></sheetData>",
        br#"<mergeCell ref="A1:BXW1048576"/>"#,
        150_000,
        "</worksheet>",
    );
    bomb(
        "merged over merged",
        xlsx_of(merged),
        "more than 2000000 cells",
    );
    let mut rows = String::from(OPEN);
    for i in 0..100_000 {
        write!(rows, "<row><c><v>{i}</v></c><c/><c><v>1</v></c></row>").unwrap();
    }
    let long = format!(
        r#"<c r="B1" t="inlineStr"><is><t>{}</t></is></c>"#,
        "x".repeat(30_000)
    );
    let rows =
        rows.replacen("<c/>", &long, 1) + r#"</sheetData><mergeCell ref="B1:B99999"/></worksheet>"#;
    bomb(
        "a long text merged down",
        xlsx_of([rows]),
        "more than 24 MB of text",
    );
    let cell = |repeats: &str, text: &str| {
        format!("<table:table><table:table-row {repeats}>{text}</table:table-row></table:table>")
    };
    let one =
        "<table:table-cell office:value-type=\"string\"><text:p>x</text:p></table:table-cell>";
    let across = one.replacen(
        "cell ",
        "cell table:number-columns-repeated=\"1000000\" ",
        1,
    );
    bomb(
        "a million columns",
        ods("", &cell("", &across)),
        "beyond 2000 columns",
    );
    let down = "table:number-rows-repeated=\"1048576\"";
    bomb(
        "a million rows",
        ods("", &cell(down, one)),
        "more than 250000 rows",
    );
    let empty = cell(
        down,
        "<table:table-cell table:number-columns-repeated=\"16384\"/>",
    );
    bomb(
        "a million empty rows",
        ods("", &empty),
        "without anything in its cells",
    );
    let endless = cell("table:number-rows-repeated=\"99999999999999999999\"", one);
    bomb(
        "a count past all counts",
        ods("", &endless),
        "a count that is no number",
    );
}

fn elements() {
    bomb(
        "deep",
        xlsx_of(repeated("<worksheet>", b"<a>", 3_000_000, "")),
        "nested more than 100 deep",
    );
    bomb(
        "deep ods",
        ods_of(repeated("<a>", b"<text:span>", 3_000_000, "")),
        "nested more than 100 deep",
    );
    bomb(
        "empty cells",
        xlsx_of(repeated(
            "<worksheet><sheetData><row>",
            b"<c><v/></c>",
            6_000_000,
            "</row></sheetData></worksheet>",
        )),
        "more elements than any report has",
    );
    bomb(
        "attributes",
        xlsx_of(repeated(
            "<worksheet><sheetData><row ",
            b"a='' ",
            12_000_000,
            "/></sheetData></worksheet>",
        )),
        "without anything",
    );
    let doctype = "<!DOCTYPE a [<!ENTITY x SYSTEM \"file:///etc/passwd\">]>";
    bomb(
        "external entity",
        xlsx_of([doctype, OPEN, "<row><c t='str'><v>&x;</v></c></row>", CLOSE]),
        "a document type of its own",
    );
    bomb(
        "entity of its own",
        xlsx_of([OPEN, "<row><c t='str'><v>&x;</v></c></row>", CLOSE]),
        "entities of its own",
    );
    bomb(
        "ods entity",
        ods_of([doctype, "<a/>"]),
        "a document type of its own",
    );
    let mut laughs = String::from("<!DOCTYPE a [<!ENTITY a0 \"ha\">");
    for i in 1..40 {
        let before = format!("&a{};", i - 1).repeat(10);
        write!(laughs, "<!ENTITY a{i} \"{before}\">").unwrap();
    }
    bomb(
        "many laughs",
        xlsx_of([&laughs, "]><worksheet>&a39;</worksheet>"]),
        "a document type of its own",
    );
    bomb(
        "comment",
        xlsx_of(repeated(
            "<worksheet><!--",
            &[b'<'; 1 << 20],
            60,
            "--></worksheet>",
        )),
        "without anything",
    );
    bomb(
        "open tag",
        xlsx_of(repeated("<worksheet><a ", &[b'x'; 1 << 20], 60, "")),
        "cut off or damaged",
    );
    bomb(
        "not UTF-8",
        xlsx_of([&b"<worksheet>\xFF\xFE</worksheet>"[..]]),
        "cut off or damaged",
    );
}

fn texts() {
    let huge = vec![b'x'; 1 << 20];
    let open = "<worksheet><sheetData><row><c t='str'><v>";
    bomb(
        "a cell of 60 MB",
        xlsx_of(repeated(
            open,
            &huge,
            60,
            "</v></c></row></sheetData></worksheet>",
        )),
        "more than 24 MB of text",
    );
    let mut files = around(&[sheet("One", "")], "", "");
    files.retain(|f| f.name != "xl/sharedStrings.xml");
    files.push(file(
        "xl/sharedStrings.xml",
        repeated("<sst><si><t>", &huge, 60, "</t></si></sst>"),
    ));
    files.push(file(
        "xl/worksheets/sheet0.xml",
        [format!("{OPEN}<row><c t='s'><v>0</v></c></row>{CLOSE}")],
    ));
    bomb(
        "a shared text of 60 MB",
        pack(&files),
        "more than 24 MB of text",
    );
    let mut files = around(
        &[sheet("One", "")],
        &format!("<si><t>{}</t></si>", "x".repeat(30_000)),
        "",
    );
    files.push(file(
        "xl/worksheets/sheet0.xml",
        repeated(OPEN, b"<row><c t='s'><v>0</v></c></row>", 100_000, CLOSE),
    ));
    bomb(
        "a shared text used often",
        pack(&files),
        "more than 24 MB of text",
    );
    let mut files = around(&[sheet("One", "")], "", "");
    files.retain(|f| f.name != "xl/sharedStrings.xml");
    files.push(file(
        "xl/sharedStrings.xml",
        repeated("<sst>", b"<si/>", 12_000_000, "</sst>"),
    ));
    bomb(
        "shared texts without end",
        pack(&files),
        "more than 2000000 cells",
    );
    bomb(
        "zero byte",
        xlsx(&[sheet("One", data(&[&["Sample", "pH"], &["A\0", "6"]]))]),
        "zero byte in cell A2",
    );
    bomb(
        "zero reference",
        xlsx(&[sheet("One", data(&[&["Sample", "pH"], &["A&#0;", "6"]]))]),
        "a character that is none",
    );
    bomb(
        "formula as a name",
        xlsx(&[sheet(
            "One",
            data(&[&["Sample", "pH"], &["=cmd|' /C calc'!A1", "6"]]),
        )]),
        "a name, not a formula",
    );
    bomb(
        "from right to left",
        xlsx(&[sheet(
            "\u{202e}One",
            data(&[&["Sample", "pH"], &["\u{202e}דשא", "6"]]),
        )]),
        "1 samples",
    );
    bomb(
        "huge number",
        xlsx(&[sheet("One", data(&[&["Sample", "pH"], &["A", "9e999"]]))]),
        "expected",
    );
    bomb(
        "long number",
        xlsx(&[sheet(
            "One",
            data(&[&["Sample", "pH"], &["A", &"9".repeat(100_000)]]),
        )]),
        "expected",
    );
    let formats = format!(
        "<cellXfs>{}</cellXfs>",
        "<xf numFmtId='14'/>".repeat(100_000)
    );
    let dates = data(&[&["Sample", "pH"], &["A", "<c s='1'><v>9e300</v></c>"]]);
    bomb(
        "a day past all days",
        made::xlsx_with(&[sheet("One", dates)], "", &formats),
        "expected",
    );
}

fn plain_text() {
    let of = |head: &str, row: &str| {
        let rows = (MOST_BYTES - head.len()) / row.len();
        format!("{head}{}", row.repeat(rows)).into_bytes()
    };
    bomb(
        "short rows",
        of("Sample,pH\n", "a\n"),
        "more than 250000 rows",
    );
    bomb("rows of nothing", of("Sample,pH\nA,6\n", "\n"), "1 samples");
    bomb(
        "rows of commas",
        of("Sample,pH\nA,6\n", ",,,,,,,,,\n"),
        "1 samples",
    );
    bomb("one row of commas", of("", ","), "more than 2000 cells");
    bomb(
        "many cells",
        of("Sample,pH\n", &format!("{}\n", "1,".repeat(1_000))),
        "more than 2000000 cells",
    );
    bomb("quotes", of("Sample,pH\n", "\""), "expected");
    bomb(
        "quoted line ends",
        of("Sample,pH\nA,6\n", "\"\n\","),
        "more than 250000 rows",
    );
    // A long cell must not make room for itself in each row after it.
    let long = format!("Sample,pH\n{},6\n", "x".repeat(5_000_000));
    let mut rows = long.into_bytes();
    for i in 0..200_000 {
        rows.extend(format!("Bed {i},6\n").as_bytes());
    }
    bomb("a long cell before many rows", rows, "200001 samples");
    bomb(
        "aligned rows",
        of("Sample   pH   P ppm   K ppm\n", "a\n"),
        "more than 250000 rows",
    );
    bomb(
        "one line",
        of("Sample   pH   P ppm   K ppm\n", "x  "),
        "expected",
    );
    bomb("header words", of("", "pH "), "expected");
}
