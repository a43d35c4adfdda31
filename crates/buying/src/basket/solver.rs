//! Which solver looks for the basket? `microlp`, which is Rust alone, or HiGHS where the feature `highs` asks for it.

use good_lp::variable::UnsolvedProblem;
use good_lp::{Constraint, SolverModel, Variable};

use super::Limits;

/// What a search came to.
pub(super) struct Searched {
    /// A value for each variable, in the order they were added.
    pub(super) values: Vec<f64>,
    /// The most by which the cost could be less; `None` when the search ended before it knew.
    pub(super) short: Option<f64>,
}

/// Looks for the least cost of `model` under `rules` from `start` on, which sets each variable in the order they
/// were added; `None` when it found nothing.
#[cfg(not(feature = "highs"))]
pub(super) fn search(
    model: UnsolvedProblem,
    rules: Vec<Constraint>,
    start: &[(Variable, f64)],
    limits: Limits,
) -> Option<Searched> {
    use good_lp::{
        Solution, SolutionStatus, WithInitialSolution, WithMipGap, WithTimeLimit, microlp,
    };

    let mut model = rules.into_iter().fold(model.using(microlp), SolverModel::with);
    if limits.gap_share > 0.0 {
        model = model.with_mip_gap(limits.gap_share as f32).ok()?;
    }
    let solution = model
        .with_time_limit(limits.seconds.max(0.0))
        .with_initial_solution(start.iter().copied())
        .solve()
        .ok()?;
    let values = start.iter().map(|&(variable, _)| solution.value(variable)).collect();
    let proven = matches!(solution.status(), SolutionStatus::Optimal);
    let solved = solution.into_inner();
    let short = solved.gap().map(|share| share * solved.objective().abs());
    Some(Searched { values, short: if proven { Some(0.0) } else { short } })
}

/// The same by HiGHS, whose model is taken out of its wrapping, which would not tell how far a search got. It is not
/// given the start: 1.16 takes one for cheaper than it is once it has made the model smaller, and stops there.
#[cfg(feature = "highs")]
pub(super) fn search(
    model: UnsolvedProblem,
    rules: Vec<Constraint>,
    _start: &[(Variable, f64)],
    limits: Limits,
) -> Option<Searched> {
    use highs::HighsSolutionStatus::Feasible;

    let model = rules.into_iter().fold(model.using(good_lp::highs), SolverModel::with);
    let mut model = model.try_into_inner().ok()?;
    model.try_set_option("time_limit", limits.seconds.max(0.0)).ok()?;
    model.try_set_option("mip_rel_gap", limits.gap_share).ok()?;
    let solved = model.try_solve().ok()?;
    let share = solved.mip_gap();
    (solved.primal_solution_status() == Feasible).then(|| Searched {
        values: solved.get_solution().columns().to_vec(),
        short: share.is_finite().then(|| share * solved.objective_value().abs()),
    })
}
