//! The session over requests: who may come where, what nonsense comes to, two devices at one train.

use std::{
    collections::BTreeMap,
    sync::{
        Arc,
        atomic::{AtomicI64, Ordering},
    },
};

use axum::{
    Router,
    body::Body,
    http::{HeaderMap, Method, Request, StatusCode, header},
};
use engineering::station::{StationKind, TrackUse};
use http_body_util::BodyExt as _;
use model::time::RailTime;
use railroad::Folder;
use session::{
    Command, Journal, Opening, Role, Who,
    opening::{
        CallSheet, CarPlace, CarSheet, DistrictSheet, JobSheet, PersonSheet, StationSheet,
        TrackSheet, TrainSheet, WorkSheet,
    },
};
use tower::ServiceExt as _;
use transportation::Method as Rules;
use web::{
    Office, Services, app,
    live::{Door, Room, Secret, TABLE, least_word},
};

fn at(hour: i64, minute: i64) -> RailTime {
    RailTime::from_seconds(hour * 3600 + minute * 60)
}

/// Three stations, two trains toward each other, a car to leave and one to take: enough for a morning.
fn opening() -> Opening {
    let track = |name: &str, usage, spots: &[&str]| TrackSheet {
        name: name.into(),
        usage,
        room: 3.0,
        spots: spots.iter().map(|spot| (*spot).to_owned()).collect(),
        holds_cars: usage != TrackUse::Main,
    };
    let station = |name: &str, kind| StationSheet {
        name: name.into(),
        kind,
        office: Some([0, 24 * 3600]),
        tracks: vec![
            track("main", TrackUse::Main, &[]),
            track("siding", TrackUse::Siding, &[]),
            track("mill", TrackUse::Spur, &["door 1"]),
        ],
    };
    let call = |station, next, hour, minute, work: Vec<WorkSheet>| CallSheet {
        station,
        track: Some("main".into()),
        next,
        arrive: at(hour, minute),
        leave: at(hour, minute + 5),
        due_arrive: Some(at(hour, minute)),
        due_leave: Some(at(hour, minute + 5)),
        stops: true,
        meets: Vec::new(),
        work_seconds: None,
        work,
    };
    let work = |car: &str, pick_up, track: &str| WorkSheet {
        car: car.into(),
        pick_up,
        track: Some(track.into()),
        spot: None,
        block: String::new(),
    };
    let train = |symbol: &str, job: &str, direction: &str, calls| TrainSheet {
        symbol: symbol.into(),
        name: None,
        class: Some(2),
        kind: "local freight".into(),
        direction: direction.into(),
        engines: vec![format!("40{}", job.len())],
        job: Some(job.into()),
        calls,
    };
    let car = |name: &str, place| CarSheet {
        name: name.into(),
        kind: "boxcar".into(),
        length: 0.15,
        at: place,
        load: None,
        bad_order: false,
    };
    let on = |station: &str, track: &str| CarPlace::Track {
        station: station.into(),
        track: track.into(),
        spot: None,
        place: 0,
    };
    Opening {
        railroad: "Example".into(),
        name: "A morning".into(),
        date: None,
        day: 0,
        method: Rules::TimetableAndTrainOrder,
        begins: at(6, 0),
        ratio: [6, 1],
        twenty_four: false,
        extras_by_direction: false,
        hours_of_service: 12 * 3600,
        stations: vec![
            station("Kellander", StationKind::Yard),
            station("Sandrill", StationKind::Station),
            station("Wendry", StationKind::Station),
        ],
        districts: [[0, 1], [1, 2]]
            .map(|ends| DistrictSheet {
                ends,
                tracks: 1,
                blocks: 1,
                superior_up: true,
                bridges: vec![format!("bridge {}", ends[1])],
            })
            .to_vec(),
        trains: vec![
            train(
                "1",
                "east job",
                "eastward",
                vec![
                    call(0, Some(0), 6, 10, vec![work("CVBE 1", true, "siding")]),
                    call(1, Some(1), 6, 40, vec![work("CVBE 1", false, "mill")]),
                    call(2, None, 7, 30, vec![]),
                ],
            ),
            train(
                "2",
                "west job",
                "westward",
                vec![
                    call(2, Some(1), 8, 0, vec![]),
                    call(1, Some(0), 8, 30, vec![]),
                    call(0, None, 9, 0, vec![]),
                ],
            ),
        ],
        not_today: Vec::new(),
        cars: vec![
            car("CVBE 1", on("Kellander", "siding")),
            car("CVBE 2", on("Sandrill", "siding")),
        ],
        bills: Vec::new(),
        orders: Vec::new(),
        jobs: ["east job", "west job"]
            .map(|name| JobSheet {
                name: name.into(),
                trains: vec![if name == "east job" { "1" } else { "2" }.into()],
                people: 1,
                roles: Vec::new(),
                on_duty: Some(at(5, 30)),
                at: Some("Kellander".into()),
            })
            .to_vec(),
        people: vec![PersonSheet {
            name: "Ada".into(),
            qualified: Vec::new(),
        }],
    }
}

