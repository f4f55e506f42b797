//! Rolling resistance and curve drag from the owner's own test pulls.
//!
//! A pull of a spring scale on a cut of cars, divided by the cars' weight and less the grade, is the rolling resistance `a`
//! plus, on a curve, a drag `b / radius`. Many pulls give both by least squares, with their standard errors: with X the rows
//! (1, 1/radius), the estimate is (XᵀX)⁻¹Xᵀy and its covariance s²(XᵀX)⁻¹, s² the sum of squared residuals over n − 2.

use model::units::{Actual, Grade, Weight};

/// One test pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TestPull {
    /// What the cars pulled weigh together.
    pub cars: Weight,
    /// The grade they were pulled up; down is negative.
    pub grade: Grade,
    /// The curve they stood on, all of them; none for straight track.
    pub radius: Option<Actual>,
    /// What the scale showed while they moved (a force given as a weight).
    pub pull: Weight,
}

/// A value and how well it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// The estimate.
    pub value: f64,
    /// Its standard error; `None` if there were too few pulls to say.
    pub standard_error: Option<f64>,
}

/// What test pulls say.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// Rolling resistance, a share of weight.
    pub rolling: Fit,
    /// What a curve adds: share of weight times radius in meters. `None` if no pull was on a curve, or all on the same one
    /// and none on straight track.
    pub curve_m: Option<Fit>,
    /// Standard deviation of a pull about what the estimate says, a share of weight. `None` if there were too few pulls.
    pub scatter: Option<f64>,
    /// How many pulls were used.
    pub pulls: usize,
    /// Covariance of the two estimates, for the error of what is reckoned from both.
    covariance: f64,
}

impl Calibration {
    /// Resistance on a curve, or straight track, with its standard error.
    pub fn at(&self, radius: Option<Actual>) -> Fit {
        let z = radius
            .filter(|radius| *radius > Actual::ZERO)
            .map_or(0.0, |radius| 1.0 / radius.meters());
        let Some(curve) = self.curve_m else {
            return self.rolling;
        };
        let value = self.rolling.value + curve.value * z;
        let standard_error = match (self.rolling.standard_error, curve.standard_error) {
            (Some(a), Some(b)) => Some(
                (a * a + b * b * z * z + 2.0 * self.covariance * z)
                    .max(0.0)
                    .sqrt(),
            ),
            _ => None,
        };
        Fit {
            value,
            standard_error,
        }
    }
}

/// Rolling resistance and curve drag from test pulls; `None` if there is no pull of anything.
pub fn calibrate(pulls: &[TestPull]) -> Option<Calibration> {
    let points: Vec<(f64, f64)> = pulls
        .iter()
        .filter(|pull| pull.cars > Weight::ZERO)
        .map(|pull| {
            let curved = pull
                .radius
                .filter(|radius| *radius > Actual::ZERO)
                .map_or(0.0, |radius| 1.0 / radius.meters());
            (curved, pull.pull / pull.cars - pull.grade.ratio())
        })
        .collect();
    if points.is_empty() {
        return None;
    }
    let line = straight_line(&points);
    Some(match line {
        Some(line) => Calibration {
            rolling: Fit {
                value: line.constant,
                standard_error: line.errors.map(|errors| errors.0),
            },
            curve_m: Some(Fit {
                value: line.slope,
                standard_error: line.errors.map(|errors| errors.1),
            }),
            scatter: line.errors.map(|errors| errors.2),
            pulls: points.len(),
            covariance: line.covariance,
        },
        // All on the same track: only the mean is known.
        None => {
            let n = points.len() as f64;
            let mean = points.iter().map(|point| point.1).sum::<f64>() / n;
            let squares: f64 = points.iter().map(|point| (point.1 - mean).powi(2)).sum();
            let scatter = (points.len() > 1).then(|| (squares / (n - 1.0)).sqrt());
            Calibration {
                rolling: Fit {
                    value: mean,
                    standard_error: scatter.map(|scatter| scatter / n.sqrt()),
                },
                curve_m: None,
                scatter,
                pulls: points.len(),
                covariance: 0.0,
            }
        }
    })
}

struct Line {
    constant: f64,
    slope: f64,
    /// Standard errors of constant and slope, and the residual standard deviation.
    errors: Option<(f64, f64, f64)>,
    covariance: f64,
}

