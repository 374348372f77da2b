//! What the grower may use: ticks, prices, stock, own analyses.

use crate::ask::{Asked, At, Sent};
use crate::error::Page;
use crate::fields::Fields;
use crate::layout::{page, said, wrong};
use crate::pages::compost::verdict_line;
use crate::parts::choose::{choice, field, number, tick};
use crate::parts::working::{cautions, mark};
use crate::state::App;
use agronomy::material::{self, Analysis, Kind, Material};
use axum::extract::State;
use farmbook::{Book, CountPrice, Farm, LotOnHand, MaterialChoice, PackPrice, Supplier};
use farmwork::compost::Composts;
use farmwork::{supply, words};
use maud::{Markup, html};
use quantity::plain;

/// How many sizes the form has room for.
const SIZES: usize = 3;

pub(crate) async fn list(State(app): State<App>, Asked(query): Asked) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let choices = book.materials()?;
        let composts = Composts::of(book)?;
        let used = choices.iter().filter(|c| c.use_it).count();
        let done = match Fields(query).text("done") {
            "kept" => Some("The change is kept."),
            "ticked" => Some("The ticks are kept."),
            "usual" => Some("The usual materials are ticked. Put in your own prices and what you have on hand."),
            _ => None,
        };
        let body = html! {
            div {
                h1 { "Materials" }
                @if used == 0 {
                    p.lede { "None is ticked yet. Begin with what farms like yours usually buy, then add or take away." }
                } @else {
                    p.lede { (used) " materials may be used in a plan. A plan buys whole bags, uses what is on hand first, and keeps to the rules you farm by." }
                }
                (said(done))
                form method="post" action="/materials/usual" {
                    button.q {
                        "Tick the usual " @if farm.organic { "organic ones" } @else { "ones" }
                    }
                }
                form method="post" action="/materials" {
                @for kind in Kind::ALL {
                    h2 { (kind.name()) }
                    div.scroll tabindex="0" role="region" aria-label="A table that may scroll sideways" {
                        table.rows.num {
                            thead { tr { th.l scope="col" { "Material" } th.l scope="col" { "In plans" } th scope="col" { "On hand" } th.l scope="col" { "Sizes and prices" } th.l scope="col" { "Organic rule" } } }
                            tbody {
                                @for m in material::materials().iter().filter(|m| m.kind == kind) {
                                    (row(m, choices.iter().find(|c| c.material == m.id), &farm, &composts))
                                }
                            }
                        }
                    }
                }
                p { button { "Keep the ticks" } }
                }
            }
            aside {
                h3 { "Prices" }
                p { "Prices are yours. Until you give one, a plan chooses by a stand-in that never stands in an order’s total." }
                h3 { "Analyses" }
                p { "What stands here is generic. The bag’s label or your load’s own test goes before it: open the material and enter it." }
            }
        };
        Ok(page(&farm, "", "Materials", &body))
    })
    .await
}

fn row(m: &Material, choice: Option<&MaterialChoice>, farm: &Farm, composts: &Composts) -> Markup {
    let verdict = composts.verdict(m, "").filter(|v| !v.made_hot);
    let on = choice.is_some_and(|c| c.use_it);
    let barred = supply::left_out(farm, m).is_some();
    html! {
        tr {
            td.l { a href={ "/materials/" (m.id) } { b { (m.name) } } small { (m.grade()) } }
            td.l {
                input type="checkbox" name={ "use-" (m.id) } value="yes" checked[on] aria-label={ "Plans may use " (m.name) };
                @if barred { small { "not on organic ground" } }
            }
            td { @match choice.map(MaterialChoice::on_hand) { Some(lb) if lb > 0.0 => (words::lb(lb)), _ => "·" } }
            td.l {
                @if let Some(c) = choice {
                    @for pack in &c.packs {
                        div {
                            (pack.label)
                            @match pack.price { Some(price) => { " " (words::money(price, &farm.currency)) }, None => " no price" }
                            @if pack.invented { " " span.tag.doubt { "invented" } }
                        }
                    }
                }
            }
            td.l {
                small { (m.rule.sentence()) }
                @if let Some(verdict) = verdict.filter(|_| on) {
                    small { b { @if verdict.raw { "Counts as raw manure" } @else { "Taken for compost" } } ": " a href={ "/materials/" (m.id) "/made" } { "say how it was made" } }
                }
            }
        }
    }
}

pub(crate) async fn usual(State(app): State<App>) -> Result<Markup, Page> {
    app.with(|book| {
        supply::tick_usual(book, false)?;
        Err(Page::Go("/materials?done=usual".to_owned()))
    })
    .await
}

