//! The week in expectation: cases worked by hand, the judge, and the season's own long run.

use planning::season::{Balance, Options, balance, season};
use railroad::{Folder, Railroad, fixture};
use traffic::balance::certify;

/// What differs between the cases.
#[derive(Clone, Copy)]
struct Case {
    cars_per_week: f64,
    cars: usize,
    /// The longest train, as written.
    longest: &'static str,
    doors: usize,
    /// The staging tracks' length, as written.
    staging: &'static str,
    /// Days a car is away beyond staging.
    away: u32,
}

/// More of everything than ten cars a week need.
const PLENTY: Case = Case {
    cars_per_week: 10.0,
    cars: 60,
    longest: "6 ft",
    doors: 2,
    staging: "30 ft",
    away: 2,
};

/// A staging yard, a mill at the other end of twenty feet of line, a train a day there at eight and one back at
/// ten. Cars are six inches long, the engine nine, the caboose five. The mill loads in four hours.
fn road(case: Case) -> Railroad {
    let Case {
        cars_per_week,
        longest,
        staging,
        away,
        ..
    } = case;
    let mut cars =
        String::from("marks,number,aar,kind,length,at\nSMR,90,NE,caboose,5 in,Alder / caboose\n");
    for number in 0..case.cars {
        let track = number % 2 + 1;
        cars.push_str(&format!(
            "SMR,{},XM,boxcar,6 in,Alder / c{track}\n",
            100 + number
        ));
    }
    let doors = ["door 1", "door 2"];
    let marks = doors[..case.doors]
        .iter()
        .map(|door| format!("\"{door}\""))
        .collect::<Vec<_>>()
        .join(", ");
    let spots = doors[..case.doors].join("; ");
    railroad::load(&fixture::folder(&format!(
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
c1 = {{ from = "s1", to = "bumper", length = "{staging}", use = "staging" }}
c2 = {{ from = "s2", to = "bumper", length = "{staging}", use = "staging" }}
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
mill = {{ from = "s3", to = "bumper", length = "3 ft 6 in", use = "spur", spots = [{marks}] }}

[switches]
s1 = {{ on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }}
s2 = {{ on = "main", at = "16 ft", points = "E", hand = "right", number = 6 }}
s3 = {{ on = "siding", at = "4 ft", points = "W", hand = "left", number = 5 }}
--- engines.csv
number,kind,wheels,length,at
12,steam,2-8-0,9 in,Alder / main
--- cars.csv
{cars}--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week,place,dwell,away
Mill,Birch,mill,{spots},ships,flour,boxcar,{cars_per_week},Harlan via Alder,4 h,{away} days
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
max_length = "{longest}"

[trains.2]
class = 2
kind = "local"
direction = "west"
from = "Birch"
to = "Alder"
leave = "10:00 AM"
arrive = "11:00 AM"
engines = ["12"]
max_length = "{longest}"
"#
    )))
    .railroad
}

fn balanced(railroad: &Railroad) -> Balance {
    let balance = balance(railroad, &Options::default()).unwrap();
    // The judge again, from outside.
    certify(&balance.programme, &balance.numbers, &balance.prices).unwrap();
    balance
}

fn mill(case: Case) -> (f64, Vec<String>) {
    let balance = balanced(&road(case));
    assert_eq!(balance.flows.len(), 1);
    let flow = &balance.flows[0];
    near(flow.offered, case.cars_per_week);
    (flow.sustained, flow.reasons.clone())
}

fn near(found: f64, worked: f64) {
    assert!(
        (found - worked).abs() < 1e-5 * worked,
        "{found}, worked by hand {worked}"
    );
}

#[test]
fn with_plenty_of_everything_all_is_sustained() {
    let (sustained, reasons) = mill(PLENTY);
    near(sustained, 10.0);
    assert!(reasons.is_empty());
}

/// A car set out at nine is loaded by one and pulled at nine of the next day, when the next is set out in
/// its place: seven a week by one door.
#[test]
fn one_door_loads_seven_cars_a_week() {
    let (sustained, reasons) = mill(Case { doors: 1, ..PLENTY });
    near(sustained, 7.0);
    assert_eq!(reasons, ["the one spot of Mill at Birch / mill"]);
}

/// Twelve hours' wait for the train, one hour's ride, four of loading, twelve and one back, two days away:
/// 78 hours. Four cars have 672 hours a week among them.
#[test]
fn four_cars_come_round_so_often() {
    let (sustained, reasons) = mill(Case { cars: 4, ..PLENTY });
    near(sustained, 4.0 * 168.0 / 78.0);
    assert_eq!(reasons, ["the number of cars of the kind `boxcar`"]);
}

