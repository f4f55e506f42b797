//! What is in the plan is on paper, and nothing else: cars, trains and orders of random sessions, found
//! in the text of the pages. The text is read back by an independent reader (poppler's `pdftotext`)
//! where that is installed, and by the press itself where it is not.

use std::{
    collections::BTreeMap,
    io::Write as _,
    process::{Command, Stdio},
};

use paper::{
    Dispatch, Document, For, Occasion, Own, Paper, Printed, Session, Size, Wording, bind,
    document::forms,
};
use planning::{bill, orders};
use railroad::Railroad;

/// The text of a document by pages, read by another program if there is one.
#[allow(clippy::print_stderr, reason = "says which reader was used")]
fn text(printed: &Printed) -> Vec<String> {
    let pdf = printed.pdf().unwrap();
    let reader = Command::new("pdftotext")
        .args(["-raw", "-", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn();
    let Ok(mut reader) = reader else {
        eprintln!("pdftotext (poppler-utils) is not installed: the press reads its own pages");
        return printed.text();
    };
    let mut into = reader.stdin.take().unwrap();
    let writer = std::thread::spawn(move || into.write_all(&pdf));
    let out = reader.wait_with_output().unwrap();
    writer.join().unwrap().unwrap();
    assert!(out.status.success());
    let text = String::from_utf8(out.stdout).unwrap();
    text.split('\u{c}').map(str::to_owned).collect()
}

/// How often each car of the roster is named in a text. A longer number is not a shorter one.
fn cars_named(railroad: &Railroad, text: &str) -> BTreeMap<String, usize> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let mut found = BTreeMap::new();
    for pair in words.windows(2) {
        let name = format!("{} {}", pair[0], pair[1].trim_end_matches([',', '.']));
        if railroad
            .roster
            .cars
            .iter()
            .any(|car| car.name.value == name)
        {
            *found.entry(name).or_insert(0) += 1;
        }
    }
    found
}

fn occasion(paper: Paper) -> Occasion {
    Occasion {
        size: Size::whole(paper),
        wording: Wording::english(),
        session: String::new(),
        revision: "test".into(),
        office: None,
        logo: None,
    }
}

fn printed(document: Document, session: &Session<'_>, whom: &For, paper: Paper) -> Printed {
    let forms = forms(document, session, &occasion(paper), whom, &Own::default()).unwrap();
    bind(document.word(), &forms).unwrap()
}

/// So many sessions by default; 50 with `SAWBY_SLOW=1`.
fn seeds() -> u64 {
    if std::env::var_os("SAWBY_SLOW").is_some() {
        50
    } else {
        2
    }
}

#[test]
fn every_car_of_the_session_is_on_paper_and_no_other() {
    let folder = railroad::Folder::built_in("example").unwrap();
    let railroad = railroad::load(&folder).railroad;
    for seed in 0..seeds() {
        let books = bill::opening(&railroad, seed);
        let options = bill::Options {
            seed,
            ..bill::Options::default()
        };
        let billed = bill::bill(&railroad, &books, &options).unwrap();
        let session = Session {
            bills: &billed.bills,
            made_up: &billed.made_up,
            ..Session::blank(&railroad)
        };
        let paper = if seed % 2 == 0 {
            Paper::Letter
        } else {
            Paper::A4
        };

        let waybills = printed(Document::Waybills, &session, &For::All, paper);
        let all = text(&waybills).join(" ");
        let mut wanted: BTreeMap<String, usize> = BTreeMap::new();
        for bill in &billed.bills {
            *wanted
                .entry(session.car(bill.car).name.value.clone())
                .or_insert(0) += 1;
        }
        assert_eq!(cars_named(&railroad, &all), wanted, "seed {seed}, waybills");

        for made_up in billed.made_up.iter().filter(|made_up| made_up.cars() > 0) {
            let symbol = &session.train(made_up.train).symbol.value;
            let whom = For::Train(symbol.clone());
            let list = printed(Document::SwitchLists, &session, &whom, paper);
            let all = text(&list).join(" ");
            let mut wanted: BTreeMap<String, usize> = BTreeMap::new();
            for work in &made_up.works {
                for car in work.set_out.iter().chain(&work.pick_up) {
                    *wanted
                        .entry(session.car(car.car).name.value.clone())
                        .or_insert(0) += 1;
                }
            }
            assert_eq!(
                cars_named(&railroad, &all),
                wanted,
                "seed {seed}, switch list of {symbol}"
            );
            assert!(all.contains(&format!("Train {symbol}")));
        }
    }
}

#[test]
fn every_order_is_on_paper_as_it_was_written() {
    let folder = railroad::Folder::built_in("example").unwrap();
    let railroad = railroad::load(&folder).railroad;
    let day = planning::day::day(
        &railroad,
        &planning::day::Options::default(),
        &[],
        &|| false,
        &mut |_| {},
    )
    .unwrap();
    let territory = orders::territory::territory(&railroad, &day.plan);
    let style = model::time::TimeStyle::AmPm;
    let written = orders::orders(&territory, &orders::Options::default(), style);
    assert!(!written.clearances.is_empty());
    let session = Session {
        plan: Some(&day.plan),
        dispatch: Some(Dispatch {
            territory: &territory,
            orders: &written.orders,
            clearances: &written.clearances,
        }),
        ..Session::blank(&railroad)
    };
    let pages = printed(Document::Orders, &session, &For::All, Paper::Letter);
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let all = words(&text(&pages).join(" "));
    for order in &written.orders {
        assert!(
            all.contains(&format!("Train order {}", order.number)),
            "{all}"
        );
        let says = words(&order.body.sentence(&territory, style));
        assert!(all.contains(&says), "{says}\n{all}");
    }
    assert_eq!(all.matches("Train order ").count(), written.orders.len());

    // The train sheet has every train that runs, and no other.
    let sheet = printed(Document::TrainSheet, &session, &For::All, Paper::A4);
    let all = text(&sheet).join(" ");
    for train in &day.plan.trains {
        assert!(
            all.split_whitespace()
                .any(|word| train.symbol.contains(word)),
            "{}",
            train.symbol
        );
    }
}

/// Page sizes are exact: 215.9 by 279.4 mm and 210 by 297 mm (ISO 216), at 72 points to the inch.
#[test]
fn pages_are_as_large_as_the_paper() {
    let folder = railroad::Folder::built_in("smallest").unwrap();
    let railroad = railroad::load(&folder).railroad;
    let session = Session::blank(&railroad);
    for (paper, [width, height]) in [
        (Paper::Letter, [612.0, 792.0]),
        (Paper::A4, [595.275_590_6, 841.889_763_8]),
    ] {
        let printed = printed(Document::Stations, &session, &For::All, paper);
        for size in printed.sizes_pt() {
            assert!((size[0] - width).abs() < 1e-3 && (size[1] - height).abs() < 1e-3);
        }
    }
}
