//! Railroads of any size that can be worked: yards, staging, through freights and locals, shippers whose
//! loads go somewhere.

use std::fmt::Write as _;

use railroad::Folder;
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;

/// Stations of a unit.
const TOWNS: usize = 12;
/// Which of them is its yard.
const YARD: usize = 6;

/// One line of `size` units between two staging yards. Each unit has a yard and eleven towns, some 150
/// cars, 22 shippers, and trains between its yard and its neighbors.
pub fn worked(size: usize, seed: u64) -> Folder {
    let mut random = Pcg64::seed_from_u64(seed);
    let mut folder = Folder::default();
    folder.insert(
        "railroad.toml",
        "format = 1\nname = \"Worked Railroad\"\nmarks = \"WRR\"\nscale = \"HO\"\ndate = 1941-10-14\n\
         equipment_from = 1910\nclock = 4\n",
    );
    let town = |unit: usize, at: usize| format!("Town {unit}-{at}");
    let mut order = vec!["West".to_owned()];
    for unit in 0..size {
        order.extend((0..TOWNS).map(|at| town(unit, at)));
    }
    order.push("East".to_owned());
    let mut line = String::from("name = \"Main\"\n");
    for pair in order.windows(2) {
        let _ = write!(
            line,
            "\n[[open]]\nfrom = \"{}\"\nto = \"{}\"\nlength = \"12 ft\"\ngap = \"2 mi\"\n",
            pair[0], pair[1]
        );
    }
    folder.insert("lines/main.toml", line);
    for (at, name) in order.iter().enumerate() {
        let yard = name.ends_with(&format!("-{YARD}"));
        let file = format!("stations/{}.toml", name.to_lowercase().replace(' ', "-"));
        folder.insert(file, station(name, at, order.len(), yard));
    }
    let mut shippers = String::from(
        "shipper,station,track,spots,does,commodity,car_kind,cars_per_week,place,dwell,priority\n",
    );
    for unit in 0..size {
        for at in (0..TOWNS).filter(|&at| at != YARD) {
            for spur in 0..2 {
                let kind = ["boxcar", "gondola", "hopper"][(at + spur) % 3];
                let ships = (at + spur) % 2 == 0;
                let end = if random.random::<bool>() {
                    "West"
                } else {
                    "East"
                };
                // Beyond the unit only by the nearer end, so that ways do not grow with the railroad.
                let near = match (unit == 0, unit + 1 == size) {
                    (true, false) => "West",
                    (false, true) => "East",
                    _ => end,
                };
                let place = if ships && (unit > 0 && unit + 1 < size) {
                    town(unit, (at + 3) % TOWNS)
                } else {
                    format!("Elsewhere via {near}")
                };
                let does = if ships { "ships" } else { "receives" };
                if ships || unit == 0 || unit + 1 == size {
                    let _ = writeln!(
                        shippers,
                        "Shipper {unit}-{at}-{spur},{},spur {spur},door {spur}-1; door {spur}-2,{does},goods {unit}-{at}-{spur},{kind},2,{place},8 h,{}",
                        town(unit, at),
                        1 + (at + spur) % 5
                    );
                }
                if !place.contains(" via ") {
                    let to = (at + 3) % TOWNS;
                    let (track, spots) = if to == YARD {
                        ("house", String::from("house door"))
                    } else {
                        (
                            ["spur 0", "spur 1"][spur],
                            format!("door {spur}-1; door {spur}-2"),
                        )
                    };
                    let _ = writeln!(
                        shippers,
                        "Receiver {unit}-{to}-{spur},{place},{track},{spots},receives,goods {unit}-{at}-{spur},{kind},2,{},8 h,5",
                        town(unit, at)
                    );
                }
            }
        }
    }
    folder.insert("shippers.csv", shippers);
    let mut cars = String::from("marks,number,aar,kind,length,built,at\n");
    let mut number = 1000;
    let mut add = |kind: &str, aar: &str, at: &str| {
        number += 1;
        let _ = writeln!(cars, "WRR,{number},{aar},{kind},6 in,1930,{at}");
    };
    for unit in 0..size {
        for car in 0..144 {
            let (kind, aar) = [("boxcar", "XM"), ("gondola", "GB"), ("hopper", "HM")][car % 3];
            let place = match (unit, car / 48) {
                (0, 2) => format!("West / {}", 1 + car % 3),
                (u, 2) if u + 1 == size => format!("East / {}", 1 + car % 3),
                _ => format!("{} / c{}", town(unit, YARD), 1 + car % 6),
            };
            add(kind, aar, &place);
        }
        for caboose in 0..8 {
            let at = match (unit, caboose) {
                (0, 0..=2) => "West / 4".to_owned(),
                (u, 3..=5) if u + 1 == size => "East / 4".to_owned(),
                _ => format!("{} / caboose", town(unit, YARD)),
            };
            add("caboose", "NE", &at);
        }
    }
    folder.insert("cars.csv", cars);
    let (trains, engines) = trains(size, &order);
    folder.insert("trains.toml", trains);
    folder.insert("engines.csv", engines);
    folder
}

