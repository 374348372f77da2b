//! The plan as a table: one column for each material in each pass.

use super::Made;
use planner::Amount;
use std::collections::HashMap;

/// A material in a pass.
#[derive(Debug, Clone, PartialEq)]
pub struct Column<'a> {
    /// Id of the pass; empty in a plan without passes.
    pub pass: &'a str,
    pub pass_name: &'a str,
    pub material: &'a planner::Material,
}

impl Made {
    /// What the plan spreads, in the order of the season.
    pub fn columns(&self) -> Vec<Column<'_>> {
        let passes: Vec<(&str, &str)> = match self.problem.passes.as_slice() {
            [] => vec![("", "")],
            passes => passes
                .iter()
                .map(|p| (p.id.as_str(), p.name.as_str()))
                .collect(),
        };
        passes
            .into_iter()
            .flat_map(|(pass, pass_name)| {
                self.problem
                    .materials
                    .iter()
                    .filter(move |m| {
                        self.plan
                            .amounts
                            .iter()
                            .any(|a| a.pass == pass && a.material == m.id && a.lb > 0.0)
                    })
                    .map(move |material| Column {
                        pass,
                        pass_name,
                        material,
                    })
            })
            .collect()
    }

    /// What the plan spreads on each block, in the order of the plan.
    pub fn by_block(&self) -> HashMap<&str, Vec<&Amount>> {
        let mut out: HashMap<&str, Vec<&Amount>> = HashMap::new();
        for a in &self.plan.amounts {
            out.entry(a.block.as_str()).or_default().push(a);
        }
        out
    }

    /// lb on a block; zero where none goes on.
    pub fn lb(&self, block: &str, column: &Column<'_>) -> f64 {
        self.plan
            .amounts
            .iter()
            .filter(|a| {
                a.block == block && a.material == column.material.id && a.pass == column.pass
            })
            .map(|a| a.lb)
            .sum()
    }
}
