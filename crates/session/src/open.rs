//! A session's first page from the folder, the plan of its day, its trains as made up, its waybills and its
//! books: all nouns of lower departments, so that nobody who plans need be known here.

use std::collections::HashMap;

use engineering::{
    ids::{OpenRef, StationId},
    line::StructureKind,
};
use mechanical::{CarId, CarState};
use model::time::RailTime;
use railroad::{Railroad, TrainWay, identity::ClockFace, ways};
use traffic::{
    Bill, CarLoad,
    books::{Books, Whereabouts},
};
use transportation::{
    DayPlan, MadeUp, TrainId, TrainPlan,
    day::{Call, EncounterKind, Holds},
    order::{Body, Order, PlaceNo, RunNo, Territory, To},
};

use crate::{
    opening::{
        BillSheet, CallSheet, CarPlace, CarSheet, DistrictSheet, JobSheet, Opening, PersonSheet,
        PlannedOrder, StationSheet, TrackSheet, TrainSheet, WorkSheet,
    },
    order::OrderText,
};

/// What a session is opened from.
#[derive(Debug, Clone, Copy)]
pub struct Sources<'a> {
    /// The railroad.
    pub railroad: &'a Railroad,
    /// The plan of the day.
    pub plan: &'a DayPlan,
    /// What the trains carry; empty if nobody has billed.
    pub made_up: &'a [MadeUp],
    /// The waybills.
    pub bills: &'a [Bill],
    /// Where the cars are.
    pub books: &'a Books,
    /// The orders planned for the day, and the territory they speak of.
    pub orders: Option<(&'a Territory, &'a [Order])>,
}

/// Writes the first page of a session.
pub fn opening(from: Sources<'_>, name: &str) -> Opening {
    let railroad = from.railroad;
    let (districts, between) = districts(railroad);
    let service = &railroad.service;
    let operating = &service.operating;
    let first = from.plan.trains.iter().filter_map(|train| train.hours());
    let begins = railroad
        .identity
        .session
        .as_ref()
        .map(|session| session.begins)
        .or_else(|| first.map(|(leave, _)| leave).min())
        .unwrap_or(RailTime::MIDNIGHT);
    let trains = from
        .plan
        .trains
        .iter()
        .map(|train| train_sheet(from, train, &between))
        .collect();
    Opening {
        railroad: railroad.identity.name.clone(),
        name: name.to_owned(),
        date: railroad
            .identity
            .date
            .map(|date| date.value.show(model::date::DateStyle::Iso).to_string()),
        day: from.books.day,
        method: from.plan.method,
        begins,
        ratio: ratio(railroad.identity.clock),
        twenty_four: railroad.identity.clock_face == ClockFace::TwentyFour,
        extras_by_direction: operating.extras_by_direction,
        hours_of_service: operating.hours_of_service.seconds(),
        stations: stations(railroad),
        districts,
        trains,
        not_today: not_today(railroad, from.plan, &between),
        cars: cars(from),
        bills: from
            .bills
            .iter()
            .map(|bill| bill_sheet(railroad, bill))
            .collect(),
        orders: from
            .orders
            .map_or_else(Vec::new, |(territory, orders)| planned(territory, orders)),
        jobs: service
            .jobs
            .iter()
            .map(|job| JobSheet {
                name: job.name.value.clone(),
                trains: job.trains.iter().map(|train| train.value.clone()).collect(),
                people: u32::try_from(job.people.value).unwrap_or(1),
                roles: job
                    .roles
                    .iter()
                    .map(|role| role.value.to_string())
                    .collect(),
                on_duty: job.on_duty.map(|time| time.value),
                at: job.at.as_ref().map(|at| at.value.clone()),
            })
            .collect(),
        people: service
            .people
            .iter()
            .map(|person| PersonSheet {
                name: person.name.value.clone(),
                qualified: person.qualified.iter().map(ToString::to_string).collect(),
            })
            .collect(),
    }
}

/// The nearest ratio of whole numbers that a fast clock can have.
fn ratio(clock: f64) -> [u32; 2] {
    (1..=20_u32)
        .map(|real| {
            [
                (clock * f64::from(real)).round().clamp(1.0, 1000.0) as u32,
                real,
            ]
        })
        .min_by(|a, b| {
            let off = |[railroad, real]: &[u32; 2]| {
                (f64::from(*railroad) / f64::from(*real) - clock).abs()
            };
            off(a).total_cmp(&off(b))
        })
        .unwrap_or([1, 1])
}

