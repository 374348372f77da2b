//! What a walk for cores says, in the language of the crew, and its little map.

use crate::SheetError;
use crate::language::{Language, Words};
use crate::words::{NoFoot, plain, short, text};
use farmwork::sampling::paper::{WalkMap, WalkSheet};
use ground::Place;
use jiff::civil::Date;
use quantity::{Length, round_at_most};
use serde::Serialize;
use std::fmt::Write;

/// Sizes of the text in points, the usual one first.
pub(crate) const SIZES: [f64; 5] = [12.5, 11.0, 9.5, 8.0, 6.5];

/// The longest name of a block that a title holds.
const LONGEST_NAME: usize = 70;

/// Picture units of the map.
const WIDE: f64 = 520.0;
/// With a few cores, and with very many, which leave less room.
const TALLEST: [f64; 2] = [250.0, 150.0];
/// More cores than this are very many.
const MANY: usize = 24;
const EDGE: f64 = 14.0;
const FOOT: f64 = 24.0;

#[derive(Serialize)]
pub(crate) struct WalksView {
    title: String,
    author: String,
    lang: &'static str,
    size: f64,
    foot: NoFoot,
    sheets: Vec<WalkView>,
    nothing: String,
    nothing_says: String,
}

#[derive(Serialize)]
struct WalkView {
    meta: Vec<String>,
    title: String,
    title_size: f64,
    says: String,
    shared: String,
    from: String,
    map: Option<String>,
    map_height: f64,
    list_head: String,
    cores: Vec<CoreView>,
    way_head: String,
    way: Vec<String>,
    then_head: String,
    then: Vec<String>,
    care: String,
    record: Vec<String>,
    foot: Vec<String>,
    page: String,
}

#[derive(Serialize)]
struct CoreView {
    number: u32,
    told: String,
    taken: bool,
}

pub(crate) fn view(
    walks: &[WalkSheet],
    language: Language,
    size: f64,
) -> Result<WalksView, SheetError> {
    let words = Words::of(language)?;
    let (farm, season) = walks.first().map_or((String::new(), String::new()), |w| {
        (w.farm.clone(), w.season.to_string())
    });
    Ok(WalksView {
        title: text(&words.say("walks-title", &[("farm", &farm), ("season", &season)])),
        author: text(&farm),
        lang: language.key(),
        size,
        foot: NoFoot::of(&farm),
        sheets: walks
            .iter()
            .enumerate()
            .map(|(i, w)| sheet(w, words, size, (i + 1, walks.len())))
            .collect(),
        nothing: words.word("walks-nothing"),
        nothing_says: words.word("walks-nothing-says"),
    })
}

fn sheet(w: &WalkSheet, words: &Words, size: f64, (page, pages): (usize, usize)) -> WalkView {
    let word = |key: &str| words.word(key);
    let block = short(&w.block, LONGEST_NAME);
    let title = words.say("walk-title", &[("block", &block)]);
    let n = w.cores.len().to_string();
    let label = short(&w.label, 40);
    let season = w.season.to_string();
    let (page, pages) = (page.to_string(), pages.to_string());
    let with: Vec<String> = w.with.iter().map(|n| short(n, 40)).collect();
    let drawn = w.map.as_ref().map(|m| draw(m, words));
    WalkView {
        meta: vec![words.say("walk-box", &[("label", &label)])],
        title_size: size * if title.chars().count() > 48 { 1.7 } else { 2.3 },
        title: text(&title),
        says: words.say(
            "walk-says",
            &[("n", &n), ("depth", &w.depth), ("label", &label)],
        ),
        shared: if with.is_empty() {
            String::new()
        } else {
            text(&words.say("walk-shared", &[("blocks", &with.join(", "))]))
        },
        from: match (w.from, w.feet) {
            (Some(corner), Some(feet)) => {
                let corner = word(&format!("compass-{corner}"));
                words.say(
                    "walk-from",
                    &[("corner", &corner), ("feet", &plain(feet, 6))],
                )
            }
            _ => word("walk-no-map"),
        },
        map_height: drawn.as_ref().map_or(0.0, |(_, high)| *high),
        map: drawn.map(|(svg, _)| svg),
        list_head: word("walk-list-head"),
        cores: w
            .cores
            .iter()
            .map(|c| CoreView {
                number: c.number,
                told: c
                    .place
                    .as_ref()
                    .map_or_else(String::new, |p| told(p, words)),
                taken: c.taken,
            })
            .collect(),
        way_head: word("walk-way-head"),
        way: vec![
            word("walk-way-odd"),
            word("walk-way-same"),
            word("walk-way-litter"),
        ],
        then_head: word("walk-then-head"),
        then: vec![
            word("walk-then-mix"),
            word(if w.nitrate {
                "walk-then-cool"
            } else {
                "walk-then-dry"
            }),
            words.say("walk-then-fill", &[("label", &label)]),
        ],
        care: word(if w.lead {
            "walk-care-lead"
        } else {
            "walk-care"
        }),
        record: ["walk-record-date", "walk-record-who", "walk-record-remarks"]
            .map(word)
            .to_vec(),
        foot: vec![
            short(&w.farm, 40),
            words.say("season", &[("season", &season)]),
            day(w.made_on, words),
        ],
        page: words.say("page-of", &[("page", &page), ("pages", &pages)]),
    }
}

