//! What fewer or more cores would buy: one picture, and the same as a table.

use crate::error::Page;
use crate::fields::Fields;
use crate::parts::working;
use agronomy::doubt::Confidence;
use agronomy::sampling::{self as science, Buys, SHOWN, practice};
use agronomy::soil::Analyte;
use farmbook::Book;
use farmwork::readings;
use farmwork::sampling::BlockSampling;
use maud::{Markup, html};
use quantity::plain;

/// Counts of the table.
const TABLE: [u32; 8] = [3, 5, 8, 12, 15, 20, 30, 40];
const MOST: u32 = 40;
const WIDE: f64 = 640.0;
const HIGH: f64 = 330.0;
const LEFT: f64 = 46.0;
const RIGHT: f64 = 150.0;
const TOP: f64 = 30.0;
const FOOT: f64 = 46.0;
/// Strokes that can be told apart without colour.
const DASHES: [&str; 3] = ["none", "9 4", "2 4"];

/// The picture, the table, and a question for another margin.
pub(super) fn section(book: &Book, b: &BlockSampling, f: &Fields) -> Result<Markup, Page> {
    let reading = readings::one(book, b.block.id)?;
    let sure = Confidence::USUAL;
    let every: Vec<u32> = (2..=MOST).collect();
    let of = |counts: &[u32]| -> Vec<Buys> {
        SHOWN
            .into_iter()
            .filter_map(|a| {
                let own = reading.scatter.get(&a).map(|o| o.spread);
                science::buys(a, own, counts, sure).ok()
            })
            .collect()
    };
    let table = of(&TABLE);
    let drawn: Vec<Buys> = of(&every).into_iter().filter(|x| x.unit == "%").collect();
    let usual = usual();
    let here = table
        .iter()
        .find(|x| x.analyte == Analyte::P)
        .and_then(|x| science::buys(x.analyte, own(x), &[b.cores], sure).ok());
    Ok(html! {
        p {
            b.num { (b.cores) " cores" } " go into a box of this block. "
            @if let Some(at) = here.as_ref().and_then(|x| x.at.first()) {
                "With them the phosphorus test lies within " b.num { (plain(at.with_lab, 2)) " %" } " of what the ground holds in 8 of 10 cases. "
            }
            @if let Some((low, high)) = usual { "Published sheets ask for " (plain(low, 3)) " to " (plain(high, 3)) "; most of them overlap at 15 to 20." }
        }
        div.scroll tabindex="0" role="region" aria-label="A picture that may scroll sideways" { (picture(&drawn, b.cores, usual)) }
        div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
            table.rows.num {
                caption.quiet { "How near a box comes to the truth, in 8 of 10 cases: ± in percent of the value, for pH in pH units; the lab’s own repeat is in it" }
                thead { tr {
                    th.l scope="col" { "Cores" }
                    @for x in &table { th scope="col" { (x.analyte.name()) " " small { "± " (x.unit) } } }
                } }
                tbody {
                    @for (i, n) in TABLE.iter().enumerate() {
                        tr {
                            td.l { (n) @if *n == b.cores { " " small { "as here" } } }
                            @for x in &table { td.n { @if let Some(at) = x.at.get(i) { (plain(at.with_lab, 2)) } } }
                        }
                    }
                    tr {
                        td.l { "the lab alone" }
                        @for x in &table { td.n { (plain(x.lab_alone, 2)) } }
                    }
                }
            }
        }
        p.meta { "The fields behind these numbers are larger than a bed, and many of them had manure: phosphorus may scatter less with you." }
        details {
            summary { "Where these numbers come from" }
            ul.why {
                @for x in &table {
                    li {
                        (x.analyte.name()) ": single cores scatter by " (plain(x.scatter.shown(), 2)) " " (x.unit) ". "
                        small { (x.source.text) " " (working::mark(&x.source)) }
                    }
                }
            }
        }
        (margin(&table, f, b.block.id))
    })
}

fn own(x: &Buys) -> Option<science::Spread> {
    x.own.then_some(x.scatter)
}

/// The least and the most that sheets ask for in a composite of a field.
fn usual() -> Option<(f64, f64)> {
    let ends: Vec<f64> = practice("cores")
        .iter()
        .filter(|p| p.item == "cores per composite")
        .flat_map(|p| [p.low, p.high])
        .flatten()
        .collect();
    let low = ends.iter().copied().reduce(f64::min)?;
    Some((low, ends.iter().copied().reduce(f64::max)?))
}

fn x(cores: f64) -> f64 {
    LEFT + (cores - 2.0) / f64::from(MOST - 2) * (WIDE - LEFT - RIGHT)
}

