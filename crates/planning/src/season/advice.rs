//! Advice with numbers: changes that the counts suggest, each tried on the same dice, and given only if
//! it saves more than chance would.

use mechanical::CarKind;
use model::{Span, Spanned, units::Actual};
use railroad::Railroad;

use super::{Estimate, Fault, Options, Ready, Season, Tally};

/// A change of the railroad.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// So many more cars of a kind, standing where the most of them are.
    MoreCars(CarKind, usize),
    /// So many cars of a kind fewer: those that are idle most.
    FewerCars(CarKind, usize),
    /// A track so much longer, and with so many more spots.
    LongerTrack(engineering::ids::TrackRef, Actual, usize),
    /// A train so much longer: number in the service's list.
    LongerTrain(usize, Actual),
    /// So many cars a week fewer of a row of the shippers' page.
    Less(traffic::FlowId, f64),
}

/// A change and what it saves.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// The change.
    pub change: Change,
    /// In words.
    pub words: String,
    /// Orders waiting and loads held a session fewer, on the same dice.
    pub saves: Estimate,
    /// Loads delivered a session more.
    pub delivers: Estimate,
}

/// Most changes that are tried.
const TRIED: usize = 16;

/// Tries the changes that a season suggests, and gives those that help, the best first. `told` is told how
/// many have been tried, and of how many.
pub fn advice(
    railroad: &Railroad,
    options: &Options,
    season: &Season,
    told: &mut dyn FnMut(usize, usize),
) -> Vec<Advice> {
    let mut candidates = candidates(railroad, season);
    candidates.truncate(TRIED);
    let count = candidates.len();
    let mut out = vec![];
    for (at, (change, words)) in candidates.into_iter().enumerate() {
        told(at + 1, count);
        let mut changed = railroad.clone();
        change.make(&mut changed);
        let runs = Ready::new(&changed, options).play(&|_| {});
        let saves = difference(&season.runs, &runs, |run| mean(run, 1) + mean(run, 3), -1.0);
        let delivers = difference(&season.runs, &runs, |run| mean(run, 2), 1.0);
        // Fewer cars or loads are good if nothing is lost by it.
        let harmless = matches!(change, Change::FewerCars(..))
            && saves.mean > -1.0
            && saves.mean + saves.half >= 0.0
            && delivers.mean + delivers.half >= 0.0
            && delivers.mean > -0.1;
        if saves.is_gain() || harmless {
            out.push(Advice {
                change,
                words,
                saves,
                delivers,
            });
        }
    }
    out.sort_by(|a, b| b.saves.mean.total_cmp(&a.saves.mean));
    out
}

fn mean(run: &Tally, column: usize) -> f64 {
    let sum: f64 = run.daily.iter().map(|day| f64::from(day[column])).sum();
    sum / run.daily.len().max(1) as f64
}

/// The mean of paired differences, run by run, with its interval.
fn difference(
    before: &[Tally],
    after: &[Tally],
    of: impl Fn(&Tally) -> f64,
    sign: f64,
) -> Estimate {
    let pairs: Vec<f64> = before
        .iter()
        .zip(after)
        .map(|(before, after)| sign * (of(after) - of(before)))
        .collect();
    Estimate::of(&pairs)
}

