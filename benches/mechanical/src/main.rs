//! `cargo run --release -p mechanical-bench`: how long it takes to judge every car and engine by the date, to rate every
//! engine class over every line, and to import a spreadsheet of cars, by the size of the railroad.
#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]

use std::{collections::HashSet, hint::black_box, time::Instant};

use mechanical::{
    era::{judge_car, judge_engine},
    import,
};
use model::Diagnostics;
use railroad::{Folder, Railroad, fit, load, rating, shop};

fn main() {
    println!(
        "| railroad | cars | engines | lines | stations | check, ms | judge by date, ms | rate, ms | fit, ms | import, ms |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|");
    measure("example", &Folder::built_in("example").unwrap_or_default());
    for size in [1, 10, 30] {
        measure(
            &format!("generated, {size}x"),
            &generator::railroad(size, 1),
        );
    }
}

/// Best of ten, in milliseconds.
fn best(mut work: impl FnMut()) -> f64 {
    (0..10)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed().as_secs_f64() * 1000.0
        })
        .fold(f64::INFINITY, f64::min)
}

fn measure(name: &str, folder: &Folder) {
    let railroad: Railroad = load(folder).railroad;
    let context = shop(&railroad);
    let roster = &railroad.roster;
    let check = best(|| {
        let mut out = Diagnostics::default();
        mechanical::check(roster, &railroad.tonnage, &context, &mut out);
        black_box(&out);
    });
    let allowed = context.allowed();
    let judge = best(|| {
        let Some(allowed) = &allowed else { return };
        for car in &roster.cars {
            black_box(judge_car(car, car.is_foreign(&context), allowed));
        }
        for engine in &roster.engines {
            black_box(judge_engine(engine, allowed));
        }
    });
    let rate = best(|| {
        black_box(rating::sheet(&railroad));
    });
    let fits = best(|| {
        let spots = fit::spots(&railroad);
        for body in fit::bodies(&railroad) {
            black_box(fit::lines_for(&railroad, &spots, &body));
        }
    });
    let csv = folder.get("cars.csv").unwrap_or_default();
    let scale = railroad.identity.scale.scale;
    let imported = best(|| {
        black_box(import::read(
            import::List::Cars,
            csv,
            &[],
            scale,
            &HashSet::new(),
        ));
    });
    println!(
        "| {name} | {} | {} | {} | {} | {check:.2} | {judge:.2} | {rate:.2} | {fits:.2} | {imported:.2} |",
        roster.cars.len(),
        roster.engines.len(),
        railroad.way.lines.len(),
        railroad.way.stations.len(),
    );
}
