//! What many days say together.

use std::collections::BTreeMap;

use dispatching::Time;

use super::{
    Options, Sort, Worked,
    chain::{Chain, Run},
};

/// What is kept of one day.
#[derive(Debug, Clone)]
pub(super) struct Day {
    pub number: u32,
    pub replans: u32,
    /// By train of the plan: how late at its end; `None` where none is due.
    late: Vec<Option<Time>>,
    /// By train: seconds waited for others beyond a calm day.
    waited: Vec<Time>,
    /// By resource: the same.
    at: BTreeMap<usize, Time>,
    /// By train, call and sort: how many trains' lateness a second less there would lessen.
    worth: BTreeMap<(usize, usize, bool), f64>,
}

/// What the days say.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Days run.
    pub days: u32,
    /// On how many the dispatcher made a new plan.
    pub replanned: u32,
    /// By class, the highest first.
    pub classes: Vec<ClassReport>,
    /// By train, in the order of the plan.
    pub trains: Vec<TrainReport>,
    /// Where trains wait for each other, the worst first.
    pub chokes: Vec<Choke>,
    /// Where a minute to spare saves most, the best first.
    pub slack: Vec<Slack>,
}

/// Punctuality of a class.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassReport {
    /// The class.
    pub class: i64,
    /// Trains a day.
    pub trains: usize,
    /// Part of them on time, from 0 to 1.
    pub on_time: f64,
    /// Mean lateness of all of them, in seconds.
    pub mean_late: f64,
    /// Nine in ten are no later than this.
    pub nine_in_ten: Time,
    /// Mean time waited for other trains beyond a calm day, per train.
    pub mean_wait: f64,
}

/// Punctuality of a train.
#[derive(Debug, Clone, PartialEq)]
pub struct TrainReport {
    /// Its number.
    pub name: String,
    /// Part of the days on which it is on time; nothing if it is due nowhere.
    pub on_time: Option<f64>,
    /// Mean lateness in seconds.
    pub mean_late: f64,
    /// Mean time waited for other trains beyond a calm day.
    pub mean_wait: f64,
}

/// A place where trains wait for each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Choke {
    /// What is waited for.
    pub what: String,
    /// Seconds a day waited there beyond a calm day.
    pub mean_wait: f64,
    /// Part of the days on which anybody does.
    pub days: f64,
}

/// Where a minute to spare would be spent well.
#[derive(Debug, Clone, PartialEq)]
pub struct Slack {
    /// The train.
    pub train: String,
    /// The station, or the first of the stretch.
    pub from: String,
    /// The last station, if it is a stretch: anywhere on it is as good.
    pub to: Option<String>,
    /// Minutes of lateness saved, over all trains, for each minute given there: the mean.
    pub saves: f64,
}

/// Looks at a day that has been run.
pub(super) fn day(
    worked: &Worked<'_>,
    links: &Chain,
    ran: &Run,
    calm: &Run,
    first: &Chain,
    number: u32,
    replans: u32,
) -> Day {
    let trains = worked.booked.len();
    // On a calm day, by train and operation: how long it waits there anyway.
    let mut usual: BTreeMap<(usize, usize), Time> = BTreeMap::new();
    for (at, &event) in first.events.iter().enumerate() {
        usual.insert(event, calm.waits[at].0);
    }
    let mut end_of: Vec<Option<(usize, Time)>> = vec![None; trains];
    let mut found = Day {
        number,
        replans,
        late: vec![None; trains],
        waited: vec![0; trains],
        at: BTreeMap::new(),
        worth: BTreeMap::new(),
    };
    for (at, &(train, operation)) in links.events.iter().enumerate() {
        let Some(meaning) = worked.meanings[train].get(operation).copied().flatten() else {
            continue;
        };
        let last = worked.booked[meaning.train].places.len().saturating_sub(1);
        // It has arrived when it stands at its last station, or is off its way.
        let arrives = meaning.call == last && matches!(meaning.sort, Sort::Station | Sort::After);
        if arrives && end_of[meaning.train].is_none() {
            end_of[meaning.train] = Some((at, ran.times[at]));
        }
        let wait = ran.waits[at].0 - usual.get(&(train, operation)).copied().unwrap_or(0);
        if let (1.., Some(cause)) = (wait, ran.waits[at].1) {
            found.waited[meaning.train] += wait;
            *found.at.entry(cause.resource).or_default() += wait;
        }
    }
    let mut ends = Vec::new();
    for (train, end) in end_of.iter().enumerate() {
        if let (Some((at, time)), Some(due)) = (end, worked.booked[train].due) {
            let late = (time - due).max(0);
            found.late[train] = Some(late);
            if late > 0 {
                ends.push(*at);
            }
        }
    }
    let weights = links.weights(ran, &ends);
    for (at, weight) in weights.iter().enumerate() {
        let (train, operation) = links.events[at];
        let Some(meaning) = worked.meanings[train].get(operation).copied().flatten() else {
            continue;
        };
        // What ends late weighs where it began: the operation's own time is what could be saved.
        if *weight > 0.0 && matches!(meaning.sort, Sort::Open | Sort::Station) {
            let key = (meaning.train, meaning.call, meaning.sort == Sort::Open);
            let worth = found.worth.entry(key).or_default();
            *worth = worth.max(*weight);
        }
    }
    found
}

