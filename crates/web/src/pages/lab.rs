//! The lab’s file: kept as it came, its columns confirmed once, its samples matched to blocks.

pub(crate) mod doubt;

use crate::ask::{Asked, At, Parcel, Sent};
use crate::at_hand;
use crate::error::Page;
use crate::fields::Fields;
use crate::files::download;
use crate::layout::{page, said, wrong};
use crate::parts::choose::{choice, field};
use crate::parts::leaf::{Leaf, List};
use crate::parts::working::mark;
use crate::state::App;
use axum::extract::State;
use axum::extract::multipart::MultipartError;
use axum::response::Response;
use farmbook::{Block, Book, ReportFile, ReportStatus, StoredTest};
use farmwork::WorkError;
use farmwork::lab::{self, Answer, Answers, Opened, Taken};
use farmwork::results::FileForm;
use labfiles::{Match, Meaning, Question, Topic};
use maud::{Markup, html};
use quantity::plain;

pub(crate) async fn list(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let done = Fields(query).ticked("removed").then_some(
            "The report was taken out. “Changes and undo” at the foot of the page brings it back.",
        );
        every(book, done, None)
    })
    .await
}

fn every(book: &Book, done: Option<&str>, problem: Option<&str>) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let reports = book.reports()?;
    let body = html! {
        div {
            h1 { "Lab" }
            p.lede {
                @if reports.is_empty() { "Load the file that your lab sent: CSV, a workbook, a PDF, a photo of the paper, or the exchange standard’s XML or JSON." }
                @else { (reports.len()) @if reports.len() == 1 { " file" } @else { " files" } " in the book, each kept as it came." }
            }
            (said(done))
            (wrong(problem))
            form method="post" action="/lab" enctype="multipart/form-data" {
                div.row {
                    div.field {
                        label for="file" { "The lab’s file" }
                        input type="file" id="file" name="file" accept=".csv,.tsv,.txt,.xlsx,.ods,.pdf,.png,.jpg,.jpeg,.xml,.json,text/csv,text/plain,application/pdf,image/png,image/jpeg" required;
                    }
                    button { "Load it" }
                }
            }
            div.row {
                details {
                    summary { "Or paste numbers from a mail or a page" }
                    form method="post" action="/lab/paste" {
                        div.field {
                            label for="text" { "The text, with its header" }
                            textarea id="text" name="text" rows="10" required {}
                        }
                        div.row {
                            (field("name", "A name to know it by", "", "such as the lab and the day"))
                            button { "Load the text" }
                        }
                    }
                }
                p { a href="/lab/type" { "Or type the values in by hand" } }
                p { a href="/sampling/boxes" { "Boxes of soil" } }
            }
            @if !reports.is_empty() {
                div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                    table.rows {
                        thead { tr { th.l scope="col" { "File" } th.l scope="col" { "Lab" } th.l scope="col" { "Came in" } th.l scope="col" { "State" } } }
                        tbody { @for r in &reports { (row(r)) } }
                    }
                }
            }
        }
        aside {
            h3 { "What happens" }
            p { "The program says what it takes each column for. You confirm that once for a lab; the next file of the same shape is read at once." }
            h3 { "What it never does" }
            p { "It never guesses an extractant, a buffer or a unit in silence, and reads either every row or none." }
        }
    };
    Ok(page(&farm, "Lab", "Lab", &body))
}

fn row(r: &ReportFile) -> Markup {
    html! {
        tr {
            td.l { a href={ "/lab/" (r.id) } { b { (r.file_name) } } }
            td.l { (r.lab.as_deref().unwrap_or("–")) }
            td.l.num { (r.received_at.get(..10).unwrap_or(&r.received_at)) }
            td.l {
                @match r.status {
                    ReportStatus::Kept => "waits to be read",
                    ReportStatus::Read => "read",
                    ReportStatus::Doubtful => "read, with doubts to look at",
                }
            }
        }
    }
}

fn unfit(e: &MultipartError) -> Page {
    if e.status() == axum::http::StatusCode::PAYLOAD_TOO_LARGE {
        Page::TooLarge(
            "The file is larger than 20 MB, which no soil report is; nothing was kept.".to_owned(),
        )
    } else {
        Page::sentence("The file did not arrive whole; load it again.")
    }
}

