//! `sawby rehearse`: a whole session played by simulated crews, over HTTP, against the office as it is served.

use std::{
    collections::HashMap,
    fmt::Write as _,
    net::{Ipv4Addr, SocketAddr},
    process::ExitCode,
    sync::Arc,
    thread,
    time::{Duration, Instant},
};

use model::time::RailSpan;
use railroad::{Folder, Railroad};
use session::{
    Command, Journal, Refused, Request, Role, State, Who, Why, close,
    journal::wall_watch,
    rehearse::{Crews, Said},
};
use web::{
    Office, bind,
    client::{Client, Said as Answer},
    live::{Door, Room, Secret},
    services::{OpeningAsk, Progress},
};

use crate::{
    args::Which,
    outcome::{Failure, Outcome, WELL, WRONG, load, say},
};

/// What may stand after `rehearse`.
#[derive(Debug, clap::Args)]
pub struct RehearseArgs {
    #[command(flatten)]
    which: Which,
    /// The crews' dice.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// How many times as fast as the railroad's own fast clock.
    #[arg(long, default_value_t = 60, value_name = "TIMES")]
    speed: u32,
    /// Let nothing go wrong.
    #[arg(long)]
    smooth: bool,
    /// How many sessions, one after the other.
    #[arg(long, default_value_t = 1, value_name = "NUMBER")]
    sessions: u32,
    /// The port; 0 takes any that is free. The office can be looked at while the crews work.
    #[arg(long, value_name = "PORT", default_value_t = 0)]
    port: u16,
    /// Stop after so many railroad minutes, wherever the trains are.
    #[arg(long, value_name = "MINUTES")]
    minutes: Option<i64>,
    /// Stay open afterwards, to be looked at, until Ctrl-C.
    #[arg(long)]
    stay: bool,
}

pub(super) fn run(args: &RehearseArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let disk = |error: std::io::Error| {
        Failure::misunderstood(format!("no place for the rehearsal's journal: {error}"))
    };
    // A rehearsal is not the railroad's history: its journal goes when it ends.
    let place = std::env::temp_dir().join(format!("sawby-rehearsal-{}", std::process::id()));
    std::fs::create_dir_all(&place).map_err(disk)?;
    let played = play(args, railroad, &place.join("journal.sqlite"));
    let _ = std::fs::remove_dir_all(&place);
    played
}

fn play(args: &RehearseArgs, railroad: &Railroad, place: &std::path::Path) -> Outcome {
    let serving = bind((Ipv4Addr::LOCALHOST, args.port).into()).map_err(|no_port| {
        Failure::no_port(no_port.to_string()).help("`--port 0` takes any that is free")
    })?;
    let at = serving.at;
    let journal = Journal::open(place, wall_watch())
        .map_err(|trouble| Failure::misunderstood(trouble.to_string()))?;
    let secret = Secret::new().map_err(Failure::misunderstood)?;
    let door = Door::new(secret, vec![format!("http://{at}")], |_| Ok(()));
    let (join, chief) = (door.join_code(), door.chief_code());
    let office = office(&args.which)?;
    office.hold_sessions(Room::new(journal.clone(), Some(door)));
    say(&format!(
        "The rehearsal can be looked at: http://{at}/join with the code {join} (superintendent: {chief}).\n"
    ));
    let stays = args.stay;
    thread::spawn(move || {
        // When the crews are done the program ends, and this with it.
        let _ = serving.run_with(office, Vec::new(), None);
        if stays {
            std::process::exit(0);
        }
    });
    let ask = OpeningAsk {
        name: format!("rehearsal {}", args.seed),
    };
    let opening = super::serve::opening(railroad, &ask, &Progress::default())
        .map_err(|sorry| Failure::misunderstood(sorry.what))?;
    let mut well = true;
    for number in 0..args.sessions.max(1) {
        let mut opening = opening.clone();
        opening.name = format!("rehearsal {}", args.seed + u64::from(number));
        journal
            .begin(opening, &Who::office())
            .map_err(|trouble| Failure::misunderstood(trouble.to_string()))?;
        let mut floor = Floor::open(at, &join, &chief, &journal)?;
        let told = floor.play(args, args.seed + u64::from(number))?;
        well &= told.all_in;
        say(&told.words);
    }
    if args.stay {
        say("The crews have gone home. Ctrl-C closes the office.\n");
        loop {
            thread::sleep(Duration::from_secs(3600));
        }
    }
    Ok(ExitCode::from(if well { WELL } else { WRONG }))
}

