//! What a time-distance diagram shows, apart from how.

use engineering::{ids::LineId, station::TrackUse};
use model::{
    time::{RailTime, TimeStyle},
    units::Actual,
};
use railroad::Railroad;
use transportation::day::{DayPlan, EncounterKind, judge::Fault};

/// A line's day.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// The railroad's name.
    pub railroad: String,
    /// The line's.
    pub line: String,
    /// What the directions toward lower and higher miles are called.
    pub directions: [String; 2],
    /// The day, in words, if it is known.
    pub date: Option<String>,
    /// Stations, by mile.
    pub stations: Vec<Place>,
    /// Trains, in the order of the plan.
    pub traces: Vec<Trace>,
    /// What the judge finds wrong, if the plan was not passed.
    pub conflicts: Vec<Conflict>,
    /// The first and the last hour shown.
    pub hours: [i64; 2],
    /// How times are shown.
    pub style: TimeStyle,
}

/// A station of the diagram.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Its name.
    pub name: String,
    /// Its mile on the line: what its distance on paper is in proportion to.
    pub mile: f64,
    /// The longest track on which a train can meet another; nothing where there is none.
    pub siding: Option<Actual>,
}

/// A train on the line.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// Number or symbol.
    pub symbol: String,
    /// Its class.
    pub class: i64,
    /// Whether it is an extra.
    pub extra: bool,
    /// Its course: where and when; parted where it is on another line between.
    pub runs: Vec<Vec<Stop>>,
    /// The course as timetabled, where times are written.
    pub due: Vec<(RailTime, usize)>,
    /// The course as it came about, if that is known.
    pub actual: Vec<(RailTime, usize)>,
}

/// A train at a station of the line.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// Index of the station.
    pub place: usize,
    /// When it has come in.
    pub arrive: RailTime,
    /// When it goes on.
    pub leave: RailTime,
    /// For how many seconds it works there.
    pub work: i64,
    /// When it waits there for other trains.
    pub waits: Vec<(RailTime, RailTime)>,
    /// When other trains meet it there, and whether it is overtaken.
    pub meets: Vec<(RailTime, EncounterKind)>,
}

/// Something wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Conflict {
    /// When, as near as can be said.
    pub at: RailTime,
    /// Index of the station.
    pub place: usize,
    /// What, in a sentence.
    pub what: String,
}

/// Gathers what the diagram of a line shows.
pub fn facts(
    railroad: &Railroad,
    line: LineId,
    plan: &DayPlan,
    actual: Option<&DayPlan>,
    faults: &[Fault],
) -> Facts {
    let way = &railroad.way;
    let page = way.line(line);
    let order = way.line_stations(line);
    let stations: Vec<Place> = order
        .iter()
        .map(|id| {
            let station = way.station(*id);
            let siding = station
                .tracks()
                .filter(|(_, track)| {
                    matches!(track.usage, TrackUse::Siding | TrackUse::ArrivalDeparture)
                })
                .map(|(track, _)| {
                    let track = engineering::ids::TrackRef {
                        station: *id,
                        track,
                    };
                    railroad.network.usable(way, track).length
                })
                .max_by(Actual::total_cmp);
            Place {
                name: station.name.value.clone(),
                mile: station.mile(line).unwrap_or(0.0),
                siding,
            }
        })
        .collect();
    let place = |id| order.iter().position(|station| *station == id);
    let mut traces = Vec::new();
    let mut first = i64::MAX;
    let mut last = i64::MIN;
    for (index, train) in plan.trains.iter().enumerate() {
        let mut trace = Trace {
            symbol: train.symbol.clone(),
            class: train.class,
            extra: train.extra,
            runs: Vec::new(),
            due: Vec::new(),
            actual: Vec::new(),
        };
        let mut run: Vec<Stop> = Vec::new();
        for (at, call) in train.calls.iter().enumerate() {
            let Some(here) = place(call.station) else {
                trace.runs.push(std::mem::take(&mut run));
                continue;
            };
            // Between two stations of the line it may have been on another.
            let joined = at.checked_sub(1).is_none_or(|before| {
                place(train.calls[before].station).is_some_and(|before| before.abs_diff(here) == 1)
            });
            if !joined {
                trace.runs.push(std::mem::take(&mut run));
            }
            let waits = train
                .waits
                .iter()
                .filter(|wait| {
                    // Time to spare in the timetable is no wait for a train.
                    wait.station == call.station && !wait.outside && !wait.for_whom.is_empty()
                })
                .map(|wait| (wait.from, wait.until))
                .collect();
            let meets = call
                .meets
                .iter()
                .map(|meet| {
                    let other = plan.trains[meet.other.0].call(call.station);
                    let when = other.map_or(call.arrive, |other| other.arrive.max(call.arrive));
                    (when.min(call.leave), meet.kind)
                })
                .collect();
            run.push(Stop {
                place: here,
                arrive: call.arrive,
                leave: call.leave,
                work: call.work.map_or(0, |work| work.seconds()),
                waits,
                meets,
            });
            trace.due.extend(call.due_arrive.map(|time| (time, here)));
            trace.due.extend(call.due_leave.map(|time| (time, here)));
            first = first.min(call.arrive.seconds());
            last = last.max(call.leave.seconds());
        }
        trace.runs.push(run);
        trace.runs.retain(|run| run.len() > 1);
        if let Some(train) = actual.and_then(|actual| actual.trains.get(index)) {
            for call in &train.calls {
                if let Some(here) = place(call.station) {
                    trace.actual.push((call.arrive, here));
                    trace.actual.push((call.leave, here));
                }
            }
        }
        if !trace.runs.is_empty() {
            traces.push(trace);
        }
    }
    let conflicts = faults
        .iter()
        .filter_map(|fault| {
            let place = place(fault.station)?;
            let at = fault
                .trains
                .iter()
                .filter_map(|train| plan.trains.get(train.0)?.call(fault.station))
                .map(|call| call.leave)
                .max()?;
            Some(Conflict {
                at,
                place,
                what: fault.what.clone(),
            })
        })
        .collect();
    let hours = if first <= last {
        [first.div_euclid(3600), last.div_euclid(3600) + 1]
    } else {
        [0, 24]
    };
    Facts {
        railroad: railroad.identity.name.clone(),
        line: page.name.value.clone(),
        directions: page.directions.clone(),
        date: railroad
            .identity
            .date
            .map(|date| date.value.show(model::date::DateStyle::Full).to_string()),
        stations,
        traces,
        conflicts,
        hours,
        style: railroad.identity.clock_face.style(),
    }
}
