//! Goes over a finished plan with a grower's arithmetic. Shares nothing with the model.

use crate::{Block, Material, Need, Nutrient, Plan, Problem, Status};
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

/// lb or money that sums may lose to arithmetic.
const LOST: f64 = 1e-6;

fn differ(a: f64, b: f64) -> bool {
    let lost = LOST * a.abs().max(b.abs()).max(1.0);
    (a - b).abs() > lost || a.is_nan() || b.is_nan()
}

fn exceeds(value: f64, limit: f64) -> bool {
    value > limit + LOST * limit.abs().max(1.0) || value.is_nan() || limit.is_nan()
}

/// The step of the scale for the material on the block, worked out anew: halved until twenty steps
/// make the least amount that a need asks for (or a thousand the largest), down to a quarter ounce.
fn step(material: &Material, block: &Block) -> f64 {
    let amounts: Vec<f64> = block
        .needs
        .iter()
        .filter(|need| need.lb_per_acre > 0.0 && need.shortage_cost > 0.0)
        .filter_map(|need| {
            let (_, share) = material
                .supplies
                .iter()
                .find(|(n, share)| *n == need.nutrient && *share > 0.0)?;
            Some(need.lb_per_acre * block.acres / share)
        })
        .collect();
    let mut step = material.weigh_step_lb;
    let too_coarse = |step: f64| {
        amounts.iter().any(|lb| 20.0 * step > *lb) && amounts.iter().all(|lb| 1_000.0 * step > *lb)
    };
    while too_coarse(step) && step * 32.0 >= 1.0 {
        step /= 2.0;
    }
    step
}

/// lb per acre below which a shortage costs in full.
fn bottom(need: &Need) -> f64 {
    need.band
        .as_ref()
        .map_or(need.lb_per_acre, |b| b.low_lb_per_acre)
}

/// lb per acre above which a surplus costs.
fn top(need: &Need) -> f64 {
    need.band
        .as_ref()
        .map_or(need.lb_per_acre, |b| b.high_lb_per_acre)
}

struct Audit<'a> {
    problem: &'a Problem,
    plan: &'a Plan,
    blocks: HashMap<&'a str, &'a Block>,
    materials: HashMap<&'a str, &'a Material>,
    /// By block, material and pass.
    amounts: BTreeMap<(&'a str, &'a str, &'a str), f64>,
    found: Vec<String>,
}

/// Every rule that the plan breaks, one sentence each; empty for a sound plan.
///
/// Looks at amounts (known, weighable, evenly spreadable, allowed in their pass, as held), the most
/// per pass and year, ceilings, lime against sulfur, materials that may not meet, the number of
/// materials, purchases and stock (whole packs, least counts, price breaks, lots, mass and money),
/// deliveries, the budget, balances, and the stated cost, objective, bound and gap.
pub fn verify(problem: &Problem, plan: &Plan) -> Vec<String> {
    let mut audit = Audit {
        problem,
        plan,
        blocks: problem.blocks.iter().map(|b| (b.id.as_str(), b)).collect(),
        materials: problem
            .materials
            .iter()
            .map(|m| (m.id.as_str(), m))
            .collect(),
        amounts: BTreeMap::new(),
        found: Vec::new(),
    };
    audit.collect();
    audit.limits();
    audit.held();
    audit.ground();
    audit.company();
    audit.shed();
    audit.balances();
    audit.money();
    audit.found
}

impl<'a> Audit<'a> {
    fn says(&mut self, sentence: String) {
        self.found.push(sentence);
    }

