//! People for seats.
//!
//! First as few seats empty as can be, then as few people as will do, or the longest day as short as can
//! be. Seats are filled one after another, those for which the fewest people come into question first,
//! with everything that could do no better cut away.
//!
//! What proves that seats must stay empty: at a moment, the people who can take any of a set of seats are
//! fewer than the seats. Moments whose seats have none in common add up.

use model::time::{RailSpan, RailTime};
use transportation::crew_call::{Assigned, Duty, Hand, Seat, Terms};

use super::{Goal, matching, too_many};

/// A board.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Board {
    /// Who sits where, by duty and seat.
    pub assigned: Vec<Assigned>,
    /// Seats that stay empty.
    pub empty: Vec<(usize, usize)>,
    /// No board leaves fewer seats empty: proven.
    pub empty_at_least: usize,
    /// Number of people with work.
    pub people: usize,
    /// No board with as few empty seats uses fewer people: proven.
    pub people_at_least: usize,
    /// The longest time anyone is on duty.
    pub longest: RailSpan,
    /// No board with as few empty seats has a shorter one: proven.
    pub longest_at_least: RailSpan,
    /// Why seats stay empty.
    pub short: Vec<Shortage>,
}

/// At a moment there are more seats than people for them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shortage {
    /// The moment.
    pub time: RailTime,
    /// The seats: duty and seat.
    pub seats: Vec<(usize, usize)>,
    /// Everybody who could take one of them.
    pub hands: Vec<usize>,
    /// How many seats go empty by this alone.
    pub missing: usize,
}

impl Shortage {
    /// In a sentence.
    pub fn sentence(&self, duties: &[Duty], hands: &[Hand], time: &str) -> String {
        let mut roles: Vec<(String, usize)> = Vec::new();
        for &(duty, seat) in &self.seats {
            let words = duties[duty].seats[seat].words();
            match roles.iter_mut().find(|(role, _)| *role == words) {
                Some((_, count)) => *count += 1,
                None => roles.push((words, 1)),
            }
        }
        let seats: Vec<String> = roles
            .into_iter()
            .map(|(role, count)| {
                // `2 engineers`, but `2 anyone`.
                let many = count > 1 && role != "anyone";
                format!("{count} {role}{}", if many { "s" } else { "" })
            })
            .collect();
        let names: Vec<&str> = self
            .hands
            .iter()
            .map(|&hand| hands[hand].name.as_str())
            .collect();
        let who = match names.as_slice() {
            [] => "nobody there can do that".to_owned(),
            [one] => format!("only {one} can do that"),
            names => format!("only {} can do that: {}", names.len(), names.join(", ")),
        };
        let jobs: std::collections::BTreeSet<&str> = self
            .seats
            .iter()
            .map(|&(duty, _)| duties[duty].name.as_str())
            .collect();
        let jobs: Vec<&str> = jobs.into_iter().collect();
        format!(
            "at {time} {} are wanted at once ({}), and {who}",
            seats.join(", "),
            jobs.join(", ")
        )
    }
}

