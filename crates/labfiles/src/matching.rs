//! Which block a sample came from: by the boxes sent, by the names, by last year. Sure only where one of
//! them says so and nothing speaks against it; what is matched to nothing waits.

mod name;

use name::Name;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Likeness below which a block is not offered, from 0 (nothing alike) to 1 (the same).
const OFFER: f64 = 0.72;
/// How many other blocks are offered.
const OTHERS: usize = 5;

/// A block of the farm with the names it goes by.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BlockNames {
    pub id: i64,
    pub name: String,
    pub aliases: Vec<String>,
}

/// What a sample's name is likely to stand for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Match {
    pub sample: String,
    pub best: Option<i64>,
    /// Whether the best may be taken without asking.
    pub sure: bool,
    /// Other blocks, the likeliest first.
    pub others: Vec<i64>,
    /// One sentence for the grower.
    pub why: String,
    /// What it rests on.
    #[serde(default)]
    pub by: MatchedBy,
}

/// What a match rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MatchedBy {
    #[default]
    Nothing,
    /// the box that was sent with this name
    Box,
    /// the block's name or another name it goes by
    Name,
    /// the same name in last year's report
    LastYear,
    /// the place in last year's report
    Order,
    Likeness,
}

/// A box sent to the lab.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SentBox {
    /// As written on it.
    pub label: String,
    pub block: i64,
}

/// A sample of last year's report, in the order of the report.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LastSample {
    pub sample: String,
    pub block: Option<i64>,
}

/// What is known beside the names of the blocks.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sent {
    pub boxes: Vec<SentBox>,
    pub last: Vec<LastSample>,
}

/// Finds the block of each sample by its name alone. Sure only where the name or an alias is the same but
/// for case, signs, accents and leading zeros, belongs to one block only, and no other sample has that name.
/// A bare number is sure only as a block's own name: as an alias it is last year's numbering.
pub fn match_blocks(samples: &[String], blocks: &[BlockNames]) -> Vec<Match> {
    match_samples(samples, blocks, &Sent::default())
}

/// Finds the block of each sample: first by the boxes sent, then by the names, then by last year's report.
/// The order of last year's report is only ever a suggestion.
pub fn match_samples(samples: &[String], blocks: &[BlockNames], sent: &Sent) -> Vec<Match> {
    let farm = Farm::of(blocks, sent);
    let mut matches: Vec<Match> = samples.iter().map(|s| farm.one(s)).collect();
    farm.by_order(&mut matches);
    farm.no_two(&mut matches);
    matches
}

struct Farm<'a> {
    blocks: &'a [BlockNames],
    names: Vec<(i64, Vec<Name>)>,
    boxes: Vec<(Name, i64)>,
    last: Vec<(Name, Option<i64>)>,
}

impl<'a> Farm<'a> {
    fn of(blocks: &'a [BlockNames], sent: &Sent) -> Self {
        let here = |id: i64| blocks.iter().any(|b| b.id == id);
        Self {
            blocks,
            names: blocks
                .iter()
                .map(|b| {
                    let all = std::iter::once(&b.name).chain(&b.aliases);
                    (b.id, all.map(|n| Name::of(n)).collect())
                })
                .collect(),
            // A block that is gone since is no home for a sample.
            boxes: sent
                .boxes
                .iter()
                .filter(|b| here(b.block))
                .map(|b| (Name::of(&b.label), b.block))
                .collect(),
            last: sent
                .last
                .iter()
                .map(|l| (Name::of(&l.sample), l.block.filter(|b| here(*b))))
                .collect(),
        }
    }

    fn title(&self, id: i64) -> &str {
        let mut blocks = self.blocks.iter();
        blocks.find(|b| b.id == id).map_or("", |b| &b.name)
    }

    fn one(&self, sample: &str) -> Match {
        let name = Name::of(sample);
        let by_name = self.by_name(sample, &name);
        if let Some(found) = self.by_box(&name, &by_name) {
            return found;
        }
        self.by_last(&name, &by_name).unwrap_or(by_name)
    }

