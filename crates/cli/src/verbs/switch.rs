//! `sawby switch`: the moves that work a town, and a review of all towns.

use std::{
    fmt::Write as _,
    fs,
    io::Write as _,
    path::{Path, PathBuf},
    process::ExitCode,
    sync::atomic::{AtomicBool, Ordering},
};

use engineering::ids::{EndId, StationId};
use model::diagnostic::nearest;
use planning::town::{
    Dice, Facts, Intent, Pace, Planned, Sessions, Target, Visit, end_name, model_rates, solve,
    visits, work,
};
use railroad::Railroad;
use serde_json::{Value, json};
use switching::{Answer, Objective, Options, Rates, Words, describe, strip};

mod review;

use crate::{
    args::Which,
    outcome::{Failure, Outcome, load, say},
};

/// What may stand after `switch`.
#[derive(Debug, clap::Args)]
pub struct SwitchArgs {
    /// The town.
    #[arg(value_name = "STATION")]
    station: Option<String>,
    #[command(flatten)]
    which: Which,
    /// The train that works it, by number; the first of the day if left out.
    #[arg(long, value_name = "TRAIN")]
    train: Option<String>,
    /// The end by which it comes, instead of its own: `W`, or the timetable's word.
    #[arg(long, value_name = "END")]
    from: Option<String>,
    /// A typical session drawn by these dice, instead of the cars where they stand today.
    #[arg(long, value_name = "NUMBER")]
    session: Option<u64>,
    /// Fewest minutes instead of fewest moves.
    #[arg(long)]
    fastest: bool,
    /// Review this town, or all that trains work: moves and minutes over many sessions, and what change
    /// of track would save most.
    #[arg(long, conflicts_with_all = ["train", "from", "session", "output"])]
    review: bool,
    /// How many sessions of each train to review.
    #[arg(
        long,
        value_name = "NUMBER",
        default_value_t = 100,
        requires = "review"
    )]
    sessions: u64,
    /// Do not try changes of track.
    #[arg(long, requires = "review")]
    as_built: bool,
    /// Most arrangements to look at.
    #[arg(long, value_name = "NUMBER", default_value_t = BUDGET)]
    budget: u64,
    /// Draw a picture for each move: into this file, or into a file of the town's name in this folder.
    #[arg(short, long, value_name = "FILE or FOLDER")]
    output: Option<PathBuf>,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

/// Arrangements looked at for one town: well under a second.
const BUDGET: u64 = 150_000;

pub(super) fn run(args: &SwitchArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    if args.review {
        let stations = match &args.station {
            Some(name) => vec![find_station(railroad, name)?],
            None => worked(railroad),
        };
        let review = review::Review {
            railroad,
            options: &options(railroad, args),
            sessions: args.sessions,
            changes: !args.as_built,
            stop: interrupted(),
        };
        return review.run(&stations, args.json);
    }
    let Some(name) = &args.station else {
        return Err(Failure::misunderstood("which town?")
            .help("`sawby switch STATION [FOLDER]`, or `sawby switch --review`"));
    };
    let station = find_station(railroad, name)?;
    let sessions = Sessions::new(railroad, station);
    let at = pick_visit(railroad, &sessions, args)?;
    let mut visit = sessions.visits[at];
    if let Some(from) = &args.from {
        visit = from_end(railroad, visit, from)?;
    }
    let dice = args.session.map_or(Dice::today(0), Dice::typical);
    let facts = sessions.facts(at, dice);
    let options = options(railroad, args);
    let stop = interrupted();
    let question = Question {
        railroad,
        sessions: &sessions,
        facts: &facts,
        options: &options,
        stop: &|| stop.load(Ordering::Relaxed),
    };
    let planned = question.ask(&visit)?;
    let solved = matches!(planned.answer, Answer::Solved(_));
    let other = if solved && planned.left.is_empty() {
        None
    } else {
        let other = visit.other_side();
        other
            .map(|visit| question.ask(&visit).map(|planned| (visit, planned)))
            .transpose()?
    };
    if args.json {
        let value = to_json(
            railroad,
            &visit,
            &facts,
            &planned,
            &options.rates,
            other.as_ref(),
        )?;
        say(&format!("{value:#}\n"));
    } else {
        say(&text(
            railroad,
            &visit,
            &facts,
            &planned,
            &options.rates,
            other.as_ref(),
        )?);
    }
    if let Some(path) = &args.output {
        draw(railroad, &visit, &planned, &options.rates, path)?;
    }
    Ok(if solved {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(crate::outcome::WRONG)
    })
}

