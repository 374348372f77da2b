//! What an adviser would write about one block: what was found, what it means for the next crop, what to
//! do, the most pressing first.

use crate::needs::{BlockNeeds, Line as Need};
use crate::readings::Line as Found;
use crate::sure;
use crate::words;
use agronomy::cations;
use agronomy::lime;
use agronomy::meaning::{self, Note};
use agronomy::nitrogen;
use agronomy::organic_matter;
use agronomy::reading::Level;
use agronomy::salts;
use agronomy::soil::Analyte;
use agronomy::texture::Texture;
use agronomy::working::{Evidence, Figure, Source};
use farmbook::BlockKind;
use planner::Nutrient;
use quantity::plain;
use serde::Serialize;

/// One block’s letter.
#[derive(Debug, Clone, Serialize)]
pub struct Letter {
    /// One sentence on the whole.
    pub opening: String,
    /// The most pressing first.
    pub points: Vec<Point>,
    /// What needs nothing, in one sentence.
    pub in_order: Option<String>,
    /// Cations and organic matter: shown, and no amount rests on them.
    pub shown: Vec<Shown>,
}

/// One matter of the letter.
#[derive(Debug, Clone, Serialize)]
pub struct Point {
    /// pH, nitrogen, phosphorus …
    pub heading: String,
    pub found: String,
    /// How far the finding can be trusted.
    pub sure: Option<String>,
    /// What it means, each sentence with its source.
    pub means: Vec<Said>,
    pub advice: String,
    /// What the block’s own tests say of the amount beside the published figures.
    pub taught: Option<String>,
    /// Which figures behind it were not read in their source, and how to make sure of them.
    pub confirm: Option<String>,
    /// Whether it comes before everything else.
    pub first: bool,
    /// The sums behind it.
    pub working: Vec<Figure>,
}

/// Something shown for information.
#[derive(Debug, Clone, Serialize)]
pub struct Shown {
    pub heading: String,
    pub found: String,
    pub means: Vec<Said>,
    pub working: Vec<Figure>,
}

#[derive(Debug, Clone, Serialize)]
pub struct Said {
    pub text: String,
    pub source: Source,
}

/// Nutrients beside N, P and K, in the order they matter in a field.
const OTHERS: [Analyte; 9] = [
    Analyte::Ca,
    Analyte::Mg,
    Analyte::S,
    Analyte::B,
    Analyte::Zn,
    Analyte::Mn,
    Analyte::Cu,
    Analyte::Fe,
    Analyte::Na,
];

/// Writes the letter of a block from its needs.
pub fn of(n: &BlockNeeds) -> Letter {
    let mut points = Vec::new();
    let mut fine = Vec::new();
    if n.reading.test.is_some() {
        points.extend(acidity(n));
    }
    points.extend(nitrogen_point(n));
    for (analyte, nutrient, name) in [
        (Analyte::P, Nutrient::P2o5, "Phosphorus"),
        (Analyte::K, Nutrient::K2o, "Potassium"),
    ] {
        points.extend(major(n, analyte, nutrient, name));
    }
    for analyte in OTHERS {
        match other(n, analyte) {
            Some(point) => points.push(point),
            None if n.reading.reading(analyte).is_some() => {
                fine.push(analyte.name().to_lowercase());
            }
            None => {}
        }
    }
    Letter {
        opening: opening(n),
        shown: shown(n),
        points,
        in_order: (!fine.is_empty()).then(|| {
            let verb = if fine.len() == 1 { "needs" } else { "need" };
            format!("{} {verb} nothing.", words::capital(&words::and(&fine)))
        }),
    }
}

fn crop(n: &BlockNeeds) -> String {
    n.reading
        .crop
        .as_ref()
        .map_or_else(|| "the next crop".to_owned(), |c| c.name.to_lowercase())
}