fn office(which: &Which) -> Result<Arc<Office>, Failure> {
    let services = super::serve::services(which);
    if which.example {
        return Ok(Office::in_memory(
            Folder::built_in("example").unwrap_or_default(),
            services,
        ));
    }
    Ok(Office::open(&which.folder, services)?)
}

/// The people on the floor, each with a device of their own.
struct Floor<'a> {
    at: SocketAddr,
    code: String,
    journal: &'a Journal,
    chief: Client,
    devices: HashMap<String, Client>,
    keys: u64,
    waits: Vec<Duration>,
    refused: usize,
}

/// How a rehearsal went.
struct Told {
    all_in: bool,
    words: String,
}

impl<'a> Floor<'a> {
    fn open(
        at: SocketAddr,
        code: &str,
        chief_code: &str,
        journal: &'a Journal,
    ) -> Result<Self, Failure> {
        let mut chief = Client::new(at);
        chief
            .join(chief_code, "the rehearsal's superintendent")
            .map_err(|error| unreachable(&error))?;
        Ok(Self {
            at,
            code: code.to_owned(),
            journal,
            chief,
            devices: HashMap::new(),
            keys: 0,
            waits: Vec::new(),
            refused: 0,
        })
    }

    fn state(&self) -> Result<Arc<State>, Failure> {
        self.journal
            .state()
            .ok_or_else(|| Failure::misunderstood("the session is gone".to_owned()))
    }

    fn request(&mut self, seen: u64, command: Command) -> Request {
        self.keys += 1;
        Request {
            key: format!("rehearsal-{}", self.keys),
            seen: Some(seen),
            command,
        }
    }

    /// A person comes in by the code with a device of their own, and the superintendent grants the role.
    fn admit(&mut self, who: &Who) -> Result<(), Failure> {
        if self.devices.contains_key(&who.device) {
            return Ok(());
        }
        let mut client = Client::new(self.at);
        client
            .join(&self.code, &who.name)
            .map_err(|error| unreachable(&error))?;
        let state = self.state()?;
        let device = state
            .sheet
            .devices
            .iter()
            .find(|(_, device)| device.name == who.name)
            .map(|(device, _)| device.clone());
        let Some(device) = device else {
            return Err(Failure::misunderstood(format!(
                "{} did not come in",
                who.name
            )));
        };
        let grant = Command::Grant {
            device,
            role: who.role,
        };
        let grant = self.request(state.revision(), grant);
        self.chief
            .say(&grant)
            .map_err(|error| unreachable(&error))?;
        self.devices.insert(who.device.clone(), client);
        Ok(())
    }

    /// What was said goes over HTTP, and the answer comes back.
    fn say(&mut self, said: &Said, seen: u64) -> Result<Result<(), Refused>, Failure> {
        let request = self.request(seen, said.command.clone());
        let client = if said.who.role == Role::Superintendent {
            &mut self.chief
        } else {
            self.admit(&said.who)?;
            self.devices
                .get_mut(&said.who.device)
                .unwrap_or(&mut self.chief)
        };
        let began = Instant::now();
        let answer = client.say(&request).map_err(|error| unreachable(&error))?;
        self.waits.push(began.elapsed());
        Ok(match answer {
            Answer::Done { .. } => Ok(()),
            Answer::Not { status, words } => {
                self.refused += 1;
                if status >= 500 || status == 422 {
                    return Err(Failure::misunderstood(format!(
                        "the office answers {status} to {:?}: {words}",
                        said.command
                    )));
                }
                Err(Refused {
                    why: if status == 403 {
                        Why::NotAllowed
                    } else {
                        Why::NotNow
                    },
                    found: words,
                    expected: String::new(),
                    seen: Some(seen),
                    now: seen,
                    meanwhile: Vec::new(),
                })
            }
        })
    }

