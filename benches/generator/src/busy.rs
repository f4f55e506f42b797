//! One long single-track line with a timetable that can be worked: for dispatching at any size.

use std::fmt::Write as _;

use railroad::Folder;
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;

/// Stations of a division: a yard and its towns.
const DIVISION: usize = 13;
/// Trains that begin in a division on a day.
const TRAINS: usize = 24;
/// Tracks of a yard on which trains are made up and broken up.
const TRACKS: usize = 8;

/// A line of `size` divisions, 13 stations and 24 trains each: a yard at both ends and between divisions,
/// towns with a siding that holds every train. Half the trains go each way, spread over the day; a sixth
/// are first class and run over two divisions where there are two, a third are locals that work at four
/// towns. Each train is due at its end when it would be there if it met nobody and took `spare` parts in a
/// hundred longer: with 5 hardly any meet can be had without somebody being late, with 30 most can.
pub fn busy(size: usize, seed: u64, spare: u32) -> Folder {
    let mut random = Pcg64::seed_from_u64(seed);
    let mut folder = Folder::default();
    folder.insert(
        "railroad.toml",
        "format = 1\nname = \"Busy Railroad\"\nmarks = \"BRR\"\nscale = \"HO\"\ndate = 1941-10-14\n\
         equipment_from = 1910\nclock = 4\n\n[limits]\ngrade = \"2.5 %\"\nradius = \"24 in\"\n",
    );
    let count = size * DIVISION;
    let is_yard = |at: usize| at.is_multiple_of(DIVISION) || at + 1 == count;
    let name = |at: usize| match is_yard(at) {
        true => format!("Yard {at}"),
        false => format!("Town {at}"),
    };
    let mut line =
        String::from("name = \"Main\"\nspeed = \"25 mph\"\npassenger_speed = \"35 mph\"\n");
    for at in 1..count {
        let length: u32 = random.random_range(14..26);
        let _ = write!(
            line,
            "\n[[open]]\nfrom = \"{}\"\nto = \"{}\"\nlength = \"{length} ft\"\ngap = \"3 mi\"\n",
            name(at - 1),
            name(at)
        );
    }
    folder.insert("lines/main.toml", line);
    for at in 0..count {
        let file = format!(
            "stations/{}.toml",
            name(at).to_lowercase().replace(' ', "-")
        );
        folder.insert(file, page(&name(at), at, is_yard(at)));
    }
    let yards: Vec<usize> = (0..count).filter(|&at| is_yard(at)).collect();
    let mut trains = String::new();
    let mut engines = String::from("number,kind,wheels,length,built,minimum_radius\n");
    let mut number = 0;
    for division in 0..size {
        for train in 0..TRAINS {
            number += 1;
            let east = train % 2 == 0;
            let class = [1, 2, 4, 3, 4, 2][train / 2 % 6];
            let long = class == 1 && division + 1 < size;
            // A pair of trains of a division runs between its ends, or on through the next.
            let ends = (
                yards[division],
                yards[(division + if long { 2 } else { 1 }).min(size)],
            );
            let (from, to) = if east { ends } else { (ends.1, ends.0) };
            let between: Vec<usize> = match east {
                true => (from + 1..to).collect(),
                false => (to + 1..from).rev().collect(),
            };
            let leave = 60 + train as u32 * 50 + random.random_range(0..30);
            // Tenths of a minute that a step takes without meets, by reckoning.
            let pace = [0, 95, 95, 132, 132][class];
            let spared = |tenths: u32| tenths * (100 + spare) / 1000;
            let mut stops = String::new();
            let mut tenths = 0;
            for (passed, &at) in between.iter().enumerate() {
                tenths += pace;
                if class == 4 && passed % 3 == 1 {
                    tenths += 220;
                    let _ = writeln!(
                        stops,
                        "  {{ station = \"{}\", work = [\"set out\", \"pick up\"], minutes = \"20 min\" }},",
                        name(at)
                    );
                }
            }
            let arrive = leave + spared(tenths + pace);
            let clock = |minute: u32| format!("{}:{:02}", minute / 60, minute % 60);
            let _ = write!(
                trains,
                "[trains.{number}]\nclass = {class}\nkind = \"{}\"\ndirection = \"{}\"\nfrom = \"{}\"\nto = \"{}\"\n\
                 leave = \"{}\"\narrive = \"{}\"\nengines = [\"{}\"]\nmax_length = \"10 ft\"\n",
                ["", "express", "passenger", "through freight", "local"][class],
                if east { "east" } else { "west" },
                name(from),
                name(to),
                clock(leave),
                clock(arrive),
                100 + number,
            );
            if !stops.is_empty() {
                let _ = writeln!(trains, "stops = [\n{stops}]");
            }
            trains.push('\n');
            let _ = writeln!(engines, "{},steam,2-8-0,9.5 in,1920,18 in", 100 + number);
        }
    }
    folder.insert("trains.toml", trains);
    folder.insert("engines.csv", engines);
    folder
}

fn page(name: &str, at: usize, yard: bool) -> String {
    let mile = at as f64 * 3.5;
    let mut page =
        format!("name = \"{name}\"\nline = \"Main\"\nmile = {mile}\nelevation = \"40 in\"\n");
    if !yard {
        page.push_str(
            "\n[tracks]\nmain = { from = \"W\", to = \"E\", length = \"18 ft\", use = \"main\" }\n\
             siding = { from = \"s1\", to = \"s2\", length = \"14 ft\", use = \"siding\" }\n\n[switches]\n\
             s1 = { on = \"main\", at = \"1 ft\", points = \"W\", hand = \"left\", number = 6 }\n\
             s2 = { on = \"main\", at = \"16 ft\", points = \"E\", hand = \"right\", number = 6 }\n",
        );
        return page;
    }
    page.push_str(&yard_tracks(TRACKS));
    page
}

/// A yard through whose main trains pass, with tracks to arrive on and leave from.
fn yard_tracks(count: usize) -> String {
    let mut page = String::from(
        "kind = \"yard\"\n\n[tracks]\nmain = { from = \"W\", to = \"E\", length = \"30 ft\", use = \"main\" }\n",
    );
    for track in 1..=count {
        let _ = writeln!(
            page,
            "ad{track} = {{ from = \"w{track}\", to = \"e{track}\", length = \"20 ft\", use = \"arrival-departure\" }}"
        );
    }
    page.push_str("\n[switches]\n");
    for track in 1..=count {
        let inches = 6 * track;
        let _ = writeln!(
            page,
            "w{track} = {{ on = \"main\", at = \"{inches} in\", points = \"W\", hand = \"left\", number = 6 }}\n\
             e{track} = {{ on = \"main\", at = \"{} in\", points = \"E\", hand = \"right\", number = 6 }}",
            360 - inches
        );
    }
    page
}