    /// The box with this label, beside what the name alone would say.
    fn by_box(&self, name: &Name, by_name: &Match) -> Option<Match> {
        let homes = homes(self.boxes.iter().map(|(n, b)| (n, *b)), name);
        let (first, rest) = homes.split_first()?;
        let against = by_name
            .best
            .filter(|b| by_name.sure && b != first && rest.is_empty());
        let why = match against {
            _ if !rest.is_empty() => "More than one box was sent with this name.".to_owned(),
            Some(other) => format!(
                "The box of this name was sent from “{}”, but it is the name of “{}”.",
                self.title(*first),
                self.title(other)
            ),
            None => format!(
                "The box of this name was sent from “{}”.",
                self.title(*first)
            ),
        };
        Some(self.known(
            by_name,
            &homes,
            rest.is_empty() && against.is_none(),
            why,
            MatchedBy::Box,
        ))
    }

    /// The sample of this name in last year's report.
    fn by_last(&self, name: &Name, by_name: &Match) -> Option<Match> {
        if by_name.sure || matches!(by_name.by, MatchedBy::Name) && !name.is_number() {
            return None;
        }
        let named = self.last.iter().filter_map(|(n, b)| Some((n, (*b)?)));
        let homes = homes(named, name);
        let (first, rest) = homes.split_first()?;
        let sure = rest.is_empty() && !name.is_number();
        let why = if !rest.is_empty() {
            "Last year more than one block went by this name.".to_owned()
        } else if name.is_number() {
            format!(
                "Last year this number was “{}”, but numbers often start anew.",
                self.title(*first)
            )
        } else {
            format!("Last year this name was “{}”.", self.title(*first))
        };
        Some(self.known(by_name, &homes, sure, why, MatchedBy::LastYear))
    }

    /// A match to one of some blocks; what the name alone would say goes to the others.
    fn known(
        &self,
        by_name: &Match,
        homes: &[i64],
        sure: bool,
        why: String,
        by: MatchedBy,
    ) -> Match {
        let mut others: Vec<i64> = homes.iter().skip(1).copied().collect();
        for id in by_name.best.iter().chain(&by_name.others) {
            if !homes.contains(id) && !others.contains(id) {
                others.push(*id);
            }
        }
        others.truncate(OTHERS);
        Match {
            sample: by_name.sample.clone(),
            best: homes.first().copied(),
            sure,
            others,
            why,
            by,
        }
    }

    fn by_name(&self, sample: &str, name: &Name) -> Match {
        let exact: Vec<i64> = self
            .names
            .iter()
            .filter(|(_, all)| all.iter().any(|n| n.is(name)))
            .map(|(id, _)| *id)
            .collect();
        let marked = |id: &i64| {
            let mut names = self.names.iter().filter(|(i, _)| i == id);
            names.any(|(_, all)| all.iter().any(|n| n.marked == name.marked))
        };
        // Beside the one block of this very name no likeness counts, and a thousand need not be weighed.
        let settled = exact.len() == 1 && !name.is_number();
        let mut ranked: Vec<(f64, i64)> = self
            .names
            .iter()
            .filter(|(id, _)| !settled || exact.contains(id))
            .map(|(id, all)| {
                let best = all.iter().map(|n| name.like(n)).fold(0.0, f64::max);
                (best, *id)
            })
            .filter(|(likeness, id)| *likeness >= OFFER || exact.contains(id))
            .collect();
        ranked.sort_by(|a, b| {
            let rank = |x: &(f64, i64)| {
                (
                    exact.contains(&x.1),
                    exact.contains(&x.1) && marked(&x.1),
                    x.0,
                )
            };
            rank(b)
                .partial_cmp(&rank(a))
                .unwrap_or(std::cmp::Ordering::Equal)
                .then(a.1.cmp(&b.1))
        });
        let best = ranked.first().map(|(_, id)| *id);
        // A number that is only another name of the block is last year's numbering.
        let own = |id: i64| {
            self.blocks
                .iter()
                .any(|b| b.id == id && Name::of(&b.name).is(name))
        };
        let numbering = matches!(exact.as_slice(), [id] if name.is_number() && !own(*id));
        let (why, by) = match (exact.as_slice(), best) {
            ([id], _) if numbering => (
                format!(
                    "“{}” went by this number before, but numbers often start anew.",
                    self.title(*id)
                ),
                MatchedBy::LastYear,
            ),
            ([id], _) => (
                format!("The name is that of “{}”.", self.title(*id)),
                MatchedBy::Name,
            ),
            ([_, _, ..], _) => (
                "More than one block goes by this name.".to_owned(),
                MatchedBy::Name,
            ),
            (_, Some(id)) => (
                format!("The name is like “{}”, but not the same.", self.title(id)),
                MatchedBy::Likeness,
            ),
            (_, None) => (
                "No block has a name like this.".to_owned(),
                MatchedBy::Nothing,
            ),
        };
        Match {
            sample: sample.to_owned(),
            best,
            sure: exact.len() == 1 && !numbering,
            others: ranked
                .iter()
                .skip(1)
                .take(OTHERS)
                .map(|(_, id)| *id)
                .collect(),
            why,
            by,
        }
    }

