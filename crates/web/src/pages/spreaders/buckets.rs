//! The crew’s bucket, and what a full one weighs of each material: measured, or by a published density.

use super::whole;
use crate::ask::Sent;
use crate::error::Page;
use crate::fields::Fields;
use crate::pages::log::today;
use crate::parts::choose::{choice, field, number};
use crate::parts::working::{mark, steps};
use crate::state::App;
use agronomy::material;
use axum::extract::State;
use farmbook::{Book, Bucket};
use farmwork::job_sheet::{self, USUAL_BUCKET};
use farmwork::record::entry;
use farmwork::spreaders::{FullBucket, full_buckets};
use farmwork::words;
use maud::{Markup, html};
use quantity::plain;

pub(super) fn part(book: &Book, f: &Fields) -> Result<Markup, Page> {
    let own = book.buckets()?.into_iter().find(|b| b.material.is_empty());
    let gallons = job_sheet::own_bucket(book)?;
    let all = full_buckets(book)?;
    let of = std::iter::once((String::new(), "the bucket for everything".to_owned())).chain(
        material::materials()
            .iter()
            .map(|m| (m.id.clone(), m.name.clone())),
    );
    let size = f
        .maybe("gallons")
        .map_or_else(|| plain(gallons, 4), str::to_owned);
    Ok(html! {
        h2 #buckets { "Buckets" }
        p {
            "Job sheets count in a bucket of " b.num { (plain(gallons, 4)) " gallons" } "."
            @if own.is_none() { " Nobody set another; " (plain(USUAL_BUCKET, 3)) " gallons is the usual one." }
        }
        form method="post" action="/spreaders/bucket" {
            div.row.top {
                (choice("weighed", "What was weighed", of, f.text("weighed")))
                (number("gallons", "In a bucket of", &size, "gallons"))
                (field("full", "A full one weighs", f.text("full"), "without the bucket: 22.5 lb. Leave it empty to set the size alone."))
            }
            p { button { "Keep the bucket" } }
        }
        @if all.is_empty() {
            p { "Tick " a href="/materials" { "materials" } " to see what a full bucket of each weighs." }
        } @else {
            div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" { table.rows.num.stack {
                thead { tr { th.l scope="col" { "Material" } th scope="col" { "A full bucket" small { (plain(gallons, 4)) " gallons" } } th.l scope="col" { "Known by" } } }
                tbody { @for b in &all { (row(b)) } }
            } }
        }
    })
}

fn row(b: &FullBucket) -> Markup {
    let weighed = b
        .weighed
        .as_ref()
        .and_then(|w| Some((w.gallons, w.weight?)));
    html! {
        tr {
            td.l data-label="Material" { a href={ "/materials/" (b.material) } { (b.name) } }
            td data-label="A full bucket" { @match b.lb { Some(lb) => b { (words::lb(lb)) }, None => "not known" } }
            td.l data-label="Known by" {
                @match (weighed, &b.published) {
                    (Some((gallons, weight)), _) => {
                        "Your scale: " (words::weighed(weight)) " in " (plain(gallons, 4)) " gallons"
                        @if let Some(day) = b.measured_on() { small { (day) } }
                        form.noprint method="post" action="/spreaders/bucket/forget" {
                            button.q name="of" value=(b.material) aria-label={ "Forget the weight of " (b.name.to_lowercase()) } { "Forget" }
                        }
                    }
                    (None, Some(figure)) => {
                        @if let Some(step) = figure.working.last() {
                            (if step.source.evidence.unconfirmed() { "Usual: " } else { "Published: " })
                            (step.source.text) " " (mark(&step.source))
                        }
                        @if let (Some(low), Some(high)) = (figure.low, figure.high) {
                            @if high - low > 0.01 * high { small { (words::lb(low)) " to " (words::lb(high)) ", as damp and fine as it comes: weigh yours." } }
                        }
                        details { summary { "Working" } (steps(figure)) }
                    }
                    (None, None) => { "No density is published here: weigh one." }
                }
            }
        }
    }
}

pub(crate) async fn keep(State(app): State<App>, Sent(sent): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(sent);
        match read(&f).and_then(|b| book.set_bucket(&b).map_err(|e| e.to_string())) {
            Ok(()) => Err(Page::Go("/spreaders?done=bucket#buckets".to_owned())),
            Err(why) => whole(book, None, &f, Some(&why), None),
        }
    })
    .await
}

fn read(f: &Fields) -> Result<Bucket, String> {
    let gallons = f.positive("gallons", "The size of the bucket in gallons")?;
    let weight = f
        .maybe("full")
        .map(entry::weight)
        .transpose()
        .map_err(|e| e.to_string())?;
    let material = match f.maybe("weighed") {
        Some(key) => entry::material_key(key).map_err(|e| e.to_string())?,
        None => String::new(),
    };
    if weight.is_some() == material.is_empty() {
        return Err(
            "Say both which material was weighed and what a full bucket of it weighed, or neither."
                .to_owned(),
        );
    }
    Ok(Bucket {
        material,
        gallons,
        measured_on: weight.map(|_| today()),
        weight,
    })
}

pub(crate) async fn forget(State(app): State<App>, Sent(sent): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(sent);
        match book.forget_bucket(f.text("of")) {
            Ok(()) => Err(Page::Go("/spreaders?done=unset#buckets".to_owned())),
            Err(why) => whole(book, None, &Fields::default(), Some(&why.to_string()), None),
        }
    })
    .await
}
