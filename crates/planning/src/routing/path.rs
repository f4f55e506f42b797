//! The cheapest way of one car at given prices: events in the order of time.

use super::{
    problem::{DAY, Move, Problem, Ride, Route},
    rows::Rows,
};

/// What happens at a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Event {
    /// Cars that came by a run can go on.
    Open { run: usize, call: usize },
    /// A run leaves.
    Leave { run: usize, call: usize },
}

/// The events of a problem, and room for the search.
pub(super) struct Paths {
    /// For each station its part of the railroad: those that trains join.
    part: Vec<usize>,
    /// The events of each part, in order of time.
    events: Vec<Vec<(i64, Event)>>,
    /// For each run the number of its first call among all calls.
    first: Vec<usize>,
    /// For each call: the cheapest way to come by it, and the call at which the car was taken.
    came: Vec<(i64, usize)>,
    /// For each call at which a car is taken: by which call it had come to that station.
    taken: Vec<Option<(usize, usize)>>,
    /// For each station the cheapest way to be there: the call by which it came, or none where it began.
    there: Vec<(i64, Option<(usize, usize)>)>,
}

const FAR: i64 = i64::MAX / 4;

impl Paths {
    pub fn new(problem: &Problem) -> Self {
        let part = parts(problem);
        let count = part.iter().max().map_or(0, |most| most + 1);
        let mut events = vec![vec![]; count];
        let mut first = vec![];
        let mut calls = 0;
        for (run, of) in problem.runs.iter().enumerate() {
            first.push(calls);
            calls += of.calls.len();
            for (call, at) in of.calls.iter().enumerate() {
                if call > 0 && at.leaves && problem.stations[at.station].holds {
                    let time = at.arrive + problem.stations[at.station].cut_off;
                    events[part[at.station]].push((time, Event::Open { run, call }));
                }
                if call + 1 < of.calls.len() && at.takes {
                    events[part[at.station]].push((at.leave, Event::Leave { run, call }));
                }
            }
        }
        for events in &mut events {
            events.sort_unstable();
        }
        Self {
            part,
            events,
            first,
            came: vec![(FAR, 0); calls],
            taken: vec![None; calls],
            there: vec![(FAR, None); problem.stations.len()],
        }
    }

    /// The cheapest way of a car at these prices, and what it costs with them; staying counts as one.
    /// `open` may forbid a leg of a run, or the end of a way.
    ///
    /// `strict` is whether no train carries it past where it goes, but one with a block for it.
    pub fn cheapest(
        &mut self,
        problem: &Problem,
        rows: &Rows,
        one: &Move,
        prices: &[i64],
        strict: bool,
        open: &dyn Allows,
    ) -> (Route, i64) {
        let stay = (
            Route {
                rides: vec![],
                cost: one.stay,
            },
            one.stay,
        );
        if one.from == one.to {
            return stay;
        }
        self.came.fill((FAR, 0));
        self.there.fill((FAR, None));
        let mut best: Option<(i64, usize, usize)> = None;
        match one.aboard {
            Some((run, call)) => self.ride(
                problem,
                rows,
                one,
                prices,
                false,
                open,
                run,
                call,
                (0, None),
                &mut best,
            ),
            None => self.there[one.from] = (0, None),
        }
        // Freed room may pay for some of the way.
        let credit: i64 = one
            .frees
            .iter()
            .map(|&(room, amount)| {
                let all: i64 = rows.room(room, 0).iter().map(|&(_, row)| prices[row]).sum();
                all * amount
            })
            .sum();
        let part = self.part[one.from];
        let begin = self.events[part].partition_point(|(time, _)| *time < one.ready);
        for at in begin..self.events[part].len() {
            let (time, event) = self.events[part][at];
            // Whatever arrives later costs more by its hours alone.
            let hours = (time - one.ready.max(0)) * one.hour / 3600 - credit;
            if hours >= best.map_or(one.stay, |(cost, ..)| cost) {
                break;
            }
            match event {
                Event::Open { run, call } => {
                    let cost = self.came[self.first[run] + call].0;
                    let station = problem.runs[run].calls[call].station;
                    if cost < self.there[station].0 {
                        self.there[station] = (cost, Some((run, call)));
                    }
                }
                Event::Leave { run, call } => {
                    let start = self.there[problem.runs[run].calls[call].station];
                    self.ride(
                        problem, rows, one, prices, strict, open, run, call, start, &mut best,
                    );
                }
            }
        }
        match best {
            Some((cost, run, call)) if cost < one.stay => {
                let rides = self.back(run, call);
                let true_cost = problem.cost(one, &rides);
                (
                    Route {
                        rides,
                        cost: true_cost,
                    },
                    cost,
                )
            }
            _ => stay,
        }
    }

