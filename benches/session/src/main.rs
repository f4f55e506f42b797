//! Devices with live streams and reports at a steady rate, on loopback, against the real server in a process
//! of its own: how long until a report is acknowledged, how long until it is on every screen, how much
//! memory the server takes, and at which rate it breaks.
//!
//! `cargo run --release -p session-bench -- [--devices 200] [--rate 50] [--seconds 300] [--break]`

#![allow(clippy::print_stdout, reason = "a bench speaks")]

use std::{
    io::{BufRead as _, BufReader, Write as _},
    net::{Ipv4Addr, SocketAddr},
    process::{Command as Process, Stdio},
    sync::{
        Arc, Mutex,
        atomic::{AtomicU64, Ordering},
    },
    thread,
    time::{Duration, Instant},
};

use railroad::{Folder, load};
use session::{Command, Journal, Request, Who, journal::wall_watch};
use web::{
    Office, Services, bind,
    client::{Client, Said},
    live::{Door, Room, Secret},
};

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if arguments.first().map(String::as_str) == Some("serve") {
        serve();
        return;
    }
    let number = |name: &str, usual: u64| {
        arguments
            .iter()
            .position(|one| one == name)
            .and_then(|at| arguments.get(at + 1)?.parse().ok())
            .unwrap_or(usual)
    };
    let devices = number("--devices", 200) as usize;
    let rate = number("--rate", 50);
    let seconds = number("--seconds", 300);
    println!(
        "{:>8} {:>10} {:>9} {:>24} {:>32} {:>8} {:>10}",
        "devices",
        "reports/s",
        "seconds",
        "acknowledged p50/p99 ms",
        "every screen p50/p99/worst ms",
        "MB",
        "processor"
    );
    run(devices, rate, seconds);
    if arguments.iter().any(|one| one == "--break") {
        for rate in [100, 200, 400, 800, 1600] {
            if !run(devices, rate, 15) {
                println!(
                    "it breaks between {} and {rate} reports a second: they are no longer taken as fast as they come",
                    rate / 2
                );
                break;
            }
        }
    }
}

/// The server: prints its address and codes, serves until its input ends.
fn serve() {
    let folder = tempfile::tempdir().expect("a folder");
    let serving = bind((Ipv4Addr::LOCALHOST, 0).into()).expect("a port");
    let journal =
        Journal::open(&folder.path().join("journal.sqlite"), wall_watch()).expect("a journal");
    let example = Folder::built_in("example").expect("the example");
    let railroad = load(&example).railroad;
    let (books, _) = railroad::books::open(&railroad);
    let plan = transportation::DayPlan::default();
    let from = session::Sources {
        railroad: &railroad,
        plan: &plan,
        made_up: &[],
        bills: &[],
        books: &books,
        orders: None,
    };
    journal
        .begin(session::opening(from, "load"), &Who::office())
        .expect("a session");
    let door = Door::new(Secret::new().expect("dice"), vec![], |_| Ok(()));
    println!("{} {} {}", serving.at, door.join_code(), door.chief_code());
    std::io::stdout().flush().expect("an output");
    let office = Office::in_memory(example, Services::default());
    office.hold_sessions(Room::new(journal, Some(door)));
    thread::spawn(move || serving.run_with(office, Vec::new(), None));
    let mut line = String::new();
    while std::io::stdin()
        .read_line(&mut line)
        .is_ok_and(|read| read > 0)
    {
        let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
        let peak = status.lines().find(|line| line.starts_with("VmHWM"));
        let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
        let fields: Vec<&str> = stat
            .rsplit(')')
            .next()
            .unwrap_or("")
            .split_whitespace()
            .collect();
        // User and system time in hundredths of a second.
        let ticks: u64 = [11, 12]
            .iter()
            .filter_map(|at| fields.get(*at)?.parse::<u64>().ok())
            .sum();
        let kilobytes = peak
            .and_then(|line| line.split_whitespace().nth(1))
            .unwrap_or("0");
        println!("{kilobytes} {ticks}");
        std::io::stdout().flush().expect("an output");
        line.clear();
    }
}

