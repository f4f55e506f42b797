//! How a large day's plan gets better with time.

use std::time::Instant;

use dispatching::Cost;
use planning::day::{Draft, Options};
use railroad::load;

use crate::stages::{peak, processor};

/// Searches for so many seconds and prints every plan that was better, and the first of those that nothing
/// later beat by more than a twentieth.
pub(crate) fn run(seconds: f64, size: usize, spare: u32) {
    let began = Instant::now();
    let loaded = load(&generator::busy(size, 1, spare));
    let options = Options {
        rounds: u64::MAX,
        threads: 1,
        ..Options::default()
    };
    let draft = match Draft::new(&loaded.railroad, &options, &[]) {
        Ok(draft) => draft,
        Err(no_day) => {
            println!("{no_day}");
            return;
        }
    };
    let classes = draft.parts().classes.len();
    let late = |cost: &Cost| -> Vec<i64> { (0..classes).map(|at| cost.rank(at as u8)).collect() };
    println!("compiled after {:.2} s of the processor", processor());
    println!("| processor s | wall s | rounds | late by class, s | all, s |");
    println!("|---|---|---|---|---|");
    let mut last: Option<Vec<i64>> = None;
    let mut seen: Vec<(f64, Vec<i64>)> = vec![];
    let stop = || began.elapsed().as_secs_f64() > seconds;
    let planned = draft.solve(&options, &stop, &mut |progress| {
        let Some(cost) = &progress.cost else { return };
        let late = late(cost);
        if last.as_ref() != Some(&late) {
            let (processor, wall) = (processor(), began.elapsed().as_secs_f64());
            let all: i64 = late.iter().sum();
            println!(
                "| {processor:.2} | {wall:.2} | {} | {late:?} | {all} |",
                progress.rounds
            );
            seen.push((processor, late.clone()));
            last = Some(late);
        }
    });
    let Some((_, best)) = seen.last() else {
        println!("no plan");
        return;
    };
    let best: i64 = best.iter().sum();
    let near = seen
        .iter()
        .find(|(_, late)| late.iter().sum::<i64>() * 100 <= best * 105);
    if let Some((when, _)) = near {
        println!(
            "\nWithin 5 % of the least lateness found, all classes together, after {when:.2} s of the processor."
        );
    }
    match planned {
        Ok(planned) => {
            let bound = late(&planned.cost.1);
            println!(
                "Judged; no plan below {bound:?}; peak memory {:.0} MB.",
                peak()
            );
        }
        Err(no_day) => println!("{no_day}"),
    }
}
