//! The journal on disk: what it acknowledged it keeps, what it cannot keep it refuses.

#![allow(
    clippy::print_stdout,
    reason = "says what was shown, and what this machine cannot show"
)]

mod common;

use std::{
    io::BufReader,
    path::{Path, PathBuf},
    sync::{Arc, Mutex},
};

use common::Watch;
use model::time::{RailSpan, RailTime};
use session::{
    Answer, Journal, Request, Role, State, Trouble, What, Who, Why, command::Command,
    journal::Bounds, rehearse::Crews,
};
use transportation::Method;

struct Desk {
    folder: tempfile::TempDir,
    watch: Watch,
}

impl Desk {
    fn new() -> Self {
        let watch = Watch::default();
        watch.set(1_000_000);
        Self {
            folder: tempfile::tempdir().unwrap(),
            watch,
        }
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("sessions.db")
    }

    fn open(&self) -> Journal {
        Journal::open(&self.path(), self.watch.watch()).unwrap()
    }

    fn begun(&self) -> Journal {
        let journal = self.open();
        let opening = common::day(3, Method::TrackWarrant);
        journal.begin(opening, &Who::office()).unwrap();
        journal
    }
}

fn request(key: &str, command: Command) -> Request {
    Request {
        key: key.into(),
        seen: None,
        command,
    }
}

fn note(text: &str) -> Command {
    Command::Note {
        train: None,
        text: text.into(),
    }
}

fn who(device: &str) -> Who {
    Who {
        name: device.to_uppercase(),
        device: device.into(),
        role: Role::Visitor,
    }
}

/// Has a device join with a role.
fn admit(journal: &Journal, device: &str, role: Role) -> Who {
    let who = who(device);
    let join = Command::Join {
        device: device.into(),
        name: who.name.clone(),
    };
    let grant = Command::Grant {
        device: device.into(),
        role,
    };
    let office = Who::office();
    journal
        .submit(&office, &request(&format!("j {device}"), join))
        .unwrap();
    journal
        .submit(&office, &request(&format!("g {device}"), grant))
        .unwrap();
    who
}

