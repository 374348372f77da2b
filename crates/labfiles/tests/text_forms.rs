//! The same report as text in every dress that labs and spreadsheets give it.

// The helpers of a test may stop it.
#![allow(clippy::unwrap_used)]

use agronomy::soil::{Analyte, Bound};
use labfiles::{Report, Table, propose, questions, read, sniff};

fn table(bytes: &[u8]) -> Table {
    sniff("f.txt", bytes).unwrap()
}

#[track_caller]
fn report(bytes: &[u8]) -> Report {
    let table = table(bytes);
    let layout = propose(&table);
    assert_eq!(questions(&layout), vec![]);
    read(&table, &layout).unwrap()
}

#[test]
fn any_sign_between_cells() {
    let text = "Our lab\nSample,pH,P ppm (Olsen)\nBed 1,6.2,12\nBed 2,6.4,13\n";
    for sign in [
        ",", ";", "\t", "|", "^", "~", "#", "!", "*", ":", "\u{1f}", "\u{1e}",
    ] {
        let table = table(text.replace(',', sign).as_bytes());
        assert_eq!(table.delimiter().map(String::from).as_deref(), Some(sign));
        let report = report(text.replace(',', sign).as_bytes());
        assert_eq!(
            report.samples[1].test.value(Analyte::P),
            Some(13.0),
            "{sign:?}"
        );
    }
    // Signs within cells do not part them, though more of them stand there.
    let within = "Sample;pH\nN: a: b: c;6\nN: a: b: d;7\nN: a: b: e;7\n";
    assert_eq!(table(within.as_bytes()).delimiter(), Some(';'));
    assert_eq!(table(b"a,b:c:d\ne,f:g:h\n").delimiter(), Some(','));
    // A first line that names the sign is believed, whatever stands in the header.
    let named = "sep=;\nSample;pH, in water;P ppm (Olsen)\nBed 1;6,2;12\n";
    let found = table(named.as_bytes());
    assert_eq!(found.delimiter(), Some(';'));
    assert_eq!(
        report(named.as_bytes()).samples[0].test.value(Analyte::Ph),
        Some(6.2)
    );
    assert_eq!(report(named.as_bytes()).samples[0].row, 3);
}

#[test]
fn columns_kept_apart_by_blanks() {
    let text = "Our lab for Pipit Lane  2026\n\n\
                Sample          pH   P ppm (Olsen)   K ppm (M3)\n\
                Bed 1          6.2              12          140\n\
                Long Bed No 2  6.4                        1,140\n\
                Bed 3          6.0            <2.5          135\n\
                Average        6.2              12          472\n\
                All on dry soil\n";
    let report = report(text.as_bytes());
    assert_eq!(table(text.as_bytes()).delimiter(), None);
    assert_eq!(report.samples.len(), 3);
    let second = &report.samples[1];
    assert_eq!(
        (second.test.sample.as_str(), second.row),
        ("Long Bed No 2", 5)
    );
    // The empty cell stays empty: the value after it does not move.
    assert_eq!(second.test.value(Analyte::P), None);
    assert_eq!(second.test.value(Analyte::K), Some(1140.0));
    assert_eq!(
        report.samples[2].test.get(Analyte::P).unwrap().bound,
        Bound::Below
    );
    assert_eq!(report.left_out.len(), 2);
    // Where a value crosses into the next column, the columns are not guessed.
    let crossed = "Sample   pH   P ppm   K ppm\nA very long name   6.2   12   140\n";
    assert!(table(crossed.as_bytes()).rows()[0].width() == 1);
}

