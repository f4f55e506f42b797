//! The shippers' rows joined into lanes.

use engineering::{
    Way,
    ids::{StationId, TrackId},
    station::{StationKind, TrackUse},
};
use mechanical::CarKind;
use model::{days::Days, time::RailSpan};

use crate::{Does, Flow, FlowId, Moves, Place, Season, Traffic, bill::Stand};

/// One end of a lane.
#[derive(Debug, Clone, PartialEq)]
pub struct End {
    /// The row that says so, if this end has a row of its own.
    pub flow: Option<FlowId>,
    /// Where.
    pub stand: Stand,
    /// How long a car stands to be loaded or unloaded. Off the line nothing: see [`Lane::away`].
    pub dwell: RailSpan,
}

impl End {
    /// Whether it lies off the railroad.
    pub fn is_off(&self) -> bool {
        self.stand.beyond.is_some()
    }
}

/// A stream of loads of one commodity in one kind of car from one end to another.
#[derive(Debug, Clone, PartialEq)]
pub struct Lane {
    /// The row by which it is known: the shipper's if there is one, else the receiver's.
    pub flow: FlowId,
    /// Where it is loaded.
    pub from: End,
    /// Where it is unloaded.
    pub to: End,
    /// What.
    pub commodity: String,
    /// In which kind of car.
    pub kind: CarKind,
    /// Cars a week, in season.
    pub rate: f64,
    /// The months in which it moves.
    pub season: Season,
    /// The days of the week on which loads are offered.
    pub days: Days,
    /// Which is served first: 1 before 2.
    pub priority: i64,
    /// The pool whose cars it uses first.
    pub pool: Option<String>,
    /// Whether no other cars will do.
    pub captive: bool,
    /// How many cars go together.
    pub cars_at_once: u32,
    /// In what manner it moves.
    pub moves: Moves,
    /// What the car must not have carried last.
    pub not_after: Vec<String>,
    /// Whether it needs a clean car.
    pub clean: bool,
    /// Whether it leaves the car dirty.
    pub dirties: bool,
    /// How long a car is away beyond the line, if an end lies there.
    pub away: RailSpan,
}

impl Lane {
    /// Whether it only crosses the railroad.
    pub fn is_bridge(&self) -> bool {
        self.from.is_off() && self.to.is_off()
    }

    /// The mean number of cars offered on a day: nothing out of season or on another day of the week.
    /// `weekday` 0 is Monday.
    pub fn mean(&self, month: u8, weekday: u8) -> f64 {
        if self.season.contains(month) && self.days.contains(weekday) {
            self.rate / f64::from(self.days.count().max(1))
        } else {
            0.0
        }
    }
}

/// A row that does not come to a lane, or not as written.
#[derive(Debug, Clone, PartialEq)]
pub enum Misfit {
    /// Its station, track, place, kind or rate is not known: other rules say so.
    Unknown(FlowId),
    /// Nobody is at the other end.
    NoOtherEnd(FlowId),
    /// The two ends' rows speak of different numbers of cars. The smaller holds; how many go nowhere.
    RatesDiffer {
        /// The row with more.
        more: FlowId,
        /// The row with fewer.
        fewer: FlowId,
        /// The difference, cars a week.
        cars: f64,
    },
}

/// A row with its end, and what of its rate no other row has taken yet.
struct Open<'a> {
    id: FlowId,
    flow: &'a Flow,
    does: Does,
    end: End,
    kind: CarKind,
    commodity: &'a str,
    left: f64,
}

/// What is less than this, in cars a week, is nothing.
const NOTHING: f64 = 1e-9;

/// All lanes, in the order of the rows by which they are known, and the rows that fit no other.
///
/// A shipper's row is first joined with the receivers' rows that name each other; what is left of it
/// with those of whom only one names the other; then with those that name nobody, in proportion to what
/// they want. A place off the line needs no row at the other end.
pub fn lanes(traffic: &Traffic, way: &Way) -> (Vec<Lane>, Vec<Misfit>) {
    let mut misfits = vec![];
    let mut open = vec![];
    for (id, flow) in traffic.flow_ids() {
        match opened(way, id, flow) {
            Some(one) => open.push(one),
            None => misfits.push(Misfit::Unknown(id)),
        }
    }
    let mut lanes = vec![];
    // Off the line first: such a row is a lane by itself.
    for one in &mut open {
        if let Some(other) = beyond(way, one.flow) {
            lanes.push(lane(one, None, other, one.left));
            one.left = 0.0;
        }
    }
    let place = |one: &Open<'_>| {
        one.flow
            .place
            .as_ref()
            .map(|place| place.name().value.clone())
    };
    // Whether a row's place is the other's station or shipper.
    let names = |one: &Open<'_>, other: &Open<'_>| {
        place(one).is_some_and(|place| {
            let is = |name: &Option<model::Spanned<String>>| {
                name.as_ref().is_some_and(|name| name.value == place)
            };
            is(&other.flow.station) || is(&other.flow.shipper_name)
        })
    };
    for round in 0..3 {
        for ship in 0..open.len() {
            if open[ship].does != Does::Ships || open[ship].left <= NOTHING {
                continue;
            }
            let fits = |receive: &Open<'_>| {
                let ship = &open[ship];
                let both = [names(ship, receive), names(receive, ship)];
                let silent = [place(ship).is_none(), place(receive).is_none()];
                receive.does == Does::Receives
                    && receive.left > NOTHING
                    && receive.commodity == ship.commodity
                    && receive.kind == ship.kind
                    && match round {
                        0 => both == [true, true],
                        1 => (both[0] && silent[1]) || (both[1] && silent[0]),
                        _ => silent == [true, true],
                    }
            };
            let takers: Vec<usize> = (0..open.len()).filter(|&at| fits(&open[at])).collect();
            let wanted: f64 = takers.iter().map(|&at| open[at].left).sum();
            let share = (open[ship].left / wanted).min(1.0);
            for at in takers {
                let cars = open[at].left * share;
                let end = open[at].end.clone();
                lanes.push(lane(&open[ship], Some(&open[at]), end, cars));
                open[at].left -= cars;
                open[ship].left -= cars;
            }
        }
    }
    // What is left: at odds with the row that took the rest, or with nobody at the other end.
    for one in &open {
        let whole = one.flow.cars_per_week.map_or(0.0, |cars| cars.value);
        if one.left <= NOTHING * whole.max(1.0) {
            continue;
        }
        let partner = lanes.iter().find_map(|lane: &Lane| {
            let ends = [lane.from.flow, lane.to.flow];
            let which = ends.iter().position(|flow| *flow == Some(one.id))?;
            ends[1 - which]
        });
        let at_place = one
            .flow
            .place
            .as_ref()
            .and_then(|place| way.find_station(&place.name().value))
            .and_then(|station| public(way, station));
        match (partner, at_place) {
            (Some(fewer), _) => misfits.push(Misfit::RatesDiffer {
                more: one.id,
                fewer,
                cars: one.left,
            }),
            (None, Some(stand)) => {
                let end = End {
                    flow: None,
                    stand,
                    dwell: one.end.dwell,
                };
                lanes.push(lane(one, None, end, one.left));
            }
            (None, None) => misfits.push(Misfit::NoOtherEnd(one.id)),
        }
    }
    lanes.sort_by_key(|lane| (lane.flow, lane.to.flow, lane.from.flow));
    (lanes, misfits)
}