type Between = HashMap<(StationId, StationId), usize>;

fn districts(railroad: &Railroad) -> (Vec<DistrictSheet>, Between) {
    let way = &railroad.way;
    let mut all = Vec::new();
    let mut between = Between::new();
    for (id, open) in way.opens() {
        let [Some(low), Some(high)] = [open.ends[0].id, open.ends[1].id] else {
            continue;
        };
        let line = way.line(id.line);
        for pair in [(low, high), (high, low)] {
            between.entry(pair).or_insert(all.len());
        }
        all.push(DistrictSheet {
            ends: [low.index(), high.index()],
            tracks: open.tracks.value,
            blocks: open.blocks,
            superior_up: line
                .superior
                .as_ref()
                .is_none_or(|superior| superior.value == line.directions[1]),
            bridges: bridges(railroad, id),
        });
    }
    (all, between)
}

fn bridges(railroad: &Railroad, id: OpenRef) -> Vec<String> {
    let open = railroad.way.open(id);
    open.structures
        .iter()
        .filter(|one| matches!(one.kind, StructureKind::Drawbridge | StructureKind::LiftOut))
        .enumerate()
        .map(|(at, one)| {
            one.name.clone().unwrap_or_else(|| {
                let end = |end: usize| open.ends[end].station.as_ref().map_or("", |s| &s.value);
                format!("{} {} between {} and {}", one.kind, at + 1, end(0), end(1))
            })
        })
        .collect()
}

fn stations(railroad: &Railroad) -> Vec<StationSheet> {
    let way = &railroad.way;
    let ground = railroad::books::ground(railroad);
    way.stations()
        .map(|(id, station)| StationSheet {
            name: station.name.value.clone(),
            kind: station.kind,
            office: station.office.as_ref().map(|office| {
                let hours = office
                    .hours
                    .unwrap_or([RailTime::MIDNIGHT, RailTime::from_hm(23, 59)]);
                hours.map(RailTime::seconds)
            }),
            tracks: station
                .tracks()
                .map(|(track, sheet)| {
                    let ground = &ground.tracks[id.index()][track.index()];
                    TrackSheet {
                        name: sheet.name.value.clone(),
                        usage: sheet.usage,
                        room: ground.room.meters(),
                        spots: sheet.spots.iter().map(|spot| spot.value.clone()).collect(),
                        holds_cars: ground.holds_cars,
                    }
                })
                .collect(),
        })
        .collect()
}

fn train_sheet(from: Sources<'_>, plan: &TrainPlan, between: &Between) -> TrainSheet {
    let railroad = from.railroad;
    let page = plan.train.map(|id| railroad.service.train(id));
    let made = plan
        .train
        .and_then(|id| from.made_up.iter().find(|made| made.train == id));
    let symbol = plan.symbol.clone();
    let job = page
        .and_then(|page| page.job.as_ref().map(|job| job.value.clone()))
        .or_else(|| {
            let jobs = &railroad.service.jobs;
            jobs.iter()
                .find(|job| job.trains.iter().any(|train| train.value == symbol))
                .map(|job| job.name.value.clone())
        });
    let mut calls: Vec<CallSheet> = Vec::new();
    for (at, call) in plan.calls.iter().enumerate() {
        let next = plan
            .calls
            .get(at + 1)
            .and_then(|next| between.get(&(call.station, next.station)).copied());
        // A train works a station once, however often it comes by.
        let first = plan.calls[..at]
            .iter()
            .all(|one| one.station != call.station);
        let work = made
            .filter(|_| first)
            .and_then(|made| made.work_at(call.station))
            .map_or_else(Vec::new, |work| {
                let sheet = |moved: &transportation::make_up::CarMove, pick_up| WorkSheet {
                    car: railroad.roster.car(moved.car).name.value.clone(),
                    pick_up,
                    track: moved.track.map(|track| {
                        railroad
                            .way
                            .station(call.station)
                            .track(track)
                            .name
                            .value
                            .clone()
                    }),
                    spot: moved.spot,
                    block: moved.block.clone(),
                };
                work.set_out
                    .iter()
                    .map(|moved| sheet(moved, false))
                    .chain(work.pick_up.iter().map(|moved| sheet(moved, true)))
                    .collect()
            });
        calls.push(CallSheet {
            station: call.station.index(),
            track: call.track.map(|track| {
                let station = railroad.way.station(call.station);
                station.track(track).name.value.clone()
            }),
            next,
            arrive: call.arrive,
            leave: call.leave,
            due_arrive: call.due_arrive,
            due_leave: call.due_leave,
            stops: call.stops,
            meets: meets(from.plan, call),
            work_seconds: call.work.map(|span| span.seconds()),
            work,
        });
    }
    TrainSheet {
        symbol,
        name: page.and_then(|page| page.name.clone()),
        class: (!plan.extra).then_some(u8::try_from(plan.class).unwrap_or(u8::MAX)),
        kind: page
            .and_then(|page| page.kind)
            .map_or_else(String::new, |kind| kind.value.to_string()),
        direction: plan.direction.clone(),
        engines: page.map_or_else(Vec::new, |page| {
            page.engines
                .iter()
                .map(|engine| engine.value.clone())
                .collect()
        }),
        job,
        calls,
    }
}

