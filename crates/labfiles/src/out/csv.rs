use super::{Written, lines, of_sample};
use crate::tidy::{BETWEEN, HEADER, guarded};

/// All tests as CSV (RFC 4180, UTF-8 with its mark) with a row a value.
///
/// Values are in each analyte's own unit, with what the lab printed beside them. A text that a
/// spreadsheet would take for a formula has a `'` before it; reading takes it away again.
pub fn tidy_csv(all: &[Written]) -> Vec<u8> {
    // The mark tells spreadsheets that names are in UTF-8.
    let mut out = "\u{feff}".as_bytes().to_vec();
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(&mut out);
    // Writing to memory fails only on rows of unequal width, and all are as wide as the header.
    let _ = writer.write_record(HEADER);
    for row in rows(all) {
        let _ = writer.write_record(&row);
    }
    let _ = writer.flush();
    drop(writer);
    out
}

/// The rows below the header, as text.
pub(super) fn rows(all: &[Written]) -> impl Iterator<Item = [String; HEADER.len()]> + '_ {
    all.iter().enumerate().flat_map(|(i, written)| {
        let test = &written.test;
        let of_sample = of_sample(written);
        let decided = guarded(&written.decided.join(BETWEEN));
        lines(test).into_iter().map(move |line| {
            let [
                sample,
                lab_number,
                block,
                lab,
                sampled_on,
                depth,
                texture,
                crop,
            ] = of_sample.clone();
            [
                (i + 1).to_string(),
                sample,
                lab_number,
                block,
                lab,
                sampled_on,
                depth,
                texture,
                crop,
                line.kind.to_owned(),
                line.of.to_owned(),
                line.value(),
                line.unit.to_owned(),
                line.extractant.to_owned(),
                line.buffer.to_owned(),
                guarded(line.printed.trim()),
                guarded(line.printed_unit.trim()),
                decided.clone(),
            ]
        })
    })
}
