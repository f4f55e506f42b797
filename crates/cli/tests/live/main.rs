//! A session in real browsers: the superintendent at a desk, a crew with a phone. They come in by code,
//! call a crew, run a train, do a town's work, break something, plan anew, finish and close out; two devices
//! say the same thing; a phone loses the office and finds it again. Pictures are kept in
//! `target/office-pictures`. Where there is no Chromium the test says so and passes.

#![allow(
    clippy::print_stdout,
    reason = "says what was skipped and what was measured"
)]

#[path = "../office/driver.rs"]
#[allow(dead_code, reason = "the office's own tests use the rest")]
mod driver;

use std::{
    io::{BufRead as _, BufReader},
    process::{Child, Command, Stdio},
    sync::mpsc,
    time::Duration,
};

use driver::{Size, Window, audit, auditor};
use serde_json::json;

/// An office with a door, on a port of its own.
struct Held {
    _folder: tempfile::TempDir,
    road: std::path::PathBuf,
    address: String,
    code: String,
    chief: String,
    sawby: Child,
}

impl Drop for Held {
    fn drop(&mut self) {
        let _ = self.sawby.kill();
        let _ = self.sawby.wait();
    }
}

fn start(road: &std::path::Path, port: &str) -> (Child, String, String, String) {
    let mut sawby = Command::new(env!("CARGO_BIN_EXE_sawby"))
        .args(["serve", "--codes", "--port", port])
        .arg(road)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let lines = BufReader::new(sawby.stdout.take().unwrap()).lines();
    let (said, heard) = mpsc::channel();
    std::thread::spawn(move || {
        for line in lines.map_while(Result::ok) {
            let _ = said.send(line);
        }
    });
    let find = |mark: &str| loop {
        let line: String = heard
            .recv_timeout(Duration::from_secs(60))
            .unwrap_or_else(|_| panic!("never said: {mark}"));
        if let Some((_, rest)) = line.split_once(mark) {
            return rest.trim().trim_end_matches('/').to_owned();
        }
    };
    let address = find("the office is open at ");
    let code = find("Code to come in:");
    let chief = find("for nobody else:");
    (sawby, address, code, chief)
}

impl Held {
    fn open() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let road = folder.path().join("road");
        let made = Command::new(env!("CARGO_BIN_EXE_sawby"))
            .args(["new", "--learning"])
            .arg(&road)
            .output()
            .unwrap();
        assert!(made.status.success());
        let (sawby, address, code, chief) = start(&road, "0");
        Self {
            _folder: folder,
            road,
            address,
            code,
            chief,
            sawby,
        }
    }

    /// The plug is pulled, and put in again: same port, same folder.
    fn pull_the_plug(&mut self) {
        self.sawby.kill().unwrap();
        self.sawby.wait().unwrap();
    }

    fn back(&mut self) {
        let port = self.address.rsplit(':').next().unwrap().to_owned();
        let (sawby, address, code, _) = start(&self.road, &port);
        assert_eq!((&address, &code), (&self.address, &self.code));
        self.sawby = sawby;
    }
}

async fn go(window: &Window, held: &Held, path: &str) {
    window
        .client
        .goto(&format!("{}{path}", held.address))
        .await
        .unwrap();
}

/// Comes in at the door.
async fn come_in(window: &Window, held: &Held, code: &str, name: &str, wish: &str) {
    go(window, held, &format!("/join?code={code}")).await;
    window.fill("#name", name).await;
    window.press(&format!("input[value={wish}]")).await;
    window.press("form.join button").await;
    window.until("location.pathname === '/session'").await;
}

/// Presses a button by what it says, once it is there.
async fn say(window: &Window, words: &str) {
    let quoted = json!(words);
    let found = format!(
        "[...document.querySelectorAll('main button, #bar button')].find((one) => one.textContent.trim().startsWith({quoted}))"
    );
    window.until(&found).await;
    window
        .script(&format!(
            "const one = {found}; for (let at = one; at; at = at.parentElement) if (at.nodeName === 'DETAILS') at.open = true; one.click(); return true"
        ))
        .await;
}

async fn shows(window: &Window, words: &str) {
    let quoted = json!(words.to_lowercase());
    window
        .until(&format!(
            "document.body.innerText.toLowerCase().includes({quoted})"
        ))
        .await;
}

/// Looks at a page: nothing sticks out, the audit finds nothing, and a picture is kept.
async fn look(window: &Window, name: &str, wrong: &mut Vec<String>) {
    let over = window
        .script(
            "return document.documentElement.scrollWidth - document.documentElement.clientWidth",
        )
        .await;
    if over != json!(0) {
        wrong.push(format!("{name}: {over} pixels wider than the window"));
    }
    if let Some(source) = auditor() {
        let found = audit(window, source, None).await;
        wrong.extend(found.into_iter().map(|line| format!("{name}: {line}")));
    }
    window.picture(&format!("session-{name}")).await;
}

