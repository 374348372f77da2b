//! What a job sheet says, in the language of the crew.

use agronomy::spreader::{Found, Reach};
use agronomy::working::Evidence;
use farmwork::calendar::State;
use farmwork::job_map::{JobMap, MapWords};
use farmwork::job_sheet::JobSheet;
use farmwork::setback::Near;
use farmwork::spreaders::{self, Setting};
use jiff::civil::Date;
use serde::Serialize;

use crate::SheetError;
use crate::block::MOST_BED_BOXES;
use crate::language::{Language, Words};
use crate::words::{NoFoot, TIE, buckets, number, plain, short, text, weighed};

/// Sizes of the text in points, the usual one first.
pub(crate) const SIZES: [f64; 3] = [10.5, 9.5, 8.0];

/// The longest name of a block that a title holds.
const LONGEST_NAME: usize = 70;

#[derive(Serialize)]
pub(crate) struct JobsView {
    title: String,
    author: String,
    lang: &'static str,
    size: f64,
    /// The foot of a page without a job.
    foot: NoFoot,
    sheets: Vec<JobView>,
    nothing: String,
    nothing_says: String,
}

#[derive(Serialize)]
struct JobView {
    meta: Vec<String>,
    title: String,
    title_size: f64,
    facts: Vec<String>,
    says: String,
    say_size: f64,
    /// Where the block lies, as SVG, and how wide it is, mm; none where it has no outline.
    map: Option<String>,
    map_mm: f64,
    /// How the map is read.
    map_key: String,
    /// The ground that gets none; empty where all of it gets some.
    strip: String,
    /// What of it is done already; empty where nothing is.
    so_far: String,
    amount_head: String,
    amounts: Vec<Pair>,
    beds_done: String,
    /// Boxes to tick bed by bed; none where there are very many beds, or none.
    bed_boxes: u32,
    /// In place of boxes: `of 48`.
    bed_count: String,
    when_head: String,
    when: Vec<String>,
    how_head: String,
    ways: Vec<Pair>,
    wear_head: String,
    wear: String,
    wear_source: String,
    care_head: String,
    cautions: Vec<Care>,
    record: Record,
    follow: String,
    foot: Vec<String>,
    page: String,
}

#[derive(Serialize)]
struct Pair {
    name: String,
    value: String,
}

#[derive(Serialize)]
struct Care {
    text: String,
    source: String,
    unconfirmed: String,
}

#[derive(Serialize)]
struct Record {
    head: String,
    columns: Vec<String>,
}

pub(crate) fn view(
    jobs: &[JobSheet],
    language: Language,
    size: f64,
) -> Result<JobsView, SheetError> {
    let words = Words::of(language)?;
    let (farm, season) = jobs
        .first()
        .map_or(("", ""), |j| (j.farm.as_str(), j.season.as_str()));
    let title = words.say("sheets-title", &[("farm", farm), ("season", season)]);
    Ok(JobsView {
        title: text(&title),
        author: text(farm),
        lang: language.key(),
        size,
        foot: NoFoot::of(farm),
        sheets: jobs
            .iter()
            .enumerate()
            .map(|(i, job)| sheet(job, words, size, (i + 1, jobs.len())))
            .collect(),
        nothing: words.word("nothing"),
        nothing_says: words.word("nothing-says"),
    })
}