pub(crate) async fn load(State(app): State<App>, Parcel(mut form): Parcel) -> Result<Markup, Page> {
    let mut found = None;
    while let Some(part) = form.next_field().await.map_err(|e| unfit(&e))? {
        if part.name() == Some("file") {
            let name = part.file_name().unwrap_or("file").to_owned();
            let bytes = part.bytes().await.map_err(|e| unfit(&e))?;
            found = Some((name, bytes));
        }
    }
    let Some((name, bytes)) = found.filter(|(name, _)| !name.is_empty()) else {
        return Err(Page::sentence("No file was chosen."));
    };
    let inside = app.clone();
    if app.busy() {
        // A search goes on; the file does not wait for it, nor is it lost.
        return app.with(move |book| received(book, &name, &bytes)).await;
    }
    let page = app
        .begin("Reading the report", move |_| {
            inside.on_book(|book| {
                let id = lab::receive(book, &name, &bytes)?;
                Ok(format!("/lab/{id}"))
            })
        })
        .await;
    match page {
        Page::Sentence(why) => app.with(move |book| every(book, None, Some(&why))).await,
        other => Err(other),
    }
}

/// Keeps a file and goes to its page, or says on the Lab page why not.
fn received(book: &mut Book, name: &str, bytes: &[u8]) -> Result<Markup, Page> {
    match lab::receive(book, name, bytes) {
        Ok(id) => Err(Page::Go(format!("/lab/{id}"))),
        Err(why) => every(book, None, Some(&why.to_string())),
    }
}

/// Numbers from a mail or a page, as text.
pub(crate) async fn paste(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let name = f.maybe("name").unwrap_or("Pasted").to_owned();
        let text = f.raw("text");
        if text.trim().is_empty() {
            return every(book, None, Some("Nothing was pasted yet."));
        }
        received(book, &format!("{name}.txt"), text.as_bytes())
    })
    .await
}

pub(crate) async fn show(
    State(app): State<App>,
    At(id): At<i64>,
    Asked(query): Asked,
) -> Result<Markup, Page> {
    app.with(move |book| {
        the(book, id)?;
        let query = Fields(query);
        let done = match query.text("done") {
            "read" => Some("Every row was read."),
            "settled" => Some("What you decided is kept, and the values are used so."),
            "again" => Some("That value is asked again."),
            "placed" => {
                Some("The samples are matched. Their names are kept with the blocks for next time.")
            }
            _ => None,
        };
        let table = match query.maybe_of("table", "the number of a table, from 1") {
            Ok(table) => asked_table(table),
            Err(why) => return Err(Page::Sentence(why)),
        };
        let again = query.ticked("columns") || table.is_some();
        if !again && the(book, id)?.status != ReportStatus::Kept {
            let taken = at_hand::taken(book, id)?;
            return matched(book, &taken, &query, done, None);
        }
        let mut opened = lab::open_table(book, id, table)?;
        if query.ticked("columns") {
            // What was answered with “not stated” is asked again.
            opened.layout.settled.clear();
            opened.questions = labfiles::questions(&opened.layout);
        }
        confirm(book, &opened, &Fields::default(), None)
    })
    .await
}

fn the(book: &Book, id: i64) -> Result<ReportFile, Page> {
    book.report(id).map_err(|_| {
        Page::Missing("There is no such report; it may have been taken out.".to_owned())
    })
}

/// The form key of a question.
fn key_of(q: &Question) -> String {
    let topic = serde_json::to_value(q.topic)
        .ok()
        .and_then(|v| v.as_str().map(str::to_owned))
        .unwrap_or_default();
    q.column
        .map_or_else(|| format!("q-{topic}"), |c| format!("q-{topic}-{c}"))
}

