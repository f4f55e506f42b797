//! The straight line for switching time, laid through planned stops.

use planning::town::{Came, Dice, Pace, Sessions, case, model_rates, visits};
use railroad::{Folder, Railroad};
use switching::{Objective, Options};

/// Stops of a visit: half to fit the line, half to measure its error.
const SESSIONS: u64 = 6;

pub(crate) fn run() {
    let mut all: Vec<(f64, f64, bool)> = vec![];
    for name in ["example", "learning"] {
        let railroad = railroad::load(&Folder::built_in(name).unwrap_or_default()).railroad;
        all.extend(stops(&railroad));
    }
    let fit: Vec<(f64, f64)> = all
        .iter()
        .filter(|one| one.2)
        .map(|one| (one.0, one.1))
        .collect();
    let test: Vec<(f64, f64)> = all
        .iter()
        .filter(|one| !one.2)
        .map(|one| (one.0, one.1))
        .collect();
    let n = fit.len() as f64;
    let mean = |of: &dyn Fn(&(f64, f64)) -> f64| fit.iter().map(of).sum::<f64>() / n;
    let (x, y) = (mean(&|one| one.0), mean(&|one| one.1));
    let over: f64 = fit.iter().map(|one| (one.0 - x) * (one.1 - y)).sum();
    let under: f64 = fit.iter().map(|one| (one.0 - x).powi(2)).sum();
    let each = over / under;
    let fixed = y - each * x;
    println!(
        "{} stops fitted: {fixed:.1} s and {each:.1} s for each car (real time)",
        fit.len()
    );
    let errors: Vec<f64> = test
        .iter()
        .map(|one| fixed + each * one.0 - one.1)
        .collect();
    let m = errors.len() as f64;
    let bias = errors.iter().sum::<f64>() / m;
    let root = (errors.iter().map(|e| e * e).sum::<f64>() / m).sqrt();
    let level = test.iter().map(|one| one.1).sum::<f64>() / m;
    let spread = (test.iter().map(|one| (one.1 - level).powi(2)).sum::<f64>() / m).sqrt();
    println!(
        "{} other stops: mean {level:.0} s, standard deviation {spread:.0} s; error of the line: mean {bias:+.1} s, \
         root mean square {root:.1} s",
        test.len()
    );
}

fn stops(railroad: &Railroad) -> Vec<(f64, f64, bool)> {
    let options = Options {
        objective: Objective::Moves,
        node_budget: 400_000,
        rates: model_rates(railroad.identity.scale.scale, &Pace::default()),
    };
    let mut out = vec![];
    for visit in visits(railroad) {
        let sessions = Sessions::new(railroad, visit.station);
        let Some(at) = sessions.visits.iter().position(|one| *one == visit) else {
            continue;
        };
        for seed in 0..SESSIONS {
            let cars = sessions.facts(at, Dice::typical(seed)).to_do();
            if cars == 0 {
                continue;
            }
            let Ok((case, _)) = case(&sessions, at, seed, None, &options, &|| false) else {
                continue;
            };
            if std::env::var_os("SAWBY_STOPS").is_some() {
                println!(
                    "{} {cars} {:?} left {}",
                    railroad.way.station(visit.station).name.value,
                    case.came,
                    case.left.len()
                );
            }
            if let Came::Plan { seconds, .. } = case.came {
                out.push((cars as f64, seconds, seed.is_multiple_of(2)));
            }
        }
    }
    out
}
