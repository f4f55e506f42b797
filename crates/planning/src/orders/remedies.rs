//! Which orders would help, and where they can still be delivered.

use model::time::{RailSpan, RailTime, TimeStyle};
use transportation::{
    order::{Body, Delivery, PlaceNo, Run, RunNo, Territory, To},
    rights::{Book, Encounter, Superior, run_late, superior, wait_until},
};

use super::needs::{Kind, Need, shown, shown_arrival};

/// An order that could be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Remedy {
    pub group: Group,
    /// The needs it helps with, by number, in order.
    pub helps: Vec<usize>,
}

/// What one order can hold together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Group {
    /// Meets of one train.
    Meet(RunNo),
    /// What one train runs ahead of.
    Ahead(RunNo),
    /// One thing, for however many trains.
    Whole(Body),
}

/// An order before it has a number and a time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Draft {
    pub body: Body,
    pub copies: Vec<Delivery>,
}

/// All orders that would help, and the needs that none can be delivered for.
pub(super) fn find(
    territory: &Territory,
    needs: &[Need],
    book: &Book,
    style: TimeStyle,
) -> (Vec<Remedy>, Vec<String>) {
    let mut remedies: Vec<Remedy> = Vec::new();
    let mut join = |group: Group, need: usize| match remedies
        .iter_mut()
        .find(|remedy| remedy.group == group)
    {
        Some(remedy) => remedy.helps.push(need),
        None => remedies.push(Remedy {
            group,
            helps: vec![need],
        }),
    };
    for (number, need) in needs.iter().enumerate() {
        let first = office(territory, need.first, need.by);
        let other = office(territory, need.other, need.other_by);
        match need.kind {
            Kind::Annul if first.is_some() => {
                join(
                    Group::Whole(Body::AnnulSchedule { train: need.other }),
                    number,
                );
            }
            Kind::Meet if first.is_some() && other.is_some() => {
                join(Group::Meet(need.first), number);
                join(Group::Meet(need.other), number);
            }
            Kind::Right if first.is_some() && other.is_some() => {
                join(
                    Group::Whole(Body::RightOver {
                        first: need.first,
                        over: need.other,
                        from: need.from,
                        to: need.to,
                    }),
                    number,
                );
            }
            Kind::Ahead if first.is_some() && other.is_some() => {
                join(Group::Ahead(need.first), number);
            }
            _ => {}
        }
    }
    for (other, run) in territory.numbered() {
        let of: Vec<usize> = (0..needs.len())
            .filter(|&need| needs[need].other == other && needs[need].kind != Kind::Annul)
            .collect();
        if of.is_empty() || run.class.is_none() {
            continue;
        }
        for body in lateness(other, run) {
            let helps: Vec<usize> = of
                .iter()
                .copied()
                .filter(|&need| {
                    let need = &needs[need];
                    let begins = begins(run, &body);
                    helps(run, need, &body)
                        && office(territory, need.first, need.by).is_some()
                        && office(territory, other, begins.min(need.other_by)).is_some()
                })
                .collect();
            if !helps.is_empty() {
                remedies.push(Remedy {
                    group: Group::Whole(body),
                    helps,
                });
            }
        }
    }
    let undelivered = needs
        .iter()
        .enumerate()
        .filter(|(number, _)| !remedies.iter().any(|remedy| remedy.helps.contains(number)))
        .map(|(_, need)| no_office(territory, need, style))
        .collect();
    let _ = book;
    (remedies, undelivered)
}

fn no_office(territory: &Territory, need: &Need, style: TimeStyle) -> String {
    let (first, other) = (territory.run(need.first), territory.run(need.other));
    let mut missing = Vec::new();
    for (train, run, by) in [
        (need.first, first, need.by),
        (need.other, other, need.other_by),
    ] {
        if office(territory, train, by).is_none() {
            let visit = run.visits[by];
            missing.push(format!(
                "{} passes no open train-order office up to {}, which it leaves at {}",
                run.title(),
                territory.place(visit.place).name,
                visit.leave.show(style)
            ));
        }
    }
    format!(
        "{} and {} need an order by {}, and {}; open an office there, or let one of them wait",
        first.title(),
        other.title(),
        territory.place(need.from).name,
        missing.join("; ")
    )
}