/// Fills the seats.
pub fn fill(duties: &[Duty], hands: &[Hand], terms: &Terms, goal: Goal, steps: u64) -> Board {
    let mut seats: Vec<(usize, usize)> = duties
        .iter()
        .enumerate()
        .flat_map(|(duty, one)| (0..one.seats.len()).map(move |seat| (duty, seat)))
        .collect();
    let seat_of = |(duty, seat): (usize, usize)| -> &Seat { &duties[duty].seats[seat] };
    let may = |hand: usize, seat: (usize, usize)| {
        let duty = &duties[seat.0];
        hands[hand].can(seat_of(seat))
            && hands[hand].there(duty)
            && terms.hours.is_none_or(|limit| duty.length() <= limit)
    };
    let short = shortages(duties, hands, &seats, &may);
    let empty_at_least = short.iter().map(|shortage| shortage.missing).sum();
    let count = |seat: (usize, usize)| (0..hands.len()).filter(|&hand| may(hand, seat)).count();
    seats.sort_by_key(|&seat| (count(seat), duties[seat.0].begins, seat));
    let options: Vec<Vec<usize>> = seats
        .iter()
        .map(|&seat| (0..hands.len()).filter(|&hand| may(hand, seat)).collect())
        .collect();
    let at_once = |time: RailTime| {
        let inside =
            |seat: &&(usize, usize)| duties[seat.0].begins <= time && time < duties[seat.0].ends;
        seats.iter().filter(inside).count()
    };
    let busiest = duties
        .iter()
        .map(|duty| at_once(duty.begins))
        .max()
        .unwrap_or(0);
    let people_for_all = busiest.max(strings(duties, terms, &seats, &options));
    let filled_at_least = seats.len() - seats.len().min(empty_at_least);
    let mut lengths: Vec<RailSpan> = seats.iter().map(|seat| duties[seat.0].length()).collect();
    lengths.sort();
    // Seats that must stay empty might be the longest ones.
    let kept = &lengths[..filled_at_least.min(lengths.len())];
    let kept_sum: RailSpan = kept.iter().copied().sum();
    let mean = RailSpan::from_seconds(
        kept_sum.seconds() / i64::try_from(hands.len().max(1)).unwrap_or(i64::MAX),
    );
    let longest_at_least = kept.last().copied().unwrap_or_default().max(mean);
    let mut search = Search {
        duties,
        hands,
        terms,
        goal,
        seats: &seats,
        options: &options,
        given: vec![None; seats.len()],
        works: vec![Vec::new(); hands.len()],
        best: None,
        bound: Weight {
            empty: empty_at_least,
            people: people_for_all.saturating_sub(empty_at_least),
            longest: longest_at_least,
            square: 0,
        },
        steps,
        finished: true,
    };
    search.begin();
    search.go(0, Weight::default());
    let (given, weight) = search
        .best
        .unwrap_or_else(|| (vec![None; seats.len()], Weight::default()));
    let proven = search.finished;
    let mut assigned: Vec<Assigned> = given
        .iter()
        .zip(&seats)
        .filter_map(|(hand, &(duty, seat))| hand.map(|person| Assigned { duty, seat, person }))
        .collect();
    assigned.sort_unstable();
    let mut empty: Vec<(usize, usize)> = given
        .iter()
        .zip(&seats)
        .filter(|(hand, _)| hand.is_none())
        .map(|(_, &seat)| seat)
        .collect();
    empty.sort_unstable();
    let bound = search.bound;
    Board {
        assigned,
        empty,
        empty_at_least: if proven { weight.empty } else { bound.empty },
        people: weight.people,
        people_at_least: if proven && goal == Goal::Fewest {
            weight.people
        } else {
            // Each empty seat may save one person, no more.
            people_for_all.saturating_sub(weight.empty)
        },
        longest: weight.longest,
        longest_at_least: if proven && goal == Goal::Fairest {
            weight.longest
        } else {
            bound.longest
        },
        short,
    }
}

/// Fewest people that all seats together need, as far as pairs of seats tell: everybody works seats of
/// which each can follow the one before, for some person who can do both. The fewest such strings are the
/// seats less the largest matching of seats with seats that can follow them.
fn strings(
    duties: &[Duty],
    terms: &Terms,
    seats: &[(usize, usize)],
    options: &[Vec<usize>],
) -> usize {
    let follows: Vec<Vec<usize>> = (0..seats.len())
        .map(|first| {
            let early = &duties[seats[first].0];
            (0..seats.len())
                .filter(|&second| {
                    let late = &duties[seats[second].0];
                    let both = early.length() + late.length();
                    early.ends + terms.rest <= late.begins
                        && terms.hours.is_none_or(|limit| both <= limit)
                        && options[first]
                            .iter()
                            .any(|hand| options[second].contains(hand))
                })
                .collect()
        })
        .collect();
    let next = matching(&follows, seats.len());
    seats.len() - next.iter().flatten().count()
}