fn opening(n: &BlockNeeds) -> String {
    let crop = crop(n);
    let mut parts = Vec::new();
    if let Some(ph) = n.reading.line(Analyte::Ph) {
        let range = n.reading.crop.as_ref().and_then(|c| c.target_ph.as_ref());
        parts.push(match range {
            Some(r) if ph.measured.value < r.low => format!("too acid for {crop}"),
            Some(r) if ph.measured.value > r.high => format!("less acid than {crop} likes"),
            Some(_) => format!("at the right pH for {crop}"),
            None => format!("at pH {}", words::measured(Analyte::Ph, ph.measured.value)),
        });
    }
    for (analyte, word) in [(Analyte::P, "phosphorus"), (Analyte::K, "potassium")] {
        if let Some(reading) = n.reading.reading(analyte) {
            parts.push(match reading.level {
                Level::VeryLow | Level::Low => format!("short of {word}"),
                Level::Medium => format!("middling in {word}"),
                Level::Optimum => format!("well supplied with {word}"),
                Level::High | Level::VeryHigh => format!("rich in {word}"),
            });
        }
    }
    if parts.is_empty() {
        return "No soil test is matched to this block, so nothing can be said of its soil."
            .to_owned();
    }
    format!("The soil is {}.", words::and(&parts))
}

fn said(notes: Vec<&'static Note>) -> Vec<Said> {
    let mut led = false;
    notes
        .into_iter()
        .map(|note| {
            let lead = match note.when.as_str() {
                "shortage" if !led => "What a shortage looks like: ",
                "excess" if !led => "What too much does: ",
                _ => "",
            };
            led |= !lead.is_empty();
            Said {
                text: format!("{lead}{}", note.text),
                source: note.source.clone(),
            }
        })
        .collect()
}

/// What a reading out of the middle means.
fn means(n: &BlockNeeds, analyte: Analyte, level: Level) -> Vec<Said> {
    let ph = n.reading.line(Analyte::Ph).map(|l| l.measured.value);
    said(meaning::of(analyte, level, ph))
}

/// What was only recalled behind some sums, and how to make sure of it.
fn confirm(working: &[Figure]) -> Option<String> {
    let mut named: Vec<String> = Vec::new();
    for step in working.iter().flat_map(|f| &f.working) {
        let source = &step.source;
        if source.evidence.unconfirmed() && !named.contains(&source.text) {
            named.push(source.text.clone());
        }
    }
    (!named.is_empty()).then(|| {
        format!(
            "Rests on figures that were recalled and not read in their source. To make sure, look them up in {}, or ask your adviser.",
            named.join("; ")
        )
    })
}

fn taught(need: &Need) -> Option<String> {
    let own = need.own.as_ref().filter(|o| o.decided())?;
    Some(own.says.clone())
}

/// An amount per acre as what goes on the block and on 1,000 ft².
fn amount(n: &BlockNeeds, lb_per_acre: f64) -> String {
    format!(
        "{} on the whole block ({} lb per 1,000 ft²)",
        words::lb(lb_per_acre * n.acres()),
        plain(lb_per_acre / 43.56, 3)
    )
}

fn acidity(n: &BlockNeeds) -> Option<Point> {
    let ph = n.reading.line(Analyte::Ph)?.measured.value;
    let range = n.reading.crop.as_ref().and_then(|c| c.target_ph.as_ref());
    let found = match range {
        Some(r) => format!(
            "pH {}; {} does best from {} to {}.",
            words::measured(Analyte::Ph, ph),
            crop(n),
            words::measured(Analyte::Ph, r.low),
            words::measured(Analyte::Ph, r.high)
        ),
        None => format!("pH {}.", words::measured(Analyte::Ph, ph)),
    };
    let side = range.and_then(|r| {
        if ph < r.low {
            Some("low")
        } else {
            (ph > r.high).then_some("high_ph")
        }
    });
    let lime = n.line(Nutrient::Lime);
    let sulfur = n.line(Nutrient::Sulfur);
    let acts = |l: &Need| l.need > 0.0;
    let magnesium = n
        .reading
        .line(Analyte::Mg)
        .and_then(|l| lime::kind_by_magnesium(l.measured.value).ok());
    let kind = magnesium
        .as_ref()
        .map_or_else(String::new, |(kind, _)| format!(" {}", kind.sentence()));
    let advice = match (lime, sulfur) {
        (Some(l), _) if acts(l) => format!(
            "Lime before anything else: the equal of {} of fully effective lime{}{}.{}",
            amount(n, l.need),
            doses(l),
            if l.later.is_empty() {
                open(n, l)
            } else {
                String::new()
            },
            kind
        ),
        (_, Some(s)) if acts(s) => format!(
            "Bring pH down before anything else: {} of elemental sulfur{}.",
            amount(n, s.need),
            doses(s)
        ),
        (_, Some(s)) => format!("No sulfur: {}.", s.basis),
        (Some(l), _) if l.asked.is_none() => format!("No lime rate: {}.", l.basis),
        _ if side == Some("high_ph") => "No lime; nothing brings this pH down cheaply.".to_owned(),
        _ => "Neither lime nor sulfur.".to_owned(),
    };
    let line = lime.filter(|l| acts(l)).or(sulfur).or(lime);
    let mut meaning = side.map_or_else(Vec::new, |when| said(meaning::notes("ph", when)));
    let mut working = line.map_or_else(Vec::new, |l| l.working.clone());
    if lime.is_some_and(acts) {
        meaning.extend(waiting());
        working.extend(magnesium.map(|(_, figure)| figure));
    }
    Some(Point {
        heading: "pH".to_owned(),
        found,
        sure: n.reading.line(Analyte::Ph).and_then(|l| {
            let (low, high) = sure::ends(&n.reading, &l.measured)?;
            Some(format!(
                "In four of five cases the ground’s true mean lies between {} and {}.",
                words::measured(Analyte::Ph, (low * 10.0).round() / 10.0),
                words::measured(Analyte::Ph, (high * 10.0).round() / 10.0)
            ))
        }),
        means: meaning,
        advice,
        taught: line.and_then(taught),
        confirm: line.and_then(|l| confirm(&l.working)),
        first: line.is_some_and(acts),
        working,
    })
}

