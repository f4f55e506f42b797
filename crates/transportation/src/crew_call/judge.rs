//! Judges who works what. Shares no code with what assigns them, and judges a board filled by hand.

use model::time::RailSpan;

use super::{Assigned, Duty, Hand, Learner, Terms};

/// What is wrong with a board, each in a sentence. Seats left empty are not wrong; see [`empty`].
pub fn judge(
    duties: &[Duty],
    hands: &[Hand],
    terms: &Terms,
    assigned: &[Assigned],
    learners: &[Learner],
) -> Vec<String> {
    let mut wrong = Vec::new();
    let fits = |one: &Assigned| {
        duties
            .get(one.duty)
            .is_some_and(|duty| one.seat < duty.seats.len())
            && one.person < hands.len()
    };
    if !assigned.iter().all(fits) {
        wrong.push("the board names a job, a seat or a person that there is not".to_owned());
        return wrong;
    }
    for (at, one) in assigned.iter().enumerate() {
        let (duty, hand) = (&duties[one.duty], &hands[one.person]);
        let seat = &duty.seats[one.seat];
        if !hand.can(seat) {
            wrong.push(format!(
                "{} is not qualified as {} on {}",
                hand.name,
                seat.words(),
                duty.name
            ));
        }
        if !hand.there(duty) {
            wrong.push(format!(
                "{} is not there for all of {}",
                hand.name, duty.name
            ));
        }
        for other in &assigned[at + 1..] {
            if (one.duty, one.seat) == (other.duty, other.seat) {
                wrong.push(format!(
                    "{} and {} both have the seat of {} on {}",
                    hand.name,
                    hands[other.person].name,
                    seat.words(),
                    duty.name
                ));
            }
            if one.person == other.person {
                let second = &duties[other.duty];
                let (early, late) = if duty.begins <= second.begins {
                    (duty, second)
                } else {
                    (second, duty)
                };
                let between = late.begins - early.ends;
                if between < terms.rest {
                    wrong.push(if between < RailSpan::ZERO {
                        format!(
                            "{} is on {} and {} at the same time",
                            hand.name, early.name, late.name
                        )
                    } else {
                        format!(
                            "{} has {between} between {} and {}; {} are due",
                            hand.name, early.name, late.name, terms.rest
                        )
                    });
                }
            }
        }
    }
    if let Some(limit) = terms.hours {
        for (person, hand) in hands.iter().enumerate() {
            let on_duty: RailSpan = assigned
                .iter()
                .filter(|one| one.person == person)
                .map(|one| duties[one.duty].length())
                .sum();
            if on_duty > limit {
                wrong.push(format!(
                    "{} is on duty for {on_duty}; {limit} is the limit",
                    hand.name
                ));
            }
        }
    }
    for (at, learner) in learners.iter().enumerate() {
        let (Some(hand), Some(teacher), Some(duty)) = (
            hands.get(learner.person),
            hands.get(learner.teacher),
            duties.get(learner.duty),
        ) else {
            wrong.push("the board has someone learn who, or where there, is not".to_owned());
            continue;
        };
        let holds = assigned.iter().any(|one| {
            one.duty == learner.duty
                && one.person == learner.teacher
                && duty.seats[one.seat].roles.contains(&learner.role)
        });
        if !holds {
            wrong.push(format!(
                "{} is to learn {} from {}, who does not work as that on {}",
                hand.name, learner.role, teacher.name, duty.name
            ));
        }
        let busy = assigned.iter().any(|one| {
            let other = &duties[one.duty];
            one.person == learner.person && other.begins < duty.ends && duty.begins < other.ends
        });
        if busy
            || learners[..at]
                .iter()
                .any(|other| other.person == learner.person)
        {
            wrong.push(format!(
                "{} is to learn on {} and has other work",
                hand.name, duty.name
            ));
        }
        if !hand.there(duty) {
            wrong.push(format!(
                "{} is not there for all of {}",
                hand.name, duty.name
            ));
        }
    }
    wrong
}

/// The seats nobody has: index of duty and seat.
pub fn empty(duties: &[Duty], assigned: &[Assigned]) -> Vec<(usize, usize)> {
    duties
        .iter()
        .enumerate()
        .flat_map(|(duty, one)| (0..one.seats.len()).map(move |seat| (duty, seat)))
        .filter(|&(duty, seat)| {
            !assigned
                .iter()
                .any(|one| (one.duty, one.seat) == (duty, seat))
        })
        .collect()
}
