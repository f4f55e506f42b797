//! The session's window: what of a planned day the session is, and which trains it cuts.

use model::time::RailTime;
use transportation::day::{DayPlan, TrainIndex, TrainPlan};

/// Where a train is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whereabouts {
    /// At the station of this call: the index into its calls.
    At(usize),
    /// On the line from the station of this call to that of the next.
    After(usize),
}

/// Hours of the railroad's day, and which trains of a plan they cut.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Window {
    /// Trains that leave and arrive within the hours, in the order of the plan.
    pub whole: Vec<TrainIndex>,
    /// Trains already under way when the hours begin, and where they are then.
    pub at_start: Vec<(TrainIndex, Whereabouts)>,
    /// Trains that are still under way when the hours end, and where they stand then.
    pub at_end: Vec<(TrainIndex, Whereabouts)>,
    /// Trains that run altogether before or after.
    pub outside: Vec<TrainIndex>,
}

/// Where a train is at a moment; nothing before it leaves its initial station and from its arrival on.
pub fn whereabouts(train: &TrainPlan, moment: RailTime) -> Option<Whereabouts> {
    let (leaves, arrives) = train.hours()?;
    if moment <= leaves || moment >= arrives {
        return None;
    }
    // The last call it has come in to.
    let call = train.calls.iter().rposition(|call| call.arrive <= moment)?;
    Some(if moment < train.calls[call].leave {
        Whereabouts::At(call)
    } else {
        Whereabouts::After(call)
    })
}

/// What the hours from `begins` to `ends` are of a plan. A train that leaves at the very beginning is not
/// under way yet, and one that arrives at the very end is done. A train that runs longer than the hours is
/// under way both at the start and at the end.
pub fn window(plan: &DayPlan, [begins, ends]: [RailTime; 2]) -> Window {
    let mut found = Window::default();
    for (at, train) in plan.trains.iter().enumerate() {
        let Some((leaves, arrives)) = train.hours() else {
            continue;
        };
        let index = TrainIndex(at);
        if leaves >= ends || arrives <= begins {
            found.outside.push(index);
            continue;
        }
        let cut = [begins, ends].map(|moment| whereabouts(train, moment));
        if let Some(place) = cut[0] {
            found.at_start.push((index, place));
        }
        if let Some(place) = cut[1] {
            found.at_end.push((index, place));
        }
        if cut == [None, None] {
            found.whole.push(index);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use engineering::ids::StationId;
    use transportation::day::Call;

    use super::*;

    /// Times at three stations, minutes: arrive and leave.
    fn train(symbol: &str, calls: [(i64, i64); 3]) -> TrainPlan {
        let calls = calls
            .iter()
            .enumerate()
            .map(|(at, (arrive, leave))| Call {
                station: StationId(at as u32),
                track: None,
                leaves_by: None,
                arrive: minute(*arrive),
                leave: minute(*leave),
                due_arrive: None,
                due_leave: None,
                stops: true,
                work: None,
                meets: Vec::new(),
            })
            .collect();
        TrainPlan {
            train: None,
            symbol: symbol.to_owned(),
            class: 1,
            direction: "east".to_owned(),
            superior_direction: true,
            extra: false,
            calls,
            waits: Vec::new(),
        }
    }

    fn minute(minutes: i64) -> RailTime {
        RailTime::from_seconds(minutes * 60)
    }

    fn plan() -> DayPlan {
        DayPlan {
            trains: vec![
                train("before", [(0, 0), (20, 30), (60, 60)]),
                train("stands", [(40, 40), (55, 70), (100, 100)]),
                train("runs", [(30, 30), (50, 55), (90, 90)]),
                train("whole", [(60, 60), (80, 90), (120, 120)]),
                train("late", [(70, 70), (110, 130), (150, 150)]),
                train("long", [(10, 10), (100, 100), (200, 200)]),
                train("after", [(120, 120), (140, 140), (160, 160)]),
            ],
            ..DayPlan::default()
        }
    }

    #[test]
    fn trains_are_cut_where_they_are() {
        let window = window(&plan(), [minute(60), minute(120)]);
        let at = TrainIndex;
        assert_eq!(window.outside, [at(0), at(6)]);
        assert_eq!(window.whole, [at(3)]);
        assert_eq!(
            window.at_start,
            [
                (at(1), Whereabouts::At(1)),
                (at(2), Whereabouts::After(1)),
                (at(5), Whereabouts::After(0)),
            ]
        );
        assert_eq!(
            window.at_end,
            [(at(4), Whereabouts::At(1)), (at(5), Whereabouts::After(1)),]
        );
    }

    #[test]
    fn the_whole_day_cuts_no_train() {
        let window = window(&plan(), [minute(0), minute(200)]);
        assert_eq!(window.whole.len(), 7);
        assert!(window.at_start.is_empty() && window.at_end.is_empty());
        assert!(window.outside.is_empty());
    }

    #[test]
    fn a_train_is_nowhere_before_and_after() {
        let one = train("1", [(10, 10), (20, 25), (40, 40)]);
        for (moment, place) in [
            (10, None),
            (11, Some(Whereabouts::After(0))),
            (20, Some(Whereabouts::At(1))),
            (24, Some(Whereabouts::At(1))),
            (25, Some(Whereabouts::After(1))),
            (40, None),
        ] {
            assert_eq!(whereabouts(&one, minute(moment)), place, "{moment}");
        }
    }
}
