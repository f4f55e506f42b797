//! Routing against exact optima by a general solver that is not ours (`microlp`): every way of every car is
//! listed here by a search of its own, and the solver chooses one for each within the limits.

use microlp::{ComparisonOp, OptimizationDirection, Problem as Program};
use planning::routing::{
    Call, DAY, LegRoom, Move, Options, Plan, Problem, Ride, Room, Run, Station, solve,
};
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;

/// A line of stations with a yard in the middle, trains both ways on two days, and more cars than go on
/// them.
fn random(seed: u64) -> Problem {
    let mut dice = Pcg64::seed_from_u64(seed);
    let stations = dice.random_range(4..7_usize);
    let yard = stations / 2;
    let mut problem = Problem {
        stations: (0..stations)
            .map(|at| Station {
                cut_off: 1800,
                holds: at == yard,
            })
            .collect(),
        handling: 60,
        around: 40,
        linger: 3,
        ..Problem::default()
    };
    let trains = dice.random_range(3..6_usize);
    for train in 0..trains {
        let up = train % 2 == 0;
        let (mut low, mut high) = (0, stations - 1);
        match dice.random_range(0..3) {
            0 => high = yard,
            1 => low = yard,
            _ => {}
        }
        let mut at = dice.random_range(4..16_i64) * 3600;
        let mut way: Vec<usize> = (low..=high).collect();
        if !up {
            way.reverse();
        }
        let works: Vec<bool> = (0..way.len())
            .map(|at| at == 0 || at + 1 == way.len() || way[at] == yard || dice.random_bool(0.7))
            .collect();
        let mut calls = vec![];
        let mut legs: Vec<LegRoom> = vec![];
        let mut passes = vec![];
        let room = [
            dice.random_range(2..6),
            dice.random_range(20..60),
            1_000,
            dice.random_range(60..200),
        ];
        for (&station, &works) in way.iter().zip(&works) {
            if works {
                if !calls.is_empty() {
                    legs.push(LegRoom {
                        room,
                        haul: 10 * (passes.len() as i64 + 1),
                        passes: std::mem::take(&mut passes),
                    });
                }
                calls.push(Call {
                    station,
                    arrive: at,
                    leave: at + 600,
                    takes: true,
                    leaves: true,
                    around: if dice.random_bool(0.3) {
                        vec![station]
                    } else {
                        vec![]
                    },
                    barred: vec![],
                });
                at += 600;
            } else {
                passes.push(station);
            }
            at += 1200;
        }
        let run = Run {
            calls,
            legs,
            blocks: (0..stations).filter(|_| dice.random_bool(0.2)).collect(),
            classes: if dice.random_bool(0.8) { 3 } else { 1 },
            track: None,
        };
        for day in 0..2 {
            let mut run = run.clone();
            for call in &mut run.calls {
                call.arrive += day * DAY;
                call.leave += day * DAY;
            }
            problem.runs.push(run);
        }
    }
    // A room at every station, some of it taken by the cars there.
    for _ in 0..stations {
        let free = dice.random_range(0..3);
        problem.rooms.push(Room {
            free: [free, free + 2],
        });
    }
    for _ in 0..dice.random_range(6..16_usize) {
        let from = dice.random_range(0..stations);
        let to = dice.random_range(0..stations);
        if from == to {
            continue;
        }
        problem.moves.push(Move {
            from,
            ready: 0,
            to,
            size: [1, dice.random_range(8..13), 40, dice.random_range(20..60)],
            class: 1 << dice.random_range(0..2_u32),
            hour: [10, 20, 80][dice.random_range(0..3_usize)],
            stay: 8_000,
            from_track: None,
            shift: 0,
            to_track: Some(to),
            aboard: None,
            frees: if dice.random_bool(0.5) {
                vec![(from, 1)]
            } else {
                vec![]
            },
            needs: vec![(to, 1)],
        });
    }
    problem
}

