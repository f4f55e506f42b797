//! Small days against trying everything, and the judge on every board.

use model::time::{RailSpan, RailTime};
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;
use transportation::{
    Role,
    crew_call::{Assigned, Duty, Hand, Seat, Terms, judge},
};

use super::{
    Goal,
    jobs::{Trip, Turn, build},
    learning, people,
};

fn at(minutes: i64) -> RailTime {
    RailTime::from_seconds(minutes * 60)
}

fn random_trips(dice: &mut Pcg64) -> Vec<Trip> {
    (0..dice.random_range(1..8))
        .map(|number| {
            let places = ["Alder", "Birch", "Cedar"];
            let leaves = dice.random_range(0..600);
            Trip {
                train: number.to_string(),
                from: places[dice.random_range(0..3)].to_owned(),
                to: places[dice.random_range(0..3)].to_owned(),
                leaves: at(leaves),
                arrives: at(leaves + dice.random_range(20..120)),
            }
        })
        .collect()
}

/// The best number of jobs and, with that, the shortest longest job, by trying everything.
fn by_hand(trips: &[Trip], turn: &Turn) -> (usize, RailSpan) {
    fn go(
        trips: &[Trip],
        turn: &Turn,
        left: &[usize],
        jobs: &mut Vec<Vec<usize>>,
        best: &mut (usize, RailSpan),
    ) {
        let Some((&trip, rest)) = left.split_first() else {
            let length =
                |job: &Vec<usize>| trips[*job.last().unwrap()].arrives - trips[job[0]].leaves;
            let longest = jobs.iter().map(length).max().unwrap_or_default();
            *best = (*best).min((jobs.len(), longest));
            return;
        };
        for job in 0..jobs.len() {
            let last = &trips[*jobs[job].last().unwrap()];
            let next = &trips[trip];
            let whole = next.arrives - trips[jobs[job][0]].leaves;
            if last.to == next.from
                && next.leaves - last.arrives >= turn.between
                && turn.longest.is_none_or(|longest| whole <= longest)
            {
                jobs[job].push(trip);
                go(trips, turn, rest, jobs, best);
                jobs[job].pop();
            }
        }
        jobs.push(vec![trip]);
        go(trips, turn, rest, jobs, best);
        jobs.pop();
    }
    let mut order: Vec<usize> = (0..trips.len()).collect();
    order.sort_by_key(|&trip| trips[trip].leaves);
    let mut best = (usize::MAX, RailSpan::ZERO);
    go(trips, turn, &order, &mut Vec::new(), &mut best);
    best
}

#[test]
fn jobs_are_the_fewest_and_the_fairest() {
    let mut dice = Pcg64::seed_from_u64(3);
    let mut limited = 0;
    for _ in 0..300 {
        let trips = random_trips(&mut dice);
        let turn = Turn {
            between: RailSpan::from_minutes(10),
            longest: dice
                .random_bool(0.5)
                .then(|| RailSpan::from_minutes(dice.random_range(100..400))),
        };
        let (fewest, longest) = by_hand(&trips, &turn);
        let jobs = build(&trips, &turn, Goal::Fairest, 1_000_000);
        assert_eq!(jobs.jobs.len(), fewest);
        assert!(jobs.at_least <= fewest);
        limited += usize::from(jobs.at_least < fewest);
        assert_eq!((jobs.longest, jobs.longest_at_least), (longest, longest));
        let mut all: Vec<usize> = jobs.jobs.concat();
        all.sort_unstable();
        assert_eq!(all, (0..trips.len()).collect::<Vec<_>>());
        let hasty = build(&trips, &turn, Goal::Fairest, 3);
        assert!(hasty.at_least <= fewest && hasty.longest_at_least <= hasty.longest);
    }
    assert!(limited > 0, "the limit on a job's length never told");
}

fn random_board(dice: &mut Pcg64) -> (Vec<Duty>, Vec<Hand>, Terms) {
    let roles = [Role::Engineer, Role::Conductor, Role::Brakeman];
    let duties = (0..dice.random_range(1..5))
        .map(|number| {
            let begins = dice.random_range(0..300);
            Duty {
                name: format!("Job {number}"),
                trains: Vec::new(),
                begins: at(begins),
                ends: at(begins + dice.random_range(30..200)),
                at: String::new(),
                seats: (0..dice.random_range(1..3))
                    .map(|_| Seat {
                        roles: vec![roles[dice.random_range(0..3)]],
                    })
                    .collect(),
            }
        })
        .collect();
    let hands = (0..dice.random_range(1..5))
        .map(|number| Hand {
            name: format!("Hand {number}"),
            qualified: roles
                .into_iter()
                .filter(|_| dice.random_bool(0.5))
                .collect(),
            comes: dice.random_bool(0.2).then(|| at(dice.random_range(0..200))),
            leaves: dice
                .random_bool(0.2)
                .then(|| at(dice.random_range(200..500))),
        })
        .collect();
    let terms = Terms {
        rest: RailSpan::from_minutes(15),
        hours: dice
            .random_bool(0.3)
            .then(|| RailSpan::from_minutes(dice.random_range(120..400))),
    };
    (duties, hands, terms)
}

