//! Many slips of the kinds people make, one upon another, in the learning railroad: reading must not
//! panic, and what was read must draw and can be edited.
//!
//! `RUSTC_BOOTSTRAP=1 cargo fuzz run slips -- -max_total_time=300`
#![no_main]

use libfuzzer_sys::fuzz_target;
use railroad::{Folder, load};
use rand::SeedableRng as _;

fuzz_target!(|data: (u64, u8, Vec<(u8, u16, Vec<u8>)>)| {
    let (seed, slips, splices) = data;
    let mut random = rand_pcg::Pcg64::seed_from_u64(seed);
    let mut folder = Folder::built_in("learning").unwrap_or_default();
    for _ in 0..slips % 12 {
        folder = generator::spoil(&folder, &mut random).0;
    }
    // And pieces of other text put in anywhere.
    for (which, at, bytes) in splices.into_iter().take(4) {
        let files: Vec<String> = folder.iter().map(|(path, _)| path.to_owned()).collect();
        let path = &files[usize::from(which) % files.len()];
        let mut text = folder.get(path).unwrap_or_default().to_vec();
        let at = usize::from(at) % (text.len() + 1);
        text.splice(at..at, bytes);
        folder.insert(path.clone(), text);
    }
    let loaded = load(&folder);
    let _ = loaded.report(railroad::Look::Plain);
    for (line, _) in loaded.railroad.way.lines() {
        let facts = drawing::track_chart::facts(&loaded.railroad, line);
        let units = loaded.railroad.identity.units;
        let _ = drawing::track_chart::whole(&facts, units, drawing::track_chart::Paper::A4);
    }
});
