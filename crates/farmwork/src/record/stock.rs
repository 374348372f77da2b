//! What there is of each lot, and whether what came in is what was used and what is left.

use crate::Result;
use farmbook::{Arrival, Book, Id, LotOnHand, MaterialChoice, StockCount, Used};
use jiff::civil::Date;
use quantity::Weight;
use serde::Serialize;
use std::collections::{BTreeMap, HashSet};

/// Everything that moved what is in the shed and stands: what was used as sums by lot and day, since the
/// entries of twenty years would be read for nothing.
#[derive(Debug, Clone, Default)]
pub struct Moves {
    pub used: Vec<Used>,
    pub arrivals: Vec<Arrival>,
    pub counts: Vec<StockCount>,
}

impl Moves {
    /// As they stand now.
    ///
    /// # Errors
    /// The book’s own.
    pub fn of(book: &Book) -> Result<Self> {
        Ok(Self {
            used: book.used(&[])?,
            arrivals: book.arrivals()?,
            counts: book.counts()?,
        })
    }

    /// As they stood when a plan was made; `spread` are the entries of spreading written down since.
    pub(super) fn at_plan(book: &Book, plan: Id, spread: &[Id]) -> Result<Self> {
        let later = |table: &str| -> Result<HashSet<Id>> {
            Ok(book.added_since_plan(plan, table)?.into_iter().collect())
        };
        let (arrived, counted) = (later("arrival")?, later("stock_count")?);
        let mut arrivals = book.all_arrivals()?;
        arrivals.retain(|a| !arrived.contains(&a.id));
        let gone: HashSet<Id> = arrivals.iter().filter_map(|a| a.corrects).collect();
        arrivals.retain(|a| !gone.contains(&a.id) && !a.weight.is_zero());
        let mut counts = book.all_counts()?;
        counts.retain(|c| !counted.contains(&c.id));
        let gone: HashSet<Id> = counts.iter().filter_map(|c| c.corrects).collect();
        counts.retain(|c| !gone.contains(&c.id) && !c.takes_back);
        Ok(Self {
            used: book.used(spread)?,
            arrivals,
            counts,
        })
    }

    /// Whether anything says how much of a material there is, beside what was there at the beginning.
    pub fn of_material(&self, material: &str) -> bool {
        self.used.iter().any(|s| s.material == material)
            || self.arrivals.iter().any(|a| a.material == material)
            || self.counts.iter().any(|c| c.material == material)
    }
}

/// One lot of one material over a stretch of days. For the days from the first to the last it holds that
/// `begin + came + counted = used + end`, to the hundredth of an ounce.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LotBalance {
    /// Key of the material table.
    pub material: String,
    /// As printed on the bag; empty for what is in no lot.
    pub lot: String,
    /// Before the first day.
    pub begin: Weight,
    pub came: Weight,
    pub used: Weight,
    /// What counts found above (or, below zero, under) what the record made it.
    pub counted: Weight,
    /// After the last day; below zero where more was used than there was.
    pub end: Weight,
    /// The first day on which more had been used than there was.
    pub short_from: Option<Date>,
}

/// What moves a lot, in the order of a day: deliveries, then spreading, then the count at its end.
enum Move {
    Came(Weight),
    Used(Weight),
    Counted(Weight),
}

type ByLot = BTreeMap<(String, String), Vec<(Date, Move)>>;

/// Every lot that the grower named, that came in, was used or was counted, from one day to another (both
/// included), by material and lot.
pub fn balance(
    choices: &[MaterialChoice],
    all: &Moves,
    first: Date,
    last: Date,
) -> Vec<LotBalance> {
    let mut lots: ByLot = BTreeMap::new();
    let mut at_first: BTreeMap<(String, String), Weight> = BTreeMap::new();
    for choice in choices {
        let mut begin = |lot: &str, lb: f64| {
            let key = (choice.material.clone(), lot.to_owned());
            lots.entry(key.clone()).or_default();
            let there = at_first.entry(key).or_default();
            *there = *there + Weight::pounds(lb);
        };
        if choice.stock_lb > 0.0 {
            begin("", choice.stock_lb);
        }
        for lot in &choice.lots {
            begin(&lot.lot, lot.lb);
        }
    }
    let mut add = |material: &str, lot: &str, day: Date, what: Move| {
        let key = (material.to_owned(), lot.to_owned());
        lots.entry(key).or_default().push((day, what));
    };
    for a in &all.arrivals {
        add(&a.material, &a.lot, a.day, Move::Came(a.weight));
    }
    for s in &all.used {
        add(&s.material, &s.lot, s.day, Move::Used(s.weight));
    }
    for c in &all.counts {
        add(&c.material, &c.lot, c.day, Move::Counted(c.weight));
    }
    lots.into_iter()
        .map(|(key, mut moves)| {
            // Stable: within a day the kinds keep the order in which they were added.
            moves.sort_by_key(|(day, _)| *day);
            let begin = at_first.get(&key).copied().unwrap_or_default();
            of_lot(key, begin, &moves, first, last)
        })
        .collect()
}

fn of_lot(
    (material, lot): (String, String),
    at_first: Weight,
    moves: &[(Date, Move)],
    first: Date,
    last: Date,
) -> LotBalance {
    let mut b = LotBalance {
        material,
        lot,
        begin: at_first,
        came: Weight::ZERO,
        used: Weight::ZERO,
        counted: Weight::ZERO,
        end: at_first,
        short_from: None,
    };
    for (day, what) in moves.iter().filter(|(day, _)| *day <= last) {
        let before = b.end;
        match what {
            Move::Came(w) => b.end = b.end + *w,
            Move::Used(w) => b.end = b.end - *w,
            Move::Counted(w) => b.end = *w,
        }
        if b.end < Weight::ZERO && b.short_from.is_none() {
            b.short_from = Some(*day);
        }
        if *day < first {
            b.begin = b.end;
            continue;
        }
        match what {
            Move::Came(w) => b.came = b.came + *w,
            Move::Used(w) => b.used = b.used + *w,
            Move::Counted(_) => b.counted = b.counted + (b.end - before),
        }
    }
    b
}

/// What is on hand after every entry, lot by lot.
pub fn now(choices: &[MaterialChoice], all: &Moves) -> Vec<LotBalance> {
    balance(choices, all, Date::MIN, Date::MAX)
}

/// Puts what is there by the record in place of what was there at its beginning.
pub(crate) fn bring_up(choice: &mut MaterialChoice, moves: &Moves) {
    if !moves.of_material(&choice.material) {
        return;
    }
    let all = now(std::slice::from_ref(choice), moves);
    let mine: Vec<&LotBalance> = all
        .iter()
        .filter(|b| b.material == choice.material)
        .collect();
    // More used from one lot than it held came from another: the sum holds.
    let mut owed: Weight = mine.iter().map(|b| (-b.end).max(Weight::ZERO)).sum();
    let mut left = |b: &LotBalance| {
        let there = b.end.max(Weight::ZERO);
        let taken = there.min(owed);
        owed = owed - taken;
        (there - taken).to_pounds()
    };
    choice.stock_lb = 0.0;
    let mut lots = Vec::new();
    for b in &mine {
        let lb = left(b);
        if b.lot.is_empty() {
            choice.stock_lb = lb;
        } else if lb > 0.0 {
            lots.push(LotOnHand {
                lot: b.lot.clone(),
                lb,
            });
        }
    }
    choice.lots = lots;
}