/// Fewest empty seats; with that fewest people; with the fewest empty the shortest longest day: by trying
/// every board and asking the judge.
fn boards(duties: &[Duty], hands: &[Hand], terms: &Terms) -> (usize, usize, RailSpan) {
    let seats: Vec<(usize, usize)> = judge::empty(duties, &[]);
    let mut best = (usize::MAX, usize::MAX);
    let mut fair = (usize::MAX, RailSpan::ZERO);
    let choices = hands.len() + 1;
    for number in 0..choices.pow(seats.len() as u32) {
        let mut rest = number;
        let mut board = Vec::new();
        for &(duty, seat) in &seats {
            let person = rest % choices;
            rest /= choices;
            if person < hands.len() {
                board.push(Assigned { duty, seat, person });
            }
        }
        if !judge::judge(duties, hands, terms, &board, &[]).is_empty() {
            continue;
        }
        let mut working: Vec<usize> = board.iter().map(|one| one.person).collect();
        working.sort_unstable();
        working.dedup();
        let empty = seats.len() - board.len();
        let load = |hand: &usize| -> RailSpan {
            let mine = board.iter().filter(|one| one.person == *hand);
            mine.map(|one| duties[one.duty].length()).sum()
        };
        let longest = working.iter().map(load).max().unwrap_or_default();
        best = best.min((empty, working.len()));
        fair = fair.min((empty, longest));
    }
    (best.0, best.1, fair.1)
}

#[test]
fn boards_are_as_full_as_can_be_with_the_fewest_or_the_fairest() {
    let mut dice = Pcg64::seed_from_u64(5);
    let (mut short, mut done) = (0, 0);
    while done < 150 {
        let (duties, hands, terms) = random_board(&mut dice);
        let seats: usize = duties.iter().map(|duty| duty.seats.len()).sum();
        if (hands.len() + 1).pow(seats as u32) > 20_000 {
            continue;
        }
        done += 1;
        let (empty, fewest, longest) = boards(&duties, &hands, &terms);
        for goal in [Goal::Fewest, Goal::Fairest] {
            let board = people::fill(&duties, &hands, &terms, goal, 1_000_000);
            let learners = learning::pair(&duties, &hands, &board.assigned);
            assert_eq!(
                judge::judge(&duties, &hands, &terms, &board.assigned, &learners),
                [] as [&str; 0]
            );
            assert_eq!(board.empty, judge::empty(&duties, &board.assigned));
            assert_eq!((board.empty.len(), board.empty_at_least), (empty, empty));
            match goal {
                Goal::Fewest => {
                    assert_eq!((board.people, board.people_at_least), (fewest, fewest));
                }
                Goal::Fairest => {
                    assert_eq!((board.longest, board.longest_at_least), (longest, longest));
                }
            }
            // What is said to be short is: more seats than people at one moment.
            for shortage in &board.short {
                assert!(shortage.seats.len() > shortage.hands.len());
                assert!(shortage.seats.iter().all(|seat| {
                    let duty = &duties[seat.0];
                    duty.begins <= shortage.time && shortage.time < duty.ends
                }));
                short += 1;
            }
        }
    }
    assert!(short > 20, "{short}");
}

#[test]
fn a_shortage_says_when_of_what_and_who_there_is() {
    let duty = |name: &str| Duty {
        name: name.to_owned(),
        trains: Vec::new(),
        begins: at(60),
        ends: at(120),
        at: String::new(),
        seats: vec![Seat {
            roles: vec![Role::Engineer],
        }],
    };
    let duties = [duty("Ore"), duty("Mail")];
    let hand = |name: &str, role| Hand {
        name: name.to_owned(),
        qualified: vec![role],
        comes: None,
        leaves: None,
    };
    let hands = [hand("Ada", Role::Engineer), hand("Bo", Role::Brakeman)];
    let terms = Terms {
        rest: RailSpan::ZERO,
        hours: None,
    };
    let board = people::fill(&duties, &hands, &terms, Goal::Fewest, 1000);
    assert_eq!(board.empty.len(), 1);
    assert_eq!(
        board.short[0].sentence(&duties, &hands, "1:00 AM"),
        "at 1:00 AM 2 engineers are wanted at once (Mail, Ore), and only Ada can do that"
    );
    // Bo has no seat, and learns from Ada.
    let learners = learning::pair(&duties, &hands, &board.assigned);
    assert_eq!((learners[0].person, learners[0].teacher), (1, 0));
}
