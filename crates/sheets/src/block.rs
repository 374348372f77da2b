//! What a block's sheet says, ready to set.

use agronomy::working::{Caution, Evidence, Figure, Source};
use farmwork::block_sheet::{BalanceLine, BlockSheet, SheetLine};
use serde::Serialize;

use crate::fit;
use crate::words::{
    TIE, account, area, bucket_word, buckets, day, number, plain, short, text, weighed,
};

/// Beds that are ticked one by one; with more, the count that is done is written in.
pub(crate) const MOST_BED_BOXES: u32 = 30;

#[derive(Serialize)]
pub(crate) struct BlocksView {
    title: String,
    author: String,
    /// For the page that is printed when there are no blocks, and for the appendix.
    foot: Foot,
    sheets: Vec<BlockView>,
    with_working: bool,
}

/// The line at the foot of every page.
#[derive(Serialize)]
pub(crate) struct Foot {
    block: String,
    farm: String,
    made: String,
}

impl Foot {
    pub(crate) fn new(block: &str, farm: &str, season: &str, made_on: &str) -> Self {
        let season = text(season);
        let farm = short(farm, 40);
        Self {
            block: short(block, 40),
            farm: match (farm.is_empty(), season.is_empty()) {
                (_, true) => farm,
                (true, false) => format!("season {season}"),
                (false, false) => format!("{farm}, season {}", short(&season, 20)),
            },
            made: match day(made_on) {
                none if none.is_empty() => none,
                made => format!("plan made {made}"),
            },
        }
    }
}

#[derive(Serialize)]
struct BlockView {
    foot: Foot,
    block: String,
    facts: Vec<String>,
    /// Opening words when several materials follow; empty for one.
    lead: String,
    says: Vec<Say>,
    lines: Vec<LineView>,
    /// The crew’s bucket, for the head of its column.
    bucket: String,
    beds: u32,
    bed_boxes: bool,
    balance: Vec<BalanceView>,
    /// The unit of all balance lines where they share one; each line shows its own otherwise.
    balance_unit: String,
    notes: Vec<String>,
    cautions: Vec<CautionView>,
    working: Vec<FigureView>,
    /// Whether the account goes on a page of its own, so that the crew has all it needs, cautions
    /// included, on the first.
    account_apart: bool,
    /// Whether the cautions run over too, so that the account follows them on their page.
    account_follows: bool,
}

/// One amount to be read at arm's length.
#[derive(Serialize)]
struct Say {
    material: String,
    verb: &'static str,
    amount: String,
    rest: String,
}

#[derive(Serialize)]
struct LineView {
    material: String,
    analysis: String,
    when: String,
    how: String,
    each: String,
    buckets: String,
    bucket_note: String,
    whole: String,
    bags: String,
    per_1000: String,
}

#[derive(Serialize)]
struct BalanceView {
    nutrient: String,
    unit: String,
    asked: String,
    credits: Vec<Part>,
    need: String,
    brought: Vec<Part>,
    /// `12 over`, `8 short` or `met`.
    left: String,
    short: bool,
    binding: String,
}

#[derive(Serialize)]
struct Part {
    name: String,
    amount: String,
}

#[derive(Serialize)]
pub(crate) struct CautionView {
    text: String,
    source: String,
    unconfirmed: bool,
}

#[derive(Serialize)]
struct FigureView {
    what: String,
    result: String,
    range: String,
    steps: Vec<StepView>,
    cautions: Vec<CautionView>,
}

#[derive(Serialize)]
struct StepView {
    what: String,
    value: String,
    unit: String,
    formula: String,
    source: String,
    mark: &'static str,
    unconfirmed: bool,
}

pub(crate) fn view(blocks: &[BlockSheet], with_working: bool) -> BlocksView {
    let (farm, season, made_on) = blocks.first().map_or(("", "", ""), |b| {
        (b.farm.as_str(), b.season.as_str(), b.made_on.as_str())
    });
    BlocksView {
        title: text(&format!("Block sheets {farm} {season}")),
        author: text(farm),
        foot: Foot::new(
            if with_working { "Working" } else { "" },
            farm,
            season,
            made_on,
        ),
        sheets: blocks.iter().map(|b| block(b, with_working)).collect(),
        with_working,
    }
}