fn sheet(job: &JobSheet, words: &Words, size: f64, (page, pages): (usize, usize)) -> JobView {
    let w = |key: &str| words.word(key);
    let material = words.word(&format!("material-{}", job.material));
    let block = short(&job.block, LONGEST_NAME);
    let title = words.say("title", &[("material", &material), ("block", &block)]);
    let says = says(job, words);
    let (n, count) = (job.number.to_string(), job.count.to_string());
    let (page, pages) = (page.to_string(), pages.to_string());
    let season = text(&job.season);
    let season = words.say("season", &[("season", &season)]);
    let beds = job.beds.as_ref().map_or(0, |b| b.count);
    JobView {
        meta: [
            words.say("job-of", &[("n", &n), ("count", &count)]),
            w(&format!("pass-{}", job.pass.key())),
            grade(job, words),
        ]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect(),
        title_size: size * fitted(&title, &[(30, 2.6), (48, 2.2), (80, 1.8)], 1.45),
        title: text(&title),
        facts: facts(job, words),
        say_size: size * fitted(&says, &[(46, 2.0), (80, 1.7)], 1.45),
        says,
        map: job.map.as_ref().map(|m| drawn(m, words)),
        // Smaller with the text, but never so that its names cannot be read.
        map_mm: JobMap::PAPER_MM * (size / SIZES[0]).max(0.8),
        map_key: job
            .map
            .as_ref()
            .map_or_else(String::new, |m| map_key(m, words)),
        strip: job
            .near
            .as_ref()
            .map_or_else(String::new, |n| strip(n, words)),
        so_far: so_far(job, words),
        amount_head: w("head-amount"),
        amounts: amounts(job, words),
        beds_done: w("beds-done"),
        bed_boxes: if beds <= MOST_BED_BOXES { beds } else { 0 },
        bed_count: if beds > MOST_BED_BOXES {
            words.say("of-beds", &[("n", &plain(f64::from(beds), 6))])
        } else {
            String::new()
        },
        when_head: w("head-when"),
        when: when(job, words),
        how_head: w("head-how"),
        ways: ways(job, words),
        wear_head: w("head-wear"),
        wear: job
            .gear
            .iter()
            .map(|g| w(&format!("gear-{}", g.key)))
            .collect::<Vec<_>>()
            .join(", "),
        wear_source: wear_source(job, words),
        care_head: w("head-care"),
        cautions: job
            .cautions
            .iter()
            .map(|(key, caution)| care(key, caution, words))
            .collect(),
        record: Record {
            head: w("head-record"),
            columns: ["date", "who", "weather", "lot", "amount", "remarks"]
                .map(|c| w(&format!("record-{c}")))
                .to_vec(),
        },
        follow: w("follow-label"),
        foot: [
            short(&job.farm, 40),
            season,
            job.made_on.parse::<Date>().map_or(String::new(), |d| {
                words.say("plan-made", &[("day", &day(d, words))])
            }),
        ]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect(),
        page: words.say("page-of", &[("page", &page), ("pages", &pages)]),
    }
}

fn drawn(map: &JobMap, words: &Words) -> String {
    map.svg(&MapWords {
        mark: &|kind| words.word(&format!("map-{}", kind.key())),
        feet: &|n| words.say("walk-feet", &[("n", &plain(n, 5))]),
        said: &map_key(map, words),
    })
}

fn map_key(map: &JobMap, words: &Words) -> String {
    let here = words.word("map-here");
    if map.has_strip() {
        format!("{here} {}", words.word("map-strip"))
    } else {
        here
    }
}

/// The analysis on the bag.
fn grade(job: &JobSheet, words: &Words) -> String {
    let grade = text(&job.grade);
    if job.grade_unconfirmed && !grade.is_empty() {
        words.say("grade-unconfirmed", &[("grade", &grade)])
    } else {
        grade
    }
}

/// The size for a text of a length: the first step that holds it, else the last.
fn fitted(said: &str, steps: &[(usize, f64)], least: f64) -> f64 {
    let letters = said.chars().count();
    steps
        .iter()
        .find(|(most, _)| letters <= *most)
        .map_or(least, |(_, size)| *size)
}