fn opened<'a>(way: &Way, id: FlowId, flow: &'a Flow) -> Option<Open<'a>> {
    let station = way.find_station(&flow.station.as_ref()?.value)?;
    let page = way.station(station);
    let track = page.find_track(&flow.track.as_ref()?.value)?;
    let marks = &page.track(track).spots;
    let spots = flow
        .spots
        .iter()
        .filter_map(|spot| marks.iter().position(|mark| mark.value == spot.value))
        .collect();
    // A shipper on staging or on the interchange is the road beyond.
    let usage = page.track(track).usage;
    let road_beyond = page.kind == StationKind::Staging
        || matches!(usage, TrackUse::Staging | TrackUse::Interchange);
    let beyond = road_beyond
        .then(|| flow.shipper_name.as_ref().map(|name| name.value.clone()))
        .flatten();
    Some(Open {
        id,
        flow,
        does: flow.does?.value,
        kind: flow.car_kind?.value,
        commodity: &flow.commodity.as_ref()?.value,
        left: flow.cars_per_week?.value,
        end: End {
            flow: Some(id),
            stand: Stand {
                station,
                tracks: vec![track],
                spots,
                beyond,
            },
            dwell: flow
                .dwell
                .map_or(RailSpan::from_minutes(8 * 60), |dwell| dwell.value),
        },
    })
}

/// The end of a flow that lies off the line.
fn beyond(way: &Way, flow: &Flow) -> Option<End> {
    let Some(Place::Via { name, via }) = &flow.place else {
        return None;
    };
    let station = way.find_station(&via.value)?;
    let page = way.station(station);
    Some(End {
        flow: None,
        stand: Stand {
            station,
            tracks: handed_over(page),
            spots: vec![],
            beyond: Some(name.value.clone()),
        },
        dwell: RailSpan::from_seconds(0),
    })
}

/// The tracks of a station by which cars go over to the rest of the world: its interchange tracks, or
/// else its staging.
fn handed_over(page: &engineering::station::Station) -> Vec<TrackId> {
    let of = |usage| -> Vec<TrackId> {
        page.tracks()
            .filter(|(_, track)| track.usage == usage)
            .map(|(id, _)| id)
            .collect()
    };
    let interchange = of(TrackUse::Interchange);
    if interchange.is_empty() {
        of(TrackUse::Staging)
    } else {
        interchange
    }
}

/// Where anyone may load at a station: its team and house tracks.
fn public(way: &Way, station: StationId) -> Option<Stand> {
    let tracks: Vec<TrackId> = way
        .station(station)
        .tracks()
        .filter(|(_, track)| matches!(track.usage, TrackUse::Team | TrackUse::House))
        .map(|(id, _)| id)
        .collect();
    (!tracks.is_empty()).then_some(Stand {
        station,
        tracks,
        spots: vec![],
        beyond: None,
    })
}

/// A lane of so many cars a week between a row and the other end.
fn lane(one: &Open<'_>, other: Option<&Open<'_>>, end: End, rate: f64) -> Lane {
    let ships = one.does == Does::Ships;
    let (from, to) = if ships {
        (one.end.clone(), end)
    } else {
        (end, one.end.clone())
    };
    let both = || std::iter::once(one).chain(other);
    let flow = one.flow;
    let mut not_after: Vec<String> = both()
        .flat_map(|row| &row.flow.not_after)
        .map(|commodity| commodity.value.clone())
        .collect();
    not_after.dedup();
    Lane {
        flow: one.id,
        from,
        to,
        commodity: one.commodity.to_owned(),
        kind: one.kind,
        rate,
        season: flow.season,
        days: flow.days.value,
        priority: both().map(|row| row.flow.priority).min().unwrap_or(5),
        pool: both().find_map(|row| row.flow.pool.clone()),
        captive: both().any(|row| row.flow.captive.is_some()),
        cars_at_once: flow.cars_at_once.value.max(1),
        moves: flow.moves,
        not_after,
        clean: both().any(|row| row.flow.clean),
        dirties: both().any(|row| row.flow.dirties),
        away: flow.away,
    }
}
