//! A plan of five hundred elements: solved, checked and drawn; then one control point after another is
//! dragged, and what depends on it solved again.
//!
//! `cargo run --release -p alignment-bench`

#![allow(clippy::print_stdout, reason = "a bench prints what it measured")]

use std::{hint::black_box, time::Instant};

use drawing::plan::{Part, draw, facts};
use engineering::alignment::{
    plan::Begin,
    solve::{resolve, solve},
};
use model::{Diagnostics, units::Actual};
use railroad::load;

/// The middle of several timings, in milliseconds.
fn middle<T>(times: usize, mut what: impl FnMut() -> T) -> f64 {
    let mut taken: Vec<f64> = (0..times)
        .map(|_| {
            let begin = Instant::now();
            black_box(what());
            begin.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    taken.sort_by(f64::total_cmp);
    taken[taken.len() / 2]
}

fn main() {
    let folder = generator::hall();
    let loaded = load(&folder);
    let road = &loaded.railroad;
    let located = &road.way.located;
    let elements: usize = located
        .plan
        .lines
        .iter()
        .map(|line| line.elements.len())
        .sum();
    let faults = located.solved.faults.len();
    println!(
        "{} center lines of {elements} elements, {faults} faults, {} diagnostics",
        located.plan.lines.len(),
        loaded.diagnostics.len()
    );
    let whole = middle(9, || load(&folder).diagnostics.len());
    let solved = middle(31, || solve(&located.plan));
    let checked = middle(9, || {
        let mut out = Diagnostics::default();
        road.way.check(
            &road.network,
            &|length: Actual| road.identity.units.show(length),
            &mut out,
        );
        out.into_sorted().len()
    });
    let drawn = middle(9, || {
        draw(&facts(road, Part::All), road.identity.units).len()
    });
    println!("solved        {solved:8.2} ms");
    println!(
        "checked       {checked:8.2} ms   (way and rooms; cars are checked while the folder is read)"
    );
    println!("drawn         {drawn:8.2} ms");
    println!(
        "sum           {:8.2} ms   (aim: under 200)",
        solved + checked + drawn
    );
    println!("folder read, solved and checked against everything, cars included {whole:8.2} ms");
    // Every line that begins at a point, moved by a millimetre at a time.
    let before = solve(&located.plan);
    let mut worst = 0.0f64;
    let mut sum = 0.0;
    let mut moves = 0;
    for line in 0..located.plan.lines.len() {
        let Begin::At(place) = located.plan.lines[line].begin else {
            continue;
        };
        let mut plan = located.plan.clone();
        for step in 0..20 {
            let mut moved = place;
            moved.x += 1e-3 * f64::from(step);
            plan.lines[line].begin = Begin::At(moved);
            let begin = Instant::now();
            let (after, again) = resolve(&plan, &before, &[line]);
            let taken = begin.elapsed().as_secs_f64() * 1e3;
            assert!(again.len() > 1 && after.lines.len() == plan.lines.len());
            worst = worst.max(taken);
            sum += taken;
            moves += 1;
        }
    }
    println!(
        "dragged       {:8.3} ms on the average, {worst:.3} at worst, of {moves} moves   (aim: under 16)",
        sum / f64::from(moves)
    );
}