/// Least squares of y = constant + slope · x. `None` if all x are the same. About the mean of x, so that nothing cancels.
fn straight_line(points: &[(f64, f64)]) -> Option<Line> {
    let n = points.len() as f64;
    let mean_x = points.iter().map(|point| point.0).sum::<f64>() / n;
    let mean_y = points.iter().map(|point| point.1).sum::<f64>() / n;
    let spread: f64 = points.iter().map(|point| (point.0 - mean_x).powi(2)).sum();
    let largest = points.iter().map(|point| point.0.abs()).fold(0.0, f64::max);
    if spread <= 1e-12 * n * largest * largest || spread == 0.0 {
        return None;
    }
    let slope = points
        .iter()
        .map(|point| (point.0 - mean_x) * (point.1 - mean_y))
        .sum::<f64>()
        / spread;
    let constant = mean_y - slope * mean_x;
    let squares: f64 = points
        .iter()
        .map(|point| (point.1 - constant - slope * point.0).powi(2))
        .sum();
    if points.len() < 3 {
        return Some(Line {
            constant,
            slope,
            errors: None,
            covariance: 0.0,
        });
    }
    let variance = squares / (n - 2.0);
    let of_slope = (variance / spread).sqrt();
    let of_constant = (variance * (1.0 / n + mean_x * mean_x / spread)).sqrt();
    Some(Line {
        constant,
        slope,
        errors: Some((of_constant, of_slope, variance.sqrt())),
        covariance: -mean_x * variance / spread,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST Statistical Reference Datasets, linear regression, "Norris" (y, x), with its certified values. Data and values
    /// are from memory; that the one gives the other to ten digits confirms both.
    const NORRIS: [(f64, f64); 36] = [
        (0.1, 0.2),
        (338.8, 337.4),
        (118.1, 118.2),
        (888.0, 884.6),
        (9.2, 10.1),
        (228.1, 226.5),
        (668.5, 666.3),
        (998.5, 996.3),
        (449.1, 448.6),
        (778.9, 777.0),
        (559.2, 558.2),
        (0.3, 0.4),
        (0.1, 0.6),
        (778.1, 775.5),
        (668.8, 666.9),
        (339.3, 338.0),
        (448.9, 447.5),
        (10.8, 11.6),
        (557.7, 556.0),
        (228.3, 228.1),
        (998.0, 995.8),
        (888.8, 887.6),
        (119.6, 120.2),
        (0.3, 0.3),
        (0.6, 0.3),
        (557.6, 556.8),
        (339.3, 339.1),
        (888.0, 887.2),
        (998.5, 999.0),
        (778.9, 779.0),
        (10.2, 11.1),
        (117.6, 118.3),
        (228.9, 229.2),
        (668.4, 669.1),
        (449.2, 448.9),
        (0.2, 0.5),
    ];

    #[test]
    fn least_squares_against_nist() {
        let points: Vec<(f64, f64)> = NORRIS.iter().map(|&(y, x)| (x, y)).collect();
        let line = straight_line(&points).unwrap();
        let (of_constant, of_slope, scatter) = line.errors.unwrap();
        for (found, certified) in [
            (line.constant, -0.262_323_073_774_029),
            (line.slope, 1.002_116_818_020_45),
            (of_constant, 0.232_818_234_301_152),
            (of_slope, 0.429_796_848_199_937e-3),
            (scatter, 0.884_796_396_144_373),
        ] {
            assert!(
                (found / certified - 1.0).abs() < 1e-10,
                "{found} is not {certified}"
            );
        }
    }

    fn pull(cars: f64, percent: f64, radius: Option<f64>, pull: f64) -> TestPull {
        TestPull {
            cars: Weight::from_ounces(cars),
            grade: Grade::from_percent(percent),
            radius: radius.map(Actual::from_inches),
            pull: Weight::from_ounces(pull),
        }
    }

    #[test]
    fn pulls_without_error_give_back_what_made_them() {
        let (rolling, curve_in) = (0.017, 0.41);
        let made = |cars: f64, percent: f64, radius: Option<f64>| {
            let share = rolling + percent / 100.0 + radius.map_or(0.0, |radius| curve_in / radius);
            pull(cars, percent, radius, cars * share)
        };
        let pulls = [
            made(40.0, 0.0, None),
            made(40.0, 2.0, None),
            made(36.0, 0.0, Some(24.0)),
            made(44.0, -1.0, Some(30.0)),
            made(20.0, 1.5, Some(18.0)),
        ];
        let found = calibrate(&pulls).unwrap();
        let curve = found.curve_m.unwrap();
        assert!((found.rolling.value - rolling).abs() < 1e-12);
        assert!((curve.value / 0.0254 - curve_in).abs() < 1e-10);
        assert!(found.scatter.unwrap() < 1e-12);
        let on_20 = found.at(Some(Actual::from_inches(20.0)));
        assert!((on_20.value - (rolling + curve_in / 20.0)).abs() < 1e-12);
    }

    #[test]
    fn too_few_pulls_claim_no_more_than_they_know() {
        assert_eq!(calibrate(&[]), None);
        let one = calibrate(&[pull(40.0, 0.0, None, 0.8)]).unwrap();
        assert!((one.rolling.value - 0.02).abs() < 1e-12);
        assert_eq!(
            (one.rolling.standard_error, one.curve_m, one.scatter),
            (None, None, None)
        );
        let two =
            calibrate(&[pull(40.0, 0.0, None, 0.8), pull(40.0, 0.0, Some(24.0), 1.2)]).unwrap();
        assert!(two.curve_m.is_some_and(|fit| fit.standard_error.is_none()));
        let same = calibrate(&[pull(40.0, 0.0, None, 0.8), pull(40.0, 0.0, None, 0.9)]).unwrap();
        assert!(same.curve_m.is_none() && same.rolling.standard_error.is_some());
    }
}
