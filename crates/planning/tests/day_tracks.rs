//! Staging in depth, helpers that come home light, grades on which nobody stops, trains too long for the
//! siding: the trade's facts on a small railroad of our own.

use model::time::{RailSpan, RailTime};
use planning::day::{Day, NoDay, Options, day};
use railroad::{Folder, Railroad, load};
use transportation::day::{Staged, TrainPlan, judge};

const RAILROAD: &str = "format = 1\nname = \"Three Stations\"\nmarks = \"TST\"\nscale = \"HO\"\n\
    date = 1941-10-14\nequipment_from = 1915\nclock = 4\n";
const ENGINES: &str = "number,kind,wheels,length,built,weight,drawbar_pull\n\
    12,steam,2-8-0,9 in,1912,12 oz,2.5 oz\n14,steam,2-8-0,9 in,1913,12 oz,2.5 oz\n\
    16,steam,2-8-0,9 in,1913,12 oz,2.5 oz\n18,steam,2-8-0,9 in,1913,12 oz,2.5 oz\n";
const LINE: &str = "name = \"Main\"\nsuperior = \"east\"\ndirections = [\"west\", \"east\"]\n\
    [[open]]\nfrom = \"Alder\"\nto = \"Moor\"\nlength = \"20 ft\"\n\
    [[open]]\nfrom = \"Moor\"\nto = \"Birch\"\nlength = \"20 ft\"\n";

fn station(name: &str, mile: f64, rest: &str) -> String {
    format!("name = \"{name}\"\nline = \"Main\"\nmile = {mile:?}\nelevation = \"40 in\"\n{rest}")
}

/// A main and a siding of so many feet.
fn siding(feet: f64) -> String {
    format!(
        "[tracks]\nmain = {{ from = \"W\", to = \"E\", length = \"{} ft\", use = \"main\" }}\n\
         siding = {{ from = \"s1\", to = \"s2\", length = \"{feet} ft\", use = \"siding\" }}\n\
         [switches]\ns1 = {{ on = \"main\", at = \"1 ft\", points = \"W\", hand = \"left\", number = 6 }}\n\
         s2 = {{ on = \"main\", at = \"{} ft\", points = \"E\", hand = \"right\", number = 6 }}\n",
        feet + 2.0,
        feet + 1.0
    )
}

/// Room for whatever comes.
const BIRCH: &str = "kind = \"staging\"\n[tracks]\n\
    main = { from = \"W\", to = \"bumper\", length = \"62 ft\", use = \"main\" }\n\
    1 = { from = \"s1\", to = \"bumper\", length = \"60 ft\", use = \"staging\", several_trains = true }\n\
    2 = { from = \"s2\", to = \"bumper\", length = \"50 ft\", use = \"staging\" }\n\
    [switches]\ns1 = { on = \"main\", at = \"1 ft\", points = \"W\", hand = \"left\", number = 6 }\n\
    s2 = { on = \"main\", at = \"2 ft\", points = \"W\", hand = \"right\", number = 6 }\n";

/// The same at the other end, and a track for engines.
const ALDER: &str = "kind = \"staging\"\n[tracks]\n\
    main = { from = \"bumper\", to = \"E\", length = \"62 ft\", use = \"main\" }\n\
    1 = { from = \"bumper\", to = \"s1\", length = \"60 ft\", use = \"staging\", several_trains = true }\n\
    2 = { from = \"bumper\", to = \"s3\", length = \"50 ft\", use = \"staging\" }\n\
    pocket = { from = \"s2\", to = \"bumper\", length = \"3 ft\", use = \"engine\" }\n\
    [switches]\ns1 = { on = \"main\", at = \"61 ft\", points = \"E\", hand = \"left\", number = 6 }\n\
    s3 = { on = \"main\", at = \"60 ft\", points = \"E\", hand = \"right\", number = 6 }\n\
    s2 = { on = \"main\", at = \"58 ft\", points = \"E\", hand = \"right\", number = 6 }\n";

struct Scene {
    moor: String,
    trains: String,
    operating: String,
    line: String,
}

impl Scene {
    fn new(moor: &str, trains: &str) -> Self {
        Self {
            moor: moor.to_owned(),
            trains: trains.to_owned(),
            operating: String::new(),
            line: LINE.to_owned(),
        }
    }