    fn collect(&mut self) {
        for amount in &self.plan.amounts {
            let key = (
                amount.block.as_str(),
                amount.material.as_str(),
                amount.pass.as_str(),
            );
            let passes = &self.problem.passes;
            let timed = if passes.is_empty() {
                key.2.is_empty()
            } else {
                passes.iter().any(|p| p.id == key.2)
            };
            if !timed {
                self.says(format!(
                    "The plan puts {} on {} in the pass “{}”, which is not in the problem.",
                    key.1, key.0, key.2
                ));
            } else if !self.blocks.contains_key(key.0) || !self.materials.contains_key(key.1) {
                self.says(format!(
                    "The plan puts {} on {}, but one of them is not in the problem.",
                    key.1, key.0
                ));
            } else if !(amount.lb.is_finite() && amount.lb > 0.0) {
                self.says(format!(
                    "The plan puts {} lb of {} on {}; that is no amount.",
                    amount.lb, key.1, key.0
                ));
            } else if self.amounts.insert(key, amount.lb).is_some() {
                self.says(format!("The plan puts {} on {} twice.", key.1, key.0));
            }
        }
    }

    /// The amount held, in this pass or in every one.
    fn lock(&self, block: &str, material: &str, pass: &str) -> Option<f64> {
        self.problem
            .options
            .locks
            .iter()
            .find(|l| {
                l.block == block && l.material == material && (l.pass == pass || l.pass.is_empty())
            })
            .map(|l| l.lb)
    }

    /// lb of the nutrient per lb of the material, there and then.
    fn share(&self, block: &Block, m: &str, pass: &str, nutrient: Nutrient) -> f64 {
        let Some(material) = self.materials.get(m) else {
            return 0.0;
        };
        let mut share: f64 = material
            .supplies
            .iter()
            .filter(|(n, _)| *n == nutrient)
            .map(|(_, s)| s)
            .sum();
        for other in &material.supplies_by_pass {
            if other.pass == pass
                && let Some((_, s)) = other.supplies.iter().find(|(n, _)| *n == nutrient)
            {
                share = *s;
            }
        }
        for here in &block.supplies_here {
            let then = here.pass.is_empty() || here.pass == pass;
            if here.material == m && here.nutrient == nutrient && then {
                share = here.lb_per_lb;
            }
        }
        share
    }

    fn limits(&mut self) {
        let mut years: BTreeMap<(&str, &str), f64> = BTreeMap::new();
        for ((b, m, t), lb) in self.amounts.clone() {
            let (Some(block), Some(material)) = (self.blocks.get(b), self.materials.get(m)) else {
                continue;
            };
            let mut wrong = Vec::new();
            if block.refused.iter().any(|r| r == m) {
                wrong.push(format!(
                    "{m} is refused on {b}, but the plan puts it there."
                ));
            }
            if let Some(shut) = block
                .shut
                .iter()
                .find(|s| s.material == m && (s.pass == t || s.pass.is_empty()))
            {
                wrong.push(format!(
                    "{m} may not go on {b} then ({}), but the plan puts it there.",
                    shut.why
                ));
            }
            let year = years.entry((b, m)).or_default();
            *year += lb;
            let parts = block
                .most_here
                .iter()
                .filter(|h| h.material == m && h.pass == t && self.lock(b, m, t).is_none())
                .map(|h| h.lb_per_acre);
            // What went on before the plan counts in the most of the season.
            let mut before = 0.0;
            let mut part = 0.0;
            for s in block.spread_here.iter().filter(|s| s.material == m) {
                before += s.lb_per_acre;
                part += if s.rest_to_come { s.lb_per_acre } else { 0.0 };
            }
            let of_year = material
                .most_lb_per_acre
                .map(|most| f64::max(most - before, 0.0) * block.share_of(m));
            let most_then = [of_year, material.most_lb_per_acre_each_pass]
                .into_iter()
                .flatten()
                .chain(parts)
                .fold(f64::INFINITY, f64::min)
                * block.acres;
            if exceeds(lb, most_then)
                || of_year.is_some_and(|most| exceeds(*year, most * block.acres))
            {
                wrong.push(format!("{lb} lb of {m} on {b} is more than may go there."));
            }
            if self.lock(b, m, t).is_none() {
                let step = step(material, block);
                let even = f64::max(material.least_even_lb_per_acre - part, 0.0) * block.acres;
                // The last amount under the most per acre will do when it only just misses.
                let last = step > 0.0 && !exceeds(even, most_then) && exceeds(lb + step, most_then);
                if exceeds(even, lb) && !last {
                    wrong.push(format!(
                        "{lb} lb of {m} on {b} is too little to spread evenly."
                    ));
                }
                if step > 0.0 && differ((lb / step).round() * step, lb) {
                    wrong.push(format!(
                        "{lb} lb of {m} on {b} is no multiple of the scale's {step} lb."
                    ));
                }
            }
            self.found.extend(wrong);
        }
    }