/// Ticks and unticks from the list, as one change.
pub(crate) async fn ticks(State(app): State<App>, Sent(fields): Sent) -> Result<Markup, Page> {
    app.with(move |book| {
        let f = Fields(fields);
        let mut changed = Vec::new();
        for m in material::materials() {
            let (_, mut choice) = the(book, &m.id)?;
            let on = f.ticked(&format!("use-{}", m.id));
            if choice.use_it != on {
                choice.use_it = on;
                changed.push(choice);
            }
        }
        book.together("tick materials", |book| {
            changed
                .iter()
                .try_for_each(|choice| book.set_material(choice))
        })?;
        Err(Page::Go("/materials?done=ticked".to_owned()))
    })
    .await
}

fn the(book: &Book, id: &str) -> Result<(&'static Material, MaterialChoice), Page> {
    let material =
        material::find(id).ok_or_else(|| Page::Missing("There is no such material.".to_owned()))?;
    let choice = book.material(id)?.unwrap_or_else(|| {
        let mut fresh = MaterialChoice::new(id);
        fresh.packs = supply::usual_packs(material, false);
        fresh
    });
    Ok((material, choice))
}

/// The percentages that may be entered, with their form keys.
const PARTS: [(&str, &str); 13] = [
    ("n", "N"),
    ("p2o5", "P2O5, total"),
    ("p2o5_available", "P2O5, available"),
    ("k2o", "K2O"),
    ("ca", "Ca"),
    ("mg", "Mg"),
    ("s", "S"),
    ("b", "B"),
    ("zn", "Zn"),
    ("mn", "Mn"),
    ("cu", "Cu"),
    ("cce", "CCE"),
    ("moisture", "Water"),
];

fn part<'a>(a: &'a mut Analysis, key: &str) -> Option<&'a mut Option<f64>> {
    Some(match key {
        "n" => &mut a.n,
        "p2o5" => &mut a.p2o5,
        "p2o5_available" => &mut a.p2o5_available,
        "k2o" => &mut a.k2o,
        "ca" => &mut a.ca,
        "mg" => &mut a.mg,
        "s" => &mut a.s,
        "b" => &mut a.b,
        "zn" => &mut a.zn,
        "mn" => &mut a.mn,
        "cu" => &mut a.cu,
        "cce" => &mut a.cce,
        "moisture" => &mut a.moisture,
        _ => return None,
    })
}

pub(crate) async fn show(State(app): State<App>, At(id): At<String>) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let (material, choice) = the(book, &id)?;
        let mut own: Analysis = choice
            .analysis_override
            .clone()
            .and_then(|v| serde_json::from_value(v).ok())
            .unwrap_or_default();
        let mut fields = vec![
            (
                "use".to_owned(),
                if choice.use_it { "yes" } else { "" }.to_owned(),
            ),
            (
                "stock".to_owned(),
                plain(choice.stock_lb, 5).replace(',', ""),
            ),
            ("note".to_owned(), choice.note.clone()),
            ("lots".to_owned(), lots_text(&choice.lots)),
        ];
        for (i, pack) in choice.packs.iter().enumerate() {
            fields.extend([
                (format!("label{i}"), pack.label.clone()),
                (format!("lb{i}"), plain(pack.lb, 5).replace(',', "")),
                (
                    format!("price{i}"),
                    pack.price.map(|p| format!("{p:.2}")).unwrap_or_default(),
                ),
                (
                    format!("from{i}"),
                    pack.supplier.map(|s| s.to_string()).unwrap_or_default(),
                ),
                (
                    format!("least{i}"),
                    pack.least_count.map(|n| n.to_string()).unwrap_or_default(),
                ),
                (format!("breaks{i}"), breaks_text(&pack.breaks)),
            ]);
        }
        for (key, _) in PARTS {
            if let Some(Some(v)) = part(&mut own, key) {
                fields.push((key.to_owned(), plain(*v, 5)));
            }
        }
        for block in &choice.refused_on {
            fields.push((format!("off{block}"), "yes".to_owned()));
        }
        form(book, &farm, material, &Fields(fields), None)
    })
    .await
}