/// The last open office up to a station of a train's way: where it stops anyway, and the very last.
fn office(territory: &Territory, train: RunNo, up_to: usize) -> Option<(usize, usize)> {
    let run = territory.run(train);
    let open = |at: &usize| {
        let visit = &run.visits[*at];
        let place = territory.place(visit.place);
        // A place it comes by twice hands an order out the first time.
        run.visit_at(visit.place, 0) == Some(*at)
            && ((*at == 0 && place.hands_out)
                || place.open_at(visit.leave)
                || place.open_at(visit.arrive))
    };
    let last = (0..=up_to).rev().find(open)?;
    let stops = (0..=last)
        .rev()
        .find(|at| open(at) && (*at == 0 || run.visits[*at].stops));
    Some((stops.unwrap_or(last), last))
}

/// Ways to tell others how late a train runs: late by a span between two places, or waiting at a place.
fn lateness(train: RunNo, run: &Run) -> Vec<Body> {
    let stations = run.visits.len();
    let late: Vec<i64> = (0..stations)
        .map(|at| {
            let planned = run.visits[at].leave;
            shown(run, at).map_or(0, |due| planned.since(due).seconds().div_euclid(60))
        })
        .collect();
    let mut bodies = Vec::new();
    let mut spans: Vec<i64> = late
        .iter()
        .copied()
        .filter(|&minutes| minutes > 0)
        .collect();
    spans.sort_unstable();
    spans.dedup();
    for minutes in spans {
        let span = RailSpan::from_minutes(minutes);
        let mut from = 0;
        while from + 1 < stations {
            if late[from] < minutes {
                from += 1;
                continue;
            }
            let mut to = from + 1;
            let enough = |at: usize| {
                shown_arrival(run, at)
                    .is_some_and(|due| run.visits[at].leave >= run_late(due, span))
            };
            while to + 1 < stations && late[to] >= minutes {
                to += 1;
            }
            if enough(to) || to + 1 == stations {
                bodies.push(Body::RunLate {
                    train,
                    late: span,
                    from: run.visits[from].place,
                    to: run.visits[to].place,
                });
            } else if to > from + 1 {
                bodies.push(Body::RunLate {
                    train,
                    late: span,
                    from: run.visits[from].place,
                    to: run.visits[to - 1].place,
                });
            }
            from = to;
        }
    }
    for at in 0..stations - 1 {
        if late[at] > 0 && (at == 0 || late[at] > late[at - 1]) {
            let leave = run.visits[at].leave.seconds().div_euclid(60) * 60;
            bodies.push(Body::Wait {
                train,
                at: vec![(run.visits[at].place, RailTime::from_seconds(leave))],
            });
        }
    }
    bodies
}

/// From which of its stations on an order about its lateness binds a train.
fn begins(run: &Run, body: &Body) -> usize {
    let place = match body {
        Body::RunLate { from, .. } => Some(*from),
        Body::Wait { at, .. } => at.first().map(|(place, _)| *place),
        _ => None,
    };
    place.and_then(|place| run.visit_at(place, 0)).unwrap_or(0)
}

/// When a train leaves or arrives at the earliest, for those who hold an order about it.
fn expected(run: &Run, at: usize, arriving: bool, body: &Body) -> Option<RailTime> {
    let due = if arriving {
        shown_arrival(run, at)?.max(shown(run, at.saturating_sub(1))?)
    } else {
        shown(run, at)?
    };
    let place = |place: PlaceNo| run.visit_at(place, 0);
    Some(match body {
        Body::RunLate { late, from, to, .. } => {
            let (from, to) = (place(*from)?, place(*to)?);
            if (from..to).contains(&at) && (!arriving || at > from) {
                run_late(due, *late)
            } else if at == to {
                due.max(run_late(shown_arrival(run, at)?, *late))
            } else {
                due
            }
        }
        Body::Wait { at: places, .. } => places.iter().fold(due, |due, (waits, until)| {
            let reached = if arriving { at.saturating_sub(1) } else { at };
            if place(*waits).is_some_and(|first| first <= reached) {
                wait_until(due, *until)
            } else {
                due
            }
        }),
        _ => due,
    })
}

