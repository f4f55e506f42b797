//! Prices, bound and plan.

use std::collections::HashMap;

use rand::{RngExt as _, SeedableRng as _, seq::SliceRandom as _};
use rand_pcg::Pcg64;

use super::{
    path::{Allows, Everything, Paths},
    problem::{Move, Problem, Ride, Route},
    rows::Rows,
};

/// How hard to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Options {
    /// How often prices are changed at most.
    pub rounds: u32,
    /// How often a few cars are taken off and put on again.
    pub tries: u32,
    /// The dice for which cars.
    pub seed: u64,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            rounds: 80,
            tries: 400,
            seed: 0,
        }
    }
}

/// A plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// For each car its way.
    pub routes: Vec<Route>,
    /// What it costs.
    pub cost: i64,
    /// No plan costs less: proven.
    pub bound: i64,
    /// For each car what keeps it from the way it would go if it were alone.
    pub full: Vec<Option<Full>>,
    /// For each car the way it would go if it were alone.
    pub alone: Vec<Route>,
}

/// What is full.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Full {
    /// A train between two calls, by this of its limits.
    Train {
        /// The run.
        run: usize,
        /// From this of its calls to the next.
        leg: usize,
        /// Which limit: cars, length, tons, weight by rating.
        limit: usize,
    },
    /// A room at the end of its way.
    Room(usize),
}

/// A plan for a problem.
pub fn solve(problem: &Problem, options: &Options) -> Plan {
    let mut solver = Solver::new(problem);
    solver.relax(options);
    solver.improve(options);
    solver.plan()
}

struct Solver<'a> {
    problem: &'a Problem,
    rows: Rows,
    paths: Paths,
    /// Whether no train may carry a car past where it goes: not where that is the only way.
    strict: Vec<bool>,
    /// The same cars, once: the first of each kind and how many.
    kinds: Vec<(usize, i64)>,
    alone: Vec<Route>,
    prices: Vec<i64>,
    no_prices: Vec<i64>,
    bound: i64,
    best: Vec<Route>,
    best_cost: i64,
}

/// What is used of every row, and each car's way.
#[derive(Clone)]
struct State {
    used: Vec<i64>,
    routes: Vec<Route>,
    cost: i64,
}

/// The room that others leave.
struct Left<'a> {
    problem: &'a Problem,
    rows: &'a Rows,
    used: &'a [i64],
    one: &'a Move,
    /// Rooms are taken for free: two cars that change places each need the room that the other frees.
    hopeful: bool,
}

impl Allows for Left<'_> {
    fn leg(&self, run: usize, leg: usize) -> bool {
        let row = self.rows.leg(run, leg);
        self.one
            .size
            .iter()
            .enumerate()
            .all(|(at, &size)| self.used[row + at] + size <= self.rows.capacity[row + at])
    }

    fn end(&self, run: usize, call: usize) -> bool {
        let time = self.problem.runs[run].calls[call].arrive;
        self.hopeful
            || self.one.needs.iter().all(|&(room, amount)| {
                self.rows
                    .room(room, time)
                    .iter()
                    .all(|&(_, row)| self.used[row] + amount <= self.rows.capacity[row])
            })
    }
}

impl<'a> Solver<'a> {
    fn new(problem: &'a Problem) -> Self {
        let rows = Rows::new(problem);
        let mut paths = Paths::new(problem);
        let none = vec![0; rows.capacity.len()];
        let mut strict = vec![true; problem.moves.len()];
        let mut kinds: Vec<(usize, i64)> = vec![];
        let mut seen: HashMap<&Move, usize> = HashMap::new();
        let mut alone: Vec<Route> = vec![];
        for (at, one) in problem.moves.iter().enumerate() {
            if let Some(&kind) = seen.get(one) {
                let (first, count): &mut (usize, i64) = &mut kinds[kind];
                *count += 1;
                strict[at] = strict[*first];
                let route = alone[*first].clone();
                alone.push(route);
                continue;
            }
            seen.insert(one, kinds.len());
            kinds.push((at, 1));
            let (mut route, _) = paths.cheapest(problem, &rows, one, &none, true, &Everything);
            if route.rides.is_empty() && one.from != one.to {
                strict[at] = false;
                (route, _) = paths.cheapest(problem, &rows, one, &none, false, &Everything);
            }
            alone.push(route);
        }
        Self {
            best: problem
                .moves
                .iter()
                .map(|one| Route {
                    rides: vec![],
                    cost: one.stay,
                })
                .collect(),
            best_cost: problem.moves.iter().map(|one| one.stay).sum(),
            bound: alone.iter().map(|route| route.cost).sum(),
            prices: none.clone(),
            no_prices: none,
            problem,
            rows,
            paths,
            strict,
            kinds,
            alone,
        }
    }