fn day(date: Date, words: &Words) -> String {
    let month = words.word(&format!("month-{}", date.month()));
    words.say(
        "date",
        &[
            ("month", &month),
            ("day", &date.day().to_string()),
            ("year", &date.year().to_string()),
        ],
    )
}

/// A place in the farm's terms, in the language.
fn told(place: &Place, words: &Words) -> String {
    let way = |name: &str| words.word(&format!("compass-{name}"));
    match place {
        Place::Bed { bed, feet, end } => words.say(
            "walk-at-bed",
            &[
                ("bed", &bed.to_string()),
                ("feet", &plain(*feet, 6)),
                ("end", &way(end)),
            ],
        ),
        Place::Edges {
            feet,
            end,
            across,
            side,
        } => words.say(
            "walk-at-edges",
            &[
                ("feet", &plain(*feet, 6)),
                ("end", &way(end)),
                ("across", &plain(*across, 6)),
                ("side", &way(side)),
            ],
        ),
    }
}

/// The map as a picture with its height in points: the block, its beds, the walk and the numbered cores,
/// to scale, with a bar in feet and an arrow to the north.
fn draw(map: &WalkMap, words: &Words) -> (String, f64) {
    let places = || map.block.iter().flatten().chain([&map.start]);
    let fold = |at: usize, f: fn(f64, f64) -> f64| places().map(|p| p[at]).reduce(f).unwrap_or(0.0);
    let (w, e) = (fold(0, f64::min), fold(0, f64::max));
    let (s, n) = (fold(1, f64::min), fold(1, f64::max));
    let tallest = TALLEST[usize::from(map.cores.len() > MANY)];
    let (across, up) = ((e - w).max(1.0), (n - s).max(1.0));
    let scale = ((WIDE - 2.0 * EDGE) / across).min((tallest - 2.0 * EDGE) / up);
    let left = EDGE + ((WIDE - 2.0 * EDGE) - across * scale) / 2.0;
    let x = |p: &[f64; 2]| left + (p[0] - w) * scale;
    let y = |p: &[f64; 2]| EDGE + (n - p[1]) * scale;
    let high = up * scale + 2.0 * EDGE + FOOT;
    let path = |rings: &[Vec<[f64; 2]>]| {
        let mut d = String::new();
        for ring in rings {
            for (i, p) in ring.iter().enumerate() {
                let _ = write!(
                    d,
                    "{}{:.1} {:.1}",
                    if i == 0 { 'M' } else { 'L' },
                    x(p),
                    y(p)
                );
            }
            d.push('Z');
        }
        d
    };
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDE:.0} {high:.0}\" font-family=\"'Source Sans 3'\" font-size=\"10\">"
    );
    let _ = write!(
        svg,
        "<path d=\"{}\" fill=\"#f1ede2\" fill-rule=\"evenodd\" stroke=\"#22211e\" stroke-width=\"1.2\"/>",
        path(&map.block)
    );
    let _ = write!(
        svg,
        "<path d=\"{}\" fill=\"#ddd3bb\" stroke=\"#8a6d3b\" stroke-width=\"0.4\"/>",
        path(&map.beds)
    );
    let mut line = String::new();
    for p in std::iter::once(&map.start).chain(&map.cores) {
        let _ = write!(line, "{:.1},{:.1} ", x(p), y(p));
    }
    let _ = write!(
        svg,
        "<polyline points=\"{line}\" fill=\"none\" stroke=\"#22211e\" stroke-width=\"0.7\" stroke-dasharray=\"3 2.5\"/>"
    );
    let (sx, sy) = (x(&map.start), y(&map.start));
    let _ = write!(
        svg,
        "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"8\" height=\"8\" fill=\"#22211e\"/>",
        sx - 4.0,
        sy - 4.0
    );
    for (i, p) in map.cores.iter().enumerate() {
        let _ = write!(
            svg,
            "<circle cx=\"{0:.1}\" cy=\"{1:.1}\" r=\"7\" fill=\"#fff\" stroke=\"#22211e\" stroke-width=\"0.8\"/><text x=\"{0:.1}\" y=\"{2:.1}\" text-anchor=\"middle\" font-weight=\"600\" fill=\"#22211e\">{3}</text>",
            x(p),
            y(p),
            y(p) + 3.5,
            i + 1
        );
    }
    let (long, feet) = bar(scale);
    let foot = high - 12.0;
    let _ = write!(
        svg,
        "<path d=\"M{EDGE} {:.1}v5h{long:.1}v-5\" fill=\"none\" stroke=\"#22211e\"/><text x=\"{:.1}\" y=\"{:.1}\" fill=\"#22211e\">{}</text>",
        foot - 5.0,
        EDGE + long + 5.0,
        foot + 1.0,
        words.say("walk-feet", &[("n", &plain(feet, 5))])
    );
    let north = WIDE - EDGE;
    let _ = write!(
        svg,
        "<path d=\"M{north:.1} {:.1}v-18m-4 7l4 -7l4 7\" fill=\"none\" stroke=\"#22211e\"/><text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\" fill=\"#22211e\">N</text></svg>",
        foot + 2.0,
        north - 8.0,
        foot + 1.0
    );
    (svg, high)
}

/// The scale bar: the largest round number of feet up to a quarter of the width, with its length.
fn bar(scale: f64) -> (f64, f64) {
    let feet = round_at_most(Length::metres(WIDE / 4.0 / scale).to_feet());
    (Length::feet(feet).si() * scale, feet)
}