fn form(
    book: &Book,
    farm: &Farm,
    m: &Material,
    f: &Fields,
    problem: Option<&str>,
) -> Result<Markup, Page> {
    let mut generic = m.analysis.clone();
    let suppliers = book.suppliers()?;
    let made = Composts::of(book)?.verdict(m, "");
    let recorded = farmwork::record::stock::Moves::of(book)?.of_material(&m.id);
    let body = html! {
        div {
            h1 { (m.name) }
            p.lede { (m.grade()) ". " (m.how()) ", " (m.when()) "." }
            @if let Some(why) = supply::left_out(farm, m) { p.wrong { (why) "." } }
            @if let Some(verdict) = &made {
                p { (verdict_line(&m.name, verdict)) " " a href={ "/materials/" (m.id) "/made" } { "How it was made" } }
            }
            (wrong(problem))
            form method="post" action={ "/materials/" (m.id) } {
                (tick("use", "Plans may use it", f.ticked("use")))
                @if recorded {
                    p.meta { "Deliveries and jobs are written down: the two fields below say what was there before the first of them. What is there now, and a place for what you counted, is " a href="/stock" { "in the shed" } "." }
                }
                div.row {
                    (number("stock", if recorded { "There at first" } else { "On hand" }, f.text("stock"), "lb"))
                    div.field {
                        label for="lots" { @if recorded { "There at first, by lot" } @else { "On hand by lot" } }
                        textarea id="lots" name="lots" rows="2" placeholder="L-204: 150" { (f.raw("lots")) }
                        small { "A line for each lot, its number and the lb left; used up from the top." }
                    }
                }
                fieldset {
                    legend { "Sizes it is sold in" }
                    @for i in 0..SIZES {
                        div.row {
                            div.field {
                                label for={ "label" (i) } { "Size " (i + 1) }
                                input id={ "label" (i) } name={ "label" (i) } value=(f.text(&format!("label{i}")));
                            }
                            (number(&format!("lb{i}"), "Holds", f.text(&format!("lb{i}")), "lb"))
                            (number(&format!("price{i}"), "Price", f.text(&format!("price{i}")), &farm.currency))
                            (choice(&format!("from{i}"), "From", from_whom(&suppliers), f.text(&format!("from{i}"))))
                            (number(&format!("least{i}"), "Fewest at once", f.text(&format!("least{i}")), ""))
                            (field(&format!("breaks{i}"), "Lower prices", f.text(&format!("breaks{i}")), "from a count on, as in 10: 41.50; 40: 38"))
                        }
                    }
                    p.meta { "Leave a size empty to take it away. " a href="/suppliers" { "Suppliers and delivery charges" } }
                }
                fieldset {
                    legend { "What your label or test says, percent of weight" }
                    p.meta { "Empty: the generic figure under it is used." }
                    div.row {
                        @for (key, label) in PARTS {
                            div.field {
                                label for=(key) { (label) }
                                input.short id=(key) name=(key) value=(f.text(key)) inputmode="decimal";
                                small { "generic " @match part(&mut generic, key) { Some(Some(v)) => (plain(*v, 3)), _ => "not known" } }
                            }
                        }
                    }
                }
                fieldset {
                    legend { "Keep it off" }
                    @for block in book.blocks()? {
                        (tick(&format!("off{}", block.id), &block.name, f.ticked(&format!("off{}", block.id))))
                    }
                }
                div.field { label for="note" { "Note" } input id="note" name="note" value=(f.text("note")); }
                p { button { "Keep" } " " a.btn.q href="/materials" { "Leave as it was" } }
            }
        }
        aside {
            h3 { "Nitrogen in the first season" }
            p.num {
                (plain(m.release.value, 3)) " % of " (m.release.basis)
                @if m.release.low < m.release.high { " (likely " (plain(m.release.low, 3)) " to " (plain(m.release.high, 3)) ")" }
            }
            p.meta { (m.release.source.text) " " (mark(&m.release.source)) }
            h3 { "Analysis" }
            p.meta { (m.source.text) " " (mark(&m.source)) }
            h3 { "Organic rule" }
            p { (m.rule.sentence()) "." }
            @if let Some(most) = &m.most {
                h3 { "The most at once" }
                p { span.num { (plain(most.lb_per_acre, 3)) } " lb/acre: " (most.why) }
                p.meta { (most.source.text) " " (mark(&most.source)) }
            }
            (cautions(&m.cautions))
        }
    };
    Ok(page(farm, "", &m.name, &body))
}

fn from_whom(suppliers: &[Supplier]) -> Vec<(String, String)> {
    let mut all = vec![(String::new(), "fetched, no charge".to_owned())];
    all.extend(suppliers.iter().map(|s| (s.id.to_string(), s.name.clone())));
    all
}

fn breaks_text(breaks: &[CountPrice]) -> String {
    breaks
        .iter()
        .map(|b| format!("{}: {:.2}", b.from_count, b.price))
        .collect::<Vec<_>>()
        .join("; ")
}

fn typed_breaks(text: &str) -> Result<Vec<CountPrice>, String> {
    text.split(';')
        .filter(|part| !part.trim().is_empty())
        .map(|part| {
            let (count, price) = part.split_once(':').unwrap_or((part, ""));
            let from_count = count.trim().parse().ok();
            let price = price.trim().parse().ok().filter(|p: &f64| p.is_finite());
            from_count
                .zip(price)
                .map(|(from_count, price)| CountPrice { from_count, price })
                .ok_or_else(|| {
                    format!(
                        "“{}” is not a lower price; write the count and the price of each, as in 10: 41.50; 40: 38.",
                        part.trim()
                    )
                })
        })
        .collect()
}

