//! Invented files to begin with, in the layouts that labs print.

use flate2::Compression;
use flate2::write::DeflateEncoder;
use std::io::Write;

pub fn text() -> Vec<Vec<u8>> {
    let texts = [
        "Sample,pH,OM %,P ppm (Olsen),K ppm (Mehlich-3)\nBed 1,6.2,3.1,12,140\nBed 2,6.4,<0.1,13,\"1,240\"\nAverage,6.3,,,\n",
        "sep=;\nProbe;pH;P mg/kg;K mg/kg\nBeet 1;6,2;12,5;140\nBeet 2;6,4;13,5;1.240\n",
        "Laboratory: Our lab\nMethods: Mehlich-3\nSampling depth: 0-6 in\n\nSample\tpH\tP\tK\n\t\tppm\tlb/acre\nA\t6.2\t30 H\t140\nNotes: all on dry soil\n",
        "Sample   pH    P ppm   K ppm   Depth (in)\nBed 1    6.2      12     140   0-6\nBed 2               13            6-12\n",
        "Sample|Buffer pH (SMP)|Lime rec ton/acre|N rec lb/acre|P2O5 rec lb/1000 ft2\n=\"0012\"|6.8|2|50|1.5\n",
    ];
    let mut all: Vec<Vec<u8>> = texts.iter().map(|t| t.as_bytes().to_vec()).collect();
    let wide = texts[0].encode_utf16().flat_map(u16::to_le_bytes);
    all.push([0xFF, 0xFE].into_iter().chain(wide).collect());
    all.push(b"Sample,pH,P \xB5g/g\nB\x8Fd \xA1,6,1\n".to_vec());
    all
}

const HEAD: &str = r#"<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is><t>pH</t></is></c><c t="str"><f>A1</f><v>P ppm (Olsen)</v></c></row>"#;

/// Sheets of both forms, as their XML alone.
fn sheets() -> Vec<String> {
    vec![
        format!(
            r#"<worksheet><dimension ref="A1:C3"/><sheetData>{HEAD}<row r="2"><c r="A2"><v>1</v></c><c s="1"><v>6.2</v></c><c s="2"><v>0.032</v></c></row><row><c r="A3" t="e"><v>#N/A</v></c><c s="3"><v>0.05</v></c><c><f>B2*2</f></c></row></sheetData><mergeCells><mergeCell ref="A2:A3"/><mergeCell ref="B1:C1"/></mergeCells></worksheet>"#
        ),
        r#"<office:document-content><style:style style:name="t"><style:table-properties table:display="false"/></style:style><table:table table:name="S" table:style-name="t"><table:table-row table:number-rows-repeated="2"><table:table-cell table:number-columns-spanned="2" table:number-rows-spanned="2" office:value-type="string"><text:p>Sample<text:s text:c="2"/>name</text:p></table:table-cell><table:covered-table-cell/><table:table-cell office:value-type="float" office:value="6.2" table:number-columns-repeated="2"><text:p>6,20</text:p></table:table-cell><table:table-cell office:value-type="date" office:date-value="2026-03-04"><text:p>3/4</text:p></table:table-cell><table:table-cell office:value-type="percentage" office:value="0.032"><text:p>3.2%</text:p></table:table-cell></table:table-row></table:table></office:document-content>"#.to_owned(),
    ]
}

const FORMATS: &str = r#"<styleSheet><numFmts><numFmt numFmtId="164" formatCode="[&lt;0.1]&quot;&lt;0.1&quot;;0.0#;(0.00);@"/></numFmts><cellXfs><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="10"/><xf numFmtId="164"/></cellXfs></styleSheet>"#;

/// A workbook around the XML of one sheet; what begins as an OpenDocument is packed as one.
pub fn around(sheet: &[u8]) -> Vec<u8> {
    if sheet.starts_with(b"<office") {
        return pack(&[
            (
                "mimetype",
                b"application/vnd.oasis.opendocument.spreadsheet",
            ),
            ("content.xml", sheet),
        ]);
    }
    // Sheet and formats may both be mutated: what stands behind a zero byte are the formats.
    let (sheet, formats) = match sheet.iter().position(|b| *b == 0) {
        Some(at) => (&sheet[..at], &sheet[at + 1..]),
        None => (sheet, FORMATS.as_bytes()),
    };
    pack(&[
        ("xl/workbook.xml", br#"<workbook><workbookPr date1904="0"/><sheets><sheet name="One" r:id="a"/><sheet name="Two" state="hidden" r:id="a"/></sheets></workbook>"#),
        ("xl/_rels/workbook.xml.rels", br#"<Relationships><Relationship Id="a" Type="x/worksheet" Target="sheet.xml"/><Relationship Id="b" Type="x/sharedStrings" Target="strings.xml"/><Relationship Id="c" Type="x/styles" Target="styles.xml"/></Relationships>"#),
        ("xl/strings.xml", b"<sst><si><t>Sample</t></si><si><r><t>Bed_x0020_1</t></r></si></sst>"),
        ("xl/styles.xml", formats),
        ("xl/sheet.xml", sheet),
    ])
}

fn pack(files: &[(&str, &[u8])]) -> Vec<u8> {
    let (mut out, mut list) = (Vec::new(), Vec::new());
    for (name, text) in files {
        let mut packer = DeflateEncoder::new(Vec::new(), Compression::fast());
        let _ = packer.write_all(text);
        let data = packer.finish().unwrap_or_default();
        let mut crc = flate2::Crc::new();
        crc.update(text);
        let mut shared = vec![20, 0, 0, 0, 8, 0, 0, 0, 0, 0];
        for number in [crc.sum(), data.len() as u32, text.len() as u32] {
            shared.extend(number.to_le_bytes());
        }
        shared.extend((name.len() as u16).to_le_bytes());
        shared.extend([0; 2]);
        list.extend(b"PK\x01\x02\x14\0");
        list.extend(&shared);
        list.extend([0; 10]);
        list.extend((out.len() as u32).to_le_bytes());
        list.extend(name.as_bytes());
        out.extend(b"PK\x03\x04");
        out.extend(&shared);
        out.extend(name.as_bytes());
        out.extend(&data);
    }
    let (at, count) = (out.len() as u32, files.len() as u16);
    out.extend(&list);
    out.extend(b"PK\x05\x06\0\0\0\0");
    out.extend(count.to_le_bytes());
    out.extend(count.to_le_bytes());
    out.extend((list.len() as u32).to_le_bytes());
    out.extend(at.to_le_bytes());
    out.extend([0; 2]);
    out
}

pub fn workbook() -> Vec<Vec<u8>> {
    let sheets: Vec<Vec<u8>> = sheets().into_iter().map(String::into_bytes).collect();
    let mut all: Vec<Vec<u8>> = sheets.iter().map(|s| around(s)).collect();
    let mut both = sheets[0].clone();
    both.push(0);
    both.extend(FORMATS.as_bytes());
    all.push(both);
    all.extend(sheets);
    all
}

pub fn all() -> Vec<Vec<u8>> {
    let mut all = text();
    all.extend(workbook());
    all.push(b"%PDF-1.7\n1 0 obj\n".to_vec());
    all.push(b"<?xml version=\"1.0\"?><Result><Value>6.2</Value></Result>".to_vec());
    all.push(b"{\"Results\": [{\"pH\": 6.2}]}".to_vec());
    all
}