/// Moments at which seats must stay empty, the worst first, no seat in two of them.
fn shortages(
    duties: &[Duty],
    hands: &[Hand],
    seats: &[(usize, usize)],
    may: &dyn Fn(usize, (usize, usize)) -> bool,
) -> Vec<Shortage> {
    let mut found: Vec<Shortage> = Vec::new();
    let mut used: Vec<(usize, usize)> = Vec::new();
    loop {
        let worst = duties
            .iter()
            .map(|duty| duty.begins)
            .filter_map(|time| {
                let here: Vec<(usize, usize)> = seats
                    .iter()
                    .copied()
                    .filter(|seat| {
                        let duty = &duties[seat.0];
                        duty.begins <= time && time < duty.ends && !used.contains(seat)
                    })
                    .collect();
                let wants: Vec<Vec<usize>> = here
                    .iter()
                    .map(|&seat| (0..hands.len()).filter(|&hand| may(hand, seat)).collect())
                    .collect();
                let partner = matching(&wants, hands.len());
                let missing = partner.iter().filter(|one| one.is_none()).count();
                let (lefts, rights) = too_many(&wants, &partner, hands.len());
                (missing > 0).then(|| Shortage {
                    time,
                    seats: lefts.into_iter().map(|left| here[left]).collect(),
                    hands: rights,
                    missing,
                })
            })
            .max_by_key(|shortage| (shortage.missing, std::cmp::Reverse(shortage.time)));
        let Some(worst) = worst else {
            return found;
        };
        used.extend(&worst.seats);
        found.push(worst);
    }
}

/// What is to be small, in this order for the goal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Weight {
    empty: usize,
    people: usize,
    longest: RailSpan,
    /// Sum of the squares of everybody's time.
    square: i128,
}

impl Weight {
    fn rank(self, goal: Goal) -> (usize, i128, i128) {
        let longest = i128::from(self.longest.seconds());
        match goal {
            Goal::Fewest => (self.empty, self.people as i128, 0),
            Goal::Fairest => (self.empty, longest, self.square),
        }
    }
}

struct Search<'a> {
    duties: &'a [Duty],
    hands: &'a [Hand],
    terms: &'a Terms,
    goal: Goal,
    seats: &'a [(usize, usize)],
    options: &'a [Vec<usize>],
    given: Vec<Option<usize>>,
    /// Per person the duties they have.
    works: Vec<Vec<usize>>,
    best: Option<(Vec<Option<usize>>, Weight)>,
    bound: Weight,
    steps: u64,
    finished: bool,
}