struct Club {
    app: Router,
    room: Arc<Room>,
    clock: Arc<AtomicI64>,
    _folder: tempfile::TempDir,
}

/// An office behind its door, with a session open if `open`.
fn club(open: bool) -> Club {
    club_with(open, Services::default())
}

/// The same with what the office can do.
fn club_with(open: bool, services: Services) -> Club {
    let folder = tempfile::tempdir().unwrap();
    let clock = Arc::new(AtomicI64::new(1_000_000));
    let watch = clock.clone();
    let journal = Journal::open(
        &folder.path().join("journal.sqlite"),
        Arc::new(move || watch.load(Ordering::Relaxed)),
    )
    .unwrap();
    if open {
        journal.begin(opening(), &Who::office()).unwrap();
    }
    let door = Door::new(
        Secret::new().unwrap(),
        vec!["http://localhost:7087".into()],
        |_| Ok(()),
    );
    let room = Room::new(journal, Some(door));
    let office = Office::in_memory(Folder::built_in("example").unwrap(), services);
    office.hold_sessions(room.clone());
    Club {
        app: app(office, Vec::new()),
        room,
        clock,
        _folder: folder,
    }
}

struct Answer {
    status: StatusCode,
    headers: HeaderMap,
    text: String,
}

impl Club {
    async fn ask(&self, method: &Method, path: &str, badge: Option<&str>, body: &[u8]) -> Answer {
        let mut request = Request::builder()
            .method(method)
            .uri(path)
            .header(header::HOST, "localhost:7087")
            .header(header::ORIGIN, "http://localhost:7087")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        if let Some(badge) = badge {
            request = request.header(header::COOKIE, format!("light=red; badge={badge}"));
        }
        let request = request.body(Body::from(body.to_vec())).unwrap();
        let response = self.app.clone().oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        // A stream of news never ends: its head is all there is to look at.
        let stream = parts
            .headers
            .get(header::CONTENT_TYPE)
            .is_some_and(|kind| kind.as_bytes().starts_with(b"text/event-stream"));
        let text = if stream {
            String::new()
        } else {
            String::from_utf8_lossy(&body.collect().await.unwrap().to_bytes()).into_owned()
        };
        Answer {
            status: parts.status,
            headers: parts.headers,
            text,
        }
    }

    async fn get(&self, path: &str, badge: &str) -> Answer {
        self.ask(&Method::GET, path, Some(badge), b"").await
    }

    async fn post(&self, path: &str, badge: &str, form: &[(&str, &str)]) -> Answer {
        self.ask(&Method::POST, path, Some(badge), encoded(form).as_bytes())
            .await
    }

    /// Comes in by a code: the badge.
    async fn come_in(&self, code: &str, name: &str) -> String {
        let form = encoded(&[("code", code), ("name", name), ("wish", "crew")]);
        let answer = self
            .ask(&Method::POST, "/join", None, form.as_bytes())
            .await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text);
        let cookie = answer.headers[header::SET_COOKIE].to_str().unwrap();
        assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"));
        let badge = cookie.strip_prefix("badge=").unwrap();
        badge.split(';').next().unwrap().to_owned()
    }

    fn door(&self) -> &Door {
        self.room.door.as_ref().unwrap()
    }

    /// Devices of every role, the least first, and one that has not come in.
    async fn everyone(&self) -> BTreeMap<Option<Role>, Option<String>> {
        let mut badges = BTreeMap::from([(None, None)]);
        for role in Role::ALL {
            let badge = self
                .come_in(&self.door().join_code(), &format!("a {role}"))
                .await;
            let device = badge.split('.').next().unwrap().to_owned();
            self.say(Command::Grant { device, role });
            badges.insert(Some(role), Some(badge));
        }
        badges
    }

    fn say(&self, command: Command) {
        let request = web::live::request(command);
        self.room.say(&Who::office(), &request).unwrap();
    }
}

