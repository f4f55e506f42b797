//! The work of a day's stops: planned alike on any number of threads, and timed as the timetable allows.

use planning::{
    bill::{self, Billed, opening},
    day::{Worked, made, worked},
    town::{Pace, model_rates},
};
use railroad::{Folder, Railroad, load};
use traffic::books::Books;

fn example() -> (Railroad, Books, Billed) {
    let loaded = load(&Folder::built_in("example").expect("the example is built in"));
    let books = opening(&loaded.railroad, 0);
    let billed = bill::bill(&loaded.railroad, &books, &bill::Options::default())
        .expect("the example can be billed");
    (loaded.railroad, books, billed)
}

fn plan(of: &(Railroad, Books, Billed), threads: usize) -> Vec<Worked> {
    let (railroad, books, billed) = of;
    let options = switching::Options {
        node_budget: 3_000,
        rates: model_rates(railroad.identity.scale.scale, &Pace::default()),
        ..switching::Options::default()
    };
    worked(railroad, books, billed, &options, threads, &|| false)
}

#[test]
fn stops_are_planned_alike_on_any_number_of_threads() {
    let of = example();
    let alone = plan(&of, 1);
    assert!(alone.len() > 10, "the example's trains work");
    assert!(alone.iter().any(|one| one.seconds().is_some()));
    assert_eq!(plan(&of, 2), alone);
    assert_eq!(plan(&of, 5), alone);
}

/// What the owner wrote is not to be computed: a train that goes back as another gets no longer for its work
/// than the timetable gives it, however poor the plan that was found.
#[test]
fn work_before_going_back_takes_no_longer_than_is_written() {
    let of = example();
    let (railroad, _, billed) = &of;
    let all = plan(&of, 1);
    let train = railroad.service.find_train("41").expect("the local runs");
    let mut slow = all;
    let turn = slow
        .iter_mut()
        .find(|one| one.train == train && one.visit.onward.is_some())
        .expect("it works where it turns");
    let allowed = turn.allowed(railroad).expect("both times are written");
    // A plan that takes four hours of the crew's time.
    let other = plan(&of, 1)
        .into_iter()
        .find(|one| one.seconds().is_some())
        .expect("some stop has a plan");
    turn.planned = other.planned;
    if let switching::Answer::Solved(solved) = &mut turn.planned.answer {
        solved.time.seconds = 4.0 * 3600.0;
    }
    assert!(turn.takes(railroad.identity.clock) > Some(allowed));
    let made = made(railroad, billed, &slow);
    assert_eq!(
        made[train.index()].as_ref().and_then(|made| made.turn),
        Some(allowed)
    );
}
