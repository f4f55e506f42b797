//! A session's facts in a compiled town, as the switching engine's work.

use engineering::ids::TrackId;
use switching::{CarId, Departure, Goal, PlaceId, Town, Work};

use super::{
    compile::{CompiledTown, units},
    session::{Facts, Intent, RosterCar, Target},
    visit::Visit,
};

/// A town and the work there.
#[derive(Debug, Clone, PartialEq)]
pub struct Compiled {
    /// The town.
    pub town: CompiledTown,
    /// The work.
    pub work: Work,
    /// For each car of the work, what it may be instead if it cannot be done: carried on, or left.
    pub instead: Vec<Option<Goal>>,
    /// The blocks of the train as it leaves; those carried past go before them.
    pub blocks: Vec<String>,
}

/// Why a session cannot be put into a town.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoWork {
    /// The train comes by an end that leads nowhere.
    #[error("no open line joins {0}; no train comes by it")]
    NoExit(String),
}

struct Putting<'a> {
    town: &'a CompiledTown,
    work: Work,
    instead: Vec<Option<Goal>>,
}

/// Puts a session's facts into a town.
///
/// # Errors
/// If the train comes or leaves by an end that no open line joins.
pub fn work(town: &CompiledTown, visit: &Visit, facts: &Facts) -> Result<Compiled, NoWork> {
    let exit = |end: engineering::ids::EndId| {
        town.exits[end.index()]
            .ok_or_else(|| NoWork::NoExit(format!("end {} of {}", end.index() + 1, town.town.name)))
    };
    let enter = exit(visit.enter)?;
    let mut putting = Putting {
        town,
        work: Work::new(
            &facts.engine.name,
            units(facts.engine.length),
            &[enter.track],
            enter.inner,
        ),
        instead: vec![],
    };
    let mut behind = vec![];
    let carried = visit.leave.map(|_| Goal::Leave { block: 0 });
    for inbound in &facts.inbound {
        let goal = putting.goal(&inbound.target);
        behind.push(putting.car(&inbound.car, goal, carried.clone()));
    }
    for (car, block) in &facts.through {
        let goal = match visit.leave {
            Some(_) => Goal::Leave {
                block: *block as u16 + 1,
            },
            None => Goal::Anywhere,
        };
        behind.push(putting.car(car, goal, None));
    }
    let mut caboose = None;
    if let Some(car) = &facts.caboose {
        let goal = match visit.leave {
            Some(_) => Goal::Leave { block: u16::MAX },
            None => Goal::Anywhere,
        };
        let id = putting.car(car, goal, None);
        behind.push(id);
        caboose = Some(id);
    }
    putting.work.train.behind = behind;
    putting.standing(facts, visit.leave.is_some());
    if let Some(leave) = visit.leave {
        let exit = exit(leave)?;
        putting.work.departure = Some(Departure {
            boundary: exit.node,
            engine_ahead: true,
            caboose,
        });
    }
    Ok(Compiled {
        town: town.clone(),
        work: putting.work,
        instead: putting.instead,
        blocks: facts.blocks.clone(),
    })
}

impl Putting<'_> {
    fn places(&self, tracks: &[TrackId]) -> Vec<PlaceId> {
        tracks
            .iter()
            .flat_map(|track| self.town.places[track.index()].iter().copied())
            .collect()
    }

    /// A goal in the town; a spot where no car may stand, or a track that holds none, asks nothing.
    fn goal(&self, target: &Target) -> Goal {
        let on = |tracks: &[TrackId]| {
            let places = self.places(tracks);
            if places.is_empty() {
                Goal::Anywhere
            } else {
                Goal::Track { places, rank: None }
            }
        };
        match target {
            Target::Spot(track, spot) => match &self.town.spots[track.index()][*spot] {
                Some(at) => Goal::Spot {
                    place: at.place,
                    spots: vec![at.spot],
                },
                None => on(&[*track]),
            },
            Target::Tracks(tracks) => on(tracks),
        }
    }

    fn car(&mut self, car: &RosterCar, goal: Goal, instead: Option<Goal>) -> CarId {
        self.instead.push(instead);
        self.work.car(&car.name, units(car.length), goal)
    }

    /// Stands the cars: at their spots, one clear of the other.
    fn standing(&mut self, facts: &Facts, leaves: bool) {
        let town: &Town = &self.town.town;
        for place in 0..town.places.len() {
            let place = PlaceId(place as u16);
            let length = town.place_length(place);
            let marked = !town.places[place.index()].spots.is_empty();
            let mut free = 0;
            let here: Vec<_> = facts
                .standing
                .iter()
                .filter(|one| self.place_of(one.track, one.spot) == Some(place))
                .collect();
            let lengths: Vec<u32> = here.iter().map(|one| units(one.car.length)).collect();
            for (at, one) in here.iter().enumerate() {
                let own = lengths[at];
                let rest: u32 = lengths[at..].iter().sum();
                // Room for itself and all that stand farther in.
                let Some(latest) = length.checked_sub(rest).filter(|&latest| latest >= free) else {
                    continue;
                };
                let spot = one
                    .spot
                    .and_then(|spot| self.town.spots[one.track.index()][spot].as_ref());
                let stay = Goal::Track {
                    places: vec![place],
                    rank: None,
                };
                let mut position = None;
                let mut stay_there = stay.clone();
                if let Some(spot) = spot.filter(|_| marked) {
                    let mark = &town.places[place.index()].spots[usize::from(spot.spot)];
                    let wanted = mark.centre.saturating_sub(own / 2);
                    let near = wanted.clamp(free, latest);
                    position = Some(near);
                    free = near + own;
                    if (2 * near + own).abs_diff(2 * mark.centre) <= 2 * mark.tolerance {
                        stay_there = Goal::Spot {
                            place,
                            spots: vec![spot.spot],
                        };
                    }
                } else {
                    free += own;
                }
                let (goal, instead) = match &one.intent {
                    Intent::Stay => (stay_there, None),
                    Intent::PickUp(block) if leaves => (
                        Goal::Leave {
                            block: *block as u16 + 1,
                        },
                        Some(stay_there),
                    ),
                    Intent::PickUp(_) => (stay_there, None),
                    Intent::Put(target) => (self.goal(target), Some(stay)),
                };
                let name = one.car.clone();
                let id = self.car(&name, goal, instead);
                match position {
                    Some(at) => self.work.stands_at(place, id, at),
                    None => self.work.stands(place, &[id]),
                }
            }
        }
    }

    fn place_of(&self, track: TrackId, spot: Option<usize>) -> Option<PlaceId> {
        let at = spot.and_then(|spot| self.town.spots[track.index()].get(spot)?.as_ref());
        at.map(|at| at.place)
            .or_else(|| self.town.places[track.index()].first().copied())
    }
}