fn meets(plan: &DayPlan, call: &Call) -> Vec<String> {
    call.meets
        .iter()
        .map(|meet| {
            let other = &plan.trains[meet.other.0].symbol;
            let holds = match meet.holds {
                Holds::Clear => String::new(),
                holds => format!(" ({holds})"),
            };
            let kind: EncounterKind = meet.kind;
            format!("{kind} {other}{holds}")
        })
        .collect()
}

/// Regular trains whose days would have them run, but which the plan has not.
fn not_today(railroad: &Railroad, plan: &DayPlan, between: &Between) -> Vec<TrainSheet> {
    let weekday = railroad
        .identity
        .date
        .map(|date| date.value.weekday().days_after_monday());
    let ways = ways(railroad);
    railroad
        .service
        .train_ids()
        .filter(|(id, train)| {
            weekday.is_none_or(|day| train.days.value.contains(day))
                && !plan.trains.iter().any(|planned| planned.train == Some(*id))
        })
        .filter_map(|(id, train)| {
            let way = ways[id.index()].as_ref()?;
            Some(TrainSheet {
                symbol: train.symbol.value.clone(),
                name: train.name.clone(),
                class: train.class.and_then(|class| u8::try_from(class.value).ok()),
                kind: train
                    .kind
                    .map_or_else(String::new, |kind| kind.value.to_string()),
                direction: train
                    .direction
                    .as_ref()
                    .map_or_else(String::new, |direction| direction.value.clone()),
                engines: Vec::new(),
                job: None,
                calls: calls_by_page(railroad, id, way, between),
            })
        })
        .collect()
}

fn calls_by_page(
    railroad: &Railroad,
    id: TrainId,
    way: &TrainWay,
    between: &Between,
) -> Vec<CallSheet> {
    let page = railroad.service.train(id);
    let mut time = page.leave.map_or(RailTime::MIDNIGHT, |leave| leave.value);
    way.stations
        .iter()
        .enumerate()
        .map(|(at, &station)| {
            let due = page.time_at(&railroad.way.station(station).name.value);
            let (arrive, leave) = due.unwrap_or((time, time));
            time = time.max(leave);
            CallSheet {
                station: station.index(),
                track: None,
                next: way
                    .stations
                    .get(at + 1)
                    .and_then(|&there| between.get(&(station, there)).copied()),
                arrive,
                leave,
                due_arrive: due.map(|due| due.0),
                due_leave: due.map(|due| due.1),
                stops: due.is_some(),
                meets: Vec::new(),
                work_seconds: None,
                work: Vec::new(),
            }
        })
        .collect()
}