fn facts(job: &JobSheet, words: &Words) -> Vec<String> {
    let crop = match &job.crop {
        Some(key) => {
            let name = words.word(&format!("crop-{key}")).to_lowercase();
            words.say("for-crop", &[("crop", &name)])
        }
        None => words.word("no-crop"),
    };
    let ft2 = plain(job.area_ft2, 4);
    let mut facts = vec![
        words.word(&format!("kind-{}", job.kind.key())),
        crop,
        words.say("area", &[("ft2", &ft2), ("acre", &plain(job.acres, 2))]),
    ];
    if let Some(beds) = &job.beds {
        facts.push(words.say(
            "beds-of",
            &[
                ("n", &plain(f64::from(beds.count), 6)),
                ("length", &plain(beds.length_ft, 4)),
                ("width", &plain(beds.width_in, 4)),
            ],
        ));
    }
    facts
}

fn whole(job: &JobSheet) -> String {
    format!("{}{TIE}lb", number(job.lb))
}

/// Buckets or cups as they are counted out, in the language.
fn counted(count: f64, words: &Words) -> Option<String> {
    let count = buckets(count)?;
    Some(if count.starts_with("less") {
        words.word("less-than-quarter")
    } else {
        count
    })
}

/// The amount in one sentence.
fn says(job: &JobSheet, words: &Words) -> String {
    let lb = whole(job);
    if job.near.as_ref().is_some_and(Near::whole) {
        return format!("{}.", words.word("amount-none"));
    }
    let amount = match &job.beds {
        Some(beds) => words.say(
            if job.near.is_some() {
                "amount-beds-rest"
            } else {
                "amount-beds"
            },
            &[
                ("each", &weighed(job.lb_each)),
                ("n", &plain(f64::from(beds.count), 6)),
                ("lb", &lb),
            ],
        ),
        None if job.near.is_some() => words.say("amount-block-rest", &[("lb", &lb)]),
        None => words.say("amount-block", &[("lb", &lb)]),
    };
    format!("{amount}.")
}

/// How much of a job done in part is on, and what this sheet is for.
fn so_far(job: &JobSheet, words: &Words) -> String {
    let Some(done) = &job.so_far else {
        return String::new();
    };
    words.say(
        "so-far",
        &[
            ("on", &weighed(done.lb)),
            ("all", &weighed(done.of_lb)),
            ("day", &day(done.last_on, words)),
            ("left", &weighed(job.lb)),
        ],
    )
}

fn amounts(job: &JobSheet, words: &Words) -> Vec<Pair> {
    let mut rows = Vec::new();
    let mut row = |key: &str, value: String| {
        rows.push(Pair {
            name: words.word(key),
            value,
        });
    };
    if job.beds.is_some() {
        row("row-each", weighed(job.lb_each));
    }
    row(
        if job.near.is_some() {
            "row-rest"
        } else {
            "row-block"
        },
        whole(job),
    );
    let key = if job.beds.is_some() {
        "row-buckets-bed"
    } else {
        "row-buckets-block"
    };
    row(
        key,
        job.buckets
            .and_then(|n| counted(n, words))
            .unwrap_or_else(|| words.word("by-weight")),
    );
    if let Some(cups) = job.cups.and_then(|n| counted(n, words)) {
        let key = if job.beds.is_some() {
            "row-cups-bed"
        } else {
            "row-cups-block"
        };
        row(key, cups);
    }
    if let Some(lb) = job.bucket_lb {
        let gallons = plain(job.bucket_gallons, 3);
        row(
            "row-bucket",
            words.say(
                "bucket-of",
                &[("gallons", &gallons), ("lb", &number(lb.round()))],
            ),
        );
    }
    if let Some(reach) = &job.bucket_goes {
        row("row-goes", goes(reach, words));
    }
    if job.lb_per_1000_ft2.is_finite() && job.lb_per_1000_ft2 > 0.0 {
        row(
            "row-rate",
            format!("{}{TIE}lb", number(job.lb_per_1000_ft2)),
        );
    }
    if let Some(bag) = job.bag_lb.filter(|b| *b > 0.0) {
        let bags = (job.lb / bag + 1e-6).floor();
        let rest = job.lb - bags * bag;
        let (n, lb) = (plain(bags, 6), plain(bag, 4));
        if bags >= 1.0 && rest < 0.01 * bag {
            row(
                "row-bags",
                words.say("bags-whole", &[("n", &n), ("lb", &lb)]),
            );
        } else if bags >= 1.0 {
            let rest = weighed(rest);
            row(
                "row-bags",
                words.say("bags-and-rest", &[("n", &n), ("lb", &lb), ("rest", &rest)]),
            );
        }
    }
    rows
}

