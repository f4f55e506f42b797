//! Runs the tests of this file: those of one size one after the other in a window they share, the two
//! sizes beside each other.

use std::{pin::Pin, process::ExitCode, sync::Arc, time::Instant};

use crate::driver::{Size, Window, chromium_is_here, open};

/// What tests of one size share.
pub struct World {
    /// The window.
    pub window: Window,
    /// The address of an office of the example that no test changes.
    pub office: String,
}

type Doing = Pin<Box<dyn Future<Output = ()> + Send>>;

/// A test.
#[derive(Clone, Copy)]
pub struct Case {
    pub name: &'static str,
    pub size: Size,
    pub run: fn(Arc<World>) -> Doing,
}

/// A test by the name of its function.
macro_rules! case {
    ($name:ident, $size:ident) => {
        $crate::runner::Case {
            name: stringify!($name),
            size: $crate::driver::Size::$size,
            run: |world| Box::pin($name(world)),
        }
    };
}
pub(crate) use case;

/// Runs those that are asked for. Also tells `cargo test -- --list` what there is.
pub fn run(cases: &'static [Case]) -> ExitCode {
    let asked: Vec<String> = std::env::args().skip(1).collect();
    let exact = asked.iter().any(|word| word == "--exact");
    let words: Vec<&String> = asked
        .iter()
        .filter(|word| !word.starts_with("--"))
        .collect();
    let wanted: Vec<Case> = cases
        .iter()
        .filter(|case| {
            words.is_empty()
                || words.iter().any(|word| match exact {
                    true => case.name == word.as_str(),
                    false => case.name.contains(word.as_str()),
                })
        })
        .copied()
        .collect();
    if asked.iter().any(|word| word == "--list") {
        for case in &wanted {
            println!("{}: test", case.name);
        }
        return ExitCode::SUCCESS;
    }
    println!("\nrunning {} tests", wanted.len());
    if !wanted.is_empty() && !chromium_is_here() {
        return ExitCode::SUCCESS;
    }
    let began = Instant::now();
    let office = open(&["--example"], |_| {});
    let failed: usize = std::thread::scope(|scope| {
        let workers: Vec<_> = [Size::Desk, Size::Phone]
            .map(|size| {
                let mine: Vec<Case> = wanted
                    .iter()
                    .filter(|case| case.size == size)
                    .copied()
                    .collect();
                let office = office.address.clone();
                scope.spawn(move || in_one_window(size, office, &mine))
            })
            .into_iter()
            .collect();
        workers
            .into_iter()
            .map(|worker| worker.join().unwrap_or(1))
            .sum()
    });
    let took = began.elapsed().as_secs_f64();
    let word = if failed == 0 { "ok" } else { "FAILED" };
    println!(
        "\ntest result: {word}. {} passed; {failed} failed; finished in {took:.2}s\n",
        wanted.len() - failed
    );
    if failed == 0 {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(101)
    }
}

/// How many failed.
fn in_one_window(size: Size, office: String, cases: &[Case]) -> usize {
    if cases.is_empty() {
        return 0;
    }
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .expect("a runtime");
    runtime.block_on(async {
        let window = Window::new(size).await;
        let world = Arc::new(World { window, office });
        let mut failed = 0;
        for case in cases {
            world.window.fresh().await;
            let began = Instant::now();
            // On a task of its own, so that a failure ends only this test.
            let done = tokio::spawn((case.run)(world.clone())).await;
            let word = if done.is_ok() { "ok" } else { "FAILED" };
            println!(
                "test {} ... {word} ({:.1} s)",
                case.name,
                began.elapsed().as_secs_f64()
            );
            if done.is_err() {
                failed += 1;
                world.window.picture(&format!("failed-{}", case.name)).await;
            }
        }
        failed
    })
}