fn refused(answer: Result<session::Receipt, Answer>) -> session::Refused {
    match answer {
        Err(Answer::Refused(refused)) => *refused,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_command_sent_again_is_carried_out_once() {
    let desk = Desk::new();
    let journal = desk.begun();
    let first = journal
        .submit(&Who::office(), &request("k1", note("one")))
        .unwrap();
    let again = journal
        .submit(&Who::office(), &request("k1", note("one")))
        .unwrap();
    assert!(!first.repeated && again.repeated);
    assert_eq!(first.revision, again.revision);
    drop(journal);
    // Nor after the program was started again.
    let journal = desk.open();
    let again = journal
        .submit(&Who::office(), &request("k1", note("one")))
        .unwrap();
    assert!(again.repeated && again.revision == first.revision);
    let notes = journal
        .events(1, 0, 100)
        .unwrap()
        .into_iter()
        .filter(|event| matches!(&event.what, What::Noted { text, .. } if text == "one"))
        .count();
    assert_eq!(notes, 1);
}

#[test]
fn a_refused_command_leaves_no_trace_and_may_be_said_again() {
    let desk = Desk::new();
    let journal = desk.begun();
    let stop = Command::StopClock { why: String::new() };
    let no = refused(journal.submit(&Who::office(), &request("k", stop.clone())));
    assert_eq!(no.to_string(), "The clock stands already.");
    journal
        .submit(&Who::office(), &request("s", Command::StartClock))
        .unwrap();
    assert!(journal.submit(&Who::office(), &request("k", stop)).is_ok());
    let no = refused(journal.submit(&Who::office(), &request("", Command::StartClock)));
    assert!(no.found.contains("0 bytes"));
}

#[test]
fn the_clock_stands_after_a_restart_where_it_was_last_shown() {
    let desk = Desk::new();
    let journal = desk.begun();
    journal
        .submit(&Who::office(), &request("s", Command::StartClock))
        .unwrap();
    desk.watch.set(1_000_000 + 600_000);
    journal
        .submit(&Who::office(), &request("n", note("an hour later")))
        .unwrap();
    let shown = journal.state().unwrap().rail(journal.now());
    assert_eq!(shown, RailTime::from_hm(7, 0));
    drop(journal);
    // The computer's clock was set back, and days have passed besides: it shows what it showed.
    for later in [5_000, 900_000_000] {
        desk.watch.set(later);
        let journal = desk.open();
        let state = journal.state().unwrap();
        assert_eq!(state.rail(journal.now()), RailTime::from_hm(7, 0));
        assert!(!state.sheet.clock.runs);
    }
    let journal = desk.open();
    journal
        .submit(&Who::office(), &request("s2", Command::StartClock))
        .unwrap();
    desk.watch.set(900_000_000 + 60_000);
    let state = journal.state().unwrap();
    assert_eq!(
        state.rail(journal.now()),
        RailTime::from_hm(7, 0) + RailSpan::from_minutes(6)
    );
    // Back it does not go, not even when told.
    let back = Command::JumpClock {
        to: RailTime::from_hm(6, 30),
    };
    let no = refused(journal.submit(&Who::office(), &request("b", back)));
    assert!(no.to_string().contains("The clock shows 7:06"), "{no}");
}

#[test]
fn what_a_running_clock_shows_between_events_is_not_lost() {
    let desk = Desk::new();
    let journal = desk.begun();
    journal
        .submit(&Who::office(), &request("s", Command::StartClock))
        .unwrap();
    desk.watch.set(1_000_000 + 60_000);
    // The writer notes the time every two seconds.
    let began = std::time::Instant::now();
    while began.elapsed() < std::time::Duration::from_millis(4500) {
        std::thread::sleep(std::time::Duration::from_millis(100));
    }
    drop(journal);
    desk.watch.set(0);
    let journal = desk.open();
    let state = journal.state().unwrap();
    assert_eq!(state.rail(journal.now()), RailTime::from_hm(6, 6));
}

#[test]
fn a_session_taken_up_again_is_the_one_that_was_left() {
    let desk = Desk::new();
    let journal = desk.begun();
    let left = run(&desk, &journal, 900);
    assert!(
        left.revision() > 500,
        "a snapshot was due: {}",
        left.revision()
    );
    drop(journal);
    let again = desk.open();
    let taken_up = again.state().unwrap();
    // But for the line that says that the clock was stopped.
    let mut before = (*left).clone();
    for event in again.events(1, left.revision(), 10).unwrap() {
        before.apply(&event);
    }
    assert_eq!(before.save(), taken_up.save());
    // And all of it replayed from the first line is the same.
    assert_eq!(again.replay(1).unwrap().save(), taken_up.save());
}

/// Plays a session on a journal, at most so many commands.
fn run(desk: &Desk, journal: &Journal, most: usize) -> Arc<State> {
    let mut crews = Crews::new(5, true);
    let mut given = 0;
    for number in 0..20_000 {
        let state = journal.state().unwrap();
        let rail = state.rail(journal.now());
        if given >= most {
            break;
        }
        let Some(said) = crews.next(&state, rail) else {
            let ahead = crews.wakes(rail) - rail;
            desk.watch
                .set(journal.now() + state.sheet.clock.real_millis(ahead).max(1000));
            if Crews::all_in(&state) {
                journal
                    .submit(
                        &Who::office(),
                        &request(&format!("x{number}"), note("still here")),
                    )
                    .unwrap();
                given += 1;
            }
            continue;
        };
        given += 1;
        let answer = journal.submit(
            &said.who,
            &request(&format!("r{number}"), said.command.clone()),
        );
        match answer {
            Ok(_) => crews.hear(&said, rail, Ok(&journal.state().unwrap())),
            Err(Answer::Refused(no)) => crews.hear(&said, rail, Err(&no)),
            Err(trouble) => panic!("{trouble}"),
        }
    }
    journal.state().unwrap()
}

#[test]
fn many_devices_at_once_are_put_on_disk_in_groups() {
    let desk = Desk::new();
    let journal = desk.begun();
    let heard = Arc::new(Mutex::new(Vec::new()));
    let ear = Arc::clone(&heard);
    journal.listen(Box::new(move |events, state| {
        let mut heard = ear.lock().unwrap();
        heard.extend(events.iter().map(|event| event.revision));
        assert_eq!(state.revision(), events.last().unwrap().revision);
    }));
    std::thread::scope(|all| {
        for device in 0..8 {
            let journal = journal.clone();
            all.spawn(move || {
                for number in 0..40 {
                    let key = format!("{device}-{number}");
                    let receipt = journal
                        .submit(&Who::office(), &request(&key, note(&key)))
                        .unwrap();
                    // What is acknowledged can be read from the disk.
                    let found = journal.events(1, receipt.revision - 1, 1).unwrap();
                    assert!(matches!(&found[0].what, What::Noted { text, .. } if *text == key));
                }
            });
        }
    });
    let health = journal.health();
    assert_eq!(health.carried_out, 320);
    assert!(health.commits <= 320);
    let heard = heard.lock().unwrap();
    assert_eq!(
        *heard,
        (2..=321).collect::<Vec<u64>>(),
        "in order, none left out"
    );
}

#[test]
fn two_programs_do_not_keep_one_journal() {
    let desk = Desk::new();
    let _journal = desk.begun();
    let second = Journal::open(&desk.path(), desk.watch.watch());
    assert!(matches!(second, Err(Trouble::InUse(_))), "{second:?}");
}

#[test]
fn a_full_disk_is_refused_and_nothing_is_harmed() {
    let desk = Desk::new();
    let opening = common::day(3, Method::TrackWarrant);
    let bounds = Bounds { pages: Some(40) };
    let journal = Journal::open_within(&desk.path(), desk.watch.watch(), bounds).unwrap();
    journal.begin(opening, &Who::office()).unwrap();
    let long = "x".repeat(1500);
    let mut kept = 0;
    let trouble = (0..500)
        .find_map(|number| {
            let said = journal.submit(&Who::office(), &request(&format!("{number}"), note(&long)));
            match said {
                Ok(receipt) => {
                    kept = receipt.revision;
                    None
                }
                Err(Answer::Trouble(trouble)) => Some(trouble),
                Err(other) => panic!("{other}"),
            }
        })
        .expect("forty pages are not for five hundred long notes");
    assert!(matches!(trouble, Trouble::Full(_)), "{trouble:?}");
    assert!(
        trouble.to_string().contains("has not happened"),
        "{trouble}"
    );
    // The state is that of the last line on disk, and looking still works.
    assert_eq!(journal.state().unwrap().revision(), kept);
    assert_eq!(journal.health().trouble, Some(trouble));
    drop(journal);
    // With room again, everything acknowledged is there and it goes on.
    let journal = desk.open();
    assert_eq!(journal.state().unwrap().revision(), kept);
    assert!(
        journal
            .submit(&Who::office(), &request("more", note("more")))
            .is_ok()
    );
}

#[test]
fn a_journal_that_cannot_be_written_is_refused() {
    let desk = Desk::new();
    drop(desk.begun());
    let folder = desk.folder.path().to_owned();
    let before = std::fs::read(desk.path()).unwrap();
    // Whoever may do everything is not held by permissions: then the disk itself is made read-only.
    set_read_only(&folder, true);
    let probe = std::fs::write(folder.join("probe"), "x");
    if probe.is_ok() {
        set_read_only(&folder, false);
        println!("this account writes in spite of permissions: see the test of a small disk");
        return;
    }
    let refused = Journal::open(&desk.path(), desk.watch.watch());
    set_read_only(&folder, false);
    assert!(matches!(refused, Err(Trouble::ReadOnly(_))), "{refused:?}");
    assert_eq!(std::fs::read(desk.path()).unwrap(), before);
}

fn set_read_only(folder: &Path, read_only: bool) {
    use std::os::unix::fs::PermissionsExt as _;
    let mode = |file| {
        if read_only {
            if file { 0o444 } else { 0o555 }
        } else {
            0o755
        }
    };
    for entry in std::fs::read_dir(folder).unwrap() {
        let permissions = std::fs::Permissions::from_mode(mode(true));
        std::fs::set_permissions(entry.unwrap().path(), permissions).unwrap();
    }
    std::fs::set_permissions(folder, std::fs::Permissions::from_mode(mode(false))).unwrap();
}

#[test]
fn files_that_are_no_journal_are_left_alone() {
    let desk = Desk::new();
    std::fs::write(desk.path(), "this is a list of engines, not a journal").unwrap();
    let refused = Journal::open(&desk.path(), desk.watch.watch());
    assert!(
        matches!(refused, Err(Trouble::Damaged { .. })),
        "{refused:?}"
    );
    assert_eq!(
        std::fs::read_to_string(desk.path()).unwrap(),
        "this is a list of engines, not a journal"
    );
    let other = desk.folder.path().join("other.db");
    let db = rusqlite::Connection::open(&other).unwrap();
    db.execute_batch("CREATE TABLE engines (number TEXT)")
        .unwrap();
    drop(db);
    let refused = Journal::open(&other, desk.watch.watch());
    assert!(
        matches!(refused, Err(Trouble::Damaged { .. })),
        "{refused:?}"
    );
    let newer = desk.folder.path().join("newer.db");
    let db = rusqlite::Connection::open(&newer).unwrap();
    db.pragma_update(None, "user_version", 99).unwrap();
    drop(db);
    let refused = Journal::open(&newer, desk.watch.watch()).unwrap_err();
    assert!(refused.to_string().contains("of version 99"), "{refused}");
}

/// `journal-1.db` was written by the first version, with the keys beside the events.
#[test]
fn a_journal_of_the_first_version_is_brought_up_to_date() {
    let desk = Desk::new();
    let old = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/old/journal-1.db");
    std::fs::copy(&old, desk.path()).unwrap();
    let db = rusqlite::Connection::open(desk.path()).unwrap();
    let version: i64 = db
        .pragma_query_value(None, "user_version", |row| row.get(0))
        .unwrap();
    assert_eq!(version, 1);
    drop(db);
    let journal = desk.open();
    let state = journal.state().unwrap();
    assert_eq!(state.opening.name, "an evening long ago");
    let texts: Vec<&str> = state
        .sheet
        .notes
        .iter()
        .map(|note| note.text.as_str())
        .collect();
    assert_eq!(texts, ["the session is open", "one", "two", "three"]);
    // A key of then is still known: of a command of two events, of one of one.
    for (key, revision) in [("key of one", 2), ("key of two and three", 4)] {
        let again = journal
            .submit(&Who::office(), &request(key, note("again")))
            .unwrap();
        assert!(again.repeated);
        assert_eq!(again.revision, revision);
    }
    assert!(
        journal
            .submit(&Who::office(), &request("new", note("four")))
            .is_ok()
    );
    drop(journal);
    // Brought up to date once and for all.
    assert_eq!(desk.open().state().unwrap().sheet.notes.len(), 5);
}

/// Writes the file of the test above, as the first version did; run by hand when that test's railroad has
/// to change: `SAWBY_WRITE_OLD=1 cargo test -p session --test journal writes_the_old_file`.
#[test]
fn writes_the_old_file() {
    if std::env::var_os("SAWBY_WRITE_OLD").is_none() {
        return;
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/old/journal-1.db");
    let _ = std::fs::remove_file(&path);
    let mut opening = common::day(1, Method::Signals);
    opening.name = "an evening long ago".into();
    let db = rusqlite::Connection::open(&path).unwrap();
    db.execute_batch(
        "CREATE TABLE session (id INTEGER PRIMARY KEY, railroad TEXT NOT NULL, name TEXT NOT NULL,
            opened INTEGER NOT NULL, archived INTEGER, opening TEXT NOT NULL) STRICT;
        CREATE TABLE event (session INTEGER NOT NULL REFERENCES session (id), revision INTEGER NOT NULL,
            real INTEGER NOT NULL, rail INTEGER NOT NULL, who TEXT NOT NULL, key TEXT, body TEXT NOT NULL,
            PRIMARY KEY (session, revision)) STRICT, WITHOUT ROWID;
        PRAGMA user_version = 1;",
    )
    .unwrap();
    let body = serde_json::to_string(&opening).unwrap();
    db.execute(
        "INSERT INTO session VALUES (1, 'Slate Valley', 'an evening long ago', 1000, NULL, ?1)",
        [body],
    )
    .unwrap();
    let lines = [
        ("the session is open", None),
        ("one", Some("key of one")),
        ("two", Some("key of two and three")),
        ("three", None),
    ];
    for (at, (text, key)) in lines.into_iter().enumerate() {
        let event = session::Event {
            revision: at as u64 + 1,
            real: 1000 + at as i64,
            rail: opening.begins,
            who: Who::office(),
            what: What::Noted {
                train: None,
                text: text.into(),
            },
        };
        db.execute(
            "INSERT INTO event VALUES (1, ?1, ?2, ?3, 'the office', ?4, ?5)",
            rusqlite::params![
                event.revision as i64,
                event.real,
                event.rail.seconds(),
                key,
                serde_json::to_string(&event).unwrap()
            ],
        )
        .unwrap();
    }
}

#[test]
fn a_session_goes_out_as_lines_and_comes_in_again() {
    let desk = Desk::new();
    let journal = desk.begun();
    run(&desk, &journal, 200);
    let mut lines = Vec::new();
    journal.export(1, &mut lines).unwrap();
    let id = journal
        .import(&mut BufReader::new(lines.as_slice()))
        .unwrap();
    assert_eq!(id, 2);
    assert_eq!(
        journal.replay(1).unwrap().save(),
        journal.replay(2).unwrap().save()
    );
    let mut again = Vec::new();
    journal.export(2, &mut again).unwrap();
    assert_eq!(lines, again);
    let sessions = journal.sessions().unwrap();
    assert!(sessions[0].archived.is_none() && sessions[1].archived.is_some());
    // A line lost, turned or foreign is told by its number, and nothing is taken in.
    let text = String::from_utf8(lines).unwrap();
    let all: Vec<&str> = text.lines().collect();
    let mut lost = all.clone();
    lost.remove(5);
    let mut foreign = all.clone();
    foreign[3] = "{\"engine\": 12}";
    for (broken, line) in [(lost, 6), (foreign, 4), (all[1..].to_vec(), 1), (vec![], 1)] {
        let text = broken.join("\n");
        match journal.import(&mut BufReader::new(text.as_bytes())) {
            Err(Trouble::Import { line: at, .. }) => assert_eq!(at, line),
            other => panic!("{other:?}"),
        }
    }
    assert_eq!(journal.sessions().unwrap().len(), 2);
}

#[test]
fn sessions_follow_each_other_and_are_kept() {
    let desk = Desk::new();
    let journal = desk.begun();
    let next = common::day(4, Method::Sequence);
    let early = journal.begin(next.clone(), &Who::office());
    assert_eq!(early, Err(Trouble::Open("day 3".into())));
    journal
        .submit(&Who::office(), &request("c", Command::CloseOut))
        .unwrap();
    let no = refused(journal.submit(&Who::office(), &request("n", note("too late"))));
    assert_eq!(no.why, Why::Closed);
    let second = journal.begin(next, &Who::office()).unwrap();
    assert_eq!(second, 2);
    assert_eq!(journal.state().unwrap().opening.name, "day 4");
    // The same key is another command's in another session.
    assert!(
        !journal
            .submit(&Who::office(), &request("c", note("new")))
            .unwrap()
            .repeated
    );
    let sessions = journal.sessions().unwrap();
    assert!(sessions[0].archived.is_some() && sessions[1].archived.is_none());
    assert!(journal.replay(1).unwrap().sheet.closed.is_some());
    assert_eq!(journal.archive(), Err(Trouble::Open("day 4".into())));
}

#[test]
fn the_journal_says_what_a_device_may_do() {
    let desk = Desk::new();
    let journal = desk.begun();
    // Whatever it says of itself.
    let mut stranger = who("stranger");
    stranger.role = Role::Superintendent;
    let no = refused(journal.submit(&stranger, &request("a", Command::StartClock)));
    assert_eq!(no.why, Why::NotAllowed);
    let jo = admit(&journal, "jo", Role::Dispatcher);
    assert!(
        journal
            .submit(&jo, &request("b", Command::StartClock))
            .is_ok()
    );
    drop(journal);
    let journal = desk.open();
    assert_eq!(journal.state().unwrap().role_of("jo"), Role::Dispatcher);
    assert!(
        journal
            .submit(&jo, &request("c", Command::StartClock))
            .is_ok()
    );
    // Who did what stands in the journal.
    let all = journal.events(1, 0, 100).unwrap();
    let starts = all.iter().filter(|event| event.what == What::ClockStarted);
    assert!(starts.clone().count() == 2 && starts.clone().all(|event| event.who.name == "JO"));
}

#[test]
fn two_devices_in_conflict_are_told_what_has_happened() {
    let desk = Desk::new();
    let journal = desk.begun();
    let (ada, bea) = (
        admit(&journal, "ada", Role::Dispatcher),
        admit(&journal, "bea", Role::Dispatcher),
    );
    let train = journal.state().unwrap().sheet.trains[0]
        .sheet
        .symbol
        .clone();
    let change = |engine: &str| Command::ChangeEngines {
        train: train.clone(),
        engines: vec![engine.into()],
        why: "the motor stalls".into(),
    };
    let seen = journal.state().unwrap().revision();
    let say = |who: &Who, key: &str, seen, command| {
        let request = Request {
            key: key.into(),
            seen: Some(seen),
            command,
        };
        journal.submit(who, &request)
    };
    say(&ada, "1", seen, change("900")).unwrap();
    let no = refused(say(&bea, "2", seen, change("901")));
    assert_eq!(
        (no.why, no.seen, no.now),
        (Why::Meanwhile, Some(seen), seen + 1)
    );
    let words = no.to_string();
    assert!(
        words.contains("now has 900: the motor stalls, by ADA"),
        "{words}"
    );
    // Having looked, she may.
    assert!(say(&bea, "3", seen + 1, change("901")).is_ok());
    // What does not go any more tells by whom it was done.
    let stop = Command::StopEverything {
        why: "a hand in the way".into(),
    };
    say(&ada, "4", seen + 2, stop.clone()).unwrap();
    let no = refused(say(&bea, "5", seen + 2, stop));
    assert!(no.to_string().contains("by ADA"), "{no}");
}
