//! What is in the shed, lot by lot; what came in, with its papers; what is still on its way.

mod correct;

pub(crate) use correct::{correct_count, correct_delivery, one_count, one_delivery};

use crate::ask::{Asked, At, Parcel, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::files::download;
use crate::layout::{page, said, wrong};
use crate::pages::log::{material_name, today};
use crate::parts::choose::{choice, date, field, number};
use crate::state::App;
use agronomy::material;
use axum::extract::{Multipart, State};
use axum::response::Response;
use farmbook::{Book, Id, new_mark};
use farmwork::record::delivery::{self, Typed};
use farmwork::record::stock::{self, Moves};
use farmwork::record::{beside, entry, ordering};
use farmwork::words;
use maud::{Markup, html};

/// The most that a paper may carry, bytes.
const MOST_PAPER: usize = 20 * 1024 * 1024;

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let done = match Fields(query).text("done") {
            "came" => Some("The delivery is written down, and the shed holds it."),
            "counted" => Some("The count is written down."),
            "corrected" => {
                Some("The correction stands beside what it corrects, and both are kept.")
            }
            _ => None,
        };
        whole(book, done, &Fields::default(), None)
    })
    .await
}

fn whole(
    book: &Book,
    done: Option<&str>,
    f: &Fields,
    problem: Option<&str>,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let lots = stock::now(&book.materials()?, &Moves::of(book)?);
    let placed = ordering::placed(book)?;
    let open = placed.iter().filter(|s| s.is_open()).count();
    let body = html! {
        div {
            p.meta { a href="/order" { "Order" } " · " a href="/log" { "Log" } }
            h1 { "In the shed" }
            p.lede {
                @match (lots.len(), open) {
                    (0, 0) => "Nothing is written down yet: say what came in, or what is there.",
                    (_, 0) => "What is there by the record: what came in, less what was spread, as last counted.",
                    (_, 1) => "What is there by the record. One order is still on its way.",
                    (_, n) => { "What is there by the record. " (n) " orders are still on their way." },
                }
            }
            (said(done))
            (wrong(problem))
            (shed(&lots))
            (delivery_form(&placed, f))
            (count_form(&lots, f))
            (arrivals(book, &farm.currency)?)
            (counts(book)?)
        }
        aside {
            h3 { "Short deliveries" }
            p { "Write down what really came. The rest of the order stays open until it comes or you close the order; then make the plan again with what is there." }
            h3 { "Papers" }
            p { "The note or bill is kept as it is, with a mark (SHA-256) that shows if it was ever changed." }
            h3 { "Compost" }
            p { "Of a compost with manure in it, say " a href="/materials" { "how it was made" } ", by lot where lots differ: what was not made hot counts as raw manure." }
            h3 { "Counting" }
            p { "Weigh what is left once a year. The record keeps the difference; it is not hidden." }
        }
    };
    Ok(page(&farm, "Order", "In the shed", &body))
}

fn lot_name(lot: &str) -> &str {
    if lot.is_empty() { "no lot" } else { lot }
}

fn shed(lots: &[stock::LotBalance]) -> Markup {
    html! {
        @if !lots.is_empty() {
            div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows.num {
                thead { tr { th.l scope="col" { "Material" } th.l scope="col" { "Lot" } th scope="col" { "At first" } th scope="col" { "Came in" } th scope="col" { "Used" } th scope="col" { "Counts" small { "more or less" } } th scope="col" { "There now" } } }
                tbody { @for b in lots { tr {
                    td.l { a href={ "/materials/" (b.material) } { b { (material_name(&b.material)) } } }
                    td.l { (lot_name(&b.lot)) }
                    td { (words::weighed(b.begin)) }
                    td { (words::weighed(b.came)) }
                    td { (words::weighed(b.used)) }
                    td { @if b.counted.is_zero() { "·" } @else { (words::weighed(b.counted)) } }
                    td { b { (words::weighed(b.end)) } @if let Some(day) = b.short_from { small { span.tag.doubt { "more used than there was" } " from " (day) } } }
                } } }
            } }
        }
    }
}

fn materials() -> Vec<(String, String)> {
    material::materials()
        .iter()
        .map(|m| (m.id.clone(), m.name.clone()))
        .collect()
}

