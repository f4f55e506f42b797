//! The rest of a day, from where every train is: plain numbers in, plain numbers out.
//!
//! A session under way is not the folder any more: trains are where they are, extras have been created,
//! track is out of service. So it is compiled from what is known of it at the moment: a train is a chain of
//! stands and runs; the blocks of the line and the tracks on which trains meet are what they exclude each
//! other from. Throats and the time a train's length takes are left to the dispatcher, who hands out
//! nothing that the rules do not allow. What the engine answers is judged by its own checker, and read
//! back only then.

mod compile;

use dispatching::{
    Cost, check,
    reasons::{Link, explain},
    solver::{self, Status, solve},
};

use compile::{Compiled, Tag, compile};

/// A day under way.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Rest {
    /// Seconds of the railroad's clock.
    pub now: i64,
    /// For each station the tracks on which trains meet and pass.
    pub stations: Vec<Vec<MeetingTrack>>,
    /// The track between stations.
    pub districts: Vec<District>,
    /// The trains that still have something to do.
    pub trains: Vec<Train>,
}

/// A track on which trains meet and pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeetingTrack {
    /// Whether it is in service.
    pub open: bool,
    /// How long a train may be on it, in meters on the model.
    pub length: f64,
}

/// The track between two neighboring stations.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct District {
    /// 1, or 2 with trains in the current of traffic.
    pub tracks: u8,
    /// Blocks along it.
    pub blocks: u32,
    /// Until when it is closed, if it is.
    pub closed_until: Option<i64>,
}

/// A train under way or still to come.
#[derive(Debug, Clone, PartialEq)]
pub struct Train {
    /// What people call it.
    pub name: String,
    /// Which trains come first: 1 before 2.
    pub class: u8,
    /// In meters on the model.
    pub length: f64,
    /// Where it is.
    pub at: Where,
    /// Its calls from the one where it stands or that it left last; at least one.
    pub calls: Vec<Call>,
}

/// Where a train is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Where {
    /// Not out yet: it takes no track on which others meet until it leaves.
    Waiting,
    /// At its first call, on this of the meeting tracks if it stands on one.
    Station {
        /// The track.
        track: Option<usize>,
    },
    /// On the line beyond its first call.
    Line {
        /// When it is expected at its next call.
        arrives: i64,
    },
}

/// A call of a train.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Call {
    /// The station.
    pub station: usize,
    /// The meeting track of the plan, if it is one.
    pub track: Option<usize>,
    /// Whether trains standing here are out of the way of others: a yard, staging.
    pub out_of_the_way: bool,
    /// The district to the next call, and whether it is run toward higher miles; nothing at the last.
    pub next: Option<(usize, bool)>,
    /// Least seconds of standing; for the call where the train is now, from now.
    pub stands: i64,
    /// It leaves no earlier.
    pub leaves: i64,
    /// Seconds to the next call.
    pub runs: i64,
    /// When it is due here by the timetable.
    pub due: Option<i64>,
    /// When the plan in force has it here.
    pub planned: i64,
}

/// How to search.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Options {
    /// Seed of all chance.
    pub seed: u64,
    /// Rounds of the solver.
    pub rounds: u64,
}

impl Default for Options {
    fn default() -> Self {
        Self { seed: 1, rounds: 6 }
    }
}

/// The rest of the day planned.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Planned {
    /// For each train its calls, as they were given.
    pub trains: Vec<Vec<Time>>,
    /// Whom each train waits for, in order of time.
    pub waits: Vec<Wait>,
    /// Seconds lost against the timetable by class, in order of class.
    pub lost: Vec<(u8, i64)>,
    /// Whether it is proven that no plan of these tracks and times is better, class by class.
    pub proven: bool,
}

/// When and where a train is at a call.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Time {
    /// The meeting track; nothing where it is out of the way, or on the line no more.
    pub track: Option<usize>,
    /// When it arrives; for the call where it was when asked, now.
    pub arrive: i64,
    /// When it leaves.
    pub leave: i64,
}