fn encoded(form: &[(&str, &str)]) -> String {
    let escape = |text: &str| {
        text.bytes()
            .map(|byte| format!("%{byte:02X}"))
            .collect::<String>()
    };
    form.iter()
        .map(|(name, value)| format!("{}={}", escape(name), escape(value)))
        .collect::<Vec<_>>()
        .join("&")
}

/// An address of a pattern, with things that there are.
fn address(pattern: &str) -> String {
    pattern
        .replace("/stations/{name}", "/stations/Sandrill")
        .replace("/stations/{station}", "/stations/Sandrill")
        .replace("/yards/{station}", "/yards/Kellander")
        .replace("/session/trains/{symbol}", "/session/trains/1")
        .replace("/yards/{name}", "/yards/Kellander")
        .replace("/assets/{name}", "/assets/office.css")
        .replace("{code}", "unknown-name")
        .replace("{number}", "402")
        .replace("/cars/{name}", "/cars/CVBE%208805")
        .replace("{symbol}", "2")
        .replace("{station}", "Sandrill")
}

#[tokio::test]
async fn every_address_by_every_role() {
    let club = club(true);
    let everyone = club.everyone().await;
    // Leaving is looked at by itself: who has left is nobody any more.
    for (pattern, look, send) in TABLE.iter().filter(|(pattern, ..)| *pattern != "/leave") {
        for (method, least) in [(Method::GET, look), (Method::POST, send)] {
            for (role, badge) in &everyone {
                let answer = club
                    .ask(&method, &address(pattern), badge.as_deref(), b"")
                    .await;
                let place = format!("{method} {pattern} by {role:?}: {}", answer.status);
                assert!(!answer.status.is_server_error(), "{place}\n{}", answer.text);
                let to_the_door = answer.status == StatusCode::SEE_OTHER
                    && answer.headers[header::LOCATION]
                        .to_str()
                        .unwrap()
                        .starts_with("/join?back=");
                let (allowed, shut) = match (least_word(*least), role) {
                    ("never", _) => (false, StatusCode::METHOD_NOT_ALLOWED),
                    ("anyone", _) => (true, StatusCode::OK),
                    (word, role) => {
                        let least = Role::from_word(word).unwrap();
                        let shut = match (role, &method) {
                            (None, &Method::POST) => StatusCode::UNAUTHORIZED,
                            (None, _) => StatusCode::SEE_OTHER,
                            _ => StatusCode::FORBIDDEN,
                        };
                        (role.is_some_and(|role| role >= least), shut)
                    }
                };
                if allowed {
                    assert!(
                        ![StatusCode::FORBIDDEN, StatusCode::UNAUTHORIZED, StatusCode::METHOD_NOT_ALLOWED]
                            .contains(&answer.status)
                            // No code is none: a wrong guess at the door, not a page that is shut.
                            && !to_the_door,
                        "{place}"
                    );
                } else {
                    assert_eq!(answer.status, shut, "{place}");
                    assert!(
                        role.is_some()
                            || method == Method::POST
                            || shut != StatusCode::SEE_OTHER
                            || to_the_door,
                        "{place}"
                    );
                }
            }
        }
    }
}

#[tokio::test]
async fn every_command_by_every_role() {
    let club = club(true);
    let everyone = club.everyone().await;
    // What each asks for at least, by what the session itself declares.
    let commands: &[(&[(&str, &str)], Role)] = &[
        (
            &[("do", "stop_everything"), ("why", "smoke")],
            Role::Visitor,
        ),
        (&[("do", "note"), ("text", "all well")], Role::Crew),
        (&[("do", "call_train"), ("train", "2")], Role::Yard),
        (&[("do", "go_ahead")], Role::Dispatcher),
        (&[("do", "start_clock")], Role::Dispatcher),
        (
            &[("do", "set_ratio"), ("railroad:n", "4"), ("real:n", "1")],
            Role::Superintendent,
        ),
        (&[("do", "close_out")], Role::Superintendent),
    ];
    for (n, (command, least)) in commands.iter().enumerate() {
        for (role, badge) in &everyone {
            let Some(badge) = badge else { continue };
            let key = format!("{n}-{role:?}");
            let mut form = command.to_vec();
            form.push(("key", &key));
            let answer = club.post("/session/say", badge, &form).await;
            let forbidden = answer.status == StatusCode::FORBIDDEN;
            assert_eq!(
                forbidden,
                role.unwrap() < *least,
                "{command:?} by {role:?}: {} {}",
                answer.status,
                answer.text
            );
        }
    }
}