    fn railroad(&self) -> Railroad {
        let mut folder = Folder::default();
        folder.insert("railroad.toml", RAILROAD);
        folder.insert("engines.csv", ENGINES);
        folder.insert("lines/main.toml", self.line.as_str());
        folder.insert("stations/alder.toml", station("Alder", 0.0, ALDER));
        folder.insert(
            "stations/birch.toml",
            station("Birch", 9.0, BIRCH).replace(
                "elevation = \"40 in\"",
                if self.line == UP {
                    "elevation = \"46 in\""
                } else {
                    "elevation = \"40 in\""
                },
            ),
        );
        folder.insert(
            "stations/moor.toml",
            station("Moor", 4.5, &self.moor).replace(
                "elevation = \"40 in\"",
                if self.line == UP {
                    "elevation = \"46 in\""
                } else {
                    "elevation = \"40 in\""
                },
            ),
        );
        folder.insert("trains.toml", self.trains.as_str());
        if !self.operating.is_empty() {
            folder.insert("operating.toml", self.operating.as_str());
        }
        let loaded = load(&folder);
        let wrong = loaded.count(model::Severity::Error);
        assert_eq!(wrong, 0, "{:#?}", loaded.diagnostics);
        loaded.railroad
    }

    fn day(&self) -> (Railroad, Day) {
        let railroad = self.railroad();
        let day = plan(&railroad).unwrap_or_else(|no_day| panic!("{no_day}"));
        (railroad, day)
    }
}

fn plan(railroad: &Railroad) -> Result<Day, NoDay> {
    day(railroad, &Options::default(), &[], &|| false, &mut |_| {})
}

fn train(symbol: &str, from: &str, to: &str, leave: &str, engine: &str, rest: &str) -> String {
    let direction = match (from, to) {
        ("Alder", _) | (_, "Birch") => "east",
        _ => "west",
    };
    format!(
        "[trains.{symbol}]\nclass = 3\nkind = \"through freight\"\ndirection = \"{direction}\"\n\
         from = \"{from}\"\nto = \"{to}\"\nleave = \"{leave}\"\nengines = [\"{engine}\"]\n\
         max_length = \"6 ft\"\n{rest}\n"
    )
}

fn found<'a>(day: &'a Day, symbol: &str) -> &'a TrainPlan {
    let mut trains = day.plan.trains.iter();
    trains
        .find(|train| train.symbol == symbol)
        .unwrap_or_else(|| panic!("no train {symbol}"))
}

fn at(hour: u8, minute: u8) -> RailTime {
    RailTime::from_hm(hour.into(), minute.into())
}

fn told(train: &TrainPlan, words: &str) -> bool {
    train
        .waits
        .iter()
        .any(|wait| wait.chain.iter().any(|why| why.contains(words)))
}

/// Staging open at both ends, room for two trains and a half.
const MOOR_STAGING: &str = "kind = \"staging\"\n[tracks]\n\
    main = { from = \"W\", to = \"E\", length = \"18 ft\", use = \"main\" }\n\
    1 = { from = \"s1\", to = \"s2\", length = \"16 ft\", use = \"staging\", several_trains = true }\n\
    [switches]\ns1 = { on = \"main\", at = \"1 ft\", points = \"W\", hand = \"left\", number = 6 }\n\
    s2 = { on = \"main\", at = \"17 ft\", points = \"E\", hand = \"right\", number = 6 }\n";

fn two_into_staging(then: [(&str, &str); 2], to: &str) -> Scene {
    let mut trains = train(
        "1",
        "Alder",
        "Moor",
        "8:00 AM",
        "12",
        "arrive = \"8:30 AM\"\nto_track = \"1\"",
    );
    trains += &train(
        "3",
        "Alder",
        "Moor",
        "9:00 AM",
        "14",
        "arrive = \"9:30 AM\"\nto_track = \"1\"",
    );
    for ((symbol, leave), engine) in then.into_iter().zip(["12", "14"]) {
        trains += &train(symbol, "Moor", to, leave, engine, "from_track = \"1\"");
    }
    Scene::new(MOOR_STAGING, &trains)
}

