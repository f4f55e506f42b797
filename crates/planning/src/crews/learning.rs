//! Who learns from whom: people without work beside someone who does what they cannot yet.

use transportation::{
    Role,
    crew_call::{Assigned, Duty, Hand, Learner},
};

use super::matching;

/// As many pairs as can be. One learner to a seat; nobody who has work of their own; those who can do
/// least choose first.
pub fn pair(duties: &[Duty], hands: &[Hand], assigned: &[Assigned]) -> Vec<Learner> {
    let mut spare: Vec<usize> = (0..hands.len())
        .filter(|&hand| {
            !hands[hand].qualified.is_empty() && !assigned.iter().any(|one| one.person == hand)
        })
        .collect();
    spare.sort_by_key(|&hand| (hands[hand].qualified.len(), hand));
    let lacks = |hand: &Hand, seat: &Assigned| -> Option<Role> {
        let roles = &duties[seat.duty].seats[seat.seat].roles;
        roles
            .iter()
            .copied()
            .find(|role| !hand.qualified.contains(role))
    };
    // What is next to learn: a brakeman first learns what a conductor does, and so on up.
    let next = |hand: &Hand, role: Role| {
        let ladder = [
            Role::Brakeman,
            Role::Engineer,
            Role::Conductor,
            Role::Operator,
            Role::Hostler,
            Role::Yardmaster,
            Role::Dispatcher,
        ];
        let step = |role: Role| ladder.iter().position(|one| *one == role).unwrap_or(0);
        let reached = hand.qualified.iter().map(|&role| step(role)).max();
        step(role).abs_diff(reached.unwrap_or(0) + 1)
    };
    let wants: Vec<Vec<usize>> = spare
        .iter()
        .map(|&hand| {
            let hand = &hands[hand];
            let mut seats: Vec<(usize, usize)> = assigned
                .iter()
                .enumerate()
                .filter(|(_, seat)| hand.there(&duties[seat.duty]))
                .filter_map(|(at, seat)| Some((next(hand, lacks(hand, seat)?), at)))
                .collect();
            seats.sort_unstable();
            seats.into_iter().map(|(_, at)| at).collect()
        })
        .collect();
    let partner = matching(&wants, assigned.len());
    let mut learners: Vec<Learner> = spare
        .iter()
        .zip(partner)
        .filter_map(|(&person, seat)| {
            let seat = &assigned[seat?];
            Some(Learner {
                duty: seat.duty,
                person,
                teacher: seat.person,
                role: lacks(&hands[person], seat)?,
            })
        })
        .collect();
    learners.sort_unstable();
    learners
}