    fn play(&mut self, args: &RehearseArgs, seed: u64) -> Result<Told, Failure> {
        let began = Instant::now();
        let state = self.state()?;
        let [railroad, real] = state.opening.ratio;
        let fast = railroad.saturating_mul(args.speed.max(1));
        let ratio = Command::SetRatio {
            railroad: (fast / real.max(1)).clamp(1, 1000),
            real: 1,
        };
        let office = |command| Said {
            who: Who::office(),
            command,
        };
        // The ratio of the railroad may be that already.
        let _ = self.say(&office(ratio), state.revision())?;
        let ends = match args.minutes {
            Some(minutes) => state.opening.begins + RailSpan::from_minutes(minutes),
            None => state.opening.begins + RailSpan::from_minutes(36 * 60),
        };
        let mut crews = Crews::new(seed, !args.smooth);
        loop {
            let state = self.state()?;
            let rail = state.rail(self.journal.now());
            if Crews::all_in(&state) || rail > ends {
                break;
            }
            let Some(said) = crews.next(&state, rail) else {
                let ahead = crews.wakes(rail) - rail;
                let millis = state.sheet.clock.real_millis(ahead).clamp(1, 50);
                thread::sleep(Duration::from_millis(millis.unsigned_abs()));
                continue;
            };
            // Devices come in by the door, and the superintendent grants: not by what is said here.
            if matches!(said.command, Command::Join { .. } | Command::Grant { .. }) {
                continue;
            }
            let answer = self.say(&said, state.revision())?;
            let after = self.state()?;
            crews.hear(&said, rail, answer.as_ref().map(|()| &*after));
        }
        let state = self.state()?;
        let all_in = Crews::all_in(&state);
        let closed = self.say(&office(Command::CloseOut), state.revision())?;
        let state = self.state()?;
        let mut words = words(&state, began.elapsed(), &mut self.waits, self.refused);
        if let Err(refused) = &closed {
            let _ = writeln!(words, "It could not be closed: {}", refused.found);
        }
        Ok(Told {
            all_in: all_in && closed.is_ok(),
            words,
        })
    }
}

fn unreachable(error: &std::io::Error) -> Failure {
    Failure::no_port(format!("the office does not answer: {error}"))
}

fn words(state: &State, took: Duration, waits: &mut [Duration], refused: usize) -> String {
    waits.sort_unstable();
    let at = |part: f64| {
        let last = waits.len().saturating_sub(1);
        let at = (last as f64 * part).round() as usize;
        waits
            .get(at)
            .map_or(0.0, |wait| wait.as_secs_f64() * 1000.0)
    };
    let figures = close::figures(state);
    let mut text = format!(
        "{}: {} commands in {:.1} s, {refused} of them refused; answered in {:.1} ms (median), {:.1} ms (99 of 100).\n",
        state.opening.name,
        waits.len(),
        took.as_secs_f64(),
        at(0.5),
        at(0.99),
    );
    for class in &figures.classes {
        let name = class
            .class
            .map_or_else(|| "extras".to_owned(), |class| format!("class {class}"));
        let _ = writeln!(
            text,
            "  {name}: {} trains, {} came in, {} of them on time; {} min late altogether",
            class.trains, class.arrived, class.on_time, class.late_minutes
        );
    }
    let _ = writeln!(
        text,
        "  {} moves of cars; work done {}, left {}, dropped {}",
        figures.moves, figures.work[0], figures.work[1], figures.work[2]
    );
    for (cause, times, minutes) in &figures.causes {
        let _ = writeln!(
            text,
            "  delayed by {}: {times} times, {minutes} min",
            cause.word()
        );
    }
    let odd = close::discrepancies(state);
    if !odd.is_empty() {
        let _ = writeln!(text, "Not as billed, or not known:");
        for one in &odd {
            let _ = writeln!(text, "  {}", one.sentence);
        }
    }
    let steps = close::restaging(state, &close::ByHand::default());
    if !steps.is_empty() {
        let minutes: f64 = steps.iter().map(|step| step.minutes).sum();
        let _ = writeln!(
            text,
            "Staging, before the next session ({minutes:.0} min by hand):"
        );
        for step in &steps {
            let _ = writeln!(
                text,
                "  {}. {}: {}",
                step.number, step.station, step.sentence
            );
        }
    }
    text
}
