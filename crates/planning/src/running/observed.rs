//! Running times as observed, and how they compare with those reckoned.

use transportation::TrainKind;

/// A run that somebody timed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observed {
    /// What kind of train.
    pub kind: Option<TrainKind>,
    /// Seconds of railroad time reckoned for it.
    pub reckoned: f64,
    /// Seconds of railroad time it took.
    pub took: f64,
}

/// How a kind of train runs, compared with what is reckoned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// The kind; nothing for all trains together.
    pub kind: Option<TrainKind>,
    /// What reckoned times are to be multiplied by.
    pub factor: f64,
    /// Standard deviation of one run about that, as a part of it.
    pub spread: f64,
    /// How many runs it rests on.
    pub runs: usize,
}

/// Fewer runs than this of one kind are counted with all the others.
pub const ENOUGH: usize = 5;

/// The factor by which observed runs differ from reckoned ones, for all trains and for each kind of which
/// there are [`ENOUGH`]: the median of the ratios, so that one train that stalled does not move it.
pub fn calibrate(runs: &[Observed]) -> Vec<Pace> {
    let mut kinds: Vec<Option<TrainKind>> = runs.iter().map(|run| run.kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let of = |kind: Option<Option<TrainKind>>| {
        let mut ratios: Vec<f64> = runs
            .iter()
            .filter(|run| kind.is_none_or(|kind| run.kind == kind))
            .filter(|run| run.reckoned > 0.0 && run.took > 0.0)
            .map(|run| run.took / run.reckoned)
            .collect();
        ratios.sort_by(f64::total_cmp);
        ratios
    };
    let pace = |kind, ratios: &[f64]| {
        let middle = median(ratios)?;
        let mut off: Vec<f64> = ratios.iter().map(|ratio| (ratio - middle).abs()).collect();
        off.sort_by(f64::total_cmp);
        // Of a normal distribution, the median distance from the middle is 0.6745 standard deviations.
        let spread = median(&off)? / 0.6745 / middle;
        Some(Pace {
            kind,
            factor: middle,
            spread,
            runs: ratios.len(),
        })
    };
    let mut paces: Vec<Pace> = pace(None, &of(None)).into_iter().collect();
    for kind in kinds.into_iter().filter(Option::is_some) {
        let ratios = of(Some(kind));
        if ratios.len() >= ENOUGH {
            paces.extend(pace(kind, &ratios));
        }
    }
    paces
}

fn median(sorted: &[f64]) -> Option<f64> {
    let count = sorted.len();
    match count {
        0 => None,
        _ if count % 2 == 1 => Some(sorted[count / 2]),
        _ => Some((sorted[count / 2 - 1] + sorted[count / 2]) / 2.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_stalled_train_does_not_make_all_slow() {
        let run = |kind, took| Observed {
            kind: Some(kind),
            reckoned: 600.0,
            took,
        };
        let mut runs: Vec<Observed> = [630.0, 660.0, 655.0, 640.0, 670.0]
            .map(|took| run(TrainKind::Local, took))
            .to_vec();
        runs.push(run(TrainKind::Passenger, 600.0));
        runs.push(run(TrainKind::Local, 6000.0));
        let paces = calibrate(&runs);
        assert_eq!(paces.len(), 2, "{paces:?}");
        let local = paces
            .iter()
            .find(|pace| pace.kind == Some(TrainKind::Local))
            .unwrap();
        assert!((1.07..1.11).contains(&local.factor), "{local:?}");
        assert_eq!(local.runs, 6);
        assert_eq!(calibrate(&[]), []);
    }
}
