//! The whole farm as one mixed-integer model, or a part of its choices.

use crate::farm::{Farm, above};
use crate::fence::Fence;
use crate::mip::{self, Limits};
use crate::nutrient::PerNutrient;
use crate::shed::{self, Shed, Terms};
use crate::{Nutrient, PlanError, Watch, till};
use highs::{Col, RowProblem};

/// lb by pair and count of each pack by material.
pub(crate) type Choice = (Vec<f64>, Vec<Vec<u32>>);

/// What came back.
pub(crate) struct Raw {
    pub choice: Choice,
    /// Proven lower bound of the objective, without the unavoidable part. Not valid when only a
    /// part of the pairs was open.
    pub bound: f64,
    /// Whether the solver proved the gap that was asked for.
    pub proven: bool,
}

/// What a model may do with a pair that is not held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Use {
    /// Nothing is spread.
    Never,
    Maybe,
    /// At least what can be spread evenly; how much is open.
    Always,
}

impl Use {
    pub fn of(always: bool, maybe: bool) -> Self {
        match (always, maybe) {
            (true, _) => Self::Always,
            (false, true) => Self::Maybe,
            (false, false) => Self::Never,
        }
    }
}

/// Columns of the model, to be filled with a first plan and read back.
struct Columns {
    amount: Vec<Option<Col>>,
    /// None for held pairs.
    spread: Vec<Option<Col>>,
    visit: Vec<(usize, usize, Col)>,
    kinds: Vec<(usize, usize, Col)>,
    short: Vec<(usize, usize, Col)>,
    between: Vec<(usize, usize, Col)>,
    over: Vec<(usize, usize, Col)>,
    limed: Vec<(usize, Col)>,
    shed: Option<Shed>,
    count: usize,
}

/// The part of the objective that no choice changes.
///
/// It is left out of the model, so that the gap is a share of what can be decided.
pub(crate) fn unavoidable(farm: &Farm) -> f64 {
    let mut sum = 0.0;
    let fixed: Vec<f64> = farm
        .pairs
        .iter()
        .map(|p| if p.fixed { p.low } else { 0.0 })
        .collect();
    for (b, ground) in farm.ground.iter().enumerate() {
        sum += held_trips(farm, b);
        let supplied = farm.supplied(b, &fixed);
        for (n, lb) in supplied.iter().enumerate() {
            if !in_reach(farm, b, n) {
                sum += ground.cost(n, *lb);
            }
        }
    }
    sum
}

/// Trips, visits and preferences of what is held on a block.
pub(crate) fn held_trips(farm: &Farm, b: usize) -> f64 {
    let mut sum = 0.0;
    let mut visited = 0u64;
    for pair in &farm.pairs[farm.of_block[b].clone()] {
        if pair.fixed {
            sum += farm.trip + farm.stuff[pair.material].penalty * pair.low;
            if visited >> pair.pass & 1 == 0 {
                visited |= 1 << pair.pass;
                sum += farm.visit[pair.pass];
            }
        }
    }
    sum
}

/// Whether any amount that is still to be chosen changes the nutrient on the block.
pub(crate) fn in_reach(farm: &Farm, block: usize, n: usize) -> bool {
    farm.of_block[block]
        .clone()
        .any(|i| !farm.pairs[i].fixed && farm.share(i)[n] != 0.0)
}

