//! Where the timetable alone would not let the plan happen.

use model::time::{RailSpan, RailTime};
use transportation::{
    order::{DistrictNo, PlaceNo, Run, RunNo, Territory},
    rights::{Book, Encounter, Superior, clear_before, superior},
};

/// One thing for which two trains need an order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Need {
    /// The train that goes first on the track in question and may not by the timetable.
    pub first: RunNo,
    /// The train it would have to keep clear of.
    pub other: RunNo,
    /// Which of its stations the first train must not leave without the order.
    pub by: usize,
    /// The places, as `first` runs: from where it needs the order to where the other gets by.
    pub from: PlaceNo,
    /// Where the other train gets by.
    pub to: PlaceNo,
    /// Where of its own way the other train must know.
    pub other_by: usize,
    /// What sort.
    pub kind: Kind,
    /// Per piece of track: when `first` has to be in clear, as a function of how late the other runs.
    pub limits: Vec<Limit>,
}

/// What sort of need.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// They run toward each other and can meet at [`Need::to`] by a meet order.
    Meet,
    /// They run toward each other, but one of them does not stop for the other where it would be bound
    /// to: it takes right over.
    Right,
    /// They run in the same direction.
    Ahead,
    /// The other does not run.
    Annul,
}

/// By when a train is in clear at the end of a piece of track, and what of the other's way binds it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limit {
    /// When the first train arrives beyond the track.
    pub arrives: RailTime,
    /// At which of the other's stations its time counts.
    pub at: usize,
    /// Whether its arriving time there counts, or its leaving.
    pub arriving: bool,
    /// How long before.
    pub clear: RailSpan,
}

/// The time the timetable shows a train to leave a station; where it shows none, the last before.
pub(super) fn shown(run: &Run, at: usize) -> Option<RailTime> {
    run.class?;
    let timed = run.visits[..=at].iter().rev().find_map(|visit| visit.due);
    timed.map(|due| due.leave)
}

/// The same for arriving.
pub(super) fn shown_arrival(run: &Run, at: usize) -> Option<RailTime> {
    run.class?;
    match run.visits[at].due {
        Some(due) => Some(due.arrive),
        None => shown(run, at),
    }
}

/// Where two trains use the same track: their stations at which they leave for it.
#[derive(Debug, Clone, Copy)]
struct Shared {
    district: DistrictNo,
    one: usize,
    other: usize,
}

/// All needs of a day, train by train.
pub fn find(territory: &Territory, book: &Book) -> Vec<Need> {
    let mut needs = Vec::new();
    // Where each train leaves for each district.
    let leaves: Vec<Vec<(DistrictNo, usize)>> = territory
        .runs
        .iter()
        .map(|run| {
            let mut all: Vec<_> = (0..run.visits.len().saturating_sub(1))
                .filter_map(|at| run.visits[at].next.map(|district| (district, at)))
                .collect();
            all.sort_unstable_by_key(|(district, at)| (district.0, *at));
            all
        })
        .collect();
    for (one, run) in territory.numbered() {
        for (other, second) in territory.numbered() {
            if one == other || !run.runs {
                continue;
            }
            let mut shared: Vec<Shared> = leaves[one.index()]
                .iter()
                .flat_map(|&(district, at)| {
                    leaves[other.index()]
                        .iter()
                        .filter(move |(theirs, _)| *theirs == district)
                        .map(move |&(_, theirs)| Shared {
                            district,
                            one: at,
                            other: theirs,
                        })
                })
                .collect();
            shared.sort_unstable_by_key(|shared| (shared.one, shared.other));
            let (toward, along): (Vec<Shared>, Vec<Shared>) =
                shared.into_iter().partition(|shared| {
                    run.visits[shared.one].place != second.visits[shared.other].place
                });
            let pair = Pair {
                territory,
                book,
                one,
                other,
                run,
                second,
            };
            needs.extend(pair.toward(&toward));
            needs.extend(pair.along(&along));
        }
    }
    needs
}

#[derive(Clone, Copy)]
struct Pair<'a> {
    territory: &'a Territory,
    book: &'a Book,
    one: RunNo,
    other: RunNo,
    run: &'a Run,
    second: &'a Run,
}