/// Every way of a car, by depth: trains, then trains from where those left it.
fn ways(problem: &Problem, one: &Move, strict: bool) -> Vec<Vec<Ride>> {
    let mut out = vec![];
    let mut open = vec![(one.from, one.ready, vec![])];
    while let Some((station, time, rides)) = open.pop() {
        for (number, run) in problem.runs.iter().enumerate() {
            if run.classes & one.class == 0 || rides.iter().any(|ride: &Ride| ride.run == number) {
                continue;
            }
            for from in 0..run.calls.len().saturating_sub(1) {
                let call = &run.calls[from];
                if call.station != station || !call.takes || call.leave < time {
                    continue;
                }
                for to in from + 1..run.calls.len() {
                    let past = (from..to).any(|leg| run.legs[leg].passes.contains(&one.to))
                        || (from + 1..to).any(|at| run.calls[at].station == one.to);
                    if strict && past && !run.blocks.contains(&one.to) {
                        continue;
                    }
                    let end = &run.calls[to];
                    if !end.leaves {
                        continue;
                    }
                    let mut more = rides.clone();
                    more.push(Ride {
                        run: number,
                        from,
                        to,
                    });
                    if end.station == one.to {
                        out.push(more);
                    } else if problem.stations[end.station].holds && more.len() < 5 {
                        let cut_off = problem.stations[end.station].cut_off;
                        open.push((end.station, end.arrive + cut_off, more));
                    }
                }
            }
        }
    }
    out
}

/// What a way costs, reckoned again.
fn cost(problem: &Problem, one: &Move, rides: &[Ride]) -> i64 {
    let Some(last) = rides.last() else {
        return one.stay;
    };
    let end = &problem.runs[last.run].calls[last.to];
    let first = &problem.runs[rides[0].run].calls[rides[0].from];
    let mut cost = end.arrive * one.hour / 3600 + first.leave * problem.linger / 3600;
    if end.around.contains(&one.to) {
        cost += problem.around;
    }
    for ride in rides {
        cost += problem.handling;
        for leg in &problem.runs[ride.run].legs[ride.from..ride.to] {
            cost += leg.haul;
        }
    }
    cost
}

type Limit<'a> = (i64, Box<dyn Fn(&Move, &[Ride]) -> i64 + 'a>);

/// The limits: each a capacity, and what each car's way takes of it.
fn limits(problem: &Problem) -> Vec<Limit<'_>> {
    let mut all: Vec<Limit<'_>> = vec![];
    for (number, run) in problem.runs.iter().enumerate() {
        for leg in 0..run.legs.len() {
            for (of, &most) in run.legs[leg].room.iter().enumerate() {
                all.push((
                    most,
                    Box::new(move |one, rides| {
                        let on = rides
                            .iter()
                            .any(|ride| ride.run == number && (ride.from..ride.to).contains(&leg));
                        if on { one.size[of] } else { 0 }
                    }),
                ));
            }
        }
    }
    for (number, room) in problem.rooms.iter().enumerate() {
        let mut times: Vec<i64> = problem
            .runs
            .iter()
            .flat_map(|run| &run.calls)
            .filter(|call| call.station == number)
            .map(|call| call.arrive)
            .collect();
        times.sort_unstable();
        times.dedup();
        for time in times {
            let day = time / DAY;
            all.push((
                room.free[usize::from(day > 0)],
                Box::new(move |one, rides| {
                    let at = |run: usize, call: usize| problem.runs[run].calls[call].arrive;
                    let (Some(first), Some(last)) = (rides.first(), rides.last()) else {
                        return 0;
                    };
                    let mut uses = 0;
                    let taken = at(first.run, first.from);
                    if one.frees.iter().any(|free| free.0 == number) && day == 0 && taken <= time {
                        uses -= 1;
                    }
                    let put = at(last.run, last.to);
                    if one.to == number && put / DAY == day && put <= time {
                        uses += 1;
                    }
                    uses
                }),
            ));
        }
    }
    all
}

