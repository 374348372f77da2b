//! Labels of boxes of soil, with a code that opens the box's page.

use crate::SheetError;
use crate::words::{short, text};
use farmwork::sampling::paper::BoxLabel;
use qrcode::types::Color;
use qrcode::{EcLevel, QrCode};
use serde::Serialize;
use std::fmt::Write;

/// Light modules around a code, as the standard for QR codes asks.
const QUIET: usize = 4;

/// What labels are printed on. The sizes are common ones: measure your sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LabelStock {
    Letter30,
    Letter10,
    A4Of21,
    Single,
}

/// Lengths in inches.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub(crate) struct Layout {
    pub(crate) page: [f64; 2],
    pub(crate) columns: u32,
    pub(crate) rows: u32,
    pub(crate) label: [f64; 2],
    /// From the left and the top of the page to the first label.
    pub(crate) first: [f64; 2],
    /// From one label to the next.
    pub(crate) step: [f64; 2],
}

impl LabelStock {
    pub const ALL: [Self; 4] = [Self::Letter30, Self::Letter10, Self::A4Of21, Self::Single];

    pub fn key(self) -> &'static str {
        match self {
            Self::Letter30 => "letter-30",
            Self::Letter10 => "letter-10",
            Self::A4Of21 => "a4-21",
            Self::Single => "single",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.key() == key)
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Letter30 => "Letter sheet, 30 labels, 1 × 2⅝ in",
            Self::Letter10 => "Letter sheet, 10 labels, 2 × 4 in",
            Self::A4Of21 => "A4 sheet, 21 labels, 63.5 × 38.1 mm",
            Self::Single => "Single labels, 2¼ × 1¼ in",
        }
    }

    /// Labels on one page.
    pub fn on_a_page(self) -> u32 {
        let l = self.layout();
        l.columns * l.rows
    }

    pub(crate) fn layout(self) -> Layout {
        const MM: f64 = 1.0 / 25.4;
        match self {
            Self::Letter30 => Layout {
                page: [8.5, 11.0],
                columns: 3,
                rows: 10,
                label: [2.625, 1.0],
                first: [0.1875, 0.5],
                step: [2.75, 1.0],
            },
            Self::Letter10 => Layout {
                page: [8.5, 11.0],
                columns: 2,
                rows: 5,
                label: [4.0, 2.0],
                first: [0.15625, 0.5],
                step: [4.1875, 2.0],
            },
            Self::A4Of21 => Layout {
                page: [210.0 * MM, 297.0 * MM],
                columns: 3,
                rows: 7,
                label: [63.5 * MM, 38.1 * MM],
                first: [7.25 * MM, 15.15 * MM],
                step: [66.0 * MM, 38.1 * MM],
            },
            Self::Single => Layout {
                page: [2.25, 1.25],
                columns: 1,
                rows: 1,
                label: [2.25, 1.25],
                first: [0.0, 0.0],
                step: [2.25, 1.25],
            },
        }
    }
}

#[derive(Serialize)]
pub(crate) struct LabelsView {
    title: String,
    author: String,
    layout: Layout,
    labels: Vec<LabelView>,
}

#[derive(Serialize)]
struct LabelView {
    /// None: this label of the sheet is used up.
    label: Option<String>,
    blocks: String,
    farm: String,
    tests: String,
    code: Option<String>,
}

/// `from` is the first free label of the first sheet, counted from 1 along the rows.
pub(crate) fn view(
    labels: &[BoxLabel],
    stock: LabelStock,
    from: u32,
) -> Result<LabelsView, SheetError> {
    if !(1..=stock.on_a_page()).contains(&from) {
        return Err(SheetError::Label(from, stock.on_a_page()));
    }
    let used = (1..from).map(|_| {
        Ok(LabelView {
            label: None,
            blocks: String::new(),
            farm: String::new(),
            tests: String::new(),
            code: None,
        })
    });
    let all = labels.iter().map(|l| {
        let names: Vec<String> = l.tests.iter().map(|t| t.name().to_owned()).collect();
        Ok(LabelView {
            label: Some(short(&l.label, 24)),
            blocks: short(&farmwork::words::and(&l.blocks), 60),
            farm: short(&l.farm, 32),
            tests: text(&format!("{}: {}", l.depth, names.join(", "))),
            code: l.address.as_deref().map(code).transpose()?,
        })
    });
    Ok(LabelsView {
        title: "Labels of boxes of soil".to_owned(),
        author: labels.first().map_or_else(String::new, |l| text(&l.farm)),
        layout: stock.layout(),
        labels: used.chain(all).collect::<Result<_, SheetError>>()?,
    })
}

/// An address as a picture (SVG) of its code, with the quiet zone that readers need.
///
/// # Errors
/// It is too long for a code.
pub fn code(address: &str) -> Result<String, SheetError> {
    let code = QrCode::with_error_correction_level(address, EcLevel::M)
        .map_err(|e| SheetError::Code(e.to_string()))?;
    let wide = code.width();
    let side = wide + 2 * QUIET;
    let mut path = String::new();
    for (at, color) in code.to_colors().into_iter().enumerate() {
        if color == Color::Dark {
            let (x, y) = (at % wide + QUIET, at / wide + QUIET);
            let _ = write!(path, "M{x} {y}h1v1h-1z");
        }
    }
    Ok(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {side} {side}\" shape-rendering=\"crispEdges\"><path fill=\"#fff\" d=\"M0 0h{side}v{side}h-{side}z\"/><path fill=\"#000\" d=\"{path}\"/></svg>"
    ))
}