#[test]
fn any_encoding() {
    let text = "Sample,pH,P \u{b5}g/g (Olsen)\nBéd Käse,6.2,\u{2264}12\nÉcluse n\u{b0} 2,6.4,13\n";
    let check = |bytes: &[u8], encoding: &str| {
        let found = table(bytes);
        assert_eq!(found.encoding(), encoding);
        let names: Vec<_> = found.rows().iter().skip(1).map(|r| r.cell(0)).collect();
        assert_eq!(names, ["Béd Käse", "Écluse n\u{b0} 2"], "{encoding}");
        found.rows()[1].cell(2).to_owned()
    };
    let bytes = |unit: fn(u32) -> Vec<u8>| -> Vec<u8> {
        format!("\u{feff}{text}")
            .chars()
            .flat_map(|c| unit(c as u32))
            .collect()
    };
    let below = "\u{2264}12";
    assert_eq!(check(text.as_bytes(), "UTF-8"), below);
    assert_eq!(check(format!("\u{feff}{text}").as_bytes(), "UTF-8"), below);
    assert_eq!(check(&bytes(|c| c.to_le_bytes().to_vec()), "UTF-32"), below);
    assert_eq!(check(&bytes(|c| c.to_be_bytes().to_vec()), "UTF-32"), below);
    let two = |c: u32| u16::try_from(c).unwrap();
    let wide: Vec<u8> = text
        .chars()
        .flat_map(|c| two(c as u32).to_le_bytes())
        .collect();
    assert_eq!(check(&wide, "UTF-16LE"), below);
    let wide: Vec<u8> = text
        .chars()
        .flat_map(|c| two(c as u32).to_be_bytes())
        .collect();
    assert_eq!(check(&wide, "UTF-16BE"), below);
    let one_byte = |pairs: &[(char, u8)]| -> Vec<u8> {
        text.chars()
            .map(|c| {
                pairs
                    .iter()
                    .find(|(p, _)| *p == c)
                    .map_or(c as u8, |(_, b)| *b)
            })
            .collect()
    };
    // Code points as published for the two tables.
    let mac = [
        ('\u{b5}', 0xB5),
        ('é', 0x8E),
        ('ä', 0x8A),
        ('É', 0x83),
        ('\u{b0}', 0xA1),
        ('\u{2264}', 0xB2),
    ];
    assert_eq!(check(&one_byte(&mac), "macintosh"), below);
    let windows = [
        ('\u{b5}', 0xB5),
        ('é', 0xE9),
        ('ä', 0xE4),
        ('É', 0xC9),
        ('\u{b0}', 0xB0),
        ('\u{2264}', b'<'),
    ];
    assert_eq!(check(&one_byte(&windows), "windows-1252"), "<12");
    assert_eq!(table(b"Sample,g/cm\xB3\nA,1\n").encoding(), "windows-1252");
    assert!(
        sniff("f", b"\xFF\xFE\0\0S\0\0")
            .unwrap_err()
            .to_string()
            .contains("broken text")
    );
}

#[test]
fn groups_over_the_header_and_units_under_it() {
    let text = "Our lab\n,,\"Mehlich-3, ppm\",\"Mehlich-3, ppm\",Base saturation %\n\
                Sample,pH,P,K,K\nBed 1,6.2,12,140,3\n";
    let report = report(text.as_bytes());
    assert_eq!(report.samples[0].test.value(Analyte::K), Some(140.0));
    // A line of facts above the header is no group.
    let facts = "Lab number,1234\nSample,pH\nBed 1,6.2\n";
    let layout = propose(&table(facts.as_bytes()));
    assert_eq!(layout.column(1).unwrap().header, "Sample");
}

#[test]
fn a_thousand_samples_are_all_read() {
    let mut text = String::from("Sample,pH,OM %,P ppm M3,K ppm M3,Ca ppm M3,Mg ppm M3\n");
    for i in 0..1_000 {
        text.push_str(&format!(
            "Bed {i},6.{},3.1,{},140,1200,150\n",
            i % 10,
            i % 97
        ));
    }
    let start = std::time::Instant::now();
    let report = report(text.as_bytes());
    println!("a thousand samples in text: {:?}", start.elapsed());
    assert_eq!(report.samples.len(), 1_000);
    assert_eq!(report.samples[999].test.sample, "Bed 999");
}
