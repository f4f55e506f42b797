//! Measures the switching engine.
//!
//! ```text
//! cargo run --release -p bench-switching -- towns
//! cargo run --release -p bench-switching -- classic
//! SAWBY_SHARED=... cargo run --release -p bench-switching -- peer --python PATH/TO/python
//! ```
//!
//! The peer is a general-purpose planner driven by the script `bench/planner/inglenook.py` of the
//! shared folder; the python given must have the packages it names.
#![allow(clippy::print_stdout, clippy::print_stderr)]

#[path = "../../../crates/switching/tests/common/mod.rs"]
mod common;

use std::process::{Command, ExitCode};
use std::time::Instant;

use clap::{Parser, Subcommand};
use common::{Dice, Local, basin_junction, local_work, pell_crossing, sand_wash};
use switching::{Answer, CarId, Goal, NodeKind, Options, PlaceId, Port, Town, Work, replay, solve};

#[derive(Parser)]
struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(Subcommand)]
enum What {
    /// Locals at three towns: time to plan, moves, proven gap.
    Towns {
        /// Pieces of work for each town and size of train.
        #[arg(long, default_value_t = 20)]
        seeds: u64,
        /// States to generate for each.
        #[arg(long, default_value_t = Options::default().node_budget)]
        budget: u64,
    },
    /// The classic puzzle (tracks of 5, 3 and 3, lead of 3): every start that differs for the
    /// solver, solved one at a time.
    Classic {
        /// Take every n-th start only.
        #[arg(long, default_value_t = 1)]
        step: usize,
    },
    /// The same instances by ours and by the peer, in the same run.
    Peer {
        /// The python to run the peer with.
        #[arg(long)]
        python: String,
        /// Instances.
        #[arg(long, default_value_t = 10)]
        seeds: u64,
        /// The peer's search.
        #[arg(long, default_value = "astar(blind())")]
        search: String,
    },
}

fn main() -> ExitCode {
    match Args::parse().what {
        What::Towns { seeds, budget } => towns(seeds, budget),
        What::Classic { step } => classic(step),
        What::Peer {
            python,
            seeds,
            search,
        } => return peer(&python, seeds, &search),
    }
    ExitCode::SUCCESS
}

/// Seconds of processor time this process has used (the peer's search time is processor time too, so
/// that a busy machine does not favour either), where the system tells; else seconds by the clock.
fn processor(clock: &Instant) -> f64 {
    std::fs::read_to_string("/proc/self/schedstat")
        .ok()
        .and_then(|t| t.split(' ').next().and_then(|n| n.parse::<f64>().ok()))
        .map_or_else(|| clock.elapsed().as_secs_f64(), |ns| ns / 1e9)
}

/// A share of the sorted values.
fn at(values: &[f64], share: f64) -> f64 {
    values
        .get(((values.len() as f64 * share) as usize).min(values.len().saturating_sub(1)))
        .copied()
        .unwrap_or(0.0)
}

fn towns(seeds: u64, budget: u64) {
    type Make = fn() -> Local;
    let makes: [Make; 3] = [pell_crossing, sand_wash, basin_junction];
    // Through cars, set-outs, pick-ups: trains of 6 to 15 cars with their caboose.
    let sizes = [(3, 2, 2), (4, 3, 3), (5, 4, 4), (8, 6, 6)];
    let mut all = vec![];
    println!(
        "| town | through/set out/pick up asked | plans | proven | mean moves | mean gap | worst gap | p50 s | p95 s | max s |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|");
    for make in makes {
        let l = make();
        for (through, set_outs, pick_ups) in sizes {
            let mut times = vec![];
            let (mut plans, mut proven, mut moves, mut gap, mut worst) =
                (0u32, 0, 0usize, 0.0, 0.0f64);
            for seed in 0..seeds {
                let w = local_work(&l, &mut Dice(seed), through, set_outs, pick_ups);
                let o = Options {
                    node_budget: budget,
                    ..Options::default()
                };
                let t = Instant::now();
                let answer = solve(&l.town, &w, &o, &|| false);
                times.push(t.elapsed().as_secs_f64());
                match answer {
                    Ok(Answer::Solved(s)) => {
                        if let Err(e) = replay(&l.town, &w, &s.plan) {
                            println!("ILLEGAL PLAN at {} seed {seed}: {e}", l.town.name);
                        }
                        plans += 1;
                        proven += u32::from(s.proven);
                        moves += s.moves;
                        let g = f64::from(s.cost - s.bound) / f64::from(s.cost.max(1));
                        gap += g;
                        worst = worst.max(g);
                    }
                    Ok(other) => println!("no plan at {} seed {seed}: {other:?}", l.town.name),
                    Err(e) => println!("unusable at {} seed {seed}: {e:?}", l.town.name),
                }
            }
            times.sort_by(f64::total_cmp);
            all.extend(times.iter().copied());
            let n = f64::from(plans.max(1));
            println!(
                "| {} | {through}/{set_outs}/{pick_ups} | {plans} of {seeds} | {proven} | {:.1} | {:.0} % | {:.0} % | {:.3} | {:.3} | {:.3} |",
                l.town.name,
                moves as f64 / n,
                100.0 * gap / n,
                100.0 * worst,
                at(&times, 0.5),
                at(&times, 0.95),
                at(&times, 1.0)
            );
        }
    }
    all.sort_by(f64::total_cmp);
    println!(
        "all: p50 {:.3} s, p95 {:.3} s, max {:.3} s",
        at(&all, 0.5),
        at(&all, 0.95),
        at(&all, 1.0)
    );
}

