//! A new plan held against the one in force: what it changes, what it goes against among the orders that
//! are out, and the orders that have to go out with it. Who makes the plan is not known here.

use std::collections::BTreeMap;

use model::time::{RailSpan, RailTime};
use transportation::Method;

use crate::{
    command::NewPlan,
    opening::CallSheet,
    order::OrderText,
    state::{
        State,
        sheet::{OrderNow, TrainNow},
    },
};

/// Less than this is no change to people.
const SMALL: RailSpan = RailSpan::from_minutes(2);

/// A new plan and what it means. Nothing of it is in force, and no order is out, until the dispatcher says so.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// For [`Command::TakePlan`](crate::Command::TakePlan).
    pub plan: NewPlan,
    /// Where it goes against orders and authorities that are out, a sentence each.
    pub against: Vec<String>,
    /// The orders to go out with it, and to which trains, in the order in which they are to be given.
    pub orders: Vec<(OrderText, Vec<String>)>,
}

/// Holds new calls of trains (all calls of their ways, in order) against the plan in force.
pub fn offer(state: &State, trains: Vec<(String, Vec<CallSheet>)>) -> Offer {
    let mut changes = Vec::new();
    let mut changed = Vec::new();
    let old = Timed::of(state, &BTreeMap::new());
    let calls: BTreeMap<String, Vec<CallSheet>> = trains
        .into_iter()
        .filter(|(symbol, _)| state.train(symbol).is_some_and(TrainNow::active))
        .collect();
    let new = Timed::of(state, &calls);
    for (symbol, calls) in &calls {
        let Some(train) = state.train(symbol) else {
            continue;
        };
        let sentences = sentences(state, train, calls);
        let moved = calls.iter().zip(&train.calls).any(|(new, old)| {
            old.left.is_none()
                && (apart(new.leave, old.plan.leave) >= SMALL
                    || apart(new.arrive, old.plan.arrive) >= SMALL
                    || new.track != old.plan.track)
        });
        if moved {
            changed.push((symbol.clone(), calls.clone()));
        }
        changes.extend(sentences);
    }
    let (mut against, mut orders) = (Vec::new(), Vec::new());
    let (before, after) = (old.meetings(state), new.meetings(state));
    for ((one, other), place) in &after {
        let was = before.get(&(one.clone(), other.clone()));
        if was == Some(place) {
            continue;
        }
        let titles = [state.title(one), state.title(other)];
        let name = &state.opening.stations[*place].name;
        changes.push(match was {
            Some(was) => format!(
                "{} meets {} at {name} instead of {}",
                titles[0], titles[1], state.opening.stations[*was].name
            ),
            None => format!("{} meets {} at {name}", titles[0], titles[1]),
        });
        if state.opening.method == Method::TimetableAndTrainOrder {
            let both = vec![one.clone(), other.clone()];
            for order in out_about(state, one, other) {
                against.push(format!(
                    "order {} ({}) does not hold by the new plan",
                    order.number,
                    order
                        .text
                        .sentence(&|symbol| state.title(symbol), &|time| state
                            .opening
                            .time(time))
                ));
                let to = order.copies.iter().map(|copy| copy.train.clone()).collect();
                orders.push((
                    OrderText::AnnulOrder {
                        number: order.number,
                    },
                    to,
                ));
            }
            orders.push((
                OrderText::Meet {
                    train: one.clone(),
                    others: vec![(other.clone(), name.clone())],
                },
                both,
            ));
        }
    }
    against.extend(authorities_too_far(state, &after));
    Offer {
        plan: NewPlan {
            made_at: state.revision(),
            trains: changed,
            changes,
        },
        against,
        orders,
    }
}

fn apart(one: RailTime, other: RailTime) -> RailSpan {
    (one - other).max(other - one)
}

/// What changes for one train, leaving its meets apart.
fn sentences(state: &State, train: &TrainNow, calls: &[CallSheet]) -> Vec<String> {
    let mut all = Vec::new();
    let name = |call: &CallSheet| state.opening.stations[call.station].name.as_str();
    for (new, old) in calls.iter().zip(&train.calls) {
        if old.left.is_some() || old.arrived.is_some() {
            continue;
        }
        if let Some(track) = new.track.as_ref().filter(|_| new.track != old.plan.track) {
            all.push(format!("{} takes {track} at {}", train.title(), name(new)));
        }
    }
    let (Some(new), Some(old)) = (calls.last(), train.calls.last()) else {
        return all;
    };
    let off = new.arrive - old.plan.arrive;
    if apart(new.arrive, old.plan.arrive) >= SMALL && old.arrived.is_none() {
        let minutes = off.seconds().abs() / 60;
        all.push(format!(
            "{} arrives at {} at {}, {minutes} min {}",
            train.title(),
            name(new),
            state.opening.time(new.arrive),
            if off > RailSpan::ZERO {
                "later"
            } else {
                "earlier"
            }
        ));
    }
    all
}

