//! Deliveries and counts corrected beside themselves.

use super::{lot_name, materials, typed, with_paper};
use crate::ask::{At, Parcel, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, wrong};
use crate::pages::log::{material_name, today};
use crate::parts::choose::{choice, date, field, number, why};
use crate::state::App;
use axum::extract::State;
use farmbook::{Book, Id, new_mark};
use farmwork::record::{delivery, entry};
use farmwork::words;
use maud::{Markup, html};

const CORRECTED: &str = "/stock?done=corrected";

fn no_delivery(_: farmbook::Error) -> Page {
    Page::Missing("There is no such delivery.".to_owned())
}

fn no_count(_: farmbook::Error) -> Page {
    Page::Missing("There is no such count.".to_owned())
}

/// The form that corrects a delivery, filled as it stands.
pub(crate) async fn one_delivery(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| {
        let a = book.arrival(id).map_err(no_delivery)?;
        let f = Fields::of([
            ("mark", new_mark()),
            ("material", a.material),
            ("amount", amount(&a.packs, a.weight)),
            ("lot", a.lot),
            ("day", a.day.to_string()),
            ("order", a.order.map_or_else(String::new, |o| o.to_string())),
            ("from", a.supplier),
            (
                "paid",
                a.paid
                    .map_or_else(String::new, |c| format!("{:.2}", c as f64 / 100.0)),
            ),
        ]);
        of_delivery(book, id, &f, None)
    })
    .await
}

/// What came in as it is typed: so many packs, or a weight.
fn amount(packs: &str, weight: quantity::Weight) -> String {
    let count = packs
        .split_once('×')
        .and_then(|(n, _)| n.trim().parse::<u32>().ok());
    match count.filter(|n| *n > 1) {
        Some(n) => format!("{n} x {} lb", weight.to_pounds() / f64::from(n)),
        None => format!("{} lb", weight.to_pounds()),
    }
}

fn of_delivery(book: &Book, id: Id, f: &Fields, problem: Option<&str>) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let orders = std::iter::once((String::new(), "none".to_owned())).chain(
        book.placed_orders()?
            .into_iter()
            .map(|o| (o.id.to_string(), format!("{} of {}", o.supplier, o.day))),
    );
    let body = html! {
        div {
            p.meta { a href="/stock" { "In the shed" } }
            h1 { "Correct a delivery" }
            p.lede { "Delivery " (id) " stays in the record beside its correction, with the day and the reason." }
            (wrong(problem))
            form.thumb method="post" action={ "/stock/delivery/" (id) } enctype="multipart/form-data" {
                input type="hidden" name="mark" value=(f.text("mark"));
                (choice("material", "Material", materials(), f.text("material")))
                (field("amount", "How much", f.text("amount"), "12 x 50 lb, or 1 ton"))
                (field("lot", "Lot", f.text("lot"), "as printed on the bag"))
                (date("day", "Day", f.text("day")))
                (choice("order", "Answers the order", orders, f.text("order")))
                (field("from", "From", f.text("from"), ""))
                (number("paid", "Paid", f.text("paid"), &farm.currency))
                div.field { label for="paper" { "Another note or bill" } input id="paper" type="file" name="paper"; small { "the one there is stays where none is chosen" } }
                (why(f))
                p { button { "Keep the correction" } }
                p { button.q name="back" value="yes" { "It never came: take the delivery back" } }
            }
        }
    };
    Ok(page(&farm, "Order", "Correct a delivery", &body))
}

/// Keeps the correction of a delivery beside it.
pub(crate) async fn correct_delivery(
    State(app): State<App>,
    At(id): At<i64>,
    Parcel(form): Parcel,
) -> Result<Markup, Page> {
    let (fields, paper) = with_paper(form).await?;
    app.with(move |book| {
        let f = Fields(fields);
        book.arrival(id).map_err(no_delivery)?;
        let kept = || -> Result<Id, String> {
            if f.ticked("back") {
                let mut back =
                    delivery::take_back(book, id, f.text("why")).map_err(|e| e.to_string())?;
                f.give_mark(&mut back.mark);
                return book.log_arrival(&back).map_err(|e| e.to_string());
            }
            let typed = typed(&f, Some(id))?;
            delivery::write(book, &typed, paper, today()).map_err(|e| e.to_string())
        }();
        match kept {
            Ok(_) => Err(Page::Go(CORRECTED.to_owned())),
            Err(why) => of_delivery(book, id, &f, Some(&why)),
        }
    })
    .await
}

/// The form that corrects a count, filled as it stands.
pub(crate) async fn one_count(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| {
        let c = book.count(id).map_err(no_count)?;
        let f = Fields::of([
            ("mark", new_mark()),
            ("there", format!("{} lb", c.weight.to_pounds())),
            ("lot", c.lot),
            ("on", c.day.to_string()),
        ]);
        of_count(book, id, &f, None)
    })
    .await
}

fn of_count(book: &Book, id: Id, f: &Fields, problem: Option<&str>) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let c = book.count(id).map_err(no_count)?;
    let body = html! {
        div {
            p.meta { a href="/stock" { "In the shed" } }
            h1 { "Correct a count" }
            p.lede { (material_name(&c.material)) ", " (lot_name(&c.lot)) ": count " (id) " of " (c.day) " showed " (words::weighed(c.weight)) ". It stays in the record beside its correction, with the day and the reason." }
            (wrong(problem))
            form.thumb method="post" action={ "/stock/counted/" (id) } {
                input type="hidden" name="mark" value=(f.text("mark"));
                (field("there", "What the scale showed", f.text("there"), "118 lb; 0 for nothing"))
                (field("lot", "Lot", f.text("lot"), "as printed on the bag"))
                (date("on", "Day", f.text("on")))
                (why(f))
                p { button { "Keep the correction" } }
                p { button.q name="back" value="yes" { "Nobody weighed it: take the count back" } }
            }
        }
    };
    Ok(page(&farm, "Order", "Correct a count", &body))
}

/// Keeps the correction of a count beside it.
pub(crate) async fn correct_count(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        book.count(id).map_err(no_count)?;
        let kept = || -> Result<Id, String> {
            let said = |e: farmwork::WorkError| e.to_string();
            if f.ticked("back") {
                let mut back = delivery::take_back_count(book, id, f.text("why")).map_err(said)?;
                f.give_mark(&mut back.mark);
                return book.log_count(&back).map_err(|e| e.to_string());
            }
            let on = f.maybe("on").map(entry::day).transpose().map_err(said)?;
            let lot = f.every("lot").next();
            let mut new =
                delivery::correct_count(book, id, f.text("there"), (lot, on), f.text("why"))
                    .map_err(said)?;
            f.give_mark(&mut new.mark);
            book.log_count(&new).map_err(|e| e.to_string())
        }();
        match kept {
            Ok(_) => Err(Page::Go(CORRECTED.to_owned())),
            Err(why) => of_count(book, id, &f, Some(&why)),
        }
    })
    .await
}
