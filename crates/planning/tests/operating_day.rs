//! The example railroad's day: its orders, authorities, crews, punctuality and improvements.

use model::time::{RailSpan, RailTime, TimeStyle};
use planning::{
    capacity,
    crews::{Goal, duties, learning, people},
    day::{self, Day},
    orders::{
        self,
        territory::{as_printed, of_day, with_late},
    },
    robust::{self, Chances, of_day::worked},
};
use railroad::{Folder, Railroad};
use transportation::{
    Method, authority,
    crew_call::{Terms, judge},
    order::{Body, Territory, judge::Fault},
    rights::Book,
};

fn railroad() -> Railroad {
    railroad::load(&Folder::built_in("example").unwrap()).railroad
}

fn plan(railroad: &Railroad) -> Day {
    day::day(
        railroad,
        &day::Options::default(),
        &[],
        &|| false,
        &mut |_| {},
    )
    .unwrap()
}

fn faults(territory: &Territory, given: &[transportation::order::Order]) -> Vec<Fault> {
    let found =
        transportation::order::judge::judge(territory, given, &Book::default(), TimeStyle::AmPm);
    found.into_iter().map(|finding| finding.fault).collect()
}

#[test]
fn the_example_is_worked_by_its_orders_and_by_every_other_method() {
    let railroad = railroad();
    let territory = of_day(&railroad, &plan(&railroad));
    let paper = orders::orders(&territory, &orders::Options::default(), TimeStyle::AmPm);
    assert_eq!(paper.findings, []);
    assert_eq!(paper.undelivered, [] as [&str; 0]);
    assert!(paper.is_fewest());
    // Every train has a clearance where it begins, and every order is on one for whom it is meant.
    for run in &territory.runs {
        let first = run.visits[0].place;
        assert!(paper.clearances.iter().any(|clearance| {
            territory.run(clearance.train).name == run.name && clearance.at == first
        }));
    }
    for order in &paper.orders {
        let trains = order.copies.len();
        let cleared = paper
            .clearances
            .iter()
            .filter(|clearance| clearance.orders.contains(&order.number))
            .count();
        assert!(cleared >= trains.min(1), "order {}", order.number);
    }
    for method in [
        Method::TrackWarrant,
        Method::VerbalAuthority,
        Method::Signals,
    ] {
        let given = orders::authority::limits(&territory, method);
        assert_eq!(
            authority::judge::limits(&territory, &given, TimeStyle::AmPm),
            []
        );
    }
    let list = orders::authority::steps(&territory);
    assert_eq!(authority::judge::steps(&territory, &list), []);
}

/// Trains late on the example: more orders, still lawful, none to spare, and every one of them caught
/// when it is not complete in time.
#[test]
fn a_late_perishable_brings_orders_and_each_of_them_is_needed() {
    let railroad = railroad();
    let two = railroad.service.find_train("2").unwrap();
    // The timetable stays; today it comes out of staging two hours late.
    let late = [(two, RailSpan::from_minutes(120))];
    let day = plan(&with_late(&railroad, &late));
    let mut territory = of_day(&railroad, &day);
    as_printed(&mut territory, &day, &late);
    let run = territory.find_run("2").unwrap();
    let due = territory.run(run).visits[0].due.unwrap();
    assert_eq!(
        Some(due.leave),
        railroad.service.train(two).leave.map(|time| time.value)
    );
    let paper = orders::orders(&territory, &orders::Options::default(), TimeStyle::AmPm);
    assert_eq!(paper.findings, []);
    assert!(paper.orders.len() > 1, "{:?}", paper.orders);
    let of_two = paper.orders.iter().any(|order| match &order.body {
        Body::RunLate { train, .. } | Body::Wait { train, .. } | Body::Meet { train, .. } => {
            *train == run
        }
        _ => false,
    });
    assert!(of_two);
    for at in 0..paper.orders.len() {
        let mut fewer = paper.orders.clone();
        let left = fewer.remove(at);
        if !matches!(left.body, Body::Hold { .. }) {
            assert!(!faults(&territory, &fewer).is_empty(), "without {left:?}");
        }
        let mut late = paper.orders.clone();
        late[at].complete = RailTime::from_hm(23, 0);
        assert!(
            faults(&territory, &late).contains(&Fault::TooLate)
                || matches!(left.body, Body::Hold { .. })
        );
    }
}

#[test]
fn the_examples_people_fill_its_jobs_and_without_engineers_it_says_what_is_short() {
    let railroad = railroad();
    let day = plan(&railroad);
    let (all, told) = duties::written(&railroad, &day.plan, RailSpan::from_minutes(20));
    assert_eq!(told, [] as [&str; 0]);
    let terms = Terms {
        rest: RailSpan::from_minutes(20),
        hours: Some(railroad.service.operating.hours_of_service),
    };
    let mut hands = duties::hands(&railroad);
    let board = people::fill(&all, &hands, &terms, Goal::Fewest, 300_000);
    let learners = learning::pair(&all, &hands, &board.assigned);
    assert_eq!(
        judge::judge(&all, &hands, &terms, &board.assigned, &learners),
        [] as [&str; 0]
    );
    assert_eq!(board.empty, []);
    hands.retain(|hand| hand.name != "Stellan" && hand.name != "Wystan" && hand.name != "Petra");
    let board = people::fill(&all, &hands, &terms, Goal::Fewest, 300_000);
    assert!(!board.empty.is_empty() && board.empty.len() == board.empty_at_least);
    let sentence = board.short[0].sentence(&all, &hands, "10:25 AM");
    assert!(sentence.contains("engineers"), "{sentence}");
}