/// Whether the rate was held.
fn run(devices: usize, rate: u64, seconds: u64) -> bool {
    let mut server = Process::new(std::env::current_exe().expect("this program"))
        .arg("serve")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the server");
    let mut output = BufReader::new(server.stdout.take().expect("its output"));
    let mut line = String::new();
    output.read_line(&mut line).expect("its address");
    let words: Vec<String> = line.split_whitespace().map(str::to_owned).collect();
    let at: SocketAddr = words[0].parse().expect("an address");
    let mut people: Vec<Client> = Vec::with_capacity(devices);
    for device in 0..devices {
        let mut client = Client::new(at);
        // The first is the superintendent, who may say everything; the others look on and listen.
        let code = if device == 0 { &words[2] } else { &words[1] };
        client
            .join(code, &format!("device {device}"))
            .expect("let in");
        people.push(client);
    }
    // When each revision was first asked for, and when each screen had it.
    let asked: Arc<Mutex<Vec<(u64, Instant)>>> = Arc::default();
    let heard: Vec<_> = people
        .iter()
        .map(|client| {
            let news = client.listen().expect("a stream");
            thread::Builder::new()
                .stack_size(128 * 1024)
                .spawn(move || {
                    let mut seen = Vec::new();
                    for revision in news {
                        seen.push((revision, Instant::now()));
                    }
                    seen
                })
                .expect("a thread")
        })
        .collect();
    thread::sleep(Duration::from_millis(500));
    // Reports come from as many devices as it takes for none to wait for another's answer.
    let next = Arc::new(AtomicU64::new(0));
    let start = Instant::now();
    let total = rate * seconds;
    let speakers: Vec<_> = (0..16)
        .map(|speaker| {
            let (next, asked) = (next.clone(), asked.clone());
            let chief = words[2].clone();
            thread::spawn(move || {
                let mut client = Client::new(at);
                client
                    .join(&chief, &format!("speaker {speaker}"))
                    .expect("let in");
                let mut waits = Vec::new();
                loop {
                    let number = next.fetch_add(1, Ordering::SeqCst);
                    if number >= total {
                        return waits;
                    }
                    let due = start + Duration::from_micros(number * 1_000_000 / rate);
                    if let Some(wait) = due.checked_duration_since(Instant::now()) {
                        thread::sleep(wait);
                    }
                    let began = Instant::now();
                    let request = Request {
                        key: format!("load-{number}"),
                        seen: None,
                        command: Command::Note {
                            train: None,
                            text: format!("report {number}"),
                        },
                    };
                    match client.say(&request).expect("an answer") {
                        Said::Done { revision, .. } => {
                            waits.push(began.elapsed());
                            asked
                                .lock()
                                .expect("no thread failed")
                                .push((revision, began));
                        }
                        Said::Not { status, words } => panic!("{status}: {words}"),
                    }
                }
            })
        })
        .collect();
    let mut waits: Vec<Duration> = speakers
        .into_iter()
        .flat_map(|speaker| speaker.join().expect("a speaker"))
        .collect();
    let took = start.elapsed();
    thread::sleep(Duration::from_millis(1000));
    let mut input = server.stdin.take().expect("its input");
    writeln!(input, "how much").expect("it listens");
    line.clear();
    output.read_line(&mut line).expect("its figures");
    let mut figures = line
        .split_whitespace()
        .filter_map(|word| word.parse::<u64>().ok());
    let (kilobytes, ticks) = (figures.next().unwrap_or(0), figures.next().unwrap_or(0));
    drop(input);
    server.wait().expect("its end");
    let heard: Vec<Vec<(u64, Instant)>> = heard
        .into_iter()
        .map(|ear| ear.join().expect("a screen"))
        .collect();
    let mut screens = Vec::new();
    let asked = asked.lock().expect("no thread failed");
    let mut missed = 0;
    for (revision, began) in asked.iter() {
        for ear in &heard {
            // News that came later and tells of a later revision tells of this one, too.
            let at = ear.partition_point(|(seen, _)| seen < revision);
            match ear.get(at) {
                Some((_, when)) => screens.push(when.saturating_duration_since(*began)),
                None => missed += 1,
            }
        }
    }
    let held = took < Duration::from_secs(seconds) + Duration::from_secs(1) && missed == 0;
    println!(
        "{devices:>8} {rate:>10} {:>9.1} {:>24} {:>32} {:>8.0} {:>8.1} s{}",
        took.as_secs_f64(),
        format!(
            "{:.1} / {:.1}",
            part(&mut waits, 0.5),
            part(&mut waits, 0.99)
        ),
        format!(
            "{:.1} / {:.1} / {:.1}",
            part(&mut screens, 0.5),
            part(&mut screens, 0.99),
            part(&mut screens, 1.0)
        ),
        kilobytes as f64 / 1024.0,
        ticks as f64 / 100.0,
        if missed > 0 {
            format!("; {missed} never seen")
        } else {
            String::new()
        }
    );
    held
}

/// A part of the sorted times, in milliseconds.
fn part(times: &mut [Duration], part: f64) -> f64 {
    times.sort_unstable();
    let last = times.len().saturating_sub(1) as f64;
    times
        .get((last * part).round() as usize)
        .map_or(0.0, |time| time.as_secs_f64() * 1000.0)
}
