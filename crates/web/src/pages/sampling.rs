//! The season’s sampling: what is due, what may share a box, what to ask the lab for, what it costs.

pub(crate) mod block;
pub(crate) mod boxes;
pub(crate) mod buys;
pub(crate) mod one_box;
pub(crate) mod paper;

use crate::ask::{Asked, Sent};
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, said, wrong};
use crate::parts::choose::number;
use crate::parts::leaf::{Leaf, List};
use crate::parts::working::mark;
use crate::state::App;
use agronomy::sampling::{Reason, TestKind};
use axum::extract::State;
use farmbook::{Book, Farm};
use farmwork::sampling::{self, BlockSampling, Due, Purpose, Sampling};
use farmwork::words;
use jiff::ZonedDateTime;
use jiff::civil::Date;
use maud::{Markup, html};
use quantity::plain;
use std::collections::HashSet;

pub(crate) fn today() -> Date {
    ZonedDateTime::now().date()
}

/// Reasons with where each stands.
pub(crate) fn reasons(all: &[Reason]) -> Markup {
    html! {
        ul.why {
            @for r in all { li { (r.text) " " small { (r.source.text) " " (mark(&r.source)) } } }
        }
    }
}

pub(crate) async fn show(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let query = Fields(query);
        let done = match query.text("done") {
            "fees" => Some("The lab’s fees are kept."),
            _ => None,
        };
        whole(book, &query, done, None)
    })
    .await
}

fn whole(
    book: &Book,
    f: &Fields,
    done: Option<&str>,
    problem: Option<&str>,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let plan = at_hand::sampling(book)?;
    let body = html! {
        div {
            h1 { "Sampling" }
            p.lede { (opening(&plan)) }
            (said(done))
            (wrong(problem))
            @if plan.blocks.is_empty() {
                p { "There is no block yet. " a.btn href="/ground/new" { "Add one" } }
            } @else {
                @let open = plan.blocks.iter().filter(|b| !b.open.is_empty()).count();
                @if open > 0 {
                    p.first { b { "First. " }
                        (open) @if open == 1 { " block has" } @else { " blocks have" } " a box on its way. "
                        a href="/sampling/boxes" { "The boxes" }
                    }
                }
                (choose(&plan, &farm, f))
            }
        }
        aside {
            h3 { "When" }
            p { "The same time of year every time, after the harvest and before anything is spread. The reasons for each block stand on its own page." }
            h3 { "One box or two" }
            p { "A box that stands for two blocks saves a fee and tells nothing of how they differ. Where one of them does worse, give it its own." }
            p { a href="/sampling/boxes" { "Boxes of soil" } }
            (fees(&plan, &farm))
        }
    };
    Ok(page(&farm, "Sampling", "Sampling", &body))
}

fn opening(plan: &Sampling) -> String {
    let count = |due: &[Due]| plan.blocks.iter().filter(|b| due.contains(&b.due)).count();
    let (never, due, may) = (count(&[Due::Never]), count(&[Due::Due]), count(&[Due::May]));
    if plan.blocks.is_empty() {
        return "Once your blocks are here, this page says which to sample, when, and what to ask the lab for.".to_owned();
    }
    let mut parts = Vec::new();
    if never > 0 {
        parts.push(format!("{never} never tested"));
    }
    if due > 0 {
        parts.push(format!("{due} due"));
    }
    if may > 0 {
        parts.push(format!("{may} that may be done this time or wait"));
    }
    if parts.is_empty() {
        return format!(
            "None of your {} blocks is due. From when each is worth it stands beside it.",
            plan.blocks.len()
        );
    }
    format!(
        "Of {} blocks: {}. Tick those that you will send, and make their boxes.",
        plan.blocks.len(),
        words::and(&parts)
    )
}