    #[allow(
        clippy::too_many_arguments,
        reason = "the inside of one loop, parted for reading"
    )]
    fn ride(
        &mut self,
        problem: &Problem,
        rows: &Rows,
        one: &Move,
        prices: &[i64],
        strict: bool,
        open: &dyn Allows,
        run: usize,
        from: usize,
        (start, by): (i64, Option<(usize, usize)>),
        best: &mut Option<(i64, usize, usize)>,
    ) {
        let of = &problem.runs[run];
        let aboard = one.aboard == Some((run, from));
        if start >= FAR || (of.classes & one.class == 0 && !aboard) {
            return;
        }
        let mut cost = start + problem.handling;
        if by.is_none() {
            let call = &of.calls[from];
            if (call.leave < one.ready && !aboard)
                || one
                    .from_track
                    .is_some_and(|track| call.barred.contains(&track))
            {
                return;
            }
            cost += problem.start_cost(one, run, from);
            if call.arrive.div_euclid(DAY) == 0 {
                for &(room, amount) in &one.frees {
                    let price: i64 = rows
                        .room(room, call.arrive)
                        .iter()
                        .map(|&(_, row)| prices[row])
                        .sum();
                    cost -= price * amount;
                }
            }
        }
        self.taken[self.first[run] + from] = by;
        let has_block = !strict || of.blocks.contains(&one.to);
        for leg in from..of.legs.len() {
            if !open.leg(run, leg) {
                return;
            }
            let row = rows.leg(run, leg);
            cost += of.legs[leg].haul;
            for (at, &size) in one.size.iter().enumerate() {
                cost += prices[row + at] * size;
            }
            // Carried past where it goes.
            if !has_block
                && (of.legs[leg].passes.contains(&one.to)
                    || (leg > from && of.calls[leg].station == one.to))
            {
                return;
            }
            let to = leg + 1;
            let call = &of.calls[to];
            if !call.leaves {
                continue;
            }
            if call.station == one.to {
                if one
                    .to_track
                    .is_some_and(|track| call.barred.contains(&track))
                    || !open.end(run, to)
                {
                    continue;
                }
                let mut end = cost + (call.arrive - one.ready.max(0)) * one.hour / 3600;
                end += problem.end_cost(one, run, to);
                for &(room, amount) in &one.needs {
                    let price: i64 = rows
                        .room(room, call.arrive)
                        .iter()
                        .map(|&(_, row)| prices[row])
                        .sum();
                    end += price * amount;
                }
                if best.is_none_or(|(cost, ..)| end < cost) {
                    *best = Some((end, run, to));
                    self.came[self.first[run] + to] = (end, from);
                }
            } else if cost < self.came[self.first[run] + to].0 {
                self.came[self.first[run] + to] = (cost, from);
            }
        }
    }

    /// The rides that end with this call.
    fn back(&self, run: usize, call: usize) -> Vec<Ride> {
        let mut rides = vec![];
        let mut last = Some((run, call));
        while let Some((run, call)) = last {
            let from = self.came[self.first[run] + call].1;
            rides.push(Ride {
                run,
                from,
                to: call,
            });
            last = self.taken[self.first[run] + from];
        }
        rides.reverse();
        rides
    }
}

/// The stations in parts: two are in the same if any trains lead from one to the other.
fn parts(problem: &Problem) -> Vec<usize> {
    let mut part: Vec<usize> = (0..problem.stations.len()).collect();
    loop {
        let mut joined = false;
        for run in &problem.runs {
            let least = run.calls.iter().map(|call| part[call.station]).min();
            for call in &run.calls {
                if let Some(least) = least.filter(|&least| least < part[call.station]) {
                    part[call.station] = least;
                    joined = true;
                }
            }
        }
        if !joined {
            return part;
        }
    }
}

/// What a way may use.
pub(super) trait Allows {
    fn leg(&self, run: usize, leg: usize) -> bool;
    fn end(&self, run: usize, call: usize) -> bool;
}

/// Everything.
pub(super) struct Everything;

impl Allows for Everything {
    fn leg(&self, _: usize, _: usize) -> bool {
        true
    }

    fn end(&self, _: usize, _: usize) -> bool {
        true
    }
}

/// Ways without limits or prices.
pub struct Ways {
    rows: Rows,
    paths: Paths,
    prices: Vec<i64>,
}

impl Ways {
    /// Makes ready for the trains of a problem; its moves and rooms do not matter.
    pub fn new(problem: &Problem) -> Self {
        let rows = Rows::new(problem);
        Self {
            paths: Paths::new(problem),
            prices: vec![0; rows.capacity.len()],
            rows,
        }
    }

    /// The way a car would go if it were alone.
    pub fn cheapest(&mut self, problem: &Problem, one: &Move) -> Route {
        for strict in [true, false] {
            let (route, _) =
                self.paths
                    .cheapest(problem, &self.rows, one, &self.prices, strict, &Everything);
            if !route.rides.is_empty() {
                return route;
            }
        }
        Route {
            rides: vec![],
            cost: one.stay,
        }
    }
}
