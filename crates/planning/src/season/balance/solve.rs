//! Solves a programme, and its dual: the library gives no prices.

use microlp::{ComparisonOp, OptimizationDirection, Problem};
use traffic::balance::{Programme, certify};

/// A best choice and the prices that prove it, both accepted by the judge.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Solved {
    pub gain: f64,
    pub numbers: Vec<f64>,
    pub prices: Vec<f64>,
}

fn best(
    direction: OptimizationDirection,
    comparison: ComparisonOp,
    costs: &[f64],
    rows: &[(f64, Vec<(usize, f64)>)],
) -> Result<Vec<f64>, String> {
    let mut problem = Problem::new(direction);
    let columns: Vec<_> = costs
        .iter()
        .map(|&cost| problem.add_var(cost, (0.0, f64::INFINITY)))
        .collect();
    for (limit, terms) in rows {
        let terms: Vec<_> = terms
            .iter()
            .map(|&(at, each)| (columns[at], each))
            .collect();
        problem.add_constraint(&terms[..], comparison, *limit);
    }
    let outcome = problem.solve().map_err(|error| error.to_string())?;
    let solution = outcome.solution().ok_or("the solver broke off")?;
    Ok(columns
        .iter()
        .map(|&column| solution.var_value(column).max(0.0))
        .collect())
}

/// Solves.
///
/// # Errors
/// If the library gives up, or the judge does not accept what it gives.
pub(super) fn solve(programme: &Programme) -> Result<Solved, String> {
    let rows: Vec<_> = programme
        .rows
        .iter()
        .map(|row| (row.limit, row.terms.clone()))
        .collect();
    let numbers = best(
        OptimizationDirection::Maximize,
        ComparisonOp::Le,
        &programme.gain,
        &rows,
    )?;
    // The dual: the rows' limits cost least at prices under which every column costs what it gains.
    let mut columns: Vec<(f64, Vec<(usize, f64)>)> =
        programme.gain.iter().map(|&gain| (gain, vec![])).collect();
    for (at, row) in programme.rows.iter().enumerate() {
        for &(column, each) in &row.terms {
            columns[column].1.push((at, each));
        }
    }
    let limits: Vec<f64> = programme.rows.iter().map(|row| row.limit).collect();
    let prices = best(
        OptimizationDirection::Minimize,
        ComparisonOp::Ge,
        &limits,
        &columns,
    )?;
    let gain = certify(programme, &numbers, &prices)?;
    Ok(Solved {
        gain,
        numbers,
        prices,
    })
}