/// Organic matter by texture and the shares of the cation exchange, where the report allows them.
fn shown(n: &BlockNeeds) -> Vec<Shown> {
    let value = |a: Analyte| n.reading.line(a).map(|l| l.measured.value);
    let mut all = Vec::new();
    if let (Some(percent), Some(texture)) = (value(Analyte::OrganicMatter), n.reading.block.texture)
        && let Ok(class) = organic_matter::class(percent, texture)
    {
        all.push(Shown {
            heading: "Organic matter".to_owned(),
            found: format!("{} %: {}.", plain(percent, 3), class.level.name()),
            means: said(meaning::notes("om", "always")),
            working: vec![class.figure],
        });
    }
    // No rain leaches a tunnel: there the salts of water and fertilizer stay.
    if n.reading.block.kind == BlockKind::Tunnel
        && let Some(bears) = n
            .reading
            .crop
            .as_ref()
            .and_then(|c| salts::tolerance(&c.key))
        && let Some((threshold, slope)) = bears.figures
    {
        let report = match value(Analyte::Salts) {
            Some(ec) => format!(
                "The report says {} dS/m; set it beside this only if the lab used that extract.",
                plain(ec, 3)
            ),
            None => "Ask the lab for soluble salts.".to_owned(),
        };
        all.push(Shown {
            heading: "Salts under cover".to_owned(),
            found: format!(
                "{} bears {} dS/m in the saturated-paste extract without loss, and loses {} % for each dS/m above. {report}",
                words::capital(&crop(n)),
                plain(threshold, 3),
                plain(slope, 3),
            ),
            means: std::iter::once(Said {
                text: "Tolerance by threshold and slope.".to_owned(),
                source: bears.source.clone(),
            })
            .chain(salts::tunnel_cautions().into_iter().map(|c| Said {
                text: c.text,
                source: c.source,
            }))
            .collect(),
            working: Vec::new(),
        });
    }
    if let (Some(ca), Some(mg), Some(k)) =
        (value(Analyte::Ca), value(Analyte::Mg), value(Analyte::K))
        && let Ok(of) = cations::saturation(&cations::Request {
            ca,
            mg,
            k,
            na: value(Analyte::Na),
            acidity: value(Analyte::Acidity),
            cec: value(Analyte::Cec),
            ph: value(Analyte::Ph),
        })
    {
        let shares: Vec<String> = of
            .shares
            .iter()
            .map(|s| format!("{} {} %", s.name.to_lowercase(), plain(s.percent, 2)))
            .collect();
        all.push(Shown {
            heading: "Cation exchange".to_owned(),
            found: format!("{} meq/100 g: {}.", plain(of.cec, 3), words::and(&shares)),
            means: said(of.ratios.clone()),
            working: vec![of.figure],
        });
    }
    all
}