    fn held(&mut self) {
        let problem = self.problem;
        for lock in &problem.options.locks {
            let all = !problem.passes.is_empty() && lock.pass.is_empty();
            let lb: f64 = self
                .amounts
                .iter()
                .filter(|((b, m, t), _)| {
                    *b == lock.block && *m == lock.material && (all || *t == lock.pass)
                })
                .map(|(_, lb)| lb)
                .sum();
            if differ(lb, lock.lb) {
                self.says(format!(
                    "{} lb of {} is held for {}, but the plan has {lb} lb.",
                    lock.lb, lock.material, lock.block
                ));
            }
        }
    }

    /// lb of the nutrient from each material on the block.
    fn brought(&self, block: &'a Block, nutrient: Nutrient) -> BTreeMap<&'a str, f64> {
        let mut brought = BTreeMap::new();
        for ((_, m, t), lb) in self.on(&block.id) {
            let share = self.share(block, m, t, nutrient);
            if share != 0.0 {
                *brought.entry(*m).or_default() += share * lb;
            }
        }
        brought
    }

    /// The block's amounts.
    fn on(&self, block: &'a str) -> impl Iterator<Item = (&(&'a str, &'a str, &'a str), &f64)> {
        self.amounts
            .range((block, "", "")..)
            .take_while(move |((b, _, _), _)| *b == block)
    }

    /// Materials that may not meet, and how many there are.
    fn company(&mut self) {
        let options = &self.problem.options;
        let mut wrong = Vec::new();
        let mut farm: BTreeSet<&str> = BTreeSet::new();
        for block in &self.problem.blocks {
            let here: Vec<(&str, &str)> =
                self.on(&block.id).map(|((_, m, t), _)| (*m, *t)).collect();
            for pair in &options.incompatible {
                let met = here.iter().any(|(m, t)| {
                    *m == pair.a && here.iter().any(|(other, u)| *other == pair.b && u == t)
                });
                if met {
                    wrong.push(format!(
                        "{} and {} may not meet, but both go on {} in one pass.",
                        pair.a, pair.b, block.id
                    ));
                }
            }
            let kinds: BTreeSet<&str> = here.iter().map(|(m, _)| *m).collect();
            if let Some(most) = options.most_materials_per_block
                && kinds.len() > most as usize
            {
                wrong.push(format!(
                    "{} gets {} different materials; {most} are allowed.",
                    block.id,
                    kinds.len()
                ));
            }
            farm.extend(kinds);
        }
        if let Some(most) = options.most_materials
            && farm.len() > most as usize
        {
            wrong.push(format!(
                "The farm uses {} different materials; {most} are allowed.",
                farm.len()
            ));
        }
        self.found.extend(wrong);
    }

    fn ground(&mut self) {
        for block in &self.problem.blocks {
            for need in &block.needs {
                let Some(ceiling) = need.ceiling_lb_per_acre else {
                    continue;
                };
                let supplied: f64 = self.brought(block, need.nutrient).values().sum();
                if exceeds(supplied, ceiling * block.acres) {
                    self.says(format!(
                        "{} gets {supplied} lb of {}, above its ceiling of {} lb.",
                        block.id,
                        need.nutrient.name(),
                        ceiling * block.acres
                    ));
                }
            }
            let brings = |nutrient| {
                self.on(&block.id)
                    .any(|((_, m, t), _)| self.share(block, m, t, nutrient) > 0.0)
            };
            let limed = brings(Nutrient::Lime);
            let acid = brings(Nutrient::Sulfur);
            let wants = |nutrient| {
                block
                    .needs
                    .iter()
                    .any(|n| n.nutrient == nutrient && top(n) > 0.0)
            };
            if (limed && (acid || wants(Nutrient::Sulfur))) || (acid && wants(Nutrient::Lime)) {
                self.says(format!(
                    "Lime and acidifying sulfur work against each other on {}.",
                    block.id
                ));
            }
        }
    }

