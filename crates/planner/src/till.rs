//! What the shed costs: packs, deliveries, the budget, materials opened.

use crate::farm::Farm;
use crate::packs;

/// Money that each unit over a budget that is never to be passed is taken to cost, so that a
/// search turns back.
pub(crate) const NEVER: f64 = 1e6;

/// Money below which a sum is arithmetic.
const NOTHING: f64 = 1e-9;

/// The bill of a purchase.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Bill {
    pub packs: f64,
    /// Order value and delivery charge by the place of the supplier; zero where nothing is bought.
    pub deliveries: Vec<(f64, f64)>,
    /// Money over the budget.
    pub over: f64,
}

impl Bill {
    pub fn spent(&self) -> f64 {
        self.packs + self.deliveries.iter().map(|d| d.1).sum::<f64>()
    }
}

/// The charge for an order at the supplier.
pub(crate) fn charge(farm: &Farm, supplier: usize, order: f64, any: bool) -> f64 {
    let supplier = &farm.problem.suppliers[supplier];
    if !any
        || supplier
            .free_from
            .is_some_and(|from| order >= from - NOTHING)
    {
        0.0
    } else {
        supplier.delivery
    }
}

/// Adds up the bill of the counts.
pub(crate) fn bill(farm: &Farm, counts: &[Vec<u32>]) -> Bill {
    let mut orders = vec![(0.0, false); farm.problem.suppliers.len()];
    let mut bill = Bill::default();
    for (stuff, counts) in farm.stuff.iter().zip(counts) {
        for ((pack, n), from) in stuff.packs.iter().zip(counts).zip(&stuff.from) {
            let money = f64::from(*n) * packs::price_at(pack, *n);
            bill.packs += money;
            if let Some(s) = from
                && *n > 0
            {
                orders[*s].0 += money;
                orders[*s].1 = true;
            }
        }
    }
    bill.deliveries = orders
        .iter()
        .enumerate()
        .map(|(s, (order, any))| (*order, charge(farm, s, *order, *any)))
        .collect();
    if let Some(budget) = &farm.problem.options.budget {
        let over = bill.spent() - budget.money;
        bill.over = if over > 1e-7 * budget.money.max(1.0) {
            over
        } else {
            0.0
        };
    }
    bill
}

/// Money that being over the budget costs on top.
pub(crate) fn over_cost(farm: &Farm, over: f64) -> f64 {
    let each = farm
        .problem
        .options
        .budget
        .as_ref()
        .and_then(|b| b.over_cost)
        .unwrap_or(NEVER);
    if over > 0.0 { each * over } else { 0.0 }
}

/// Money of the shed: the bill, what is over the budget, and the materials that are opened.
pub(crate) fn money(farm: &Farm, used: &[f64], counts: &[Vec<u32>]) -> f64 {
    let bill = bill(farm, counts);
    let opened = used.iter().filter(|lb| **lb > 0.0).count() as f64;
    bill.spent() + over_cost(farm, bill.over) + opened * farm.problem.options.material_cost
}

/// How bags are paid for while a plan is bettered.
#[derive(Clone, Copy, PartialEq)]
pub(crate) enum Bags {
    /// As they are sold.
    Whole,
    /// By the lb, as if every bag were shared to its end.
    Shared,
}

/// A running bill, in which one material at a time changes.
pub(crate) struct Till<'a> {
    farm: &'a Farm<'a>,
    bags: Bags,
    /// Whether deliveries or a budget tie the materials together.
    tied: bool,
    paid: Vec<f64>,
    counts: Vec<Vec<u32>>,
    opened: Vec<bool>,
    /// Packs bought and order value by supplier.
    orders: Vec<(i64, f64)>,
    spent: f64,
}

impl<'a> Till<'a> {
    pub fn new(farm: &'a Farm<'a>, bags: Bags, used: &[f64]) -> Self {
        let options = &farm.problem.options;
        let tied = bags == Bags::Whole
            && (options.budget.is_some()
                || farm
                    .stuff
                    .iter()
                    .any(|s| s.from.iter().any(Option::is_some)));
        let mut till = Self {
            farm,
            bags,
            tied,
            paid: vec![0.0; used.len()],
            counts: farm.stuff.iter().map(|s| vec![0; s.packs.len()]).collect(),
            opened: vec![false; used.len()],
            orders: vec![(0_i64, 0.0); farm.problem.suppliers.len()],
            spent: 0.0,
        };
        for (m, lb) in used.iter().enumerate() {
            till.set(m, *lb);
        }
        till
    }

