//! What the day looks like at different fast-clock ratios.

use model::time::RailSpan;
use railroad::{Railroad, TrainWay};
use transportation::StopWork;

use super::{Assumed, Profiles, longest, times};

/// The railroad's day at one ratio of the clock.
#[derive(Debug, Clone, PartialEq)]
pub struct ClockView {
    /// Railroad minutes in a real one.
    pub ratio: f64,
    /// Railroad time all trains spend running.
    pub running: RailSpan,
    /// Railroad time all trains spend switching: real minutes of work, as the clock shows them.
    pub switching: RailSpan,
    /// Real hours the timetable's day takes, from the first train's leaving to the last one's arrival.
    pub real_hours: f64,
    /// What part of the trains' scheduled time they need to run and work: above 1 the timetable cannot be kept
    /// at this ratio.
    pub used: f64,
}

impl ClockView {
    /// What part of the trains' time is switching, 0 to 1; nothing where there is neither.
    pub fn share_of_switching(&self) -> Option<f64> {
        let (running, switching) = (self.running.seconds(), self.switching.seconds());
        let both = running + switching;
        (both > 0).then(|| switching as f64 / both as f64)
    }
}

/// The fastest clock of some at which the trains' running and switching, all trains taken together, still fit
/// the time the timetable gives them: the index of its view. Nothing if none does, or no train has a schedule.
pub fn balanced(views: &[ClockView]) -> Option<usize> {
    (0..views.len())
        .filter(|at| views[*at].used > 0.0 && views[*at].used <= 1.0)
        .max_by(|a, b| views[*a].ratio.total_cmp(&views[*b].ratio))
}

/// The day at each of some ratios. `work` is the real time of switching at each stop of each train, in
/// seconds, in the order of the service.
pub fn clock_views(
    railroad: &Railroad,
    ways: &[Option<TrainWay>],
    ratios: &[f64],
    work: &dyn Fn(usize, usize) -> Option<f64>,
) -> Vec<ClockView> {
    let profiles = Profiles::new(railroad);
    let mut first = i64::MAX;
    let mut last = i64::MIN;
    let mut scheduled = 0;
    for train in &railroad.service.trains {
        if let Some((leave, arrive)) = train.hours() {
            first = first.min(leave.seconds());
            last = last.max(arrive.seconds());
            scheduled += (arrive - leave).seconds();
        }
    }
    let day = last.saturating_sub(first).max(0) as f64;
    ratios
        .iter()
        .map(|&ratio| {
            let assumed = Assumed {
                clock: ratio,
                ..Assumed::of(railroad)
            };
            let mut running = 0;
            let mut switching = 0.0;
            for (at, train) in railroad.service.trains.iter().enumerate() {
                let Some(way) = &ways[at] else { continue };
                if train.hours().is_none() {
                    continue;
                }
                let length = longest(railroad, train);
                let found = times(railroad, &profiles, &assumed, train, way, length, None);
                let stops = |station: usize| {
                    let name = &railroad.way.station(way.stations[station]).name.value;
                    train
                        .stops
                        .iter()
                        .any(|stop| stop.station.as_ref().is_some_and(|s| s.value == *name))
                };
                for (step, times) in found.steps.iter().enumerate() {
                    running += times.seconds(
                        step == 0 || stops(step),
                        step + 1 == found.steps.len() || stops(step + 1),
                    );
                }
                for (index, stop) in train.stops.iter().enumerate() {
                    let switches = stop.work.iter().any(|work| {
                        matches!(
                            work.value,
                            StopWork::PickUp | StopWork::SetOut | StopWork::Switch
                        )
                    });
                    if switches {
                        // Where nothing was reckoned, what the owner wrote, at the owner's clock.
                        let real = work(at, index).or(stop.minutes.map(|minutes| {
                            minutes.value.seconds() as f64 / railroad.identity.clock
                        }));
                        switching += real.unwrap_or(0.0) * ratio;
                    } else if let Some(minutes) = stop.minutes {
                        // Icing, watering and the like go by the railroad's clock.
                        running += minutes.value.seconds();
                    }
                }
            }
            let switching = switching.round() as i64;
            ClockView {
                ratio,
                running: RailSpan::from_seconds(running),
                switching: RailSpan::from_seconds(switching),
                real_hours: day / 3600.0 / ratio,
                used: if scheduled > 0 {
                    (running + switching) as f64 / scheduled as f64
                } else {
                    0.0
                },
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn view(ratio: f64, running: i64, switching: i64, used: f64) -> ClockView {
        ClockView {
            ratio,
            running: RailSpan::from_seconds(running),
            switching: RailSpan::from_seconds(switching),
            real_hours: 12.0 / ratio,
            used,
        }
    }

    #[test]
    fn the_fastest_clock_that_fits_balances() {
        let views = [
            view(6.0, 600, 600, 1.2),
            view(4.0, 500, 400, 0.9),
            view(5.0, 550, 500, 1.0),
            view(1.0, 300, 100, 0.4),
        ];
        assert_eq!(balanced(&views), Some(2));
        assert_eq!(balanced(&views[..1]), None);
        assert_eq!(balanced(&[view(1.0, 0, 0, 0.0)]), None);
    }

    #[test]
    fn switching_is_a_share_of_all() {
        assert_eq!(view(1.0, 300, 100, 0.4).share_of_switching(), Some(0.25));
        assert_eq!(view(1.0, 0, 0, 0.0).share_of_switching(), None);
    }
}