    fn add(&self, used: &mut [i64], car: usize, rides: &[Ride], sign: i64) {
        self.rows.uses(
            self.problem,
            &self.problem.moves[car],
            rides,
            |row, amount| {
                used[row] += sign * amount;
            },
        );
    }

    fn is_full(&self, used: &[i64]) -> bool {
        used.iter()
            .zip(&self.rows.capacity)
            .any(|(used, most)| used > most)
    }

    /// Raises prices where too much is used, keeps the best bound, and a plan made at each better bound.
    fn relax(&mut self, options: &Options) {
        let rows = self.rows.capacity.len();
        let mut price = vec![0.0f64; rows];
        let mut step = 1.0;
        let mut since = 0;
        let mut best_prices = self.prices.clone();
        for round in 0..options.rounds {
            let prices: Vec<i64> = price.iter().map(|price| price.round() as i64).collect();
            let mut used = vec![0; rows];
            let mut bound = 0;
            let mut routes = vec![];
            for at in 0..self.kinds.len() {
                let (car, count) = self.kinds[at];
                let one = &self.problem.moves[car];
                let (route, cost) = self.paths.cheapest(
                    self.problem,
                    &self.rows,
                    one,
                    &prices,
                    self.strict[car],
                    &Everything,
                );
                bound += cost * count;
                self.rows
                    .uses(self.problem, one, &route.rides, |row, amount| {
                        used[row] += amount * count;
                    });
                routes.push(route);
            }
            if round == 0 && !self.is_full(&used) {
                // Everyone goes the best way: nothing to improve.
                self.best.clone_from(&self.alone);
                self.best_cost = self.bound;
                return;
            }
            for (price, most) in prices.iter().zip(&self.rows.capacity) {
                bound -= price * most;
            }
            if bound > self.bound || round == 0 {
                self.bound = self.bound.max(bound);
                best_prices.clone_from(&prices);
                since = 0;
            } else {
                since += 1;
                if since >= 6 {
                    step *= 0.5;
                    since = 0;
                }
            }
            if round % 8 == 0 {
                self.build(&prices);
            }
            if self.best_cost <= self.bound || step < 0.01 {
                break;
            }
            // Polyak's step toward the best plan known.
            let excess: Vec<f64> = used
                .iter()
                .zip(&self.rows.capacity)
                .zip(&price)
                .map(|((used, most), price)| {
                    let over = (used - most) as f64;
                    if over < 0.0 && *price <= 0.0 {
                        0.0
                    } else {
                        over
                    }
                })
                .collect();
            // Rows are in unlike units: each is measured by its own capacity.
            let scaled = |row: usize| {
                let most = (self.rows.capacity[row].abs().max(1)) as f64;
                most * most
            };
            let norm: f64 = excess
                .iter()
                .enumerate()
                .map(|(row, over)| over * over / scaled(row))
                .sum();
            if norm <= 0.0 {
                break;
            }
            let length = step * (self.best_cost - bound).max(1) as f64 / norm;
            for (row, over) in excess.iter().enumerate() {
                price[row] = (price[row] + length * over / scaled(row)).max(0.0);
            }
        }
        self.prices = best_prices;
        let prices = self.prices.clone();
        self.build(&prices);
        let none = self.no_prices.clone();
        self.build(&none);
    }

    fn empty(&self) -> State {
        State {
            used: vec![0; self.rows.capacity.len()],
            routes: self
                .problem
                .moves
                .iter()
                .map(|one| Route {
                    rides: vec![],
                    cost: one.stay,
                })
                .collect(),
            cost: self.problem.moves.iter().map(|one| one.stay).sum(),
        }
    }

    /// Takes a car off its trains.
    fn take_off(&self, state: &mut State, car: usize) -> Route {
        let stay = Route {
            rides: vec![],
            cost: self.problem.moves[car].stay,
        };
        let old = std::mem::replace(&mut state.routes[car], stay);
        self.add(&mut state.used, car, &old.rides, -1);
        state.cost += state.routes[car].cost - old.cost;
        old
    }