/// The classic yard.
fn fan() -> (Town, [PlaceId; 3], Work) {
    let mut t = Town::new("classic");
    let hand = NodeKind::Switch { by_hand: true };
    let end = t.node("lead end", NodeKind::End);
    let (s, r) = (t.node("first switch", hand), t.node("second switch", hand));
    let lead = t.track("lead", (end, Port::Through), (s, Port::Points), 4);
    let bumper = |t: &mut Town, name: &str, from, len| {
        let e = t.node(name, NodeKind::End);
        let x = t.track(name, from, (e, Port::Through), len);
        t.stand(name, &[x])
    };
    let a = bumper(&mut t, "A", (s, Port::Reverse), 5);
    let b = bumper(&mut t, "B", (r, Port::Reverse), 3);
    let c = bumper(&mut t, "C", (r, Port::Normal), 3);
    t.track("ladder", (s, Port::Normal), (r, Port::Points), 0);
    (t, [a, b, c], Work::new("engine", 1, &[lead], s))
}

/// Cars of tracks A and B from the switch inward; cars with a rank form the train on A.
fn puzzle(
    a: &[u16],
    b: &[u16],
    rank: impl Fn(u16) -> Option<u16>,
    others: impl Fn(&[PlaceId; 3]) -> Goal,
) -> (Town, Work) {
    let (t, p, mut w) = fan();
    for c in 0..8 {
        let goal = match rank(c) {
            Some(r) => Goal::Track {
                places: vec![p[0]],
                rank: Some(r),
            },
            None => others(&p),
        };
        w.car(&(c + 1).to_string(), 1, goal);
    }
    let ids = |v: &[u16]| v.iter().map(|&c| CarId(c)).collect::<Vec<_>>();
    w.stands(p[0], &ids(a));
    w.stands(p[1], &ids(b));
    (t, w)
}

fn classic(step: usize) {
    // Orders of 8 in which the three alike cars (5, 6, 7) come in rising order.
    let mut starts: Vec<Vec<u16>> = vec![vec![]];
    for c in 0..8u16 {
        starts = starts
            .into_iter()
            .flat_map(|s| {
                (0..=s.len()).filter_map(move |i| {
                    let mut q = s.clone();
                    q.insert(i, c);
                    let alike: Vec<u16> = q.iter().copied().filter(|&x| x >= 5).collect();
                    alike.is_sorted().then_some(q)
                })
            })
            .collect();
    }
    let total = Instant::now();
    let mut times = vec![];
    let mut counts = [0u32; 32];
    for s in starts.iter().step_by(step) {
        let (t, w) = puzzle(
            &s[..5],
            &s[5..],
            |c| (c < 5).then_some(c),
            |p| Goal::Track {
                places: p[1..].to_vec(),
                rank: None,
            },
        );
        let clock = Instant::now();
        let answer = solve(&t, &w, &Options::default(), &|| false);
        times.push(clock.elapsed().as_secs_f64());
        match answer {
            Ok(Answer::Solved(x)) if x.proven && replay(&t, &w, &x.plan).is_ok() => {
                counts[x.moves] += 6;
            }
            other => println!("NOT SETTLED: {s:?} {other:?}"),
        }
    }
    times.sort_by(f64::total_cmp);
    let n: u32 = counts.iter().sum();
    let sum: u32 = counts.iter().enumerate().map(|(i, c)| i as u32 * c).sum();
    println!(
        "{} different starts standing for {n}: mean {:.6} moves, {:.1} s in all, mean {:.4} s, p95 {:.4} s, max {:.4} s",
        times.len(),
        f64::from(sum) / f64::from(n),
        total.elapsed().as_secs_f64(),
        times.iter().sum::<f64>() / times.len() as f64,
        at(&times, 0.95),
        at(&times, 1.0)
    );
    for (i, c) in counts.iter().enumerate().filter(|x| *x.1 > 0) {
        println!("{i:3} moves: {c}");
    }
}

