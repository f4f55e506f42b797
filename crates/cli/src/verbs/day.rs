//! `sawby day`: the whole operating day, planned and explained.

use std::{
    fmt::Write as _,
    fs,
    path::{Path, PathBuf},
    process::ExitCode,
};

use drawing::{diagram, track_chart::Paper};
use model::time::RailSpan;
use planning::{
    bill::{Billed, bill, opening},
    crews,
    day::{self, Day, NoDay, Options, Whereabouts, Worked, minutes, time, track_at},
    orders::territory::of_day,
    running::{ClockView, balanced},
    town::{Pace, model_rates},
};
use railroad::Railroad;
use serde_json::{Value, json};
use transportation::day::{Call, Holds, TrainIndex, TrainPlan, Wait};

use super::timetable;

use crate::{
    args::Which,
    outcome::{Failure, Outcome, WELL, WRONG, load, say},
};

/// What may stand after `day`.
#[derive(Debug, clap::Args)]
pub struct DayArgs {
    #[command(flatten)]
    which: Which,
    /// Seed of all chance.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// How long to search, in rounds of the solver.
    #[arg(long, default_value_t = Options::default().rounds)]
    rounds: u64,
    /// Threads; the answer does not depend on them.
    #[arg(long, default_value_t = Options::default().threads)]
    threads: usize,
    /// Let trains leave stations on the way before their written times.
    #[arg(long)]
    ahead_of_time: bool,
    /// Write what crews and dispatcher need into this folder.
    #[arg(short, long, value_name = "FOLDER")]
    output: Option<PathBuf>,
    /// Write the dispatching problem, for other solvers, into this file.
    #[arg(long, value_name = "FILE")]
    export: Option<PathBuf>,
    /// Compare fast clocks from 1:1 to 12:1 instead of planning the day: how much of it the session holds, and
    /// running against switching.
    #[arg(long, conflicts_with_all = ["output", "export", "ahead_of_time"])]
    clocks: bool,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

impl DayArgs {
    fn options(&self) -> Options {
        Options {
            seed: self.seed,
            rounds: self.rounds,
            threads: self.threads,
            keeps_leaving: !self.ahead_of_time,
            ..Options::default()
        }
    }
}

pub(super) fn run(args: &DayArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    if args.clocks {
        let (_, worked, _) = prepared(railroad, args.threads);
        let views = day::clocks(railroad, &worked, &RATIOS);
        if args.json {
            say(&format!("{:#}\n", clocks_json(railroad, &views)));
        } else {
            say(&clocks_text(railroad, &views));
        }
        return Ok(ExitCode::from(WELL));
    }
    let session = match Session::plan(railroad, &args.options()) {
        Ok(session) => session,
        Err(no_day) => {
            say(&format!("{no_day}\n"));
            return Ok(ExitCode::from(WRONG));
        }
    };
    let planned = &session.planned;
    if let Some(path) = &args.export {
        let text = dispatching::json::write_problem(&planned.problem);
        fs::write(path, text).map_err(|error| Failure::file(path, &error))?;
    }
    if args.json {
        say(&format!("{:#}\n", as_json(railroad, planned)));
    } else {
        say(&summary(railroad, planned));
        say(&too_short(railroad, &session));
    }
    if let Some(folder) = &args.output {
        for (path, what) in write_all(railroad, &session, folder)? {
            if !args.json {
                say(&format!("{}: {what}\n", path.display()));
            }
        }
    }
    Ok(ExitCode::from(WELL))
}

/// Plans the day of a railroad.
pub(super) fn plan(railroad: &Railroad, options: &Options) -> Result<Day, NoDay> {
    Session::plan(railroad, options).map(|session| session.planned)
}

/// A day with all that it was planned from.
pub(super) struct Session {
    /// Its waybills and trains.
    pub(super) billed: Option<Billed>,
    /// The work of every stop, move by move.
    pub(super) worked: Vec<Worked>,
    /// The plan.
    pub(super) planned: Day,
}

/// States the switching engine may look at for one stop: enough for a sound plan, few enough that a whole
/// day's stops are planned while one waits.
const STATES: u64 = 100_000;

impl Session {
    /// From the folder to the plan: cars billed, trains made up, stops timed, trains dispatched.
    pub(super) fn plan(railroad: &Railroad, options: &Options) -> Result<Self, NoDay> {
        let (billed, worked, made) = prepared(railroad, options.threads);
        let planned = day::day(railroad, options, &made, &|| false, &mut |_| {})?;
        Ok(Self {
            billed,
            worked,
            planned,
        })
    }
}

/// What a day is planned from: its waybills and trains, the work of every stop, and what the trains are made up of.
fn prepared(
    railroad: &Railroad,
    threads: usize,
) -> (Option<Billed>, Vec<Worked>, Vec<Option<day::Made>>) {
    let books = opening(railroad, 0);
    // A railroad without shippers has no cars to bill: its trains run as their pages say.
    let billed = bill(railroad, &books, &planning::bill::Options::default()).ok();
    let (worked, made) = match &billed {
        Some(billed) => {
            let switching = switching_options(railroad);
            let worked = day::worked(railroad, &books, billed, &switching, threads, &|| false);
            let made = day::made(railroad, billed, &worked);
            (worked, made)
        }
        None => (Vec::new(), Vec::new()),
    };
    (billed, worked, made)
}

fn switching_options(railroad: &Railroad) -> switching::Options {
    switching::Options {
        node_budget: STATES,
        rates: model_rates(railroad.identity.scale.scale, &Pace::default()),
        ..switching::Options::default()
    }
}

/// Stops whose work, on the tracks that are there, takes longer than the timetable allows for it, and those
/// for which no plan was found.
pub(super) fn too_short(railroad: &Railroad, session: &Session) -> String {
    let mut long = String::new();
    let mut unplanned = String::new();
    for one in &session.worked {
        let symbol = &railroad.service.train(one.train).symbol.value;
        let place = &railroad.way.station(one.station).name.value;
        let Some(takes) = one.takes(railroad.identity.clock) else {
            let _ = writeln!(unplanned, "  {symbol} at {place}");
            continue;
        };
        let Some(written) = one.allowed(railroad).filter(|written| takes > *written) else {
            continue;
        };
        let proven = one
            .planned
            .answer
            .solved()
            .is_some_and(|solved| solved.proven);
        let _ = writeln!(
            long,
            "  {symbol} at {place}: {} by its tracks and cars{}, {} written",
            minutes(takes),
            if proven {
                ""
            } else {
                ", by a plan that may not be the shortest"
            },
            minutes(written)
        );
    }
    let mut out = String::new();
    if !long.is_empty() {
        out.push_str(
            "Work that takes longer than the timetable allows it (the day goes by what is written):\n",
        );
        out.push_str(&long);
    }
    if !unplanned.is_empty() {
        out.push_str("Work for which no plan was found (the day goes by what is usual):\n");
        out.push_str(&unplanned);
    }
    out
}

/// Writes what crews and dispatcher need into a folder, and says what.
pub(super) fn write_all(
    railroad: &Railroad,
    session: &Session,
    folder: &Path,
) -> Result<Vec<(PathBuf, String)>, Failure> {
    fs::create_dir_all(folder).map_err(|error| Failure::file(folder, &error))?;
    let mut written = Vec::new();
    let mut write = |name: &str, text: &str, what: &str| {
        let path = folder.join(name);
        fs::write(&path, text).map_err(|error| Failure::file(&path, &error))?;
        written.push((path, what.to_owned()));
        Ok::<(), Failure>(())
    };
    let planned = &session.planned;
    write(
        "day.txt",
        &summary(railroad, planned),
        "the day, train by train",
    )?;
    write(
        "timetable.txt",
        &timetable::text(railroad, &planned.plan),
        "the timetable",
    )?;
    for (line, page) in railroad.way.lines() {
        let facts = diagram::facts(railroad, line, &planned.plan, None, &[]);
        if facts.traces.is_empty() {
            continue;
        }
        let name = super::chart::file_name(&page.name.value);
        write(
            &format!("diagram-{name}.svg"),
            &diagram::whole(&facts),
            "time-distance diagram, for the wall",
        )?;
        for (at, sheet) in diagram::pages(&facts, Paper::Letter).iter().enumerate() {
            write(
                &format!("diagram-{name}-{}.svg", at + 1),
                sheet,
                "the same, a page of letter paper",
            )?;
        }
    }
    let territory = of_day(railroad, planned);
    let most = planning::orders::Options::default().most_in_one;
    let (text, _, _) = super::orders::papers(railroad, &territory, planned.plan.method, most, None);
    write("orders.txt", &text, "orders and clearances")?;
    write(
        "switch-lists.txt",
        &switch_lists(railroad, session)?,
        "switch lists, with the moves",
    )?;
    let problem = dispatching::json::write_problem(&planned.problem);
    write(
        "problem.json",
        &problem,
        "the dispatching problem, for any solver",
    )?;
    Ok(written)
}

/// What each train takes and leaves, and a plan of its moves, station by station.
fn switch_lists(railroad: &Railroad, session: &Session) -> Result<String, Failure> {
    let mut out = String::new();
    let Some(billed) = &session.billed else {
        return Ok(out);
    };
    let rates = switching_options(railroad).rates;
    let car = |id| railroad.roster.car(id).name.value.as_str();
    for made in &billed.made_up {
        if made.cars() == 0 {
            continue;
        }
        let symbol = &railroad.service.train(made.train).symbol.value;
        let _ = writeln!(out, "TRAIN {symbol}");
        for work in &made.works {
            let place = &railroad.way.station(work.station).name.value;
            for (word, cars) in [("set out", &work.set_out), ("pick up", &work.pick_up)] {
                if cars.is_empty() {
                    continue;
                }
                let names: Vec<String> = cars
                    .iter()
                    .map(|moved| {
                        let track = moved.track.map(|track| {
                            &railroad.way.station(work.station).track(track).name.value
                        });
                        match track {
                            Some(track) => format!("{} ({track})", car(moved.car)),
                            None => car(moved.car).to_owned(),
                        }
                    })
                    .collect();
                let _ = writeln!(out, "  {place}: {word} {}", names.join(", "));
            }
            let planned = session
                .worked
                .iter()
                .find(|one| one.train == made.train && one.station == work.station);
            if let Some(one) = planned {
                let text = super::switch::text(
                    railroad,
                    &one.visit,
                    &one.facts,
                    &one.planned,
                    &rates,
                    None,
                )?;
                for line in text.lines() {
                    let _ = writeln!(out, "    {line}");
                }
            }
        }
        out.push('\n');
    }
    Ok(out)
}

/// The ratios of the fast clock that are compared.
const RATIOS: [f64; 12] = [
    1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0,
];

/// The railroad's hours that a session holds at a ratio.
fn holds_hours(railroad: &Railroad, ratio: f64) -> Option<f64> {
    let session = railroad.identity.session?;
    Some(session.real_time.seconds() as f64 / 3600.0 * ratio)
}

fn clocks_text(railroad: &Railroad, views: &[ClockView]) -> String {
    let mut out = String::from(
        "clock  whole day takes  session holds  running  switching  of the timetable's time\n",
    );
    let best = balanced(views);
    let identity = &railroad.identity;
    for (at, view) in views.iter().enumerate() {
        let holds = holds_hours(railroad, view.ratio)
            .map_or_else(|| "-".to_owned(), |hours| format!("{hours:.1} h"));
        let [running, switching] = view.share_of_switching().map_or_else(
            || ["-".to_owned(), "-".to_owned()],
            |share| [1.0 - share, share].map(|part| format!("{:.0} %", part * 100.0)),
        );
        let _ = write!(
            out,
            "{:>5}  {:>15}  {holds:>13}  {running:>7}  {switching:>9}  {:.0} % needed",
            format!("{}:1", view.ratio),
            format!("{:.1} h real", view.real_hours),
            view.used * 100.0,
        );
        if best == Some(at) {
            out.push_str("; balances");
        }
        if (view.ratio - identity.clock).abs() < 1e-9 {
            out.push_str("; the railroad's clock");
        }
        out.push('\n');
    }
    out.push_str(match best {
        Some(_) => {
            "\nThe clock that balances is the fastest at which running and switching, all trains taken \
             together, fit the timetable; a single train may still be short of time.\n"
        }
        None => "\nAt none of these clocks do running and switching fit the timetable.\n",
    });
    out
}

fn clocks_json(railroad: &Railroad, views: &[ClockView]) -> Value {
    let best = balanced(views);
    let clocks: Vec<Value> = views
        .iter()
        .enumerate()
        .map(|(at, view)| {
            json!({
                "ratio": view.ratio,
                "day_takes_real_hours": view.real_hours,
                "session_holds_railroad_hours": holds_hours(railroad, view.ratio),
                "running_seconds": view.running.seconds(),
                "switching_seconds": view.switching.seconds(),
                "share_of_switching": view.share_of_switching(),
                "needed": view.used,
                "balances": best == Some(at),
            })
        })
        .collect();
    json!({ "clock": railroad.identity.clock, "clocks": clocks })
}

/// Where a train is, in words.
fn place(railroad: &Railroad, train: &TrainPlan, whereabouts: Whereabouts) -> String {
    let name = |call: usize| &railroad.way.station(train.calls[call].station).name.value;
    match whereabouts {
        Whereabouts::At(call) => match train.calls[call].track {
            Some(track) => format!(
                "on {}",
                track_at(railroad, train.calls[call].station, track)
            ),
            None => format!("at {}", name(call)),
        },
        Whereabouts::After(call) => format!("between {} and {}", name(call), name(call + 1)),
    }
}

/// What of the day the session is, in text; nothing where no session is written.
fn session_text(railroad: &Railroad, planned: &Day) -> String {
    let mut out = String::new();
    let (Some(hours), Some(session)) = (crews::duties::window(railroad), railroad.identity.session)
    else {
        return out;
    };
    let found = day::window(&planned.plan, hours);
    let _ = writeln!(
        out,
        "The session, {} by the clock on the wall at {}:1, is {} to {} of the day: {} trains run whole in it, {} \
         not at all.",
        minutes(session.real_time),
        railroad.identity.clock,
        time(railroad, hours[0]),
        time(railroad, hours[1]),
        found.whole.len(),
        found.outside.len()
    );
    for (title, trains) in [
        ("Under way when it begins", &found.at_start),
        ("Not finished when it ends", &found.at_end),
    ] {
        if trains.is_empty() {
            continue;
        }
        let _ = writeln!(out, "  {title}:");
        for (index, whereabouts) in trains {
            let train = &planned.plan.trains[index.0];
            let at = place(railroad, train, *whereabouts);
            let _ = writeln!(out, "    {} {at}", train.symbol);
        }
    }
    out
}

fn session_json(railroad: &Railroad, planned: &Day) -> Option<Value> {
    let hours = crews::duties::window(railroad)?;
    let found = day::window(&planned.plan, hours);
    let symbol = |index: &TrainIndex| planned.plan.trains[index.0].symbol.as_str();
    let station = |train: &TrainPlan, call: usize| {
        let id = train.calls.get(call)?.station;
        Some(railroad.way.station(id).name.value.clone())
    };
    let cut = |trains: &[(TrainIndex, Whereabouts)]| -> Vec<Value> {
        trains
            .iter()
            .map(|(index, whereabouts)| {
                let train = &planned.plan.trains[index.0];
                match *whereabouts {
                    Whereabouts::At(call) => json!({
                        "train": train.symbol,
                        "at": station(train, call),
                        "track": train.calls[call].track.map(|track| {
                            let page = railroad.way.station(train.calls[call].station);
                            page.track(track).name.value.clone()
                        }),
                    }),
                    Whereabouts::After(call) => json!({
                        "train": train.symbol,
                        "between": [station(train, call), station(train, call + 1)],
                    }),
                }
            })
            .collect()
    };
    Some(json!({
        "begins_seconds": hours[0].seconds(),
        "ends_seconds": hours[1].seconds(),
        "whole": found.whole.iter().map(symbol).collect::<Vec<_>>(),
        "under_way_at_start": cut(&found.at_start),
        "unfinished_at_end": cut(&found.at_end),
        "outside": found.outside.iter().map(symbol).collect::<Vec<_>>(),
    }))
}

/// The day in a page of text.
pub(super) fn summary(railroad: &Railroad, planned: &Day) -> String {
    let mut out = String::new();
    let plan = &planned.plan;
    let waits: usize = plan.trains.iter().map(|train| train.waits.len()).sum();
    let meets: usize = plan
        .trains
        .iter()
        .flat_map(|train| &train.calls)
        .map(|call| call.meets.len())
        .sum::<usize>()
        / 2;
    let _ = writeln!(
        out,
        "{} trains, {meets} meets and passes, {waits} waits; {}.",
        plan.trains.len(),
        plan.method
    );
    for loss in &plan.losses {
        let proven = match (loss.is_proven(), loss.at_least) {
            (true, _) => "no plan does better".to_owned(),
            (false, Some(least)) if least > RailSpan::ZERO => {
                format!("no plan below {}", minutes(least))
            }
            _ => "not proven".to_owned(),
        };
        let _ = writeln!(
            out,
            "  class {}: {} late altogether ({proven})",
            loss.class,
            minutes(loss.lost)
        );
    }
    out.push_str(&session_text(railroad, planned));
    for train in &plan.trains {
        let _ = writeln!(out, "\n{}", heading(railroad, train));
        for call in &train.calls {
            if let Some(line) = call_line(railroad, planned, call) {
                let _ = writeln!(out, "  {line}");
            }
        }
        for wait in &train.waits {
            let place = &railroad.way.station(wait.station).name.value;
            let _ = writeln!(
                out,
                "  waits {} {} {place}: {}",
                minutes(wait.length()),
                if wait.outside { "outside" } else { "at" },
                wait.chain.first().map_or("", String::as_str)
            );
        }
    }
    out
}

fn heading(railroad: &Railroad, train: &TrainPlan) -> String {
    let name = train
        .train
        .and_then(|id| railroad.service.train(id).name.clone())
        .map_or_else(String::new, |name| format!(", {name}"));
    let late = match train.late() {
        Some(late) if late >= RailSpan::from_seconds(30) => format!(", {} late", minutes(late)),
        Some(_) => ", on time".to_owned(),
        None => String::new(),
    };
    format!(
        "{}{name}: class {}, {}{late}",
        train.symbol, train.class, train.direction
    )
}

fn call_line(railroad: &Railroad, planned: &Day, call: &Call) -> Option<String> {
    if !call.stops && call.meets.is_empty() {
        return None;
    }
    let page = railroad.way.station(call.station);
    let mut line = format!("{:<16}", page.name.value);
    let arrive = time(railroad, call.arrive);
    let leave = time(railroad, call.leave);
    let _ = write!(line, "{arrive:>9} {leave:>9}");
    if let Some(track) = call.track {
        let _ = write!(line, "  {}", track_at(railroad, call.station, track));
    }
    for meet in &call.meets {
        let other = &planned.plan.trains[meet.other.0].symbol;
        let holds = match meet.holds {
            Holds::Clear => String::new(),
            holds => format!(" ({holds})"),
        };
        let _ = write!(line, "; {} {other}{holds}", meet.kind);
    }
    Some(line)
}

/// A wait as JSON.
pub(super) fn wait_json(railroad: &Railroad, planned: &Day, wait: &Wait) -> Value {
    let symbol = |train: &TrainIndex| planned.plan.trains[train.0].symbol.as_str();
    json!({
        "station": railroad.way.station(wait.station).name.value,
        "outside": wait.outside,
        "from_seconds": wait.from.seconds(),
        "until_seconds": wait.until.seconds(),
        "for": wait.for_whom.iter().map(symbol).collect::<Vec<_>>(),
        "at": wait.at_what,
        "why": wait.chain,
        "costs_time": wait.costs,
    })
}

/// The day as JSON.
pub(super) fn as_json(railroad: &Railroad, planned: &Day) -> Value {
    let station = |id| railroad.way.station(id).name.value.as_str();
    let trains: Vec<Value> = planned
        .plan
        .trains
        .iter()
        .map(|train| {
            let calls: Vec<Value> = train
                .calls
                .iter()
                .map(|call| {
                    json!({
                        "station": station(call.station),
                        "track": call.track.map(|track| railroad.way.station(call.station).track(track).name.value.as_str()),
                        "arrive_seconds": call.arrive.seconds(),
                        "leave_seconds": call.leave.seconds(),
                        "due_arrive_seconds": call.due_arrive.map(|time| time.seconds()),
                        "due_leave_seconds": call.due_leave.map(|time| time.seconds()),
                        "stops": call.stops,
                        "work_seconds": call.work.map(|span| span.seconds()),
                        "meets": call.meets.iter().map(|meet| json!({
                            "train": planned.plan.trains[meet.other.0].symbol,
                            "kind": meet.kind.word(),
                            "this_train": meet.holds.word(),
                        })).collect::<Vec<_>>(),
                    })
                })
                .collect();
            let waits: Vec<Value> = train
                .waits
                .iter()
                .map(|wait| wait_json(railroad, planned, wait))
                .collect();
            json!({
                "train": train.symbol,
                "class": train.class,
                "direction": train.direction,
                "extra": train.extra,
                "late_seconds": train.late().map(|late| late.seconds()),
                "calls": calls,
                "waits": waits,
            })
        })
        .collect();
    json!({
        "method": planned.plan.method.word(),
        "seed": planned.plan.seed,
        "proven": planned.proven,
        "classes": planned.plan.losses.iter().map(|loss| json!({
            "class": loss.class,
            "late_seconds": loss.lost.seconds(),
            "at_least_seconds": loss.at_least.map(|span| span.seconds()),
        })).collect::<Vec<_>>(),
        "session": session_json(railroad, planned),
        "trains": trains,
    })
}
