//! Seeds that are built: reports in the exchange standard, pages with text, pictures.

use flate2::Compression;
use flate2::write::ZlibEncoder;
use std::io::Write;

/// The published standard’s first version, in both forms, and our own writing of a report in it.
pub fn exchange() -> Vec<Vec<u8>> {
    let mut all: Vec<Vec<u8>> = [
        r#"<?xml version="1.0"?><ModusResult><Events><Event><EventMetaData><EventDate>2026-10-02</EventDate></EventMetaData><EventSamples><Soil><DepthRefs><DepthRef DepthID="1"><StartingDepth>0</StartingDepth><EndingDepth>6</EndingDepth><DepthUnit>in</DepthUnit></DepthRef></DepthRefs><SoilSample><SampleMetaData><SampleNumber>Bed 1</SampleNumber></SampleMetaData><Depths><Depth DepthID="1"><NutrientResults><NutrientResult><Element>pH</Element><Value>6.2</Value><ModusTestID>S-PH-1:1.02.07</ModusTestID></NutrientResult><NutrientResult><Element>P</Element><Value>31</Value><ValueUnit>ppm</ValueUnit><ModusTestID>S-P-M3.04</ModusTestID></NutrientResult></NutrientResults></Depth></Depths></SoilSample></Soil></EventSamples></Event></Events></ModusResult>"#,
        r#"{"Events":[{"EventMetaData":{"EventDate":"2026-10-02","EventType":{"Soil":true}},"LabMetaData":{"LabName":"Our lab"},"EventSamples":{"Soil":{"DepthRefs":[{"DepthID":1,"StartingDepth":0,"EndingDepth":6,"DepthUnit":"in"}],"SoilSamples":[{"SampleMetaData":{"SampleNumber":"Bed 1"},"Depths":[{"DepthID":1,"NutrientResults":[{"Element":"pH","Value":6.2},{"Element":"K","Value":"140","ValueUnit":"ppm"}]}]}]}}}]}"#,
        r#"{"Results":[{"Sample":"A","pH":6.2,"K":{"Value":140,"Unit":"ppm"}}]}"#,
    ]
    .iter()
    .map(|t| t.as_bytes().to_vec())
    .collect();
    let written = written();
    all.push(labfiles::out::exchange_xml(&written));
    all.push(labfiles::out::exchange_json(&written));
    all
}

/// A report with a value a row, as we write it.
pub fn long() -> Vec<Vec<u8>> {
    vec![
        labfiles::out::tidy_csv(&written()),
        b"Sample ID,Analyte,Method,Result,Units\n1,pH,1:1 water,6.2,\n1,Phosphorus,Olsen,12,ppm\n2,pH,1:1 water,<5,\n2,Phosphorus,Olsen,ND,ppm\n".to_vec(),
        b"Analyte,Unit,Bed 1,Bed 2\npH,,6.2,6.4\nP (Mehlich 3),ppm,30,41\nOM,%,3.1,2.9\n".to_vec(),
    ]
}

fn written() -> Vec<labfiles::out::Written> {
    let text = b"Sample,pH,OM %,P ppm (Olsen),K ppm (Mehlich-3),Lime rec ton/acre\nBed 1,6.2,3.1,12,140,1\nBed 2,6.4,<0.1,13,99,0\n";
    let Ok(table) = labfiles::sniff("f.csv", text) else {
        return Vec::new();
    };
    let layout = labfiles::propose(&table);
    labfiles::read(&table, &layout).map_or_else(
        |_| Vec::new(),
        |report| {
            report
                .samples
                .into_iter()
                .map(|s| labfiles::out::Written {
                    test: s.test,
                    ..Default::default()
                })
                .collect()
        },
    )
}

/// Numbers pasted from a mail.
pub fn pasted() -> Vec<Vec<u8>> {
    [
        "Hi, here are the results:\n\nBed 1: pH 6.2, P 31 ppm, K 140 ppm\nBed 2: pH 6.4, P 28 ppm, K 120 ppm\n\nBest, the lab",
        "Sample   pH    P     K\n               ppm   ppm\nBed 1    6.2   31   140\nBed 2    6.4   28   120\n",
        "Field A\npH 5.8\nPhosphorus 12 ppm (low)\nPotassium 99 ppm\nOrganic matter 3.2 %\n",
    ]
    .iter()
    .map(|t| t.as_bytes().to_vec())
    .collect()
}

