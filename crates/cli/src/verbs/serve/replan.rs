//! A new plan for the rest of a session: the state as it is compiled for the planner, and its answer held
//! against the plan in force and the orders that are out.

use engineering::station::{StationKind, TrackUse};
use model::time::RailTime;
use planning::rest::{self, Call, District, MeetingTrack, Options, Rest, Train, Where};
use railroad::Railroad;
use session::{
    State,
    opening::CallSheet,
    replan::offer,
    state::sheet::{At, TrainNow},
};
use web::services::{Progress, ReplanAsk, Replanned, Sorry};

/// How long closed track is taken to stay closed when nobody has said: railroad seconds. Common practice,
/// no source; the dispatcher plans anew when it opens.
const CLOSED: i64 = 30 * 60;

/// About how long an engine, and a caboose, is on the model, in meters: only for whether a train fits.
const ENGINE: f64 = 0.25;

/// About how long one car takes to set out or pick up, railroad seconds, where the plan has no work time.
const PER_CAR: i64 = 5 * 60;

/// Plans the rest of a session.
pub fn replan(_: &Railroad, ask: &ReplanAsk, progress: &Progress) -> Result<Replanned, Sorry> {
    let state = &*ask.state;
    let now = state.rail(ask.now);
    let active: Vec<&TrainNow> = state
        .sheet
        .trains
        .iter()
        .filter(|train| train.active())
        .collect();
    let rest = rest(state, &active, now);
    let planned =
        rest::plan(&rest, &Options::default(), &|| progress.stopped()).map_err(|no| Sorry {
            what: no.to_string(),
            help: None,
        })?;
    let trains = active
        .iter()
        .zip(&planned.trains)
        .map(|(train, times)| (train.symbol().to_owned(), calls(state, train, times)))
        .collect();
    let offer = offer(state, trains);
    let station = |train: usize, call: usize| {
        let at = rest.trains[train].calls[call].station;
        state.opening.stations[at].name.as_str()
    };
    let reasons = planned
        .waits
        .iter()
        .filter(|wait| wait.until - wait.from >= 120 && wait.train < rest.trains.len())
        .map(|wait| {
            let whom = match wait.for_whom.first() {
                Some(other) => rest.trains[*other].name.clone(),
                None => "the track to open".to_owned(),
            };
            format!(
                "{} waits {} min at {} for {whom}",
                rest.trains[wait.train].name,
                (wait.until - wait.from) / 60,
                station(wait.train, wait.call)
            )
        })
        .collect();
    Ok(Replanned {
        changes: offer.plan.changes.clone(),
        plan: offer.plan,
        reasons,
        against: offer.against,
        orders: offer.orders,
    })
}

/// The tracks of a station on which trains meet, by their place in the sheet.
fn meeting_tracks(state: &State, station: usize) -> Vec<usize> {
    let tracks = &state.opening.stations[station].tracks;
    (0..tracks.len())
        .filter(|&at| {
            matches!(
                tracks[at].usage,
                TrackUse::Main | TrackUse::Siding | TrackUse::ArrivalDeparture
            )
        })
        .collect()
}

fn rest(state: &State, active: &[&TrainNow], now: RailTime) -> Rest {
    let opening = &state.opening;
    Rest {
        now: now.seconds(),
        stations: opening
            .stations
            .iter()
            .enumerate()
            .map(|(number, station)| {
                meeting_tracks(state, number)
                    .into_iter()
                    .map(|at| MeetingTrack {
                        open: state
                            .out_of_service(&station.name, &station.tracks[at].name)
                            .is_none(),
                        length: station.tracks[at].room,
                    })
                    .collect()
            })
            .collect(),
        districts: opening
            .districts
            .iter()
            .enumerate()
            .map(|(at, district)| District {
                tracks: district.tracks,
                blocks: district.blocks,
                closed_until: state.closed_because(at).map(|_| now.seconds() + CLOSED),
            })
            .collect(),
        trains: active
            .iter()
            .map(|train| train_now(state, train, now))
            .collect(),
    }
}

