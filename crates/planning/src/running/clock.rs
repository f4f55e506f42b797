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
    let day = (last - first).max(0) as f64;
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