/// The stations that trains work, in the order of their pages.
fn worked(railroad: &Railroad) -> Vec<StationId> {
    let mut stations: Vec<StationId> = visits(railroad).iter().map(|visit| visit.station).collect();
    stations.dedup();
    stations
}

fn options(railroad: &Railroad, args: &SwitchArgs) -> Options {
    Options {
        objective: if args.fastest {
            Objective::Time
        } else {
            Objective::Moves
        },
        node_budget: args.budget,
        rates: model_rates(railroad.identity.scale.scale, &Pace::default()),
    }
}

/// Set by the interrupt key: the best plan so far is kept. A second time ends the program.
fn interrupted() -> &'static AtomicBool {
    static STOP: AtomicBool = AtomicBool::new(false);
    // A handler that is there already does the same.
    let _ = ctrlc::set_handler(|| {
        if STOP.swap(true, Ordering::Relaxed) {
            std::process::exit(130);
        }
    });
    &STOP
}

fn find_station(railroad: &Railroad, name: &str) -> Result<StationId, Failure> {
    let names: Vec<&str> = railroad
        .way
        .stations
        .iter()
        .map(|station| station.name.value.as_str())
        .collect();
    super::rating::pick("station", name, &names).map(|at| StationId(at as u32))
}

fn pick_visit(
    railroad: &Railroad,
    sessions: &Sessions<'_>,
    args: &SwitchArgs,
) -> Result<usize, Failure> {
    let name = &railroad.way.station(sessions.station).name.value;
    let symbols: Vec<&str> = sessions
        .visits
        .iter()
        .map(|visit| railroad.service.train(visit.train).symbol.value.as_str())
        .collect();
    if symbols.is_empty() {
        return Err(Failure::misunderstood(format!("no train works {name}"))
            .help("give a local a stop there with `work = [\"set out\", \"pick up\"]`"));
    }
    match &args.train {
        None => Ok(0),
        Some(train) => symbols
            .iter()
            .position(|symbol| symbol == train)
            .ok_or_else(|| {
                let failure =
                    Failure::misunderstood(format!("train {train} does no work at {name}"));
                match nearest(train, symbols.iter().copied()) {
                    Some(near) => failure.help(format!("did you mean {near}?")),
                    None => failure.help(format!("these do: {}", symbols.join(", "))),
                }
            }),
    }
}

/// The visit as if it came by another end.
fn from_end(railroad: &Railroad, visit: Visit, from: &str) -> Result<Visit, Failure> {
    let ends = &railroad.way.station(visit.station).ends;
    let is = |end: EndId| {
        ends[end.index()].name.eq_ignore_ascii_case(from)
            || end_name(railroad, visit.station, end).eq_ignore_ascii_case(from)
    };
    if is(visit.enter) {
        return Ok(visit);
    }
    let found = (0..ends.len())
        .map(|at| EndId(at as u32))
        .find(|&end| is(end));
    match (found, visit.leave) {
        (Some(end), Some(leave)) if leave == end => Ok(Visit {
            enter: end,
            leave: Some(visit.enter),
            ..visit
        }),
        (Some(end), leave) => Ok(Visit {
            enter: end,
            leave: leave.filter(|&leave| leave != visit.enter).or(Some(end)),
            ..visit
        }),
        (None, _) => {
            let names: Vec<&str> = ends.iter().map(|end| end.name.as_str()).collect();
            Err(
                Failure::misunderstood(format!("there is no end `{from}` here"))
                    .help(format!("the ends are: {}", names.join(", "))),
            )
        }
    }
}