/// A train waits for others.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wait {
    /// Which train.
    pub train: usize,
    /// At which of its calls.
    pub call: usize,
    /// From when.
    pub from: i64,
    /// Until when.
    pub until: i64,
    /// For whom, the immediate one first; empty if it waits for track that is closed.
    pub for_whom: Vec<usize>,
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoPlan {
    /// It is proven that the trains block each other.
    #[error(
        "these trains block each other, whoever goes first: {0}; one of them has to back up, or take another track"
    )]
    Blocked(String),
    /// None was found with the work allowed.
    #[error("no plan was found in the time allowed; ask again, or move one train by hand first")]
    NotFound,
    /// The checker refused it: a mistake of the program. It is not shown.
    #[error("the plan that was found did not pass the checker, and is not shown")]
    Refused,
}

/// Plans the rest of a day.
///
/// # Errors
/// [`NoPlan`] if there is none, none was found, or it was refused by the checker.
pub fn plan(
    rest: &Rest,
    options: &Options,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Planned, NoPlan> {
    if rest.trains.is_empty() {
        return Ok(Planned {
            proven: true,
            ..Planned::default()
        });
    }
    let compiled = compile(rest);
    let solver_options = solver::Options {
        seed: options.seed,
        rounds: Some(options.rounds),
        threads: 1,
        warm_start: None,
    };
    let outcome = solve(&compiled.problem, &solver_options, stop, &mut |_| {});
    let Some(found) = outcome.plan else {
        return Err(match outcome.status {
            Status::Infeasible(blocked) => {
                let names: Vec<&str> = blocked
                    .trains
                    .iter()
                    .filter_map(|train| rest.trains.get(*train))
                    .map(|train| train.name.as_str())
                    .collect();
                NoPlan::Blocked(names.join(", "))
            }
            _ => NoPlan::NotFound,
        });
    };
    let cost = check::check(&compiled.problem, &found).map_err(|_| NoPlan::Refused)?;
    let mut planned = read(rest, &compiled, &found, &cost);
    planned.proven = matches!(outcome.status, Status::Optimal);
    Ok(planned)
}

fn read(rest: &Rest, compiled: &Compiled, found: &dispatching::Plan, cost: &Cost) -> Planned {
    let mut trains: Vec<Vec<Time>> = rest
        .trains
        .iter()
        .map(|train| vec![Time::default(); train.calls.len()])
        .collect();
    for event in &found.events {
        let Some(tags) = compiled.tags.get(event.train) else {
            continue;
        };
        let at = rest.now + event.time;
        match tags[event.operation] {
            Tag::Stand { call, track } => {
                trains[event.train][call] = Time {
                    track,
                    arrive: at,
                    leave: at,
                };
            }
            Tag::Run { call, first } => {
                if first {
                    let time = &mut trains[event.train][call];
                    time.leave = at;
                    if time.arrive == 0 {
                        time.arrive = at;
                    }
                }
            }
            Tag::After => {}
        }
    }
    let mut waits = Vec::new();
    for wait in explain(&compiled.problem, found).unwrap_or_default() {
        let tag = compiled
            .tags
            .get(wait.train.index)
            .map(|tags| tags[wait.operation]);
        let call = match tag {
            Some(Tag::Run { call, .. } | Tag::Stand { call, .. }) => call,
            _ => continue,
        };
        let mut for_whom: Vec<usize> = Vec::new();
        for link in &wait.chain {
            let Link::Cleared { holder, .. } = link else {
                continue;
            };
            let other = holder.index;
            if other < rest.trains.len() && other != wait.train.index && !for_whom.contains(&other)
            {
                for_whom.push(other);
            }
        }
        waits.push(Wait {
            train: wait.train.index,
            call,
            from: rest.now + wait.from,
            until: rest.now + wait.until,
            for_whom,
        });
    }
    waits.sort_by_key(|wait| (wait.from, wait.train));
    Planned {
        lost: compiled
            .classes
            .iter()
            .enumerate()
            .map(|(rank, class)| (*class, cost.rank(rank as u8)))
            .collect(),
        trains,
        waits,
        proven: false,
    }
}

#[cfg(test)]
mod tests;
