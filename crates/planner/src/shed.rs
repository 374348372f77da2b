//! The shed in the mixed-integer models: packs with their price breaks, deliveries, the budget,
//! and which materials are opened.

use crate::farm::{Farm, above};
use crate::fence::{Fence, Seen, SeenTier, SeenTruck, Truck};
use crate::{packs, till};
use highs::{Col, RowProblem};

/// One price of one pack.
struct Tier {
    pack: usize,
    price: f64,
    count: Col,
    /// Never more than this.
    most: f64,
    /// Whether it is bought at all, where it is sold from a count on.
    open: Option<Col>,
    from: u32,
}

/// The shed's columns.
pub(crate) struct Shed {
    tiers: Vec<Vec<Tier>>,
    /// By supplier: pays for the delivery, has it free.
    delivery: Vec<Option<(Col, Option<Col>)>>,
    over: Option<Col>,
    pub opened: Vec<Option<Col>>,
    /// Whether any of the material is used in any case.
    held: Vec<bool>,
    /// The row that keeps each material's use within what there is; by material.
    pub within: Vec<Option<usize>>,
}

/// Columns with the least and the most of each.
pub(crate) type Ranges = Vec<(Col, (f64, f64))>;

/// How the shed goes into a model.
pub(crate) struct Terms<'a> {
    /// Columns that use each material, with their factor.
    pub used: &'a [Vec<(Col, f64)>],
    /// The most lb of each that can be used.
    pub most: &'a [f64],
    /// Whether packs are bought whole.
    pub whole: bool,
    /// Whether any of the material is used in any case.
    pub held: &'a [bool],
    /// Whether the budget counts.
    pub budget: bool,
    /// Materials that have to be opened with a pack before any is used.
    pub opens: &'a [bool],
    /// What is decided beforehand.
    pub fence: &'a Fence,
}

