//! Goes over a finished plan with a grower's arithmetic. Shares nothing with the model.

use crate::{Block, Material, Nutrient, Plan, Problem, Status};
use std::collections::{BTreeMap, HashMap, HashSet};

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

struct Audit<'a> {
    problem: &'a Problem,
    plan: &'a Plan,
    blocks: HashMap<&'a str, &'a Block>,
    materials: HashMap<&'a str, &'a Material>,
    amounts: BTreeMap<(&'a str, &'a str), f64>,
    found: Vec<String>,
}

/// Every rule that the plan breaks, one sentence each; empty for a sound plan.
///
/// Looks at amounts (known, weighable, evenly spreadable, allowed, as held), ceilings, lime
/// against sulfur, purchases and stock (whole packs, mass and money), balances, and the stated
/// cost, objective, bound and gap.
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
            let key = (amount.block.as_str(), amount.material.as_str());
            if !self.blocks.contains_key(key.0) || !self.materials.contains_key(key.1) {
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

    fn lock(&self, block: &str, material: &str) -> Option<f64> {
        self.problem
            .options
            .locks
            .iter()
            .find(|l| l.block == block && l.material == material)
            .map(|l| l.lb)
    }

    fn limits(&mut self) {
        for ((b, m), lb) in self.amounts.clone() {
            let (Some(block), Some(material)) = (self.blocks.get(b), self.materials.get(m)) else {
                continue;
            };
            let mut wrong = Vec::new();
            if block.refused.iter().any(|r| r == m) {
                wrong.push(format!(
                    "{m} is refused on {b}, but the plan puts it there."
                ));
            }
            if material
                .most_lb_per_acre
                .is_some_and(|most| exceeds(lb, most * block.acres))
            {
                wrong.push(format!("{lb} lb of {m} on {b} is more than may go there."));
            }
            if self.lock(b, m).is_none() {
                let step = step(material, block);
                let even = material.least_even_lb_per_acre * block.acres;
                // The last amount under the most per acre will do when it only just misses.
                let last = material.most_lb_per_acre.is_some_and(|most| {
                    let most = most * block.acres;
                    step > 0.0 && !exceeds(even, most) && exceeds(lb + step, most)
                });
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
        for lock in &self.problem.options.locks {
            let key = (lock.block.as_str(), lock.material.as_str());
            let lb = self.amounts.get(&key).copied().unwrap_or_default();
            if differ(lb, lock.lb) {
                self.says(format!(
                    "{} lb of {} is held for {}, but the plan has {lb} lb.",
                    lock.lb, key.1, key.0
                ));
            }
        }
    }

    /// lb of the nutrient from each material on the block.
    fn brought(&self, block: &Block, nutrient: Nutrient) -> BTreeMap<&'a str, f64> {
        let mut brought = BTreeMap::new();
        for ((b, m), lb) in &self.amounts {
            if *b != block.id {
                continue;
            }
            let share: f64 = self.materials.get(m).map_or(0.0, |material| {
                material
                    .supplies
                    .iter()
                    .filter(|(n, _)| *n == nutrient)
                    .map(|(_, s)| s)
                    .sum()
            });
            if share > 0.0 {
                brought.insert(*m, share * lb);
            }
        }
        brought
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
            let limed = !self.brought(block, Nutrient::Lime).is_empty();
            let acid = !self.brought(block, Nutrient::Sulfur).is_empty();
            let wants = |nutrient| {
                block
                    .needs
                    .iter()
                    .any(|n| n.nutrient == nutrient && n.lb_per_acre > 0.0)
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
                !differ(p.lb * count, purchase.lb) && !differ(p.price * count, purchase.cost)
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
                .filter(|((_, m), _)| *m == id)
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
            if exceeds(stock, material.stock_lb) || stock < 0.0 {
                self.says(format!(
                    "The plan takes {stock} lb of {id} from a stock of {} lb.",
                    material.stock_lb
                ));
            }
            if differ(used + left.0, material.stock_lb + bought) || left.0 < 0.0 {
                self.says(format!(
                    "{used} lb of {id} spread and {} lb left do not come to the {} lb that there are.",
                    left.0,
                    material.stock_lb + bought
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
                (need_lb - supplied).max(0.0)
            } else {
                0.0
            };
            let over = if asked {
                (supplied - need_lb).max(0.0)
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
        let bags: f64 = plan.purchases.iter().map(|p| p.cost).sum();
        if differ(bags, plan.cost) {
            self.says(format!(
                "The bags cost {bags}, but the plan says {}.",
                plan.cost
            ));
        }
        let mut objective = bags + self.problem.options.trip_cost * self.amounts.len() as f64;
        for preference in &self.problem.options.prefer_less {
            let lb: f64 = self
                .amounts
                .iter()
                .filter(|((_, m), _)| *m == preference.material)
                .map(|(_, lb)| lb)
                .sum();
            objective += preference.penalty_per_lb * lb;
        }
        for block in &self.problem.blocks {
            for need in &block.needs {
                let supplied: f64 = self.brought(block, need.nutrient).values().sum();
                let lack = need.lb_per_acre * block.acres - supplied;
                objective += if lack > 0.0 {
                    lack * need.shortage_cost
                } else {
                    -lack * need.surplus_cost
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
