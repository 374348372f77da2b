//! Text for a terminal.

use agronomy::working::Figure;
use quantity::plain;
use std::io::{self, Write};

/// Whether an error is a pipe that the reader closed.
pub(crate) fn is_closed_pipe(e: &anyhow::Error) -> bool {
    e.chain()
        .filter_map(|c| c.downcast_ref::<io::Error>())
        .any(|e| e.kind() == io::ErrorKind::BrokenPipe)
}

/// Writes text and a line end.
pub(crate) fn line(text: impl AsRef<str>) -> io::Result<()> {
    writeln!(io::stdout().lock(), "{}", text.as_ref())
}

/// Writes a value as JSON.
pub(crate) fn json(value: &impl serde::Serialize) -> anyhow::Result<()> {
    let text = serde_json::to_string_pretty(value)?;
    Ok(line(text)?)
}

/// Columns as wide as their widest cell; `right` tells which stand to the right.
pub(crate) fn columns(head: &[&str], right: &[bool], rows: &[Vec<String>]) -> String {
    let width = |at: usize| {
        rows.iter()
            .filter_map(|r| r.get(at))
            .map(|c| c.chars().count())
            .chain(head.get(at).map(|h| h.chars().count()))
            .max()
            .unwrap_or(0)
    };
    let widths: Vec<usize> = (0..head.len()).map(width).collect();
    let write = |cells: Vec<&str>| {
        let mut out = String::new();
        for (at, cell) in cells.iter().enumerate() {
            let pad = widths[at].saturating_sub(cell.chars().count());
            let space = " ".repeat(pad);
            if right.get(at).copied().unwrap_or(false) {
                out.push_str(&space);
                out.push_str(cell);
            } else {
                out.push_str(cell);
                out.push_str(&space);
            }
            out.push_str("  ");
        }
        out.trim_end().to_owned()
    };
    let mut lines = vec![write(head.to_vec())];
    lines.extend(
        rows.iter()
            .map(|r| write(r.iter().map(String::as_str).collect())),
    );
    lines.join("\n")
}

/// A figure with its working, a step a line.
pub(crate) fn figure(figure: &Figure) -> String {
    let mut out = format!(
        "{}: {} {}",
        figure.what,
        plain(figure.value, 4),
        figure.unit
    );
    if let (Some(low), Some(high)) = (figure.low, figure.high) {
        out.push_str(&format!(
            "  (likely {} to {})",
            plain(low, 3),
            plain(high, 3)
        ));
    }
    for step in &figure.working {
        out.push_str(&format!(
            "\n  {} = {} {}\n    {}",
            step.what,
            plain(step.value, 5),
            step.unit,
            step.formula
        ));
        if step.source.text != "arithmetic" {
            let mark = if step.source.evidence.unconfirmed() {
                "unconfirmed"
            } else {
                step.source.evidence.word()
            };
            out.push_str(&format!("\n    {} [{mark}]", step.source.text));
        }
    }
    if figure
        .working
        .iter()
        .any(|s| s.source.evidence.unconfirmed())
    {
        out.push_str("\n  A step marked unconfirmed was recalled, not read in its source: check it there or with your adviser before you rely on it.");
    }
    for caution in &figure.cautions {
        out.push_str(&format!("\n  Take care: {}", caution.text));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_line_up() {
        let text = columns(
            &["Block", "lb"],
            &[false, true],
            &[
                vec!["A".into(), "5".into()],
                vec!["Long".into(), "1,240".into()],
            ],
        );
        assert_eq!(text, "Block     lb\nA          5\nLong   1,240");
    }
}
