//! What is limited: rows of uses and capacities.

use std::collections::HashMap;

use super::problem::{DAY, Move, Problem, Ride};

/// More than any plan uses.
const PLENTY: i64 = 1 << 40;

/// Numbers of the rows of a problem.
pub(super) struct Rows {
    /// The capacities.
    pub capacity: Vec<i64>,
    /// For each run and leg the first of its four rows.
    legs: Vec<Vec<usize>>,
    /// For each room and day the times at which it may change, and the row of each.
    rooms: HashMap<(usize, i64), Vec<(i64, usize)>>,
}

impl Rows {
    pub fn new(problem: &Problem) -> Self {
        let mut capacity = vec![];
        let unlimited = |time: i64| problem.unlimited_from.is_some_and(|from| time >= from);
        let legs = problem
            .runs
            .iter()
            .map(|run| {
                run.legs
                    .iter()
                    .zip(&run.calls)
                    .map(|(leg, call)| {
                        if unlimited(call.leave) {
                            capacity.extend([PLENTY; 4]);
                        } else {
                            capacity.extend(leg.room);
                        }
                        capacity.len() - 4
                    })
                    .collect()
            })
            .collect();
        // A room is looked at whenever a train that could change it works there.
        let mut touched: Vec<Vec<usize>> = vec![vec![]; problem.stations.len()];
        for one in &problem.moves {
            for (room, _) in &one.frees {
                touched[one.from].push(*room);
            }
            for (room, _) in &one.needs {
                touched[one.to].push(*room);
            }
        }
        for rooms in &mut touched {
            rooms.sort_unstable();
            rooms.dedup();
        }
        let mut times: HashMap<(usize, i64), Vec<i64>> = HashMap::new();
        for run in &problem.runs {
            for call in &run.calls {
                let day = call.arrive.div_euclid(DAY);
                for &room in &touched[call.station] {
                    times.entry((room, day)).or_default().push(call.arrive);
                }
            }
        }
        let mut keys: Vec<(usize, i64)> = times.keys().copied().collect();
        keys.sort_unstable();
        let mut rooms = HashMap::new();
        for key in keys {
            let at = times.get_mut(&key).expect("it is one of the keys");
            at.sort_unstable();
            at.dedup();
            let free = problem.rooms[key.0].free[usize::from(key.1 > 0)];
            let rows = at
                .iter()
                .map(|&time| {
                    capacity.push(if unlimited(time) { PLENTY } else { free });
                    (time, capacity.len() - 1)
                })
                .collect();
            rooms.insert(key, rows);
        }
        Self {
            capacity,
            legs,
            rooms,
        }
    }

    pub fn leg(&self, run: usize, leg: usize) -> usize {
        self.legs[run][leg]
    }

    /// The rows of a room from a time to the end of that day.
    pub fn room(&self, room: usize, time: i64) -> &[(i64, usize)] {
        let Some(rows) = self.rooms.get(&(room, time.div_euclid(DAY))) else {
            return &[];
        };
        let first = rows.partition_point(|(at, _)| *at < time);
        &rows[first..]
    }

    /// What a way uses: rows and amounts. What is freed counts against what is used, on the first day
    /// only: of later days it is taken for granted.
    pub fn uses(
        &self,
        problem: &Problem,
        one: &Move,
        rides: &[Ride],
        mut tell: impl FnMut(usize, i64),
    ) {
        for ride in rides {
            for leg in ride.from..ride.to {
                let row = self.leg(ride.run, leg);
                for (at, &size) in one.size.iter().enumerate() {
                    tell(row + at, size);
                }
            }
        }
        if let Some(first) = rides.first() {
            let time = problem.runs[first.run].calls[first.from].arrive;
            if time.div_euclid(DAY) == 0 {
                for &(room, amount) in &one.frees {
                    for &(_, row) in self.room(room, time) {
                        tell(row, -amount);
                    }
                }
            }
        }
        if let Some(last) = rides.last() {
            let time = problem.runs[last.run].calls[last.to].arrive;
            for &(room, amount) in &one.needs {
                for &(_, row) in self.room(room, time) {
                    tell(row, amount);
                }
            }
        }
    }
}