/// What is wrong with a plan: nothing of it is taken from the solver but the rides.
fn judge(problem: &Problem, plan: &Plan) {
    let mut sum = 0;
    for (one, route) in problem.moves.iter().zip(&plan.routes) {
        let all: Vec<Vec<Ride>> = ways(problem, one, true);
        let loose = || ways(problem, one, false);
        assert!(
            route.rides.is_empty()
                || all.contains(&route.rides)
                || (all.is_empty() && loose().contains(&route.rides)),
            "no such way: {route:?}"
        );
        assert_eq!(cost(problem, one, &route.rides), route.cost);
        sum += route.cost;
    }
    assert_eq!(sum, plan.cost);
    for (most, uses) in limits(problem) {
        let used: i64 = problem
            .moves
            .iter()
            .zip(&plan.routes)
            .map(|(one, route)| uses(one, &route.rides))
            .sum();
        assert!(used <= most, "{used} of {most}");
    }
}

/// The least cost of all plans, if the general solver proves it in time.
fn exact(problem: &Problem) -> Option<f64> {
    let mut program = Program::new(OptimizationDirection::Minimize);
    program.set_time_limit(std::time::Duration::from_secs(20));
    let all: Vec<Vec<Vec<Ride>>> = problem
        .moves
        .iter()
        .map(|one| {
            let mut own = ways(problem, one, true);
            if own.is_empty() {
                own = ways(problem, one, false);
            }
            own.push(vec![]);
            own
        })
        .collect();
    let variables: Vec<Vec<_>> = problem
        .moves
        .iter()
        .zip(&all)
        .map(|(one, ways)| {
            ways.iter()
                .map(|way| program.add_binary_var(cost(problem, one, way) as f64))
                .collect()
        })
        .collect();
    for own in &variables {
        let row: Vec<_> = own.iter().map(|&variable| (variable, 1.0)).collect();
        program.add_constraint(row.as_slice(), ComparisonOp::Eq, 1.0);
    }
    for (most, uses) in limits(problem) {
        let mut row = vec![];
        for ((one, ways), own) in problem.moves.iter().zip(&all).zip(&variables) {
            for (way, &variable) in ways.iter().zip(own) {
                let amount = uses(one, way);
                if amount != 0 {
                    row.push((variable, amount as f64));
                }
            }
        }
        if !row.is_empty() {
            program.add_constraint(row.as_slice(), ComparisonOp::Le, most as f64);
        }
    }
    let outcome = program.solve().ok()?;
    if !outcome.is_optimal() {
        return None;
    }
    outcome.solution().map(microlp::Solution::objective)
}

#[test]
#[allow(
    clippy::print_stderr,
    reason = "how near the optimum is told as well as asserted"
)]
fn two_hundred_problems_are_within_three_percent_of_the_optimum() {
    let count = 200;
    let (mut solved, mut same, mut proven, mut tight) = (0usize, 0usize, 0usize, 0usize);
    let mut worst = 0.0f64;
    let mut sum = 0.0;
    for seed in 0..count {
        let problem = random(seed);
        let plan = solve(&problem, &Options::default());
        judge(&problem, &plan);
        assert!(plan.bound <= plan.cost);
        let Some(best) = exact(&problem) else {
            continue;
        };
        solved += 1;
        let best_whole = best.round() as i64;
        assert!(
            plan.bound <= best_whole,
            "{seed}: {} over {best}",
            plan.bound
        );
        assert!(
            plan.cost >= best_whole,
            "{seed}: {} under {best}",
            plan.cost
        );
        let gap = (plan.cost - best_whole) as f64 / best.max(1.0);
        assert!(
            gap <= 0.03,
            "{seed}: {} and {best}: {:.2} %",
            plan.cost,
            100.0 * gap
        );
        worst = worst.max(gap);
        sum += gap;
        same += usize::from(plan.cost == best_whole);
        proven += usize::from(plan.cost == plan.bound);
        tight += usize::from(plan.full.iter().any(Option::is_some));
    }
    eprintln!(
        "{solved} solved exactly, {tight} of them with something full: {same} the same, {proven} proven by our own bound, mean {:.3} %, worst {:.2} %",
        100.0 * sum / solved as f64,
        100.0 * worst
    );
    assert!(solved * 10 > count as usize * 9, "{solved} solved");
    assert!(tight * 2 > solved, "{tight} of {solved} are tight");
}
