//! What a train's crew has to do at a station, as the switching engine wants it: so that the time of a stop
//! is that of its true work.

use engineering::ids::{StationId, TrackId, TrackRef};
use mechanical::CarId;
use model::units::Actual;
use railroad::Railroad;
use traffic::books::{Books, Whereabouts};
use transportation::{MadeUp, TrainId, make_up::CarMove};

use crate::{
    bill::Billed,
    town::{Facts, Inbound, Intent, RosterCar, Standing, Target, Visit, visits_at},
};

/// A train's visit to a station and what it finds and brings there in a session that was billed; none if it
/// does not work there. Where a local turns at the end of its run, the cars it goes back with are included.
pub fn work_at(
    railroad: &Railroad,
    books: &Books,
    billed: &Billed,
    train: TrainId,
    station: StationId,
) -> Option<(Visit, Facts)> {
    let visit = visits_at(railroad, station)
        .into_iter()
        .find(|visit| visit.train == train)?;
    let made = billed.train(train)?;
    let at = made.works.iter().position(|work| work.station == station)?;
    let leaving = visit.onward.and_then(|onward| billed.train(onward));
    let (goes, goes_at) = match leaving {
        Some(onward) => (onward, 0),
        None => (made, at),
    };
    let stays = visit.onward.is_none() && at + 1 == made.works.len();
    let consist = if stays {
        vec![]
    } else {
        goes.consist_after(goes_at)
    };
    let blocks = blocks_of(&consist);
    let block = |car: CarId| {
        consist
            .iter()
            .find(|moved| moved.car == car)
            .and_then(|moved| blocks.iter().position(|block| *block == moved.block))
            .unwrap_or(0)
    };
    let car = |id: CarId| RosterCar {
        name: railroad.roster.car(id).name.value.clone(),
        length: books.ground().cars[id.index()].length,
    };
    let came = at
        .checked_sub(1)
        .map_or_else(Vec::new, |before| made.consist_after(before));
    let work = &made.works[at];
    let is_out = |id: CarId| work.set_out.iter().any(|out| out.car == id);
    let page = railroad.way.station(station);
    let any_track = || -> Vec<TrackId> {
        page.tracks()
            .filter(|(_, track)| track.usage.holds_cars())
            .map(|(id, _)| id)
            .collect()
    };
    let target = |moved: &CarMove| match (moved.track, moved.spot) {
        (Some(track), Some(spot)) => Target::Spot(track, spot),
        (Some(track), None) => Target::Tracks(vec![track]),
        (None, _) => Target::Tracks(any_track()),
    };
    let inbound = work
        .set_out
        .iter()
        .map(|moved| Inbound {
            car: car(moved.car),
            target: target(moved),
            who: receiver(railroad, billed, moved.car),
        })
        .collect();
    let through = came
        .iter()
        .filter(|moved| !is_out(moved.car))
        .map(|moved| (car(moved.car), block(moved.car)))
        .collect();
    let takes: Vec<CarId> = goes.works[goes_at]
        .pick_up
        .iter()
        .map(|moved| moved.car)
        .collect();
    let first = is_first(railroad, billed, train, station);
    let standing = standing(railroad, books, billed, train, station)
        .into_iter()
        .map(|(id, track, spot)| {
            let shift = billed
                .yard_moves
                .iter()
                .find(|moved| first && moved.car == id);
            let intent = match shift {
                _ if takes.contains(&id) => Intent::PickUp(block(id)),
                Some(moved) => Intent::Put(match moved.spot {
                    Some(spot) => Target::Spot(moved.to.track, spot),
                    None => Target::Tracks(vec![moved.to.track]),
                }),
                None => Intent::Stay,
            };
            Standing {
                car: car(id),
                track,
                spot,
                intent,
            }
        })
        .collect();
    let page = railroad.service.train(train);
    let engines: Vec<&str> = page
        .engines
        .iter()
        .map(|engine| engine.value.as_str())
        .collect();
    let length: Actual = page
        .engines
        .iter()
        .filter_map(|engine| railroad.roster.find_engine(&engine.value))
        .filter_map(|id| railroad.roster.engine(id).length)
        .map(|length| length.value)
        .sum();
    let caboose = crate::bill::longest_caboose(railroad)
        .filter(|_| page.caboose)
        .map(car);
    Some((
        visit,
        Facts {
            engine: RosterCar {
                name: engines.join(" and "),
                length: if length > Actual::ZERO {
                    length
                } else {
                    crate::town::usual_car(railroad) * 1.5
                },
            },
            caboose,
            blocks: if blocks.is_empty() {
                vec!["through".to_owned()]
            } else {
                blocks
            },
            inbound,
            through,
            standing,
        },
    ))
}