struct Question<'a> {
    railroad: &'a Railroad,
    sessions: &'a Sessions<'a>,
    facts: &'a Facts,
    options: &'a Options,
    stop: &'a dyn Fn() -> bool,
}

impl Question<'_> {
    fn ask(&self, visit: &Visit) -> Result<Planned, Failure> {
        let town = self.sessions.town(visit, self.facts);
        let name = &self.railroad.way.station(visit.station).name.value;
        let compiled = work(&town, visit, self.facts)
            .map_err(|wrong| Failure::misunderstood(wrong.to_string()))?;
        solve(&compiled, self.options, self.stop).map_err(|wrong| {
            let all: Vec<String> = wrong.iter().map(ToString::to_string).collect();
            Failure::misunderstood(format!("{name} cannot be worked as it stands"))
                .help(all.join("; "))
        })
    }
}

fn refused(refusal: &switching::Refusal) -> Failure {
    Failure::misunderstood(format!(
        "the plan did not pass the replay, so it is not shown: {refusal}"
    ))
}

fn words_of(planned: &Planned, rates: &Rates) -> Result<Vec<Words>, Failure> {
    match &planned.answer {
        Answer::Solved(solved) => describe(
            &planned.asked.town.town,
            &planned.asked.work,
            &solved.plan,
            rates,
        )
        .map_err(|refusal| refused(&refusal)),
        _ => Ok(vec![]),
    }
}

fn train_name(railroad: &Railroad, visit: &Visit) -> String {
    let name = |id| {
        let train = railroad.service.train(id);
        match &train.name {
            Some(name) => format!("{}, the {name}", train.symbol.value),
            None => train.symbol.value.clone(),
        }
    };
    match visit.onward {
        Some(next) => format!(
            "train {} (leaving as {})",
            name(visit.train),
            railroad.service.train(next).symbol.value
        ),
        None => format!("train {}", name(visit.train)),
    }
}

fn target_name(railroad: &Railroad, visit: &Visit, target: &Target) -> String {
    let page = railroad.way.station(visit.station);
    match target {
        Target::Spot(track, spot) => {
            let track = page.track(*track);
            track.spots[*spot].value.clone()
        }
        Target::Tracks(tracks) => {
            let names: Vec<&str> = tracks
                .iter()
                .map(|track| page.track(*track).name.value.as_str())
                .collect();
            format!("the {}", names.join(" or "))
        }
    }
}

/// Minutes on the wall clock and on the railroad's.
fn minutes(railroad: &Railroad, seconds: f64) -> String {
    let clock = railroad.identity.clock;
    let real = format!("{:.0} min", (seconds / 60.0).max(1.0));
    if (clock - 1.0).abs() < 1e-9 {
        real
    } else {
        format!(
            "{real} ({:.0} by the railroad's clock)",
            seconds * clock / 60.0
        )
    }
}

pub(super) fn text(
    railroad: &Railroad,
    visit: &Visit,
    facts: &Facts,
    planned: &Planned,
    rates: &Rates,
    other: Option<&(Visit, Planned)>,
) -> Result<String, Failure> {
    let mut text = String::new();
    let page = railroad.way.station(visit.station);
    let end = |end| end_name(railroad, visit.station, end);
    let _ = writeln!(
        text,
        "{}: {}, from the {}{}.",
        page.name.value,
        train_name(railroad, visit),
        end(visit.enter),
        match visit.leave {
            Some(leave) if leave == visit.enter => ", going back that way".to_owned(),
            Some(leave) => format!(", going on {}", end(leave)),
            None => ", staying here".to_owned(),
        }
    );
    task(&mut text, railroad, visit, facts);
    for left in &planned.left {
        let car = &planned.asked.work.cars[left.car.index()].name;
        let what = if left.carried {
            "is carried on"
        } else {
            "is left as it stands"
        };
        let _ = writeln!(text, "{car} {what}: {}.", left.why);
    }
    text.push('\n');
    answer(&mut text, railroad, planned, rates)?;
    if let Some((visit, planned)) = other {
        let _ = writeln!(text, "{}", from_other_side(&end(visit.enter), planned));
    }
    Ok(text)
}

