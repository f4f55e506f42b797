//! The operating day, from folder to plan.

use model::time::RailSpan;
use planning::day::{Day, NoDay, Options, day};
use railroad::{Folder, Railroad, load};

fn example(change: impl Fn(&str, String) -> String) -> Railroad {
    let folder = Folder::built_in("example").unwrap();
    let mut changed = Folder::default();
    for (path, bytes) in folder.iter() {
        let text = String::from_utf8(bytes.to_vec()).unwrap();
        changed.insert(path, change(path, text).into_bytes());
    }
    load(&changed).railroad
}

fn planned(railroad: &Railroad) -> Day {
    plan(railroad).unwrap_or_else(|no_day| panic!("{no_day}"))
}

fn plan(railroad: &Railroad) -> Result<Day, NoDay> {
    day(railroad, &Options::default(), &[], &|| false, &mut |_| {})
}

#[test]
fn the_examples_day_is_on_time_and_no_plan_is_better() {
    let railroad = example(|_, text| text);
    let day = planned(&railroad);
    assert_eq!(day.plan.trains.len(), 23);
    for loss in &day.plan.losses {
        assert_eq!(loss.lost, RailSpan::ZERO, "class {}", loss.class);
        assert!(loss.is_proven());
    }
}

/// Trade fact (common practice, no source): an inferior train keeps out of the way of a superior one; the
/// first-class train itself is never put into a siding for anyone.
#[test]
fn everything_clears_for_the_first_class_train() {
    let railroad = example(|_, text| text);
    let day = planned(&railroad);
    let two = day
        .plan
        .trains
        .iter()
        .find(|train| train.symbol == "2")
        .unwrap();
    assert!(
        two.waits.iter().all(|wait| wait.by_timetable),
        "{:?}",
        two.waits
    );
    for call in &two.calls {
        for meet in &call.meets {
            assert_eq!(meet.holds, transportation::day::Holds::Main, "{call:?}");
        }
    }
}

/// Trade fact (common practice, no source): where a siding is taken up, its meet goes to a neighboring
/// station, and somebody of lower class waits for it.
#[test]
fn a_siding_taken_up_moves_the_meet() {
    let place = |railroad: &Railroad, day: &Day| {
        let three = day
            .plan
            .trains
            .iter()
            .find(|train| train.symbol == "3")
            .unwrap();
        let call = three.calls.iter().find(|call| {
            call.meets
                .iter()
                .any(|meet| day.plan.trains[meet.other.0].symbol == "34")
        });
        call.map(|call| railroad.way.station(call.station).name.value.clone())
    };
    let before = example(|_, text| text);
    assert_eq!(
        place(&before, &planned(&before)).as_deref(),
        Some("Ochre Tank")
    );
    let after = example(|path, text| {
        if path == "stations/ochre-tank.toml" {
            text.lines()
                .filter(|line| {
                    !["siding", "o1", "o2"]
                        .iter()
                        .any(|word| line.starts_with(&format!("{word} =")))
                })
                .map(|line| format!("{line}\n"))
                .collect()
        } else {
            text
        }
    });
    let day = planned(&after);
    assert_ne!(place(&after, &day).as_deref(), Some("Ochre Tank"));
    // The higher classes keep their time; the third pays.
    let lost = |class: i64| {
        day.plan
            .losses
            .iter()
            .find(|loss| loss.class == class)
            .unwrap()
            .lost
    };
    assert_eq!(lost(1), RailSpan::ZERO);
    assert!(lost(3) > RailSpan::ZERO, "{:?}", day.plan.losses);
}

/// A bridge that is open lets nobody over it, and the reason says so.
#[test]
fn a_train_waits_for_the_draw_and_the_reason_names_it() {
    let page = "[[closed]]\nbetween = [\"Port Corvane\", \"Sallow Narrows\"]\nfrom = \"4:20 AM\"\n\
                to = \"5:20 AM\"\nwhy = \"the draw is open for the grain boat\"\n";
    let folder = Folder::built_in("example").unwrap();
    let mut changed = Folder::default();
    for (path, bytes) in folder.iter() {
        changed.insert(path, bytes);
    }
    changed.insert("operating.toml", page.as_bytes());
    let loaded = load(&changed);
    assert_eq!(loaded.diagnostics.len(), 0, "{:?}", loaded.diagnostics);
    let day = planned(&loaded.railroad);
    let train = day
        .plan
        .trains
        .iter()
        .find(|train| train.symbol == "32")
        .unwrap();
    let told = train
        .waits
        .iter()
        .any(|wait| wait.chain.iter().any(|why| why.contains("grain boat")));
    assert!(told, "{:?}", train.waits);
}

#[test]
fn the_same_seed_gives_the_same_day_on_one_thread_and_on_two() {
    let railroad = example(|_, text| text);
    let with = |threads| {
        let options = Options {
            threads,
            rounds: 3,
            ..Options::default()
        };
        day(&railroad, &options, &[], &|| false, &mut |_| {})
            .unwrap()
            .plan
    };
    assert_eq!(with(1), with(2));
}

/// The judge sees what a careless hand draws: here a train that leaves ten minutes early, onto track that
/// another has.
#[test]
fn the_judge_finds_a_plan_drawn_wrong() {
    let railroad = example(|_, text| text);
    let day = planned(&railroad);
    let judged = |plan: &transportation::DayPlan| {
        transportation::day::judge::judge(&railroad.way, &railroad.network, &day.facts, plan)
    };
    assert_eq!(judged(&day.plan), Ok(()));
    let three = day
        .plan
        .trains
        .iter()
        .position(|train| train.symbol == "3")
        .unwrap();
    let mut early = day.plan.clone();
    early.trains[three].calls[0].leave -= RailSpan::from_minutes(10);
    assert!(judged(&early).is_err());
    // Two trains on one track: whoever met on two is put on one.
    let call = day.plan.trains[three]
        .calls
        .iter()
        .position(|call| !call.meets.is_empty())
        .unwrap();
    let other = day.plan.trains[three].calls[call].meets[0].other.0;
    let station = day.plan.trains[three].calls[call].station;
    let track = day.plan.trains[other].call(station).unwrap().track;
    let mut together = day.plan.clone();
    together.trains[three].calls[call].track = track;
    assert!(judged(&together).is_err());
}