/// A page that draws these operators.
fn page(content: &str, packed: bool) -> Vec<u8> {
    let (filter, stream) = if packed {
        let mut z = ZlibEncoder::new(Vec::new(), Compression::fast());
        let _ = z.write_all(content.as_bytes());
        ("/Filter/FlateDecode", z.finish().unwrap_or_default())
    } else {
        ("", content.as_bytes().to_vec())
    };
    let mut out = b"%PDF-1.4\n".to_vec();
    let mut places = Vec::new();
    let mut object = |out: &mut Vec<u8>, body: &[u8]| {
        places.push(out.len());
        out.extend(format!("{} 0 obj\n", places.len()).as_bytes());
        out.extend(body);
        out.extend(b"\nendobj\n");
    };
    object(&mut out, b"<</Type/Catalog/Pages 2 0 R>>");
    object(&mut out, b"<</Type/Pages/Kids[3 0 R]/Count 1>>");
    object(&mut out, b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 612 792]/Contents 4 0 R/Resources<</Font<</F1 5 0 R>>>>>>");
    let mut body = format!("<<{filter}/Length {}>>\nstream\n", stream.len()).into_bytes();
    body.extend(&stream);
    body.extend(b"\nendstream");
    object(&mut out, &body);
    object(
        &mut out,
        b"<</Type/Font/Subtype/Type1/BaseFont/Helvetica/Encoding/WinAnsiEncoding>>",
    );
    let at = out.len();
    out.extend(format!("xref\n0 {}\n0000000000 65535 f \n", places.len() + 1).as_bytes());
    for place in &places {
        out.extend(format!("{place:010} 00000 n \n").as_bytes());
    }
    out.extend(
        format!(
            "trailer<</Size {}/Root 1 0 R>>\nstartxref\n{at}\n%%EOF\n",
            places.len() + 1
        )
        .as_bytes(),
    );
    out
}

/// Pages with a small table of text.
pub fn pdf() -> Vec<Vec<u8>> {
    let cells = [
        (72, 700, "Sample"),
        (172, 700, "pH"),
        (252, 700, "P ppm"),
        (72, 680, "Bed 1"),
        (172, 680, "6.2"),
        (252, 680, "31"),
        (72, 660, "Bed 2"),
        (172, 660, "6.4"),
        (252, 660, "28"),
    ];
    let mut content = String::from("BT /F1 11 Tf\n");
    for (x, y, text) in cells {
        content.push_str(&format!("1 0 0 1 {x} {y} Tm ({text}) Tj\n"));
    }
    content.push_str("ET\n72 695 m 300 695 l S\n");
    vec![
        page(&content, false),
        page(&content, true),
        page(
            "BT /F1 9 Tf 72 700 Td [(Sam)-20(ple)] TJ 0 -14 Td <426564> Tj ET q 50 0 0 50 72 600 cm Q",
            false,
        ),
    ]
}

fn chunk(out: &mut Vec<u8>, kind: &[u8; 4], data: &[u8]) {
    out.extend((data.len() as u32).to_be_bytes());
    let from = out.len();
    out.extend(kind);
    out.extend(data);
    let mut crc = flate2::Crc::new();
    crc.update(&out[from..]);
    out.extend(crc.sum().to_be_bytes());
}

/// Small pictures.
pub fn picture() -> Vec<Vec<u8>> {
    let mut png = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut head = Vec::new();
    head.extend(40_u32.to_be_bytes());
    head.extend(30_u32.to_be_bytes());
    head.extend([8, 0, 0, 0, 0]);
    chunk(&mut png, b"IHDR", &head);
    let mut z = ZlibEncoder::new(Vec::new(), Compression::fast());
    for y in 0..30_u8 {
        let _ = z.write_all(&[0]);
        let row: Vec<u8> = (0..40_u8).map(|x| x.wrapping_mul(y)).collect();
        let _ = z.write_all(&row);
    }
    chunk(&mut png, b"IDAT", &z.finish().unwrap_or_default());
    chunk(&mut png, b"IEND", b"");
    let jpeg = b"\xFF\xD8\xFF\xE0\0\x10JFIF\0\x01\x01\0\0\x01\0\x01\0\0\xFF\xC0\0\x0B\x08\0\x08\0\x08\x01\x01\x11\0\xFF\xDA\0\x08\x01\x01\0\0?\0\xFF\xD9".to_vec();
    vec![png, jpeg]
}
