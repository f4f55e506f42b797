//! `sawby crews`: who works what, when.

use std::{fmt::Write as _, process::ExitCode};

use model::time::{FastClock, RailSpan, RailTime};
use planning::{
    crews::{
        Goal, duties,
        jobs::{Jobs, Turn},
        learning,
        people::{self, Board},
    },
    day::Options,
};
use railroad::Railroad;
use serde_json::{Value, json};
use transportation::{
    DayPlan,
    crew_call::{self, Duty, Hand, Learner, Terms, judge, service::service_limit},
};

use super::orders::style;
use crate::{
    args::Which,
    outcome::{Failure, Outcome, WELL, WRONG, load, say},
};

/// What may stand after `crews`.
#[derive(Debug, clap::Args)]
pub struct CrewsArgs {
    #[command(flatten)]
    which: Which,
    /// Make jobs of the day's trains instead of taking those of jobs.toml.
    #[arg(long)]
    build: bool,
    /// The fairest day instead of the fewest crews.
    #[arg(long)]
    fair: bool,
    /// Leave these people out: they are not coming.
    #[arg(long, value_name = "NAME")]
    without: Vec<String>,
    /// Rest between two jobs of one person, by the railroad's clock.
    #[arg(long, default_value = "20 min", value_name = "TIME")]
    rest: String,
    /// How long before its first train a crew is called.
    #[arg(long, default_value = "20 min", value_name = "TIME")]
    call: String,
    /// Seed of all chance.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// How long to search for the plan, in rounds of the solver.
    #[arg(long, default_value_t = Options::default().rounds)]
    rounds: u64,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

/// Steps of a search before it is content.
const STEPS: u64 = 300_000;

fn span(option: &str, text: &str) -> Result<RailSpan, Failure> {
    RailSpan::parse(text).map_err(|error| {
        Failure::misunderstood(format!("--{option} {text}: {error}"))
            .help("a length of time such as `20 min`")
    })
}

pub(super) fn run(args: &CrewsArgs) -> Outcome {
    let (rest, call) = (span("rest", &args.rest)?, span("call", &args.call)?);
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let options = Options {
        seed: args.seed,
        rounds: args.rounds,
        ..Options::default()
    };
    let planned = match super::day::plan(railroad, &options) {
        Ok(planned) => planned,
        Err(no_day) => {
            say(&format!("{no_day}\n"));
            return Ok(ExitCode::from(WRONG));
        }
    };
    let mut hands = duties::hands(railroad);
    for name in &args.without {
        if !hands.iter().any(|hand| hand.name == *name) {
            let near =
                model::diagnostic::nearest(name, hands.iter().map(|hand| hand.name.as_str()));
            let failure = Failure::misunderstood(format!("people.csv has no `{name}`"));
            return Err(match near {
                Some(near) => failure.help(format!("did you mean `{near}`?")),
                None => failure,
            });
        }
        hands.retain(|hand| hand.name != *name);
    }
    let goal = if args.fair {
        Goal::Fairest
    } else {
        Goal::Fewest
    };
    let Manned {
        jobs,
        all,
        board,
        learners,
        told,
    } = man(
        railroad,
        &planned.plan,
        &hands,
        args.build,
        goal,
        rest,
        call,
    );
    let terms = Terms {
        rest,
        hours: Some(railroad.service.operating.hours_of_service),
    };
    let wrong = judge::judge(&all, &hands, &terms, &board.assigned, &learners);
    let sheet = Sheet {
        railroad,
        duties: &all,
        hands: &hands,
        board: &board,
        learners: &learners,
        jobs: jobs.as_ref(),
        told: &told,
        wrong: &wrong,
        goal,
    };
    say(&if args.json {
        format!("{:#}\n", sheet.json())
    } else {
        sheet.text()
    });
    let right = wrong.is_empty() && board.empty.is_empty();
    Ok(ExitCode::from(if right { WELL } else { WRONG }))
}

/// The day's duties with people in their seats.
struct Manned {
    jobs: Option<Jobs>,
    all: Vec<Duty>,
    board: Board,
    learners: Vec<Learner>,
    told: Vec<String>,
}

/// Fills the seats of the railroad's jobs, or of jobs made of the day's trains.
fn man(
    railroad: &Railroad,
    plan: &DayPlan,
    hands: &[Hand],
    build: bool,
    goal: Goal,
    rest: RailSpan,
    call: RailSpan,
) -> Manned {
    let hours = railroad.service.operating.hours_of_service;
    let mut told = Vec::new();
    let (jobs, all) = if build || railroad.service.jobs.is_empty() {
        let trips = duties::trips(railroad, plan);
        let turn = Turn {
            between: railroad.service.operating.crew_turn,
            longest: Some(hours),
        };
        let (jobs, all) = duties::built(&trips, &turn, goal, call, STEPS);
        (Some(jobs), all)
    } else {
        let (all, sentences) = duties::written(railroad, plan, call);
        told.extend(sentences);
        (None, all)
    };
    let all = match duties::window(railroad) {
        Some(window) => {
            let (kept, dropped) = duties::within(all, window);
            told.extend(
                dropped
                    .into_iter()
                    .map(|name| format!("{name} falls outside the session")),
            );
            kept
        }
        None => all,
    };
    let terms = Terms {
        rest,
        hours: Some(hours),
    };
    let board = people::fill(&all, hands, &terms, goal, STEPS);
    let learners = learning::pair(&all, hands, &board.assigned);
    Manned {
        jobs,
        all,
        board,
        learners,
        told,
    }
}

/// Who is called for each of the railroad's own jobs, as `sawby crews` has it when nothing else is said.
pub(super) fn called(railroad: &Railroad, plan: &DayPlan) -> Vec<paper::Called> {
    let hands = duties::hands(railroad);
    if hands.is_empty() || railroad.service.jobs.is_empty() {
        return vec![];
    }
    let twenty = RailSpan::from_minutes(20);
    let manned = man(railroad, plan, &hands, false, Goal::Fewest, twenty, twenty);
    let calls = crew_call::calls(&manned.all, &manned.board.assigned, &manned.learners);
    manned
        .all
        .iter()
        .enumerate()
        .map(|(duty, page)| paper::Called {
            job: page.name.clone(),
            people: calls
                .iter()
                .filter(|call| call.duty == duty)
                .map(|call| paper::Person {
                    name: hands[call.person].name.clone(),
                    role: call.role.clone(),
                })
                .collect(),
        })
        .collect()
}

struct Sheet<'a> {
    railroad: &'a Railroad,
    duties: &'a [Duty],
    hands: &'a [Hand],
    board: &'a Board,
    learners: &'a [Learner],
    jobs: Option<&'a Jobs>,
    told: &'a [String],
    wrong: &'a [String],
    goal: Goal,
}