/// Builds the model of the pairs that may be used.
fn build(farm: &Farm, may: impl Fn(usize) -> Use) -> (RowProblem, Columns) {
    let mut rows = RowProblem::default();
    let mut cols = Columns {
        amount: vec![None; farm.pairs.len()],
        spread: vec![None; farm.pairs.len()],
        visit: Vec::new(),
        kinds: Vec::new(),
        short: Vec::new(),
        between: Vec::new(),
        over: Vec::new(),
        limed: Vec::new(),
        shed: None,
        count: 0,
    };
    let mut used: Vec<Vec<(Col, f64)>> = vec![Vec::new(); farm.stuff.len()];
    let mut most = vec![0.0; farm.stuff.len()];
    let mut held = vec![false; farm.stuff.len()];
    for (i, pair) in farm.pairs.iter().enumerate() {
        let amount = if pair.fixed {
            held[pair.material] = true;
            rows.add_column(0.0, pair.low..=pair.low)
        } else if may(i) != Use::Never {
            let least = if may(i) == Use::Always { 1.0 } else { 0.0 };
            let penalty = farm.stuff[pair.material].penalty;
            let amount = rows.add_column(penalty, 0.0..=pair.high);
            let spread = rows.add_integer_column(farm.trip, least..=1.0);
            rows.add_row(..=0.0, [(amount, 1.0), (spread, -pair.high)]);
            rows.add_row(0.0.., [(amount, 1.0), (spread, -pair.low)]);
            cols.spread[i] = Some(spread);
            amount
        } else {
            continue;
        };
        cols.amount[i] = Some(amount);
        used[pair.material].push((amount, 1.0));
        most[pair.material] += pair.high;
    }
    let terms = Terms {
        used: &used,
        most: &most,
        whole: true,
        held: &held,
        budget: true,
        opens: &vec![false; farm.stuff.len()],
        fence: &Fence::default(),
    };
    let shed = shed::add(farm, &terms, &mut rows);
    tie(farm, &shed, &mut rows, &cols);
    cols.shed = Some(shed);
    for b in 0..farm.ground.len() {
        stands(farm, b, &mut rows, &mut cols);
        passes(farm, b, &mut rows, &mut cols);
        apart(farm, b, &mut rows, &mut cols);
        few(farm, b, &mut rows, &mut cols);
    }
    cols.count = rows.num_cols();
    (rows, cols)
}

/// A block that stock alone cannot serve needs at least one pack: said outright, this leaves every
/// plan as it is and keeps the relaxation from buying a sliver of a pack. The same for a material
/// that has to be opened.
fn tie(farm: &Farm, shed: &Shed, rows: &mut RowProblem, cols: &Columns) {
    for (i, pair) in farm.pairs.iter().enumerate() {
        let Some(spread) = cols.spread[i] else {
            continue;
        };
        let m = pair.material;
        if above(pair.low, farm.stuff[m].stock) && shed.within[m].is_some() {
            let mut terms = vec![(spread, 1.0)];
            terms.extend(shed.counting(m).map(|c| (c, -1.0)));
            rows.add_row(..=0.0, terms);
        }
        if let Some(opened) = shed.opened[m] {
            rows.add_row(..=0.0, [(spread, 1.0), (opened, -1.0)]);
        }
    }
}

/// Shortage, surplus and ceiling of every nutrient of one block.
fn stands(farm: &Farm, b: usize, rows: &mut RowProblem, cols: &mut Columns) {
    let ground = &farm.ground[b];
    for n in 0..Nutrient::ALL.len() {
        if !in_reach(farm, b, n) {
            continue;
        }
        let mut supply: Vec<(Col, f64)> = Vec::new();
        let (mut most, mut least) = (0.0, 0.0);
        for i in farm.of_block[b].clone() {
            let share = farm.share(i)[n];
            if let Some(amount) = cols.amount[i]
                && share != 0.0
            {
                supply.push((amount, share));
                if share > 0.0 {
                    most += farm.pairs[i].high * share;
                } else {
                    least += farm.pairs[i].high * share;
                }
            }
        }
        let (low, high) = (ground.low[n], ground.high[n]);
        let short = (low > least && ground.shortage[n] > 0.0)
            .then(|| rows.add_column(ground.shortage[n], 0.0..=low - least));
        let between = (high > low && ground.between[n] > 0.0)
            .then(|| rows.add_column(ground.between[n], 0.0..=high - low));
        let over = (ground.surplus[n] > 0.0 && above(most, high))
            .then(|| rows.add_column(ground.surplus[n], 0.0..));
        // Up to `aim` more of it saves money.
        let aim = if between.is_some() { high } else { low };
        let mut up = supply.clone();
        up.extend([short, between].into_iter().flatten().map(|c| (c, 1.0)));
        if let Some(over) = over
            && (up.len() > supply.len())
            && aim >= high
        {
            up.push((over, -1.0));
            rows.add_row(aim..=aim, up);
        } else {
            if up.len() > supply.len() {
                rows.add_row(aim.., up);
            }
            if let Some(over) = over {
                let mut down = supply.clone();
                down.push((over, -1.0));
                rows.add_row(..=high, down);
            }
        }
        cols.short.extend(short.map(|c| (b, n, c)));
        cols.between.extend(between.map(|c| (b, n, c)));
        cols.over.extend(over.map(|c| (b, n, c)));
        if let Some(ceiling) = ground.ceiling[n]
            && above(most, ceiling)
        {
            rows.add_row(..=ceiling, supply);
        }
    }
}

