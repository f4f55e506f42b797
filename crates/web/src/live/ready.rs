//! The rest of the day, worked out by the office itself when reports make the plan in force worth little:
//! off every request's way, one at a time, when reports have been quiet for a moment. The dispatcher's desk
//! says that a plan is ready; nothing of it goes out from here.

use std::{
    sync::{Arc, PoisonError, Weak},
    thread,
    time::{Duration, Instant},
};

use session::State;
use tokio::sync::broadcast::error::{RecvError, TryRecvError};

use super::{plan::work_out, room::Offered, room::Room};
use crate::Office;

/// The word by which pages watch for a plan that is ready, or no longer so.
pub const READY: &str = "ready";

/// Reports come in bursts: so long without one before a plan is begun, but no longer than [`PATIENCE`].
const QUIET: Duration = Duration::from_secs(1);

/// The longest a plan waits for quiet.
const PATIENCE: Duration = Duration::from_secs(8);

/// From how late a train is worth a new plan, in minutes, and in what steps it is worth another.
const LATE: i64 = 5;

/// Watches the day of the office's room on a thread of its own, if anybody here can plan. The thread ends
/// with the room.
pub fn watch_the_day(office: &Arc<Office>) {
    let Some(room) = office.room() else { return };
    if office.services.replan.is_none() {
        return;
    }
    let mut news = room.listen();
    let office = Arc::downgrade(office);
    let spawned = thread::Builder::new().spawn(move || {
        let mut planned_for = Vec::new();
        loop {
            match news.blocking_recv() {
                Ok(_) | Err(RecvError::Lagged(_)) => {}
                Err(RecvError::Closed) => return,
            }
            let begun = Instant::now();
            let mut last = begun;
            while last.elapsed() < QUIET && begun.elapsed() < PATIENCE {
                match news.try_recv() {
                    Ok(_) | Err(TryRecvError::Lagged(_)) => last = Instant::now(),
                    Err(TryRecvError::Empty) => thread::sleep(QUIET / 20),
                    Err(TryRecvError::Closed) => return,
                }
            }
            if look(&office, &mut planned_for).is_none() {
                return;
            }
        }
    });
    // Without the thread the dispatcher still has a plan made by the press of a button.
    drop(spawned);
}

/// Plans anew if what is wrong with the day is not what it was. Nothing when the office is gone.
fn look(office: &Weak<Office>, planned_for: &mut Vec<String>) -> Option<()> {
    let office = office.upgrade()?;
    let room = office.room()?.clone();
    let state = room.state().filter(|state| state.sheet.closed.is_none());
    let wrong = state.as_deref().map(wrong).unwrap_or_default();
    if wrong == *planned_for {
        return Some(());
    }
    planned_for.clone_from(&wrong);
    let found = match state {
        Some(state) if !wrong.is_empty() => {
            let revision = state.revision();
            let work = work_out(&office, state);
            let answer = loop {
                if let Some(answer) = work.wait(Duration::from_secs(60)) {
                    break answer;
                }
            };
            // A plan that changes nothing is no news, and one that failed is found by asking for it.
            answer
                .is_ok_and(|plan| !plan.changes.is_empty())
                .then_some(Offered {
                    number: 0,
                    revision,
                    work,
                })
        }
        _ => None,
    };
    show(&room, found);
    Some(())
}

fn show(room: &Room, found: Option<Offered>) {
    let changed = {
        let mut ready = room.ready.lock().unwrap_or_else(PoisonError::into_inner);
        let changed = ready.is_some() || found.is_some();
        *ready = found;
        changed
    };
    if changed {
        room.tell(READY);
    }
}

/// What is wrong with the day by the plan in force, in a form that is compared only.
fn wrong(state: &State) -> Vec<String> {
    let sheet = &state.sheet;
    let late = sheet.trains.iter().filter(|train| train.active());
    let late = late.filter_map(|train| {
        let steps = train.late_seconds()? / 60 / LATE;
        (steps > 0).then(|| format!("{} {steps}", train.symbol()))
    });
    let held = sheet.trains.iter().filter_map(|train| {
        let until = state.held_until(train).filter(|_| train.active())?;
        Some(format!("{} held {}", train.symbol(), until.seconds()))
    });
    let tracks = sheet.tracks_out.iter().map(|(place, _)| place.to_string());
    let mut all: Vec<String> = late
        .chain(held)
        .chain(tracks)
        .chain(sheet.bridges_open.iter().cloned())
        .collect();
    // A plan put in force is a new day: what is still wrong by it is wrong anew.
    if !all.is_empty() {
        all.extend(sheet.plan_changes.iter().cloned());
    }
    all
}