/// Trade fact (common practice, no source): on a staging track that is open at both ends the first train in is
/// the first out.
#[test]
fn through_staging_gives_back_first_what_came_first() {
    let (_, day) = two_into_staging([("21", "12:00 PM"), ("23", "11:00 AM")], "Birch").day();
    let (first, second) = (found(&day, "21"), found(&day, "23"));
    assert_eq!(first.calls[0].leave, at(12, 0));
    assert!(second.calls[0].leave >= at(12, 0), "{second:?}");
    assert!(told(second, "23 stands behind 21 on"), "{:?}", second.waits);
    // In the order in which they came, nobody waits.
    let (_, day) = two_into_staging([("21", "11:00 AM"), ("23", "12:00 PM")], "Birch").day();
    assert_eq!(found(&day, "21").calls[0].leave, at(11, 0));
    assert_eq!(found(&day, "23").calls[0].leave, at(12, 0));
}

/// Trade fact (common practice, no source): where trains go out by the end they came in by, the last in is the
/// first out.
#[test]
fn stub_staging_gives_back_first_what_came_last() {
    let (_, day) = two_into_staging([("22", "11:00 AM"), ("24", "12:00 PM")], "Alder").day();
    assert!(found(&day, "22").calls[0].leave >= at(12, 0));
    assert!(told(found(&day, "22"), "22 stands behind 24 on"));
    let (_, day) = two_into_staging([("22", "12:00 PM"), ("24", "11:00 AM")], "Alder").day();
    assert_eq!(found(&day, "24").calls[0].leave, at(11, 0));
    assert_eq!(found(&day, "22").calls[0].leave, at(12, 0));
}

/// Trains that stand there from the beginning are staged in the order in which they go, unless the owner wrote
/// another: then the one behind waits. The judge sees it if the order is not the one told.
#[test]
fn staging_is_filled_in_the_order_of_leaving_or_as_written() {
    let both = |first: &str, second: &str| {
        let mut trains = train("1", "Moor", "Birch", "8:00 AM", "12", first);
        trains += &train("3", "Moor", "Birch", "11:00 AM", "14", second);
        Scene::new(MOOR_STAGING, &trains)
    };
    let (railroad, day) = both("from_track = \"1\"", "from_track = \"1\"").day();
    let order: Vec<&str> = day.plan.staged[0]
        .order
        .iter()
        .map(|train| day.plan.trains[train.0].symbol.as_str())
        .collect();
    assert_eq!(order, ["3", "1"], "from the west end to the east end");
    assert_eq!(found(&day, "1").calls[0].leave, at(8, 0));
    let mut turned = day.plan.clone();
    turned.staged[0].order.reverse();
    let faults = judge::judge(&railroad.way, &railroad.network, &day.facts, &turned).unwrap_err();
    assert!(
        faults[0].what.contains("through 3, which stands before it"),
        "{faults:?}"
    );
    turned.staged = Vec::<Staged>::new();
    let faults = judge::judge(&railroad.way, &railroad.network, &day.facts, &turned).unwrap_err();
    assert!(faults[0].what.contains("in which order"), "{faults:?}");
    let (_, day) = both(
        "from_track = \"1\"\nfrom_place = 2",
        "from_track = \"1\"\nfrom_place = 1",
    )
    .day();
    assert!(found(&day, "1").calls[0].leave >= at(11, 0));
    assert!(told(found(&day, "1"), "1 stands behind 3 on"));
}

/// A third train does not fit, and the judge counts feet, not trains.
#[test]
fn staging_holds_what_its_length_holds() {
    let mut trains = String::new();
    for (symbol, engine) in [("1", "12"), ("3", "14"), ("5", "16")] {
        trains += &train(
            symbol,
            "Moor",
            "Birch",
            "8:00 AM",
            engine,
            "from_track = \"1\"",
        );
    }
    let railroad = Scene::new(MOOR_STAGING, &trains).railroad();
    assert!(plan(&railroad).is_err());
    // Nine inches of engine more or less decide, not the number.
    let railroad = Scene::new(MOOR_STAGING, &trains.replace("6 ft", "4 ft")).railroad();
    let mut day = plan(&railroad).unwrap_or_else(|no_day| panic!("{no_day}"));
    assert_eq!(day.plan.staged[0].order.len(), 3);
    for facts in &mut day.facts.trains {
        facts.length = model::units::Actual::from_feet(6.0);
    }
    let faults = judge::judge(&railroad.way, &railroad.network, &day.facts, &day.plan).unwrap_err();
    assert!(
        faults
            .iter()
            .any(|fault| fault.what.contains("long together")),
        "{faults:?}"
    );
}

const HELPED: &str = "helper = { engine = \"16\", from = \"Alder\", to = \"Moor\" }";

