//! Who sells and delivers, and at what charge.

use crate::ask::{Asked, At, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, said, wrong};
use crate::parts::choose::{field, number};
use crate::state::App;
use axum::extract::State;
use farmbook::{Book, Farm, Id, Supplier};
use farmwork::words;
use maud::{Markup, html};

pub(crate) async fn list(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let done = match Fields(query).text("done") {
            "kept" => Some("The supplier is kept."),
            "removed" => Some("The supplier is removed, and taken off every size it sold."),
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
    let all = book.suppliers()?;
    let body = html! {
        div {
            h1 { "Suppliers" }
            @if all.is_empty() {
                p.lede { "None is entered. A supplier with a delivery charge makes a plan buy what it can in one place." }
            } @else {
                p.lede { "A plan pays each delivery charge once, and buys where the whole comes cheapest." }
            }
            (said(done))
            (wrong(problem))
            @if !all.is_empty() {
                div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows.num {
                    thead { tr { th.l scope="col" { "Supplier" } th scope="col" { "Delivery" } th scope="col" { "Free from" } th scope="col" { "Days to delivery" } } }
                    tbody { @for s in &all { tr {
                        td.l { a href={ "/suppliers/" (s.id) } { b { (s.name) } } small { (s.note) } }
                        td { (words::money(s.delivery, &farm.currency)) }
                        td { @match s.free_from { Some(m) => (words::money(m, &farm.currency)), None => "·" } }
                        td { @match s.lead_days { Some(d) => (d), None => "·" } }
                    } } }
                } }
            }
            h2 { "Add a supplier" }
            (form(&farm, "/suppliers", f))
        }
        aside {
            h3 { "Sizes" }
            p { "Say on the page of each " a href="/materials" { "material" } " which size comes from whom." }
        }
    };
    Ok(page(&farm, "", "Suppliers", &body))
}

fn form(farm: &Farm, to: &str, f: &Fields) -> Markup {
    html! {
        form method="post" action=(to) {
            div.row {
                (field("name", "Name", f.text("name"), ""))
                (number("delivery", "Delivery", f.text("delivery"), &farm.currency))
                (number("free", "Free from an order of", f.text("free"), &farm.currency))
                (number("lead", "Days to delivery", f.text("lead"), ""))
                (field("note", "Note", f.text("note"), ""))
            }
            p { button { "Keep" } }
        }
    }
}

fn typed(id: Id, f: &Fields) -> Result<Supplier, String> {
    Ok(Supplier {
        id,
        name: f.text("name").to_owned(),
        delivery: f
            .maybe_number("delivery", "a delivery charge")?
            .unwrap_or(0.0),
        free_from: f.maybe_number("free", "the order that comes free")?,
        lead_days: f.maybe_of("lead", "a number of days")?,
        note: f.text("note").to_owned(),
    })
}

pub(crate) async fn add(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let kept = typed(0, &f).and_then(|s| book.set_supplier(&s).map_err(|e| e.to_string()));
        match kept {
            Ok(_) => Err(Page::Go("/suppliers?done=kept".to_owned())),
            Err(why) => whole(book, None, &f, Some(&why)),
        }
    })
    .await
}

fn the(book: &Book, id: Id) -> Result<Supplier, Page> {
    book.supplier(id)
        .map_err(|_| Page::Missing("There is no such supplier.".to_owned()))
}

fn one(book: &Book, id: Id, f: &Fields, problem: Option<&str>) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let supplier = the(book, id)?;
    let body = html! {
        div {
            p.meta { a href="/suppliers" { "Suppliers" } }
            h1 { (supplier.name) }
            (wrong(problem))
            (form(&farm, &format!("/suppliers/{id}"), f))
            form method="post" action={ "/suppliers/" (id) "/remove" } { button.q { "Remove" } }
        }
    };
    Ok(page(&farm, "", &supplier.name, &body))
}

pub(crate) async fn show(State(app): State<App>, At(id): At<Id>) -> Result<Markup, Page> {
    app.with(move |book| {
        let s = the(book, id)?;
        let text = |x: Option<String>| x.unwrap_or_default();
        let fields = [
            ("name", s.name.clone()),
            ("delivery", format!("{:.2}", s.delivery)),
            ("free", text(s.free_from.map(|m| format!("{m:.2}")))),
            ("lead", text(s.lead_days.map(|d| d.to_string()))),
            ("note", s.note),
        ];
        let f = Fields::of(fields);
        one(book, id, &f, None)
    })
    .await
}

pub(crate) async fn change(
    State(app): State<App>,
    At(id): At<Id>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        the(book, id)?;
        let kept = typed(id, &f).and_then(|s| book.set_supplier(&s).map_err(|e| e.to_string()));
        match kept {
            Ok(_) => Err(Page::Go("/suppliers?done=kept".to_owned())),
            Err(why) => one(book, id, &f, Some(&why)),
        }
    })
    .await
}

pub(crate) async fn remove(State(app): State<App>, At(id): At<Id>) -> Result<Markup, Page> {
    app.with(move |book| {
        the(book, id)?;
        book.remove_supplier(id)?;
        Err(Page::Go("/suppliers?done=removed".to_owned()))
    })
    .await
}