/// The page that shows what each column is taken for and asks what is open.
fn confirm(
    book: &Book,
    opened: &Opened,
    typed: &Fields,
    problem: Option<&WorkError>,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let layout = &opened.layout;
    let first = opened
        .table
        .rows()
        .iter()
        .find(|r| r.number() > layout.header_row && !layout.under_rows.contains(&r.number()));
    let meanings: Vec<(String, String)> =
        Meaning::all().iter().map(|m| (m.key(), m.says())).collect();
    let body = html! {
        div {
            p.meta { a href="/lab" { "Lab" } }
            h1 { (opened.report.file_name) }
            p.lede {
                @if opened.remembered { "The file has the shape of one you confirmed before, so its columns are known." }
                @else if opened.questions.is_empty() { "Every column was understood. Look over the list, then read the file." }
                @else { "Most columns are understood. Answer what is open, look over the rest, then read the file." }
            }
            @if opened.tables.len() > 1 { (which(opened)) }
            (problems(problem))
            form method="post" action={ "/lab/" (opened.report.id) "/read" } {
                @if opened.tables.len() > 1 { input type="hidden" name="table" value=(opened.at + 1); }
                @if !opened.questions.is_empty() {
                    h2 { "To answer" }
                    @for q in &opened.questions { (question(q, typed)) }
                }
                h2 { "What the columns are taken for" }
                p.meta {
                    "Header in row " (layout.header_row) "."
                    @if let Some(depth) = layout.depth_in {
                        " Sampled " (plain(depth, 3)) " in deep: " (plain(depth * 0.3, 3)) " million lb of soil to the acre."
                    }
                }
                div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                    table.rows.table-form {
                        thead { tr { th.l scope="col" { "Column" } th.l scope="col" { "First value" } th.l scope="col" { "Is" } th.l scope="col" { "Unit and method" } } }
                        tbody {
                            @for c in &layout.columns {
                                @let name = format!("column-{}", c.index);
                                @let value = typed.maybe(&name).map_or_else(|| c.meaning.key(), str::to_owned);
                                tr {
                                    td.l { b { (c.header) } @if !c.sure { " " span.tag.doubt { "not sure" } } small { (c.why) } }
                                    td.l.num { (first.map_or("", |r| r.cell(c.index - 1))) }
                                    td.l {
                                        select name=(name) aria-label={ "What column " (c.index) " is" } {
                                            @for (key, says) in &meanings {
                                                option value=(key) selected[*key == value] { (says) }
                                            }
                                        }
                                    }
                                    td.l { (unit_and_method(opened, c)) }
                                }
                            }
                        }
                    }
                }
                div.row {
                    (field("lab", "The lab’s name", typed.maybe("lab").unwrap_or(&layout.lab), "to know it again"))
                    div.field {
                        label for="sampled_on" { "Day sampled" }
                        input type="date" id="sampled_on" name="sampled_on" value=(typed.text("sampled_on"));
                    }
                }
                p { button { "Read the file" } }
            }
            (take_out(&opened.report))
        }
        aside {
            h3 { "Kept as it came" }
            p { a href={ "/lab/" (opened.report.id) "/file" } { "The file itself" } ", " (opened.report.bytes) " bytes." }
            h3 { "Why the extractant matters" }
            p { "The same soil gives other numbers in another solution. Without the name no table may be used; the lab’s paper report or web page says it." }
        }
    };
    Ok(page(&farm, "Lab", &opened.report.file_name, &body))
}

/// A table's place from 0, as asked for from 1.
fn asked_table(number: Option<usize>) -> Option<usize> {
    number.map(|n| n.saturating_sub(1))
}

/// The tables that the file holds, to choose the one with the samples.
fn which(opened: &Opened) -> Markup {
    html! {
        p { "The file holds " (opened.tables.len()) " tables. One of them is read:" }
        ul {
            @for (at, table) in opened.tables.iter().enumerate() {
                li {
                    @if at == opened.at { b { (table.to_string()) } " – the one shown below" }
                    @else { a href={ "/lab/" (opened.report.id) "?table=" (at + 1) } { (table.to_string()) } }
                }
            }
        }
    }
}

pub(super) fn problems(problem: Option<&WorkError>) -> Markup {
    html! {
        @match problem {
            None => {},
            Some(WorkError::Rows(rows)) => div.wrong role="alert" {
                p { b { "Nothing was read. " } "These rows do not fit; mend the file or choose what the column is, then read it again." }
                ul { @for p in rows.iter().take(20) { li { (p) } } }
                @if rows.len() > 20 { p { "And " (rows.len() - 20) " more." } }
            },
            Some(WorkError::Open(_)) => p.wrong role="alert" { "Nothing was read yet: answer what is asked below first." },
            Some(other) => p.wrong role="alert" { (other) },
        }
    }
}