/// How far a full bucket goes.
fn goes(reach: &Reach, words: &Words) -> String {
    match reach {
        Reach::Ground { ft2 } => words.say("goes-ground", &[("ft2", &plain(ft2.round(), 4))]),
        Reach::Beds { beds: 0, feet } => {
            words.say("goes-feet", &[("feet", &plain(feet.max(1.0), 4))])
        }
        Reach::Beds { beds, feet } => {
            let count = plain(f64::from(*beds), 6);
            let beds = if *beds == 1 {
                words.word("bed-one")
            } else {
                words.say("beds-count", &[("n", &count)])
            };
            if *feet < 1.0 {
                beds
            } else {
                let feet = plain(*feet, 4);
                words.say("goes-beds-feet", &[("beds", &beds), ("feet", &feet)])
            }
        }
    }
}

/// The longest name of a spreader or its mark that a line holds.
const LONGEST_SPREADER: usize = 40;
const LONGEST_MARK: usize = 12;

/// What each spreader is set to, or that it is to be walked first.
fn settings(job: &JobSheet, words: &Words) -> Option<String> {
    if job.settings.is_empty() {
        return job.walk_first.then(|| words.word("set-not-yet"));
    }
    let all: Vec<String> = job.settings.iter().map(|s| set(job, s, words)).collect();
    Some(all.join(" "))
}

fn set(job: &JobSheet, s: &Setting, words: &Words) -> String {
    let spreader = short(&s.spreader, LONGEST_SPREADER);
    if let Some((of, count)) = &s.counted {
        let of = words.word(&format!("measure-{of}"));
        let key = if job.beds.is_some() {
            "set-counted-bed"
        } else {
            "set-counted-block"
        };
        let n = plain(count.round().max(1.0), 4);
        return words.say(key, &[("n", &n), ("of", &of)]);
    }
    let passes = match s.passes {
        1 => words.word("passes-one"),
        2 => words.word("passes-two"),
        n => words.say("passes-more", &[("n", &n.to_string())]),
    };
    let mark = |text: &str| short(text, LONGEST_MARK);
    let mut said = match &s.found {
        Found::At { setting, .. } if setting.is_empty() => {
            words.say("set-as-is", &[("spreader", &spreader), ("passes", &passes)])
        }
        Found::At { setting, .. } => words.say(
            "set-at",
            &[
                ("spreader", &spreader),
                ("setting", &mark(setting)),
                ("passes", &passes),
            ],
        ),
        Found::Between {
            mark: at,
            lower,
            upper,
        } => words.say(
            "set-between",
            &[
                ("spreader", &spreader),
                ("setting", &spreaders::mark(*at)),
                ("lower", &mark(lower)),
                ("upper", &mark(upper)),
                ("passes", &passes),
            ],
        ),
        Found::AllMore { .. } | Found::AllLess { .. } | Found::NoMarks { .. } => {
            return words.say("set-beyond", &[("spreader", &spreader)]);
        }
    };
    if let Some(feet) = s.feet_per_bucket.filter(|_| job.bucket_goes.is_some()) {
        said.push(' ');
        said.push_str(&words.say("set-feet", &[("feet", &plain(feet.round(), 4))]));
    }
    said
}

fn day(date: Date, words: &Words) -> String {
    let month = words.word(&format!("month-{}", date.month()));
    words
        .say(
            "date",
            &[
                ("month", &month),
                ("day", &date.day().to_string()),
                ("year", &date.year().to_string()),
            ],
        )
        .replace(' ', &TIE.to_string())
}