/// Visits, and the yearly most of what goes on in several passes.
fn passes(farm: &Farm, b: usize, rows: &mut RowProblem, cols: &mut Columns) {
    let range = farm.of_block[b].clone();
    for t in 0..farm.passes {
        let there = |i: &usize| farm.pairs[*i].pass == t;
        if farm.visit[t] <= 0.0 || range.clone().filter(there).any(|i| farm.pairs[i].fixed) {
            continue;
        }
        let spread: Vec<Col> = range
            .clone()
            .filter(there)
            .filter_map(|i| cols.spread[i])
            .collect();
        if spread.is_empty() {
            continue;
        }
        let visit = rows.add_integer_column(farm.visit[t], 0.0..=1.0);
        cols.visit.push((b, t, visit));
        for spread in spread {
            rows.add_row(..=0.0, [(spread, 1.0), (visit, -1.0)]);
        }
    }
    let mut first = range.start;
    while first < range.end {
        let m = farm.pairs[first].material;
        let end = (first..range.end)
            .find(|i| farm.pairs[*i].material != m)
            .unwrap_or(range.end);
        if let Some(limit) = farm.most_of_year(b, m) {
            let all: f64 = (first..end).map(|i| farm.pairs[i].high).sum();
            if end - first > 1 && above(all, limit) {
                let terms: Vec<(Col, f64)> = (first..end)
                    .filter_map(|i| cols.amount[i].map(|c| (c, 1.0)))
                    .collect();
                rows.add_row(..=limit, terms);
            }
        }
        first = end;
    }
}

/// Materials that may not meet; lime and acidifying sulfur never do on one block.
fn apart(farm: &Farm, b: usize, rows: &mut RowProblem, cols: &mut Columns) {
    let with = |nutrient: Nutrient| -> Vec<Col> {
        farm.of_block[b]
            .clone()
            .filter(|i| farm.share(*i)[nutrient.at()] > 0.0)
            .filter_map(|i| cols.spread[i])
            .collect()
    };
    let (liming, acid) = (with(Nutrient::Lime), with(Nutrient::Sulfur));
    if !liming.is_empty() && !acid.is_empty() {
        let limed = rows.add_integer_column(0.0, 0.0..=1.0);
        cols.limed.push((b, limed));
        for spread in &liming {
            rows.add_row(..=0.0, [(*spread, 1.0), (limed, -1.0)]);
        }
        for spread in &acid {
            rows.add_row(..=1.0, [(*spread, 1.0), (limed, 1.0)]);
        }
    }
    if farm.problem.options.incompatible.is_empty() {
        return;
    }
    for i in farm.of_block[b].clone() {
        for j in i + 1..farm.of_block[b].end {
            if farm.pairs[i].pass == farm.pairs[j].pass
                && let (Some(x), Some(y)) = (cols.spread[i], cols.spread[j])
                && farm.clash_of(i, j)
            {
                rows.add_row(..=1.0, [(x, 1.0), (y, 1.0)]);
            }
        }
    }
}

/// At most so many different materials to a block.
fn few(farm: &Farm, b: usize, rows: &mut RowProblem, cols: &mut Columns) {
    let Some(most) = farm.problem.options.most_materials_per_block else {
        return;
    };
    let mut of_material: Vec<Vec<Col>> = vec![Vec::new(); farm.stuff.len()];
    let mut held = vec![false; farm.stuff.len()];
    for i in farm.of_block[b].clone() {
        held[farm.pairs[i].material] |= farm.pairs[i].fixed;
        of_material[farm.pairs[i].material].extend(cols.spread[i]);
    }
    let mut left = f64::from(most);
    let mut terms = Vec::new();
    for (m, spread) in of_material.iter().enumerate() {
        if held[m] {
            left -= 1.0;
            continue;
        }
        match spread.as_slice() {
            [] => {}
            [one] => terms.push((*one, 1.0)),
            many => {
                let kind = rows.add_integer_column(0.0, 0.0..=1.0);
                cols.kinds.push((b, m, kind));
                for spread in many {
                    rows.add_row(..=0.0, [(*spread, 1.0), (kind, -1.0)]);
                }
                terms.push((kind, 1.0));
            }
        }
    }
    if terms.len() as f64 > left {
        rows.add_row(..=left.max(0.0), terms);
    }
}