/// Trade fact (common practice, no source): the helper that took one train up must come down light before it
/// takes the next, as a train of its own that needs the track like any other.
#[test]
fn a_helper_comes_down_light_for_the_next_train() {
    let mut trains = train("2", "Alder", "Birch", "8:00 AM", "12", HELPED);
    trains += &train("4", "Alder", "Birch", "8:10 AM", "14", HELPED);
    let (railroad, day) = Scene::new(&siding(10.0), &trains).day();
    let light = found(&day, "Extra 16 West");
    assert!(light.extra && light.train.is_none());
    let cut_off = found(&day, "2").calls[1].leave;
    assert!(light.calls[0].leave > cut_off);
    let fourth = &found(&day, "4").calls[0];
    assert!(fourth.leave > light.calls[1].arrive);
    assert!(
        told(found(&day, "4"), "Extra 16 West"),
        "{:?}",
        found(&day, "4").waits
    );
    // Whoever draws the plan by hand and forgets the way down is told.
    let mut early = day.plan.clone();
    let index = day
        .plan
        .trains
        .iter()
        .position(|train| train.symbol == "4")
        .unwrap();
    for call in &mut early.trains[index].calls {
        call.arrive -= RailSpan::from_minutes(15);
        call.leave -= RailSpan::from_minutes(15);
    }
    let faults = judge::judge(&railroad.way, &railroad.network, &day.facts, &early).unwrap_err();
    assert!(
        faults.iter().any(|fault| fault.what.contains("helper 16")),
        "{faults:?}"
    );
    // The last one home only if the owner wants it.
    assert_eq!(day.plan.trains.len(), 3);
    let (_, day) = Scene::new(
        &siding(10.0),
        &trains.replace("\"Moor\" }", "\"Moor\", returns = true }"),
    )
    .day();
    assert_eq!(found(&day, "Extra 16 West, trip 2").calls.len(), 2);
}

/// Trade fact (common practice, no source): a light helper gets out of the way of a train with a schedule.
#[test]
fn a_light_helper_waits_for_a_train_of_any_class() {
    let mut trains = train("2", "Alder", "Birch", "8:00 AM", "12", HELPED);
    trains += &train("4", "Alder", "Birch", "10:00 AM", "14", HELPED);
    trains += &train("6", "Alder", "Birch", "8:04 AM", "18", "");
    let scene = Scene::new(&siding(10.0), &trains);
    let (_, day) = scene.day();
    let (light, sixth) = (found(&day, "Extra 16 West"), found(&day, "6"));
    assert!(light.calls[0].leave > sixth.calls[0].leave);
    assert!(
        told(
            light,
            "waits for 6 to clear the main track from Alder to Moor"
        ),
        "{:?}",
        light.waits
    );
}

/// A main and nothing else.
const MAIN_ONLY: &str =
    "[tracks]\nmain = { from = \"W\", to = \"E\", length = \"14 ft\", use = \"main\" }\n";

/// Two and a half percent from Alder up to Moor.
const UP: &str = "name = \"Main\"\nsuperior = \"east\"\ndirections = [\"west\", \"east\"]\n\
    [[open]]\nfrom = \"Alder\"\nto = \"Moor\"\nlength = \"20 ft\"\nelevation = [\"40 in\", \"46 in\"]\n\
    [[open]]\nfrom = \"Moor\"\nto = \"Birch\"\nlength = \"20 ft\"\nelevation = [\"46 in\", \"46 in\"]\n";