#[tokio::test]
async fn a_session_from_the_first_call_to_the_last_track() {
    if !driver::chromium_is_here() {
        return;
    }
    let (desk, phone) = (
        Window::new(Size::Desk).await,
        Window::new(Size::Phone).await,
    );
    let mut held = Held::open();
    let mut wrong = Vec::new();

    // Nobody comes in without a code.
    go(&phone, &held, "/session").await;
    phone.until("location.pathname === '/join'").await;
    look(&phone, "join-phone", &mut wrong).await;
    come_in(&desk, &held, &held.chief, "Ida", "visitor").await;
    desk.press("form[action='/session/begin'] button").await;
    desk.until("document.querySelector('button[value=open]')")
        .await;
    look(&desk, "begin", &mut wrong).await;
    desk.press("button[value=open]").await;
    desk.until("location.pathname === '/session'").await;

    // A crew comes in by the code on the wall; the superintendent's page shows it by itself.
    go(&desk, &held, "/session/people").await;
    come_in(&phone, &held, &held.code, "Isolde", "crew").await;
    say(&desk, "Make Isolde crew").await;
    shows(&desk, "crew may").await;
    look(&desk, "people", &mut wrong).await;
    shows(&phone, "Isolde, crew").await;

    // She marks up for a job and is called.
    go(&phone, &held, "/session/board").await;
    phone
        .script("document.querySelector('#my-job').value = 'Freight'; return true")
        .await;
    say(&phone, "Mark up").await;
    shows(&phone, "You are on Freight").await;
    look(&phone, "board-phone", &mut wrong).await;
    go(&desk, &held, "/session/board").await;
    say(&desk, "Call No. 1").await;
    look(&desk, "board", &mut wrong).await;
    go(&phone, &held, "/session/trains/1").await;
    shows(&phone, "called, at").await;
    go(&desk, &held, "/session/desk").await;
    say(&desk, "Start the clock").await;

    // Before its time a train may not leave: the office says so, and the page goes on.
    say(&phone, "Leaving The Drawer").await;
    shows(&phone, "before its time").await;
    phone.press("#told button").await;
    go(&desk, &held, "/session/people").await;
    desk.fill("#jump", "7:16").await;
    say(&desk, "Put on").await;
    shows(&phone, "7:1").await;

    // The work at the initial station, then away.
    say(&phone, "Picked up NFAL 21775").await;
    shows(&phone, "done").await;
    say(&phone, "Leaving The Drawer").await;
    shows(&phone, "Arrived at Brindlow").await;
    look(&phone, "train-line-phone", &mut wrong).await;
    go(&desk, &held, "/session/desk").await;
    shows(&desk, "between The Drawer and Brindlow").await;

    // Two devices say the same: the second is told what has happened meanwhile.
    say(&phone, "Arrived at Brindlow").await;
    shows(&phone, "Tie up").await;
    let stale = desk
        .client
        .execute_async(
            "const done = arguments[arguments.length - 1];
             fetch('/session/say', { method: 'POST', headers: { Accept: 'application/json', 'Content-Type': 'application/x-www-form-urlencoded' },
               body: new URLSearchParams({ do: 'arrived', key: 'desk-1', 'seen:n': '5', train: '1', station: 'Brindlow' }) })
               .then(async (answer) => done([answer.status, (await answer.json()).words]))",
            Vec::new(),
        )
        .await
        .unwrap();
    assert_eq!(stale[0], json!(409), "{stale}");
    assert!(stale[1].as_str().unwrap().contains("Isolde"), "{stale}");

    // The town's work, with its drawing.
    shows(&phone, "Work at Brindlow").await;
    assert_eq!(
        phone
            .script("return document.querySelectorAll('main .drawing svg').length")
            .await,
        json!(1)
    );
    look(&phone, "work-phone", &mut wrong).await;

    // The plug is pulled while she works: the page says so, keeps what she reports, and sends it once.
    held.pull_the_plug();
    phone
        .until("document.querySelector('#connection').textContent.includes('cannot be reached')")
        .await;
    say(&phone, "Set out").await;
    say(&phone, "Set out").await;
    phone
        .until("document.querySelector('#connection').textContent.includes('1 report is kept')")
        .await;
    look(&phone, "away-phone", &mut wrong).await;
    held.back();
    phone
        .until("document.querySelector('#connection').textContent === ''")
        .await;
    shows(&phone, "\u{2713} done").await;
    go(&desk, &held, "/session/journal").await;
    let text = desk.text().await;
    assert_eq!(text.matches("No. 1 set out").count(), 1, "{text}");
    look(&desk, "journal", &mut wrong).await;

    // Something breaks: the delay is reported, the line closed, a new plan made, looked at and put in force.
    phone
        .script("document.querySelector('details[data-key=delay]').open = true; return true")
        .await;
    phone.fill("#minutes", "12").await;
    say(&phone, "Report the delay").await;
    go(&desk, &held, "/session/people").await;
    desk.fill("#jump", "8:10").await;
    say(&desk, "Put on").await;
    shows(&desk, "It shows 8:1").await;
    go(&desk, &held, "/session/desk").await;
    shows(&desk, "min delayed").await;
    desk.script("document.querySelector('details[data-key=track-out]').open = true; return true")
        .await;
    desk.fill("#t-why", "a rail has come loose").await;
    say(&desk, "Take it out").await;
    shows(&desk, "Back in service").await;
    desk.press("form[action='/session/plan'] button").await;
    shows(&desk, "What changes").await;
    let worked = desk
        .script("return document.querySelector('main .quiet').textContent")
        .await;
    println!("new plan: {worked}");
    shows(&desk, "for the track to open").await;
    look(&desk, "plan", &mut wrong).await;
    say(&desk, "Put it in force").await;
    desk.until("location.pathname === '/session/desk'").await;
    shows(&desk, "a new plan was put in force").await;
    shows(&desk, "What the plan in force changed").await;
    say(&desk, "Back in service").await;
    shows(&desk, "is back in service").await;

    // Stop is on both screens at once, and lifted on both.
    say(&phone, "\u{25a0} Stop everything now").await;
    desk.until("document.querySelector('#bar .stopped')").await;
    phone.until("document.querySelector('#bar .stopped')").await;
    look(&phone, "stopped-phone", &mut wrong).await;
    say(&desk, "Go ahead again").await;
    phone
        .until("!document.querySelector('#bar .stopped')")
        .await;

    // The rest of the day: the superintendent puts the clock on, the crew brings both trains home.
    for (train, steps) in [
        ("1", &["Tie up"][..]),
        (
            "2",
            &["Leaving", "Arrived at", "Leaving", "Arrived at", "Tie up"][..],
        ),
    ] {
        go(&phone, &held, &format!("/session/trains/{train}")).await;
        for step in steps {
            let button = "document.querySelector('.report button.primary')";
            // Where its way ends earlier there is nothing left to report.
            let next = phone
                .script(&format!("return {button}?.textContent ?? ''"))
                .await;
            let Some(words) = next.as_str().filter(|words| !words.is_empty()) else {
                break;
            };
            if words.starts_with("Leaving") {
                go(&desk, &held, "/session/people").await;
                desk.fill("#jump", "8:30").await;
                say(&desk, "Put on").await;
                tokio::time::sleep(Duration::from_millis(400)).await;
            }
            let before = phone.script(&format!("return {button}.textContent")).await;
            say(&phone, before.as_str().unwrap()).await;
            phone
                .until(&format!(
                    "({button}?.textContent ?? '') !== {before} || document.querySelector('#told')"
                ))
                .await;
            let told = phone
                .script("return document.querySelector('#told')?.textContent ?? ''")
                .await;
            assert_eq!(told, json!(""), "train {train}, {step}, at {before}");
        }
    }
    go(&desk, &held, "/session/sheet").await;
    look(&desk, "sheet", &mut wrong).await;
    go(&phone, &held, "/session/clock").await;
    look(&phone, "clock-phone", &mut wrong).await;
    go(&desk, &held, "/session/clock").await;
    look(&desk, "clock", &mut wrong).await;
    go(&desk, &held, "/session/stations/Brindlow").await;
    look(&desk, "station", &mut wrong).await;
    go(&desk, &held, "/session/yards/The%20Drawer").await;
    look(&desk, "yard", &mut wrong).await;
    go(&phone, &held, "/session").await;
    look(&phone, "now-phone", &mut wrong).await;

    // Closing out: a track is walked, the session closed, the cars written to the folder.
    go(&desk, &held, "/session/close").await;
    shows(&desk, "No train is out").await;
    say(&desk, "It stands so").await;
    shows(&desk, "1 of ").await;
    look(&desk, "close", &mut wrong).await;
    say(&desk, "Close the session").await;
    shows(&desk, "The session is closed").await;
    go(&desk, &held, "/session/after").await;
    shows(&desk, "On time, by class").await;
    look(&desk, "after", &mut wrong).await;
    go(&desk, &held, "/session/close").await;
    let before = std::fs::read_to_string(held.road.join("cars.csv")).unwrap();
    desk.press("button[value=carry]").await;
    desk.until("location.pathname === '/session'").await;
    shows(&desk, "No session is open").await;
    let after = std::fs::read_to_string(held.road.join("cars.csv")).unwrap();
    assert_ne!(
        before, after,
        "the car that was set out stands elsewhere now"
    );

    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