fn from_other_side(end: &str, planned: &Planned) -> String {
    match &planned.answer {
        Answer::Solved(solved) if planned.left.is_empty() => {
            format!(
                "From the {end} all of it can be worked, in {} moves.",
                solved.moves
            )
        }
        Answer::Solved(solved) => format!(
            "From the {end} the same work takes {} moves, and {} {} not be worked.",
            solved.moves,
            planned.left.len(),
            if planned.left.len() == 1 {
                "car could"
            } else {
                "cars could"
            },
        ),
        Answer::Impossible(_) => format!("From the {end} it cannot be worked either."),
        Answer::GaveUp { .. } => {
            format!("From the {end} no plan was found within the budget.")
        }
    }
}

pub(super) fn task(text: &mut String, railroad: &Railroad, visit: &Visit, facts: &Facts) {
    let page = railroad.way.station(visit.station);
    let names = |list: Vec<String>| {
        if list.is_empty() {
            "none".to_owned()
        } else {
            list.join(", ")
        }
    };
    let set_out = facts
        .inbound
        .iter()
        .map(|one| {
            format!(
                "{} for {}",
                one.car.name,
                target_name(railroad, visit, &one.target)
            )
        })
        .collect();
    let _ = writeln!(text, "  Set out: {}.", names(set_out));
    let mut pick_up = vec![];
    let mut moved = vec![];
    let mut stay = vec![];
    for one in &facts.standing {
        let track = page.track(one.track);
        let place = match one.spot {
            Some(spot) => track.spots[spot].value.clone(),
            None => track.name.value.clone(),
        };
        match &one.intent {
            Intent::PickUp(block) => pick_up.push(format!(
                "{} from {place}, for {}",
                one.car.name,
                facts.blocks.get(*block).map_or("the rear", String::as_str)
            )),
            Intent::Put(target) => moved.push(format!(
                "{} from {place} to {}",
                one.car.name,
                target_name(railroad, visit, target)
            )),
            Intent::Stay => stay.push(format!("{} at {place}", one.car.name)),
        }
    }
    let _ = writeln!(text, "  Pick up: {}.", names(pick_up));
    if !moved.is_empty() {
        let _ = writeln!(text, "  Spot: {}.", names(moved));
    }
    if !stay.is_empty() {
        let _ = writeln!(text, "  Stay: {}.", names(stay));
    }
    let through: Vec<String> = facts
        .through
        .iter()
        .map(|(car, block)| {
            format!(
                "{} for {}",
                car.name,
                facts.blocks.get(*block).map_or("beyond", String::as_str)
            )
        })
        .collect();
    if !through.is_empty() {
        let _ = writeln!(text, "  Also in the train: {}.", names(through));
    }
}

fn answer(
    text: &mut String,
    railroad: &Railroad,
    planned: &Planned,
    rates: &Rates,
) -> Result<(), Failure> {
    match &planned.answer {
        Answer::Solved(solved) => {
            for (at, words) in words_of(planned, rates)?.iter().enumerate() {
                let _ = writeln!(
                    text,
                    "{:>3}. {} ({})",
                    at + 1,
                    words.title,
                    moment(words.time.seconds)
                );
                for step in &words.steps {
                    let _ = writeln!(text, "       {step}");
                }
            }
            let proven = if solved.proven {
                "fewer are not possible (proven)".to_owned()
            } else {
                format!("at least {} are needed (proven)", solved.bound)
            };
            let proven = if solved.cost as usize == solved.moves {
                proven
            } else if solved.proven {
                "proven the quickest at these rates".to_owned()
            } else {
                format!(
                    "no plan takes less than {} (proven)",
                    moment(f64::from(solved.bound) / 100.0)
                )
            };
            let _ = writeln!(
                text,
                "\n{} moves; {}. About {}, give or take {}.",
                solved.moves,
                proven,
                minutes(railroad, solved.time.seconds),
                moment(solved.time.spread),
            );
        }
        Answer::Impossible(reasons) => {
            let _ = writeln!(text, "The town cannot be worked from this side:");
            for reason in reasons {
                let _ = writeln!(text, "  {reason}.");
            }
        }
        Answer::GaveUp { bound, .. } => {
            let _ = writeln!(
                text,
                "No plan was found within the budget; any takes at least {bound} moves (proven). \
                 A larger `--budget` may find one."
            );
        }
    }
    Ok(())
}

