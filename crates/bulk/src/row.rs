//! One row in, one row out.

use crate::bad::{BadRow, Fault};
use crate::cell::{LastNumber, Row, WordReader, at_limit};
use crate::header::Header;
use crate::lime::{self, Soil};
use crate::line::Line;
use crate::reading::{self, NONE, Place, push_say};
use crate::records::{Records, Span};
use agronomy::phosphorus_potassium::Nutrient;
use agronomy::soil::Analyte;

/// Nothing is limed deeper.
pub(crate) const DEEPEST_IN: f64 = 60.0;

const PH: &str = "a pH from 0 to 14, as 6.4";
const PPM: &str = "a number of ppm from 0 to 1,000,000, as 24 or 24.5, with < or > before it where the lab printed that";
const ACIDITY: &str = "an acidity from 0 to 1,000 meq/100 g";
const LBC: &str = "a lime buffer capacity from 0 to 100,000 mg CaCO3/kg per pH";
const DEPTH: &str = "a depth above 0 and up to 60 inches";

/// What was made of one piece.
#[derive(Debug, Default)]
pub(crate) struct Made {
    pub(crate) out: Line,
    pub(crate) bad: Vec<BadRow>,
    pub(crate) good_rows: u64,
    /// Rows as a spreadsheet counts them, blank ones too
    pub(crate) counted: u64,
}

/// Works rows out; one for each thread.
pub(crate) struct Worker<'h> {
    header: &'h Header,
    table: WordReader,
    crop: WordReader,
    texture: WordReader,
    extractant: WordReader,
    acid: AcidReader,
    values: Vec<ValueReader>,
    fields: Vec<Span>,
    say: Vec<u8>,
    unconfirmed: Vec<u8>,
}

struct AcidReader {
    buffer: WordReader,
    target_ph: LastNumber,
    depth_in: LastNumber,
    plans: lime::Plans,
}

struct ValueReader {
    analyte: Analyte,
    at: Option<usize>,
    extractant: WordReader,
    plans: reading::Plans,
    nutrient: Option<Nutrient>,
    /// The value of the row at hand and where its class stands
    read: Option<(f64, Place)>,
}

fn is_ph(v: f64) -> bool {
    (0.0..=14.0).contains(&v)
}

impl<'h> Worker<'h> {
    pub(crate) fn new(header: &'h Header) -> Self {
        Self {
            table: WordReader::new(header.table),
            crop: WordReader::new(header.crop),
            texture: WordReader::new(header.texture),
            extractant: WordReader::new(header.extractant),
            values: header
                .values
                .iter()
                .map(|v| ValueReader {
                    analyte: v.analyte,
                    at: v.at,
                    extractant: WordReader::new(v.extractant),
                    plans: reading::Plans::new(v.analyte),
                    nutrient: Nutrient::ALL.into_iter().find(|n| n.analyte() == v.analyte),
                    read: None,
                })
                .collect(),
            acid: AcidReader {
                buffer: WordReader::new(header.buffer),
                target_ph: LastNumber::default(),
                depth_in: LastNumber::default(),
                plans: lime::Plans::new(),
            },
            fields: Vec::new(),
            say: Vec::new(),
            unconfirmed: Vec::new(),
            header,
        }
    }

    /// Works out a piece of whole records, less its first `skip` bytes.
    pub(crate) fn piece(&mut self, text: &[u8], skip: usize, made: &mut Made) {
        made.out.clear();
        made.bad.clear();
        made.good_rows = 0;
        let text = &text[skip..];
        let mut records = Records::new(text);
        let mut fields = std::mem::take(&mut self.fields);
        while let Some(record) = records.next(&mut fields) {
            let begun = made.out.at();
            let row = Row {
                text,
                fields: &fields,
            };
            match self.row(row, &mut made.out) {
                Ok(()) => made.good_rows += 1,
                Err(fault) => {
                    made.out.cut(begun);
                    let cells: Vec<&[u8]> = (0..fields.len()).map(|at| row.cell(at)).collect();
                    made.bad
                        .push(BadRow::new(self.header, records.row, fault, record, &cells));
                }
            }
        }
        made.counted = records.row;
        self.fields = fields;
    }