fn delivery_form(placed: &[ordering::Standing], f: &Fields) -> Markup {
    let mark = f.maybe("mark").map_or_else(new_mark, str::to_owned);
    let day = f
        .maybe("day")
        .map_or_else(|| today().to_string(), str::to_owned);
    let orders = std::iter::once((String::new(), "none".to_owned())).chain(
        placed.iter().filter(|s| s.is_open()).map(|s| {
            (
                s.order.id.to_string(),
                format!("{} of {}", s.order.supplier, s.order.day),
            )
        }),
    );
    html! {
        h2 { "A delivery came" }
        form method="post" action="/stock" enctype="multipart/form-data" {
            input type="hidden" name="mark" value=(mark);
            div.row {
                (choice("material", "Material", materials(), f.text("material")))
                (field("amount", "How much", f.text("amount"), "12 x 50 lb, or 1 ton"))
                (field("lot", "Lot", f.text("lot"), "as printed on the bag"))
                (date("day", "Day", &day))
            }
            div.row {
                (choice("order", "Answers the order", orders, f.text("order")))
                (field("from", "From", f.text("from"), "where it answers no order"))
                (number("paid", "Paid", f.text("paid"), ""))
                div.field { label for="paper" { "Note or bill" } input id="paper" type="file" name="paper"; }
            }
            p { button { "Write it down" } }
        }
    }
}

fn count_form(lots: &[stock::LotBalance], f: &Fields) -> Markup {
    let known = lots.iter().map(|b| {
        (
            format!("{}|{}", b.material, b.lot),
            format!("{}, {}", material_name(&b.material), lot_name(&b.lot)),
        )
    });
    html! {
        @if !lots.is_empty() {
            h2 { "Counted in the shed" }
            form method="post" action="/stock/count" {
                input type="hidden" name="mark" value=(new_mark());
                div.row {
                    (choice("which", "What was weighed", known, f.text("which")))
                    (field("there", "What the scale showed", f.text("there"), "118 lb; 0 for nothing"))
                    (date("on", "Day", &today().to_string()))
                    div.field { button.q { "Keep the count" } }
                }
            }
        }
    }
}

fn arrivals(book: &Book, currency: &str) -> Result<Markup, Page> {
    let all = book.all_arrivals()?;
    let papers = book.papers()?;
    Ok(html! {
        @if !all.is_empty() {
            h2 { "Deliveries" }
            div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows.num {
                thead { tr { th.l scope="col" { "Day" } th.l scope="col" { "What" } th scope="col" { "Weight" } th.l scope="col" { "From" } th scope="col" { "Paid" small { (currency) } } th.l scope="col" { "Paper" } th.l scope="col" { "Entry" } } }
                tbody { @for a in all.iter().rev() { @let stands = beside::successor(&all, a).is_none(); tr {
                    td.l { (a.day) }
                    td.l { b { (material_name(&a.material)) } small { (lot_name(&a.lot)) } }
                    td { @if stands { (words::weighed(a.weight)) } @else { del { (words::weighed(a.weight)) } } small { (a.packs) } }
                    td.l { (a.supplier) @if let Some(o) = a.order { small { "order " (o) } } }
                    td { @match a.paid { Some(c) => (words::cents(c as f64 / 100.0)), None => "·" } }
                    td.l { @match a.paper.and_then(|id| papers.iter().find(|p| p.id == id)) {
                        Some(p) => { a href={ "/stock/paper/" (p.id) } { (p.file_name) } small title=(p.sha256) { (p.sha256.chars().take(12).collect::<String>()) "…" } },
                        None => "none",
                    } }
                    td.l { "No. " (a.id) small { (beside::stands(&all, a)) }
                        @if stands && !a.weight.is_zero() { a.noprint href={ "/stock/delivery/" (a.id) } aria-label={ "Correct delivery " (a.id) } { "Correct" } }
                    }
                } } }
            } }
        }
    })
}