/// Whoever comes at noon is not called for the morning.
#[test]
fn people_are_called_while_they_are_there() {
    let mut folder = Folder::built_in("example").unwrap();
    let bytes = folder
        .iter()
        .find(|(path, _)| *path == "people.csv")
        .unwrap()
        .1;
    let page = String::from_utf8(bytes.to_vec()).unwrap();
    let page = page.replace("name,qualified,note", "name,qualified,note,comes,leaves");
    let page: String = page
        .lines()
        .map(|line| {
            if line.starts_with("Adela,") || line.starts_with("Nerys,") {
                format!("{line},noon,\n")
            } else if line.starts_with("name,") {
                format!("{line}\n")
            } else {
                format!("{line},,\n")
            }
        })
        .collect();
    folder.insert("people.csv", page.as_str());
    let loaded = railroad::load(&folder);
    assert_eq!(loaded.count(model::Severity::Error), 0);
    let hands = duties::hands(&loaded.railroad);
    let adela = hands.iter().find(|hand| hand.name == "Adela").unwrap();
    assert_eq!(adela.comes, Some(RailTime::NOON));
    let day = plan(&loaded.railroad);
    let (all, _) = duties::written(&loaded.railroad, &day.plan, RailSpan::from_minutes(20));
    let terms = Terms {
        rest: RailSpan::from_minutes(20),
        hours: None,
    };
    let board = people::fill(&all, &hands, &terms, Goal::Fewest, 300_000);
    let desk = all
        .iter()
        .position(|duty| duty.name == "Dispatcher")
        .unwrap();
    let at_the_desk = board.assigned.iter().find(|one| one.duty == desk);
    let name = at_the_desk.map(|one| hands[one.person].name.as_str());
    // Of the three who can dispatch two come at noon, and the day begins at four.
    assert_eq!(name, Some("Garrick"));
}

#[test]
fn on_a_calm_day_the_example_keeps_its_plan_and_on_others_the_answer_is_that_of_the_seed() {
    let railroad = railroad();
    let day = plan(&railroad);
    let worked = worked(&railroad, &day);
    let options = robust::Options {
        days: 10,
        ..robust::Options::default()
    };
    let calm = robust::run(&worked, &Chances::NONE, &options, &|| false);
    for (report, train) in calm.trains.iter().zip(&day.plan.trains) {
        let late = train.late().unwrap_or_default().seconds() as f64;
        assert!(report.mean_late <= late, "{}", report.name);
        assert_eq!(report.mean_wait, 0.0, "{}", report.name);
    }
    let chances = Chances::at_clock(4.0);
    let on = |threads, seed| {
        let options = robust::Options {
            days: 60,
            threads,
            seed,
            ..robust::Options::default()
        };
        robust::run(&worked, &chances, &options, &|| false)
    };
    assert_eq!(on(1, 1), on(2, 1));
    assert_ne!(on(1, 1), on(1, 2));
}

#[test]
fn a_second_track_on_the_hill_helps_and_never_harms_the_first_class() {
    let railroad = railroad();
    let name = |id| railroad.way.station(id).name.value.as_str();
    let hill: Vec<capacity::Improvement> = railroad
        .way
        .opens()
        .filter(|(_, open)| open.ends[0].id.map(name) == Some("Whistle Ledge"))
        .map(|(open, _)| capacity::Improvement::SecondTrack { open })
        .collect();
    assert_eq!(hill.len(), 1);
    let options = capacity::Options {
        rounds: 3,
        ..capacity::Options::default()
    };
    let told = std::sync::Mutex::new(Vec::new());
    let tell = |done, all| told.lock().unwrap().push((done, all));
    let study = |stop: &(dyn Fn() -> bool + Sync)| {
        capacity::capacity(&railroad, &[], &hill, false, &options, stop, &tell)
    };
    let found = study(&|| false).unwrap();
    assert_eq!(*told.lock().unwrap(), [(1, 1)]);
    assert!(found.untried.is_empty());
    let saved = &found.worth[0].saved;
    let first = saved.iter().find(|(_, saved)| saved.seconds() != 0);
    // The highest class that is touched at all gains.
    assert!(first.is_none_or(|(_, saved)| *saved > RailSpan::ZERO));
    // Stopped as soon as the day as it is has been solved, it claims nothing of the hill.
    let asked = std::sync::atomic::AtomicBool::new(false);
    let tried = std::sync::atomic::AtomicUsize::new(0);
    let few = capacity::capacity(
        &railroad,
        &[],
        &[hill[0], hill[0]],
        true,
        &options,
        &|| asked.load(std::sync::atomic::Ordering::Relaxed),
        &|_, _| {
            tried.fetch_add(1, std::sync::atomic::Ordering::Relaxed);
            asked.store(true, std::sync::atomic::Ordering::Relaxed);
        },
    )
    .unwrap();
    assert_eq!(few.worth, found.worth);
    assert_eq!(few.untried, hill);
    assert_eq!(few.carries, None);
}
