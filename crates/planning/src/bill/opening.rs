//! The books of a first session: the folder says where cars stand, and not what is in them.
//!
//! Cars are taken to be where the railroad's own traffic would have them: those at a shipper's door are
//! being loaded or unloaded there, those in staging came in with loads from beyond, those in a yard are on
//! their way. Which of the possible loads it is, the dice say, in proportion to what the shippers' page says of
//! rates, and no lane gets more than a few days' traffic. The last waybill of a car, if one is kept that leads to
//! where it stands, goes before the dice. Orders are those that the day's demand brings.

use mechanical::CarState;
use model::time::RailTime;
use railroad::Railroad;
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;
use traffic::{
    CarLoad, CarOrder, Place,
    books::{Books, Load, Moment, Movement, Waiting, What, Whereabouts},
    demand::{Lane, Stream, lanes},
};

use engineering::station::{StationKind, TrackUse};

/// Opens the books with loads and orders for a first session.
pub fn opening(railroad: &Railroad, seed: u64) -> Books {
    let (mut books, _) = railroad::books::open(railroad);
    let month = railroad.identity.date.map_or(10, |date| date.value.month());
    let weekday = railroad
        .identity
        .date
        .map_or(0, |date| date.value.weekday().days_after_monday());
    let (lanes, _) = lanes(&railroad.traffic, &railroad.way);
    let mut dice = Pcg64::seed_from_u64(seed);
    let mut given = vec![0.0; lanes.len()];
    let cars: Vec<_> = railroad.roster.car_ids().map(|(id, _)| id).collect();
    for id in cars {
        let car = railroad.roster.car(id);
        let Some(kind) = car
            .kind
            .map(|kind| kind.value)
            .filter(|kind| kind.carries_freight())
        else {
            continue;
        };
        let Whereabouts::Track { track, spot, .. } = books.car(id).at.clone() else {
            continue;
        };
        if car.state != CarState::InService {
            continue;
        }
        let page = railroad.way.station(track.station);
        let usage = railroad.way.track(track).usage;
        let staging = page.kind == StationKind::Staging;
        let here = |end: &traffic::demand::End| {
            let stand = &end.stand;
            stand.station == track.station
                && (staging
                    || (stand.tracks.contains(&track.track)
                        && (stand.spots.is_empty()
                            || spot.is_some_and(|spot| stand.spots.contains(&spot)))))
        };
        // What it may be doing, and how likely.
        let mut may: Vec<(f64, Option<usize>, Doing)> = vec![];
        for (at, lane) in lanes.iter().enumerate() {
            if lane.kind != kind || !lane.season.contains(month) {
                continue;
            }
            if lane.captive && car.pool != lane.pool {
                continue;
            }
            // A lane has two days' loads at each end and two on the way.
            let due = (lane.rate / 7.0 * 2.0 - given[at] / 2.0).max(0.0);
            if here(&lane.from) && lane.from.is_off() && (staging || !lane.is_bridge()) {
                may.push((due, Some(at), Doing::Loaded));
            } else if here(&lane.from) {
                may.push((due * 0.7, Some(at), Doing::Loaded));
                may.push((due * 0.3, Some(at), Doing::Loading));
            } else if here(&lane.to) && !lane.to.is_off() {
                may.push((due * 0.6, Some(at), Doing::Unloading));
                may.push((due * 0.4, None, Doing::Empty));
            } else if here(&lane.to) && usage == TrackUse::Interchange {
                may.push((due, None, Doing::Empty));
            } else if page.kind == StationKind::Yard && spot.is_none() {
                may.push((due * 0.5, Some(at), Doing::Loaded));
            }
        }
        may.push((
            if staging || page.kind == StationKind::Yard {
                0.4
            } else {
                0.1
            },
            None,
            Doing::Empty,
        ));
        let last = last_waybill(railroad, id, &page.name.value, &lanes);
        let (lane, doing) = match last.filter(|_| spot.is_some()) {
            Some(lane) => (Some(lane), Doing::Unloading),
            None => pick(&may, &mut dice),
        };
        let time = RailTime::from_seconds(
            railroad
                .identity
                .session
                .as_ref()
                .map_or(4 * 3600, |session| session.begins.seconds()),
        );
        if let Some(lane) = lane {
            given[lane] += 1.0;
        }
        let begun = dice.random::<f64>();
        let until = |dwell: i64| Moment {
            day: 0,
            time: RailTime::from_seconds(time.seconds() + (dwell as f64 * begun) as i64),
        };
        let load = |lane: usize| Load {
            flow: Some(lanes[lane].flow),
            commodity: lanes[lane].commodity.clone(),
        };
        let fill = |books: &mut Books, lane: usize| {
            let movement = Movement {
                car: id,
                when: Moment::midnight(0),
                what: What::Load(load(lane)),
            };
            // A car that cannot be loaded where it stands stays empty.
            books.apply(&movement).is_ok()
        };
        match (doing, lane) {
            (Doing::Loaded, Some(lane)) if fill(&mut books, lane) => {
                books.remark(id, Some(Waiting::Train));
            }
            (Doing::Loading, Some(lane)) => {
                let flow = lanes[lane].from.flow.unwrap_or(lanes[lane].flow);
                let until = until(lanes[lane].from.dwell.seconds());
                books.remark(id, Some(Waiting::Loading { flow, until }));
            }
            (Doing::Unloading, Some(lane)) if fill(&mut books, lane) => {
                let flow = lanes[lane].to.flow.unwrap_or(lanes[lane].flow);
                let until = until(lanes[lane].to.dwell.seconds());
                books.remark(id, Some(Waiting::Unloading { flow, until }));
            }
            _ => {}
        }
    }
    orders(railroad, &lanes, &mut books, seed, month, weekday);
    books
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Doing {
    Loaded,
    Loading,
    Unloading,
    Empty,
}

fn pick(may: &[(f64, Option<usize>, Doing)], dice: &mut Pcg64) -> (Option<usize>, Doing) {
    let sum: f64 = may.iter().map(|one| one.0).sum();
    let mut at = dice.random::<f64>() * sum;
    for &(weight, lane, doing) in may {
        if at < weight {
            return (lane, doing);
        }
        at -= weight;
    }
    (None, Doing::Empty)
}

/// The lane of a car's last waybill, if that is of a load and leads to the station where it stands.
fn last_waybill(
    railroad: &Railroad,
    car: mechanical::CarId,
    station: &str,
    lanes: &[Lane],
) -> Option<usize> {
    let name = &railroad.roster.car(car).name.value;
    let last = railroad
        .traffic
        .waybills
        .iter()
        .rfind(|waybill| waybill.car.as_ref().is_some_and(|car| car.value == *name))?;
    if last
        .state
        .is_some_and(|state| state.value == CarLoad::Empty)
    {
        return None;
    }
    let Some(Place::Named(to)) = &last.to else {
        return None;
    };
    let what = last.commodity.as_ref()?;
    lanes.iter().position(|lane| {
        let flow = lane.to.flow.map(|flow| railroad.traffic.flow(flow));
        let shipper = flow.and_then(|flow| flow.shipper_name.as_ref());
        let here = railroad.way.station(lane.to.stand.station).name.value == station;
        here && lane.commodity == what.value
            && (to.value == station || shipper.is_some_and(|name| name.value == to.value))
    })
}

/// The orders that the first day brings: of what the dice of demand offer, what does not stand loaded
/// at the shipper's already.
fn orders(
    railroad: &Railroad,
    lanes: &[Lane],
    books: &mut Books,
    seed: u64,
    month: u8,
    weekday: u8,
) {
    let mut count = std::collections::BTreeMap::<_, u64>::new();
    for lane in lanes {
        let nth = count.entry(lane.flow).or_default();
        let stream = Stream::new(&railroad.traffic, lane, seed, *nth);
        *nth += 1;
        if lane.from.is_off() {
            continue;
        }
        let cars = stream.cars(lane, 0, month, weekday);
        if cars > 0 {
            books
                .orders
                .push(CarOrder::new(lane.flow, lane.kind, cars, 0));
        }
    }
}
