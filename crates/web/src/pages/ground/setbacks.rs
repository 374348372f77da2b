//! How far each class of materials is kept from what stands on the map: what is printed, and the grower's
//! own.

use crate::ask::{Asked, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, said, wrong};
use crate::state::App;
use agronomy::setback::Class;
use axum::extract::State;
use farmbook::{Book, MarkKind, OwnSetback};
use farmwork::setback::{self, Rule, Setbacks};
use farmwork::words;
use maud::{Markup, html};
use quantity::{Length, plain};

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let done = (Fields(query).text("done") == "kept").then_some("The distances are kept.");
        whole(book, done, None, None)
    })
    .await
}

fn feet(length: Length) -> String {
    let feet = length.to_feet();
    plain(feet, if feet < 1_000.0 { 3 } else { 4 })
}

/// As it stands in a field, so that it comes back as it was.
fn exact(feet: f64) -> String {
    plain(feet, 6)
}

/// The rules that are printed or set, and those for what stands on the map.
fn rows(book: &Book) -> Result<Vec<Rule>, Page> {
    let marks = book.marks()?;
    let mut all = setback::rules(book)?;
    all.retain(|r| r.holds().is_some() || marks.iter().any(|m| m.kind == r.kind));
    Ok(all)
}

fn whole(
    book: &Book,
    done: Option<&str>,
    problem: Option<&str>,
    typed: Option<&Fields>,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let rows = rows(book)?;
    let setbacks = Setbacks::of(book)?;
    let mut strips = Vec::new();
    for block in book.blocks()? {
        for class in Class::ALL {
            if let Some(near) = setbacks.on_class(&block, class) {
                strips.push((block.clone(), class, near));
            }
        }
    }
    let kinds: Vec<MarkKind> = MarkKind::ALL
        .into_iter()
        .filter(|k| rows.iter().any(|r| r.kind == *k))
        .collect();
    let body = html! {
        div {
            p.meta { a href="/ground" { "Ground" } " · " a href="/ground/diagram" { "Where the blocks lie" } }
            h1 { "How far from water and wells" }
            p.lede {
                @if strips.is_empty() { "No block lies too near to anything on the map." }
                @else { (words::capital(&blocks_near(strips.iter().map(|(b, ..)| b.id)))) " too near to something on the map: the strip beside it gets none, and job sheets give the amount for the rest." }
            }
            (said(done))
            (wrong(problem))
            form method="post" action="/ground/setbacks" {
                @for kind in &kinds {
                    h2 { (words::capital(kind.name())) }
                    div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                        table.rows.num.stack {
                            thead { tr { th.l scope="col" { "Material" } th.l scope="col" { "Printed" } th.l scope="col" { "Yours, ft" } th scope="col" { "Kept" } } }
                            tbody { @for rule in rows.iter().filter(|r| r.kind == *kind) { (row(rule, typed)) } }
                        }
                    }
                }
                p.noprint { button { "Keep the distances" } }
            }
            @if !strips.is_empty() {
                h2 { "Ground that gets none" }
                ul { @for (block, class, near) in &strips { li {
                    a href={ "/ground/parcel/" (block.id) } { b { (block.name) } } ", " (class.name()) ": " (near.says())
                } } }
            }
        }
        aside {
            h3 { "Which distance holds" }
            p { "The larger of the printed one and yours. Where the rule of your place asks for less, tick that yours is that rule: it then holds alone." }
            @if farm.region.is_empty() { p { "Name your " a href="/farm" { "region" } " to have its own printed distances where they are held." } }
            h3 { "From where it is measured" }
            p { "From the edge of what stands on the map: half the width of a stream or road away from its line, and the bank of a pond. Give streams their width on " a href="/ground/draw" { "the sheet" } "." }
            h3 { "What is not here" }
            p { "Slopes, ditches, tile inlets, frozen ground and property lines have rules of their own. Your state, your certifier and the label stand above what is written here." }
        }
    };
    Ok(page(&farm, "Ground", "How far from water and wells", &body))
}

