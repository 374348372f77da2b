//! Workbooks made by hand, so that a test can make them wrong.

// Each test that takes this in uses a part of it.
#![allow(dead_code, clippy::unwrap_used)]

use flate2::Compression;
use flate2::write::DeflateEncoder;
use std::io::Write;

/// One packed file, with what its entries say of it.
pub struct File {
    pub name: String,
    pub data: Vec<u8>,
    pub size: u32,
    pub checksum: u32,
    pub flags: u16,
}

/// A file whose text is given in pieces, so that a bomb need not lie in memory.
pub fn file(name: &str, pieces: impl IntoIterator<Item = impl AsRef<[u8]>>) -> File {
    let mut out = DeflateEncoder::new(Vec::new(), Compression::fast());
    let mut crc = flate2::Crc::new();
    for piece in pieces {
        out.write_all(piece.as_ref()).unwrap();
        crc.update(piece.as_ref());
    }
    File {
        name: name.to_owned(),
        size: crc.amount(),
        checksum: crc.sum(),
        data: out.finish().unwrap(),
        flags: 0,
    }
}

pub fn pack(files: &[File]) -> Vec<u8> {
    let (mut out, mut list) = (Vec::new(), Vec::new());
    for f in files {
        let at = u32::try_from(out.len()).unwrap();
        let mut shared = Vec::new();
        shared.extend(20u16.to_le_bytes());
        shared.extend(f.flags.to_le_bytes());
        shared.extend(8u16.to_le_bytes());
        shared.extend([0; 4]);
        shared.extend(f.checksum.to_le_bytes());
        shared.extend(u32::try_from(f.data.len()).unwrap().to_le_bytes());
        shared.extend(f.size.to_le_bytes());
        shared.extend(u16::try_from(f.name.len()).unwrap().to_le_bytes());
        shared.extend([0; 2]);
        out.extend(b"PK\x03\x04");
        out.extend(&shared);
        out.extend(f.name.as_bytes());
        out.extend(&f.data);
        list.extend(b"PK\x01\x02");
        list.extend([20, 0]);
        list.extend(&shared);
        list.extend([0; 10]);
        list.extend(at.to_le_bytes());
        list.extend(f.name.as_bytes());
    }
    let at = u32::try_from(out.len()).unwrap();
    let count = u16::try_from(files.len()).unwrap();
    out.extend(&list);
    out.extend(b"PK\x05\x06\0\0\0\0");
    out.extend(count.to_le_bytes());
    out.extend(count.to_le_bytes());
    out.extend(u32::try_from(list.len()).unwrap().to_le_bytes());
    out.extend(at.to_le_bytes());
    out.extend([0; 2]);
    out
}

/// A sheet of an XLSX: name, state, and its XML from `<sheetData>` on.
pub struct Sheet {
    pub name: &'static str,
    pub state: &'static str,
    pub body: String,
}

pub fn sheet(name: &'static str, body: impl Into<String>) -> Sheet {
    Sheet {
        name,
        state: "visible",
        body: body.into(),
    }
}

/// Rows as `<sheetData>`: a cell that starts with a digit is a number, `=` a formula as it is, the
/// rest an inline text; empty cells are left out.
pub fn data(rows: &[&[&str]]) -> String {
    let mut out = String::from("<sheetData>");
    for row in rows {
        out.push_str("<row>");
        for cell in *row {
            let number = cell.starts_with(|c: char| c.is_ascii_digit());
            if cell.is_empty() {
                out.push_str("<c/>");
            } else if number {
                out.push_str(&format!("<c><v>{cell}</v></c>"));
            } else if cell.starts_with('<') {
                out.push_str(cell);
            } else {
                out.push_str(&format!(r#"<c t="inlineStr"><is><t>{cell}</t></is></c>"#));
            }
        }
        out.push_str("</row>");
    }
    out + "</sheetData>"
}

const RELATIONS: &str = "http://schemas.openxmlformats.org/package/2006/relationships";
const KINDS: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";

/// The files of an XLSX around its sheets.
pub fn around(sheets: &[Sheet], strings: &str, formats: &str) -> Vec<File> {
    let mut book = format!(r#"<workbook xmlns="{MAIN}" xmlns:r="{KINDS}"><sheets>"#);
    let mut relations = format!(r#"<Relationships xmlns="{RELATIONS}">"#);
    for (i, s) in sheets.iter().enumerate() {
        let (name, state) = (s.name, s.state);
        book.push_str(&format!(
            r#"<sheet name="{name}" sheetId="{i}" state="{state}" r:id="r{i}"/>"#
        ));
        relations.push_str(&format!(
            r#"<Relationship Id="r{i}" Type="{KINDS}/worksheet" Target="worksheets/sheet{i}.xml"/>"#
        ));
    }
    relations.push_str(&format!(
        r#"<Relationship Id="s" Type="{KINDS}/sharedStrings" Target="/xl/sharedStrings.xml"/>
        <Relationship Id="t" Type="{KINDS}/styles" Target="styles.xml"/></Relationships>"#
    ));
    book.push_str("</sheets></workbook>");
    let top = format!(
        r#"<Relationships xmlns="{RELATIONS}"><Relationship Id="a" Type="{KINDS}/officeDocument" Target="xl/workbook.xml"/></Relationships>"#
    );
    vec![
        file("[Content_Types].xml", ["<Types/>"]),
        file("_rels/.rels", [top]),
        file("xl/workbook.xml", [book]),
        file("xl/_rels/workbook.xml.rels", [relations]),
        file("xl/sharedStrings.xml", [format!("<sst>{strings}</sst>")]),
        file(
            "xl/styles.xml",
            [format!("<styleSheet>{formats}</styleSheet>")],
        ),
    ]
}

pub fn xlsx_with(sheets: &[Sheet], strings: &str, formats: &str) -> Vec<u8> {
    let mut files = around(sheets, strings, formats);
    for (i, s) in sheets.iter().enumerate() {
        let xml = format!(r#"<worksheet xmlns="{MAIN}">{}</worksheet>"#, s.body);
        files.push(file(&format!("xl/worksheets/sheet{i}.xml"), [xml]));
    }
    pack(&files)
}

pub fn xlsx(sheets: &[Sheet]) -> Vec<u8> {
    xlsx_with(sheets, "", "")
}

/// An XLSX with one sheet given in pieces.
pub fn xlsx_of(pieces: impl IntoIterator<Item = impl AsRef<[u8]>>) -> Vec<u8> {
    let mut files = around(&[sheet("One", "")], "", "");
    files.push(file("xl/worksheets/sheet0.xml", pieces));
    pack(&files)
}

/// An ODS from what stands in `<office:spreadsheet>`, with styles before it.
pub fn ods(styles: &str, body: &str) -> Vec<u8> {
    ods_of([
        format!(
            "<office:document-content><office:automatic-styles>{styles}</office:automatic-styles><office:body><office:spreadsheet>"
        ),
        body.to_owned(),
        "</office:spreadsheet></office:body></office:document-content>".to_owned(),
    ])
}

pub fn ods_of(pieces: impl IntoIterator<Item = impl AsRef<[u8]>>) -> Vec<u8> {
    pack(&[
        file(
            "mimetype",
            ["application/vnd.oasis.opendocument.spreadsheet"],
        ),
        file("META-INF/manifest.xml", ["<manifest:manifest/>"]),
        file("content.xml", pieces),
    ])
}
