//! Replays a day's orders and its timetable under the rules, and says where two trains could be
//! authorised onto the same track, and where the plan asks of a train what nothing allows it.
//!
//! For two trains that use the same piece of single track in opposite directions, what each may do
//! there follows from the timetable and from the orders *it* holds when it leaves for that track, not
//! from the plan's times: a train may be late by any amount. It has one of three permissions:
//!
//! - **keep**: it may be on the track from a time on, for as long as it takes (a superior train, or one
//!   short of the place where it meets the other by order);
//! - **clear**: it may be on the track only until a time, the other's leaving time as it knows it less
//!   the clearing time (an inferior train);
//! - **wait**: it may not enter until it has met the other.
//!
//! Two permissions are safe together unless both keep, or one keeps from a time before that until which
//! the other may be there. If every pair is safe on every piece of single track then no two opposing
//! trains can be authorised onto the same track at the same time, whenever they run. For trains that
//! follow each other the question is who goes first; that they keep apart is the rules' spacing and flag
//! protection (rules 91 and 99). Trains inside a station, and whether a train that has gone was rightly
//! identified or looked up in the register (rule 83), are taken to be in order.
//!
//! Shares no code with the planner of orders; the rules themselves are in [`crate::rights`].

use model::time::{RailTime, TimeStyle};

use super::{Body, DistrictNo, Order, PlaceNo, Run, RunNo, Territory, To, territory::Visit};
use crate::rights::{self, Book, By, Encounter, Superior, superior};

/// What sort of thing is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fault {
    /// Two trains can be authorised onto the same track.
    BothAuthorized,
    /// The plan has a train where nothing allows it to be.
    NoAuthority,
    /// An order does not reach whom it is addressed to.
    NotDelivered,
    /// An order is complete when its train may be gone.
    TooLate,
    /// A regular train leaves before its time.
    BeforeTime,
    /// A schedule has died.
    DeadSchedule,
    /// Trains follow each other too closely.
    TooClose,
    /// An order's text or number cannot be.
    Garbled,
}

/// Something wrong, in a sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// What sort.
    pub fault: Fault,
    /// The trains it is about.
    pub trains: Vec<RunNo>,
    /// The order it is about.
    pub order: Option<u32>,
    /// What is wrong and why.
    pub sentence: String,
}

/// Replays the orders.
pub fn judge(
    territory: &Territory,
    orders: &[Order],
    book: &Book,
    style: TimeStyle,
) -> Vec<Finding> {
    let pieces = pieces(orders);
    let mut replay = Replay {
        territory,
        orders,
        pieces: &pieces,
        book,
        style,
        held: vec![Vec::new(); territory.runs.len()],
        found: Vec::new(),
    };
    replay.read();
    replay.deliver();
    for (no, run) in territory.numbered() {
        if run.runs {
            replay.own_times(no, run);
        }
    }
    replay.pairs();
    replay.found
}

/// Why a train may do what it may.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Why {
    Order(u32),
    Superior(By),
    Inferior,
    NotTold,
}

/// What a train may do on a piece of track with regard to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum May {
    Keep {
        from: RailTime,
        why: Why,
    },
    Clear {
        by: RailTime,
        why: Why,
    },
    Wait {
        why: Why,
    },
    /// In the same direction, in either order.
    Follow,
    /// The other is known not to run.
    Alone,
}

struct Replay<'a> {
    territory: &'a Territory,
    orders: &'a [Order],
    /// Per order: what it says, in parts if some other order annuls a part of it.
    pieces: &'a [Vec<Body>],
    book: &'a Book,
    style: TimeStyle,
    /// Per train: index of the order, and the station at which it is delivered.
    held: Vec<Vec<(usize, usize)>>,
    found: Vec<Finding>,
}

/// A train leaving a station for a district.
#[derive(Debug, Clone, Copy)]
struct Entry {
    run: RunNo,
    at: usize,
}

impl<'a> Replay<'a> {
    fn note(&mut self, fault: Fault, trains: &[RunNo], order: Option<u32>, sentence: String) {
        let trains = trains.to_vec();
        self.found.push(Finding {
            fault,
            trains,
            order,
            sentence,
        });
    }