    fn plain(&self, m: usize, used: f64) -> f64 {
        let stuff = &self.farm.stuff[m];
        let lacking = used - stuff.stock;
        match self.bags {
            Bags::Whole => packs::least_money(stuff.packs, lacking).unwrap_or_default(),
            Bags::Shared => packs::price_per_lb(stuff.packs).unwrap_or_default() * lacking.max(0.0),
        }
    }

    /// Money of deliveries and of being over the budget, with one material's packs exchanged.
    fn tied_money(&self, m: usize, counts: &[u32], paid: f64) -> f64 {
        let stuff = &self.farm.stuff[m];
        let mut delivery = 0.0;
        for (s, (count, order)) in self.orders.iter().enumerate() {
            let (mut n, mut value) = (*count, *order);
            for (p, pack) in stuff.packs.iter().enumerate() {
                if stuff.from[p] == Some(s) {
                    let (old, new) = (self.counts[m][p], counts[p]);
                    n += i64::from(new) - i64::from(old);
                    value += f64::from(new) * packs::price_at(pack, new)
                        - f64::from(old) * packs::price_at(pack, old);
                }
            }
            delivery += charge(self.farm, s, value, n > 0);
        }
        let spent = self.spent - self.paid[m] + paid + delivery;
        let over = self.farm.problem.options.budget.as_ref().map_or(0.0, |b| {
            let over = spent - b.money;
            if over > 1e-7 * b.money.max(1.0) {
                over
            } else {
                0.0
            }
        });
        delivery + over_cost(self.farm, over)
    }

    /// Packs for so much of the material, and what the whole shed then costs but for the other
    /// materials' own packs.
    fn choose(&self, m: usize, used: f64) -> (Vec<u32>, f64, f64) {
        let stuff = &self.farm.stuff[m];
        let lacking = used - stuff.stock;
        let none = || (vec![0; stuff.packs.len()], 0.0);
        let mut best: Option<(Vec<u32>, f64, f64)> = None;
        // The cheapest packs, and the cheapest from those who deliver already.
        let running = |p: usize| {
            stuff.from[p].is_none_or(|s| self.orders[s].0 > i64::from(self.counts[m][p]))
        };
        for known in [false, true] {
            let found = packs::cover_where(stuff.packs, lacking, |p| !known || running(p));
            let (counts, paid) = match found {
                Some(found) => found,
                None if known => continue,
                None => none(),
            };
            let sum = paid + self.tied_money(m, &counts, paid);
            if best.as_ref().is_none_or(|b| sum < b.2) {
                best = Some((counts, paid, sum));
            }
        }
        best.unwrap_or_else(|| {
            let (counts, paid) = none();
            (counts, paid, 0.0)
        })
    }

    fn opening(&self, m: usize, used: f64) -> f64 {
        let opened = |is: bool| {
            if is {
                self.farm.problem.options.material_cost
            } else {
                0.0
            }
        };
        opened(used > 0.0) - opened(self.opened[m])
    }

    /// Money that the shed costs more when so much of the material is used.
    pub fn more(&self, m: usize, used: f64) -> f64 {
        if !self.tied {
            return self.plain(m, used) - self.paid[m] + self.opening(m, used);
        }
        let now = self.paid[m] + self.tied_money(m, &self.counts[m], self.paid[m]);
        self.choose(m, used).2 - now + self.opening(m, used)
    }

    /// Takes the new use over.
    pub fn set(&mut self, m: usize, used: f64) {
        if self.tied {
            let (counts, paid, _) = self.choose(m, used);
            let stuff = &self.farm.stuff[m];
            for (p, pack) in stuff.packs.iter().enumerate() {
                if let Some(s) = stuff.from[p] {
                    let (old, new) = (self.counts[m][p], counts[p]);
                    self.orders[s].0 += i64::from(new) - i64::from(old);
                    self.orders[s].1 += f64::from(new) * packs::price_at(pack, new)
                        - f64::from(old) * packs::price_at(pack, old);
                }
            }
            self.spent += paid - self.paid[m];
            self.counts[m] = counts;
            self.paid[m] = paid;
        } else {
            self.paid[m] = self.plain(m, used);
        }
        self.opened[m] = used > 0.0;
    }

    /// What is there of the material beyond what is used, and the packs it is sold in.
    pub fn there(&self, m: usize, used: f64) -> f64 {
        let stuff = &self.farm.stuff[m];
        let lacking = used - stuff.stock;
        if self.tied {
            packs::mass(stuff.packs, &self.counts[m])
        } else {
            packs::cover(stuff.packs, lacking).map_or(0.0, |c| packs::mass(stuff.packs, &c.0))
        }
    }

    pub fn may_open(&self, m: usize) -> bool {
        self.opened[m]
            || self
                .farm
                .problem
                .options
                .most_materials
                .is_none_or(|most| self.opened.iter().filter(|o| **o).count() < most as usize)
    }
}