fn when(job: &JobSheet, words: &Words) -> Vec<String> {
    let Some(days) = &job.days else {
        return vec![words.word("when-missing")];
    };
    let mut lines = Vec::new();
    match job.state {
        State::Shut => lines.push(words.word("when-shut")),
        State::Late => lines.push(words.word("when-late")),
        State::Open | State::NotYet | State::Missing | State::Done => {}
    }
    lines.push(words.say(
        "when-window",
        &[
            ("from", &day(days.from, words)),
            ("to", &day(days.to, words)),
            ("best", &day(days.best, words)),
        ],
    ));
    if let Some(stop) = days.stop {
        lines.push(words.say("when-stop", &[("day", &day(stop, words))]));
    }
    lines
}

fn ways(job: &JobSheet, words: &Words) -> Vec<Pair> {
    let mut ways: Vec<Pair> = [
        ("how-spread", job.spread.key()),
        ("how-work-in", job.work_in.key()),
        ("how-water", job.water.key()),
    ]
    .into_iter()
    .map(|(name, value)| Pair {
        name: words.word(name),
        value: words.word(value),
    })
    .collect();
    if let Some(value) = settings(job, words) {
        ways.insert(
            1,
            Pair {
                name: words.word("how-spreader"),
                value,
            },
        );
    }
    if job.outdoors {
        ways.push(Pair {
            name: words.word("how-ground"),
            value: match &job.near {
                Some(_) => words.word("ground-frozen"),
                None => format!(
                    "{} {}",
                    words.word("ground-frozen"),
                    words.word("ground-water")
                ),
            },
        });
    }
    ways
}

/// The strip that gets none, or that the whole block lies too near.
fn strip(near: &Near, words: &Words) -> String {
    let from: Vec<String> = near
        .from
        .iter()
        .map(|k| {
            let (key, name) = if k.name.is_empty() {
                ("keep-from", words.word(&format!("mark-{}", k.kind.key())))
            } else {
                ("keep-from-named", short(&k.name, 40))
            };
            words.say(key, &[("feet", &plain(k.feet, 4)), ("name", &name)])
        })
        .collect();
    let from = from.join("; ");
    let area = match near.square_feet() {
        Some(ft2) => words.say("area-ft2", &[("ft2", &plain(ft2, 2))]),
        None => words.say("area-acre", &[("acre", &plain(near.acres, 2))]),
    };
    if near.whole() {
        words.say("strip-whole", &[("from", &from)])
    } else if near.beds.is_empty() {
        words.say("strip", &[("from", &from), ("area", &area)])
    } else {
        let beds = near.beds_named();
        words.say(
            if near.beds.len() == 1 {
                "strip-bed"
            } else {
                "strip-beds"
            },
            &[("from", &from), ("area", &area), ("beds", &beds)],
        )
    }
}

/// Whose words the gear rests on, each once.
fn wear_source(job: &JobSheet, words: &Words) -> String {
    let mut named: Vec<String> = Vec::new();
    for g in &job.gear {
        let said = source(&g.source.text, g.source.evidence, words);
        if !named.contains(&said) {
            named.push(said);
        }
    }
    format!("({})", named.join("; "))
}

fn source(said: &str, evidence: Evidence, words: &Words) -> String {
    if evidence.unconfirmed() && said.starts_with("general knowledge") {
        words.word("source-recalled")
    } else {
        text(said)
    }
}

fn care(key: &str, caution: &agronomy::working::Caution, words: &Words) -> Care {
    Care {
        text: if words.knows(key) {
            words.word(key)
        } else {
            text(&caution.text)
        },
        source: source(&caution.source.text, caution.source.evidence, words),
        unconfirmed: if caution.source.evidence.unconfirmed() {
            words.word("unconfirmed")
        } else {
            String::new()
        },
    }
}
