//! From the order list of a plan to orders placed, and from there to what has come and what is still open.

use crate::at_hand;
use crate::calendar::{Calendar, State};
use crate::order;
use crate::planning::Made;
use crate::{Result, WorkError};
use farmbook::{Book, OrderedLine, PlacedOrder};
use jiff::ToSpan;
use jiff::civil::Date;
use quantity::Weight;
use serde::Serialize;

/// What is still to be ordered from one supplier.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToOrder {
    /// Empty where the packs name nobody.
    pub supplier: String,
    pub lines: Vec<OrderedLine>,
    /// The day on which the first of it is to go on; none where no day can be told.
    pub needed_by: Option<Date>,
    /// What goes on that day, in words.
    pub needed_for: String,
    /// The last day to order, by the supplier’s days to delivery.
    pub order_by: Option<Date>,
}

/// A line of a placed order with what has come of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OpenLine {
    pub line: OrderedLine,
    pub came: Weight,
    /// Not come yet; nothing once the order is closed.
    pub open: Weight,
}

/// A placed order with what has come of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Standing {
    pub order: PlacedOrder,
    pub lines: Vec<OpenLine>,
}

impl Standing {
    pub fn is_open(&self) -> bool {
        self.lines.iter().any(|l| !l.open.is_zero())
    }
}

/// Every placed order, newest first.
///
/// # Errors
/// The book’s own.
pub fn placed(book: &Book) -> Result<Vec<Standing>> {
    let arrivals = book.arrivals()?;
    Ok(book
        .placed_orders()?
        .into_iter()
        .map(|order| {
            // Two packs of one material fill up one after the other.
            let mut came: Vec<(String, Weight)> = Vec::new();
            for a in arrivals.iter().filter(|a| a.order == Some(order.id)) {
                match came.iter_mut().find(|(m, _)| *m == a.material) {
                    Some((_, w)) => *w = *w + a.weight,
                    None => came.push((a.material.clone(), a.weight)),
                }
            }
            let lines = order
                .lines
                .iter()
                .map(|line| {
                    let there = came.iter_mut().find(|(m, _)| *m == line.material);
                    let mine = there.map_or(Weight::ZERO, |(_, w)| {
                        let mine = (*w).min(line.weight);
                        *w = *w - mine;
                        mine
                    });
                    let open = if order.closed_on.is_some() {
                        Weight::ZERO
                    } else {
                        line.weight - mine
                    };
                    OpenLine {
                        line: line.clone(),
                        came: mine,
                        open,
                    }
                })
                .collect();
            Standing { order, lines }
        })
        .collect())
}

/// What a plan buys and is not on its way yet, by supplier, the most urgent first.
///
/// # Errors
/// The book’s own.
pub fn to_order(book: &Book, made: &Made, calendar: &Calendar) -> Result<Vec<ToOrder>> {
    let list = order::of_plan(book, made)?;
    let jobs = &calendar.applications;
    let mut on_the_way: Vec<(String, Weight)> = Vec::new();
    for line in placed(book)?.iter().flat_map(|s| &s.lines) {
        on_the_way.push((line.line.material.clone(), line.open));
    }
    // What came after the plan was made is in the shed and not in the plan.
    let later = book.added_since_plan(made.stored.id, "arrival")?;
    for a in book.arrivals()? {
        if later.contains(&a.id) {
            on_the_way.push((a.material.clone(), a.weight));
        }
    }
    let suppliers = book.suppliers()?;
    let mut out: Vec<ToOrder> = Vec::new();
    for line in &list.lines {
        let mut coming: Weight = on_the_way
            .iter()
            .filter(|(m, _)| *m == line.id)
            .map(|(_, w)| *w)
            .sum();
        for buy in &line.buy {
            let each = Weight::pounds(buy.size_lb);
            let mut count = buy.count;
            while count > 0 && !each.is_zero() && coming >= each {
                coming = coming - each;
                count -= 1;
            }
            if count == 0 {
                continue;
            }
            let new = OrderedLine {
                material: line.id.clone(),
                count,
                pack: buy.size.clone(),
                weight: each.times(count),
                cents: buy
                    .price
                    .map(|p| (p * 100.0).round() as i64 * i64::from(count)),
            };
            match out.iter_mut().find(|o| o.supplier == buy.from) {
                Some(o) => o.lines.push(new),
                None => out.push(ToOrder {
                    supplier: buy.from.clone(),
                    lines: vec![new],
                    needed_by: None,
                    needed_for: String::new(),
                    order_by: None,
                }),
            }
        }
    }
    for o in &mut out {
        let first = jobs
            .iter()
            .filter(|a| a.state != State::Done)
            .filter(|a| o.lines.iter().any(|l| l.material == a.material_id))
            .filter_map(|a| Some((a.on?, a)))
            .min_by_key(|(day, _)| *day);
        if let Some((day, a)) = first {
            o.needed_by = Some(day);
            o.needed_for = format!("{} on {}", a.material.to_lowercase(), a.block);
            let lead = suppliers
                .iter()
                .find(|s| s.name == o.supplier)
                .and_then(|s| s.lead_days)
                .unwrap_or(0);
            o.order_by = day.checked_sub(i64::from(lead).days()).ok();
        }
    }
    out.sort_by_key(|o| (o.order_by.unwrap_or(Date::MAX), o.supplier.clone()));
    Ok(out)
}

/// Writes down that what is to be ordered from a supplier was ordered.
///
/// # Errors
/// Nothing is left to be ordered there, or the book’s own.
pub fn place(book: &mut Book, made: &Made, supplier: &str, day: Date, mark: &str) -> Result<i64> {
    // Sent again, the order is the one of the first time.
    if let Some(first) = book.placed_orders()?.iter().find(|o| o.mark == mark) {
        return Ok(first.id);
    }
    let wanted = to_order(book, made, &*at_hand::calendar(book, made, day)?)?
        .into_iter()
        .find(|o| o.supplier.eq_ignore_ascii_case(supplier.trim()))
        .ok_or_else(|| {
            WorkError::Said(format!(
                "Nothing is left to be ordered{}.",
                match supplier.trim() {
                    "" => String::new(),
                    name => format!(" from {name}"),
                }
            ))
        })?;
    let mut order = PlacedOrder::new(made.stored.season, day, wanted.supplier);
    if !mark.is_empty() {
        mark.clone_into(&mut order.mark);
    }
    order.lines = wanted.lines;
    order.needed_by = wanted.needed_by;
    Ok(book.place_order(&order)?)
}
