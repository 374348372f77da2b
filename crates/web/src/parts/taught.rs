//! What a block’s own tests taught, and the choice whether needs go by it.

use super::working::fold;
use farmwork::learned::{self, Own, OwnNeed, Standing};
use farmwork::ledger::Taught;
use farmwork::needs::BlockNeeds;
use farmwork::words;
use maud::{Markup, html};

/// What may change a need of the block as it stands; `back` is the page it stands on.
pub(crate) fn of_needs(n: &BlockNeeds, back: &str) -> Markup {
    let all: Vec<&OwnNeed> = n.lines.iter().filter_map(|l| l.own.as_ref()).collect();
    html! {
        @if !all.is_empty() {
            section.matter {
                h2 { "What the soil taught" }
                @for need in all { (one(n.reading.block.id, &need.own, (&need.says, need.printed), back)) }
            }
        }
    }
}

/// All that the tests of a block teach, whether a need rests on it now or not.
pub(crate) fn of_block(id: i64, all: &[Own]) -> Markup {
    html! {
        @if !all.is_empty() {
            section.matter {
                h2 { "What the soil taught" }
                p { (learned::OPENING) }
                @for own in all { (one(id, own, (&own.standing.says(), false), "years")) }
            }
        }
    }
}

fn one(id: i64, own: &Own, (says, printed): (&str, bool), back: &str) -> Markup {
    let t = &own.taught;
    html! {
        div id={ "taught-" (t.item.key()) } {
            h3 { (words::capital(t.item.name())) }
            p { (t.says) }
            p { (says) }
            (buttons(id, own, printed, back))
            details {
                summary { "Expected and found" }
                (beside(t))
            }
            (fold("Each pair of tests, and how the answer came of them", &t.working))
        }
    }
}

fn beside(t: &Taught) -> Markup {
    let shown = |v: f64| words::measured(t.analyte, v);
    html! {
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num.stack {
                thead { tr {
                    th.l scope="col" { "Day" }
                    th scope="col" { "By the published figures" }
                    th scope="col" { "By its own answer" }
                    th scope="col" { "Found" }
                } }
                tbody {
                    @for b in &t.tests {
                        tr {
                            td.l { b { (b.on) } @if let Some(why) = &b.left_out { small { "not counted: " (why) } } }
                            td data-label="By the published figures" { (shown(b.expected)) }
                            td data-label="By its own answer" { (shown(b.learned)) }
                            td data-label="Found" { (shown(b.measured)) }
                        }
                    }
                }
            }
        }
    }
}

fn buttons(id: i64, own: &Own, printed: bool, back: &str) -> Markup {
    let mut offered: Vec<(&str, &str)> = Vec::new();
    match own.standing {
        Standing::TooLittle { .. } => {}
        Standing::Offered { .. } => offered.push(("take", "Go by it")),
        Standing::Used => {
            offered.push(("refuse", "Refuse it"));
            if printed {
                offered.push(("take", "Go by it all the same"));
            }
        }
        Standing::Taken { .. } => {
            offered.push(("refuse", "Refuse it"));
            offered.push(("forget", "Let the tests decide"));
        }
        Standing::Refused { .. } => {
            offered.push(("forget", "Take the refusal back"));
            offered.push(("take", "Go by it"));
        }
    }
    let name = own.taught.item.name();
    html! {
        @if !offered.is_empty() {
            form.noprint method="post" action={ "/years/" (id) "/taught" } {
                input type="hidden" name="item" value=(own.taught.item.key());
                input type="hidden" name="back" value=(back);
                p {
                    @for (what, says) in offered {
                        button.q name="do" value=(what) aria-label={ (says) ": " (name) } { (says) } " "
                    }
                }
            }
        }
    }
}