fn blocks_near(ids: impl Iterator<Item = i64>) -> String {
    let mut ids: Vec<i64> = ids.collect();
    ids.dedup();
    match ids.len() {
        1 => "one block lies".to_owned(),
        n => format!("{n} blocks lie"),
    }
}

fn row(rule: &Rule, typed: Option<&Fields>) -> Markup {
    let name = format!("{}-{}", rule.kind.key(), rule.class.key());
    let (of_feet, of_local) = (format!("feet-{name}"), format!("local-{name}"));
    let value = typed.map_or_else(
        || {
            let own = rule.own.as_ref();
            own.map_or_else(String::new, |o| exact(o.distance.to_feet()))
        },
        |f| f.text(&of_feet).to_owned(),
    );
    let local = typed.map_or_else(
        || rule.own.as_ref().is_some_and(|o| o.local),
        |f| f.ticked(&of_local),
    );
    let what = format!("{} from a {}, ft", rule.class.name(), rule.kind.name());
    html! {
        tr {
            td.l data-label="Material" { b { (words::capital(rule.class.name())) } }
            td.l data-label="Printed" {
                @match rule.published {
                    None => "none was read",
                    Some(p) => {
                        (feet(p.distance)) " ft"
                        @if let Some((nearer, place)) = p.nearer { "; " (feet(nearer)) " ft " (place.words()) }
                        small { "Binds " (p.binds) ". (" (p.source.text) "; " (p.source.evidence.word()) ")" }
                    }
                }
            }
            td.l.tight data-label="Yours, ft" {
                input.short name=(of_feet) value=(value) inputmode="decimal" aria-label=(words::capital(&what));
                label.tick { input type="checkbox" name=(of_local) value="yes" checked[local]; " the rule here" } }
            td data-label="Kept" { @match rule.holds() {
                Some(holds) => { b { (feet(holds)) "\u{a0}ft" } @if rule.own.is_some() { small { (rule.why()) } } }
                None => "–",
            } }
        }
    }
}

/// The distances as they were typed; what was emptied is forgotten.
fn asked(book: &Book, f: &Fields) -> Result<Vec<(MarkKind, Class, Option<OwnSetback>)>, String> {
    let held = book.setbacks().map_err(|e| e.to_string())?;
    let mut all = Vec::new();
    for kind in MarkKind::ALL {
        for class in Class::ALL {
            let name = format!("{}-{}", kind.key(), class.key());
            let what = format!("the distance of {} from a {}", class.name(), kind.name());
            let was = held.iter().find(|o| o.kind == kind && o.class == class);
            let typed = f.maybe_number(&format!("feet-{name}"), &what)?;
            let local = f.ticked(&format!("local-{name}"));
            if local && typed.is_none() {
                return Err(format!(
                    "The rule here is ticked for {} from a {} without a distance; give it in feet.",
                    class.name(),
                    kind.name()
                ));
            }
            let set = typed.map(|feet| OwnSetback {
                kind,
                class,
                // As it was where the field says what it said.
                distance: match was {
                    Some(o) if exact(o.distance.to_feet()) == exact(feet) => o.distance,
                    _ => Length::feet(feet),
                },
                local,
            });
            if set.as_ref() != was {
                all.push((kind, class, set));
            }
        }
    }
    Ok(all)
}

pub(crate) async fn keep(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let kept = asked(book, &f).and_then(|all| {
            if all.is_empty() {
                return Ok(());
            }
            book.together("Set how far things are kept from water and wells", |book| {
                for (kind, class, set) in &all {
                    match set {
                        Some(set) => book.set_setback(set)?,
                        None => book.clear_setback(*kind, *class)?,
                    }
                }
                Ok(())
            })
            .map_err(|e| e.to_string())
        });
        match kept {
            Ok(()) => Err(Page::Go("/ground/setbacks?done=kept".to_owned())),
            Err(why) => whole(book, None, Some(&why), Some(&f)),
        }
    })
    .await
}