    fn shed(&mut self) {
        let mut bought: HashMap<&str, f64> = HashMap::new();
        let mut seen = HashSet::new();
        for purchase in &self.plan.purchases {
            let label = format!("{} of {}", purchase.pack, purchase.material);
            let packs: Vec<_> = self
                .materials
                .get(purchase.material.as_str())
                .map(|m| {
                    m.packs
                        .iter()
                        .filter(|p| p.label == purchase.pack)
                        .collect()
                })
                .unwrap_or_default();
            let count = f64::from(purchase.count);
            let right = packs.iter().any(|p| {
                let price = p
                    .breaks
                    .iter()
                    .filter(|b| b.from_count <= purchase.count)
                    .map(|b| b.price)
                    .fold(p.price, f64::min);
                !differ(p.lb * count, purchase.lb)
                    && !differ(price * count, purchase.cost)
                    && purchase.count >= p.least_count
                    && p.supplier == purchase.supplier
            });
            if purchase.count == 0 || !right {
                self.says(format!(
                    "The purchase of {label} does not match a pack that is sold."
                ));
            }
            if packs.len() < 2 && !seen.insert((&purchase.material, &purchase.pack)) {
                self.says(format!("The plan buys {label} in two lines."));
            }
            *bought.entry(purchase.material.as_str()).or_default() += purchase.lb;
        }
        for material in &self.problem.materials {
            let id = material.id.as_str();
            let used: f64 = self
                .amounts
                .iter()
                .filter(|((_, m, _), _)| *m == id)
                .map(|(_, lb)| lb)
                .sum();
            let bought = bought.get(id).copied().unwrap_or_default();
            let stock: f64 = self
                .plan
                .stock_used
                .iter()
                .filter(|s| s.material == id)
                .map(|s| s.lb)
                .sum();
            let mut left = (0.0, 0.0);
            for l in self.plan.leftover.iter().filter(|l| l.material == id) {
                left = (left.0 + l.lb, left.1 + l.bought_lb);
            }
            let on_hand = material.stock_lb + material.lots.iter().map(|l| l.lb).sum::<f64>();
            self.lots(material, stock);
            if exceeds(stock, on_hand) || stock < 0.0 {
                self.says(format!(
                    "The plan takes {stock} lb of {id} from a stock of {on_hand} lb."
                ));
            }
            if differ(used + left.0, on_hand + bought) || left.0 < 0.0 {
                self.says(format!(
                    "{used} lb of {id} spread and {} lb left do not come to the {} lb that there are.",
                    left.0,
                    on_hand + bought
                ));
            }
            if differ(used - stock, bought - left.1) || left.1 < 0.0 {
                self.says(format!(
                    "Of {id}, {} lb from packs are spread, but {bought} lb are bought and {} lb of them left.",
                    used - stock,
                    left.1
                ));
            }
        }
        for id in self
            .plan
            .stock_used
            .iter()
            .map(|s| s.material.as_str())
            .chain(self.plan.leftover.iter().map(|l| l.material.as_str()))
            .collect::<Vec<_>>()
        {
            if !self.materials.contains_key(id) {
                self.says(format!(
                    "The plan knows a material {id} that is not in the problem."
                ));
            }
        }
    }

    /// What is taken from lots, in their order and before what stands in none.
    fn lots(&mut self, material: &Material, stock: f64) {
        let mut left = stock;
        let taken: Vec<(String, f64)> = self
            .plan
            .stock_used
            .iter()
            .filter(|s| s.material == material.id)
            .flat_map(|s| s.lots.clone())
            .collect();
        let mut seen = 0;
        for lot in &material.lots {
            let due = left.min(lot.lb);
            left -= due;
            let said: Vec<f64> = taken
                .iter()
                .filter(|(id, _)| *id == lot.id)
                .map(|(_, lb)| *lb)
                .collect();
            seen += said.len();
            if differ(said.iter().sum(), due) {
                self.says(format!(
                    "{due} lb of {} are due from the lot {}, but the plan takes {} lb.",
                    material.id,
                    lot.id,
                    said.iter().sum::<f64>()
                ));
            }
        }
        if seen != taken.len() {
            self.says(format!(
                "The plan takes {} from a lot that is not there.",
                material.id
            ));
        }
    }