    fn time(&self, time: RailTime) -> String {
        time.show(self.style).to_string()
    }

    fn title(&self, run: RunNo) -> String {
        self.territory.run(run).title()
    }

    fn name(&self, place: PlaceNo) -> &'a str {
        &self.territory.place(place).name
    }

    fn visit(&self, entry: Entry) -> &'a Visit {
        &self.territory.run(entry.run).visits[entry.at]
    }

    /// Numbers are used once; trains meet where they both go; limits lie in the order in which they run.
    fn read(&mut self) {
        let mut seen = std::collections::HashSet::new();
        for order in self.orders {
            let number = order.number;
            if !seen.insert(number) {
                let sentence =
                    format!("order {number} is given out twice: a number is used once a day");
                self.note(Fault::Garbled, &[], Some(number), sentence);
            }
            let goes: Vec<(RunNo, Vec<PlaceNo>)> = match plain(&order.body) {
                Body::Meet { train, others } => others
                    .iter()
                    .flat_map(|&(other, at)| [(*train, vec![at]), (other, vec![at])])
                    .collect(),
                Body::Ahead { first, seconds } => seconds
                    .iter()
                    .flat_map(|&(second, from, to)| {
                        [(*first, vec![from, to]), (second, vec![from, to])]
                    })
                    .collect(),
                Body::RightOver {
                    first,
                    over,
                    from,
                    to,
                } => vec![(*first, vec![*from, *to]), (*over, vec![*to, *from])],
                Body::RunLate {
                    train, from, to, ..
                } => vec![(*train, vec![*from, *to])],
                Body::Wait { train, at } => {
                    vec![(*train, at.iter().map(|(place, _)| *place).collect())]
                }
                Body::Extra { train, from, to } => vec![(*train, vec![*from, *to])],
                Body::Hold { train, at } => vec![(*train, vec![*at])],
                _ => Vec::new(),
            };
            for (train, places) in goes {
                let run = self.territory.run(train);
                let mut from = 0;
                for place in places {
                    match run.visit_at(place, from) {
                        Some(at) => from = at,
                        None => {
                            let sentence = format!(
                                "order {number} names {} for {}, which does not come there, or not in that order",
                                self.name(place),
                                run.title()
                            );
                            self.note(Fault::Garbled, &[train], Some(number), sentence);
                        }
                    }
                }
            }
            if let Body::AnnulPart { number: old, part } = &order.body {
                let said = self.orders.iter().find(|other| other.number == *old);
                let says = said.map(|said| said.body.parts());
                if says.is_some_and(|says| part.parts().iter().any(|one| !says.contains(one))) {
                    let sentence = format!(
                        "order {number} annuls a part of order {old} which it does not contain"
                    );
                    self.note(Fault::Garbled, &[], Some(number), sentence);
                }
            }
            if let Body::AnnulOrder { number: old }
            | Body::AnnulPart { number: old, .. }
            | Body::InsteadOf { number: old, .. } = &order.body
                && !self
                    .orders
                    .iter()
                    .any(|other| other.number == *old && other.number != number)
            {
                let sentence =
                    format!("order {number} speaks of order {old}, which was never given out");
                self.note(Fault::Garbled, &[], Some(number), sentence);
            }
        }
    }

    /// Who holds what from which station on.
    fn deliver(&mut self) {
        for (index, order) in self.orders.iter().enumerate() {
            let number = order.number;
            for copy in &order.copies {
                let To::Train(train) = copy.to else {
                    continue;
                };
                let run = self.territory.run(train);
                let place = self.territory.place(copy.at);
                let Some(at) = run.visit_at(copy.at, 0) else {
                    let sentence = format!(
                        "order {number} for {} is at {}, where it does not come",
                        run.title(),
                        place.name
                    );
                    self.note(Fault::NotDelivered, &[train], Some(number), sentence);
                    continue;
                };
                let visit = run.visits[at];
                let by_hand = at == 0 && place.hands_out;
                if !by_hand && !place.open_at(visit.arrive) && !place.open_at(visit.leave) {
                    let state = match place.office {
                        Some([opens, closes]) => format!(
                            "the office is open from {} to {}",
                            self.time(opens),
                            self.time(closes)
                        ),
                        None => "there is no train-order office".to_owned(),
                    };
                    let sentence = format!(
                        "order {number} cannot be delivered to {} at {} at {}: {state}",
                        run.title(),
                        place.name,
                        self.time(visit.leave)
                    );
                    self.note(Fault::NotDelivered, &[train], Some(number), sentence);
                    continue;
                }
                // A regular train can be there on time, whatever the plan has.
                let gone = self.shown(run, at).unwrap_or(visit.leave);
                if order.complete > gone {
                    let sentence = format!(
                        "order {number} is complete at {}, but {} may have left {} since {}",
                        self.time(order.complete),
                        run.title(),
                        place.name,
                        self.time(gone)
                    );
                    self.note(Fault::TooLate, &[train], Some(number), sentence);
                    continue;
                }
                self.held[train.index()].push((index, at));
            }
        }
    }

    /// The orders that bind a train when it leaves a station.
    fn holds(&self, entry: Entry) -> Vec<(u32, &'a Body)> {
        let mut holds: Vec<(u32, &Body)> = Vec::new();
        let mut fallen = Vec::new();
        let mut annulled: Vec<(u32, Body)> = Vec::new();
        for &(index, at) in &self.held[entry.run.index()] {
            if at > entry.at {
                continue;
            }
            let order = &self.orders[index];
            match &order.body {
                Body::AnnulOrder { number } => fallen.push(*number),
                Body::AnnulPart { number, part } => {
                    annulled.extend(part.parts().into_iter().map(|part| (*number, part)));
                }
                body => {
                    if let Body::InsteadOf { number, .. } = body {
                        fallen.push(*number);
                    }
                    holds.extend(self.pieces[index].iter().map(|body| (order.number, body)));
                }
            }
        }
        holds.retain(|(number, body)| {
            !fallen.contains(number)
                && !annulled
                    .iter()
                    .any(|(old, part)| old == number && part == *body)
        });
        holds
    }

    /// The time the timetable shows for leaving a station; where it shows none, the last one before.
    fn shown(&self, run: &Run, at: usize) -> Option<RailTime> {
        run.class?;
        run.visits[..=at]
            .iter()
            .rev()
            .find_map(|visit| visit.due)
            .map(|due| due.leave)
    }

    /// The earliest a regular train leaves a station, for someone who holds these orders.
    fn leaves(&self, run: RunNo, at: usize, holds: &[(u32, &Body)]) -> Option<RailTime> {
        let train = self.territory.run(run);
        let shown = self.shown(train, at)?;
        let mut time = shown;
        for (_, body) in holds {
            match body {
                Body::RunLate {
                    train: late_train,
                    late,
                    from,
                    to,
                } if *late_train == run => {
                    let (Some(from), Some(to)) = (train.visit_at(*from, 0), train.visit_at(*to, 0))
                    else {
                        continue;
                    };
                    if (from..to).contains(&at) {
                        time = time.max(rights::run_late(shown, *late));
                    } else if at == to {
                        // It need not leave its last place late, but it does not arrive sooner.
                        let arrives = train.visits[at].due.map_or(shown, |due| due.arrive);
                        time = time.max(rights::run_late(arrives, *late));
                    }
                }
                Body::Wait {
                    train: waits,
                    at: places,
                } if *waits == run => {
                    for (place, until) in places {
                        if train.visit_at(*place, 0).is_some_and(|first| first <= at) {
                            time = rights::wait_until(time, *until);
                        }
                    }
                }
                _ => {}
            }
        }
        Some(time)
    }

    /// What a train must keep to whatever the others do.
    fn own_times(&mut self, no: RunNo, run: &Run) {
        for (at, visit) in run.visits.iter().enumerate() {
            let holds = self.holds(Entry { run: no, at });
            if visit.next.is_some()
                && let Some(earliest) = self.leaves(no, at, &holds)
                && visit.leave < earliest
            {
                let sentence = format!(
                    "{} leaves {} at {}, before its time there, {}",
                    run.title(),
                    self.name(visit.place),
                    self.time(visit.leave),
                    self.time(earliest)
                );
                self.note(Fault::BeforeTime, &[no], None, sentence);
            }
            if let (Some(_), Some(due)) = (run.class, visit.due)
                && !rights::alive(due, visit.arrive, visit.leave, self.book)
            {
                let sentence = format!(
                    "{} is more than {} behind its schedule at {} and has lost it, with all its orders",
                    run.title(),
                    self.book.life,
                    self.name(visit.place)
                );
                self.note(Fault::DeadSchedule, &[no], None, sentence);
            }
            let stuck = self.orders.iter().find(|order| {
                matches!(plain(&order.body), Body::Hold { train, at } if *train == no && *at == visit.place)
            });
            if let Some(hold) = stuck
                && visit.next.is_some()
                && !self.released(no, visit.place, hold.number)
            {
                let number = hold.number;
                let sentence = format!(
                    "order {number} holds {} at {}, and nothing releases it",
                    run.title(),
                    self.name(visit.place)
                );
                self.note(Fault::NoAuthority, &[no], Some(number), sentence);
            }
        }
        if run.class.is_none() {
            let holds = self.holds(Entry { run: no, at: 0 });
            let created = holds.iter().any(|(_, body)| {
                matches!(body, Body::Extra { train, .. } | Body::WorkExtra { train, .. } if *train == no)
            });
            if !created {
                let sentence = format!(
                    "{} holds no order to run where it begins, {}: an extra runs only by order",
                    run.title(),
                    self.name(run.visits[0].place)
                );
                self.note(Fault::NoAuthority, &[no], None, sentence);
            }
        }
    }

    /// A held train goes when another order reaches it where it is held, or the holding order falls.
    fn released(&self, train: RunNo, at: PlaceNo, hold: u32) -> bool {
        self.orders.iter().any(|order| {
            let falls = matches!(&order.body,
                Body::AnnulOrder { number } | Body::InsteadOf { number, .. } if *number == hold);
            let reaches = order.number != hold
                && order
                    .copies
                    .iter()
                    .any(|copy| copy.to == To::Train(train) && copy.at == at);
            falls || reaches
        })
    }

    fn pairs(&mut self) {
        let mut entries: Vec<Vec<Entry>> = vec![Vec::new(); self.territory.districts.len()];
        for (no, run) in self.territory.numbered() {
            for (at, visit) in run.visits.iter().enumerate() {
                if let Some(district) = visit.next
                    && at + 1 < run.visits.len()
                {
                    entries[district.index()].push(Entry { run: no, at });
                }
            }
        }
        for (number, here) in entries.iter().enumerate() {
            let district = DistrictNo(number as u32);
            for (at, &one) in here.iter().enumerate() {
                for &other in &here[at + 1..] {
                    let runs = |entry: Entry| self.territory.run(entry.run).runs;
                    if one.run == other.run || !(runs(one) || runs(other)) {
                        continue;
                    }
                    let opposing = self.visit(one).place != self.visit(other).place;
                    match (opposing, self.territory.district(district).tracks) {
                        (true, 1) => self.opposing(district, one, other),
                        (true, _) => {}
                        (false, _) => self.following(district, one, other),
                    }
                }
            }
        }
    }

    fn by_rank(&self, mine: Entry, other: Entry, encounter: Encounter) -> Superior {
        let rank = |entry: Entry| self.territory.rank(entry.run, entry.at);
        match (rank(mine), rank(other)) {
            (Some(mine), Some(other)) => superior(mine, other, encounter, None, self.book),
            _ => Superior::Neither,
        }
    }

    /// From when a train may be on the track beyond a station by its own schedule and orders.
    fn from(&self, entry: Entry, holds: &[(u32, &Body)]) -> RailTime {
        self.leaves(entry.run, entry.at, holds)
            .unwrap_or(RailTime::from_seconds(i64::MIN))
    }

    /// What a train may do with regard to an opposing one.
    fn against(&self, mine: Entry, other: Entry) -> May {
        let holds = self.holds(mine);
        let run = self.territory.run(mine.run);
        let keep = |why| May::Keep {
            from: self.from(mine, &holds),
            why,
        };
        for &(number, body) in &holds {
            let why = Why::Order(number);
            match body {
                Body::AnnulSchedule { train } if *train == other.run => return May::Alone,
                Body::Meet { train, others } => {
                    let at = others.iter().find_map(|&(second, at)| {
                        let ours = (*train == mine.run && second == other.run)
                            || (*train == other.run && second == mine.run);
                        ours.then_some(at)
                    });
                    if let Some(meet) = at.and_then(|at| run.visit_at(at, 0)) {
                        return if mine.at < meet {
                            keep(why)
                        } else {
                            May::Wait { why }
                        };
                    }
                }
                Body::RightOver {
                    first,
                    over,
                    from,
                    to,
                } => {
                    // The limits as this train runs through them.
                    let (enter, exit) = if *first == mine.run {
                        (*from, *to)
                    } else {
                        (*to, *from)
                    };
                    let within = run.visit_at(enter, 0).is_some_and(|at| at <= mine.at)
                        && run.visit_at(exit, 0).is_some_and(|at| mine.at < at);
                    if within && *first == mine.run && *over == other.run {
                        return keep(why);
                    }
                    if within && *first == other.run && *over == mine.run {
                        return May::Wait { why };
                    }
                }
                _ => {}
            }
        }
        match self.by_rank(mine, other, Encounter::Opposing) {
            Superior::First(by) => keep(Why::Superior(by)),
            Superior::Second(_) => {
                let ranks = (
                    self.territory.rank(mine.run, mine.at),
                    self.territory.rank(other.run, other.at),
                );
                let clear = match ranks {
                    (Some(mine), Some(other)) => rights::clear_before(mine, other, self.book),
                    _ => self.book.clear_opposing,
                };
                match self.leaves(other.run, other.at, &holds) {
                    Some(leaves) => May::Clear {
                        by: leaves - clear,
                        why: Why::Inferior,
                    },
                    None => keep(Why::NotTold),
                }
            }
            Superior::Neither => keep(Why::NotTold),
        }
    }

    fn opposing(&mut self, district: DistrictNo, one: Entry, other: Entry) {
        let (first, second) = (self.against(one, other), self.against(other, one));
        let both_run = self.territory.run(one.run).runs && self.territory.run(other.run).runs;
        if both_run {
            let clash = match (first, second) {
                (May::Keep { .. }, May::Keep { .. }) => true,
                (May::Keep { from, .. }, May::Clear { by, .. })
                | (May::Clear { by, .. }, May::Keep { from, .. }) => by > from,
                _ => false,
            };
            if clash {
                let sentence = format!(
                    "{} and {} may both be on the single track {}: {}; {}",
                    self.title(one.run),
                    self.title(other.run),
                    self.stretch(district),
                    self.say(one, other, first),
                    self.say(other, one, second),
                );
                self.note(Fault::BothAuthorized, &[one.run, other.run], None, sentence);
            }
        }
        for (mine, theirs, may) in [(one, other, first), (other, one, second)] {
            if self.territory.run(mine.run).runs {
                self.obey(district, mine, theirs, may);
            }
        }
    }

    /// Whether the plan keeps to what a train may do.
    fn obey(&mut self, district: DistrictNo, mine: Entry, other: Entry, may: May) {
        let leaves = self.visit(mine).leave;
        let arrives = self.next(mine).arrive;
        if self.territory.run(other.run).runs {
            if self.next(other).arrive <= leaves {
                return;
            }
            if arrives > self.visit(other).leave {
                let sentence = format!(
                    "the plan has {} and {} meet on the single track {}",
                    self.title(mine.run),
                    self.title(other.run),
                    self.stretch(district)
                );
                if mine.run < other.run {
                    self.note(
                        Fault::BothAuthorized,
                        &[mine.run, other.run],
                        None,
                        sentence,
                    );
                }
                return;
            }
        }
        let wrong = match may {
            May::Keep { .. } | May::Alone | May::Follow => false,
            May::Clear { by, .. } => arrives > by,
            May::Wait { .. } => true,
        };
        if wrong {
            let sentence = format!(
                "{} has no authority to leave {} for {} at {}, where it arrives at {}: {}",
                self.title(mine.run),
                self.name(self.visit(mine).place),
                self.name(self.next(mine).place),
                self.time(leaves),
                self.time(arrives),
                self.say(mine, other, may),
            );
            self.note(Fault::NoAuthority, &[mine.run, other.run], None, sentence);
        }
    }

    fn next(&self, entry: Entry) -> &'a Visit {
        &self.territory.run(entry.run).visits[entry.at + 1]
    }

    /// What a train may do with regard to one in the same direction.
    fn beside(&self, mine: Entry, other: Entry) -> May {
        let holds = self.holds(mine);
        let run = self.territory.run(mine.run);
        let keep = |why| May::Keep {
            from: self.from(mine, &holds),
            why,
        };
        for &(number, body) in &holds {
            let why = Why::Order(number);
            match body {
                Body::AnnulSchedule { train } if *train == other.run => return May::Alone,
                Body::Ahead { first, seconds } => {
                    for &(second, from, to) in seconds {
                        let within = run.visit_at(from, 0).is_some_and(|at| at <= mine.at)
                            && run.visit_at(to, 0).is_some_and(|at| mine.at < at);
                        if within && *first == mine.run && second == other.run {
                            return keep(why);
                        }
                        if within && *first == other.run && second == mine.run {
                            return May::Wait { why };
                        }
                    }
                }
                _ => {}
            }
        }
        match self.by_rank(mine, other, Encounter::SameDirection) {
            Superior::First(by) => keep(Why::Superior(by)),
            Superior::Second(_) => match self.due_behind(other, &holds) {
                Some(by) => May::Clear {
                    by,
                    why: Why::Inferior,
                },
                None => May::Follow,
            },
            Superior::Neither => {
                let due = |entry: Entry| self.shown(self.territory.run(entry.run), entry.at);
                match (due(mine), due(other)) {
                    // Trains of one class run in the order of the timetable.
                    (Some(my_due), Some(their_due)) if my_due > their_due => {
                        May::Wait { why: Why::Inferior }
                    }
                    _ => May::Follow,
                }
            }
        }
    }

    /// By when an inferior train must be in clear at the next station ahead of a superior one: of a
    /// first-class train by the time it leaves the station in rear, of others some minutes before they
    /// are due (rule 86).
    fn due_behind(&self, other: Entry, holds: &[(u32, &Body)]) -> Option<RailTime> {
        let run = self.territory.run(other.run);
        let rear = self.leaves(other.run, other.at, holds)?;
        if run.class == Some(1) {
            return Some(rear);
        }
        let ahead = self.leaves(other.run, other.at + 1, holds)?;
        let shown = self.shown(run, other.at + 1)?;
        let arrives = run.visits[other.at + 1]
            .due
            .map_or(ahead, |due| ahead - shown.since(due.arrive));
        Some(arrives.max(rear) - self.book.clear_following)
    }

    fn following(&mut self, district: DistrictNo, one: Entry, other: Entry) {
        let (first, second) = (self.beside(one, other), self.beside(other, one));
        let both_run = self.territory.run(one.run).runs && self.territory.run(other.run).runs;
        if both_run {
            let clash = match (first, second) {
                (May::Keep { .. }, May::Keep { .. }) => true,
                (May::Keep { .. }, May::Clear { by, .. }) => self.overrun(one, by),
                (May::Clear { by, .. }, May::Keep { .. }) => self.overrun(other, by),
                _ => false,
            };
            if clash {
                let sentence = format!(
                    "{} and {} may each take itself to go first {}: {}; {}",
                    self.title(one.run),
                    self.title(other.run),
                    self.stretch(district),
                    self.say(one, other, first),
                    self.say(other, one, second),
                );
                self.note(Fault::BothAuthorized, &[one.run, other.run], None, sentence);
            }
            self.apart(district, one, other);
        }
        for (mine, theirs, may) in [(one, other, first), (other, one, second)] {
            let run = self.territory.run(theirs.run).runs;
            let ahead = !run || self.visit(mine).leave < self.visit(theirs).leave;
            if !self.territory.run(mine.run).runs || !ahead {
                continue;
            }
            let wrong = match may {
                May::Keep { .. } | May::Alone | May::Follow => false,
                May::Clear { by, .. } => self.next(mine).arrive > by,
                May::Wait { .. } => true,
            };
            if wrong {
                let sentence = format!(
                    "{} has no authority to run {} ahead of {}, leaving at {} and arriving at {}: {}",
                    self.title(mine.run),
                    self.stretch(district),
                    self.title(theirs.run),
                    self.time(self.visit(mine).leave),
                    self.time(self.next(mine).arrive),
                    self.say(mine, theirs, may),
                );
                self.note(Fault::NoAuthority, &[mine.run, theirs.run], None, sentence);
            }
        }
    }

    /// Whether a superior train could be there before an inferior one ahead of it clears.
    fn overrun(&self, superior: Entry, by: RailTime) -> bool {
        let own = self.holds(superior);
        self.due_behind(superior, &own).is_some_and(|due| by > due)
    }

    /// Trains that follow each other.
    fn apart(&mut self, district: DistrictNo, one: Entry, other: Entry) {
        let leave = |entry: Entry| self.visit(entry).leave;
        let (ahead, behind) = if leave(one) <= leave(other) {
            (one, other)
        } else {
            (other, one)
        };
        let clear = self.next(ahead).arrive <= leave(behind);
        let blocks = self.territory.district(district).blocks > 1;
        let spaced = leave(behind) >= leave(ahead) + self.book.spacing;
        if !clear && self.next(behind).arrive <= self.next(ahead).arrive {
            let sentence = format!(
                "the plan has {} overtake {} on the track {}",
                self.title(behind.run),
                self.title(ahead.run),
                self.stretch(district)
            );
            self.note(
                Fault::BothAuthorized,
                &[ahead.run, behind.run],
                None,
                sentence,
            );
        } else if !clear && !blocks && !spaced {
            let sentence = format!(
                "{} leaves {} at {}, {} behind {}; the rules ask for {}",
                self.title(behind.run),
                self.name(self.visit(behind).place),
                self.time(leave(behind)),
                leave(behind).since(leave(ahead)),
                self.title(ahead.run),
                self.book.spacing
            );
            self.note(Fault::TooClose, &[ahead.run, behind.run], None, sentence);
        }
    }

    fn stretch(&self, district: DistrictNo) -> String {
        let [low, high] = self.territory.district(district).ends;
        format!("between {} and {}", self.name(low), self.name(high))
    }

    /// A permission in words.
    fn say(&self, mine: Entry, other: Entry, may: May) -> String {
        let (me, them) = (self.title(mine.run), self.title(other.run));
        let because = |why: Why| match why {
            Why::Order(number) => format!("by order {number}"),
            Why::Superior(By::Right) => "by right".to_owned(),
            Why::Superior(By::Class) => "by its class".to_owned(),
            Why::Superior(By::Direction) => "by its direction".to_owned(),
            Why::Inferior => "by the timetable".to_owned(),
            Why::NotTold => format!("having no order about {them}, to which it is not inferior"),
        };
        match may {
            May::Keep { from, why } if from.seconds() == i64::MIN => {
                format!("{me} {} at any time", because(why))
            }
            May::Keep { from, why } => {
                format!("{me} {} from {} on", because(why), self.time(from))
            }
            May::Clear { by, why } => format!(
                "{me} must be in clear of {them} by {} {}",
                self.time(by),
                because(why)
            ),
            May::Wait { why } => format!("{me} must wait for {them} {}", because(why)),
            May::Follow => format!("{me} may go before or behind {them}"),
            May::Alone => format!("{me} holds that {them} does not run"),
        }
    }
}

/// What each order says: as one, or in parts if another order annuls a part of it.
fn pieces(orders: &[Order]) -> Vec<Vec<Body>> {
    let cut: Vec<u32> = orders
        .iter()
        .filter_map(|order| match order.body {
            Body::AnnulPart { number, .. } => Some(number),
            _ => None,
        })
        .collect();
    orders
        .iter()
        .map(|order| match cut.contains(&order.number) {
            true => order.body.parts(),
            false => vec![plain(&order.body).clone()],
        })
        .collect()
}

/// What an order says, whether or not it stands in place of another.
fn plain(body: &Body) -> &Body {
    match body {
        Body::InsteadOf { body, .. } => body,
        body => body,
    }
}

#[cfg(test)]
mod tests;
