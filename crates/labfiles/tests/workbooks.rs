//! Workbooks as labs save them: what a person sees in a cell is what is read.

// The helpers of a test may stop it.
#![allow(clippy::unwrap_used)]

mod made;

use agronomy::soil::{Analyte, Bound, Extractant};
use labfiles::{FileForm, Report, Table, Topic, form, propose, questions, read, tables, workbook};
use made::{Sheet, data, ods, sheet, xlsx, xlsx_with};

fn cells(table: &Table) -> Vec<(usize, Vec<String>)> {
    let rows = table.rows().iter();
    rows.map(|r| (r.number(), r.cells().map(str::to_owned).collect()))
        .collect()
}

fn first(bytes: &[u8]) -> Table {
    workbook("f.xlsx", bytes).unwrap().remove(0)
}

fn as_proposed(table: &Table) -> Report {
    let layout = propose(table);
    assert_eq!(questions(&layout), vec![]);
    read(table, &layout).unwrap()
}

const HEAD: &[&str] = &["Sample", "pH", "OM %", "P ppm (Olsen)"];

#[test]
fn numbers_days_formulas_and_errors_are_as_seen() {
    let strings = "<si><t>Sample</t></si><si><r><t>P ppm </t></r><r><t>(Olsen)</t></r>\
                   <rPh><t>no</t></rPh></si><si><t xml:space=\"preserve\"> Bed &amp; 1 &#181;_x000D_ </t></si>";
    let formats = r#"<numFmts><numFmt numFmtId="164" formatCode="0.0%"/><numFmt numFmtId="165" formatCode="[&lt;0.1]&quot;&lt;0.1&quot;;0.00"/></numFmts>
        <cellStyleXfs><xf numFmtId="14"/></cellStyleXfs>
        <cellXfs><xf/><xf numFmtId="14"/><xf numFmtId="164"/><xf numFmtId="165"/><xf numFmtId="2"/></cellXfs>"#;
    let body = r#"<dimension ref="A1:XFD1048576"/><sheetData>
        <row r="3"><c r="A3" t="s"><v>0</v></c><c r="C3" t="s"><v>1</v></c></row>
        <row r="5"><c t="s"><v>2</v></c><c><v>6.2000000000000002</v></c><c s="1"><v>45351</v></c><c s="2"><v>3.2000000000000001E-2</v></c><c s="3"><v>0.05</v></c><c s="4"><v>6.5</v></c></row>
        <row><c t="str"><f>A1&amp;"x"</f><v>Bed x</v></c><c><f>B5*2</f><v>12.4</v></c><c t="e"><f>1/0</f><v>#DIV/0!</v></c><c t="b"><v>1</v></c><c><f>SUM(B1)</f></c><c t="d"><v>2026-03-04T00:00:00</v></c></row>
        </sheetData>"#;
    let table = first(&xlsx_with(&[sheet("One", body)], strings, formats));
    let text = |cells: &[&str]| cells.iter().map(|c| (*c).to_owned()).collect::<Vec<_>>();
    assert_eq!(
        cells(&table),
        [
            (3, text(&["Sample", "", "P ppm (Olsen)"])),
            (
                5,
                text(&["Bed & 1 µ", "6.2", "2024-02-29", "3.2%", "<0.1", "6.50"])
            ),
            (
                6,
                text(&["Bed x", "12.4", "#DIV/0!", "TRUE", "=SUM(B1)", "2026-03-04"])
            ),
        ]
    );
    assert_eq!(table.sheets(), ["One"]);
}

#[test]
fn a_value_shown_in_per_cent_is_per_cent() {
    let formats = r#"<cellXfs><xf/><xf numFmtId="10"/></cellXfs>"#;
    let row = r#"<c s="1"><v>0.032</v></c>"#;
    let body = data(&[HEAD, &["A", "6.2", row, "12"]]);
    let report = as_proposed(&first(&xlsx_with(&[sheet("S", body)], "", formats)));
    let test = &report.samples[0].test;
    assert!((test.value(Analyte::OrganicMatter).unwrap() - 3.2).abs() < 1e-9);
}

#[test]
fn a_problem_names_sheet_row_and_letter() {
    let body = data(&[
        &["Our report"],
        HEAD,
        &["A", "6.2", "3", "12"],
        &["B", "6", "2", "#N/A"],
    ]);
    let table = first(&xlsx(&[sheet("North end", body)]));
    let problems = read(&table, &propose(&table)).unwrap_err();
    assert_eq!(problems.len(), 1);
    assert_eq!(
        problems[0].to_string(),
        "f.xlsx, sheet “North end”, row 4, column D “P ppm (Olsen)”: found “#N/A”, expected a number."
    );
    let stored = serde_json::to_string(&problems[0]).unwrap();
    assert_eq!(
        serde_json::from_str::<labfiles::Problem>(&stored).unwrap(),
        problems[0]
    );
}