    /// What each supplier asks for bringing its packs; the charges in all.
    fn deliveries(&mut self) -> f64 {
        let problem = self.problem;
        let mut charges = 0.0;
        for supplier in &problem.suppliers {
            let bought = self
                .plan
                .purchases
                .iter()
                .filter(|p| p.supplier == supplier.id);
            let any = bought.clone().count() > 0;
            let order: f64 = bought.map(|p| p.cost).sum();
            let free = supplier.free_from.is_some_and(|from| order >= from - LOST);
            let due = if any && !free { supplier.delivery } else { 0.0 };
            charges += due;
            if !any {
                continue;
            }
            let said = self
                .plan
                .deliveries
                .iter()
                .find(|d| d.supplier == supplier.id);
            let charge = said.map_or(0.0, |d| d.charge);
            if differ(charge, due)
                || (supplier.delivery > 0.0 && said.is_none_or(|d| differ(d.order, order)))
                    && order + due > 0.0
            {
                self.says(format!(
                    "The delivery from {} costs {due} for an order of {order}, but the plan says {charge}.",
                    supplier.id
                ));
            }
        }
        for delivery in &self.plan.deliveries {
            if !problem.suppliers.iter().any(|s| s.id == delivery.supplier) {
                self.says(format!(
                    "The plan has a delivery from {}, which is not in the problem.",
                    delivery.supplier
                ));
            }
        }
        charges
    }

    fn balances(&mut self) {
        let mut wrong = Vec::new();
        let mut seen = HashSet::new();
        for balance in &self.plan.balances {
            let (id, what) = (balance.block.as_str(), balance.nutrient.name());
            if !seen.insert((id, balance.nutrient)) {
                wrong.push(format!("{what} on {id} is balanced twice."));
            }
            let Some(block) = self.blocks.get(id) else {
                wrong.push(format!(
                    "A balance names {id}, which is not in the problem."
                ));
                continue;
            };
            let need = block.needs.iter().find(|n| n.nutrient == balance.nutrient);
            let need_lb = need.map_or(0.0, |n| n.lb_per_acre * block.acres);
            let low_lb = need.map_or(0.0, |n| bottom(n) * block.acres);
            let high_lb = need.map_or(0.0, |n| top(n) * block.acres);
            let ceiling = need.and_then(|n| n.ceiling_lb_per_acre.map(|c| c * block.acres));
            let brought = self.brought(block, balance.nutrient);
            let supplied: f64 = brought.values().sum();
            let listed: BTreeMap<&str, f64> = balance
                .by_material
                .iter()
                .map(|(m, lb)| (m.as_str(), *lb))
                .collect();
            let same = listed.len() == balance.by_material.len()
                && listed.len() == brought.len()
                && brought
                    .iter()
                    .all(|(m, lb)| listed.get(m).is_some_and(|l| !differ(*l, *lb)));
            let asked = need.is_some();
            let short = if asked {
                (low_lb - supplied).max(0.0)
            } else {
                0.0
            };
            let over = if asked {
                (supplied - high_lb).max(0.0)
            } else {
                0.0
            };
            if !same
                || balance.asked != asked
                || differ(balance.need_lb, need_lb)
                || differ(balance.supplied_lb, supplied)
                || differ(balance.short_lb, short)
                || differ(balance.over_lb, over)
                || balance.ceiling_lb.is_some() != ceiling.is_some()
                || differ(
                    balance.ceiling_lb.unwrap_or_default(),
                    ceiling.unwrap_or_default(),
                )
            {
                wrong.push(format!(
                    "The balance of {what} on {id} does not follow from the amounts."
                ));
            }
            if balance.binding.is_some() != (balance.short_lb > 0.0 || balance.over_lb > 0.0) {
                wrong.push(format!(
                    "The balance of {what} on {id} gives a reason where there is nothing to explain, or none where there is."
                ));
            }
        }
        for block in &self.problem.blocks {
            for nutrient in Nutrient::ALL {
                let due = block.needs.iter().any(|n| n.nutrient == nutrient)
                    || !self.brought(block, nutrient).is_empty();
                if due && !seen.contains(&(block.id.as_str(), nutrient)) {
                    wrong.push(format!(
                        "{} on {} has no balance.",
                        nutrient.name(),
                        block.id
                    ));
                }
            }
        }
        self.found.extend(wrong);
    }