fn train_now(state: &State, train: &TrainNow, now: RailTime) -> Train {
    let first = train.call();
    let track = |call: usize| {
        let now = &train.calls[call];
        let name = now.track.as_ref().or(now.plan.track.as_ref())?;
        let station = now.plan.station;
        let tracks = &state.opening.stations[station].tracks;
        meeting_tracks(state, station)
            .into_iter()
            .position(|at| tracks[at].name == *name)
    };
    let cars: f64 = train
        .consist
        .iter()
        .filter_map(|car| state.opening.find_car(car))
        .map(|at| state.opening.cars[at].length)
        .sum();
    Train {
        name: train.title(),
        class: train.sheet.class.unwrap_or(u8::MAX),
        length: cars + ENGINE * (train.sheet.engines.len().max(1) + 1) as f64,
        at: match train.at {
            At::Line { call } => {
                let planned = train
                    .calls
                    .get(call + 1)
                    .map_or(now, |next| next.plan.arrive);
                let run = planned - train.calls[call].plan.leave;
                let left = train.calls[call].left.unwrap_or(now);
                // One that is overdue may come in at any minute.
                let held = state.held_until(train).unwrap_or(now);
                let arrives = (left + run).max(held).seconds().max(now.seconds() + 60);
                Where::Line { arrives }
            }
            At::Station { call, .. } => Where::Station { track: track(call) },
            _ => Where::Waiting,
        },
        calls: (first..train.calls.len())
            .map(|call| call_now(state, train, call, track(call), now))
            .collect(),
    }
}

fn call_now(
    state: &State,
    train: &TrainNow,
    call: usize,
    track: Option<usize>,
    now: RailTime,
) -> Call {
    let here = &train.calls[call];
    let plan = &here.plan;
    let station = &state.opening.stations[plan.station];
    let open = state.work_at(train, call).len() as i64;
    let all = here.work.len().max(1) as i64;
    // Of the planned time for work, the part that is still to be done.
    let work = plan
        .work_seconds
        .map_or(open * PER_CAR, |seconds| seconds * open / all);
    let due = plan.due_leave.map(RailTime::seconds);
    let waiting = matches!(train.at, At::Waiting) && call == 0;
    let stands = call == train.call() && !matches!(train.at, At::Line { .. });
    let held = state.held_until(train).filter(|_| stands);
    Call {
        station: plan.station,
        track,
        out_of_the_way: matches!(station.kind, StationKind::Staging | StationKind::Yard)
            || call + 1 == train.calls.len(),
        next: plan.next.map(|district| {
            (
                district,
                state.opening.districts[district].ends[0] == plan.station,
            )
        }),
        stands: work,
        leaves: due
            .or(waiting.then(|| plan.leave.seconds()))
            .unwrap_or(now.seconds())
            .max(held.map_or(i64::MIN, RailTime::seconds)),
        runs: train
            .calls
            .get(call + 1)
            .map_or(0, |next| (next.plan.arrive - plan.leave).seconds().max(0)),
        due: plan.due_arrive.or(plan.due_leave).map(RailTime::seconds),
        planned: plan.arrive.seconds(),
    }
}