/// A short time as people say it.
fn moment(seconds: f64) -> String {
    if seconds < 59.5 {
        format!("{seconds:.0} s")
    } else {
        let whole = seconds.round() as u64;
        format!("{} min {:02} s", whole / 60, whole % 60)
    }
}

fn to_json(
    railroad: &Railroad,
    visit: &Visit,
    facts: &Facts,
    planned: &Planned,
    rates: &Rates,
    other: Option<&(Visit, Planned)>,
) -> Result<Value, Failure> {
    let end = |end| end_name(railroad, visit.station, end);
    let moves: Vec<Value> = words_of(planned, rates)?
        .iter()
        .map(|words| {
            json!({
                "what": words.title,
                "steps": words.steps,
                "seconds": words.time.seconds,
                "spread": words.time.spread,
            })
        })
        .collect();
    let left: Vec<Value> = planned
        .left
        .iter()
        .map(|left| {
            json!({
                "car": planned.asked.work.cars[left.car.index()].name,
                "carried_on": left.carried,
                "why": left.why.to_string(),
            })
        })
        .collect();
    let (result, bound) = match &planned.answer {
        Answer::Solved(solved) => (
            json!({
                "moves": solved.moves,
                "seconds": solved.time.seconds,
                "spread": solved.time.spread,
                "railroad_minutes": solved.time.seconds * railroad.identity.clock / 60.0,
                "cost": solved.cost,
                "bound": solved.bound,
                "proven": solved.proven,
                "list": moves,
            }),
            Value::Null,
        ),
        Answer::Impossible(reasons) => (
            Value::Null,
            json!({ "impossible": reasons.iter().map(ToString::to_string).collect::<Vec<_>>() }),
        ),
        Answer::GaveUp { bound, .. } => (Value::Null, json!({ "gave_up": true, "bound": bound })),
    };
    Ok(json!({
        "station": railroad.way.station(visit.station).name.value,
        "train": railroad.service.train(visit.train).symbol.value,
        "from": end(visit.enter),
        "to": visit.leave.map(end),
        "set_out": facts.inbound.iter().map(|one| json!({
            "car": one.car.name, "to": target_name(railroad, visit, &one.target), "for": one.who,
        })).collect::<Vec<_>>(),
        "pick_up": facts.standing.iter().filter_map(|one| match one.intent {
            Intent::PickUp(block) => Some(json!({
                "car": one.car.name, "block": facts.blocks.get(block),
            })),
            _ => None,
        }).collect::<Vec<_>>(),
        "not_worked": left,
        "plan": result,
        "no_plan": bound,
        "from_other_side": other.map(|(visit, planned)| from_other_side(&end(visit.enter), planned)),
    }))
}

fn draw(
    railroad: &Railroad,
    visit: &Visit,
    planned: &Planned,
    rates: &Rates,
    path: &Path,
) -> Result<(), Failure> {
    let Answer::Solved(solved) = &planned.answer else {
        return Ok(());
    };
    let drawing = strip(
        &planned.asked.town.town,
        &planned.asked.work,
        &solved.plan,
        rates,
    )
    .map_err(|refusal| refused(&refusal))?;
    let file = if path.extension().is_some() {
        path.to_owned()
    } else {
        fs::create_dir_all(path).map_err(|error| Failure::file(path, &error))?;
        let name = format!(
            "{}-{}.svg",
            railroad.way.station(visit.station).name.value,
            railroad.service.train(visit.train).symbol.value
        );
        path.join(name.to_lowercase().replace(' ', "-"))
    };
    fs::write(&file, drawing).map_err(|error| Failure::file(&file, &error))?;
    let _ = writeln!(anstream::stderr(), "{}", file.display());
    Ok(())
}
