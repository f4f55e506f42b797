//! The track charts of the railroads that come with the program, and of faulty and large ones.

use drawing::track_chart::{Facts, Paper, facts, pages, whole};
use railroad::{Folder, Loaded, fixture, load};

fn charts(loaded: &Loaded) -> Vec<Facts> {
    loaded
        .railroad
        .way
        .lines()
        .map(|(line, _)| facts(&loaded.railroad, line))
        .collect()
}

/// Texts of a drawing with their places and sizes.
fn texts(svg: &str) -> Vec<(f64, f64, String)> {
    let number = |text: &str, key: &str| -> f64 {
        let from = text.find(key).map_or(0, |at| at + key.len());
        text[from..]
            .split('"')
            .next()
            .and_then(|number| number.parse().ok())
            .unwrap_or(f64::NAN)
    };
    // Texts in a group are placed by the group.
    let mut found = Vec::new();
    for line in svg.lines().filter(|line| line.starts_with("<text")) {
        let text = line
            .split_once('>')
            .map_or("", |(_, text)| text)
            .trim_end_matches("</text>");
        found.push((
            number(line, "x=\""),
            number(line, "font-size=\""),
            text.to_owned(),
        ));
    }
    found
}

#[test]
fn the_example_is_a_club_size_railroad() {
    let loaded = load(&Folder::built_in("example").unwrap());
    let charts = charts(&loaded);
    let main = charts
        .iter()
        .max_by(|a, b| a.length.total_cmp(&b.length))
        .unwrap();
    assert!(main.length.feet() > 350.0, "{} ft", main.length.feet());
    assert!(main.stations.len() >= 12);
    assert!(main.stations.windows(2).all(|pair| pair[0].at < pair[1].at));
    assert!(
        main.mileposts
            .windows(2)
            .all(|pair| pair[0].0 <= pair[1].0 && pair[0].1 < pair[1].1)
    );
    let ruling = main.ruling[1].unwrap().percent();
    assert!((2.0..2.3).contains(&ruling), "{ruling} %");
    for station in charts.iter().flat_map(|chart| &chart.stations) {
        for track in &station.tracks {
            assert!(
                track.placed,
                "{} at {} hangs together with nothing",
                track.name, station.name
            );
            assert!(track.reach[0] <= track.reach[1]);
            // The same number, reckoned another way.
            let cars = (track.usable.inches() / 6.0631 + 1e-3).floor();
            assert!(
                (f64::from(track.cars) - cars).abs() <= 1.0,
                "{}: {}",
                track.name,
                track.cars
            );
        }
        // Two tracks on one lane never lie over each other.
        for (at, one) in station
            .tracks
            .iter()
            .enumerate()
            .filter(|(_, track)| !track.slopes)
        {
            for two in station.tracks[at + 1..].iter().filter(|two| !two.slopes) {
                let apart = one.lane != two.lane
                    || one.reach[1].inches() <= two.reach[0].inches() + 0.51
                    || two.reach[1].inches() <= one.reach[0].inches() + 0.51;
                assert!(apart, "{} and {} at {}", one.name, two.name, station.name);
            }
        }
    }
}

#[test]
fn every_track_is_named_on_the_drawing_and_nothing_leaves_the_sheet() {
    for name in ["example", "learning", "smallest"] {
        let loaded = load(&Folder::built_in(name).unwrap());
        for facts in charts(&loaded) {
            for paper in [Paper::Letter, Paper::A4] {
                let svg = whole(&facts, loaded.railroad.identity.units, paper);
                let texts = texts(&svg);
                for station in &facts.stations {
                    for track in station.tracks.iter().filter(|track| !track.slopes) {
                        let named = |(_, _, text): &&(f64, f64, String)| {
                            text.replace("&amp;", "&").contains(&track.name)
                        };
                        assert!(texts.iter().any(|text| named(&text)), "{}", track.name);
                    }
                }
                let (width, _) = paper.size();
                for (x, _, text) in &texts {
                    assert!((-0.01..=width).contains(x), "`{text}` stands at {x}");
                }
            }
        }
    }
}

#[test]
fn pages_are_of_the_paper_asked_for_and_hold_every_station() {
    let loaded = load(&Folder::built_in("example").unwrap());
    for facts in charts(&loaded) {
        let pages = pages(&facts, loaded.railroad.identity.units, Paper::A4);
        for page in &pages {
            assert!(page.starts_with(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"297mm\" height=\"210mm\""
            ));
        }
        for station in &facts.stations {
            assert!(
                pages.iter().any(|page| page.contains(&station.name)),
                "{}",
                station.name
            );
        }
    }
}

#[test]
fn a_shorter_siding_changes_its_own_figures_and_nothing_else() {
    let folder = |length: &str| {
        fixture::folder(&format!(
            "--- stations/alder.toml\nname = \"Alder\"\nline = \"Main\"\nmile = 0\nelevation = \"40 in\"\n\
             [tracks]\nmain = {{ from = \"W\", to = \"E\", length = \"14 ft\", use = \"main\" }}\n\
             siding = {{ from = \"s1\", to = \"s2\", length = \"{length}\", use = \"siding\" }}\n\
             [switches]\ns1 = {{ on = \"main\", at = \"1 ft\", points = \"W\", hand = \"left\", number = 6 }}\n\
             s2 = {{ on = \"main\", at = \"13 ft\", points = \"E\", hand = \"right\", number = 6 }}\n"
        ))
    };
    let chart = |length: &str| charts(&load(&folder(length))).remove(0);
    let (long, mut short) = (chart("11 ft"), chart("9 ft"));
    let (before, after) = (
        &long.stations[0].tracks[1],
        short.stations[0].tracks[1].clone(),
    );
    assert!((before.usable.feet() - after.usable.feet() - 2.0).abs() < 1e-9);
    assert!(
        (3..=4).contains(&(before.cars - after.cars)),
        "two feet hold four forty-foot cars, or nearly"
    );
    short.stations[0].tracks[1] = before.clone();
    assert_eq!(long, short);
}

#[test]
fn a_railroad_half_written_still_draws() {
    for fixture in [
        "--- stations/birch.toml\nname = \"Birch\"\nline = \"Main\"\n[tracks]\nmain = { from = \"W\", to = \"E\", length = \"12 ft\", use = \"main\" }\nlost = { from = \"s9\", to = \"nowhere\", length = \"3 ft\", use = \"spur\" }\n",
        "--- stations/birch.toml -\n",
        "--- lines/main.toml\nname = \"Main\"\n",
        "--- stations/alder.toml\nname = \"Alder\n[tracks\n",
    ] {
        let loaded = load(&fixture::folder(fixture));
        for facts in charts(&loaded) {
            let svg = whole(&facts, loaded.railroad.identity.units, Paper::Letter);
            assert!(svg.ends_with("</svg>\n") && !svg.contains("NaN") && !svg.contains("inf"));
        }
    }
}

#[test]
fn the_same_railroad_gives_the_same_drawing() {
    let folder = Folder::built_in("example").unwrap();
    let draw = || {
        let loaded = load(&folder);
        charts(&loaded)
            .iter()
            .map(|facts| whole(facts, loaded.railroad.identity.units, Paper::Letter))
            .collect::<Vec<_>>()
    };
    assert_eq!(draw(), draw());
}