fn station(name: &str, at: usize, count: usize, yard: bool) -> String {
    let mile = at as f64 * 3.0;
    let mut page =
        format!("name = \"{name}\"\nline = \"Main\"\nmile = {mile}\nelevation = \"40 in\"\n");
    let staging = at == 0 || at + 1 == count;
    if staging {
        let (from, to, end) = if at == 0 {
            ("bumper", "E", "E")
        } else {
            ("W", "bumper", "W")
        };
        let _ = write!(
            page,
            "kind = \"staging\"\n\n[tracks]\nmain = {{ from = \"{from}\", to = \"{to}\", length = \"24 ft\", use = \"main\" }}\n"
        );
        for track in 1..=4 {
            let _ = writeln!(
                page,
                "{track} = {{ from = \"s{track}\", to = \"bumper\", length = \"20 ft\", use = \"staging\" }}"
            );
        }
        page.push_str("\n[switches]\n");
        for track in 1..=4 {
            let feet = if at == 0 { 24 - track } else { track };
            let _ = writeln!(
                page,
                "s{track} = {{ on = \"main\", at = \"{feet} ft\", points = \"{end}\", hand = \"left\", number = 6 }}"
            );
        }
        return page;
    }
    if yard {
        page.push_str(
            "kind = \"yard\"\n\n[tracks]\nmain = { from = \"W\", to = \"E\", length = \"30 ft\", use = \"main\" }\n",
        );
        for track in 1..=6 {
            let _ = writeln!(
                page,
                "c{track} = {{ from = \"w{track}\", to = \"e{track}\", length = \"20 ft\", use = \"classification\" }}"
            );
        }
        page.push_str(
            "ad = { from = \"w7\", to = \"e7\", length = \"20 ft\", use = \"arrival-departure\" }\n\
             caboose = { from = \"w8\", to = \"bumper\", length = \"6 ft\", use = \"caboose\" }\n\
             house = { from = \"w9\", to = \"bumper\", length = \"3 ft\", use = \"house\", spots = [\"house door\"] }\n\n[switches]\n",
        );
        for track in 1..=9 {
            let inches = 6 * track;
            let _ = writeln!(
                page,
                "w{track} = {{ on = \"main\", at = \"{inches} in\", points = \"W\", hand = \"left\", number = 6 }}"
            );
        }
        for track in 1..=7 {
            let inches = 360 - 6 * track;
            let _ = writeln!(
                page,
                "e{track} = {{ on = \"main\", at = \"{inches} in\", points = \"E\", hand = \"right\", number = 6 }}"
            );
        }
        return page;
    }
    page.push_str(
        "\n[tracks]\nmain = { from = \"W\", to = \"E\", length = \"18 ft\", use = \"main\" }\n\
         siding = { from = \"s1\", to = \"s2\", length = \"14 ft\", use = \"siding\" }\n",
    );
    for spur in 0..2 {
        let _ = writeln!(
            page,
            "\"spur {spur}\" = {{ from = \"s{}\", to = \"bumper\", length = \"4 ft\", use = \"spur\", spots = [\"door {spur}-1\", \"door {spur}-2\"] }}",
            spur + 3
        );
    }
    page.push_str(
        "\n[switches]\ns1 = { on = \"main\", at = \"1 ft\", points = \"W\", hand = \"left\", number = 6 }\n\
         s2 = { on = \"main\", at = \"16 ft\", points = \"E\", hand = \"right\", number = 6 }\n\
         s3 = { on = \"main\", at = \"4 ft\", points = \"W\", hand = \"right\", number = 6 }\n\
         s4 = { on = \"siding\", at = \"4 ft\", points = \"W\", hand = \"left\", number = 6 }\n",
    );
    page
}

/// Between every two neighboring hubs a through freight and a local each way.
fn trains(size: usize, order: &[String]) -> (String, String) {
    let mut trains = String::new();
    let mut engines = String::from("number,kind,wheels,length,built,minimum_radius\n");
    let mut hubs = vec![0];
    hubs.extend((0..size).map(|unit| 1 + unit * TOWNS + YARD));
    hubs.push(order.len() - 1);
    let mut number = 0;
    for pair in hubs.windows(2) {
        for (east, local) in [(true, false), (false, false), (true, true), (false, true)] {
            number += 1;
            let engine = 100 + number;
            let _ = writeln!(engines, "{engine},steam,2-8-0,9.5 in,1920,18 in");
            let (from, to) = if east {
                (pair[0], pair[1])
            } else {
                (pair[1], pair[0])
            };
            let mut between: Vec<usize> = (pair[0] + 1..pair[1]).collect();
            if !east {
                between.reverse();
            }
            let (mut minute, kind, way) = match (local, east) {
                (false, true) => (60 * 14, "through freight", "east"),
                (false, false) => (60 * 15, "through freight", "west"),
                (true, true) => (60 * 6, "local", "east"),
                (true, false) => (60 * 7, "local", "west"),
            };
            let clock = |minute: usize| format!("{}:{:02}", minute / 60, minute % 60);
            let _ = write!(
                trains,
                "[trains.{number}]\nclass = {}\nkind = \"{kind}\"\ndirection = \"{way}\"\nfrom = \"{}\"\nto = \"{}\"\n\
                 leave = \"{}\"\nengines = [\"{engine}\"]\nmax_length = \"12 ft\"\n",
                if local { 4 } else { 3 },
                order[from],
                order[to],
                clock(minute)
            );
            let mut stops = String::new();
            if local {
                for &at in &between {
                    let _ = writeln!(
                        stops,
                        "  {{ station = \"{}\", arrive = \"{}\", leave = \"{}\", work = [\"set out\", \"pick up\"], minutes = \"40 min\" }},",
                        order[at],
                        clock(minute + 12),
                        clock(minute + 52)
                    );
                    minute += 52;
                }
            } else {
                minute += 12 * between.len();
            }
            let _ = writeln!(trains, "arrive = \"{}\"", clock(minute + 12));
            if local {
                let _ = writeln!(trains, "stops = [\n{stops}]");
            }
            trains.push('\n');
        }
    }
    (trains, engines)
}