#[tokio::test]
async fn a_session_is_worked_from_two_devices() {
    let club = club(true);
    let chief = club.come_in(&club.door().chief_code(), "Ida").await;
    let ada = club.come_in(&club.door().join_code(), "Ada").await;
    // Ada asks to be crew; the superintendent sees it, and grants it by the form of the page.
    let people = club.get("/session/people", &chief).await.text;
    assert!(people.contains("Make Ada crew"), "{people}");
    let device = ada.split('.').next().unwrap();
    let say =
        async |badge: &str, form: &[(&str, &str)]| club.post("/session/say", badge, form).await;
    let done =
        |answer: &Answer| assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text);
    done(
        &say(
            &chief,
            &[
                ("key", "1"),
                ("do", "grant"),
                ("device", device),
                ("role", "crew"),
            ],
        )
        .await,
    );
    done(&say(&chief, &[("key", "2"), ("do", "start_clock")]).await);
    done(
        &say(
            &ada,
            &[
                ("key", "3"),
                ("do", "on_duty"),
                ("person", "Ada"),
                ("job", "east job"),
            ],
        )
        .await,
    );
    done(
        &say(
            &chief,
            &[("key", "4"), ("do", "call_train"), ("train", "1")],
        )
        .await,
    );
    let page = club.get("/session/trains/1", &ada).await.text;
    assert!(
        page.contains("Picked up CVBE 1") && page.contains("Leaving Kellander"),
        "{page}"
    );
    done(
        &say(
            &ada,
            &[
                ("key", "5"),
                ("do", "work"),
                ("train", "1"),
                ("car", "CVBE 1"),
                ("done.done", "picked_up"),
            ],
        )
        .await,
    );
    let seen = club.room.state().unwrap().revision().to_string();
    club.clock.fetch_add(160_000, Ordering::Relaxed);
    // Both say that the train has left: the second is told what has happened meanwhile.
    let leaving = |key: &'static str| {
        vec![
            ("key", key),
            ("seen:n", seen.as_str()),
            ("do", "departed"),
            ("train", "1"),
            ("station", "Kellander"),
        ]
    };
    done(&say(&ada, &leaving("6")).await);
    let second = say(&chief, &leaving("7")).await;
    assert_eq!(second.status, StatusCode::CONFLICT);
    assert!(
        second.text.contains("left Kellander") && second.text.contains("Ada"),
        "{}",
        second.text
    );
    // The same report sent again is the same report.
    let revision = club.room.state().unwrap().revision();
    done(&say(&ada, &leaving("6")).await);
    assert_eq!(club.room.state().unwrap().revision(), revision);
    // Ada may not report for a train of another job.
    let other = say(
        &ada,
        &[
            ("key", "8"),
            ("do", "departed"),
            ("train", "2"),
            ("station", "Wendry"),
        ],
    )
    .await;
    assert_eq!(other.status, StatusCode::FORBIDDEN, "{}", other.text);
    // Stop is on every page, also of the office.
    done(
        &say(
            &ada,
            &[
                ("key", "9"),
                ("do", "stop_everything"),
                ("why", "car on the floor"),
            ],
        )
        .await,
    );
    for path in [
        "/",
        "/stations",
        "/session",
        "/session/clock",
        "/session/trains/2",
    ] {
        let page = club.get(path, &chief).await.text;
        assert!(
            page.contains("Stop everything") && page.contains("car on the floor"),
            "{path}"
        );
    }
}