impl Search<'_> {
    fn content(&self) -> bool {
        self.best.as_ref().is_some_and(|(_, best)| match self.goal {
            Goal::Fewest => best.empty <= self.bound.empty && best.people <= self.bound.people,
            Goal::Fairest => best.empty <= self.bound.empty && best.longest <= self.bound.longest,
        })
    }

    fn free(&self, hand: usize, duty: usize) -> bool {
        let wanted = &self.duties[duty];
        let apart = self.works[hand].iter().all(|&other| {
            let other = &self.duties[other];
            other.ends + self.terms.rest <= wanted.begins
                || wanted.ends + self.terms.rest <= other.begins
        });
        let within = self
            .terms
            .hours
            .is_none_or(|limit| self.load(hand) + wanted.length() <= limit);
        apart && within
    }

    fn load(&self, hand: usize) -> RailSpan {
        let lengths = self.works[hand]
            .iter()
            .map(|&duty| self.duties[duty].length());
        lengths.sum()
    }

    /// A first board: each seat to whoever is free, people moved on to other seats where that helps.
    fn begin(&mut self) {
        let mut seat_of: Vec<Vec<usize>> = vec![Vec::new(); self.hands.len()];
        for at in 0..self.seats.len() {
            self.place(at, &mut vec![false; self.hands.len()], &mut seat_of);
        }
        let mut weight = Weight {
            empty: self.given.iter().filter(|hand| hand.is_none()).count(),
            ..Weight::default()
        };
        for hand in 0..self.hands.len() {
            let load = self.load(hand);
            let seconds = i128::from(load.seconds());
            weight.people += usize::from(!self.works[hand].is_empty());
            weight.longest = weight.longest.max(load);
            weight.square += seconds * seconds;
        }
        self.best = Some((
            std::mem::replace(&mut self.given, vec![None; self.seats.len()]),
            weight,
        ));
        for works in &mut self.works {
            works.clear();
        }
    }

    /// Gives a seat to someone; whoever has one other job at that time may be given another for it.
    fn place(&mut self, at: usize, seen: &mut [bool], seat_of: &mut [Vec<usize>]) -> bool {
        let duty = self.seats[at].0;
        let mut options = self.options[at].clone();
        options.sort_by_key(|&hand| {
            let idle = self.works[hand].is_empty();
            let first = match self.goal {
                Goal::Fewest => i64::from(idle),
                Goal::Fairest => self.load(hand).seconds(),
            };
            (!self.free(hand, duty), first, hand)
        });
        for hand in options {
            if std::mem::replace(&mut seen[hand], true) {
                continue;
            }
            if self.free(hand, duty) {
                self.give(at, hand, seat_of);
                return true;
            }
            for other in seat_of[hand].clone() {
                self.take(other, hand, seat_of);
                if self.free(hand, duty) {
                    self.give(at, hand, seat_of);
                    if self.place(other, seen, seat_of) {
                        return true;
                    }
                    self.take(at, hand, seat_of);
                }
                self.give(other, hand, seat_of);
            }
        }
        false
    }

    fn give(&mut self, at: usize, hand: usize, seat_of: &mut [Vec<usize>]) {
        self.given[at] = Some(hand);
        self.works[hand].push(self.seats[at].0);
        seat_of[hand].push(at);
    }

    fn take(&mut self, at: usize, hand: usize, seat_of: &mut [Vec<usize>]) {
        let duty = self.seats[at].0;
        self.given[at] = None;
        if let Some(place) = self.works[hand].iter().position(|&one| one == duty) {
            self.works[hand].remove(place);
        }
        seat_of[hand].retain(|&one| one != at);
    }

    fn go(&mut self, at: usize, weight: Weight) {
        if self.content() {
            return;
        }
        let beaten = self
            .best
            .as_ref()
            .is_some_and(|(_, best)| weight.rank(self.goal) >= best.rank(self.goal));
        if beaten {
            return;
        }
        if self.steps == 0 && self.best.is_some() {
            self.finished = false;
            return;
        }
        self.steps = self.steps.saturating_sub(1);
        if at == self.seats.len() {
            self.best = Some((self.given.clone(), weight));
            return;
        }
        let duty = self.seats[at].0;
        let mut choices: Vec<usize> = self.options[at]
            .iter()
            .copied()
            .filter(|&hand| self.free(hand, duty))
            .collect();
        // Who has work already first, or who has least; then those who can do the least else.
        let skills = |hand: usize| match self.hands[hand].qualified.len() {
            0 => usize::MAX,
            count => count,
        };
        choices.sort_by_key(|&hand| match self.goal {
            Goal::Fewest => (i64::from(self.works[hand].is_empty()), skills(hand), hand),
            Goal::Fairest => (self.load(hand).seconds(), skills(hand), hand),
        });
        // Of people between whom nothing tells, one is enough.
        let mut alike: Vec<usize> = Vec::new();
        for hand in choices {
            let same = |other: &usize| {
                let (a, b) = (&self.hands[hand], &self.hands[*other]);
                self.works[hand].is_empty()
                    && self.works[*other].is_empty()
                    && (&a.qualified, a.comes, a.leaves) == (&b.qualified, b.comes, b.leaves)
            };
            if alike.iter().any(same) {
                continue;
            }
            alike.push(hand);
            let old = self.load(hand).seconds();
            let new = old + self.duties[duty].length().seconds();
            let square = |seconds: i64| i128::from(seconds) * i128::from(seconds);
            let next = Weight {
                people: weight.people + usize::from(self.works[hand].is_empty()),
                longest: weight.longest.max(RailSpan::from_seconds(new)),
                square: weight.square + square(new) - square(old),
                ..weight
            };
            self.works[hand].push(duty);
            self.given[at] = Some(hand);
            self.go(at + 1, next);
            self.given[at] = None;
            self.works[hand].pop();
        }
        let next = Weight {
            empty: weight.empty + 1,
            ..weight
        };
        self.go(at + 1, next);
    }
}