/// The blocks to tick, what may share, and the button that makes the boxes.
fn choose(plan: &Sampling, farm: &Farm, f: &Fields) -> Markup {
    let list = List {
        path: "/sampling",
        key: "",
        rows: "blocks",
        keep: &[],
    };
    let leaf = Leaf::of(list, f, plan.blocks.iter().collect(), |b| {
        let crop = b.crop.as_ref().map_or("", |c| c.name.as_str());
        format!("{} {crop} {}", b.block.name, b.due.name())
    });
    let wanted: Vec<&BlockSampling> = leaf.rows.iter().copied().filter(|b| b.wanted()).collect();
    let here: HashSet<i64> = leaf.rows.iter().map(|b| b.block.id).collect();
    html! {
        (leaf.head())
        @if leaf.rows.len() < plan.blocks.len() { p { "The boxes are made for what is ticked here; the other blocks keep till their turn." } }
        form method="post" action="/sampling" {
            div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                table.rows.stack {
                    thead { tr {
                        th.l scope="col" { "Block" } th.l scope="col" { "Due" } th.l scope="col" { "Ask for" }
                        th scope="col" { "Depth " small { "in" } } th scope="col" { "Cores" }
                        th scope="col" { "Fee " small { (farm.currency) } }
                    } }
                    tbody { @for b in &leaf.rows { (row(b, plan)) } }
                }
            }
            p { (cost(plan, &wanted, farm)) }
            (sharing(plan, &here))
            fieldset {
                legend { "Boxes for" }
                label.tick { input type="radio" name="purpose" value="standard" checked; " the year’s soil test" }
                label.tick { input type="radio" name="purpose" value="nitrate"; " nitrate before sidedressing: now, a foot deep, in boxes of their own" }
            }
            p { button { "Make the boxes" } }
        }
        (leaf.foot())
    }
}

fn row(b: &BlockSampling, plan: &Sampling) -> Markup {
    let (fee, unknown) = plan.fee(b.tests());
    let id = b.block.id;
    html! {
        tr {
            td.l {
                label.tick {
                    input type="checkbox" name="block" value=(id) checked[b.wanted()];
                    span { " " (b.block.name) }
                }
                small { a href={ "/sampling/" (id) } { "why" span.vh { " for " (b.block.name) } } @if let Some(crop) = &b.crop { " · " (crop.name) } }
            }
            td.l data-label="Due" {
                b { (b.due.name()) }
                small { (days(b)) }
                @for open in &b.open { small { a href={ "/sampling/box/" (open.id) } { "box " (open.label) } ", " (open.state().name()) } }
            }
            td.l data-label="Ask for" {
                @for (i, kind) in b.tests().enumerate() { @if i > 0 { ", " } (kind.name()) }
                @if b.asks.iter().any(|(k, _)| k.own_sample()) { small { "later: " (TestKind::Nitrate.name()) } }
            }
            td.n data-label="Depth, in" { (plain(b.depth_in, 2)) }
            td.n data-label="Cores" { (b.cores) }
            td.n data-label="Fee" { @if unknown.is_empty() { (words::cents(fee)) } @else { "–" } }
        }
    }
}

/// The days of a block in a few words.
pub(crate) fn days(b: &BlockSampling) -> String {
    let mut parts = Vec::new();
    if let Some(last) = b.last {
        parts.push(format!("last {last}"));
    }
    match (b.due, b.after, b.by) {
        (Due::NotYet, Some(after), _) => parts.push(format!("from {after}")),
        (Due::May, _, Some(by)) => parts.push(format!("by {by}")),
        (Due::Due, _, Some(by)) => parts.push(format!("was to be done by {by}")),
        _ => {}
    }
    if let Some((day, _)) = &b.not_before {
        parts.push(format!("better not before {day}"));
    }
    parts.join("; ")
}

fn cost(plan: &Sampling, wanted: &[&BlockSampling], farm: &Farm) -> Markup {
    let mut sum = 0.0;
    let mut unknown: Vec<TestKind> = Vec::new();
    for b in wanted {
        let (fee, missing) = plan.fee(b.tests());
        sum += fee;
        unknown.extend(missing);
    }
    unknown.sort_unstable();
    unknown.dedup();
    let names: Vec<String> = unknown.iter().map(|k| k.name().to_owned()).collect();
    html! {
        @if wanted.is_empty() { "Nothing is ticked as due." }
        @else if unknown.is_empty() {
            "The " (wanted.len()) " ticked, a box each: " b.num { (words::money(sum, &farm.currency)) } " at your lab’s fees."
        } @else {
            "What the " (wanted.len()) " ticked cost is not known: type your lab’s fee for the " (words::and(&names)) "."
        }
    }
}

fn names(plan: &Sampling, ids: &[i64]) -> String {
    let all: Vec<String> = ids
        .iter()
        .filter_map(|id| plan.block(*id))
        .map(|b| b.block.name.clone())
        .collect();
    words::and(&all)
}

