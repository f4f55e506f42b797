//! Measures seasons.
#![allow(
    clippy::print_stdout,
    reason = "a program that prints what it measured"
)]
use std::time::Instant;

use planning::season::{Options, Ready, season};
use railroad::Folder;

fn main() {
    let railroad = railroad::load(&Folder::built_in("example").unwrap()).railroad;
    let args: Vec<String> = std::env::args().collect();
    let sessions: u32 = args.get(1).and_then(|a| a.parse().ok()).unwrap_or(100);
    let options = Options {
        sessions,
        runs: 1,
        threads: 1,
        ..Options::default()
    };
    let t = Instant::now();
    let ready = Ready::new(&railroad, &options);
    println!("ready {:?}", t.elapsed());
    let t = Instant::now();
    let mut s = ready.sessions();
    for _ in 0..sessions {
        let m = s.play();
        if sessions <= 20 {
            println!("moves {}", m.len());
        }
    }
    println!("played {:?}", t.elapsed());
    let tally = s.tally();
    let _ = season;
    println!(
        "stuck {} off_spot {} carried_by {}",
        tally.stuck, tally.off_spot, tally.carried_by
    );
    for (day, fault) in &tally.faults {
        println!("{day} {fault:?} {}", ready.words(*fault));
    }
    if let Some(o) = args.get(2) {
        s.standing(&railroad, o);
    } else {
        ready.look(tally);
    }
}