fn lots_text(lots: &[LotOnHand]) -> String {
    lots.iter()
        .map(|l| format!("{}: {}", l.lot, plain(l.lb, 5).replace(',', "")))
        .collect::<Vec<_>>()
        .join("\n")
}

fn typed_lots(text: &str) -> Result<Vec<LotOnHand>, String> {
    text.lines()
        .filter(|line| !line.trim().is_empty())
        .map(|line| {
            line.rsplit_once(':')
                .and_then(|(lot, lb)| {
                    let lb = lb.trim().trim_end_matches("lb").trim().replace(',', "");
                    let lb = lb.parse::<f64>().ok().filter(|x| x.is_finite())?;
                    Some(LotOnHand {
                        lot: lot.trim().to_owned(),
                        lb,
                    })
                })
                .ok_or_else(|| {
                    format!(
                        "“{}” is not a lot; write its number, a colon and the lb left, as in L-204: 150.",
                        line.trim()
                    )
                })
        })
        .collect()
}

/// The choice as typed, or a sentence.
fn typed(
    book: &Book,
    id: &str,
    old: &MaterialChoice,
    f: &Fields,
) -> Result<MaterialChoice, String> {
    let mut choice = MaterialChoice::new(id);
    choice.use_it = f.ticked("use");
    choice.stock_lb = f
        .maybe_number("stock", "what is on hand in lb")?
        .unwrap_or(0.0);
    choice.note = f.text("note").to_owned();
    choice.lots = typed_lots(f.raw("lots"))?;
    for i in 0..SIZES {
        let label = f.text(&format!("label{i}")).to_owned();
        let lb = f.maybe_number(&format!("lb{i}"), "what a size holds in lb")?;
        let price = f.maybe_number(&format!("price{i}"), "a price")?;
        let (label, lb) = match (label.is_empty(), lb) {
            (true, None) => continue,
            (false, None) => return Err(format!("Say how many lb “{label}” holds.")),
            (true, Some(lb)) => (format!("{} lb bag", plain(lb, 5)), lb),
            (false, Some(lb)) => (label, lb),
        };
        // A price that was invented for the demo and left as it is stays marked.
        let invented = old.packs.iter().any(|p| {
            p.invented
                && p.label == label
                && p.price
                    .zip(price)
                    .is_some_and(|(a, b)| (a - b).abs() < 0.005)
        });
        choice.packs.push(PackPrice {
            label,
            lb,
            price,
            invented,
            supplier: f.maybe_of(&format!("from{i}"), "a supplier")?,
            least_count: f.maybe_count(&format!("least{i}"), "the fewest sold at once")?,
            breaks: typed_breaks(f.text(&format!("breaks{i}")))?,
        });
    }
    let mut own = Analysis {
        dry_basis: material::find(id).is_some_and(|m| m.analysis.dry_basis),
        ..Analysis::default()
    };
    let mut any = false;
    for (key, label) in PARTS {
        if let Some(v) = f.maybe_number(key, label)? {
            if !(-400.0..=400.0).contains(&v)
                || (v < 0.0 && key != "cce")
                || (v > 100.0 && key != "cce")
            {
                return Err(format!(
                    "{v} % of {label} cannot be; it is a percentage of the weight."
                ));
            }
            if let Some(slot) = part(&mut own, key) {
                *slot = Some(v);
                any = true;
            }
        }
    }
    if own.k2o.is_some() {
        own.k2o_available = own.k2o;
    }
    if any {
        choice.analysis_override = Some(serde_json::to_value(&own).map_err(|e| e.to_string())?);
    }
    choice.refused_on = book
        .blocks()
        .map_err(|e| e.to_string())?
        .into_iter()
        .map(|b| b.id)
        .filter(|id| f.ticked(&format!("off{id}")))
        .collect();
    Ok(choice)
}

pub(crate) async fn change(
    State(app): State<App>,
    At(id): At<String>,
    Sent(fields): Sent,
) -> Result<Markup, Page> {
    app.with(move |book| {
        let farm = book.farm()?;
        let f = Fields(fields);
        let (material, old) = the(book, &id)?;
        let kept = typed(book, &id, &old, &f)
            .and_then(|choice| book.set_material(&choice).map_err(|e| e.to_string()));
        match kept {
            Ok(()) => Err(Page::Go("/materials?done=kept".to_owned())),
            Err(why) => form(book, &farm, material, &f, Some(&why)),
        }
    })
    .await
}