    fn row(&mut self, row: Row<'_>, out: &mut Line) -> Result<(), Fault> {
        let header = self.header;
        if row.fields.len() != header.names.len() {
            return Err(Fault::Fields);
        }
        self.say.clear();
        self.unconfirmed.clear();
        let table = self.table.read(row)?;
        let crop = self.crop.read(row)?;
        let texture = self.texture.read(row)?;
        let extractant = self.extractant.read(row)?;

        let (from, to) = row.fields[header.sample];
        out.part(row.text, from as usize, to as usize);
        out.byte(b',');
        let acid = self.acid.read(header, row, crop, &mut self.say)?;
        out.piece(acid.class);

        let mut no_crop = false;
        for value in &mut self.values {
            value.read = None;
            let own = value.extractant.read(row)?;
            let Some(ppm) = value.ppm(row, &mut self.say)? else {
                out.text(b",,");
                continue;
            };
            let extractant = if own == NONE { extractant } else { own };
            let key = reading::Key::new(table, crop, extractant, texture);
            let place = value.plans.class(key, ppm, out, &mut self.say);
            if let Some(place) = place
                && value.plans.unconfirmed(place)
            {
                doubt(&mut self.unconfirmed, value.analyte.key());
            }
            value.read = place.map(|p| (ppm, p));
            no_crop |= value.nutrient.is_some() && crop == NONE;
        }
        if no_crop {
            push_say(
                &mut self.say,
                "No crop is named, so there is no rate of P2O5 or K2O.",
            );
        }

        acid.rate.write(out);
        if acid.unconfirmed {
            doubt(&mut self.unconfirmed, "lime");
        }
        for value in &self.values {
            let Some(nutrient) = value.nutrient else {
                continue;
            };
            let Some((ppm, place)) = value.read else {
                out.text(b",,");
                continue;
            };
            if value.plans.rate(place, ppm, out, &mut self.say) {
                doubt(&mut self.unconfirmed, nutrient.key());
            }
        }
        if !self.unconfirmed.is_empty() {
            out.text(&self.unconfirmed);
        }
        out.byte(b',');
        if !self.say.is_empty() {
            out.cell(&self.say);
        }
        out.byte(b'\n');
        Ok(())
    }
}

impl AcidReader {
    /// What the row’s acidity asks for.
    fn read(
        &mut self,
        header: &Header,
        row: Row<'_>,
        crop: u16,
        say: &mut Vec<u8>,
    ) -> Result<lime::Answer<'_>, Fault> {
        let buffer = self.buffer.read(row)?;
        let soil = Soil {
            ph: row.number(header.ph, PH, is_ph)?,
            buffer_ph: row.number(header.buffer_ph, PH, is_ph)?,
            acidity: row.number(header.acidity, ACIDITY, |v| (0.0..=1_000.0).contains(&v))?,
            lbc: row.number(header.lbc, LBC, |v| (0.0..=100_000.0).contains(&v))?,
        };
        let target = self.target_ph.read(row, header.target_ph.0, PH, is_ph)?;
        let depth = self.depth_in.read(row, header.depth_in.0, DEPTH, |v| {
            v > 0.0 && v <= DEEPEST_IN
        })?;
        if header.ph.is_some() && soil.ph.is_none() {
            push_say(say, "The row has no pH, so there is no lime rate.");
        }
        let key = lime::Key::new(
            crop,
            buffer,
            target.or(header.target_ph.1),
            depth.or(header.depth_in.1),
        );
        Ok(self.plans.answer(key, soil, say))
    }
}

impl ValueReader {
    #[inline]
    fn ppm(&self, row: Row<'_>, say: &mut Vec<u8>) -> Result<Option<f64>, Fault> {
        const MOST: f64 = 1e6;
        let fits = |v: f64| (0.0..=MOST).contains(&v);
        match row.number(self.at, PPM, fits) {
            Ok(value) => Ok(value),
            Err(fault) => {
                let limit = self.at.and_then(|at| at_limit(row.cell(at)));
                let Some((value, word)) = limit.filter(|(v, _)| fits(*v)) else {
                    return Err(fault);
                };
                push_say(
                    say,
                    &format!(
                        "The lab printed {} as {word} {value} ppm and it is read at that limit.",
                        self.analyte.name()
                    ),
                );
                Ok(Some(value))
            }
        }
    }
}

/// Adds to the list of what rests on something recalled.
fn doubt(list: &mut Vec<u8>, what: &str) {
    if !list.is_empty() {
        list.push(b';');
    }
    list.extend_from_slice(what.as_bytes());
}