/// A track and the cars on it from its beginning, each with its spot.
type Row = (TrackId, Vec<(CarId, Option<usize>)>);

/// The blocks of a train from the engine.
fn blocks_of(consist: &[&CarMove]) -> Vec<String> {
    let mut blocks: Vec<String> = vec![];
    for moved in consist {
        if !blocks.contains(&moved.block) {
            blocks.push(moved.block.clone());
        }
    }
    blocks
}

fn receiver(railroad: &Railroad, billed: &Billed, car: CarId) -> String {
    billed
        .bill_of(car)
        .and_then(|bill| bill.flow)
        .and_then(|flow| railroad.traffic.flow(flow).shipper_name.as_ref())
        .map_or_else(|| "the yard".to_owned(), |name| name.value.clone())
}

/// When a train is at a station, by what the judge knows.
fn arrives(billed: &Billed, train: TrainId, station: StationId) -> Option<i64> {
    let facts = billed.facts.trains.get(train.index())?.as_ref()?;
    facts
        .calls
        .iter()
        .find(|call| call.station == station)
        .map(|call| call.arrive.seconds())
}

/// Whether a train is the first of the session that works a station: it moves cars from spot to spot there.
fn is_first(railroad: &Railroad, billed: &Billed, train: TrainId, station: StationId) -> bool {
    let first = visits_at(railroad, station)
        .into_iter()
        .filter_map(|visit| Some((arrives(billed, visit.train, station)?, visit.train)))
        .min();
    first.is_some_and(|(_, first)| first == train)
}

/// The cars that stand at a station when a train comes, in the order in which they stand on each track from
/// its beginning: those of the books, less what earlier trains took, and what they left behind those.
fn standing(
    railroad: &Railroad,
    books: &Books,
    billed: &Billed,
    train: TrainId,
    station: StationId,
) -> Vec<(CarId, TrackId, Option<usize>)> {
    let now = arrives(billed, train, station).unwrap_or(i64::MAX);
    let mut rows: Vec<Row> = railroad
        .way
        .station(station)
        .tracks()
        .map(|(track, _)| {
            let there = books
                .standing(TrackRef { station, track })
                .iter()
                .map(|&car| match &books.car(car).at {
                    Whereabouts::Track { spot, .. } => (car, *spot),
                    _ => (car, None),
                })
                .collect();
            (track, there)
        })
        .collect();
    let earlier: Vec<&MadeUp> = billed
        .made_up
        .iter()
        .filter(|made| made.train != train)
        .filter(|made| arrives(billed, made.train, station).is_some_and(|at| at < now))
        .collect();
    let mut earlier: Vec<(i64, &MadeUp)> = earlier
        .into_iter()
        .filter_map(|made| Some((arrives(billed, made.train, station)?, made)))
        .collect();
    earlier.sort_by_key(|(at, made)| (*at, made.train));
    // What was moved within the station was moved by the first of them.
    if !is_first(railroad, billed, train, station) {
        for moved in billed
            .yard_moves
            .iter()
            .filter(|moved| moved.from.station == station)
        {
            for (_, row) in &mut rows {
                row.retain(|(car, _)| *car != moved.car);
            }
            put(&mut rows, moved.car, moved.to.track, moved.spot);
        }
    }
    for (_, made) in earlier {
        let Some(work) = made.work_at(station) else {
            continue;
        };
        for up in &work.pick_up {
            for (_, row) in &mut rows {
                row.retain(|(car, _)| *car != up.car);
            }
        }
        for out in &work.set_out {
            if let Some(track) = out.track {
                put(&mut rows, out.car, track, out.spot);
            }
        }
    }
    rows.into_iter()
        .flat_map(|(track, row)| row.into_iter().map(move |(car, spot)| (car, track, spot)))
        .collect()
}

/// Puts a car on a track, at a spot between its neighbours.
fn put(rows: &mut [Row], car: CarId, track: TrackId, spot: Option<usize>) {
    let Some((_, row)) = rows.iter_mut().find(|(one, _)| *one == track) else {
        return;
    };
    let at = spot.map_or(row.len(), |spot| {
        row.iter()
            .rposition(|(_, other)| other.is_some_and(|other| other < spot))
            .map_or(0, |at| at + 1)
    });
    row.insert(at, (car, spot));
}