fn block(sheet: &BlockSheet, with_working: bool) -> BlockView {
    BlockView {
        foot: Foot::new(&sheet.block, &sheet.farm, &sheet.season, &sheet.made_on),
        block: text(&sheet.block),
        facts: facts(sheet),
        lead: lead(sheet),
        says: sheet.lines.iter().map(|l| say(l, sheet)).collect(),
        lines: sheet.lines.iter().map(|l| line(l, sheet)).collect(),
        bucket: plain(sheet.bucket_gallons, 3),
        beds: sheet.beds,
        bed_boxes: sheet.beds > 1 && sheet.beds <= MOST_BED_BOXES,
        balance: sheet.balance.iter().map(balance).collect(),
        balance_unit: shared_unit(&sheet.balance),
        notes: sheet.notes.iter().map(|n| text(n)).collect(),
        cautions: cautions(&sheet.cautions),
        account_apart: fit::height(sheet) > fit::PAGE,
        account_follows: fit::overflows_without_account(sheet),
        working: if with_working {
            sheet.working.iter().map(figure).collect()
        } else {
            Vec::new()
        },
    }
}

fn facts(sheet: &BlockSheet) -> Vec<String> {
    let crop = match &sheet.crop {
        Some(crop) => format!("for {}", text(crop)),
        None => "no crop set".to_owned(),
    };
    let beds = match (sheet.beds, text(&sheet.bed_size)) {
        (0 | 1, _) => String::new(),
        (n, size) if size.is_empty() => format!("{n} beds"),
        (n, size) => format!("{n} beds, each {size}"),
    };
    [text(&sheet.kind), crop, area(&sheet.area), beds]
        .into_iter()
        .filter(|f| !f.is_empty())
        .collect()
}

fn in_beds(sheet: &BlockSheet) -> bool {
    sheet.beds > 1
}

fn lead(sheet: &BlockSheet) -> String {
    match (sheet.lines.len(), in_beds(sheet)) {
        (0, _) => "Nothing to spread on this block.".to_owned(),
        (1, _) => String::new(),
        (_, true) => format!("Spread on each of the {} beds:", sheet.beds),
        (_, false) => "Spread on the block:".to_owned(),
    }
}

fn say(line: &SheetLine, sheet: &BlockSheet) -> Say {
    let alone = sheet.lines.len() == 1;
    let ground = match (alone, in_beds(sheet)) {
        (false, _) => String::new(),
        (true, true) => format!(" on each of the {} beds", sheet.beds),
        (true, false) => " on the block".to_owned(),
    };
    let by_bucket = line
        .buckets_per_bed
        .and_then(buckets)
        .map(|b| {
            let about = if b.starts_with("less") {
                ""
            } else {
                "about\u{a0}"
            };
            format!(", {about}{b}{TIE}{}", bucket_word(&b))
        })
        .unwrap_or_default();
    // With several passes each amount says its own; with one the lead would only repeat it.
    let passes = sheet.lines.iter().any(|l| l.pass != line.pass);
    let pass = match text(&line.pass).to_lowercase() {
        pass if passes && !pass.is_empty() => format!(" ({pass})"),
        _ => String::new(),
    };
    Say {
        material: text(&line.material),
        verb: if alone { "spread " } else { "" },
        amount: each(line, sheet),
        rest: format!("{ground}{by_bucket}{pass}"),
    }
}

/// What goes on one bed; on a block that is not in beds the plan's own amount, as it stands.
fn each(line: &SheetLine, sheet: &BlockSheet) -> String {
    if in_beds(sheet) {
        weighed(line.lb_per_bed)
    } else {
        whole(line)
    }
}

fn whole(line: &SheetLine) -> String {
    format!("{}{TIE}lb", number(line.lb))
}