/// 21 inches less engine and caboose are seven: seven sixths of a car a day.
#[test]
fn a_short_train_carries_seven_inches_a_day() {
    let (sustained, reasons) = mill(Case {
        longest: "1 ft 9 in",
        ..PLENTY
    });
    near(sustained, 7.0 * 7.0 / 6.0);
    // Either way: the empties come by the one train and the loads go by the other.
    let all = [
        "the length of train 1 from Alder to Birch",
        "the length of train 2 from Birch to Alder",
    ];
    assert!(!reasons.is_empty());
    assert!(
        reasons.iter().all(|one| all.contains(&one.as_str())),
        "{reasons:?}"
    );
}

/// Staging tracks and the main beside them, and cars that stand there eighty days each.
#[test]
fn staging_holds_so_many_cars_for_those_beyond() {
    let case = Case {
        staging: "3 ft",
        away: 80,
        cars: 200,
        ..PLENTY
    };
    let railroad = road(case);
    let room: f64 = ["main", "c1", "c2"]
        .iter()
        .map(|track| {
            let track = railroad
                .way
                .find_track(&format!("Alder / {track}"))
                .unwrap();
            railroad
                .network
                .usable(&railroad.way, track)
                .length
                .inches()
        })
        .sum();
    let balance = balanced(&railroad);
    let flow = &balance.flows[0];
    near(flow.sustained, room / 6.0 * 7.0 / 80.0);
    assert_eq!(flow.reasons, ["the staging tracks of Alder"]);
}

/// No train goes to where the load is wanted.
#[test]
fn where_no_train_goes_nothing_is_sustained() {
    let mut railroad = road(PLENTY);
    for train in &mut railroad.service.trains {
        if train.symbol.value == "2" {
            train.days.value = model::days::Days::parse("Mon").unwrap();
        }
    }
    // Mondays only, a car keeps its door for a week: two doors, two cars.
    let balance = balanced(&railroad);
    near(balance.flows[0].sustained, 2.0);
    railroad
        .service
        .trains
        .retain(|train| train.symbol.value != "2");
    let balance = balanced(&railroad);
    assert_eq!(balance.flows[0].sustained, 0.0);
    assert_eq!(
        balance.flows[0].reasons,
        ["no chain of trains brings it there, or none ever serves its spot"]
    );
}

/// Where a flow is offered more than can be sustained, a long season delivers what the programme says;
/// where it is not, what is offered.
#[test]
fn a_long_season_delivers_what_can_be_sustained() {
    let cases = [
        PLENTY,
        Case { doors: 1, ..PLENTY },
        Case {
            cars_per_week: 4.0,
            doors: 1,
            ..PLENTY
        },
    ];
    for case in cases {
        let railroad = road(case);
        let (sustained, _) = mill(case);
        let options = Options {
            sessions: 2000,
            runs: 3,
            ..Options::default()
        };
        let season = season(&railroad, &options, &|_| {});
        let delivered = season.report.lanes[0].delivered;
        assert!(
            (delivered - sustained).abs() < 0.03 * sustained,
            "{delivered} a week, and {sustained} can be sustained"
        );
    }
}

/// Chance and queues take from what can be sustained, and add nothing: no flow of the example is
/// delivered in a long season beyond what the programme allows, but for the cars that were on the way when it
/// began and what chance offered more.
#[test]
fn the_example_delivers_no_more_than_can_be_sustained() {
    let railroad = railroad::load(&Folder::built_in("example").unwrap()).railroad;
    let balance = balanced(&railroad);
    let options = Options {
        sessions: 500,
        runs: 4,
        ..Options::default()
    };
    let season = season(&railroad, &options, &|_| {});
    assert!(balance.flows.len() > 40);
    for flow in &balance.flows {
        let found = &season.report.lanes[flow.lane];
        assert_eq!((&found.who, &found.way), (&flow.who, &flow.way));
        // What the dice offered, over the mean: four standard deviations of a Poisson number.
        let weeks = 2000.0 / 7.0;
        let chance = 4.0 * (flow.offered / weeks).sqrt();
        assert!(
            (found.offered - flow.offered).abs() <= chance,
            "{} of {}: {} offered, {} expected",
            flow.commodity,
            flow.who,
            found.offered,
            flow.offered
        );
        assert!(
            found.delivered <= flow.sustained + chance + 0.1,
            "{} of {}: {} delivered, {} sustained",
            flow.commodity,
            flow.who,
            found.delivered,
            flow.sustained
        );
    }
}