/// Trade fact (common practice, no source): a heavy train is not let out upon the grade until it has a clear run,
/// since stopped there it could not start again. A light engine is.
#[test]
fn a_heavy_train_waits_at_the_foot_of_the_grade() {
    let work = "stops = [{ station = \"Moor\", work = [\"water\"], minutes = \"40 min\" }]";
    let heavy = |cars: u32| {
        let mut trains = train("2", "Alder", "Birch", "8:00 AM", "12", work);
        trains = trains.replace("class = 3", "arrive = \"9:05 AM\"\nclass = 2");
        trains += &train(
            "4",
            "Alder",
            "Birch",
            "8:10 AM",
            "14",
            &format!("max_cars = {cars}"),
        );
        let mut scene = Scene::new(MAIN_ONLY, &trains);
        scene.line = UP.to_owned();
        scene
    };
    let leaves = |scene: &Scene| {
        let (railroad, day) = scene.day();
        let fourth = found(&day, "4").clone();
        (railroad, day, fourth)
    };
    // Nobody minds: it follows and stands before the switch.
    let mut scene = heavy(12);
    let (_, _, fourth) = leaves(&scene);
    assert!(fourth.calls[0].leave < at(8, 20));
    assert!(
        fourth.waits.iter().any(|wait| wait.outside),
        "{:?} {:?}",
        fourth.waits,
        fourth.calls
    );
    // It is minded.
    scene.operating = "no_stop_grades = true\n".to_owned();
    let (railroad, day, fourth) = leaves(&scene);
    assert!(fourth.calls[0].leave > at(8, 30), "{fourth:?}");
    assert!(
        fourth
            .waits
            .iter()
            .all(|wait| !wait.outside || wait.station != fourth.calls[1].station)
    );
    assert!(
        told(&fourth, "stopped on that grade it could not start again"),
        "{:?}",
        fourth.waits
    );
    let mut stood = day.plan.clone();
    let index = stood
        .trains
        .iter()
        .position(|train| train.symbol == "4")
        .unwrap();
    stood.trains[index].calls[0].leave -= RailSpan::from_minutes(5);
    stood.trains[index].calls[0].arrive -= RailSpan::from_minutes(5);
    let faults = judge::judge(&railroad.way, &railroad.network, &day.facts, &stood).unwrap_err();
    assert!(
        faults
            .iter()
            .any(|fault| fault.what.contains("could not start again")),
        "{faults:?}"
    );
    // An engine and its caboose start anywhere.
    let mut scene = heavy(1);
    scene.operating = "no_stop_grades = true\n".to_owned();
    assert!(leaves(&scene).2.calls[0].leave < at(8, 20));
}

/// Trade fact (common practice, no source): two trains too long for the siding can get by each other only by
/// sawing. Where the owner forbids it one waits at a station far off; where it is allowed, it takes its time.
#[test]
fn two_trains_too_long_for_the_siding_saw_by() {
    let mut trains = train(
        "1",
        "Birch",
        "Alder",
        "8:00 AM",
        "12",
        "arrive = \"9:40 AM\"",
    );
    trains += &train(
        "2",
        "Alder",
        "Birch",
        "8:00 AM",
        "14",
        "arrive = \"9:40 AM\"",
    );
    let mut scene = Scene::new(&siding(5.0), &trains);
    scene.line = LINE.replace("length = \"20 ft\"", "length = \"20 ft\"\ngap = \"20 mi\"");
    let meets = |day: &Day| {
        let calls = &found(day, "1").calls;
        calls.iter().position(|call| !call.meets.is_empty())
    };
    let (_, apart) = scene.day();
    assert_ne!(meets(&apart), Some(1), "{:?}", apart.plan.trains);
    scene.moor = format!("saw_by = true\n{}", siding(5.0));
    let (railroad, day) = scene.day();
    assert_eq!(meets(&day), Some(1), "{:?}", day.plan.trains);
    let (first, second) = (found(&day, "1"), found(&day, "2"));
    assert!(told(first, "1 and 2 saw by at Moor"), "{:?}", first.waits);
    let together = first.calls[1].leave.min(second.calls[1].leave)
        - first.calls[1].arrive.max(second.calls[1].arrive);
    assert!(together >= RailSpan::from_minutes(20));
    let lost = |day: &Day| day.plan.losses[0].lost;
    assert!(lost(&day) < lost(&apart));
    // The judge gives them no minute of it, and nothing where it is not allowed.
    let judged = |facts: &judge::Facts, plan: &transportation::DayPlan| {
        judge::judge(&railroad.way, &railroad.network, facts, plan)
            .map_err(|faults| faults[0].what.clone())
    };
    assert_eq!(judged(&day.facts, &day.plan), Ok(()));
    let mut strict = day.facts.clone();
    for facts in &mut strict.trains {
        facts.saws = vec![None; 3];
    }
    assert!(
        judged(&strict, &day.plan)
            .unwrap_err()
            .contains("siding at Moor holds"),
        "{:?}",
        judged(&strict, &day.plan)
    );
    let mut slow = day.facts.clone();
    for facts in &mut slow.trains {
        facts.saws = vec![Some(together + RailSpan::from_minutes(1)); 3];
    }
    assert!(judged(&slow, &day.plan).is_err());
}
