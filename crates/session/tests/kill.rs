//! The program killed at random moments under load, and a disk that fills up or cannot be written: real
//! ones, in a child process.
//!
//! `SAWBY_KILLS=300 cargo test --release -p session --test kill` kills as often as a benchmark asks for.

#![allow(
    clippy::print_stdout,
    reason = "says what was shown, and what this machine cannot show"
)]

mod common;

use std::{
    collections::{BTreeMap, BTreeSet},
    io::{BufRead as _, BufReader, Write as _},
    path::Path,
    process::{Command as Process, Stdio},
    sync::{Arc, Mutex},
    time::Duration,
};

use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;
use session::{
    Answer, Journal, Request, Trouble, What, Who, command::Command, journal::wall_watch,
};
use transportation::Method;

/// Set in the child: what it is to do.
const CHILD: &str = "SAWBY_JOURNAL_CHILD";
/// Set in the child: the journal.
const PATH: &str = "SAWBY_JOURNAL_PATH";

/// Devices that talk at the same time.
const DEVICES: usize = 8;

fn note(key: &str) -> Request {
    Request {
        key: key.into(),
        seen: None,
        command: Command::Note {
            train: None,
            text: key.into(),
        },
    }
}

/// Not a test of its own: the child of those below.
#[test]
fn child() {
    let Some(role) = std::env::var_os(CHILD) else {
        return;
    };
    let path = std::env::var_os(PATH).expect("the child is told where the journal is");
    let path = Path::new(&path);
    match role.to_str() {
        Some("talk") => talk(path),
        Some("fill") => fill(path),
        Some("read-only") => read_only(path),
        other => panic!("{other:?}"),
    }
}

/// Devices talk until they are killed. A key is printed when it is acknowledged; each key is sent twice at
/// the same time now and then, and that which was under way when the last child was killed is sent again.
fn talk(path: &Path) {
    let journal = Journal::open(path, wall_watch()).unwrap();
    if journal.state().is_none() {
        let opening = common::day(1, Method::Signals);
        journal.begin(opening, &Who::office()).unwrap();
    }
    let under_way: Vec<String> = std::io::stdin().lines().map_while(Result::ok).collect();
    let out = Mutex::new(std::io::stdout());
    let say = |line: String| {
        let mut out = out.lock().unwrap();
        writeln!(out, "\n{line}")
            .and_then(|()| out.flush())
            .unwrap();
    };
    say("ready".into());
    let run = std::process::id();
    std::thread::scope(|all| {
        for device in 0..DEVICES {
            let (journal, say) = (journal.clone(), &say);
            let again: Vec<&String> = under_way
                .iter()
                .enumerate()
                .filter(|(at, _)| at % DEVICES == device)
                .map(|(_, key)| key)
                .collect();
            all.spawn(move || {
                for key in again {
                    let receipt = journal.submit(&Who::office(), &note(key)).unwrap();
                    say(format!("done {key} {}", receipt.revision));
                }
                for number in 0.. {
                    let key = format!("{run}-{device}-{number}");
                    say(format!("said {key}"));
                    let receipt = journal.submit(&Who::office(), &note(&key)).unwrap();
                    say(format!("done {key} {}", receipt.revision));
                    if number % 5 == 0 {
                        let again = journal.submit(&Who::office(), &note(&key)).unwrap();
                        assert!(again.repeated && again.revision == receipt.revision);
                    }
                }
            });
        }
    });
}

fn spawn(role: &str, path: &Path) -> Process {
    let mut child = Process::new(std::env::current_exe().unwrap());
    child
        .args(["--exact", "child", "--nocapture", "--test-threads", "1"])
        .env(CHILD, role)
        .env(PATH, path)
        .stdout(Stdio::piped())
        .stderr(Stdio::null());
    child
}

#[test]
fn nothing_acknowledged_is_lost_and_nothing_is_done_twice() {
    if std::env::var_os(CHILD).is_some() {
        return;
    }
    let kills: usize = std::env::var("SAWBY_KILLS")
        .ok()
        .and_then(|kills| kills.parse().ok())
        .unwrap_or(25);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sessions.db");
    let mut dice = Pcg64::seed_from_u64(9);
    let mut done: BTreeMap<String, u64> = BTreeMap::new();
    let mut said: BTreeSet<String> = BTreeSet::new();
    let mut unanswered = 0;
    for _ in 0..kills {
        let mut child = spawn("talk", &path).stdin(Stdio::piped()).spawn().unwrap();
        let under_way: Vec<String> = said
            .iter()
            .filter(|key| !done.contains_key(*key))
            .cloned()
            .collect();
        unanswered += under_way.len();
        // Those that were under way may have been carried out or not; they are sent again under their keys.
        let mut input = child.stdin.take().unwrap();
        for key in &under_way {
            writeln!(input, "{key}").unwrap();
        }
        drop(input);
        let output = BufReader::new(child.stdout.take().unwrap());
        let lines = Arc::new(Mutex::new(Vec::new()));
        let heard = Arc::clone(&lines);
        let (ready, is_ready) = std::sync::mpsc::channel();
        let listener = std::thread::spawn(move || {
            for line in output.lines().map_while(Result::ok) {
                if line == "ready" {
                    let _ = ready.send(());
                }
                heard.lock().unwrap().push(line);
            }
        });
        is_ready
            .recv_timeout(Duration::from_secs(60))
            .expect("the child opens the journal it left");
        std::thread::sleep(Duration::from_micros(dice.random_range(0..60_000)));
        child.kill().unwrap();
        child.wait().unwrap();
        listener.join().unwrap();
        for line in lines.lock().unwrap().drain(..) {
            let parts: Vec<&str> = line.split(' ').collect();
            match parts.as_slice() {
                ["said", key] => {
                    said.insert((*key).to_owned());
                }
                ["done", key, revision] => {
                    done.insert((*key).to_owned(), revision.parse().unwrap());
                }
                // The last line may have been cut short.
                _ => {}
            }
        }
    }
    let journal = Journal::open(&path, wall_watch()).unwrap();
    let mut at: BTreeMap<String, u64> = BTreeMap::new();
    for event in journal.events(1, 0, usize::MAX).unwrap() {
        if let What::Noted { text, .. } = event.what {
            let before = at.insert(text.clone(), event.revision);
            assert!(
                before.is_none(),
                "{text} was done twice: {before:?} and {}",
                event.revision
            );
        }
    }
    for (key, revision) in &done {
        assert_eq!(at.get(key), Some(revision), "{key} was acknowledged");
    }
    assert_eq!(
        journal.replay(1).unwrap().save(),
        journal.state().unwrap().save()
    );
    println!(
        "{kills} kills, {} commands acknowledged, {unanswered} sent again after a kill",
        done.len()
    );
    assert!(
        done.len() > kills,
        "the load was too light to show anything: {}",
        done.len()
    );
}