/// Adds the shed's columns and rows.
pub(crate) fn add(farm: &Farm, terms: &Terms, rows: &mut RowProblem) -> Shed {
    let options = &farm.problem.options;
    let mut shed = Shed {
        tiers: Vec::new(),
        delivery: farm.problem.suppliers.iter().map(|_| None).collect(),
        over: None,
        opened: Vec::new(),
        held: terms.held.to_vec(),
        within: Vec::new(),
    };
    let integer = |rows: &mut RowProblem, cost: f64, (least, most): (f64, f64), whole: bool| {
        if whole {
            rows.add_integer_column(cost, least..=most)
        } else {
            rows.add_column(cost, least..=most)
        }
    };
    let trucks = suppliers(farm, terms, rows, &mut shed);
    let mut spent: Vec<(Col, f64)> = Vec::new();
    let mut orders: Vec<Vec<(Col, f64)>> = vec![Vec::new(); farm.problem.suppliers.len()];
    for (m, stuff) in farm.stuff.iter().enumerate() {
        let lacking = terms.most[m] - stuff.stock;
        let mut tiers = Vec::new();
        let mut mass: Vec<(Col, f64)> = terms.used[m].clone();
        let limited = !mass.is_empty() && above(terms.most[m], stuff.stock);
        for (p, pack) in stuff.packs.iter().enumerate() {
            if !limited {
                break;
            }
            let least = packs::least_count(pack);
            let prices = std::iter::once((least, pack.price)).chain(
                pack.breaks
                    .iter()
                    .map(|b| (b.from_count.max(least), b.price)),
            );
            for (from, price) in prices {
                let mut most = (lacking / pack.lb - 1e-9).ceil().max(f64::from(from));
                if let Some(s) = stuff.from[p]
                    && farm.problem.suppliers[s].free_from.is_some()
                    && price > 0.0
                {
                    // More than is needed may be bought to have the delivery free.
                    most += (farm.problem.suppliers[s].delivery / price).ceil();
                }
                let range = terms.fence.count(m, tiers.len(), most);
                let count = integer(rows, price, range, terms.whole);
                let open = (from > 1 && terms.whole).then(|| {
                    let open = rows.add_integer_column(0.0, 0.0..=1.0);
                    rows.add_row(..=0.0, [(count, 1.0), (open, -most)]);
                    rows.add_row(0.0.., [(count, 1.0), (open, -f64::from(from))]);
                    open
                });
                if let Some(s) = stuff.from[p] {
                    orders[s].push((count, price));
                    if let Some((pays, free)) = trucks[s] {
                        let mut terms = vec![(count, 1.0), (pays, -most)];
                        terms.extend(free.map(|f| (f, -most)));
                        rows.add_row(..=0.0, terms);
                    }
                }
                spent.push((count, price));
                mass.push((count, -pack.lb));
                tiers.push(Tier {
                    pack: p,
                    price,
                    count,
                    most,
                    open,
                    from,
                });
            }
        }
        shed.within.push(limited.then(|| {
            rows.add_row(..=stuff.stock, mass);
            rows.num_rows() - 1
        }));
        let opened = opening(farm, terms, m, rows);
        if let Some(opened) = opened
            && limited
            && terms.opens[m]
            && farm.stuff[m].stock <= 0.0
        {
            let mut row = vec![(opened, 1.0)];
            row.extend(tiers.iter().map(|t: &Tier| (t.count, -1.0)));
            rows.add_row(..=0.0, row);
            // Where one supplier has all of it, that one delivers.
            let first = stuff.from.first().copied().flatten();
            if let Some((pays, free)) = first.and_then(|s| trucks[s])
                && stuff.from.iter().all(|s| *s == first)
            {
                let mut row = vec![(opened, 1.0), (pays, -1.0)];
                row.extend(free.map(|f| (f, -1.0)));
                rows.add_row(..=0.0, row);
            }
        }
        shed.tiers.push(tiers);
        shed.opened.push(opened);
    }
    for (s, truck) in trucks.iter().enumerate() {
        if let Some((pays, free)) = truck {
            let supplier = &farm.problem.suppliers[s];
            spent.push((*pays, supplier.delivery));
            if let (Some(free), Some(from)) = (free, supplier.free_from) {
                let mut terms = orders[s].clone();
                terms.push((*free, -from));
                rows.add_row(0.0.., terms);
            }
        }
    }
    if let Some(budget) = options.budget.as_ref().filter(|_| terms.budget) {
        if let Some(each) = budget.over_cost {
            let over = rows.add_column(each, 0.0..);
            spent.push((over, -1.0));
            shed.over = Some(over);
        }
        rows.add_row(..=budget.money, spent);
    }
    if let Some(most) = options.most_materials {
        let opened: Vec<(Col, f64)> = shed.opened.iter().flatten().map(|c| (*c, 1.0)).collect();
        rows.add_row(..=f64::from(most), opened);
    }
    shed
}

/// Pays for the delivery, has it free.
type Trip = Option<(Col, Option<Col>)>;

fn suppliers(farm: &Farm, terms: &Terms, rows: &mut RowProblem, shed: &mut Shed) -> Vec<Trip> {
    for (s, supplier) in farm.problem.suppliers.iter().enumerate() {
        let any = farm.stuff.iter().any(|stuff| stuff.from.contains(&Some(s)));
        if !any {
            continue;
        }
        let mut binary = |cost: f64, truck: Truck| {
            let (least, most) = terms.fence.comes(s, truck);
            if terms.whole {
                rows.add_integer_column(cost, least..=most)
            } else {
                rows.add_column(cost, least..=most)
            }
        };
        let pays = binary(supplier.delivery, Truck::Paid);
        let free = supplier.free_from.map(|_| binary(0.0, Truck::Free));
        shed.delivery[s] = Some((pays, free));
    }
    shed.delivery.clone()
}

/// Whether a material is used at all, where that costs or is counted.
fn opening(farm: &Farm, terms: &Terms, m: usize, rows: &mut RowProblem) -> Option<Col> {
    let options = &farm.problem.options;
    let counted = options.material_cost > 0.0 || options.most_materials.is_some();
    if !(counted || terms.opens[m]) || terms.used[m].is_empty() {
        return None;
    }
    let (least, most) = terms.fence.used(m, terms.held[m]);
    let opened = if terms.whole {
        rows.add_integer_column(options.material_cost, least..=most)
    } else {
        rows.add_column(options.material_cost, least..=most)
    };
    let mut row = terms.used[m].clone();
    row.push((opened, -terms.most[m]));
    rows.add_row(..=0.0, row);
    Some(opened)
}