#[test]
fn merged_headers_count_for_each_column_and_merged_names_for_each_row() {
    let rows = data(&[
        &["Results of our lab for Pipit Lane"],
        &[
            "Sample",
            "Depth (in)",
            "pH",
            "Mehlich-3, ppm",
            "",
            "",
            "Base saturation, %",
            "",
        ],
        &["", "", "", "P", "K", "Mg", "K", "Mg"],
        &["Bed 1", "0-6", "6.2", "30", "140", "150", "3", "12"],
        &["", "6-12", "6.4", "20", "120", "160", "3", "12"],
        &["Bed 2", "0-6", "6.1", "31", "141", "151", "3", "12"],
        &["All values on dry soil"],
    ]);
    let merged = [
        "A1:H1", "A2:A3", "B2:B3", "C2:C3", "D2:F2", "G2:H2", "A4:A5", "A7:H7",
    ];
    let merged: String = merged
        .iter()
        .map(|m| format!(r#"<mergeCell ref="{m}"/>"#))
        .collect();
    let body = format!("{rows}<mergeCells>{merged}</mergeCells>");
    let table = first(&xlsx(&[sheet("S", body)]));
    assert_eq!(table.rows()[0].filled().count(), 1, "a title is one cell");
    let report = as_proposed(&table);
    let names: Vec<_> = report
        .samples
        .iter()
        .map(|s| s.test.sample.as_str())
        .collect();
    assert_eq!(names, ["Bed 1", "Bed 1", "Bed 2"]);
    for sample in &report.samples {
        let p = sample.test.get(Analyte::P).unwrap();
        assert_eq!(p.extractant, Some(Extractant::Mehlich3));
        assert_eq!(sample.test.measured.len(), 4);
    }
    assert_eq!(report.samples[2].test.value(Analyte::K), Some(141.0));
    assert_eq!(report.left_out.len(), 1);
    // The units merged under a header merged down the other way.
    let rows = data(&[
        &["Sample", "pH", "P", "K"],
        &["", "", "ppm (M3)", "ppm (M3)"],
        &["Bed 1", "6.2", "30", "140"],
    ]);
    let merged = r#"<mergeCells><mergeCell ref="A1:A2"/><mergeCell ref="B1:B2"/></mergeCells>"#;
    let report = as_proposed(&first(&xlsx(&[sheet("S", rows + merged)])));
    assert_eq!(report.samples[0].test.value(Analyte::K), Some(140.0));
}

#[test]
fn sheets_with_one_header_are_joined_and_keep_their_places() {
    let north = data(&[
        &["Our lab"],
        HEAD,
        &["A", "6.2", "3", "12"],
        &["Average", "6.2", "3", "12"],
    ]);
    let south = data(&[
        &["Our lab"],
        HEAD,
        &["B", "6.4", "4", "13"],
        &["C", "6", "2", "<c t=\"e\"><v>#REF!</v></c>"],
    ]);
    let other = data(&[&["Key", "Words"], &["OM", "organic matter"]]);
    let bytes = xlsx(&[
        sheet("Key", other),
        sheet("North", north),
        sheet("South", south),
    ]);
    let all = workbook("f.xlsx", &bytes).unwrap();
    assert_eq!(all.len(), 2, "the samples first, the key last");
    let table = &all[0];
    assert_eq!(table.sheets(), ["North", "South"]);
    assert_eq!(all[1].sheets(), ["Key"]);
    let problems = read(table, &propose(table)).unwrap_err();
    assert_eq!(problems.len(), 1);
    let said = problems[0].to_string();
    assert!(said.contains("sheet “South”, row 4, column D"), "{said}");

    let south = data(&[HEAD, &["B", "6.4", "4", "13"]]);
    let north = data(&[
        &["Our lab"],
        HEAD,
        &["A", "6.2", "3", "12"],
        &["Average", "6.2", "3", "12"],
    ]);
    let mehlich = data(&[
        &["Sample", "pH", "OM %", "P ppm (M3)"],
        &["D", "6", "3", "50"],
    ]);
    let mut hidden = sheet("Old", data(&[HEAD, &["Z", "5", "1", "1"]]));
    hidden.state = "hidden";
    // One says its lab and the other does not: they are not the same report.
    let apart = workbook(
        "f.xlsx",
        &xlsx(&[sheet("N", north.clone()), sheet("S", south.clone())]),
    );
    assert_eq!(apart.unwrap().len(), 2);
    let plain = data(&[
        HEAD,
        &["A", "6.2", "3", "12"],
        &["Average", "6.2", "3", "12"],
    ]);
    let sheets = [
        hidden,
        sheet("N", plain),
        sheet("M", mehlich),
        sheet("S", south),
    ];
    let all = workbook("f.xlsx", &xlsx(&sheets)).unwrap();
    let names: Vec<_> = all.iter().map(|t| t.sheets().to_vec()).collect();
    assert_eq!(names, [vec!["N", "S"], vec!["M"], vec!["Old"]]);
    assert!(all[2].is_hidden());
    let report = as_proposed(&all[0]);
    let places: Vec<_> = report
        .samples
        .iter()
        .map(|s| (s.test.sample.as_str(), s.sheet.as_deref(), s.row))
        .collect();
    assert_eq!(places, [("A", Some("N"), 2), ("B", Some("S"), 2)]);
    assert_eq!(report.left_out.len(), 1);
    assert_eq!(
        (report.left_out[0].row, report.left_out[0].sheet.as_deref()),
        (3, Some("N"))
    );
}

#[test]
fn an_opendocument_spreadsheet_is_read_as_seen() {
    let cell = |kind: &str, value: &str, seen: &str| {
        format!(
            r#"<table:table-cell office:value-type="{kind}" {value}><text:p>{seen}</text:p></table:table-cell>"#
        )
    };
    let text = |seen: &str| cell("string", "", seen);
    let number =
        |value: &str, seen: &str| cell("float", &format!(r#"office:value="{value}""#), seen);
    let row = |cells: &[String]| format!("<table:table-row>{}</table:table-row>", cells.concat());
    let head = row(&[
        text("Sample"),
        r#"<table:table-cell table:number-columns-spanned="2" office:value-type="string"><text:p>Mehlich<text:s/>3, ppm</text:p></table:table-cell><table:covered-table-cell/>"#.into(),
        text("pH"),
        text("Depth (in)"),
    ]);
    let second = row(&[
        text("Sample"),
        text("P"),
        text("K"),
        text("pH"),
        text("Depth (in)"),
    ]);
    let body = format!(
        r#"<table:table table:name="Old" table:style-name="ta2">{second}{}</table:table>
        <table:table table:name="Bede" table:style-name="ta1"><table:table-row table:number-rows-repeated="3"><table:table-cell table:number-columns-repeated="16384"/></table:table-row>{head}{second}{}{}<table:table-row table:number-rows-repeated="1048000"><table:table-cell table:number-columns-repeated="16384"/></table:table-row></table:table>"#,
        row(&[text("Z"), number("1", "1"), number("2", "2"), number("3", "3"), text("0-6")]),
        row(&[
            text("Bed<text:line-break/>1"),
            number("30.2", "30,20"),
            number("1240", "1.240"),
            number("6.2000000000000002", "6,2"),
            cell("date", r#"office:date-value="2026-06-08T00:00:00""#, "6/8"),
        ]),
        row(&[
            r#"<table:table-cell office:value-type="string"><office:annotation><text:p>a note</text:p></office:annotation><text:p>Bed 2</text:p></table:table-cell>"#.into(),
            number("0.05", "&lt;0,1"),
            r#"<table:table-cell table:formula="of:=1/0" office:value-type="string" office:string-value=""><text:p>#DIV/0!</text:p></table:table-cell>"#.into(),
            r#"<table:table-cell table:formula="of:=[.A1]"/>"#.into(),
            cell("percentage", r#"office:value="0.5""#, "50%"),
        ]),
    );
    let styles = r#"<style:style style:name="ta1"><style:table-properties table:display="true"/></style:style><style:style style:name="ta2"><style:table-properties table:display="false"/></style:style>"#;
    let all = workbook("f.ods", &ods(styles, &body)).unwrap();
    assert_eq!(all.len(), 2);
    assert!(all[1].is_hidden());
    let text = |cells: &[&str]| cells.iter().map(|c| (*c).to_owned()).collect::<Vec<_>>();
    assert_eq!(
        cells(&all[0]),
        [
            (
                4,
                text(&[
                    "Sample",
                    "Mehlich 3, ppm",
                    "Mehlich 3, ppm",
                    "pH",
                    "Depth (in)"
                ])
            ),
            (5, text(&["Sample", "P", "K", "pH", "Depth (in)"])),
            (6, text(&["Bed 1", "30.20", "1240", "6.2", "2026-06-08"])),
            (7, text(&["Bed 2", "<0.1", "#DIV/0!", "=of:=[.A1]", "50%"])),
        ]
    );
    let layout = propose(&all[0]);
    assert_eq!(layout.column(2).unwrap().header, "P Mehlich 3, ppm");
}

#[test]
fn numbers_of_a_workbook_are_never_asked_about_their_mark() {
    let body = data(&[HEAD, &["A", "6.125", "1.250", "10.125"]]);
    let report = as_proposed(&first(&xlsx(&[sheet("S", body)])));
    assert_eq!(report.samples[0].test.value(Analyte::P), Some(10.125));
    // Texts with a comma beside them make it a question again.
    let body = data(&[
        HEAD,
        &[
            "A",
            "6.125",
            "1.250",
            "<c t=\"inlineStr\"><is><t>12,5</t></is></c>",
        ],
    ]);
    let layout = propose(&first(&xlsx(&[sheet("S", body)])));
    assert!(
        questions(&layout)
            .iter()
            .any(|q| q.topic == Topic::DecimalMark && q.blocking)
    );
    let body = data(&[HEAD, &["A", "6.125", "1.250", "&lt; 0.5"]]);
    let report = as_proposed(&first(&xlsx(&[sheet("S", body)])));
    assert_eq!(
        report.samples[0].test.get(Analyte::P).unwrap().bound,
        Bound::Below
    );
}

#[test]
fn the_form_is_in_the_bytes() {
    let book = xlsx(&[sheet("S", data(&[HEAD, &["A", "6", "3", "12"]]))]);
    let other = |bytes: &[u8]| match form("f.csv", bytes) {
        FileForm::Other(what) => what,
        form => panic!("{form:?}"),
    };
    assert_eq!(form("f.csv", &book), FileForm::Workbook);
    assert_eq!(
        form("f.csv", &ods("", "<table:table/>")),
        FileForm::Workbook
    );
    assert_eq!(form("f.xlsx", &book[..200]), FileForm::Workbook);
    assert_eq!(form("f.xlsx", b"Sample,pH\nA,6\n"), FileForm::Text);
    assert_eq!(form("f.pdf", b"\n%PDF-1.7\n"), FileForm::Pdf);
    assert_eq!(form("f.csv", b"\x89PNG\r\n\x1a\n"), FileForm::Picture);
    assert_eq!(form("x", b"RIFF\0\0\0\0WEBPVP8"), FileForm::Picture);
    assert_eq!(form("x", b"\0\0\0\x18ftypheic"), FileForm::Picture);
    assert_eq!(
        form("x", b"\xEF\xBB\xBF<?xml version=\"1.0\"?><Result/>"),
        FileForm::ExchangeXml
    );
    assert_eq!(form("x", b" {\"Events\": []}"), FileForm::ExchangeJson);
    assert_eq!(form("x", b"<0.1,6,7\n"), FileForm::Text);
    assert_eq!(form("x", b"[Bed 1],6,7\n"), FileForm::Text);
    assert_eq!(form("x", b"BM,pH\n1,6\n"), FileForm::Text);
    assert_eq!(form("x", b"PK,pH\n1,6\n"), FileForm::Text);
    assert_eq!(other(b" \n"), "an empty file");
    assert_eq!(other(b"PK\x03\x04abc"), "a packed file that is no workbook");
    assert_eq!(other(b"<!DOCTYPE html><html>"), "a web page");
    assert_eq!(other(b"{\\rtf1"), "a text document");
    assert_eq!(
        form("f.bin", &[1, 2, 3, 4]),
        FileForm::Other("a file that is not text".to_owned())
    );
    let said = |name: &str, bytes: &[u8]| tables(name, bytes).unwrap_err().to_string();
    assert_eq!(
        said("f.pdf", b"%PDF-1.7"),
        "f.pdf: found a broken PDF, or no PDF at all, expected a whole one; fetch it from the lab \
         again."
    );
    assert!(said("f", b"").contains("found nothing"));
    assert!(said("f.csv", &[1, 2, 3, 4]).contains("control characters"));
    assert_eq!(tables("f", &book).unwrap().len(), 1);
    assert_eq!(tables("f", b"Sample,pH\nA,6\n").unwrap()[0].rows().len(), 2);
}

#[test]
fn a_thousand_samples_in_a_workbook_are_all_read() {
    let mut rows = String::from("<sheetData>");
    rows.push_str(
        &data(&[HEAD])
            .replace("<sheetData>", "")
            .replace("</sheetData>", ""),
    );
    for i in 0..1_000 {
        rows.push_str(&format!(
            "<row><c t=\"inlineStr\"><is><t>Bed {i}</t></is></c><c><v>6.{}</v></c><c><v>3.1</v></c><c><v>{i}</v></c></row>",
            i % 10
        ));
    }
    let bytes = xlsx(&[Sheet {
        name: "S",
        state: "",
        body: rows + "</sheetData>",
    }]);
    let start = std::time::Instant::now();
    let report = as_proposed(&first(&bytes));
    println!("a thousand samples in a workbook: {:?}", start.elapsed());
    assert_eq!(report.samples.len(), 1_000);
    assert_eq!(report.samples[999].test.value(Analyte::P), Some(999.0));
    assert_eq!(report.samples[999].row, 1_001);
}
