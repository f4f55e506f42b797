//! How long reading, joining and checking take on a long road:
//!
//! ```text
//! cargo bench -p engineering
//! ```

#![allow(clippy::print_stdout, reason = "a bench prints its figures")]

use std::time::Instant;

use engineering::{Limits, Network, Profile, Way, WayPages, ids::LineId, line, station};
use model::{
    Sources,
    scale::Scale,
    text::{Reader, Record},
    units::Actual,
};

/// A line of so many stations, each with a siding, a second siding, and six spurs off them.
fn road(stations: usize) -> Sources {
    let mut sources = Sources::default();
    let mut line = "name = \"Main\"\ngrade = \"2 %\"\n".to_owned();
    for at in 0..stations {
        let mut page = format!(
            "name = \"S{at}\"\nline = \"Main\"\nmile = {at}\nelevation = \"40 in\"\n[tracks]\n\
             main = {{ from = \"W\", to = \"E\", length = \"14 ft\", use = \"main\" }}\n\
             siding = {{ from = \"s1\", to = \"s2\", length = \"11 ft\", use = \"siding\" }}\n\
             second = {{ from = \"s3\", to = \"s4\", length = \"8 ft\", use = \"siding\" }}\n"
        );
        let mut switches = "[switches]\n\
             s1 = { on = \"main\", at = \"1 ft\", points = \"W\", hand = \"left\", number = 6 }\n\
             s2 = { on = \"main\", at = \"13 ft\", points = \"E\", hand = \"right\", number = 6 }\n\
             s3 = { on = \"siding\", at = \"1 ft\", points = \"W\", hand = \"left\", number = 6 }\n\
             s4 = { on = \"siding\", at = \"10 ft\", points = \"E\", hand = \"right\", number = 6 }\n"
            .to_owned();
        for spur in 0..6 {
            page.push_str(&format!(
                "p{spur} = {{ from = \"x{spur}\", to = \"bumper\", length = \"4 ft\", use = \"spur\", \
                 spots = [\"door {spur}\"] }}\n"
            ));
            let on = ["main", "siding", "second"][spur % 3];
            switches.push_str(&format!(
                "x{spur} = {{ on = \"{on}\", at = \"{} ft\", points = \"E\", hand = \"left\", number = 5 }}\n",
                3 + spur
            ));
        }
        sources.add(
            format!("stations/s{at}.toml"),
            format!("{page}{switches}").as_bytes(),
        );
        if at > 0 {
            line.push_str(&format!(
                "[[open]]\nfrom = \"S{}\"\nto = \"S{at}\"\nlength = \"20 ft\"\nelevation = [\"40 in\", \"40 in\"]\n\
                 profile = [[\"10 ft\", \"42 in\"]]\n\
                 curves = [{{ from = \"2 ft\", to = \"6 ft\", radius = \"40 in\" }}]\n",
                at - 1
            ));
        }
    }
    sources.add("lines/main.toml", line.as_bytes());
    sources
}

fn main() {
    let scale = Scale::new(87.1).expect("a scale");
    let limits = Limits::new(scale, Actual::from_mm(16.5));
    for stations in [300, 1200] {
        let sources = road(stations);
        let begin = Instant::now();
        let mut reader = Reader::new(&sources, scale);
        let mut read = |prefix: &str, page| -> Vec<Record> {
            sources
                .iter()
                .filter(|(_, source)| source.path.starts_with(prefix))
                .map(|(id, _)| id)
                .map(|id| reader.toml(page, id))
                .collect()
        };
        let lines = read("lines/", &line::PAGE);
        let pages = read("stations/", &station::PAGE);
        let parsed = begin.elapsed();
        let pages = WayPages {
            lines: &lines,
            stations: &pages,
            ..WayPages::default()
        };
        let way = Way::build(&mut reader, pages);
        let built = begin.elapsed();
        let network = Network::new(&way, &limits);
        let joined = begin.elapsed();
        way.check(
            &network,
            &|length| format!("{:.2} in", length.inches()),
            &mut reader.out,
        );
        let checked = begin.elapsed();
        let profile = Profile::new(&way, &network, LineId(0));
        let grades = profile.grades(&limits).len();
        let profiled = begin.elapsed();
        let ms = |time: std::time::Duration| time.as_secs_f64() * 1e3;
        println!(
            "{stations} stations: read {:.1} ms, build {:.1} ms, join {:.1} ms, check {:.1} ms, profile {:.1} ms ({grades} pieces)",
            ms(parsed),
            ms(built - parsed),
            ms(joined - built),
            ms(checked - joined),
            ms(profiled - checked),
        );
    }
}