/// Runs a child with a small disk of its own, if this machine lets one be made.
fn with_small_disk(kilobytes: u32, steps: &str) -> Option<String> {
    let folder = tempfile::tempdir().unwrap();
    let exe = std::env::current_exe().unwrap();
    let script = format!(
        "mount -t tmpfs -o size={kilobytes}k tmpfs {disk} || exit 77\n{steps}",
        disk = folder.path().display()
    );
    let run = Process::new("unshare")
        .args(["--user", "--map-root-user", "--mount", "sh", "-c", &script])
        .env("EXE", &exe)
        .env("DISK", folder.path())
        .env(PATH, folder.path().join("sessions.db"))
        .stderr(Stdio::null())
        .output();
    let output = match run {
        Ok(output) if output.status.code() != Some(77) && !output.stdout.is_empty() => output,
        _ => {
            println!("no disk of its own can be made for the test here: nothing was shown");
            return None;
        }
    };
    Some(String::from_utf8_lossy(&output.stdout).into_owned())
}

const RUN: &str = "\"$EXE\" --exact child --nocapture --test-threads 1";

#[test]
fn a_disk_that_is_really_full_is_refused_with_nothing_harmed() {
    if std::env::var_os(CHILD).is_some() {
        return;
    }
    let steps = format!("{CHILD}=fill {RUN}");
    let Some(told) = with_small_disk(700, &steps) else {
        return;
    };
    assert!(told.contains("refused, kept, and went on"), "{told}");
}

/// Fills the disk with notes, makes room, goes on.
fn fill(path: &Path) {
    let ballast = path.with_file_name("ballast");
    std::fs::write(&ballast, vec![1_u8; 150_000]).unwrap();
    let journal = Journal::open(path, wall_watch()).unwrap();
    journal
        .begin(common::day(1, Method::Signals), &Who::office())
        .unwrap();
    let long = "x".repeat(1900);
    let mut kept = 1;
    let trouble = (0..2000).find_map(|number| {
        let key = format!("{number}");
        let request = Request {
            command: Command::Note {
                train: None,
                text: long.clone(),
            },
            ..note(&key)
        };
        match journal.submit(&Who::office(), &request) {
            Ok(receipt) => {
                kept = receipt.revision;
                None
            }
            Err(Answer::Trouble(trouble)) => Some(trouble),
            Err(other) => panic!("{other}"),
        }
    });
    let trouble = trouble.expect("a small disk is full at last");
    assert!(matches!(trouble, Trouble::Full(_)), "{trouble:?}");
    assert_eq!(journal.state().unwrap().revision(), kept);
    drop(journal);
    // Make room, and everything acknowledged is there.
    std::fs::remove_file(ballast).unwrap();
    let journal = Journal::open(path, wall_watch()).unwrap();
    assert_eq!(journal.state().unwrap().revision(), kept);
    assert_eq!(journal.replay(1).unwrap().revision(), kept);
    journal.submit(&Who::office(), &note("room again")).unwrap();
    println!("\nrefused, kept, and went on");
}

#[test]
fn a_disk_that_is_really_read_only_is_refused_with_nothing_changed() {
    if std::env::var_os(CHILD).is_some() {
        return;
    }
    let steps = format!(
        "{CHILD}=fill {RUN} >/dev/null\n\
        before=$(cksum \"$DISK\"/*)\n\
        mount -o remount,ro \"$DISK\" || exit 77\n\
        {CHILD}=read-only {RUN}\n\
        [ \"$before\" = \"$(cksum \"$DISK\"/*)\" ] && echo unchanged"
    );
    let Some(told) = with_small_disk(700, &steps) else {
        return;
    };
    assert!(
        told.contains("refused: ") && told.contains("read-only"),
        "{told}"
    );
    assert!(told.trim_end().ends_with("unchanged"), "{told}");
}

fn read_only(path: &Path) {
    match Journal::open(path, wall_watch()) {
        Err(trouble @ Trouble::ReadOnly(_)) => println!("\nrefused: {trouble}"),
        other => panic!("{other:?}"),
    }
}