    fn money(&mut self) {
        let plan = self.plan;
        let options = &self.problem.options;
        let bags: f64 = plan.purchases.iter().map(|p| p.cost).sum();
        let cost = bags + self.deliveries();
        if differ(cost, plan.cost) {
            self.says(format!(
                "The bags cost {cost}, but the plan says {}.",
                plan.cost
            ));
        }
        let mut objective = cost + options.trip_cost * self.amounts.len() as f64;
        if let Some(budget) = &options.budget {
            let over = (cost - budget.money).max(0.0);
            match budget.over_cost {
                None if exceeds(cost, budget.money) => self.says(format!(
                    "The plan costs {cost}, more than the budget of {}.",
                    budget.money
                )),
                None => {}
                Some(each) => objective += each * over,
            }
            if differ(plan.over_budget, over) && exceeds(cost, budget.money) {
                self.says(format!(
                    "The plan is {over} over the budget, but says {}.",
                    plan.over_budget
                ));
            }
        }
        let visits: BTreeSet<(&str, &str)> =
            self.amounts.keys().map(|(b, _, t)| (*b, *t)).collect();
        for pass in &self.problem.passes {
            let count = visits.iter().filter(|(_, t)| *t == pass.id).count();
            objective += pass.visit_cost * count as f64;
        }
        let opened: BTreeSet<&str> = self.amounts.keys().map(|(_, m, _)| *m).collect();
        objective += options.material_cost * opened.len() as f64;
        for preference in &self.problem.options.prefer_less {
            let lb: f64 = self
                .amounts
                .iter()
                .filter(|((_, m, _), _)| *m == preference.material)
                .map(|(_, lb)| lb)
                .sum();
            objective += preference.penalty_per_lb * lb;
        }
        for block in &self.problem.blocks {
            for need in &block.needs {
                let supplied: f64 = self.brought(block, need.nutrient).values().sum();
                let (low, high) = (bottom(need) * block.acres, top(need) * block.acres);
                let between = need.band.as_ref().map_or(0.0, |b| b.between_cost);
                objective += if supplied < low {
                    (low - supplied) * need.shortage_cost + (high - low) * between
                } else if supplied < high {
                    (high - supplied) * between
                } else {
                    (supplied - high) * need.surplus_cost
                };
            }
        }
        if differ(objective, plan.objective) {
            self.says(format!(
                "The objective comes to {objective}, but the plan says {}.",
                plan.objective
            ));
        }
        if exceeds(plan.bound, plan.objective) || exceeds(plan.unavoidable, plan.bound) {
            self.says(format!(
                "The unavoidable {}, the bound {} and the objective {} are not in order.",
                plan.unavoidable, plan.bound, plan.objective
            ));
        }
        let open = plan.objective - plan.unavoidable;
        if open > LOST && differ(plan.gap * open, plan.objective - plan.bound) {
            self.says(format!(
                "The gap {} does not follow from objective and bound.",
                plan.gap
            ));
        }
        if plan.status == Status::WithinGap
            && plan.gap > self.problem.options.gap + LOST
            && plan.objective - plan.bound > 2.0 * LOST
        {
            self.says("The plan claims a gap that it does not keep.".to_owned());
        }
        if (plan.status == Status::Empty) != self.problem.blocks.is_empty() {
            self.says("The status does not fit the number of blocks.".to_owned());
        }
    }
}