fn candidates(railroad: &Railroad, season: &Season) -> Vec<(Change, String)> {
    let report = &season.report;
    let units = railroad.identity.units;
    let mut out = vec![];
    let car = Actual::from_inches(6.25);
    // Spots that are flooded, or whose shipper starves though cars stand idle: another spot.
    let mut places: Vec<usize> = report
        .broken
        .iter()
        .filter_map(|one| match one.fault {
            Fault::Flooded(place) => Some(place),
            Fault::Starved(lane) => season.origins[lane],
            _ => None,
        })
        .collect();
    let mut seen = vec![];
    places.retain(|place| {
        let track = report.places[*place].track;
        let new = !seen.contains(&track);
        seen.push(track);
        new
    });
    for place in places.into_iter().take(7) {
        let place = &report.places[place];
        out.push((
            Change::LongerTrack(place.track, car, 1),
            format!(
                "{} more of {} with one more spot",
                units.show(car),
                place.name
            ),
        ));
    }
    for one in &report.broken {
        match one.fault {
            Fault::NoRoom(station) => {
                let page = railroad.way.station(station);
                if let Some(track) = page.tracks().find(|(_, track)| track.usage.holds_cars()) {
                    let more = Actual::from_feet(8.0);
                    let track = engineering::ids::TrackRef {
                        station,
                        track: track.0,
                    };
                    out.push((
                        Change::LongerTrack(track, more, 0),
                        format!(
                            "one more track of {} at {}",
                            units.show(more),
                            page.name.value
                        ),
                    ));
                }
            }
            Fault::Full(train) => {
                let name = &report.trains[train].symbol;
                if let Some(at) = railroad
                    .service
                    .trains
                    .iter()
                    .position(|train| train.symbol.value == *name)
                {
                    let more = car * 3.0;
                    out.push((
                        Change::LongerTrain(at, more),
                        format!(
                            "three cars more on train {}, {} longer",
                            report.trains[train].name,
                            units.show(more)
                        ),
                    ));
                }
            }
            _ => {}
        }
    }
    for kind in &report.kinds {
        if kind.short.mean > 0.3 && kind.idle.mean < 3.0 {
            for more in [1, 2] {
                out.push((
                    Change::MoreCars(kind.kind, more),
                    format!("{more} more of the kind `{}`", kind.kind),
                ));
            }
        }
        if kind.least_idle >= 2 {
            let fewer = kind.least_idle as usize;
            out.push((
                Change::FewerCars(kind.kind, fewer),
                format!("{fewer} fewer of the kind `{}`", kind.kind),
            ));
        }
    }
    // The worst starved load: fewer of it.
    if let Some((at, lane)) = report
        .lanes
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.waiting.mean.total_cmp(&b.1.waiting.mean))
        .filter(|(_, lane)| lane.starved > 0.2)
    {
        let fewer = (lane.offered - lane.delivered).ceil().max(1.0);
        out.push((
            Change::Less(season.flows[at], fewer),
            format!(
                "{fewer:.0} cars a week fewer of {} for {}",
                lane.commodity, lane.who
            ),
        ));
    }
    out
}

fn spanned<T>(value: T, span: Span) -> Spanned<T> {
    Spanned { value, span }
}

impl Change {
    /// Makes the change in a railroad that is read.
    pub fn make(&self, railroad: &mut Railroad) {
        match self {
            Self::MoreCars(kind, count) => {
                let model = railroad.roster.cars.iter().find(|car| {
                    car.kind.is_some_and(|of| of.value == *kind)
                        && car.state == mechanical::CarState::InService
                        && car.at.is_some()
                });
                let Some(model) = model.cloned() else { return };
                for more in 0..*count {
                    let mut car = model.clone();
                    car.number = format!("{} {}", car.number, more + 1);
                    car.name.value = format!("{} ({})", car.name.value, more + 1);
                    // In staging there is room for one more, more often than where the other stands.
                    let staging = railroad.way.stations().find_map(|(station, page)| {
                        (page.kind == engineering::station::StationKind::Staging).then(|| {
                            let track = engineering::ids::TrackId(page.tracks.len() as u32 - 1);
                            railroad
                                .way
                                .track_name(engineering::ids::TrackRef { station, track })
                        })
                    });
                    if let (Some(at), Some(staging)) = (&mut car.at, staging) {
                        at.value = staging;
                    }
                    railroad.roster.cars.push(car);
                }
            }
            Self::FewerCars(kind, count) => {
                let mut left = *count;
                for car in railroad.roster.cars.iter_mut().rev() {
                    if left > 0 && car.kind.is_some_and(|of| of.value == *kind) && car.at.is_some()
                    {
                        car.state = mechanical::CarState::OffTheRailroad;
                        left -= 1;
                    }
                }
            }
            Self::LongerTrack(id, more, spots) => {
                let usable = railroad.network.usable(&railroad.way, *id).length;
                let track = &mut railroad.way.stations[id.station.index()].tracks[id.track.index()];
                let span = track.span;
                track.usable = Some(spanned(usable + *more, span));
                let name = track.name.value.clone();
                let before: Vec<String> =
                    track.spots.iter().map(|spot| spot.value.clone()).collect();
                for spot in 0..*spots {
                    track
                        .spots
                        .push(spanned(format!("one more spot {}", spot + 1), span));
                }
                let added: Vec<_> = track.spots[before.len()..].to_vec();
                let station = railroad.way.stations[id.station.index()].name.value.clone();
                for flow in &mut railroad.traffic.flows {
                    let here = flow.station.as_ref().is_some_and(|at| at.value == station)
                        && flow.track.as_ref().is_some_and(|on| on.value == name);
                    if here && !flow.spots.is_empty() {
                        flow.spots.extend(added.iter().cloned());
                    }
                }
            }
            Self::LongerTrain(at, more) => {
                if let Some(length) = &mut railroad.service.trains[*at].max_length {
                    length.value += *more;
                }
            }
            Self::Less(flow, fewer) => {
                if let Some(rate) = &mut railroad.traffic.flows[flow.index()].cars_per_week {
                    rate.value = (rate.value - fewer).max(0.0);
                }
            }
        }
    }
}