/// All calls of a train: what has been as it was, what is to come as it is planned now.
fn calls(state: &State, train: &TrainNow, times: &[rest::Time]) -> Vec<CallSheet> {
    let first = train.call();
    let mut last = RailTime::from_seconds(i64::MIN / 4);
    train
        .calls
        .iter()
        .enumerate()
        .map(|(at, now)| {
            let mut call = now.plan.clone();
            let time = at.checked_sub(first).and_then(|at| times.get(at));
            if let Some(time) = time.filter(|_| now.left.is_none()) {
                call.arrive = RailTime::from_seconds(time.arrive);
                call.leave = RailTime::from_seconds(time.leave);
                if now.arrived.is_none() && at > first {
                    let tracks = &state.opening.stations[call.station].tracks;
                    let on = time
                        .track
                        .and_then(|on| meeting_tracks(state, call.station).get(on).copied());
                    if let Some(on) = on {
                        call.track = Some(tracks[on].name.clone());
                    }
                }
            }
            call.arrive = now.arrived.or(now.left).unwrap_or(call.arrive).max(last);
            call.leave = now.left.unwrap_or(call.leave).max(call.arrive);
            last = call.leave;
            call
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use model::time::RailSpan;
    use railroad::{Folder, load};
    use session::{Command, Who, rehearse::Crews};
    use web::services::OpeningAsk;

    use super::*;

    /// A session of the learning road, played without mishaps until a time of the day.
    fn played(minutes: i64) -> (Railroad, State, i64) {
        let loaded = load(&Folder::built_in("learning").unwrap());
        let ask = OpeningAsk {
            name: "a test".into(),
        };
        let opening =
            super::super::services::opening(&loaded.railroad, &ask, &Progress::default()).unwrap();
        let ends = opening.begins + RailSpan::from_minutes(minutes);
        let mut now = 0;
        let mut state = State::new(Arc::new(opening), now);
        let mut crews = Crews::new(1, false);
        while state.rail(now) < ends {
            let rail = state.rail(now);
            let Some(said) = crews.next(&state, rail) else {
                now += state
                    .sheet
                    .clock
                    .real_millis(crews.wakes(rail) - rail)
                    .max(1000);
                continue;
            };
            match state.decide(&said.command, &said.who, None, now) {
                Ok(events) => {
                    events.iter().for_each(|event| state.apply(event));
                    crews.hear(&said, rail, Ok(&state));
                }
                Err(no) => crews.hear(&said, rail, Err(&no)),
            }
        }
        (loaded.railroad, state, now)
    }

    #[test]
    fn the_rest_of_a_session_is_planned_anew_and_can_be_put_in_force() {
        let (railroad, state, now) = played(150);
        let moved = state.sheet.trains.iter().any(|train| train.call() > 0);
        assert!(moved, "nothing has run by then");
        // Everybody stands for an hour: every plan made in the morning is worth nothing.
        let now = now + state.sheet.clock.real_millis(RailSpan::from_minutes(60));
        let ask = ReplanAsk {
            state: Arc::new(state.clone()),
            now,
        };
        let new = replan(&railroad, &ask, &Progress::default()).unwrap();
        assert!(
            !new.plan.trains.is_empty() && !new.changes.is_empty(),
            "{new:?}"
        );
        // No train is planned where it cannot be: nothing to come lies before now.
        let rail = state.rail(now);
        for (symbol, calls) in &new.plan.trains {
            let train = state.train(symbol).unwrap();
            for (call, was) in calls.iter().zip(&train.calls) {
                assert!(
                    was.left.is_some() || call.leave >= rail,
                    "{symbol}: {call:?}"
                );
            }
        }
        let take = Command::TakePlan { plan: new.plan };
        let events = state.decide(&take, &Who::office(), None, now).unwrap();
        let mut after = state;
        events.iter().for_each(|event| after.apply(event));
        assert_eq!(after.sheet.plan_changes, new.changes);
        // Planned again from there, there is nothing left to change.
        let ask = ReplanAsk {
            state: Arc::new(after),
            now,
        };
        let again = replan(&railroad, &ask, &Progress::default()).unwrap();
        assert_eq!(again.changes, Vec::<String>::new());
    }

    #[test]
    fn a_delay_that_is_announced_moves_the_plan() {
        let (railroad, state, now) = played(20);
        let waiting = state
            .sheet
            .trains
            .iter()
            .find(|train| train.active() && train.at == At::Waiting)
            .expect("every train has left by then");
        let (symbol, planned) = (waiting.symbol().to_owned(), waiting.calls[0].plan.leave);
        let delay = Command::Delay {
            train: symbol.clone(),
            cause: session::command::Cause::Crew,
            minutes: 45,
            text: String::new(),
        };
        let events = state.decide(&delay, &Who::office(), None, now).unwrap();
        let mut late = state;
        events.iter().for_each(|event| late.apply(event));
        let held = planned.max(late.rail(now)) + RailSpan::from_minutes(45);
        let ask = ReplanAsk {
            state: Arc::new(late),
            now,
        };
        let new = replan(&railroad, &ask, &Progress::default()).unwrap();
        let moved = new.plan.trains.iter().find(|(one, _)| *one == symbol);
        let (_, calls) = moved.expect("the plan does not move the train");
        assert!(calls[0].leave >= held, "{:?}", calls[0]);
    }
}