/// `'c3'` and the like between brackets.
fn cars(list: &str) -> Vec<u16> {
    list.split('\'')
        .filter_map(|x| x.strip_prefix('c').and_then(|n| n.parse::<u16>().ok()))
        .map(|n| n - 1)
        .collect()
}

fn field<'a>(line: &'a str, name: &str, until: &str) -> Option<&'a str> {
    let rest = &line[line.find(name)? + name.len()..];
    Some(rest[..rest.find(until).unwrap_or(rest.len())].trim())
}

fn peer(python: &str, seeds: u64, search: &str) -> ExitCode {
    let Ok(shared) = std::env::var("SAWBY_SHARED") else {
        println!("SAWBY_SHARED is not set: it must name the shared folder with bench/planner");
        return ExitCode::SUCCESS;
    };
    // The script writes beside itself, so it runs in a folder of its own.
    let here = std::env::temp_dir().join(format!("bench-switching-{}", std::process::id()));
    let script = here.join("inglenook.py");
    let copied = std::fs::create_dir_all(&here)
        .and_then(|()| std::fs::read(format!("{shared}/bench/planner/inglenook.py")))
        .and_then(|text| std::fs::write(&script, text));
    if let Err(e) = copied {
        eprintln!("cannot copy the peer's script: {e}");
        return ExitCode::FAILURE;
    }
    println!(
        "| seed | peer cost | peer search s | peer wall s | our moves | proven | our s | search ratio | wall ratio |"
    );
    println!("|---|---|---|---|---|---|---|---|---|");
    let (mut ratios, mut walls) = (vec![], vec![]);
    for seed in 1..=seeds {
        let out = Command::new(python)
            .arg(&script)
            .arg(seed.to_string())
            .arg(search)
            .output();
        let text = match out {
            Ok(o) => String::from_utf8_lossy(&o.stdout).into_owned(),
            Err(e) => {
                eprintln!("cannot run the peer: {e}");
                return ExitCode::FAILURE;
            }
        };
        let Some(line) = text.lines().find(|l| l.starts_with("seed ")) else {
            println!("| {seed} | the peer said: {} |", text.trim());
            continue;
        };
        let list = |name: &str| field(line, name, "]").map(cars).unwrap_or_default();
        // It lists standing cars from the bumper out, and the goal from the switch in.
        let (mut a, mut b, goal) = (list(" A ["), list(" B ["), list(" goal ["));
        a.reverse();
        b.reverse();
        let (t, w) = puzzle(
            &a,
            &b,
            |c| goal.iter().position(|&g| g == c).map(|i| i as u16),
            |_| Goal::Anywhere,
        );
        // The mean of several runs, since one is too short to time well.
        let runs = 5;
        let clock = Instant::now();
        let before = processor(&clock);
        let mut answer = solve(&t, &w, &Options::default(), &|| false);
        for _ in 1..runs {
            answer = solve(&t, &w, &Options::default(), &|| false);
        }
        let ours = (processor(&clock) - before) / f64::from(runs);
        let Ok(Answer::Solved(s)) = answer else {
            println!("| {seed} | ours: {answer:?} |");
            continue;
        };
        let legal = replay(&t, &w, &s.plan).is_ok();
        let number = |name: &str| field(line, name, " ").and_then(|x| x.parse::<f64>().ok());
        let (cost, theirs, wall) = (number(" cost "), number(" search_s "), number(" wall_s "));
        let show = |x: Option<f64>| x.map_or("-".into(), |v| format!("{v:.2}"));
        println!(
            "| {seed} | {} | {} | {} | {}{} | {} | {ours:.4} | {} | {} |",
            show(cost),
            show(theirs),
            show(wall),
            s.moves,
            if legal { "" } else { " ILLEGAL" },
            s.proven,
            show(theirs.map(|x| x / ours)),
            show(wall.map(|x| x / ours))
        );
        if cost.is_some_and(|c| (c - s.moves as f64).abs() > 0.1) {
            println!("  the costs differ: the metrics were not alike");
        }
        ratios.extend(theirs.map(|x| x / ours));
        walls.extend(wall.map(|x| x / ours));
    }
    ratios.sort_by(f64::total_cmp);
    walls.sort_by(f64::total_cmp);
    println!(
        "search time ratio: least {:.0}, median {:.0}; wall time ratio: least {:.0}, median {:.0}",
        at(&ratios, 0.0),
        at(&ratios, 0.5),
        at(&walls, 0.0),
        at(&walls, 0.5)
    );
    std::fs::remove_dir_all(&here).ok();
    ExitCode::SUCCESS
}