fn counts(book: &Book) -> Result<Markup, Page> {
    let all = book.all_counts()?;
    Ok(html! {
        @if !all.is_empty() {
            h2 { "Counts" }
            div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows.num {
                thead { tr { th.l scope="col" { "Day" } th.l scope="col" { "What" } th scope="col" { "There" } th.l scope="col" { "Entry" } } }
                tbody { @for c in all.iter().rev() { @let stands = beside::successor(&all, c).is_none(); tr {
                    td.l { (c.day) }
                    td.l { b { (material_name(&c.material)) } small { (lot_name(&c.lot)) } }
                    td { @if stands && !c.takes_back { (words::weighed(c.weight)) } @else { del { (words::weighed(c.weight)) } } }
                    td.l { "No. " (c.id) small { (beside::stands(&all, c)) }
                        @if stands && !c.takes_back { a.noprint href={ "/stock/counted/" (c.id) } aria-label={ "Correct count " (c.id) } { "Correct" } }
                    }
                } } }
            } }
        }
    })
}

/// The fields of a form and the paper that came with it: name and bytes.
type WithPaper = (Vec<(String, String)>, Option<(String, Vec<u8>)>);

/// Reads a form with a paper.
async fn with_paper(mut form: Multipart) -> Result<WithPaper, Page> {
    let unfit = |_| {
        Page::sentence(
            "The delivery did not arrive whole; nothing was written down. Send it again.",
        )
    };
    let (mut fields, mut paper) = (Vec::new(), None);
    while let Some(part) = form.next_field().await.map_err(unfit)? {
        let name = part.name().unwrap_or_default().to_owned();
        if name == "paper" {
            let file = part.file_name().unwrap_or_default().to_owned();
            let bytes = part.bytes().await.map_err(unfit)?;
            if bytes.len() > MOST_PAPER {
                return Err(Page::TooLarge(
                    "The paper is larger than 20 MB; nothing was written down.".to_owned(),
                ));
            }
            if !file.is_empty() {
                paper = Some((file, bytes.to_vec()));
            }
        } else if fields.len() < 50 {
            fields.push((name, part.text().await.map_err(unfit)?));
        }
    }
    Ok((fields, paper))
}

/// The delivery that a form tells of; `corrects` is the one whose place it takes.
fn typed(f: &Fields, corrects: Option<Id>) -> Result<Typed, String> {
    let text = |key: &str| f.text(key).to_owned();
    Ok(Typed {
        mark: text("mark"),
        material: text("material"),
        amount: text("amount"),
        from: text("from"),
        lot: text("lot"),
        day: text("day"),
        paid: text("paid"),
        order: f.maybe_of("order", "the number of an order")?,
        note: text("why"),
        corrects,
        clears: true,
    })
}

pub(crate) async fn came(State(app): State<App>, Parcel(form): Parcel) -> Result<Markup, Page> {
    let (fields, paper) = with_paper(form).await?;
    app.with(move |book| {
        let f = Fields(fields);
        let kept = typed(&f, None).and_then(|typed| {
            delivery::write(book, &typed, paper, today()).map_err(|e| e.to_string())
        });
        match kept {
            Ok(_) => Err(Page::Go("/stock?done=came".to_owned())),
            Err(why) => whole(book, None, &f, Some(&why)),
        }
    })
    .await
}

pub(crate) async fn count(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let (material, lot) = f
            .raw("which")
            .split_once('|')
            .unwrap_or((f.raw("which"), ""));
        let new = entry::day(f.text("on"))
            .and_then(|on| delivery::count(material, lot, f.text("there"), on))
            .map_err(|e| e.to_string())
            .and_then(|mut count| {
                f.give_mark(&mut count.mark);
                book.log_count(&count).map_err(|e| e.to_string())
            });
        match new {
            Ok(_) => Err(Page::Go("/stock?done=counted".to_owned())),
            Err(why) => whole(book, None, &f, Some(&why)),
        }
    })
    .await
}

/// A paper as it was kept; always a download, so that nothing in it can act in the browser.
pub(crate) async fn paper(State(app): State<App>, At(id): At<i64>) -> Result<Response, Page> {
    let (name, bytes) = app
        .with(move |book| {
            let paper = book
                .paper(id)
                .map_err(|_| Page::Missing("There is no such paper.".to_owned()))?;
            Ok((paper.file_name, book.paper_bytes(id)?))
        })
        .await?;
    Ok(download(&name, "application/octet-stream", bytes))
}