impl Pair<'_> {
    fn rank(&self, shared: Shared, encounter: Encounter) -> (Superior, RailSpan) {
        let mine = self.territory.rank(self.one, shared.one);
        let theirs = self.territory.rank(self.other, shared.other);
        let (Some(mine), Some(theirs)) = (mine, theirs) else {
            return (Superior::Neither, RailSpan::ZERO);
        };
        (
            superior(mine, theirs, encounter, None, self.book),
            clear_before(mine, theirs, self.book),
        )
    }

    /// Whether this train is off a piece of track before the other comes.
    fn goes_first(&self, shared: Shared) -> bool {
        self.run.visits[shared.one + 1].arrive <= self.second.visits[shared.other].leave
    }

    fn toward(&self, shared: &[Shared]) -> Option<Need> {
        let single: Vec<Shared> = shared
            .iter()
            .copied()
            .filter(|shared| self.territory.district(shared.district).tracks == 1)
            .collect();
        let mut failing: Vec<(Shared, Limit)> = Vec::new();
        let mut neither = false;
        for &shared in &single {
            let first = !self.second.runs || self.goes_first(shared);
            if !first {
                continue;
            }
            let (rank, clear) = self.rank(shared, Encounter::Opposing);
            match rank {
                Superior::First(_) => {}
                Superior::Neither => {
                    neither = true;
                    let limit = Limit {
                        arrives: self.run.visits[shared.one + 1].arrive,
                        at: shared.other,
                        arriving: false,
                        clear,
                    };
                    failing.push((shared, limit));
                }
                Superior::Second(_) => {
                    let leaves = shown(self.second, shared.other)?;
                    let limit = Limit {
                        arrives: self.run.visits[shared.one + 1].arrive,
                        at: shared.other,
                        arriving: false,
                        clear,
                    };
                    if limit.arrives > leaves - clear {
                        failing.push((shared, limit));
                    }
                }
            }
        }
        let (begins, _) = *failing.first()?;
        let ahead: Vec<Shared> = single
            .iter()
            .copied()
            .filter(|&shared| self.goes_first(shared))
            .collect();
        let last = if self.second.runs {
            *ahead.last()?
        } else {
            failing.last()?.0
        };
        let meet = last.one + 1;
        let place = self.run.visits[meet].place;
        let kind = if !self.second.runs {
            Kind::Annul
        } else if self.stands(meet, last.other) {
            Kind::Meet
        } else {
            Kind::Right
        };
        // Two extras need to be told of each other once, if they can meet by it.
        if neither && self.second.runs {
            let across = Pair {
                one: self.other,
                other: self.one,
                run: self.second,
                second: self.run,
                ..*self
            };
            let theirs = single
                .iter()
                .map(|shared| Shared {
                    one: shared.other,
                    other: shared.one,
                    ..*shared
                })
                .filter(|&shared| across.goes_first(shared))
                .max_by_key(|shared| shared.one);
            let they_meet = theirs.is_some_and(|last| across.stands(last.one + 1, last.other));
            let mine = kind == Kind::Meet && (self.one < self.other || !they_meet);
            if (kind == Kind::Meet || they_meet) && !mine {
                return None;
            }
        }
        Some(Need {
            first: self.one,
            other: self.other,
            by: begins.one,
            from: self.run.visits[begins.one].place,
            to: place,
            other_by: last.other,
            kind,
            limits: failing.into_iter().map(|(_, limit)| limit).collect(),
        })
    }

    /// Whether both trains, at the place where they get by each other, wait for the other as a meet
    /// order asks them to.
    fn stands(&self, mine: usize, theirs: usize) -> bool {
        let (me, them) = (self.run.visits[mine], self.second.visits[theirs]);
        let last = mine + 1 == self.run.visits.len();
        let begins = theirs == 0;
        (last || begins && me.leave >= them.leave || me.leave >= them.arrive)
            && them.leave >= me.arrive
    }

    fn along(&self, shared: &[Shared]) -> Option<Need> {
        let mut failing: Vec<(Shared, Limit)> = Vec::new();
        for &shared in shared {
            let mine = self.run.visits[shared.one];
            let ahead = !self.second.runs || mine.leave < self.second.visits[shared.other].leave;
            if !ahead {
                continue;
            }
            let arrives = self.run.visits[shared.one + 1].arrive;
            let (rank, _) = self.rank(shared, Encounter::SameDirection);
            match rank {
                Superior::First(_) => {}
                Superior::Second(_) => {
                    let rear = shown(self.second, shared.other)?;
                    let due = shown_arrival(self.second, shared.other + 1)?;
                    let limit = if self.second.class == Some(1) {
                        Limit {
                            arrives,
                            at: shared.other,
                            arriving: false,
                            clear: RailSpan::ZERO,
                        }
                    } else {
                        Limit {
                            arrives,
                            at: shared.other + 1,
                            arriving: true,
                            clear: self.book.clear_following,
                        }
                    };
                    let by = if limit.arriving { due.max(rear) } else { rear };
                    if arrives > by - limit.clear {
                        failing.push((shared, limit));
                    }
                }
                Superior::Neither => {
                    let mine = shown(self.run, shared.one);
                    let theirs = shown(self.second, shared.other);
                    if let (Some(mine), Some(theirs)) = (mine, theirs)
                        && mine > theirs
                    {
                        // However late the other runs by order, it keeps its place before this one.
                        let limit = Limit {
                            arrives: RailTime::from_seconds(i64::MAX / 2),
                            at: shared.other,
                            arriving: false,
                            clear: RailSpan::ZERO,
                        };
                        failing.push((shared, limit));
                    }
                }
            }
        }
        let (begins, _) = *failing.first()?;
        let (ends, _) = *failing.last()?;
        Some(Need {
            first: self.one,
            other: self.other,
            by: begins.one,
            from: self.run.visits[begins.one].place,
            to: self.run.visits[ends.one + 1].place,
            other_by: begins.other,
            kind: if self.second.runs {
                Kind::Ahead
            } else {
                Kind::Annul
            },
            limits: failing.into_iter().map(|(_, limit)| limit).collect(),
        })
    }
}
