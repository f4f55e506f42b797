//! Railroads with very long and very short names, made from the example.

use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;

/// Words of names: from one letter to what no town should be called.
const WORDS: [&str; 14] = [
    "O",
    "Ai",
    "Ely",
    "Bend",
    "Upper",
    "Junction",
    "Crossing",
    "Saint",
    "Bartholomew's",
    "Whitewater",
    "Northwestern",
    "Consolidated",
    "Wollaramundaburra",
    "Manufacturers'",
];

fn name(dice: &mut Pcg64, most: usize) -> String {
    let count = dice.random_range(1..=most);
    let words: Vec<&str> = (0..count)
        .map(|_| WORDS[dice.random_range(0..WORDS.len())])
        .collect();
    words.join(" ")
}

/// The example with every station, shipper, job and named train called otherwise, by seed.
pub fn renamed(seed: u64) -> railroad::Railroad {
    let folder = railroad::Folder::built_in("example").unwrap();
    let plain = railroad::load(&folder).railroad;
    let mut dice = Pcg64::seed_from_u64(seed);
    let mut names: Vec<(String, String)> = vec![];
    let mut rename = |old: &str, most: usize| {
        // Numbered, so that no two things come to have one name.
        let new = format!("{} {}", name(&mut dice, most), names.len() + 1);
        names.push((old.to_owned(), new));
    };
    for station in &plain.way.stations {
        rename(&station.name.value, 4);
    }
    for shipper in &plain.traffic.shippers {
        rename(&shipper.name.value, 5);
    }
    for job in &plain.service.jobs {
        rename(&job.name.value, 4);
    }
    for train in plain
        .service
        .trains
        .iter()
        .filter_map(|train| train.name.as_ref())
    {
        rename(train, 5);
    }
    // Longer names first: one may hold another.
    names.sort_by_key(|(old, _)| std::cmp::Reverse(old.len()));
    let mut out = railroad::Folder::default();
    for (path, bytes) in folder.iter() {
        let mut text = String::from_utf8(bytes.to_vec()).unwrap();
        for (at, (old, _)) in names.iter().enumerate() {
            text = text.replace(old, &format!("\u{1}{at}\u{2}"));
        }
        for (at, (_, new)) in names.iter().enumerate() {
            text = text.replace(&format!("\u{1}{at}\u{2}"), new);
        }
        out.insert(path, text.into_bytes());
    }
    railroad::load(&out).railroad
}