/// How long lime takes, as the sources print it.
fn waiting() -> impl Iterator<Item = Said> {
    lime::timings(lime::Form::Ground).take(2).map(|t| Said {
        text: format!(
            "Ground limestone: {} after {} to {} {}.",
            t.what,
            plain(t.low, 3),
            plain(t.high, 3),
            t.unit
        ),
        source: t.source.clone(),
    })
}

fn doses(line: &Need) -> String {
    if line.later.is_empty() {
        String::new()
    } else {
        format!(", the first of {} doses", line.later.len() + 1)
    }
}

fn nitrogen_point(n: &BlockNeeds) -> Option<Point> {
    let line = n.line(Nutrient::N)?;
    let found = match line.asked {
        None => format!("No rate: {}.", line.basis),
        Some(asked) if line.credits.is_empty() => format!(
            "{} asks for {} lb/acre in the season.",
            words::capital(&crop(n)),
            plain(asked, 3)
        ),
        Some(asked) => format!(
            "{} asks for {} lb/acre in the season; {}.",
            words::capital(&crop(n)),
            plain(asked, 3),
            words::and(
                &line
                    .credits
                    .iter()
                    .map(|(what, lb)| format!("{what} brings {}", plain(*lb, 3)))
                    .collect::<Vec<_>>()
            )
        ),
    };
    let advice = match line.asked {
        None => "Choose a crop that the tables hold, or have the lab print a rate.".to_owned(),
        Some(_) if line.need > 0.0 => format!(
            "Bring {} of nitrogen that plants can take up, close to planting.",
            amount(n, line.need)
        ),
        Some(_) => "Bring none.".to_owned(),
    };
    Some(Point {
        heading: "Nitrogen".to_owned(),
        found,
        sure: None,
        means: std::iter::once(Said {
            text: "An autumn soil test does not tell nitrogen: the need comes from trials with the crop."
                .to_owned(),
            source: Source::new(
                "common practice: nitrate moves with water between autumn and planting",
                Evidence::CommonPractice,
            ),
        })
        .chain(in_parts(n))
        .collect(),
        advice,
        taught: taught(line),
        confirm: confirm(&line.working),
        first: false,
        working: line.working.clone(),
    })
}

/// The season’s nitrogen in its parts, by the system that the need rests on, where that prints them.
fn in_parts(n: &BlockNeeds) -> Option<Said> {
    let crop = n.reading.crop.as_ref()?;
    let basis = &n.line(Nutrient::N)?.basis;
    let system = nitrogen::split_systems_of(crop)
        .into_iter()
        .find(|s| s.name == *basis)?;
    let sandy = n.reading.block.texture.is_some_and(Texture::sandy);
    let parts = nitrogen::need_split_on(crop, &system.key, sandy).ok()?;
    if parts.len() < 2 || !parts.iter().all(|p| p.printed) {
        return None;
    }
    let told: Vec<String> = parts
        .iter()
        .map(|p| {
            let amount = if p.high > p.low {
                format!("{} to {}", plain(p.low, 3), plain(p.high, 3))
            } else {
                plain(p.value, 3)
            };
            format!("{amount} lb/acre {}", p.timing)
        })
        .collect();
    Some(Said {
        text: format!("In parts, before any credit: {}.", words::and(&told)),
        source: parts.first()?.source.clone(),
    })
}

fn major(n: &BlockNeeds, analyte: Analyte, nutrient: Nutrient, name: &str) -> Option<Point> {
    let need = n.line(nutrient);
    let line = n.reading.line(analyte);
    if need.is_none() && line.is_none() {
        return None;
    }
    let level = n.reading.reading(analyte).map(|r| r.level);
    let oxide = nutrient.name();
    let (sure, mut working) = sure_of(n, line);
    let advice = match need {
        None => "Choose the next crop for a rate.".to_owned(),
        Some(l) if l.asked.is_none() => format!("No rate: {}.", l.basis),
        Some(l) if l.need > 0.0 => {
            format!("Bring {} of {oxide}{}.", amount(n, l.need), open(n, l))
        }
        Some(l) => match &l.ceiling {
            Some((most, _)) if *most <= 0.0 => {
                format!("Add none, and keep compost and manure that carry it away: {oxide} 0.")
            }
            Some((most, _)) => format!(
                "Add none for its own sake; up to {} lb/acre of {oxide} may come along with other materials.",
                plain(*most, 3)
            ),
            None => "Add none.".to_owned(),
        },
    };
    Some(Point {
        heading: name.to_owned(),
        found: line.map_or_else(|| "Not on the report.".to_owned(), found),
        sure,
        means: level
            .filter(|l| !matches!(l, Level::Medium | Level::Optimum))
            .map_or_else(Vec::new, |l| means(n, analyte, l)),
        advice,
        taught: need.and_then(taught),
        confirm: need.and_then(|l| confirm(&l.working)),
        first: false,
        working: {
            working.splice(0..0, need.into_iter().flat_map(|l| l.working.clone()));
            working
        },
    })
}