    /// Where the names are only numbers, this year's and last year's, and as many: the same order may be the
    /// same round through the blocks.
    fn by_order(&self, matches: &mut [Match]) {
        let now = matches.iter().all(|m| Name::of(&m.sample).is_number());
        let then = self.last.iter().all(|(n, _)| n.is_number());
        if matches.is_empty() || matches.len() != self.last.len() || !now || !then {
            return;
        }
        let order: Vec<i64> = self.last.iter().filter_map(|(_, b)| *b).collect();
        for (m, (name, block)) in matches.iter_mut().zip(&self.last) {
            let same = name.is(&Name::of(&m.sample));
            let Some(block) = block.filter(|_| !m.sure && !same) else {
                continue;
            };
            if order.iter().filter(|b| **b == block).count() > 1 {
                continue;
            }
            let was = m.best.filter(|b| *b != block);
            m.others.retain(|b| *b != block);
            m.others.splice(0..0, was);
            m.others.truncate(OTHERS);
            m.best = Some(block);
            m.by = MatchedBy::Order;
            m.why = format!(
                "In the order of last year’s report this would be “{}”.",
                self.title(block)
            );
        }
    }

    /// A block has one sample; and a block whose own sample is there is no likely home for another one.
    fn no_two(&self, matches: &mut [Match]) {
        let mut claims: BTreeMap<i64, usize> = BTreeMap::new();
        for id in matches.iter().filter(|m| m.sure).filter_map(|m| m.best) {
            *claims.entry(id).or_default() += 1;
        }
        for m in matches.iter_mut() {
            if let Some(id) = m.best
                && m.sure
                && claims.get(&id).copied().unwrap_or(0) > 1
            {
                m.sure = false;
                m.why = format!("More than one sample has the name of “{}”.", self.title(id));
            }
        }
        for m in matches.iter_mut().filter(|m| !m.sure) {
            let free = |id: &i64| !claims.contains_key(id);
            if m.best.is_some_and(|id| !free(&id) && claims[&id] == 1) {
                let taken = m.best;
                m.best = m.others.iter().copied().find(free);
                m.others.retain(|id| Some(*id) != m.best);
                m.others.extend(taken);
                (m.why, m.by) = match m.best {
                    Some(id) => (
                        format!("The name is like “{}”, but not the same.", self.title(id)),
                        MatchedBy::Likeness,
                    ),
                    None => (
                        "The blocks with a name like this have a sample of their own.".to_owned(),
                        MatchedBy::Nothing,
                    ),
                };
            }
        }
    }
}

/// The blocks under a name, each once.
fn homes<'n>(known: impl Iterator<Item = (&'n Name, i64)>, name: &Name) -> Vec<i64> {
    let mut homes = Vec::new();
    for (_, block) in known.filter(|(n, _)| n.is(name)) {
        if !homes.contains(&block) {
            homes.push(block);
        }
    }
    homes
}

#[cfg(test)]
mod tests;
