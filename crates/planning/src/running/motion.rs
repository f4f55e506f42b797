//! A train's speed along a course: as fast as limits, power and brakes allow.
//!
//! The course is cut into short steps. Over one step the force, and so the acceleration *a*, is taken as
//! constant, for which
//!
//! > v₂² = v₁² + 2 a s,  t = 2 s / (v₁ + v₂)
//!
//! hold exactly. A pass forward accelerates as far as the power goes and the limits allow; a pass backward
//! brakes in time for whatever comes. All numbers are full size: meters, seconds, m/s.

/// Standard gravity, m/s².
pub const GRAVITY: f64 = 9.80665;

/// The slowest a train is reckoned to crawl where its power does not suffice at all, m/s (four miles an
/// hour; common practice, no source). Whoever asks is told that it stalls.
const CRAWL: f64 = 1.788;

/// One step of a course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Its length, m.
    pub length: f64,
    /// Speed allowed, m/s.
    pub limit: f64,
    /// Mean grade under the train, curves counted, as a share; up is positive.
    pub grade: f64,
}

/// What moves and what stops a train.
#[derive(Debug, Clone, PartialEq)]
pub enum Power {
    /// It gains speed evenly, m/s², whatever the grade: a model in the hands of a crew.
    Even(f64),
    /// Full size: what the engines pull less what the whole train resists with on level track, as a share
    /// of the train's weight, at speeds in even steps of [`Power::STEP`] from a stand.
    Table(Vec<f64>),
}

impl Power {
    /// Between the speeds of a table, m/s (two miles an hour).
    pub const STEP: f64 = 0.89408;

    /// The wheels' spin makes a train heavier to accelerate by a twentieth (W. L. Webb, The Economics of
    /// Railroad Construction).
    const SPIN: f64 = 1.05;

    /// Acceleration at a speed on a grade, m/s²; below zero where the train slows down.
    pub fn acceleration(&self, speed: f64, grade: f64) -> f64 {
        match self {
            Self::Even(gain) => *gain,
            Self::Table(shares) => {
                let at = (speed / Self::STEP).max(0.0);
                let low = (at as usize).min(shares.len().saturating_sub(1));
                let high = (low + 1).min(shares.len().saturating_sub(1));
                let part = (at - low as f64).clamp(0.0, 1.0);
                let share = shares.get(low).map_or(0.0, |first| {
                    first + (shares.get(high).unwrap_or(first) - first) * part
                });
                (share - grade) * GRAVITY / Self::SPIN
            }
        }
    }
}

/// A run over a course.
#[derive(Debug, Clone, PartialEq)]
pub struct Motion {
    /// Seconds from the start of the course to the end of each step; one more entry than steps, the first
    /// zero.
    pub times: Vec<f64>,
    /// Speed at the same places.
    pub speeds: Vec<f64>,
    /// Whether the power did not suffice somewhere.
    pub stalls: bool,
}