#[tokio::test]
async fn who_is_sent_out_is_out() {
    let club = club(true);
    let chief = club.come_in(&club.door().chief_code(), "Ida").await;
    let guest = club.come_in(&club.door().join_code(), "Guy").await;
    assert_eq!(club.get("/session", &guest).await.status, StatusCode::OK);
    let tom = club.come_in(&club.door().join_code(), "Tom").await;
    assert_eq!(
        club.post("/leave", &tom, &[]).await.headers[header::LOCATION],
        "/join"
    );
    assert_eq!(
        club.get("/session", &tom).await.status,
        StatusCode::SEE_OTHER
    );
    let nan = club.come_in(&club.door().join_code(), "Nan").await;
    let device = nan.split('.').next().unwrap();
    club.post(
        "/session/people",
        &chief,
        &[("do", "send out"), ("device", device)],
    )
    .await;
    assert_eq!(
        club.get("/session", &nan).await.status,
        StatusCode::SEE_OTHER
    );
    let all_out = club
        .post("/session/people", &chief, &[("do", "all out")])
        .await;
    assert_eq!(all_out.status, StatusCode::SEE_OTHER);
    for badge in [&chief, &guest] {
        let answer = club.get("/session", badge).await;
        assert_eq!(answer.headers[header::LOCATION], "/join?back=%2Fsession");
    }
}

#[tokio::test]
async fn guessing_is_slowed_down() {
    let club = club(true);
    let form = encoded(&[("code", "WRONG1"), ("name", "Guy")]);
    let mut statuses = Vec::new();
    for _ in 0..8 {
        statuses.push(
            club.ask(&Method::POST, "/join", None, form.as_bytes())
                .await
                .status,
        );
    }
    assert_eq!(statuses[0], StatusCode::FORBIDDEN);
    assert_eq!(statuses[7], StatusCode::TOO_MANY_REQUESTS);
}

/// Numbers by a seed, for nonsense that can be made again.
struct Dice(u64);

impl Dice {
    fn next(&mut self, below: usize) -> usize {
        // Marsaglia's xorshift, 2003.
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % below as u64) as usize
    }
}

#[tokio::test]
async fn nonsense_never_breaks_an_address() {
    let words = [
        "",
        "0",
        "-1",
        "99999999999999999999",
        "1",
        "Kellander",
        "CVBE 1",
        "true",
        "null",
        "[]",
        "{}",
        "set_out",
        "departed",
        "work",
        "grant",
        "superintendent",
        "6:10 am",
        "25:99",
        "\u{202e}",
        "\u{0}",
        "é",
        "../../etc/passwd",
        "<script>",
        "'; drop table",
        "%",
        "a.b.c",
        "done",
        "railroad.toml",
        "2000-01-01",
    ];
    let names = [
        "do",
        "key",
        "seen:n",
        "train",
        "station",
        "car",
        "done.done",
        "done.track",
        "done.spot:n",
        "text.form",
        "text.others:j",
        "text.at.0.1:t",
        "to:l",
        "way:l",
        "engines:l",
        "leave:t",
        "place:j",
        "place.track_of",
        "role",
        "device",
        "person",
        "job",
        "railroad:n",
        "real:n",
        "number",
        "number:n",
        "file",
        "at",
        "mark",
        "v:name",
        "code",
        "name",
        "back",
        "wish",
        "study",
        "light",
        "",
        ".",
        ":",
        "a.b.c.d",
        "revision:n",
        "plan:j",
        "cars:l",
    ];
    let seed = std::env::var("SAWBY_SEED")
        .ok()
        .and_then(|seed| seed.parse().ok())
        .unwrap_or(20);
    let rounds = if std::env::var_os("SAWBY_SLOW").is_some() {
        40
    } else {
        3
    };
    let mut dice = Dice(seed * 2 + 1);
    let club = club(true);
    let mut chief = club.come_in(&club.door().chief_code(), "Ida").await;
    for _ in 0..rounds {
        for (pattern, _, _) in TABLE {
            // Heavy pages are read once a round by the other test: nonsense goes to their names and queries.
            let mut path = String::new();
            for part in pattern.split('/').skip(1) {
                path.push('/');
                if part.starts_with('{') {
                    path.push_str(&encoded(&[("", words[dice.next(words.len())])])[1..]);
                } else {
                    path.push_str(part);
                }
            }
            let mut form = Vec::new();
            for _ in 0..dice.next(9) {
                form.push((names[dice.next(names.len())], words[dice.next(words.len())]));
            }
            let mut body = encoded(&form).into_bytes();
            let query = format!("{path}?{}", encoded(&form));
            match dice.next(4) {
                0 => body.truncate(dice.next(body.len() + 1)),
                1 => body = (0..dice.next(200)).map(|_| dice.next(256) as u8).collect(),
                _ => {}
            }
            for (method, path) in [
                (Method::GET, &query),
                (Method::POST, &path),
                (Method::PUT, &path),
            ] {
                let badge = (dice.next(8) > 0).then_some(chief.as_str());
                let answer = club.ask(&method, path, badge, &body).await;
                assert!(
                    !answer.status.is_server_error(),
                    "seed {seed}: {method} {path} {}: {} {}",
                    String::from_utf8_lossy(&body),
                    answer.status,
                    answer.text
                );
            }
            // Leaving was among what was asked.
            if *pattern == "/leave" {
                chief = club.come_in(&club.door().chief_code(), "Ida").await;
            }
        }
    }
    // Commands of the right shape with nonsense in them reach the session itself.
    for n in 0..rounds * 200 {
        let does = [
            "departed",
            "arrived",
            "passed",
            "work",
            "issue_order",
            "repeat_order",
            "create_extra",
            "combine",
            "annul_train",
            "shift",
            "bad_order",
            "add_work",
            "take_track_out",
            "drawbridge",
            "undo",
            "walk_track",
            "found",
            "jump_clock",
            "set_ratio",
            "on_duty",
            "grant",
            "take_plan",
            "tie_up",
            "clear_of_main",
            "complete_order",
        ][dice.next(25)];
        let key = format!("fuzz-{n}");
        let mut form = vec![("do", does), ("key", key.as_str())];
        for _ in 0..dice.next(9) {
            form.push((
                names[dice.next(names.len() - 2) + 2],
                words[dice.next(words.len())],
            ));
        }
        for known in [("train", "1"), ("station", "Sandrill"), ("car", "CVBE 1")] {
            if dice.next(2) == 0 {
                form.push(known);
            }
        }
        let answer = club.post("/session/say", &chief, &form).await;
        assert!(
            !answer.status.is_server_error(),
            "{form:?}: {} {}",
            answer.status,
            answer.text
        );
    }
    assert_eq!(club.get("/session", &chief).await.status, StatusCode::OK);
}