impl Shed {
    /// The counts in a solution.
    pub fn counts(&self, farm: &Farm, at: impl Fn(Col) -> f64) -> Vec<Vec<u32>> {
        farm.stuff
            .iter()
            .zip(&self.tiers)
            .map(|(stuff, tiers)| {
                let mut counts = vec![0; stuff.packs.len()];
                for tier in tiers {
                    counts[tier.pack] += at(tier.count).round().max(0.0) as u32;
                }
                counts
            })
            .collect()
    }

    /// The range of each column that a fence may narrow.
    pub fn ranges(&self, fence: &Fence) -> Ranges {
        let mut all = Ranges::new();
        for (s, truck) in self.delivery.iter().enumerate() {
            if let Some((pays, free)) = truck {
                all.push((*pays, fence.comes(s, Truck::Paid)));
                all.extend(free.map(|free| (free, fence.comes(s, Truck::Free))));
            }
        }
        for (m, tiers) in self.tiers.iter().enumerate() {
            let of = |(k, t): (usize, &Tier)| (t.count, fence.count(m, k, t.most));
            all.extend(tiers.iter().enumerate().map(of));
        }
        for (m, opened) in self.opened.iter().enumerate() {
            all.extend(opened.map(|opened| (opened, fence.used(m, self.held[m]))));
        }
        all
    }

    /// What a relaxation makes of it.
    pub fn seen(&self, farm: &Farm, at: impl Fn(Col) -> f64) -> Seen {
        let trucks = self.delivery.iter().enumerate().filter_map(|(s, truck)| {
            let (pays, free) = (*truck)?;
            Some(SeenTruck {
                supplier: s,
                pays: at(pays),
                free: free.map(&at),
                delivery: farm.problem.suppliers[s].delivery,
            })
        });
        let tiers = self.tiers.iter().enumerate().flat_map(|(m, tiers)| {
            let at = &at;
            tiers.iter().enumerate().map(move |(k, tier)| SeenTier {
                material: m,
                tier: k,
                count: at(tier.count),
                from: tier.from,
                price: tier.price,
            })
        });
        let opened = self.opened.iter().enumerate();
        Seen {
            trucks: trucks.collect(),
            tiers: tiers.collect(),
            opened: opened.filter_map(|(m, o)| o.map(|o| (m, at(o)))).collect(),
        }
    }

    /// Columns that count packs of a material.
    pub fn counting(&self, m: usize) -> impl Iterator<Item = Col> + '_ {
        self.tiers[m].iter().map(|t| t.count)
    }

    /// Sets the columns for a plan.
    pub fn set(
        &self,
        farm: &Farm,
        used: &[f64],
        counts: &[Vec<u32>],
        mut set: impl FnMut(Col, f64),
    ) {
        for (tiers, counts) in self.tiers.iter().zip(counts) {
            for (p, n) in counts.iter().enumerate() {
                let tier = tiers
                    .iter()
                    .filter(|t| t.pack == p && *n >= t.from)
                    .max_by_key(|t| t.from);
                if let Some(tier) = tier {
                    set(tier.count, f64::from(*n));
                    if let Some(open) = tier.open {
                        set(open, 1.0);
                    }
                }
            }
        }
        let bill = till::bill(farm, counts);
        for (s, truck) in self.delivery.iter().enumerate() {
            let Some((pays, free)) = truck else { continue };
            let any = farm.stuff.iter().zip(counts).any(|(stuff, counts)| {
                stuff
                    .from
                    .iter()
                    .zip(counts)
                    .any(|(f, n)| *f == Some(s) && *n > 0)
            });
            if bill.deliveries[s].1 > 0.0 {
                set(*pays, 1.0);
            } else if let Some(free) = free
                && any
            {
                set(*free, 1.0);
            }
        }
        if let Some(over) = self.over {
            set(over, bill.over);
        }
        for (opened, lb) in self.opened.iter().zip(used) {
            if let Some(opened) = opened {
                set(*opened, if *lb > 0.0 { 1.0 } else { 0.0 });
            }
        }
    }
}
