//! Seasons: nothing is lost on the way, nothing teleports, the answer does not depend on threads, and a
//! queue behaves as the textbook says.

use engineering::ids::{StationId, TrackRef};
use model::units::Actual;
use planning::season::{Options, Ready, season};
use railroad::{Folder, Railroad, fixture};
use traffic::books::{Facts, judge, judge::judge_movements};

fn example() -> Railroad {
    railroad::load(&Folder::built_in("example").unwrap()).railroad
}

/// The stations at which a train calls, in order, from the timetable.
fn calls(railroad: &Railroad, symbol: &str) -> Vec<StationId> {
    let Some(id) = railroad.service.find_train(symbol) else {
        return vec![];
    };
    railroad
        .service
        .train(id)
        .times()
        .into_iter()
        .filter_map(|place| railroad.way.find_station(&place.station?.value))
        .collect()
}

/// Plays sessions and has the books judged after each, and all that happened in it.
fn judged(railroad: &Railroad, options: &Options, sessions: u32) -> usize {
    let usable =
        |track: TrackRef| -> Actual { railroad.network.usable(&railroad.way, track).length };
    let facts = Facts {
        way: &railroad.way,
        roster: &railroad.roster,
        traffic: &railroad.traffic,
        usable: &usable,
    };
    let ready = Ready::new(railroad, options);
    let mut play = ready.sessions();
    let mut moved = 0;
    for session in 0..sessions {
        let before = play.books().cars().to_vec();
        let happened = play.play();
        moved += happened.len();
        let wrong = judge_movements(&before, &happened, &facts, &|symbol| {
            calls(railroad, symbol)
        });
        assert_eq!(wrong, [], "seed {} session {session}", options.seed);
        let wrong = judge(play.books().cars(), &facts);
        assert_eq!(wrong, [], "seed {} session {session}", options.seed);
    }
    moved
}

/// Seeds, hurried and slow connections, orders far ahead and none: 10,000 sessions in all if
/// `SAWBY_SLOW` is set, a tenth of them otherwise.
#[test]
fn no_car_is_lost_doubled_or_carried_through_the_air() {
    let railroad = example();
    let sessions = if std::env::var_os("SAWBY_SLOW").is_some() {
        400
    } else {
        40
    };
    for seed in 0..25 {
        let options = Options {
            seed: seed * 7919,
            connection: model::time::RailSpan::from_minutes([60, 0, 240][seed as usize % 3]),
            order_ahead: [2, 0, 5, 1][seed as usize % 4],
            calendar_moves: seed % 2 == 1,
            ..Options::default()
        };
        let moved = judged(&railroad, &options, sessions);
        assert!(moved > 20 * sessions as usize, "{moved}");
    }
}

#[test]
fn one_thread_or_two_the_answer_is_the_same() {
    let railroad = example();
    let options = |threads| Options {
        sessions: 60,
        runs: 4,
        threads,
        ..Options::default()
    };
    let one = season(&railroad, &options(1), &|_| {});
    let two = season(&railroad, &options(2), &|_| {});
    assert_eq!(one, two);
    // Other dice, another season.
    assert_ne!(one.runs[0], one.runs[1]);
    assert!(one.runs[0].delivered.iter().sum::<u64>() > 300);
}