/// Whether a train that knows how late the other runs can do as the plan has it.
fn helps(run: &Run, need: &Need, body: &Body) -> bool {
    need.limits.iter().all(|limit| {
        expected(run, limit.at, limit.arriving, body)
            .is_some_and(|time| limit.arrives <= time - limit.clear)
    })
}

/// Whether the other train gives way by this order where by the timetable it need not.
fn restricts(territory: &Territory, need: &Need, book: &Book) -> bool {
    let mine = territory.rank(need.first, need.by);
    let theirs = territory.rank(need.other, need.other_by);
    let encounter = match need.kind {
        Kind::Ahead => Encounter::SameDirection,
        _ => Encounter::Opposing,
    };
    match (mine, theirs) {
        (Some(mine), Some(theirs)) => {
            matches!(
                superior(mine, theirs, encounter, None, book),
                Superior::Second(_)
            )
        }
        _ => false,
    }
}

/// Writes an order for some of the needs it helps with, and a holding order where a train gets it only
/// at the place where it is to give way.
pub(super) fn write(
    territory: &Territory,
    needs: &[Need],
    remedy: &Remedy,
    part: &[usize],
    book: &Book,
) -> Vec<Draft> {
    let body = match &remedy.group {
        Group::Meet(train) => {
            let mut others: Vec<(usize, RunNo, PlaceNo)> = part
                .iter()
                .map(|&need| {
                    let need = &needs[need];
                    let other = if need.first == *train {
                        need.other
                    } else {
                        need.first
                    };
                    let along = territory.run(*train).visit_at(need.to, 0);
                    (along.unwrap_or(usize::MAX), other, need.to)
                })
                .collect();
            others.sort_unstable();
            Body::Meet {
                train: *train,
                others: others
                    .into_iter()
                    .map(|(_, other, at)| (other, at))
                    .collect(),
            }
        }
        Group::Ahead(first) => Body::Ahead {
            first: *first,
            seconds: part
                .iter()
                .map(|&need| (needs[need].other, needs[need].from, needs[need].to))
                .collect(),
        },
        Group::Whole(body) => body.clone(),
    };
    // Who must have it before leaving which station, and who signs.
    let mut gets: Vec<(RunNo, usize, bool)> = Vec::new();
    let mut give = |train: RunNo, by: usize, signed: bool| match gets
        .iter_mut()
        .find(|(who, ..)| *who == train)
    {
        Some((_, first, signs)) => {
            *first = by.min(*first);
            *signs |= signed;
        }
        None => gets.push((train, by, signed)),
    };
    for &need in part {
        let need = &needs[need];
        give(need.first, need.by, false);
        if need.kind != Kind::Annul {
            let by = match &remedy.group {
                Group::Whole(body @ (Body::RunLate { .. } | Body::Wait { .. })) => {
                    begins(territory.run(need.other), body).min(need.other_by)
                }
                _ => need.other_by,
            };
            give(need.other, by, restricts(territory, need, book));
        }
    }
    let mut drafts = Vec::new();
    let mut copies = Vec::new();
    for (train, by, signed) in gets {
        let run = territory.run(train);
        // Where it is to give way it should have the order already: only if there is no office before
        // does it get it there, and then the operator must hold it.
        let before = by
            .checked_sub(1)
            .filter(|_| signed)
            .and_then(|before| office(territory, train, before));
        let Some((at, last)) = before.or_else(|| office(territory, train, by)) else {
            continue;
        };
        let (at_place, last_place) = (run.visits[at].place, run.visits[last].place);
        copies.push(Delivery {
            to: To::Train(train),
            at: at_place,
            last: last_place,
            signed,
        });
        let gives_way = part
            .iter()
            .any(|&need| needs[need].other == train && needs[need].other_by == at);
        if signed && gives_way && at > 0 {
            drafts.push(Draft {
                body: Body::Hold {
                    train,
                    at: at_place,
                },
                copies: vec![Delivery {
                    to: To::Operator,
                    at: at_place,
                    last: at_place,
                    signed: false,
                }],
            });
        }
    }
    drafts.push(Draft { body, copies });
    drafts
}
