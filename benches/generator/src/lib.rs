//! Railroads of any size, for tests and benchmarks: clean ones, and copies with one fault.

mod busy;
mod fault;
mod hall;
mod worked;

pub use busy::busy;
pub use fault::{Fault, spoil};
pub use hall::hall;
pub use worked::worked;

use std::fmt::Write as _;

use railroad::Folder;
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;

/// A clean railroad of about `size` times the example's: 12 stations, 260 cars, 22 engines,
/// 24 trains and 30 shippers for each. It is made for reading and checking: its trains all end on two tracks, so
/// that its day has no plan; [`busy`] is made for dispatching.
pub fn railroad(size: u32, seed: u64) -> Folder {
    let mut random = Pcg64::seed_from_u64(seed);
    let mut folder = Folder::default();
    folder.insert(
        "railroad.toml",
        "format = 1\nname = \"Generated Railroad\"\nmarks = \"GNR\"\nscale = \"HO\"\n\
         date = 1941-10-14\nequipment_from = 1910\nclock = 4\n\n[limits]\ngrade = \"2.5 %\"\n\
         radius = \"24 in\"\n",
    );
    let mut cars = String::from("marks,number,aar,kind,length,built,weight,at\n");
    let mut engines = String::from("number,kind,wheels,length,built,minimum_radius\n");
    let mut shippers =
        String::from("shipper,station,track,spots,does,commodity,car_kind,cars_per_week\n");
    let mut trains = String::new();
    for unit in 0..size {
        let line = format!("Line {unit}");
        let mut page = format!("name = \"{line}\"\n");
        let mut height = 40.0;
        for at in 0..12 {
            let station = format!("Town {unit}-{at}");
            let file = format!("stations/town-{unit}-{at}.toml");
            folder.insert(file, town(&station, &line, at, height, &mut random));
            if at < 11 {
                let length: u32 = random.random_range(16..30);
                let rise: f64 = f64::from(random.random_range(-4..=4_i32)) / 2.0;
                let _ = write!(
                    page,
                    "\n[[open]]\nfrom = \"{station}\"\nto = \"Town {unit}-{}\"\nlength = \"{length} ft\"\n\
                     gap = \"3 mi\"\nelevation = [\"{height} in\", \"{} in\"]\n\
                     curves = [{{ from = \"2 ft\", to = \"6 ft\", radius = \"30 in\", turn = \"left\" }}]\n",
                    at + 1,
                    height + rise,
                );
                height += rise;
            }
            for shipper in 0..3 {
                if shipper == 2 && at % 2 == 1 {
                    continue;
                }
                let does = if shipper == 1 { "receives" } else { "ships" };
                let _ = writeln!(
                    shippers,
                    "Shipper {unit}-{at}-{shipper},{station},spur {shipper},door {shipper}-1; door {shipper}-2,{does},goods,boxcar,2",
                );
            }
        }
        folder.insert(format!("lines/line-{unit}.toml"), page);
        for car in 0..260 {
            let (kind, aar, length) = match car % 26 {
                0 => ("caboose", "NE", "5.5 in"),
                1..=14 => ("boxcar", "XM", "6 in"),
                15..=19 => ("reefer", "RS", "6 in"),
                20..=22 => ("gondola", "GB", "6.5 in"),
                _ => ("flat", "FM", "6.5 in"),
            };
            let station = car % 12;
            let track = ["siding", "spur 0", "spur 1", "spur 2"][car / 12 % 4];
            let number = 10_000 + unit * 260 + car as u32;
            let year = 1912 + (car * 7) % 28;
            let _ = writeln!(
                cars,
                "GNR,{number},{aar},{kind},{length},{year},4 oz,Town {unit}-{station} / {track}"
            );
        }
        for engine in 0..22 {
            let number = 100 + unit * 22 + engine;
            let year = 1905 + engine;
            let _ = writeln!(engines, "{number},steam,2-8-0,9.5 in,{year},18 in");
        }
        for train in 0..24 {
            let number = unit * 24 + train;
            let east = train % 2 == 0;
            let (from, to) = if east { (0, 11) } else { (11, 0) };
            // In order, so that an engine that comes round again is back.
            let hour = 1 + train * 20 / 24;
            let _ = write!(
                trains,
                "[trains.{number}]\nclass = {}\ndirection = \"{}\"\nfrom = \"Town {unit}-{from}\"\n\
                 to = \"Town {unit}-{to}\"\nleave = \"{hour}:{:02}\"\narrive = \"{}:{:02}\"\n\
                 {}max_length = \"6 ft\"\n\n",
                1 + train % 4,
                if east { "east" } else { "west" },
                train,
                hour + 3,
                train,
                // There are two trains more than engines.
                if train < 22 {
                    format!("engines = [\"{}\"]\n", 100 + unit * 22 + train)
                } else {
                    String::new()
                },
            );
        }
    }
    folder.insert("cars.csv", cars);
    folder.insert("engines.csv", engines);
    folder.insert("shippers.csv", shippers);
    folder.insert("trains.toml", trains);
    folder
}

fn town(name: &str, line: &str, at: u32, height: f64, random: &mut Pcg64) -> String {
    let mile = f64::from(at) * 5.0;
    let mut page = format!(
        "name = \"{name}\"\nline = \"{line}\"\nmile = {mile}\nelevation = \"{height} in\"\n\n[tracks]\n\
         main = {{ from = \"W\", to = \"E\", length = \"18 ft\", use = \"main\" }}\n\
         siding = {{ from = \"s1\", to = \"s2\", length = \"14 ft\", use = \"siding\" }}\n"
    );
    for spur in 0..3 {
        let length: u32 = random.random_range(5..8);
        let _ = writeln!(
            page,
            "\"spur {spur}\" = {{ from = \"s{}\", to = \"bumper\", length = \"{length} ft\", use = \"spur\", spots = [\"door {spur}-1\", \"door {spur}-2\"] }}",
            spur + 3
        );
    }
    page.push_str(
        "\n[switches]\ns1 = { on = \"main\", at = \"1 ft\", points = \"W\", hand = \"left\", number = 6 }\n\
         s2 = { on = \"main\", at = \"16 ft\", points = \"E\", hand = \"right\", number = 6 }\n\
         s3 = { on = \"main\", at = \"4 ft\", points = \"W\", hand = \"right\", number = 6 }\n\
         s4 = { on = \"siding\", at = \"4 ft\", points = \"W\", hand = \"left\", number = 6 }\n\
         s5 = { on = \"siding\", at = \"10 ft\", points = \"E\", hand = \"right\", number = 6 }\n",
    );
    page
}