#[tokio::test]
async fn news_comes_on_the_stream() {
    let club = club(true);
    let ada = club.come_in(&club.door().join_code(), "Ada").await;
    let request = Request::get("/session/stream")
        .header(header::HOST, "localhost:7087")
        .header(header::COOKIE, format!("badge={ada}"))
        .header("last-event-id", "0")
        // As browsers ask: what never ends must not be packed.
        .header(header::ACCEPT_ENCODING, "gzip, deflate")
        .body(Body::empty())
        .unwrap();
    let response = club.app.clone().oneshot(request).await.unwrap();
    let mut body = response.into_body();
    let mut next = async || {
        let frame = body.frame().await.unwrap().unwrap();
        String::from_utf8(frame.into_data().unwrap().to_vec()).unwrap()
    };
    // What it missed while away, then what happens.
    let first = next().await;
    assert!(first.contains("\"all\""), "{first}");
    club.say(Command::CallTrain { train: "1".into() });
    let second = next().await;
    let revision = club.room.state().unwrap().revision();
    assert!(
        second.contains("train:1") && second.contains(&format!("id: {revision}")),
        "{second}"
    );
}

#[tokio::test]
async fn before_a_session_pages_say_that_there_is_none() {
    let club = club(false);
    let chief = club.come_in(&club.door().chief_code(), "Ida").await;
    for (pattern, ..) in TABLE
        .iter()
        .filter(|(pattern, ..)| pattern.starts_with("/session"))
    {
        let answer = club.get(&address(pattern), &chief).await;
        assert!(
            !answer.status.is_server_error(),
            "{pattern}: {}",
            answer.text
        );
    }
    assert!(
        club.get("/session", &chief)
            .await
            .text
            .contains("No session is open")
    );
    // Opened later, the session knows who had come in before.
    club.room.journal.begin(opening(), &Who::office()).unwrap();
    let page = club.get("/session/desk", &chief).await;
    assert_eq!(page.status, StatusCode::OK, "{}", page.text);
    assert_eq!(club.room.state().unwrap().sheet.devices.len(), 1);
}

/// Hears what comes next about a plan that the office made by itself.
async fn heard(news: &mut tokio::sync::broadcast::Receiver<Arc<web::live::Bulletin>>) {
    while !news.recv().await.unwrap().about.contains("ready") {}
}