/// A call: its station, when the train is there, and by what it goes on.
type TimedCall = (usize, RailTime, RailTime, Option<usize>);

/// When each train is at each of its calls: as it was, else as it is planned.
struct Timed {
    trains: Vec<(String, Vec<TimedCall>)>,
}

impl Timed {
    fn of(state: &State, new: &BTreeMap<String, Vec<CallSheet>>) -> Self {
        let trains = state
            .sheet
            .trains
            .iter()
            .filter(|train| train.active())
            .map(|train| {
                let calls = train
                    .calls
                    .iter()
                    .enumerate()
                    .map(|(at, now)| {
                        let plan = new
                            .get(train.symbol())
                            .and_then(|calls| calls.get(at))
                            .unwrap_or(&now.plan);
                        let arrive = now.arrived.unwrap_or(plan.arrive);
                        let leave = now.left.unwrap_or(plan.leave);
                        (plan.station, arrive, leave, plan.next)
                    })
                    .collect();
                (train.symbol().to_owned(), calls)
            })
            .collect();
        Self { trains }
    }

    /// Where trains in opposite directions meet, as far as that is still to come: pairs in the order of the
    /// sheet, and the station. Along the way of one the other is behind it on every district up to some
    /// station, and ahead of it from there on: that is the place.
    fn meetings(&self, state: &State) -> BTreeMap<(String, String), usize> {
        let mut found = BTreeMap::new();
        for (number, (one, mine)) in self.trains.iter().enumerate() {
            for (other, theirs) in &self.trains[number + 1..] {
                let mut first_behind = None;
                let mut any_before = false;
                for (at, (station, _, leave, next)) in mine.iter().enumerate() {
                    let Some(district) = next else { continue };
                    let opposite = theirs
                        .iter()
                        .enumerate()
                        .find(|(_, call)| call.3 == Some(*district) && call.0 != *station);
                    let Some((their_at, (_, _, their_leave, _))) = opposite else {
                        continue;
                    };
                    if leave < their_leave {
                        any_before = true;
                    } else if first_behind.is_none() {
                        first_behind = Some((at, their_at));
                    }
                }
                let Some((at, their_at)) = first_behind else {
                    continue;
                };
                // One that only begins there when the other has gone by does not meet it.
                if !any_before && at == 0 && mine[0].2 > theirs[their_at + 1].1 + SMALL {
                    continue;
                }
                let gone = state
                    .train(one)
                    .is_some_and(|train| train.calls[at].left.is_some());
                if !gone {
                    found.insert((one.clone(), other.clone()), mine[at].0);
                }
            }
        }
        found
    }
}

/// Orders out that fix a meet of two trains or give one right over the other.
fn out_about<'a>(state: &'a State, one: &str, other: &str) -> Vec<&'a OrderNow> {
    state
        .sheet
        .orders
        .iter()
        .filter(|order| {
            let about = order.text.trains();
            !order.over
                && matches!(
                    order.text,
                    OrderText::Meet { .. } | OrderText::RightOver { .. }
                )
                && about.contains(&one)
                && about.contains(&other)
        })
        .collect()
}

/// Authorities that lead a train past the place where it is now to wait for another.
fn authorities_too_far(state: &State, meetings: &BTreeMap<(String, String), usize>) -> Vec<String> {
    let mut found = Vec::new();
    for ((one, other), place) in meetings {
        for (symbol, against) in [(one, other), (other, one)] {
            let Some(train) = state.train(symbol) else {
                continue;
            };
            let at = |name: &str| {
                let station = state.opening.find_station(name);
                train
                    .calls
                    .iter()
                    .position(|call| Some(call.plan.station) == station)
            };
            let meet = train
                .calls
                .iter()
                .position(|call| call.plan.station == *place);
            for order in state.sheet.orders.iter().filter(|order| !order.over) {
                if let OrderText::Authority {
                    train: whose,
                    from,
                    to,
                    ..
                } = &order.text
                    && whose == symbol
                    && let (Some(from), Some(last), Some(meet)) = (at(from), at(to), meet)
                    && from < meet
                    && meet < last
                    && train.calls[meet].left.is_none()
                {
                    found.push(format!(
                        "authority {} leads {} to {to}, and it is now to meet {} at {}: have it given back there",
                        order.number,
                        train.title(),
                        state.title(against),
                        state.opening.stations[*place].name
                    ));
                }
            }
        }
    }
    found.sort();
    found.dedup();
    found
}