fn question(q: &Question, typed: &Fields) -> Markup {
    let key = key_of(q);
    let given = typed.text(&key).to_owned();
    html! {
        div.first {
            p { (q.sentence) @if !lab::must_answer(q) { " " span.meta { "May stay open." } } }
            div.row {
                @if !q.choices.is_empty() {
                    div.field {
                        label for=(key) { "Answer" }
                        select id=(key) name=(key) {
                            option value="" { "choose" }
                            @for c in &q.choices { option value=(c.key) selected[c.key == given] { (c.label) } }
                        }
                    }
                }
                @if let Some(unit) = &q.or_number {
                    div.field {
                        label for={ (key) "-number" } { @if q.choices.is_empty() { "In " } @else { "Or a number in " } (unit) }
                        input.short id={ (key) "-number" } name={ (key) "-number" } inputmode="decimal" value=(typed.text(&format!("{key}-number")));
                    }
                }
            }
        }
    }
}

fn unit_and_method(opened: &Opened, c: &labfiles::Column) -> String {
    let mut parts = Vec::new();
    match &c.meaning {
        Meaning::Value {
            unit: Some(unit), ..
        } => parts.push(unit.printed().to_owned()),
        Meaning::Recommendation {
            unit: Some(unit), ..
        } => parts.push(unit.printed().to_owned()),
        _ => {}
    }
    if let Some(e) = opened.layout.extractant_of(c) {
        parts.push(e.name().to_owned());
    }
    if let Some(b) = opened.layout.buffer_of(c) {
        parts.push(format!("{} buffer", b.name()));
    }
    parts.retain(|p| !p.is_empty());
    parts.join(", ")
}

fn take_out(report: &ReportFile) -> Markup {
    html! {
        form.noprint method="post" action={ "/lab/" (report.id) "/remove" } {
            button.q { "Take this report out" }
        }
    }
}

/// The answers that the form carries: column meanings that were changed, then the open questions.
fn answers(opened: &Opened, f: &Fields) -> Vec<Answer> {
    let mut out: Vec<Answer> = Vec::new();
    for c in &opened.layout.columns {
        if let Some(key) = f.maybe(&format!("column-{}", c.index))
            && key != c.meaning.key()
        {
            out.push(Answer {
                topic: Topic::Meaning,
                column: Some(c.index),
                key: key.to_owned(),
            });
        }
    }
    for q in &opened.questions {
        let key = key_of(q);
        // What a column is has been answered in the list, unless the question says otherwise.
        if let Some(given) = f.maybe(&format!("{key}-number")).or_else(|| f.maybe(&key)) {
            out.push(Answer {
                topic: q.topic,
                column: q.column,
                key: given.to_owned(),
            });
        }
    }
    out
}

pub(crate) async fn read(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        the(book, id)?;
        let f = Fields(fields);
        let table = match f.maybe_of("table", "the number of a table, from 1") {
            Ok(table) => asked_table(table),
            Err(why) => return Err(Page::Sentence(why)),
        };
        let mut opened = lab::open_table(book, id, table)?;
        if opened.report.status != ReportStatus::Kept {
            opened.layout.settled.clear();
            opened.questions = labfiles::questions(&opened.layout);
        }
        let given = answers(&opened, &f);
        // A doubtful column that was left as proposed has been looked at and is thereby confirmed.
        let mut all = given;
        for q in opened
            .questions
            .iter()
            .filter(|q| q.topic == Topic::Meaning)
        {
            if let Some(column) = q.column
                && !all
                    .iter()
                    .any(|a| a.topic == Topic::Meaning && a.column == Some(column))
                && let Some(key) = f.maybe(&format!("column-{column}"))
            {
                all.push(Answer {
                    topic: Topic::Meaning,
                    column: Some(column),
                    key: key.to_owned(),
                });
            }
        }
        let sampled_on = match f.maybe_of("sampled_on", "a day, such as 2026-10-30") {
            Ok(day) => day,
            Err(why) => return confirm(book, &opened, &f, Some(&WorkError::Said(why))),
        };
        let known = Answers {
            lab: f.maybe("lab").map(str::to_owned),
            sampled_on,
            ..Answers::default()
        };
        let outcome = lab::answer(&mut opened.layout, &all)
            .and_then(|()| lab::read(book, id, &opened.layout, &known));
        match outcome {
            Ok(()) => Err(Page::Go(format!("/lab/{id}?done=read"))),
            Err(why) => {
                opened.questions = labfiles::questions(&opened.layout);
                confirm(book, &opened, &f, Some(&why))
            }
        }
    })
    .await
}