/// What may share a box and what may not, as far as it concerns the blocks that are shown.
fn sharing(plan: &Sampling, here: &HashSet<i64>) -> Markup {
    let of_these = |blocks: &[i64]| blocks.iter().any(|id| here.contains(id));
    let together: Vec<_> = plan
        .sharing
        .together
        .iter()
        .filter(|t| of_these(&t.blocks))
        .collect();
    let alone: Vec<_> = plan
        .sharing
        .alone
        .iter()
        .filter(|a| !a.why.is_empty() && here.contains(&a.block))
        .collect();
    html! {
        @if !together.is_empty() {
            h2 { "These may share a box" }
            @if let Some(first) = together.first() { (reasons(std::slice::from_ref(&first.why))) }
            p { "Tick a line to have one box for those of it that are ticked above." }
            @for (i, t) in together.iter().enumerate() {
                label.tick {
                    input type="checkbox" name="share" value=(i);
                    input type="hidden" name={ "group-" (i) } value=(t.blocks.iter().map(ToString::to_string).collect::<Vec<_>>().join(" "));
                    span { " " (names(plan, &t.blocks)) }
                }
            }
        }
        @if !alone.is_empty() {
            details {
                summary { "These must have a box each, and why" }
                ul.plainly {
                    @for a in &alone {
                        li {
                            b { (names(plan, &[a.block])) }
                            @if let Some(other) = a.nearest { ", even from " (names(plan, &[other])) }
                            (reasons(&a.why))
                        }
                    }
                }
            }
        }
    }
}

fn fees(plan: &Sampling, farm: &Farm) -> Markup {
    html! {
        h3 { "Your lab’s fees" }
        form method="post" action="/sampling/fees" {
            @for kind in TestKind::ALL {
                (number(
                    &format!("fee-{}", kind.key()),
                    &words::capital(kind.name()),
                    &plan.fees.get(&kind).map(|f| words::cents(*f)).unwrap_or_default(),
                    &farm.currency,
                ))
            }
            p { button.q { "Keep the fees" } }
            p { small { "For one sample. Where a test comes with another at no charge, write 0." } }
        }
    }
}

pub(crate) async fn keep_fees(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let typed: Result<Vec<_>, String> = TestKind::ALL
            .iter()
            .map(|k| {
                let fee = f.maybe_number(&format!("fee-{}", k.key()), "a fee")?;
                Ok((k.key(), fee))
            })
            .collect();
        let kept = typed.and_then(|all| {
            book.together("Set the lab’s fees", |book| {
                all.iter()
                    .try_for_each(|(k, fee)| book.set_lab_fee(k, *fee))
            })
            .map_err(|e| e.to_string())
        });
        match kept {
            Ok(()) => Err(Page::Go("/sampling?done=fees".to_owned())),
            Err(why) => whole(book, &Fields::default(), None, Some(&why)),
        }
    })
    .await
}

/// The picks of a form: the ticked blocks, those of a ticked group together.
fn picks(f: &Fields) -> Result<Vec<Vec<i64>>, String> {
    let bad = |text: &str| format!("“{text}” is no block of this book.");
    let mut ticked = Vec::new();
    for text in f.every("block") {
        let id: i64 = text.parse().map_err(|_| bad(text))?;
        if !ticked.contains(&id) {
            ticked.push(id);
        }
    }
    let mut picks = Vec::new();
    for group in f.every("share") {
        let mut pick = Vec::new();
        for text in f.text(&format!("group-{group}")).split_whitespace() {
            let id: i64 = text.parse().map_err(|_| bad(text))?;
            if let Some(at) = ticked.iter().position(|t| *t == id) {
                pick.push(ticked.remove(at));
            }
        }
        if !pick.is_empty() {
            picks.push(pick);
        }
    }
    picks.extend(ticked.into_iter().map(|id| vec![id]));
    Ok(picks)
}

pub(crate) async fn make(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let purpose = match f.text("purpose") {
            "nitrate" => Purpose::Nitrate,
            _ => Purpose::Standard,
        };
        let made = picks(&f).and_then(|picks| {
            let said = |e: farmwork::WorkError| e.to_string();
            let plan = sampling::of_farm(book, today()).map_err(said)?;
            may_share(&plan, &picks)?;
            sampling::make(book, &plan, &picks, purpose, today()).map_err(said)
        });
        match made {
            Ok(_) => Err(Page::Go("/sampling/boxes?done=made".to_owned())),
            Err(why) => whole(book, &Fields::default(), None, Some(&why)),
        }
    })
    .await
}

/// Blocks share a box only where nothing keeps them apart.
fn may_share(plan: &Sampling, picks: &[Vec<i64>]) -> Result<(), String> {
    let told = |pick: &Vec<i64>| Some((names(plan, pick), plan.apart(pick)?));
    match picks.iter().find_map(told) {
        None => Ok(()),
        Some((names, why)) => Err(format!(
            "{names} may not share a box; make a box for each. {why}"
        )),
    }
}
