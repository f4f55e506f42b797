//! Which train is superior to which, by how much the other must clear it, and how long a schedule lives.
//!
//! These are the rules of the American Standard Code as a timetable-and-train-order railroad works
//! them. Rule numbers are those of the Code. What roads
//! amended for themselves stands in [`Book`].

use model::time::{RailSpan, RailTime};

use crate::method;

/// What a railroad's own book of rules says where the Standard Code leaves a choice, or where roads
/// commonly amended it.
///
/// Five minutes are those of rules S-87 and 86 as quoted in the US Army's TM 55-200; ten minutes were
/// a common amendment (common practice, no source). That trains of one class need only be in clear at
/// the leaving time is from memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Book {
    /// How long before the leaving time of an opposing superior train of another class.
    pub clear_opposing: RailSpan,
    /// The same for a train of one's own class.
    pub clear_same_class: RailSpan,
    /// How long an extra train clears an opposing regular one.
    pub clear_by_extra: RailSpan,
    /// How long before a following superior train is due.
    pub clear_following: RailSpan,
    /// How far apart trains leave a station in the same direction.
    pub spacing: RailSpan,
    /// Whether direction decides between two extra trains: it did in texts around 1910, and no
    /// longer does in the Army's of the 1970s.
    pub extras_by_direction: bool,
    /// How long a schedule stays in effect after its time at each station.
    pub life: RailSpan,
}

impl Default for Book {
    fn default() -> Self {
        Self {
            clear_opposing: RailSpan::from_minutes(5),
            clear_same_class: RailSpan::ZERO,
            clear_by_extra: RailSpan::from_minutes(5),
            clear_following: RailSpan::from_minutes(5),
            spacing: RailSpan::from_minutes(5),
            extras_by_direction: false,
            life: RailSpan::from_minutes(12 * 60),
        }
    }
}

impl Book {
    /// With all the five-minute rules made ten, as many roads did.
    pub fn ten_minutes() -> Self {
        let ten = RailSpan::from_minutes(10);
        Self {
            clear_opposing: ten,
            clear_by_extra: ten,
            clear_following: ten,
            spacing: ten,
            ..Self::default()
        }
    }
}

/// What of a train counts for its superiority.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rank {
    /// Its class; an extra train has none.
    pub class: Option<u8>,
    /// Whether it moves in the superior direction.
    pub superior_direction: bool,
}

/// What makes a train superior (rule S-71).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// A train order.
    Right,
    /// The timetable's class.
    Class,
    /// The timetable's direction, between trains of one class.
    Direction,
}

/// Which of two trains is superior.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Superior {
    /// The first.
    First(By),
    /// The second.
    Second(By),
    /// Neither: they need an order, or follow each other.
    Neither,
}

/// How two trains stand to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encounter {
    /// On single track, toward each other.
    Opposing,
    /// In the same direction, or on tracks of their own (rule D-71): direction says nothing.
    SameDirection,
}

/// Which of two trains is superior (rules S-71, D-71, 72, 73). `right` is the train that holds right by
/// train order over the other: right beats class, class beats direction, and an extra train is inferior
/// to every regular one. Class and direction are [`method::superior`]'s; this adds right and double track.
pub fn superior(
    first: Rank,
    second: Rank,
    encounter: Encounter,
    right: Option<Which>,
    book: &Book,
) -> Superior {
    match right {
        Some(Which::First) => return Superior::First(By::Right),
        Some(Which::Second) => return Superior::Second(By::Right),
        None => {}
    }
    let found = method::superior(first.into(), second.into(), book.extras_by_direction);
    let by_direction = encounter == Encounter::Opposing;
    match found {
        method::Superior::FirstByClass => Superior::First(By::Class),
        method::Superior::SecondByClass => Superior::Second(By::Class),
        method::Superior::FirstByDirection if by_direction => Superior::First(By::Direction),
        method::Superior::SecondByDirection if by_direction => Superior::Second(By::Direction),
        _ => Superior::Neither,
    }
}

impl From<Rank> for method::Standing {
    fn from(rank: Rank) -> Self {
        Self {
            class: rank.class.map(i64::from),
            superior_direction: rank.superior_direction,
        }
    }
}

/// One of two trains.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// The first.
    First,
    /// The second.
    Second,
}

/// How long before the leaving time of an opposing superior train an inferior one must be in clear
/// (rules S-87 to S-89).
pub fn clear_before(inferior: Rank, superior: Rank, book: &Book) -> RailSpan {
    match (inferior.class, superior.class) {
        (None, Some(_)) => book.clear_by_extra,
        (a, b) if a == b => book.clear_same_class,
        _ => book.clear_opposing,
    }
}

/// A regular train's time at a station, as its schedule has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ScheduleTime {
    /// When it is due to arrive; the leaving time where no other is shown.
    pub arrive: RailTime,
    /// When it is due to leave.
    pub leave: RailTime,
}

/// Whether a schedule is still in effect for a train that arrives and is ready to leave at these times:
/// a schedule lives twelve hours after each time it shows (rule 82), and one that has once died at a
/// station stays dead.
pub fn alive(due: ScheduleTime, arrived: RailTime, leaves: RailTime, book: &Book) -> bool {
    arrived <= due.arrive + book.life && leaves <= due.leave + book.life
}

/// The times of a train that an order lets run late: no train that holds the order expects it earlier,
/// and the train itself must not leave earlier.
pub fn run_late(due: RailTime, late: RailSpan) -> RailTime {
    due + late
}

/// The times of a train that an order tells to wait: the later of schedule and order.
pub fn wait_until(due: RailTime, until: RailTime) -> RailTime {
    due.max(until)
}

#[cfg(test)]
mod tests;