/// Runs a course, from a stand or at speed, to a stand or at speed. `brake` is what brakes take off, m/s².
pub fn run(steps: &[Step], power: &Power, brake: f64, from_stand: bool, to_stand: bool) -> Motion {
    let count = steps.len();
    let mut speeds = vec![0.0; count + 1];
    let mut stalls = false;
    // At a boundary the lower limit of both sides counts.
    let limit = |at: usize| {
        let before = at.checked_sub(1).and_then(|at| steps.get(at));
        let limits = before.into_iter().chain(steps.get(at));
        limits.map(|step| step.limit).fold(f64::INFINITY, f64::min)
    };
    speeds[0] = if from_stand { 0.0 } else { limit(0) };
    for (at, step) in steps.iter().enumerate() {
        let here = speeds[at];
        let gain = power.acceleration(here, step.grade);
        let mut square = here * here + 2.0 * gain * step.length;
        if square < CRAWL * CRAWL && gain <= 0.0 {
            stalls |= step.length > 0.0;
            square = CRAWL * CRAWL;
        }
        speeds[at + 1] = square.max(0.0).sqrt().min(limit(at + 1));
    }
    if to_stand {
        speeds[count] = 0.0;
    }
    for (at, step) in steps.iter().enumerate().rev() {
        let square = speeds[at + 1].powi(2) + 2.0 * brake * step.length;
        speeds[at] = speeds[at].min(square.sqrt());
    }
    let mut times = Vec::with_capacity(count + 1);
    let mut now = 0.0;
    times.push(now);
    for (at, step) in steps.iter().enumerate() {
        let sum = speeds[at] + speeds[at + 1];
        // From a stand to a stand within one step: half the way gaining, half braking.
        now += if sum > 0.0 {
            2.0 * step.length / sum
        } else {
            2.0 * (step.length / brake.max(1e-6)).sqrt()
        };
        times.push(now);
    }
    Motion {
        times,
        speeds,
        stalls,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MPH: f64 = 0.44704;
    const MILE: f64 = 1609.344;

    fn level(length: f64, limit_mph: f64) -> Vec<Step> {
        let count = 2000;
        vec![
            Step {
                length: length / f64::from(count),
                limit: limit_mph * MPH,
                grade: 0.0,
            };
            count as usize
        ]
    }

    fn near(found: f64, expected: f64, tolerance: f64) {
        assert!(
            (found - expected).abs() <= tolerance,
            "{found} is not {expected}"
        );
    }

    /// W. L. Webb, The Economics of Railroad Construction: 2.851 lb a ton, the wheels' spin left out, take
    /// a train from a stand to 15 mph in a mile.
    #[test]
    fn a_steady_pull_over_a_mile() {
        let share = 2.851 / 2000.0 * 1.05;
        let power = Power::Table(vec![share; 40]);
        let motion = run(&level(MILE, 60.0), &power, 0.5, true, false);
        near(motion.speeds[2000] / MPH, 15.0, 0.02);
        // Constant acceleration: the mean speed is half the last.
        near(motion.times[2000], MILE / (7.5 * MPH), 0.5);
    }

    /// The balance of pull and resistance: 25 lb a ton of pull on a grade of one percent (20 lb a ton,
    /// Army TR0603) with 5 lb a ton of rolling resistance gains nothing and loses nothing.
    #[test]
    fn pull_that_balances_the_grade() {
        let power = Power::Table(vec![(25.0 - 5.0) / 2000.0; 40]);
        let steps: Vec<Step> = level(MILE, 30.0)
            .into_iter()
            .map(|step| Step {
                grade: 0.01,
                ..step
            })
            .collect();
        let motion = run(&steps, &power, 0.5, false, false);
        near(motion.speeds[2000] / MPH, 30.0, 1e-6);
        assert!(!motion.stalls);
        let steeper: Vec<Step> = steps
            .iter()
            .map(|step| Step {
                grade: 0.02,
                ..*step
            })
            .collect();
        assert!(run(&steeper, &power, 0.5, true, false).stalls);
    }

    /// From a stand to a stand at constant gain g and brake b to a speed v: the way lost is made up of two
    /// triangles, t = d/v + v/2g + v/2b.
    #[test]
    fn start_and_stop() {
        let (gain, brake, speed, length) = (1.0, 2.0, 30.0 * MPH, 800.0);
        let motion = run(&level(length, 30.0), &Power::Even(gain), brake, true, true);
        let expected = length / speed + speed / (2.0 * gain) + speed / (2.0 * brake);
        near(motion.times[2000], expected, 0.01);
        assert!(motion.speeds[0] == 0.0 && motion.speeds[2000] == 0.0);
    }

    #[test]
    fn brakes_come_in_time_for_a_slow_order() {
        let mut steps = level(2000.0, 50.0);
        for step in &mut steps[1000..1100] {
            step.limit = 10.0 * MPH;
        }
        let motion = run(&steps, &Power::Even(0.3), 0.5, false, false);
        for at in 1000..=1100 {
            assert!(motion.speeds[at] <= 10.0 * MPH + 1e-9);
        }
        // It brakes before and gains after.
        assert!(motion.speeds[900] < 50.0 * MPH && motion.speeds[1200] < 50.0 * MPH);
        assert!(motion.speeds[1050] > 9.9 * MPH);
    }
}