/// Above so many blocks a sample's block is typed, with the names offered, instead of chosen from a list:
/// a list in every row would make a page of a thousand samples too large to open.
const MOST_LISTED: usize = 60;

/// The page of a report that was read: which sample is which block.
fn matched(
    book: &Book,
    taken: &Taken,
    query: &Fields,
    done: Option<&str>,
    problem: Option<&str>,
) -> Result<Markup, Page> {
    let farm = book.farm()?;
    let blocks = book.blocks()?;
    let open = taken.tests.iter().filter(|t| t.block.is_none()).count();
    let by_name = blocks.len() > MOST_LISTED;
    let path = format!("/lab/{}", taken.report.id);
    let list = List {
        path: &path,
        key: "",
        rows: "samples",
        keep: &[],
    };
    let rows = taken.tests.iter().zip(&taken.matches).zip(&taken.working);
    let leaf = Leaf::of(list, query, rows.collect(), |((test, _), _)| {
        let of = test.block.and_then(|id| blocks.iter().find(|b| b.id == id));
        format!("{} {}", test.sample, of.map_or("", |b| b.name.as_str()))
    });
    let body = html! {
        div {
            p.meta { a href="/lab" { "Lab" } }
            h1 { (taken.report.file_name) }
            p.lede {
                (taken.tests.len()) " samples were read. "
                @match open {
                    0 => "Each is matched to a block.",
                    1 => "One is not matched to a block yet: say whose it is.",
                    n => { (n) " are not matched to a block yet: say whose they are." }
                }
            }
            (said(done))
            (wrong(problem))
            (doubt::open(taken.report.id, &taken.doubts))
            (leaf.head())
            form method="post" action={ "/lab/" (taken.report.id) "/match" } {
                @if by_name {
                    datalist id="blocks" { @for b in &blocks { option value=(b.name) {} } }
                }
                div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                    table.rows.table-form {
                        thead { tr { th.l scope="col" { "Sample" } th.l scope="col" { "Block" } th.l scope="col" { "Why" } th.l scope="col" { "What was read" } } }
                        tbody {
                            @for ((test, m), steps) in &leaf.rows {
                                (sample(test, m, &blocks, by_name, steps))
                            }
                        }
                    }
                }
                p { button { "Keep the matches" } " " a.btn.q href="/reading" { "On to the reading" } }
            }
            (leaf.foot())
            (take_out(&taken.report))
        }
        aside {
            (doubt::decided(taken.report.id, taken))
            @if !taken.kept.is_empty() {
                h3 { "Kept as printed, not used" }
                ul { @for (sample, k) in &taken.kept { li { b { (sample) } ": " (k.column) " " (k.printed) " " (k.printed_unit) ". " (k.why) } } }
            }
            @if !taken.left_out.is_empty() {
                h3 { "Rows that are no samples" }
                ul { @for l in &taken.left_out { li { "Row " (l.row) ", “" (l.text) "”: " (l.why) } } }
            }
            h3 { "Take the values along" }
            p { "As " @for (n, form) in FileForm::ALL.into_iter().enumerate() { @if n > 0 { " · " } a href={ "/lab/" (taken.report.id) "/results/" (form.key()) } { (form.says()) } } "." }
            h3 { "Kept as it came" }
            p { a href={ "/lab/" (taken.report.id) "/file" } { "The file itself" } "." }
            p { a href={ "/lab/" (taken.report.id) "?columns=yes" } { "Say anew what its columns are" } @if taken.tables > 1 { ", or read another of its " (taken.tables) " tables" } "." }
        }
    };
    Ok(page(&farm, "Lab", &taken.report.file_name, &body))
}