fn cars(from: Sources<'_>) -> Vec<CarSheet> {
    let railroad = from.railroad;
    let station = |id: StationId| railroad.way.station(id).name.value.clone();
    let ground = from.books.ground();
    railroad
        .roster
        .cars
        .iter()
        .enumerate()
        .map(|(at, page)| {
            let book = from.books.car(CarId(at as u32));
            CarSheet {
                name: page.name.value.clone(),
                kind: page
                    .kind
                    .map_or_else(String::new, |kind| kind.value.to_string()),
                length: ground.cars[at].length.meters(),
                at: match &book.at {
                    Whereabouts::Track { track, spot, at } => CarPlace::Track {
                        station: station(track.station),
                        track: railroad
                            .way
                            .station(track.station)
                            .track(track.track)
                            .name
                            .value
                            .clone(),
                        spot: *spot,
                        place: *at,
                    },
                    Whereabouts::Train { train, from } => CarPlace::Train {
                        train: train.clone(),
                        from: station(*from),
                    },
                    Whereabouts::Off { via, place, .. } => CarPlace::Off {
                        via: station(*via),
                        place: place.clone(),
                    },
                    Whereabouts::Aside => CarPlace::Aside,
                },
                load: book.load.as_ref().map(|load| load.commodity.clone()),
                bad_order: page.state == CarState::BadOrder,
            }
        })
        .collect()
}

fn bill_sheet(railroad: &Railroad, bill: &Bill) -> BillSheet {
    let words = |stand: &traffic::Stand| {
        let name = &railroad.way.station(stand.station).name.value;
        match &stand.beyond {
            Some(beyond) => format!("{beyond} via {name}"),
            None => name.clone(),
        }
    };
    let to = railroad.way.station(bill.to.station);
    BillSheet {
        no: bill.no.0,
        car: railroad.roster.car(bill.car).name.value.clone(),
        from: words(&bill.from),
        to: words(&bill.to),
        to_station: bill.to.station.index(),
        to_tracks: bill
            .to
            .tracks
            .iter()
            .map(|track| to.track(*track).name.value.clone())
            .collect(),
        commodity: bill.commodity.clone(),
        loaded: bill.state == CarLoad::Loaded,
        trains: bill
            .legs
            .iter()
            .filter(|leg| leg.day == 0)
            .map(|leg| leg.train.clone())
            .collect(),
        route: bill.route.clone(),
    }
}

/// The orders that the day was planned with, for the dispatcher to give.
fn planned(territory: &Territory, orders: &[Order]) -> Vec<PlannedOrder> {
    let train = |no: RunNo| territory.run(no).name.clone();
    let place = |no: PlaceNo| territory.place(no).name.clone();
    orders
        .iter()
        .filter_map(|order| {
            let text = match &order.body {
                Body::Meet { train: one, others } => OrderText::Meet {
                    train: train(*one),
                    others: others
                        .iter()
                        .map(|(other, at)| (train(*other), place(*at)))
                        .collect(),
                },
                Body::Ahead { first, seconds } => OrderText::Ahead {
                    first: train(*first),
                    seconds: seconds
                        .iter()
                        .map(|(second, from, to)| (train(*second), place(*from), place(*to)))
                        .collect(),
                },
                Body::RightOver {
                    first,
                    over,
                    from,
                    to,
                } => OrderText::RightOver {
                    first: train(*first),
                    over: train(*over),
                    from: place(*from),
                    to: place(*to),
                },
                Body::RunLate {
                    train: one,
                    late,
                    from,
                    to,
                } => OrderText::RunLate {
                    train: train(*one),
                    minutes: u32::try_from(late.seconds() / 60).unwrap_or(0),
                    from: place(*from),
                    to: place(*to),
                },
                Body::Wait { train: one, at } => OrderText::Wait {
                    train: train(*one),
                    at: at
                        .iter()
                        .map(|(at, until)| (place(*at), until.seconds()))
                        .collect(),
                },
                Body::Extra {
                    train: one,
                    from,
                    to,
                } => OrderText::Extra {
                    train: train(*one),
                    from: place(*from),
                    to: place(*to),
                },
                Body::Hold { train: one, at } => OrderText::Hold {
                    train: train(*one),
                    station: place(*at),
                },
                Body::AnnulSchedule { train: one } => {
                    OrderText::AnnulSchedule { train: train(*one) }
                }
                // Orders about orders and work extras are the dispatcher's own.
                Body::WorkExtra { .. }
                | Body::AnnulOrder { .. }
                | Body::AnnulPart { .. }
                | Body::InsteadOf { .. } => {
                    return None;
                }
            };
            let to = order
                .copies
                .iter()
                .filter_map(|copy| match copy.to {
                    To::Train(no) => Some(train(no)),
                    To::Operator => None,
                })
                .collect();
            Some(PlannedOrder {
                text,
                to,
                complete: order.complete,
            })
        })
        .collect()
}