/// One spot, one train a day, loads that come at random and cars enough: each session loads one car if
/// any is wanted, so that the orders not yet loaded, counted each morning when the day's are in, are the
/// M/D/1 queue as its departing customers leave it: a Poisson number comes in each service, and one is
/// served. Its mean is the Pollaczek-Khinchine formula for constant service,
/// L = rho + rho^2 / (2 (1 - rho)) (Kleinrock, Queueing Systems, vol. 1, 1975, section 5.6; Gross and
/// Harris, Fundamentals of Queueing Theory, the M/G/1 chapter).
#[test]
fn a_shipper_with_one_spot_waits_as_the_textbook_says() {
    for (rho, seed) in [(0.5, 1), (0.7, 2), (0.8, 3)] {
        let railroad = railroad::load(&fixture::folder(&one_spot(rho * 7.0))).railroad;
        let options = Options {
            order_ahead: 0,
            seed,
            ..Options::default()
        };
        let ready = Ready::new(&railroad, &options);
        let mut play = ready.sessions();
        let (batches, length, warm) = (40_usize, 1000_usize, 200);
        let mut means = vec![];
        for _ in 0..warm {
            play.play();
        }
        for _ in 0..batches {
            let mut sum = 0;
            for _ in 0..length {
                play.play();
                sum += play.tally().open_today[0];
            }
            means.push(f64::from(sum) / length as f64);
        }
        let n = batches as f64;
        let mean = means.iter().sum::<f64>() / n;
        let deviation = (means.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        // Student's t for 39 degrees of freedom at 99 per cent.
        let half = 2.708 * deviation / n.sqrt();
        let textbook = rho + rho * rho / (2.0 * (1.0 - rho));
        assert!(
            (mean - textbook).abs() <= half,
            "rho {rho}: {mean:.3} +- {half:.3}, textbook {textbook:.3}"
        );
        // And the interval is narrow enough to mean something.
        assert!(half < 0.15 * textbook, "rho {rho}: +- {half:.3}");
    }
}

/// A yard with cars enough, a mill with one spot, a train a day there and one back, and staging beyond
/// the yard that takes the flour.
fn one_spot(cars_per_week: f64) -> String {
    let mut cars =
        String::from("marks,number,aar,kind,length,at\nSMR,90,NE,caboose,5 in,Alder / caboose\n");
    for number in 0..60 {
        cars.push_str(&format!(
            "SMR,{},XM,boxcar,6 in,Alder / c{}\n",
            100 + number,
            1 + number / 30
        ));
    }
    format!(
        r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
kind = "staging"
elevation = "42 in"

[tracks]
main = {{ from = "bumper", to = "E", length = "40 ft", use = "main" }}
c1 = {{ from = "s1", to = "bumper", length = "30 ft", use = "staging" }}
c2 = {{ from = "s2", to = "bumper", length = "30 ft", use = "staging" }}
caboose = {{ from = "s3", to = "bumper", length = "3 ft", use = "caboose" }}

[switches]
s1 = {{ on = "main", at = "38 ft", points = "E", hand = "left", number = 6 }}
s2 = {{ on = "main", at = "36 ft", points = "E", hand = "right", number = 6 }}
s3 = {{ on = "main", at = "34 ft", points = "E", hand = "right", number = 6 }}
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "42 in"

[tracks]
main = {{ from = "W", to = "bumper", length = "20 ft", use = "main" }}
siding = {{ from = "s1", to = "s2", length = "12 ft", use = "siding" }}
mill = {{ from = "s3", to = "bumper", length = "2 ft 6 in", use = "spur", spots = ["door"] }}

[switches]
s1 = {{ on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }}
s2 = {{ on = "main", at = "16 ft", points = "E", hand = "right", number = 6 }}
s3 = {{ on = "siding", at = "4 ft", points = "W", hand = "left", number = 5 }}
--- engines.csv
number,kind,wheels,length,at
12,steam,2-8-0,9 in,Alder / main
--- cars.csv
{cars}--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week,place,dwell
Mill,Birch,mill,door,ships,flour,boxcar,{cars_per_week},Harlan via Alder,4 h
--- trains.toml
[trains.1]
class = 2
kind = "local"
direction = "east"
from = "Alder"
to = "Birch"
leave = "8:00 AM"
arrive = "9:00 AM"
engines = ["12"]
max_length = "6 ft"

[trains.2]
class = 2
kind = "local"
direction = "west"
from = "Birch"
to = "Alder"
leave = "10:00 AM"
arrive = "11:00 AM"
engines = ["12"]
max_length = "6 ft"
"#
    )
}