fn sample(
    test: &StoredTest,
    m: &Match,
    blocks: &[Block],
    by_name: bool,
    steps: &[agronomy::working::Step],
) -> Markup {
    let chosen = test.block.or(m.best);
    let options = std::iter::once((String::new(), "none".to_owned()))
        .chain(blocks.iter().map(|b| (b.id.to_string(), b.name.clone())));
    html! {
        tr {
            td.l { b { (test.sample) } @if let Some(row) = test.row { small { "row " (row) } } }
            td.l.bare { @if by_name {
                @let name = chosen.and_then(|id| blocks.iter().find(|b| b.id == id)).map_or("", |b| &b.name);
                input name={ "named-" (test.id) } list="blocks" value=(name) aria-label={ "Block of sample " (test.sample) };
            } @else { (choice(&format!("test-{}", test.id), &format!("Block of sample {}", test.sample), options, &chosen.map(|c| c.to_string()).unwrap_or_default())) } }
            td.l { @if test.block.is_some() { "matched" } @else { span.tag.doubt { "asked" } small { (m.why) } } }
            td.l {
                details {
                    summary { (test.test.measured.len()) " values" }
                    @for v in &test.test.measured {
                        div.num {
                            (v.analyte.name()) " " (plain(v.value, 4)) " " (v.analyte.unit())
                            @if v.printed_unit != v.analyte.unit() { small { "printed " (v.printed) " " (v.printed_unit) } }
                        }
                    }
                    @for r in &test.test.recommended {
                        div.num { "lab’s rate of " (r.nutrient.name()) ": " (plain(r.lb_per_acre, 4)) " lb/acre" small { "printed " (r.printed) " " (r.printed_unit) } }
                    }
                    @if !steps.is_empty() {
                        table.work.num { tbody {
                            @for s in steps {
                                tr { td { (s.what) } td { (plain(s.value, 4)) " " (s.unit) } td { (s.formula) } td { (s.source.text) " " (mark(&s.source)) } }
                            }
                        } }
                    }
                }
            }
        }
    }
}

pub(crate) async fn place(
    State(app): State<App>,
    At(id): At<i64>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        the(book, id)?;
        let f = Fields(fields);
        let mut placed: Vec<(i64, Option<i64>)> = Vec::new();
        let blocks = book.blocks()?;
        for test in book.tests_in(id)? {
            let (named, chosen) = (format!("named-{}", test.id), format!("test-{}", test.id));
            // Samples of another leaf are not in the form and stay as they are.
            if !f.0.iter().any(|(key, _)| *key == named || *key == chosen) {
                continue;
            }
            let block = match f.maybe(&named) {
                None => f.text(&chosen).parse().ok(),
                Some(name) => {
                    let found = blocks.iter().find(|b| b.name.eq_ignore_ascii_case(name));
                    let Some(block) = found else {
                        let why = format!("There is no block “{name}” (sample {}); choose one of the names offered, or make the block under Ground first.", test.sample);
                        let taken = at_hand::taken(book, id)?;
                        return matched(book, &taken, &Fields::default(), None, Some(&why));
                    };
                    Some(block.id)
                }
            };
            placed.push((test.id, block));
        }
        lab::place(book, &placed)?;
        Err(Page::Go(format!("/lab/{id}?done=placed")))
    })
    .await
}

pub(crate) async fn remove(State(app): State<App>, At(id): At<i64>) -> Result<Markup, Page> {
    app.with(move |book| {
        the(book, id)?;
        book.remove_report(id)?;
        Err(Page::Go("/lab?removed=yes".to_owned()))
    })
    .await
}

/// The values of a report as a file for other programs.
pub(crate) async fn results(
    State(app): State<App>,
    At((id, form)): At<(i64, String)>,
) -> Result<Response, Page> {
    let Some(form) = FileForm::from_key(&form) else {
        return Err(Page::nowhere());
    };
    let bytes = app
        .with(move |book| {
            the(book, id)?;
            Ok(farmwork::results::bytes(book, Some(id), form)?)
        })
        .await?;
    let name = format!("results-{id}.{}", form.key());
    Ok(download(&name, "application/octet-stream", bytes))
}

/// The file as the lab sent it; always a download, so that nothing in it can act in the browser.
pub(crate) async fn file(State(app): State<App>, At(id): At<i64>) -> Result<Response, Page> {
    let (name, bytes) = app
        .with(move |book| {
            let report = the(book, id)?;
            Ok((report.file_name, book.report_bytes(id)?))
        })
        .await?;
    Ok(download(&name, "application/octet-stream", bytes))
}