    fn put_on(&self, state: &mut State, car: usize, route: Route) {
        self.add(&mut state.used, car, &route.rides, 1);
        state.cost += route.cost - state.routes[car].cost;
        state.routes[car] = route;
    }

    /// The cheapest way that others leave open to a car that is on no train.
    fn find(&mut self, state: &State, car: usize, prices: &[i64], hopeful: bool) -> Route {
        let one = &self.problem.moves[car];
        let left = Left {
            problem: self.problem,
            rows: &self.rows,
            used: &state.used,
            one,
            hopeful,
        };
        self.paths
            .cheapest(
                self.problem,
                &self.rows,
                one,
                prices,
                self.strict[car],
                &left,
            )
            .0
    }

    /// Cars in the order of what it costs most to leave or delay them.
    fn order(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.problem.moves.len()).collect();
        order.sort_by_key(|&car| {
            let one = &self.problem.moves[car];
            (
                // What is in a train already has its room there.
                one.aboard.is_none(),
                std::cmp::Reverse(one.hour),
                std::cmp::Reverse(one.stay - self.alone[car].cost),
                car,
            )
        });
        order
    }

    /// Puts cars on trains one by one; then, those again that found no room that others have made since.
    fn build(&mut self, prices: &[i64]) {
        let mut state = self.empty();
        let order = self.order();
        for &car in &order {
            let route = self.find(&state, car, prices, false);
            self.put_on(&mut state, car, route);
        }
        self.settle(&mut state, &order);
        self.keep(&state);
    }

    fn keep(&mut self, state: &State) {
        if state.cost < self.best_cost && !self.is_full(&state.used) {
            self.best_cost = state.cost;
            self.best.clone_from(&state.routes);
        }
    }

    /// Lets each car look for a better way until none has one.
    fn settle(&mut self, state: &mut State, order: &[usize]) {
        let none = self.no_prices.clone();
        for _ in 0..6 {
            let mut better = false;
            for &car in order {
                if state.routes[car].cost <= self.alone[car].cost {
                    continue;
                }
                let old = self.take_off(state, car);
                let new = self.find(state, car, &none, false);
                if new.cost < old.cost {
                    self.put_on(state, car, new);
                    // Room that it freed may be taken by another.
                    if self.frees_fail(state, car, &old.rides) {
                        self.take_off(state, car);
                        self.put_on(state, car, old);
                    } else {
                        better = true;
                    }
                } else {
                    self.put_on(state, car, old);
                }
            }
            if !better {
                break;
            }
        }
    }

    /// Whether a room is overfull that a car freed on its old way.
    fn frees_fail(&self, state: &State, car: usize, old: &[Ride]) -> bool {
        let mut fails = false;
        self.rows.uses(
            self.problem,
            &self.problem.moves[car],
            old,
            |row, amount| {
                fails |= amount < 0 && state.used[row] > self.rows.capacity[row];
            },
        );
        fails
    }

    /// Takes a few cars off that are in each other's way and puts them on again in another order.
    fn improve(&mut self, options: &Options) {
        if self.best_cost <= self.bound {
            return;
        }
        let mut dice = Pcg64::seed_from_u64(options.seed);
        let mut state = self.empty();
        for car in 0..self.best.len() {
            let route = self.best[car].clone();
            self.put_on(&mut state, car, route);
        }
        let order = self.order();
        let none = self.no_prices.clone();
        let prices = self.prices.clone();
        for _ in 0..options.tries {
            if self.best_cost <= self.bound {
                break;
            }
            let unhappy: Vec<usize> = order
                .iter()
                .copied()
                .filter(|&car| state.routes[car].cost > self.alone[car].cost)
                .collect();
            let Some(&car) = unhappy.get(dice.random_range(0..unhappy.len().max(1))) else {
                break;
            };
            let mut off = match dice.random_range(0..4) {
                0 => self.beside(&state, car),
                1 => (0..state.routes.len())
                    .filter(|&other| other != car)
                    .collect(),
                _ => self.in_the_way(&state, car),
            };
            off.shuffle(&mut dice);
            let many = dice.random_range(1..=5_usize);
            off.truncate(many);
            off.push(car);
            let before = state.clone();
            for &one in &off {
                self.take_off(&mut state, one);
            }
            // The one that was pushed aside goes first, or anywhere.
            if dice.random_range(0..2) == 0 {
                off.shuffle(&mut dice);
            } else {
                off.reverse();
            }
            let guided = dice.random_range(0..2) == 0;
            let hopeful = dice.random_range(0..4) == 0;
            for &one in &off {
                let route = self.find(&state, one, if guided { &prices } else { &none }, hopeful);
                self.put_on(&mut state, one, route);
            }
            if guided {
                self.settle(&mut state, &off);
            }
            // A little worse is taken now and then, to come out of a corner.
            let worse = self.best_cost / 200 * i64::from(dice.random_range(0..3_u8) == 0);
            if state.cost > before.cost.min(self.best_cost + worse).max(self.best_cost)
                || self.is_full(&state.used)
            {
                state = before;
            } else {
                self.keep(&state);
            }
        }
    }

    /// The cars on the trains and in the rooms that a car would use if it were alone.
    fn in_the_way(&self, state: &State, car: usize) -> Vec<usize> {
        let mut wanted = vec![];
        self.rows.uses(
            self.problem,
            &self.problem.moves[car],
            &self.alone[car].rides,
            |row, amount| {
                if state.used[row] + amount > self.rows.capacity[row] {
                    wanted.push(row);
                }
            },
        );
        wanted.sort_unstable();
        (0..self.problem.moves.len())
            .filter(|&other| other != car)
            .filter(|&other| {
                let mut uses = false;
                self.rows.uses(
                    self.problem,
                    &self.problem.moves[other],
                    &state.routes[other].rides,
                    |row, amount| uses |= amount > 0 && wanted.binary_search(&row).is_ok(),
                );
                uses
            })
            .collect()
    }

    /// The cars that leave or want the same room, or the same trains as another that does not go its best way.
    fn beside(&self, state: &State, car: usize) -> Vec<usize> {
        let moves = &self.problem.moves;
        let rooms = |one: usize| {
            moves[one]
                .needs
                .iter()
                .chain(&moves[one].frees)
                .map(|(room, _)| *room)
        };
        let runs: Vec<usize> = self.alone[car]
            .rides
            .iter()
            .chain(&state.routes[car].rides)
            .map(|ride| ride.run)
            .collect();
        (0..moves.len())
            .filter(|&other| {
                other != car
                    && (rooms(other).any(|room| rooms(car).any(|own| own == room))
                        || state.routes[other]
                            .rides
                            .iter()
                            .any(|ride| runs.contains(&ride.run)))
            })
            .collect()
    }

    fn plan(self) -> Plan {
        let mut used = vec![0; self.rows.capacity.len()];
        for (car, route) in self.best.iter().enumerate() {
            self.add(&mut used, car, &route.rides, 1);
        }
        let full = (0..self.best.len())
            .map(|car| {
                if self.best[car].cost <= self.alone[car].cost {
                    return None;
                }
                self.what_is_full(&mut used, car)
            })
            .collect();
        Plan {
            routes: self.best,
            cost: self.best_cost,
            bound: self.bound,
            full,
            alone: self.alone,
        }
    }

    /// The first thing that is full on the way that a car would go if it were alone.
    fn what_is_full(&self, used: &mut [i64], car: usize) -> Option<Full> {
        let one = &self.problem.moves[car];
        self.add(used, car, &self.best[car].rides, -1);
        let mut found = None;
        'rides: for ride in &self.alone[car].rides {
            for leg in ride.from..ride.to {
                let row = self.rows.leg(ride.run, leg);
                for limit in 0..4 {
                    if used[row + limit] + one.size[limit] > self.rows.capacity[row + limit] {
                        found = Some(Full::Train {
                            run: ride.run,
                            leg,
                            limit,
                        });
                        break 'rides;
                    }
                }
            }
        }
        if found.is_none()
            && let Some(last) = self.alone[car].rides.last()
        {
            let time = self.problem.runs[last.run].calls[last.to].arrive;
            found = one
                .needs
                .iter()
                .find(|&&(room, amount)| {
                    self.rows
                        .room(room, time)
                        .iter()
                        .any(|&(_, row)| used[row] + amount > self.rows.capacity[row])
                })
                .map(|&(room, _)| Full::Room(room));
        }
        self.add(used, car, &self.best[car].rides, 1);
        found
    }
}