fn picture(all: &[Buys], here: u32, usual: Option<(f64, f64)>) -> Markup {
    let most = all
        .iter()
        .flat_map(|b| b.at.iter().map(|a| a.with_lab))
        .fold(20.0, f64::max);
    let top = (most / 20.0).ceil() * 20.0;
    let y = |v: f64| TOP + (1.0 - v / top) * (HIGH - TOP - FOOT);
    let floor = y(0.0);
    // Names at the ends of lines, moved apart where lines lie close.
    let mut ends: Vec<(usize, f64)> = all
        .iter()
        .enumerate()
        .filter_map(|(i, b)| Some((i, y(b.at.last()?.with_lab))))
        .collect();
    ends.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut below = f64::INFINITY;
    for end in &mut ends {
        end.1 = end.1.min(below - 15.0);
        below = end.1;
    }
    let step = if top > 80.0 { 20 } else { 10 };
    html! {
        figure.plot.broad {
            svg viewBox=(format!("0 0 {WIDE:.0} {HIGH:.0}")) width="100%" role="img" aria-label="How the margin of a test narrows as more cores go into the box, for phosphorus, potassium and organic matter; the table below holds the numbers" {
                @if let Some((low, high)) = usual {
                    rect x=(format!("{:.1}", x(low))) y=(TOP) width=(format!("{:.1}", x(high.min(f64::from(MOST))) - x(low))) height=(format!("{:.1}", floor - TOP)) fill="#eee9dd" {}
                    text x=(format!("{:.1}", x(low) + 4.0)) y=(TOP - 8.0) { "what sheets ask for" }
                }
                @for v in (0..=top as u32).step_by(step) {
                    path d=(format!("M{LEFT} {:.1}H{:.1}", y(f64::from(v)), WIDE - RIGHT)) stroke="#d9d3c5" stroke-width="0.7" {}
                    text x=(LEFT - 6.0) y=(format!("{:.1}", y(f64::from(v)) + 4.0)) text-anchor="end" { (v) }
                }
                text x="4" y="12" { "± %" }
                @for n in [2, 5, 10, 15, 20, 25, 30, 35, 40] {
                    text x=(format!("{:.1}", x(f64::from(n)))) y=(format!("{:.1}", floor + 18.0)) text-anchor="middle" { (n) }
                }
                text x=(format!("{:.1}", (LEFT + WIDE - RIGHT) / 2.0)) y=(format!("{:.1}", floor + 38.0)) text-anchor="middle" { "cores in the box" }
                @for (i, b) in all.iter().enumerate() {
                    polyline fill="none" stroke="#22211e" stroke-width="2" stroke-dasharray=(DASHES[i % DASHES.len()])
                        points=(b.at.iter().map(|a| format!("{:.1},{:.1}", x(f64::from(a.cores)), y(a.with_lab))).collect::<Vec<_>>().join(" ")) {}
                }
                @for (i, at) in &ends {
                    text.v x=(format!("{:.1}", WIDE - RIGHT + 8.0)) y=(format!("{:.1}", at + 4.0)) { (all[*i].analyte.name()) }
                }
                @if (2..=MOST).contains(&here) {
                    path d=(format!("M{:.1} {TOP}V{floor:.1}", x(f64::from(here)))) stroke="#9a3f22" stroke-width="1.5" {}
                    text.v x=(format!("{:.1}", x(f64::from(here)) + 5.0)) y=(TOP + 14.0) { (here) " here" }
                }
            }
        }
    }
}

/// The number of cores for a margin that the grower types.
fn margin(table: &[Buys], f: &Fields, id: i64) -> Markup {
    let asked = f.text("margin");
    let of = table.iter().find(|x| x.analyte.key() == f.text("of"));
    let of = of.or_else(|| table.first());
    let answer = of.filter(|_| !asked.is_empty()).map(|x| {
        f.number("margin", "the margin")
            .and_then(|m| x.needed(m, Confidence::USUAL).map_err(|e| e.to_string()))
    });
    html! {
        form.noprint method="get" action={ "/sampling/" (id) "#how-many" } {
            div.row {
                (crate::parts::choose::choice("of", "To know", table.iter().map(|x| (x.analyte.key(), x.analyte.name())), of.map_or("", |x| x.analyte.key())))
                (crate::parts::choose::number("margin", "within", asked, "% of the value; for pH in pH units"))
                button.q { "How many cores" }
            }
        }
        @match answer {
            Some(Ok(figure)) => {
                p role="status" { b.num { (plain(figure.value, 4)) " cores" } ", in 8 of 10 cases." }
                (working::fold("The working", std::slice::from_ref(&figure)))
                (working::cautions(&figure.cautions))
            }
            Some(Err(why)) => (crate::layout::wrong(Some(&why))),
            None => {}
        }
    }
}
