//! One model given to HiGHS and read back.

use crate::{PlanError, Watch};
use highs::{Col, HighsModelStatus, HighsSolutionStatus, Model, RowProblem, Sense};
use std::sync::mpsc;
use std::time::Duration;

/// Seed of the solver's own choices: the same problem gives the same plan.
const SEED: i32 = 20_270;

/// How far to go.
#[derive(Clone, Copy)]
pub(crate) struct Limits {
    pub seconds: f64,
    pub gap: f64,
    /// The same in money.
    pub absolute: f64,
    /// Whether no column is a whole number.
    pub linear: bool,
    /// Of the solver's own search, after which the best that it has will do.
    pub nodes: Option<i32>,
}

/// What came back.
pub(crate) struct Answer {
    /// The columns' values; none when no feasible ones were found.
    pub values: Option<Vec<f64>>,
    /// Of a model without whole numbers.
    pub duals: Vec<f64>,
    /// Proven lower bound, to the solver's tolerance; minus infinity when there is none.
    pub bound: f64,
    /// Whether the gap that was asked for is proven.
    pub proven: bool,
}

impl Answer {
    pub fn at(&self, col: Col) -> f64 {
        self.values
            .as_ref()
            .and_then(|v| v.get(col.index()))
            .copied()
            .unwrap_or_default()
    }

    fn none() -> Self {
        Self {
            values: None,
            duals: Vec::new(),
            bound: f64::NEG_INFINITY,
            proven: false,
        }
    }
}

/// Minimises the model, from first values where there are some; gives up when cancelled.
pub(crate) fn minimise(
    rows: RowProblem,
    start: Option<Vec<f64>>,
    limits: Limits,
    watch: &Watch,
) -> Result<Answer, PlanError> {
    if !watch.can_cancel() {
        return run(rows, start.as_deref(), limits);
    }
    let (send, receive) = mpsc::channel();
    std::thread::spawn(move || {
        // Nobody waits any more after a cancel; then there is nothing to do about it.
        let _ = send.send(run(rows, start.as_deref(), limits));
    });
    loop {
        match receive.recv_timeout(Duration::from_millis(10)) {
            Ok(answer) => return answer,
            Err(mpsc::RecvTimeoutError::Timeout) if watch.cancelled() => return Ok(Answer::none()),
            Err(mpsc::RecvTimeoutError::Timeout) => {}
            Err(mpsc::RecvTimeoutError::Disconnected) => {
                return Err(PlanError::Solver("it stopped without an answer".to_owned()));
            }
        }
    }
}

/// An error of the solver, with what it was doing.
pub(crate) fn failed<E: std::fmt::Debug>(doing: &'static str) -> impl Fn(E) -> PlanError {
    move |e| PlanError::Solver(format!("{e:?} while {doing}"))
}

/// One thread, a fixed seed and no words.
pub(crate) fn quiet(model: &mut Model) -> Result<(), PlanError> {
    model.make_quiet();
    for (option, value) in [("threads", 1), ("random_seed", SEED)] {
        model
            .try_set_option(option, value)
            .map_err(failed("setting an option"))?;
    }
    Ok(())
}

fn run(rows: RowProblem, start: Option<&[f64]>, limits: Limits) -> Result<Answer, PlanError> {
    if rows.num_cols() == 0 {
        return Ok(Answer {
            values: Some(Vec::new()),

            bound: 0.0,
            proven: true,
            ..Answer::none()
        });
    }
    let mut model: Model = rows
        .try_optimise(Sense::Minimise)
        .map_err(failed("taking the model"))?;
    quiet(&mut model)?;
    let option = failed("setting an option");
    model
        .try_set_option("time_limit", limits.seconds.max(0.0))
        .map_err(&option)?;
    model
        .try_set_option("mip_rel_gap", limits.gap)
        .map_err(&option)?;
    model
        .try_set_option("mip_abs_gap", limits.absolute)
        .map_err(&option)?;
    // Measured on variants of a 14-block farm: these cost more time than they save here.
    for needless in [
        "mip_allow_restart",
        "mip_heuristic_run_rins",
        "mip_heuristic_run_feasibility_jump",
    ] {
        model.try_set_option(needless, false).map_err(&option)?;
    }
    if let Some(nodes) = limits.nodes {
        model
            .try_set_option("mip_max_nodes", nodes)
            .map_err(&option)?;
    }
    if let Some(start) = start {
        // A start that is not taken is no harm: the solver finds its own.
        let _ = model.try_set_solution(Some(start), None, None, None);
    }
    let solved = model.try_solve().map_err(failed("solving"))?;
    let proven = match solved.status() {
        HighsModelStatus::Optimal | HighsModelStatus::ModelEmpty => true,
        HighsModelStatus::ReachedTimeLimit
        | HighsModelStatus::ReachedIterationLimit
        | HighsModelStatus::ReachedSolutionLimit
        | HighsModelStatus::ReachedMemoryLimit
        | HighsModelStatus::ReachedInterrupt => false,
        HighsModelStatus::Infeasible | HighsModelStatus::UnboundedOrInfeasible => {
            return Ok(Answer::none());
        }
        other => return Err(PlanError::Solver(format!("{other:?}"))),
    };
    // A model without whole numbers has no such bound; its optimum is the bound.
    let bound = solved
        .double_info_value(c"mip_dual_bound")
        .ok()
        .filter(|b| b.is_finite() && !limits.linear)
        .unwrap_or(if proven {
            solved.objective_value()
        } else {
            f64::NEG_INFINITY
        });
    let feasible = solved.primal_solution_status() == HighsSolutionStatus::Feasible;
    let solution = solved.get_solution();
    Ok(Answer {
        values: feasible.then(|| solution.columns().to_vec()),
        duals: solution.dual_rows().to_vec(),
        bound,
        proven,
    })
}
