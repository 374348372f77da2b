//! What went on and came off, season by season, and what the soil taught.

use crate::parts::working::fold;
use farmwork::ledger::{Account, Item, Ledger, Season};
use maud::{Markup, html};
use quantity::plain;

pub(super) fn seasons(ledger: &Ledger) -> Markup {
    html! {
        h2 { "In and out" }
        @if ledger.seasons.is_empty() {
            p { "Nothing was written down yet of what was spread or picked here." }
        } @else {
            @for h in &ledger.headings {
                p { b { (h.analyte.name()) ". " } (h.says) }
            }
            p.meta { "lb per acre: the balance, and under it what went on and what the harvest carried off. All that the materials hold is counted, available or not; · where nothing is known of it. Calcium and magnesium go off as the edible parts of crops hold them; sulfur as an extension service prints it per acre of a usual crop, which is coarse. Lime goes off by the acid of nitrogen alone: what harvests take in bases and rain leaches is not known." }
            div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                table.rows.num {
                    thead { tr {
                        th.l scope="col" { "Season" }
                        @for item in Item::ALL { th scope="col" { (item.name()) } }
                    } }
                    tbody { @for s in &ledger.seasons { (row(s)) } }
                }
            }
            (fold("Where the headings come from", &ledger.headings.iter().flat_map(|h| h.working.iter().cloned()).collect::<Vec<_>>()))
        }
    }
}

fn row(s: &Season) -> Markup {
    html! {
        tr {
            td.l {
                b { (s.season) }
                @for note in &s.notes { small { (note) } }
            }
            @for item in Item::ALL { td { @if let Some(a) = s.items.get(&item) { (cell(a)) } } }
        }
    }
}

fn cell(a: &Account) -> Markup {
    let shown = |v: f64| plain(v.round(), 4);
    let on = a.spread + a.credited;
    html! {
        @match (a.balance(), a.removed) {
            (Some(balance), Some(out)) => {
                b { (shown(balance)) }
                small { (shown(on)) " on, " (shown(out)) " off" @if a.credited > 0.5 { "; " (shown(a.credited)) " credited" } }
            }
            _ if on.abs() > 0.05 => { "·" small { (plain(on, 3)) " on" } }
            _ => "·",
        }
    }
}