impl Sheet<'_> {
    fn time(&self, time: RailTime) -> String {
        time.show(style(self.railroad)).to_string()
    }

    /// Real time from the beginning of the session, `0:35`.
    fn real(&self, time: RailTime) -> Option<String> {
        let session = self.railroad.identity.session?;
        let clock = FastClock::parse(&self.railroad.identity.clock.to_string()).ok()?;
        let real = clock.to_real(time - session.begins);
        let minutes = real.minutes().round() as i64;
        let sign = if minutes < 0 { "-" } else { "" };
        Some(format!(
            "{sign}{}:{:02}",
            minutes.abs() / 60,
            minutes.abs() % 60
        ))
    }

    fn shortages(&self) -> Vec<String> {
        self.board
            .short
            .iter()
            .map(|short| short.sentence(self.duties, self.hands, &self.time(short.time)))
            .collect()
    }

    fn text(&self) -> String {
        let board = self.board;
        let mut text = format!("{}: call list\n", self.railroad.identity.name);
        if let Some(jobs) = self.jobs {
            let fewest = if jobs.at_least == jobs.jobs.len() {
                "no fewer can work these trains".to_owned()
            } else {
                format!("at least {} are needed", jobs.at_least)
            };
            let _ = writeln!(
                text,
                "{} jobs made of the trains; {fewest}.",
                jobs.jobs.len()
            );
            if self.goal == Goal::Fairest {
                let least = if jobs.longest == jobs.longest_at_least {
                    "as short as can be".to_owned()
                } else {
                    format!("not under {}", jobs.longest_at_least)
                };
                let _ = writeln!(text, "The longest takes {}, {least}.", jobs.longest);
            }
        }
        let seats = board.assigned.len() + board.empty.len();
        let _ = writeln!(
            text,
            "{} of {seats} seats filled by {} people; the longest day is {}.",
            board.assigned.len(),
            board.people,
            board.longest
        );
        if board.empty.len() > board.empty_at_least {
            let _ = writeln!(
                text,
                "At least {} must stay empty; whether no more than that has not been settled.",
                board.empty_at_least
            );
        }
        let proof = match self.goal {
            Goal::Fewest if board.people == board.people_at_least => {
                "Fewer people cannot fill as many seats.".to_owned()
            }
            Goal::Fewest => format!(
                "At least {} people are needed to leave as few empty as can be.",
                board.people_at_least
            ),
            Goal::Fairest if board.longest == board.longest_at_least => {
                "Nobody's day can be the longest and shorter.".to_owned()
            }
            Goal::Fairest => format!("The longest cannot be under {}.", board.longest_at_least),
        };
        let _ = writeln!(text, "{proof}\n");
        let calls = crew_call::calls(self.duties, &board.assigned, self.learners);
        let _ = writeln!(
            text,
            "  {:<10}{:<7}{:<12}{:<34}{:<18}AT",
            "CALLED", "REAL", "NAME", "AS", "JOB"
        );
        for call in &calls {
            let duty = &self.duties[call.duty];
            let role = match call.teacher {
                Some(teacher) => format!("{} from {}", call.role, self.hands[teacher].name),
                None => call.role.clone(),
            };
            let trains = match duty.trains.as_slice() {
                [] => String::new(),
                trains => format!(" ({})", trains.join(", ")),
            };
            let _ = writeln!(
                text,
                "  {:<10}{:<7}{:<12}{:<34}{:<18}{}{trains}",
                self.time(call.time),
                self.real(call.time).unwrap_or_default(),
                self.hands[call.person].name,
                role,
                duty.name,
                duty.at,
            );
        }
        let idle: Vec<&str> = (0..self.hands.len())
            .filter(|person| !calls.iter().any(|call| call.person == *person))
            .map(|person| self.hands[person].name.as_str())
            .collect();
        if !idle.is_empty() {
            let _ = writeln!(text, "\nOn the extra board: {}.", idle.join(", "));
        }
        for &(duty, seat) in &board.empty {
            let duty = &self.duties[duty];
            let _ = writeln!(
                text,
                "\nEMPTY: {} on {}, from {} to {}.",
                duty.seats[seat].words(),
                duty.name,
                self.time(duty.begins),
                self.time(duty.ends)
            );
        }
        for sentence in self.shortages() {
            let _ = writeln!(text, "Why: {sentence}.");
        }
        if !board.empty.is_empty() && board.short.is_empty() {
            text.push_str(
                "Why: at no single moment are there too few people, but rest and hours keep them from \
                 taking one job after another.\n",
            );
        }
        for sentence in self.told {
            let _ = writeln!(text, "Note: {sentence}.");
        }
        for sentence in self.wrong {
            let _ = writeln!(text, "WRONG: {sentence}.");
        }
        if let Some(limit) = self
            .railroad
            .identity
            .date
            .and_then(|date| service_limit(date.value))
        {
            let _ = writeln!(
                text,
                "\nHours of service on this date: {} on duty, then {} off ({}).",
                limit.on_duty, limit.then_off, limit.source
            );
            let allowed = self.railroad.service.operating.hours_of_service;
            if allowed > limit.on_duty {
                let _ = writeln!(
                    text,
                    "Note: operating.toml lets crews work {allowed}, longer than the law of the date."
                );
            }
        }
        text
    }

    fn json(&self) -> Value {
        let board = self.board;
        let calls: Vec<Value> = crew_call::calls(self.duties, &board.assigned, self.learners)
            .iter()
            .map(|call| {
                let duty = &self.duties[call.duty];
                json!({
                    "called_seconds": call.time.seconds(),
                    "real": self.real(call.time),
                    "name": self.hands[call.person].name,
                    "as": call.role,
                    "from": call.teacher.map(|teacher| self.hands[teacher].name.as_str()),
                    "job": duty.name,
                    "at": duty.at,
                    "trains": duty.trains,
                    "ends_seconds": duty.ends.seconds(),
                })
            })
            .collect();
        json!({
            "calls": calls,
            "people": board.people,
            "people_at_least": board.people_at_least,
            "longest_seconds": board.longest.seconds(),
            "longest_at_least_seconds": board.longest_at_least.seconds(),
            "empty": board.empty.iter().map(|&(duty, seat)| json!({
                "job": self.duties[duty].name,
                "as": self.duties[duty].seats[seat].words(),
            })).collect::<Vec<_>>(),
            "empty_at_least": board.empty_at_least,
            "why": self.shortages(),
            "jobs": self.jobs.map(|jobs| json!({
                "count": jobs.jobs.len(),
                "at_least": jobs.at_least,
                "longest_seconds": jobs.longest.seconds(),
                "longest_at_least_seconds": jobs.longest_at_least.seconds(),
            })),
            "notes": self.told,
            "wrong": self.wrong,
        })
    }
}
