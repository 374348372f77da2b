//! Working that unfolds in place: one row a step.

use agronomy::working::{Caution, Evidence, Figure, Source};
use maud::{Markup, html};
use quantity::plain;

/// How well a source is known, in words.
pub(crate) fn mark(source: &Source) -> Markup {
    let word = match source.evidence {
        Evidence::Seen => "read in the source",
        Evidence::Secondary => "read in a copy",
        Evidence::Derived => "worked out",
        Evidence::Local => "yours",
        Evidence::CommonPractice => "common practice",
        Evidence::Memory => "unconfirmed",
    };
    let doubtful = matches!(source.evidence, Evidence::Memory | Evidence::CommonPractice);
    html! { span.tag.doubt[doubtful] { (word) } }
}

/// The steps of a figure.
pub(crate) fn steps(figure: &Figure) -> Markup {
    html! {
        div.scroll tabindex="0" role="region" aria-label="Working" {
            table.work.num {
                caption.quiet { (figure.what) }
                tbody {
                    @for step in &figure.working {
                        tr {
                            td { (step.what) }
                            td { (plain(step.value, 4)) " " (step.unit) }
                            td { (step.formula) }
                            td {
                                @if step.source.text != "arithmetic" {
                                    (step.source.text) " " (mark(&step.source))
                                }
                            }
                        }
                    }
                }
            }
        }
        @if figure.working.iter().any(|s| s.source.evidence == Evidence::Memory) {
            p.meta { "A step marked unconfirmed was recalled, not read in its source: check it there or with your adviser before you rely on it." }
        }
    }
}

/// Working behind a summary; open on paper.
pub(crate) fn fold(summary: &str, figures: &[Figure]) -> Markup {
    html! {
        @if !figures.is_empty() {
            details {
                summary { (summary) }
                @for figure in figures { (steps(figure)) }
            }
        }
    }
}

/// Cautions with their sources.
pub(crate) fn cautions<'a>(all: impl IntoIterator<Item = &'a Caution>) -> Markup {
    let mut once: Vec<&Caution> = Vec::new();
    for caution in all {
        if !once.iter().any(|c| c.text == caution.text) {
            once.push(caution);
        }
    }
    html! {
        @if !once.is_empty() {
            h3 { "Take care" }
            ul {
                @for c in once {
                    li { (c.text) " " small { (c.source.text) @if c.source.evidence.unconfirmed() { " (unconfirmed)" } } }
                }
            }
        }
    }
}
