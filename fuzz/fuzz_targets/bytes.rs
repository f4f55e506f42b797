//! Any bytes as any one file of a small railroad: reading must not panic, and what was read must draw.
//!
//! `RUSTC_BOOTSTRAP=1 cargo fuzz run bytes -- -max_total_time=300`
#![no_main]

use libfuzzer_sys::fuzz_target;
use railroad::{fixture, load};

const FILES: &[&str] = &[
    "railroad.toml",
    "lines/main.toml",
    "stations/alder.toml",
    "stations/birch.toml",
    "cars.csv",
    "engines.csv",
    "shippers.csv",
    "waybills.csv",
    "trains.toml",
    "jobs.toml",
    "people.csv",
    "scenes.toml",
    "power.toml",
];

fuzz_target!(|data: &[u8]| {
    let Some((which, bytes)) = data.split_first() else { return };
    let mut folder = fixture::folder("");
    folder.insert(FILES[usize::from(*which) % FILES.len()], bytes);
    let loaded = load(&folder);
    let _ = loaded.report(railroad::Look::Plain);
    for (line, _) in loaded.railroad.way.lines() {
        let facts = drawing::track_chart::facts(&loaded.railroad, line);
        let units = loaded.railroad.identity.units;
        let _ = drawing::track_chart::whole(&facts, units, drawing::track_chart::Paper::A4);
    }
});

