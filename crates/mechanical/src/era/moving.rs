//! What would have to change to move the railroad to another day.

use std::collections::BTreeMap;

use super::judge::{Allowed, Judged, Standing, judge_car, judge_engine};
use crate::{Context, Roster};

/// One thing to do, and to what.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// What to do: "give it AB brakes".
    pub mend: String,
    /// The cars and engines that want it, by name; engines as `engine 12`.
    pub names: Vec<String>,
}

/// All that is right under `now` and would not be under `then`, by what would mend it; and how many of those on the railroad
/// would be right that are not now.
pub fn moving(
    roster: &Roster,
    context: &Context,
    now: &Allowed,
    then: &Allowed,
) -> (Vec<Change>, Vec<String>) {
    let mut wanted: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut freed = Vec::new();
    let mut compare = |name: String, before: &Judged, after: &Judged| {
        let (was, is) = (before.standing(), after.standing());
        if is == Standing::Wrong && was != Standing::Wrong {
            for finding in after
                .findings
                .iter()
                .filter(|finding| finding.standing == Standing::Wrong)
            {
                wanted
                    .entry(finding.mend.clone())
                    .or_default()
                    .push(name.clone());
            }
        } else if was == Standing::Wrong && is != Standing::Wrong {
            freed.push(name);
        }
    };
    for car in roster.cars.iter().filter(|car| car.state.on_the_railroad()) {
        let foreign = car.is_foreign(context);
        compare(
            car.name.value.clone(),
            &judge_car(car, foreign, now),
            &judge_car(car, foreign, then),
        );
    }
    for engine in roster
        .engines
        .iter()
        .filter(|engine| engine.state.on_the_railroad())
    {
        compare(
            format!("engine {}", engine.number.value),
            &judge_engine(engine, now),
            &judge_engine(engine, then),
        );
    }
    let changes = wanted
        .into_iter()
        .map(|(mend, names)| Change { mend, names })
        .collect();
    (changes, freed)
}
