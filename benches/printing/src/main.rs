//! The session packet of the example, measured: every step from the folder to the files, and every
//! document by itself, in processor time.
//!
//! `cargo run --release -p printing-bench` prints tables.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a benchmark prints"
)]

use std::fs;

use paper::{
    Dispatch, Document, For, Occasion, Own, Paper, Session, Size, Wording, bind, document::forms,
};
use planning::{
    bill::{self, bill, opening},
    day::{self, day},
    orders::{self, territory::of_day},
    town::{Pace, model_rates},
};
use railroad::Folder;

/// Processor time of this process so far, milliseconds, by the scheduler's own count.
fn processor() -> f64 {
    let text = fs::read_to_string("/proc/self/schedstat").unwrap_or_default();
    let nanoseconds = text.split_whitespace().next().and_then(|n| n.parse().ok());
    nanoseconds.unwrap_or(0.0) / 1e6
}

/// The most memory this process has held, MB.
fn peak() -> String {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM:"));
    let kilobytes: Option<f64> = line.and_then(|line| line.split_whitespace().nth(1)?.parse().ok());
    kilobytes.map_or_else(String::new, |kb| format!("{:.0}", kb / 1000.0))
}

struct Watch(f64);

impl Watch {
    fn new() -> Self {
        Self(processor())
    }

    fn lap(&mut self, what: &str) {
        let now = processor();
        println!("| {what} | {:.1} | {} |", now - self.0, peak());
        self.0 = processor();
    }
}

fn main() {
    println!("| step | processor, ms | peak memory so far, MB |");
    println!("|---|---|---|");
    let mut watch = Watch::new();
    let folder = Folder::built_in("example").unwrap_or_default();
    let loaded = railroad::load(&folder);
    let railroad = &loaded.railroad;
    watch.lap("read the folder");
    let books = opening(railroad, 0);
    let Ok(billed) = bill(railroad, &books, &bill::Options::default()) else {
        return;
    };
    watch.lap("bill the cars");
    let switching = switching::Options {
        node_budget: 100_000,
        rates: model_rates(railroad.identity.scale.scale, &Pace::default()),
        ..switching::Options::default()
    };
    let worked = day::worked(railroad, &books, &billed, &switching, 1, &|| false);
    let made = day::made(railroad, &billed, &worked);
    watch.lap("time the work of every stop");
    let Ok(planned) = day(
        railroad,
        &day::Options::default(),
        &made,
        &|| false,
        &mut |_| {},
    ) else {
        return;
    };
    watch.lap("dispatch the day");
    let territory = of_day(railroad, &planned);
    let style = model::time::TimeStyle::AmPm;
    let written = orders::orders(&territory, &orders::Options::default(), style);
    watch.lap("write the orders");
    let session = Session {
        plan: Some(&planned.plan),
        bills: &billed.bills,
        made_up: &billed.made_up,
        dispatch: Some(Dispatch {
            territory: &territory,
            orders: &written.orders,
            clearances: &written.clearances,
        }),
        ..Session::blank(railroad)
    };
    let occasion = Occasion {
        size: Size::whole(Paper::Letter),
        wording: Wording::english(),
        session: String::new(),
        revision: "first printing".into(),
        office: None,
        logo: None,
    };
    for again in ["once", "again"] {
        println!();
        println!("Documents, set {again}:");
        println!();
        println!(
            "| document | pages | fill in, ms | set, ms | write PDF, ms | KB | peak memory so far, MB |"
        );
        println!("|---|---|---|---|---|---|---|");
        let mut sum = [0.0; 3];
        let mut pages = 0;
        for document in Document::SESSION {
            let started = processor();
            let Ok(filled) = forms(document, &session, &occasion, &For::All, &Own::default())
            else {
                continue;
            };
            let filled_in = processor();
            let Ok(printed) = bind(document.word(), &filled) else {
                continue;
            };
            let set = processor();
            let pdf = printed.pdf().unwrap_or_default();
            let steps = [filled_in - started, set - filled_in, processor() - set];
            println!(
                "| {} | {} | {:.1} | {:.1} | {:.1} | {} | {} |",
                document.word(),
                printed.pages(),
                steps[0],
                steps[1],
                steps[2],
                pdf.len() / 1000,
                peak()
            );
            pages += printed.pages();
            for (sum, step) in sum.iter_mut().zip(steps) {
                *sum += step;
            }
        }
        println!(
            "| together | {pages} | {:.1} | {:.1} | {:.1} | | {} |",
            sum[0],
            sum[1],
            sum[2],
            peak()
        );
    }
}
