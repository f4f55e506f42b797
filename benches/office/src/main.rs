//! Every page of the office on the example and on generated railroads: time on the server and weight, as
//! made and as sent to browsers that unpack it. Then control points of the plan are moved: what the office
//! takes to lay the track anew and draw it, and to load and check everything as it would be.
//!
//! `cargo run --release -p office-bench`

#![allow(clippy::print_stdout, reason = "a bench speaks")]

use std::time::Instant;

use axum::{
    Router,
    body::{Body, Bytes},
    http::{Request, header},
};
use http_body_util::BodyExt as _;
use railroad::Folder;
use tower::ServiceExt as _;
use web::{Office, Services, app};

/// The pages that are there on any railroad.
const PAGES: &[&str] = &[
    "/",
    "/attention",
    "/track-chart",
    "/stations",
    "/clearances",
    "/tonnage",
    "/engines",
    "/cars",
    "/cars?find=9",
    "/era",
    "/shippers",
    "/waybills",
    "/waybills/filed",
    "/books",
    "/yards",
    "/rooms",
    "/timetable",
    "/diagram",
    "/crews",
    "/folder",
    "/edit?file=cars.csv",
    "/edit?file=trains.toml",
];

/// How often each is asked for; the middle time counts.
const TIMES: usize = 5;

#[tokio::main(flavor = "current_thread")]
async fn main() {
    let example = Folder::built_in("example").expect("the example");
    for (name, folder) in [
        ("example", example),
        ("generated, 1x", generator::railroad(1, 1)),
        ("generated, 10x", generator::railroad(10, 1)),
    ] {
        let began = Instant::now();
        let office = Office::in_memory(folder, Services::default());
        println!("\n{name}: opened in {:.0} ms", milliseconds(began));
        println!(
            "{:<26} {:>10} {:>10} {:>10}",
            "page", "ms", "kB", "kB, packed"
        );
        let app = app(office, Vec::new());
        for page in PAGES {
            let mut took = Vec::new();
            for _ in 0..TIMES {
                let began = Instant::now();
                get(&app, page, "gzip").await;
                took.push(milliseconds(began));
            }
            took.sort_by(f64::total_cmp);
            println!(
                "{page:<26} {:>10.1} {:>10.1} {:>10.1}",
                took[TIMES / 2],
                get(&app, page, "identity").await.len() as f64 / 1000.0,
                get(&app, page, "gzip").await.len() as f64 / 1000.0
            );
        }
    }
    println!(
        "\n{:<40} {:>8} {:>8} {:>8} {:>8}",
        "control points moved", "moves", "median", "p95", "worst"
    );
    let example = Folder::built_in("example").expect("the example");
    drag("example", example, "Whistle Ledge / main").await;
    drag("a hall of 500 elements", generator::hall(), "line 4").await;
}

async fn get(app: &Router, page: &str, takes: &str) -> Bytes {
    let request = Request::get(page)
        .header(header::HOST, "localhost")
        .header(header::ACCEPT_ENCODING, takes)
        .body(Body::empty())
        .expect("a request");
    let answer = app.clone().oneshot(request).await.expect("an answer");
    assert!(answer.status().is_success(), "{page}");
    let body = answer.into_body().collect().await.expect("a body");
    body.to_bytes()
}

/// Moves every control point of a center line a little, twenty times: by hand, and when let go.
async fn drag(name: &str, folder: Folder, line: &str) {
    let office = Office::in_memory(folder, Services::default());
    let app = app(office, Vec::new());
    let address = format!(
        "/rooms?line={}",
        line.replace(' ', "%20").replace('/', "%2F")
    );
    let page = get(&app, &address, "identity").await;
    let page = String::from_utf8_lossy(&page);
    let value = |field: &str, key: &str| {
        field
            .split_once(&format!("{key}=\""))
            .and_then(|(_, rest)| rest.split('"').next())
            .map(unescaped)
    };
    let form: Vec<(String, String)> = page
        .split("<input ")
        .skip(1)
        .filter_map(|field| Some((value(field, "name")?, value(field, "value")?)))
        .filter(|(name, _)| name != "light")
        .collect();
    let points: Vec<String> = page
        .split("data-point=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .map(str::to_owned)
        .collect();
    let (mut quick, mut whole) = (Vec::new(), Vec::new());
    for point in &points {
        for step in 1..=20 {
            let by = format!("{:.4}", f64::from(step) * 0.0064);
            let mut asked = form.clone();
            let moved = [("point", point.as_str()), ("x", &by), ("along", &by)];
            asked.extend(moved.map(|(name, value)| (name.to_owned(), value.to_owned())));
            let began = Instant::now();
            let answer = post(&app, "/rooms/try", &asked).await;
            quick.push(milliseconds(began));
            // The field as the move left it is what the form then holds.
            let text = String::from_utf8_lossy(&answer).into_owned();
            let mut written = form.clone();
            for (name, value) in &mut written {
                let new = text
                    .split_once(&format!("\"{name}\":\""))
                    .and_then(|(_, rest)| rest.split('"').next());
                if let Some(new) = new {
                    new.clone_into(value);
                }
            }
            let began = Instant::now();
            post(&app, "/check", &written).await;
            whole.push(milliseconds(began));
        }
    }
    for (what, mut took) in [
        ("laid and drawn", quick),
        ("loaded and checked whole", whole),
    ] {
        took.sort_by(f64::total_cmp);
        println!(
            "{:<40} {:>8} {:>8.1} {:>8.1} {:>8.1}",
            format!("{name}: {what}"),
            took.len(),
            took[took.len() / 2],
            took[took.len() * 95 / 100],
            took[took.len() - 1]
        );
    }
}

async fn post(app: &Router, path: &str, form: &[(String, String)]) -> Bytes {
    let escape =
        |text: &str| -> String { text.bytes().map(|byte| format!("%{byte:02X}")).collect() };
    let body: Vec<String> = form
        .iter()
        .map(|(name, value)| format!("{}={}", escape(name), escape(value)))
        .collect();
    let request = Request::post(path)
        .header(header::HOST, "localhost")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .body(Body::from(body.join("&")))
        .expect("a request");
    let answer = app.clone().oneshot(request).await.expect("an answer");
    assert!(answer.status().is_success(), "{path}: {}", answer.status());
    let body = answer.into_body().collect().await.expect("a body");
    body.to_bytes()
}

/// A value of a page as its form would send it.
fn unescaped(text: &str) -> String {
    text.replace("&quot;", "\"")
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&amp;", "&")
}

fn milliseconds(since: Instant) -> f64 {
    since.elapsed().as_secs_f64() * 1000.0
}
