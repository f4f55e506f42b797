//! The office killed at random moments while devices report to it over HTTP; and a whole rehearsal.

#![allow(clippy::print_stdout, reason = "says what was shown")]

use std::{
    collections::BTreeMap,
    io::{BufRead as _, BufReader},
    net::SocketAddr,
    path::Path,
    process::{Child, Command, Stdio},
    sync::{
        Arc, Mutex,
        atomic::{AtomicBool, AtomicU64, Ordering},
    },
    thread,
    time::Duration,
};

use session::{Journal, Request, What, journal::wall_watch};
use web::client::{Client, Said};

fn sawby() -> Command {
    Command::new(env!("CARGO_BIN_EXE_sawby"))
}

/// The office of a folder, served: the process and its address.
fn serve(road: &Path) -> (Child, SocketAddr) {
    let mut child = sawby()
        .args(["serve", "--port", "0"])
        .arg(road)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let said = BufReader::new(child.stdout.take().unwrap())
        .lines()
        .next()
        .unwrap()
        .unwrap();
    let at = said
        .split_whitespace()
        .find_map(|word| word.strip_prefix("http://"))
        .and_then(|at| at.trim_end_matches('/').parse().ok())
        .unwrap_or_else(|| panic!("no address in `{said}`"));
    (child, at)
}

fn note(key: &str) -> Request {
    Request {
        key: key.into(),
        seen: None,
        command: session::Command::Note {
            train: None,
            text: key.into(),
        },
    }
}

#[test]
fn what_the_office_answered_is_there_after_every_kill_and_once() {
    let kills: usize = std::env::var("SAWBY_KILLS")
        .ok()
        .and_then(|kills| kills.parse().ok())
        .unwrap_or(25);
    let folder = tempfile::tempdir().unwrap();
    let road = folder.path().join("road");
    let made = sawby()
        .args(["new", "--learning"])
        .arg(&road)
        .output()
        .unwrap();
    let made = if made.status.success() {
        made
    } else {
        sawby().arg("new").arg(&road).output().unwrap()
    };
    assert!(
        made.status.success(),
        "{}",
        String::from_utf8_lossy(&made.stderr)
    );
    // A session is begun on the journal that the office keeps; the office takes it up.
    let place = road.join("session");
    std::fs::create_dir_all(&place).unwrap();
    let journal = place.join("journal.sqlite");
    let begun = Journal::open(&journal, wall_watch()).unwrap();
    begun.begin(opening(), &session::Who::office()).unwrap();
    drop(begun);
    let done: Arc<Mutex<BTreeMap<String, u64>>> = Arc::default();
    let said: Arc<Mutex<Vec<String>>> = Arc::default();
    let number = Arc::new(AtomicU64::new(0));
    for round in 0..kills {
        let (mut child, at) = serve(&road);
        let stop = Arc::new(AtomicBool::new(false));
        let again: Vec<String> = {
            let done = done.lock().unwrap();
            let mut said = said.lock().unwrap();
            said.retain(|key| !done.contains_key(key));
            said.clone()
        };
        let devices: Vec<_> = (0..4)
            .map(|device| {
                let (done, said, number, stop) =
                    (done.clone(), said.clone(), number.clone(), stop.clone());
                // What was under way at the last kill is said again under its key, once.
                let mut again: Vec<String> =
                    again.iter().skip(device).step_by(4).cloned().collect();
                thread::spawn(move || {
                    let mut client = Client::new(at);
                    while !stop.load(Ordering::SeqCst) {
                        let key = again.pop().unwrap_or_else(|| {
                            let key = format!("n{}", number.fetch_add(1, Ordering::SeqCst));
                            said.lock().unwrap().push(key.clone());
                            key
                        });
                        match client.say(&note(&key)) {
                            Ok(Said::Done { revision, .. }) => {
                                done.lock().unwrap().insert(key, revision);
                            }
                            Ok(Said::Not { status, words }) => panic!("{status}: {words}"),
                            // The office is gone: nobody knows whether it was done.
                            Err(_) => return,
                        }
                    }
                })
            })
            .collect();
        // At another moment each time, by a simple row of numbers.
        thread::sleep(Duration::from_millis(5 + (round as u64 * 37) % 150));
        child.kill().unwrap();
        child.wait().unwrap();
        stop.store(true, Ordering::SeqCst);
        for device in devices {
            device.join().unwrap();
        }
    }
    let journal = Journal::open(&journal, wall_watch()).unwrap();
    let mut found: BTreeMap<String, u64> = BTreeMap::new();
    for event in journal.events(1, 0, usize::MAX).unwrap() {
        if let What::Noted { text, .. } = event.what {
            let before = found.insert(text.clone(), event.revision);
            assert!(before.is_none(), "{text} was done twice");
        }
    }
    let done = done.lock().unwrap();
    for (key, revision) in done.iter() {
        assert_eq!(found.get(key), Some(revision), "{key} was answered");
    }
    println!(
        "{kills} kills of the office, {} reports answered",
        done.len()
    );
    assert!(
        done.len() > kills,
        "too few reports to show anything: {}",
        done.len()
    );
}

/// A session as small as one can be: two stations, no trains. What is asked for here is the journal.
fn opening() -> session::Opening {
    let station = |name: &str| {
        serde_json::json!({
            "name": name, "kind": "station", "office": null,
            "tracks": [{ "name": "main", "usage": "main", "room": 3.0, "spots": [], "holds_cars": false }]
        })
    };
    serde_json::from_value(serde_json::json!({
        "railroad": "two stations", "name": "kept", "date": null, "day": 0, "method": "signals",
        "begins": 21600, "ratio": [6, 1], "twenty_four": true, "extras_by_direction": false,
        "hours_of_service": 57600, "stations": [station("Alder"), station("Birch")],
        "districts": [], "trains": [], "not_today": [], "cars": [], "bills": [], "orders": [],
        "jobs": [], "people": []
    }))
    .unwrap()
}

#[test]
fn a_rehearsal_runs_over_http_to_its_close() {
    let folder = tempfile::tempdir().unwrap();
    let road = folder.path().join("road");
    let made = sawby().arg("new").arg(&road).output().unwrap();
    assert!(made.status.success());
    let played = sawby()
        .args(["rehearse", "--speed", "150", "--seed", "3"])
        .arg(&road)
        .output()
        .unwrap();
    let words = String::from_utf8_lossy(&played.stdout);
    assert!(
        played.status.success(),
        "{words}{}",
        String::from_utf8_lossy(&played.stderr)
    );
    assert!(
        words.contains("rehearsal 3:") && words.contains("came in"),
        "{words}"
    );
    // A rehearsal is no part of the railroad's history.
    assert!(!road.join("session").exists());
}
