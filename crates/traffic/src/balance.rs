//! A week's traffic in expectation as a linear programme, and the judge of whoever solved it.
//!
//! The programme is to choose numbers that are not negative, so that every row holds and the gain is
//! greatest. Whoever gives prices for the rows under which no column is worth more than it costs has shown
//! that no choice gains more than the rows' limits are worth (weak duality: Dantzig, Linear Programming and
//! Extensions, 1963, ch. 6). This module has no solver.

/// A limit: the terms' sum is at most so much.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The right-hand side.
    pub limit: f64,
    /// Columns and how much one of each takes.
    pub terms: Vec<(usize, f64)>,
}

/// What is to be greatest, and within which limits.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Programme {
    /// For each column what one of it gains.
    pub gain: Vec<f64>,
    /// The limits.
    pub rows: Vec<Row>,
}

/// What counts as nothing beside numbers of this size.
const NOTHING: f64 = 1e-6;

fn near(a: f64, b: f64, size: f64) -> bool {
    (a - b).abs() <= NOTHING * size.max(1.0)
}

/// Whether a choice of `numbers` keeps every row, and whether the rows' `prices` prove that none gains
/// more. Gives the gain.
///
/// # Errors
/// What is wrong, in words.
pub fn certify(programme: &Programme, numbers: &[f64], prices: &[f64]) -> Result<f64, String> {
    let columns = programme.gain.len();
    if numbers.len() != columns || prices.len() != programme.rows.len() {
        return Err(format!(
            "{} numbers for {columns} columns, {} prices for {} rows",
            numbers.len(),
            prices.len(),
            programme.rows.len()
        ));
    }
    if let Some(bad) = numbers.iter().chain(prices).find(|one| !one.is_finite()) {
        return Err(format!("{bad} is no number"));
    }
    if let Some(at) = numbers.iter().position(|&number| number < -NOTHING) {
        return Err(format!("column {at} is {}: less than nothing", numbers[at]));
    }
    let mut worth = 0.0;
    let mut cost = vec![0.0; columns];
    let mut size = vec![0.0_f64; columns];
    for (at, (row, &price)) in programme.rows.iter().zip(prices).enumerate() {
        let (mut sum, mut scale) = (0.0, row.limit.abs());
        for &(column, each) in &row.terms {
            if column >= columns {
                return Err(format!("row {at} speaks of column {column} of {columns}"));
            }
            sum += each * numbers[column];
            scale = scale.max((each * numbers[column]).abs());
            cost[column] += each * price;
            size[column] = size[column].max((each * price).abs());
        }
        if sum > row.limit && !near(sum, row.limit, scale) {
            return Err(format!("row {at} takes {sum} of {}", row.limit));
        }
        if price < -NOTHING {
            return Err(format!("row {at} has the price {price}: less than nothing"));
        }
        worth += row.limit * price;
    }
    for (at, (&gain, &cost)) in programme.gain.iter().zip(&cost).enumerate() {
        if gain > cost && !near(gain, cost, size[at].max(gain.abs())) {
            return Err(format!("column {at} gains {gain} and costs only {cost}"));
        }
    }
    let gain: f64 = programme
        .gain
        .iter()
        .zip(numbers)
        .map(|(gain, number)| gain * number)
        .sum();
    if !near(gain, worth, gain.abs().max(worth.abs())) {
        return Err(format!(
            "the choice gains {gain}, and the prices prove only that none gains more than {worth}"
        ));
    }
    Ok(gain)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Dantzig's kind of small product mix, worked by hand: 3a + 5b with a <= 4, 2b <= 12 and 3a + 2b <= 18
    /// is greatest at a = 2, b = 6 with 36; prices 0, 3/2 and 1 prove it (Hillier and Lieberman,
    /// Introduction to Operations Research, the Wyndor Glass example; from memory).
    fn mix() -> Programme {
        let row = |limit, terms: &[(usize, f64)]| Row {
            limit,
            terms: terms.to_vec(),
        };
        Programme {
            gain: vec![3.0, 5.0],
            rows: vec![
                row(4.0, &[(0, 1.0)]),
                row(12.0, &[(1, 2.0)]),
                row(18.0, &[(0, 3.0), (1, 2.0)]),
            ],
        }
    }

    #[test]
    fn the_optimum_is_accepted_with_its_prices_and_nothing_else_is() {
        let mix = mix();
        assert!((certify(&mix, &[2.0, 6.0], &[0.0, 1.5, 1.0]).unwrap() - 36.0).abs() < 1e-9);
        let wrong = |numbers: &[f64], prices: &[f64]| certify(&mix, numbers, prices).unwrap_err();
        assert_eq!(
            wrong(&[4.0, 3.0], &[0.0, 1.5, 1.0]),
            "the choice gains 27, and the prices prove only that none gains more than 36"
        );
        assert_eq!(wrong(&[4.0, 6.0], &[0.0, 1.5, 1.0]), "row 2 takes 24 of 18");
        assert_eq!(
            wrong(&[2.0, 6.0], &[0.0, 1.0, 1.0]),
            "column 1 gains 5 and costs only 4"
        );
        assert_eq!(
            wrong(&[2.0, 6.0], &[-1.0, 1.5, 2.0]),
            "row 0 has the price -1: less than nothing"
        );
        assert_eq!(
            wrong(&[-1.0, 6.0], &[0.0, 1.5, 1.0]),
            "column 0 is -1: less than nothing"
        );
        assert_eq!(
            wrong(&[2.0], &[0.0, 1.5, 1.0]),
            "1 numbers for 2 columns, 3 prices for 3 rows"
        );
    }
}