fn line(line: &SheetLine, sheet: &BlockSheet) -> LineView {
    LineView {
        material: text(&line.material),
        analysis: text(&line.analysis),
        when: text(&line.when),
        how: text(&line.how),
        each: each(line, sheet),
        buckets: line.buckets_per_bed.and_then(buckets).unwrap_or_default(),
        bucket_note: line
            .bucket_lb
            .filter(|lb| lb.is_finite() && *lb > 0.0)
            .map(|lb| format!("{} lb each", number(lb.round())))
            .unwrap_or_default(),
        whole: whole(line),
        bags: text(&line.bags),
        per_1000: if line.lb_per_1000_ft2.is_finite() && line.lb_per_1000_ft2 > 0.0 {
            format!("{} lb per 1,000 ft²", number(line.lb_per_1000_ft2))
        } else {
            String::new()
        },
    }
}

fn shared_unit(lines: &[BalanceLine]) -> String {
    match lines {
        [first, rest @ ..] if rest.iter().all(|l| l.unit == first.unit) => text(&first.unit),
        _ => String::new(),
    }
}

fn balance(line: &BalanceLine) -> BalanceView {
    let parts = |of: &[(String, f64)]| {
        of.iter()
            .map(|(name, amount)| Part {
                name: text(name),
                amount: account(*amount),
            })
            .collect()
    };
    let shown = account(line.left_over.abs());
    // Half a pound on an acre, or half a percent, is nobody’s concern.
    let small = line.left_over.abs() < 0.5_f64.max(line.need * 0.005);
    let (left, short) = if shown == "0" || small {
        ("met".to_owned(), false)
    } else if line.left_over < 0.0 {
        (format!("{shown} short"), true)
    } else {
        (format!("{shown} over"), false)
    };
    BalanceView {
        nutrient: text(&line.nutrient),
        unit: text(&line.unit),
        asked: if line.known {
            account(line.asked)
        } else {
            "no rate".to_owned()
        },
        credits: parts(&line.credits),
        need: account(line.need),
        brought: parts(&line.brought),
        left,
        short,
        binding: line
            .binding
            .as_deref()
            .filter(|_| !small)
            .map(text)
            .unwrap_or_default(),
    }
}

/// The cautions, each once.
pub(crate) fn cautions(all: &[Caution]) -> Vec<CautionView> {
    let mut seen: Vec<&str> = Vec::new();
    let mut out = Vec::new();
    for c in all {
        if !seen.contains(&c.text.as_str()) {
            seen.push(&c.text);
            out.push(CautionView {
                text: text(&c.text),
                source: text(&c.source.text),
                unconfirmed: c.source.evidence.unconfirmed(),
            });
        }
    }
    out
}

fn figure(figure: &Figure) -> FigureView {
    FigureView {
        what: text(&figure.what),
        result: with_unit(figure.value, &figure.unit),
        range: match (figure.low, figure.high) {
            (Some(low), Some(high)) => format!("likely {} to {}", worked(low), worked(high)),
            (Some(low), None) => format!("at least {}", worked(low)),
            (None, Some(high)) => format!("at most {}", worked(high)),
            (None, None) => String::new(),
        },
        steps: figure
            .working
            .iter()
            .map(|s| StepView {
                what: text(&s.what),
                value: worked(s.value),
                unit: area(&s.unit),
                formula: area(&s.formula),
                source: text(&s.source.text),
                mark: mark(&s.source),
                unconfirmed: s.source.evidence.unconfirmed(),
            })
            .collect(),
        cautions: cautions(&figure.cautions),
    }
}

fn worked(value: f64) -> String {
    plain(value, 4)
}

fn with_unit(value: f64, unit: &str) -> String {
    format!("{} {}", worked(value), area(unit))
        .trim()
        .to_owned()
}

/// How well a source is known, in words a reader of the sheet understands.
fn mark(source: &Source) -> &'static str {
    match source.evidence {
        Evidence::Seen => "read there",
        Evidence::Secondary => "read at second hand",
        Evidence::Derived => "worked out",
        Evidence::Local => "as stated",
        Evidence::CommonPractice => "common practice",
        Evidence::Memory => "unconfirmed",
    }
}
