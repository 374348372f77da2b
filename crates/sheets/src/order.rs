//! What the order list says, ready to set.

use farmwork::order::{Buy, Delivery, OrderLine, OrderList};
use serde::Serialize;

use crate::block::{CautionView, Foot, cautions};
use crate::words::{TIE, account, count, day, list, money, number, text, tied};

#[derive(Serialize)]
pub(crate) struct OrderView {
    title: String,
    author: String,
    foot: Foot,
    season: String,
    opening: String,
    /// Shown as a mark beside the opening; empty when every price is a real one.
    invented: &'static str,
    lines: Vec<LineView>,
    /// Who brings what at what charge: words and money.
    deliveries: Vec<(String, String)>,
    total: String,
    total_note: String,
    cautions: Vec<CautionView>,
}

#[derive(Serialize)]
struct LineView {
    name: String,
    analysis: String,
    need: String,
    stock: String,
    /// What to buy, one entry a size; one entry without a size where nothing is bought.
    buy: Vec<BuyView>,
    left: String,
    cost: String,
    cost_note: &'static str,
    rule: String,
    used_on: String,
}

#[derive(Serialize)]
struct BuyView {
    what: String,
    price: String,
}

pub(crate) fn view(order: &OrderList) -> OrderView {
    OrderView {
        title: text(&format!("What to buy, {} {}", order.farm, order.season)),
        author: text(&order.farm),
        foot: Foot::new("", &order.farm, &order.season, &order.made_on),
        season: text(&order.season),
        opening: opening(order),
        invented: if order.invented_prices {
            "The prices marked “invented” came with the demonstration farm. They are nobody’s prices: \
             ask your suppliers before you order."
        } else {
            ""
        },
        lines: order
            .lines
            .iter()
            .map(|l| line(l, &order.currency))
            .collect(),
        deliveries: order
            .deliveries
            .iter()
            .map(|d| delivery(d, &order.currency))
            .collect(),
        total: money(order.cost, &order.currency),
        total_note: match order.unpriced {
            0 => String::new(),
            n => format!(
                "without {} not yet priced",
                count(n, "material", "materials")
            ),
        },
        cautions: cautions(&order.cautions),
    }
}

fn opening(order: &OrderList) -> String {
    let farm = text(&order.farm);
    let made = day(&order.made_on);
    if order.lines.is_empty() {
        return format!(
            "Nothing is needed. The plan made on {made} puts no material on any block of {farm}, so \
             there is nothing to buy."
        );
    }
    let materials = count(order.lines.len(), "material", "materials");
    let bought = order.lines.iter().filter(|l| buys(l)).count();
    let takes = format!("By the plan made on {made}, {farm} takes {materials}.");
    if bought == 0 {
        return format!("{takes} All of it is on hand: there is nothing to buy.");
    }
    let which = if bought == order.lines.len() {
        match bought {
            1 => "It has to be bought".to_owned(),
            2 => "Both have to be bought".to_owned(),
            n => format!("All {n} have to be bought"),
        }
    } else {
        let has = if bought == 1 { "has" } else { "have" };
        format!("{} {has} to be bought", number(bought as f64))
    };
    let cost = money(order.cost, &order.currency);
    match order.unpriced {
        0 => format!("{takes} {which}, for {cost} in all."),
        n if n >= bought => format!("{takes} {which}; no prices are known yet."),
        n => format!(
            "{takes} {which}. Those with a price come to {cost}; {} no price yet, so the bill will \
             be higher.",
            count(n, "has", "have")
        ),
    }
}

fn buys(line: &OrderLine) -> bool {
    line.buy.iter().any(|b| b.count > 0)
}

fn line(line: &OrderLine, currency: &str) -> LineView {
    let bought: Vec<&Buy> = line.buy.iter().filter(|b| b.count > 0).collect();
    LineView {
        name: text(&line.name),
        analysis: text(&line.analysis),
        need: number(line.need_lb),
        stock: some(line.from_stock_lb),
        buy: if bought.is_empty() {
            vec![BuyView {
                what: "nothing".to_owned(),
                price: String::new(),
            }]
        } else {
            bought
                .iter()
                .map(|b| BuyView {
                    what: what(b),
                    price: b
                        .price
                        .map_or_else(|| "not known".to_owned(), |p| money(p, currency)),
                })
                .collect()
        },
        left: some(line.left_lb),
        cost: match line.cost {
            _ if bought.is_empty() => String::new(),
            Some(cost) => money(cost, currency),
            None => "not known".to_owned(),
        },
        cost_note: if line.price_invented && line.cost.is_some() && !bought.is_empty() {
            "invented"
        } else {
            ""
        },
        rule: text(&line.rule),
        used_on: list(
            &line
                .used_on
                .iter()
                .map(|(block, lb)| format!("{}{TIE}({}{TIE}lb)", tied(block), account(*lb)))
                .collect::<Vec<_>>(),
        ),
    }
}

fn what(buy: &Buy) -> String {
    let all = format!("{} × {}", number(f64::from(buy.count)), text(&buy.size));
    match text(&buy.from) {
        nobody if nobody.is_empty() => all,
        from => format!("{all}, {from}"),
    }
}

fn delivery(of: &Delivery, currency: &str) -> (String, String) {
    let wait = of.lead_days.map_or_else(String::new, |days| {
        format!(", {} to delivery", count(usize::from(days), "day", "days"))
    });
    let charge = if of.charge > 0.0 {
        money(of.charge, currency)
    } else {
        "free".to_owned()
    };
    (
        format!(
            "Delivery by {}, for an order of {}{wait}",
            text(&of.from),
            money(of.order, currency)
        ),
        charge,
    )
}

/// An amount, or nothing at all where there is none: an empty place reads faster than a zero.
fn some(lb: f64) -> String {
    if lb.abs() < 0.005 {
        String::new()
    } else {
        number(lb)
    }
}
