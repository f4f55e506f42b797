//! Every page of the office on the example and on generated railroads: time on the server and weight.
//!
//! `cargo run --release -p office-bench`

#![allow(clippy::print_stdout, reason = "a bench speaks")]

use std::time::Instant;

use axum::{
    body::Body,
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
        println!("{:<26} {:>10} {:>10}", "page", "ms", "kB");
        let app = app(office, Vec::new());
        for page in PAGES {
            let mut took = Vec::new();
            let mut bytes = 0;
            for _ in 0..TIMES {
                let request = Request::get(*page)
                    .header(header::HOST, "localhost")
                    .body(Body::empty())
                    .expect("a request");
                let began = Instant::now();
                let answer = app.clone().oneshot(request).await.expect("an answer");
                assert!(answer.status().is_success(), "{page}");
                let body = answer.into_body().collect().await.expect("a body");
                bytes = body.to_bytes().len();
                took.push(milliseconds(began));
            }
            took.sort_by(f64::total_cmp);
            println!(
                "{page:<26} {:>10.1} {:>10.1}",
                took[TIMES / 2],
                bytes as f64 / 1000.0
            );
        }
    }
}

fn milliseconds(since: Instant) -> f64 {
    since.elapsed().as_secs_f64() * 1000.0
}