#[tokio::test]
async fn a_plan_is_made_by_itself_when_the_day_goes_wrong_and_waits_for_the_dispatcher() {
    let asked = Arc::new(AtomicI64::new(0));
    let counted = asked.clone();
    // A planner that has train 2 run twenty minutes later.
    let replan = move |_: &railroad::Railroad,
                       ask: &web::services::ReplanAsk,
                       _: &web::services::Progress| {
        counted.fetch_add(1, Ordering::SeqCst);
        let train = ask.state.train("2").unwrap();
        let mut calls: Vec<CallSheet> = train.calls.iter().map(|call| call.plan.clone()).collect();
        for call in &mut calls {
            call.arrive += model::time::RailSpan::from_minutes(20);
            call.leave += model::time::RailSpan::from_minutes(20);
        }
        let offer = session::replan::offer(&ask.state, vec![("2".into(), calls)]);
        Ok(web::services::Replanned {
            changes: offer.plan.changes.clone(),
            plan: offer.plan,
            reasons: vec!["1 is late".into()],
            against: offer.against,
            orders: Vec::new(),
        })
    };
    let club = club_with(
        true,
        Services {
            replan: Some(Box::new(replan)),
            ..Services::default()
        },
    );
    let chief = club.come_in(&club.door().chief_code(), "Ida").await;
    let mut news = club.room.listen();
    club.say(Command::StartClock);
    let page = club.get("/session/desk", &chief).await.text;
    assert!(!page.contains("A new plan is ready"), "{page}");
    club.say(Command::Delay {
        train: "1".into(),
        cause: session::command::Cause::Crew,
        minutes: 30,
        text: "the engine is late".into(),
    });
    heard(&mut news).await;
    let page = club.get("/session/desk", &chief).await.text;
    assert!(
        page.contains("A new plan is ready") && page.contains("20 min later"),
        "{page}"
    );
    // Nothing of it is in force: not by being ready, and not by being looked at.
    let leaves = || {
        let state = club.room.state().unwrap();
        state.train("2").unwrap().calls[0].plan.leave
    };
    assert_eq!(leaves(), at(8, 5));
    assert_eq!(asked.load(Ordering::SeqCst), 1);
    let look = club.post("/session/plan", &chief, &[("do", "look")]).await;
    assert_eq!(look.status, StatusCode::SEE_OTHER);
    let page = club.get("/session/plan", &chief).await.text;
    assert!(page.contains("Put it in force"), "{page}");
    assert_eq!(leaves(), at(8, 5));
    // What was ready is what is looked at: nobody planned a second time for it.
    assert_eq!(asked.load(Ordering::SeqCst), 1);
    let accept = club
        .post(
            "/session/plan",
            &chief,
            &[("do", "accept"), ("number", "1")],
        )
        .await;
    assert_eq!(accept.status, StatusCode::SEE_OTHER, "{}", accept.text);
    assert_eq!(leaves(), at(8, 25));
}

#[tokio::test]
async fn how_a_session_went_stays_readable_in_the_archive() {
    let club = club(true);
    let chief = club.come_in(&club.door().chief_code(), "Ida").await;
    let id = club.room.journal.sessions().unwrap()[0].id;
    club.say(Command::Delay {
        train: "1".into(),
        cause: session::command::Cause::Crew,
        minutes: 30,
        text: "the kettle boiled over".into(),
    });
    club.say(Command::CloseOut);
    club.room.journal.archive().unwrap();
    assert!(club.room.state().is_none());
    let list = club.get("/session", &chief).await.text;
    let link = format!("/session/after?session={id}");
    assert!(list.contains(&link), "{list}");
    for path in [link.as_str(), "/session/after"] {
        let page = club.get(path, &chief).await;
        assert_eq!(page.status, StatusCode::OK);
        assert!(
            page.text.contains("A morning") && page.text.contains("the kettle boiled over"),
            "{}",
            page.text
        );
        // Its trains have no pages any more.
        assert!(!page.text.contains("/session/trains/1"), "{}", page.text);
    }
    for unknown in ["99", "x"] {
        let page = club
            .get(&format!("/session/after?session={unknown}"), &chief)
            .await;
        assert_eq!(
            page.status,
            StatusCode::UNPROCESSABLE_ENTITY,
            "{}",
            page.text
        );
    }
}