/// How sure a reading is, with the sum behind it.
fn sure_of(n: &BlockNeeds, line: Option<&Found>) -> (Option<String>, Vec<Figure>) {
    line.and_then(|l| l.reading.as_ref())
        .and_then(|r| sure::class(&n.reading, r))
        .map_or((None, Vec::new()), |(text, figure)| {
            (Some(text), vec![figure])
        })
}

/// What the doubt of the test leaves open, in the same measure as the amount.
fn open(n: &BlockNeeds, line: &Need) -> String {
    match line.range {
        Some((low, high)) if high - low > 0.1 * line.need => format!(
            "; the test leaves {} to {} open",
            words::lb(low * n.acres()),
            words::lb(high * n.acres())
        ),
        _ => String::new(),
    }
}

/// The value with its class, in the words of the table that gave it.
fn found(line: &Found) -> String {
    let m = &line.measured;
    let value = format!(
        "{} {}{}",
        words::measured(m.analyte, m.value),
        m.analyte.unit(),
        m.extractant
            .map_or_else(String::new, |e| format!(" by {}", e.name()))
    );
    match &line.reading {
        Some(reading) => format!("{value}: {}.", reading.category),
        None => format!("{value}. {}", line.why),
    }
}

/// A nutrient beside N, P and K: a point of its own only where it is out of the way.
fn other(n: &BlockNeeds, analyte: Analyte) -> Option<Point> {
    let line = n.reading.line(analyte)?;
    let level = line.reading.as_ref()?.level;
    let short = match level {
        Level::VeryLow | Level::Low => true,
        // A well-stocked soil is no trouble; only what stands far above is worth a word.
        Level::VeryHigh => false,
        Level::Medium | Level::Optimum | Level::High => return None,
    };
    let means = means(n, analyte, level);
    let (sure, mut working) = sure_of(n, Some(line));
    let ph_high = n
        .reading
        .line(Analyte::Ph)
        .is_some_and(|l| l.measured.value >= 7.0);
    let limed = n.line(Nutrient::Lime).is_some_and(|l| l.need > 0.0);
    let advice = match (analyte, short) {
        (Analyte::Fe | Analyte::Mn | Analyte::Zn, true) if ph_high => format!(
            "Do not buy {} for the soil: at this pH it would be tied up too. Look to pH first.",
            analyte.name().to_lowercase()
        ),
        (Analyte::Fe, true) => {
            "Do not buy iron on a soil test alone; watch the new leaves.".to_owned()
        }
        (Analyte::Mg, true) if limed => {
            "The lime that is due anyway can be dolomitic and bring it.".to_owned()
        }
        (Analyte::Ca, true) if limed => "The lime that is due anyway brings it.".to_owned(),
        (Analyte::Mn, false) if limed => "The lime that is due anyway cures it.".to_owned(),
        (Analyte::B, true) => {
            "Have a tissue test first, and never go above the label’s rate: the next crop may be one that boron harms."
                .to_owned()
        }
        (_, true) => {
            "No published rate is held for it here; ask the lab or your adviser before buying."
                .to_owned()
        }
        (_, false) => "Add none.".to_owned(),
    };
    Some(Point {
        heading: analyte.name().to_owned(),
        found: found(line),
        sure,
        means,
        advice,
        taught: None,
        confirm: line
            .reading
            .as_ref()
            .and_then(|r| confirm(std::slice::from_ref(&r.figure))),
        first: false,
        working: {
            working.splice(0..0, line.reading.iter().map(|r| r.figure.clone()));
            working
        },
    })
}
