//! Routing in plain numbers: cars that want to go somewhere, trains with room, tracks with room.

/// What a train has room for, or a car takes of it: cars, length, tons, weight by rating. Whole units of the
/// caller's choice.
pub type Size = [i64; 4];

/// A problem: moves through trains and stations within a horizon.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Problem {
    /// The stations.
    pub stations: Vec<Station>,
    /// The trains, each on each day it runs.
    pub runs: Vec<Run>,
    /// The cars that want to move.
    pub moves: Vec<Move>,
    /// Where cars are put, with what room there is.
    pub rooms: Vec<Room>,
    /// From this time on nothing is limited: what is too far off to be planned is taken for granted.
    pub unlimited_from: Option<i64>,
    /// The cost of being taken by a train and left again.
    pub handling: i64,
    /// The cost of each hour that a car waits where it begins: of two ways that end alike, cars take the
    /// one that leaves first.
    pub linger: i64,
    /// The cost of a set-out or pick-up for which the engine has to run around its train.
    pub around: i64,
}

/// A station.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Station {
    /// Seconds between coming in one train and leaving in another.
    pub cut_off: i64,
    /// Whether cars may wait there from train to train.
    pub holds: bool,
}

/// A train on a day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Run {
    /// Where it works, in running order.
    pub calls: Vec<Call>,
    /// From each call to the next.
    pub legs: Vec<LegRoom>,
    /// Stations for which it has blocks: it may carry a car past them, to be brought back.
    pub blocks: Vec<usize>,
    /// Which classes of cars it takes, as a set of bits.
    pub classes: u32,
    /// The track on which it is made up, by any number.
    pub track: Option<usize>,
}

/// A train at a station.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Call {
    /// The station.
    pub station: usize,
    /// When it comes, seconds.
    pub arrive: i64,
    /// When it goes.
    pub leave: i64,
    /// Whether it takes cars.
    pub takes: bool,
    /// Whether it leaves cars.
    pub leaves: bool,
    /// Tracks it works only by running around its train, by number.
    pub around: Vec<usize>,
    /// Tracks it cannot work, by number.
    pub barred: Vec<usize>,
}

/// A train between two calls.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LegRoom {
    /// What it has room for.
    pub room: Size,
    /// What it costs to haul a car so far.
    pub haul: i64,
    /// Stations it passes without working there.
    pub passes: Vec<usize>,
}

/// A car that wants to go.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub struct Move {
    /// From this station.
    pub from: usize,
    /// Not before then, seconds.
    pub ready: i64,
    /// To this station.
    pub to: usize,
    /// What it takes of a train.
    pub size: Size,
    /// The run and call at which it was last taken, if it is in a train already; it is not taken again
    /// before it is left.
    pub aboard: Option<(usize, usize)>,
    /// Its class, a single bit.
    pub class: u32,
    /// What each hour until it arrives costs.
    pub hour: i64,
    /// What it costs if it does not arrive at all.
    pub stay: i64,
    /// The track where it stands, by number.
    pub from_track: Option<usize>,
    /// What it costs to bring it by hand to the track on which a train is made up, if that is another.
    pub shift: i64,
    /// The track where it is wanted.
    pub to_track: Option<usize>,
    /// What it frees when it is taken: room and amount.
    pub frees: Vec<(usize, i64)>,
    /// What it needs when it is put.
    pub needs: Vec<(usize, i64)>,
}

/// Where cars are put.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Room {
    /// What is free as the first day begins, and how much there is at all as any later day begins: room
    /// that is taken today is free again tomorrow, as far as can be known.
    pub free: [i64; 2],
}

/// Seconds in a day.
pub const DAY: i64 = 86_400;

/// A car in a train.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Ride {
    /// The run.
    pub run: usize,
    /// From this of its calls.
    pub from: usize,
    /// To this.
    pub to: usize,
}

/// A car's way.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Route {
    /// Its trains; none if it stays.
    pub rides: Vec<Ride>,
    /// What it costs.
    pub cost: i64,
}

impl Problem {
    /// What a car's way costs, from its rides alone.
    pub fn cost(&self, move_: &Move, rides: &[Ride]) -> i64 {
        let Some((first, last)) = rides.first().zip(rides.last()) else {
            return move_.stay;
        };
        let call = |run: usize, at: usize| &self.runs[run].calls[at];
        let end = call(last.run, last.to);
        let mut cost = (end.arrive - move_.ready.max(0)) * move_.hour / 3600;
        for ride in rides {
            cost += self.handling;
            cost += self.runs[ride.run].legs[ride.from..ride.to]
                .iter()
                .map(|leg| leg.haul)
                .sum::<i64>();
        }
        cost + self.start_cost(move_, first.run, first.from)
            + self.end_cost(move_, last.run, last.to)
    }

    /// What it costs that a train takes a car from where it stands.
    pub(super) fn start_cost(&self, move_: &Move, run: usize, at: usize) -> i64 {
        let (run, call) = (&self.runs[run], &self.runs[run].calls[at]);
        let mut cost = (call.leave - move_.ready).max(0) * self.linger / 3600;
        if let Some(track) = move_.from_track {
            if at == 0 && run.track.is_some_and(|made_up| made_up != track) {
                cost += move_.shift;
            }
            if call.around.contains(&track) {
                cost += self.around;
            }
        }
        cost
    }

    /// What it costs that a train puts a car where it is wanted.
    pub(super) fn end_cost(&self, move_: &Move, run: usize, at: usize) -> i64 {
        let call = &self.runs[run].calls[at];
        match move_.to_track {
            Some(track) if call.around.contains(&track) => self.around,
            _ => 0,
        }
    }
}