/// Adds the days up.
#[allow(clippy::cast_precision_loss)]
pub(super) fn tally(worked: &Worked<'_>, options: &Options, days: &[Day]) -> Outcome {
    let count = days.len().max(1) as f64;
    let mean = |sum: Time| sum as f64 / count;
    let mut classes: Vec<i64> = worked.booked.iter().map(|train| train.class).collect();
    classes.sort_unstable();
    classes.dedup();
    let classes = classes
        .into_iter()
        .map(|class| {
            let mine: Vec<usize> = (0..worked.booked.len())
                .filter(|&train| worked.booked[train].class == class)
                .collect();
            let mut lates: Vec<Time> = days
                .iter()
                .flat_map(|day| mine.iter().filter_map(|&train| day.late[train]))
                .collect();
            lates.sort_unstable();
            let on_time = lates
                .iter()
                .filter(|late| **late <= options.tolerance)
                .count();
            let total = lates.len().max(1) as f64;
            let waited: Time = days
                .iter()
                .map(|day| mine.iter().map(|&train| day.waited[train]).sum::<Time>())
                .sum();
            ClassReport {
                class,
                trains: mine.len(),
                on_time: on_time as f64 / total,
                mean_late: lates.iter().sum::<Time>() as f64 / total,
                nine_in_ten: lates
                    .get((lates.len() * 9).div_ceil(10).saturating_sub(1))
                    .copied()
                    .unwrap_or(0),
                mean_wait: mean(waited) / mine.len().max(1) as f64,
            }
        })
        .collect();
    let trains = worked
        .booked
        .iter()
        .enumerate()
        .map(|(train, booked)| {
            let lates: Vec<Time> = days.iter().filter_map(|day| day.late[train]).collect();
            let on_time = lates
                .iter()
                .filter(|late| **late <= options.tolerance)
                .count();
            TrainReport {
                name: booked.name.clone(),
                on_time: (!lates.is_empty()).then(|| on_time as f64 / lates.len() as f64),
                mean_late: mean(lates.iter().sum()),
                mean_wait: mean(days.iter().map(|day| day.waited[train]).sum()),
            }
        })
        .collect();
    let mut at: BTreeMap<usize, (Time, u32)> = BTreeMap::new();
    let mut worth: BTreeMap<(usize, usize, bool), f64> = BTreeMap::new();
    for day in days {
        for (&resource, &wait) in &day.at {
            let (sum, times) = at.entry(resource).or_default();
            *sum += wait;
            *times += 1;
        }
        for (&key, &weight) in &day.worth {
            *worth.entry(key).or_default() += weight;
        }
    }
    // Resources of one name are one place to a reader.
    let mut by_name: BTreeMap<&str, (Time, u32)> = BTreeMap::new();
    for (resource, (sum, times)) in at {
        let name = worked.resources.get(resource).map_or("", String::as_str);
        let (all, days) = by_name.entry(name).or_default();
        *all += sum;
        *days = times.max(*days);
    }
    let mut chokes: Vec<Choke> = by_name
        .into_iter()
        .map(|(name, (sum, times))| Choke {
            what: name.to_owned(),
            mean_wait: mean(sum),
            days: f64::from(times) / count,
        })
        .collect();
    chokes.sort_by(|a, b| {
        b.mean_wait
            .total_cmp(&a.mean_wait)
            .then_with(|| a.what.cmp(&b.what))
    });
    // Neighbouring places of one train that save the same are one stretch.
    let mut slack: Vec<Slack> = Vec::new();
    let mut last: Option<usize> = None;
    for ((train, call, open), weight) in worth {
        let booked = &worked.booked[train];
        let place = |call: usize| booked.places.get(call).cloned().unwrap_or_default();
        let saves = weight / count;
        let reaches = place(call + usize::from(open));
        match slack.last_mut() {
            Some(stretch) if last == Some(train) && (stretch.saves - saves).abs() < 0.005 => {
                stretch.to = (stretch.from != reaches).then_some(reaches);
            }
            _ => {
                let from = place(call);
                slack.push(Slack {
                    train: booked.name.clone(),
                    to: (from != reaches).then_some(reaches),
                    from,
                    saves,
                });
            }
        }
        last = Some(train);
    }
    slack.sort_by(|a, b| {
        b.saves
            .total_cmp(&a.saves)
            .then_with(|| (&a.train, &a.from, &a.to).cmp(&(&b.train, &b.from, &b.to)))
    });
    Outcome {
        days: days.len() as u32,
        replanned: days.iter().filter(|day| day.replans > 0).count() as u32,
        classes,
        trains,
        chokes,
        slack,
    }
}