/// The values of all columns for a plan.
fn values(farm: &Farm, cols: &Columns, choice: &Choice) -> Vec<f64> {
    let (amounts, counts) = choice;
    let mut values = vec![0.0; cols.count];
    let mut set = |col: Col, value: f64| {
        if let Some(place) = values.get_mut(col.index()) {
            *place = value;
        }
    };
    for (i, lb) in amounts.iter().enumerate() {
        if let Some(amount) = cols.amount[i] {
            set(amount, *lb);
        }
        if let Some(spread) = cols.spread[i] {
            set(spread, if *lb > 0.0 { 1.0 } else { 0.0 });
        }
    }
    if let Some(shed) = &cols.shed {
        shed.set(farm, &farm.used(amounts), counts, &mut set);
    }
    let any = |b: usize, what: &dyn Fn(usize) -> bool| {
        let there = farm.of_block[b]
            .clone()
            .any(|i| amounts[i] > 0.0 && what(i));
        if there { 1.0 } else { 0.0 }
    };
    for (b, t, col) in &cols.visit {
        set(*col, any(*b, &|i| farm.pairs[i].pass == *t));
    }
    for (b, m, col) in &cols.kinds {
        set(*col, any(*b, &|i| farm.pairs[i].material == *m));
    }
    let supplied: Vec<PerNutrient<f64>> = (0..farm.ground.len())
        .map(|b| farm.supplied(b, amounts))
        .collect();
    for (b, n, col) in &cols.short {
        set(*col, (farm.ground[*b].low[*n] - supplied[*b][*n]).max(0.0));
    }
    for (b, n, col) in &cols.between {
        let (low, high) = (farm.ground[*b].low[*n], farm.ground[*b].high[*n]);
        set(*col, (high - supplied[*b][*n].max(low)).max(0.0));
    }
    for (b, n, col) in &cols.over {
        set(*col, (supplied[*b][*n] - farm.ground[*b].high[*n]).max(0.0));
    }
    let lime = Nutrient::Lime.at();
    for (b, col) in &cols.limed {
        set(*col, any(*b, &|i| farm.share(i)[lime] > 0.0));
    }
    values
}

/// Money of a plan without the unavoidable part.
pub(crate) fn decided(farm: &Farm, choice: &Choice, unavoidable: f64) -> f64 {
    let shed = till::money(farm, &farm.used(&choice.0), &choice.1);
    (farm.cost_on_ground(&choice.0) + shed - unavoidable).max(0.0)
}

/// Solves the model of the pairs that may be used, starting from a plan that keeps every rule.
///
/// One thread and a fixed seed: unless the time runs out, the same problem gives the same plan.
pub(crate) fn run(
    farm: &Farm,
    start: &Choice,
    may: impl Fn(usize) -> Use,
    limits: Limits,
    watch: &Watch,
) -> Result<Raw, PlanError> {
    let (rows, cols) = build(farm, may);
    let first = values(farm, &cols, start);
    let answer = mip::minimise(rows, Some(first), limits, watch)?;
    let amounts = farm
        .pairs
        .iter()
        .enumerate()
        .map(|(i, pair)| match cols.amount[i] {
            _ if pair.fixed => pair.low,
            Some(amount) if cols.spread[i].is_none_or(|c| answer.at(c) >= 0.5) => {
                answer.at(amount).clamp(pair.low, pair.high)
            }
            _ => 0.0,
        })
        .collect();
    let counts = match &cols.shed {
        Some(shed) if answer.values.is_some() => shed.counts(farm, |c| answer.at(c)),
        _ => start.1.clone(),
    };
    Ok(Raw {
        choice: if answer.values.is_some() {
            (amounts, counts)
        } else {
            start.clone()
        },
        bound: answer.bound.max(0.0),
        proven: answer.proven,
    })
}
