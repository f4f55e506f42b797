//! A season in words.

use std::fmt::Write as _;

use planning::season::{Advice, Balance, Estimate, Season};
use railroad::Railroad;

use crate::verbs::rating::columns;

/// A mean with its interval: `4.2 ± 0.3`.
pub(super) fn show(one: Estimate) -> String {
    if one.half.is_finite() {
        format!("{:.1} ± {:.1}", one.mean, one.half)
    } else {
        format!("{:.1}", one.mean)
    }
}

fn percent(part: f64) -> String {
    format!("{:.0} %", 100.0 * part)
}

pub(super) fn report(railroad: &Railroad, season: &Season, all: bool) -> String {
    let report = &season.report;
    let mut text = format!(
        "{}: {} runs of {} sessions. Means with 95 % intervals.\n\n\
         A session moves {} cars and delivers {} loads. {} orders wait for a car or its loading, {} loads for a \
         spot; {} cars stand idle.\n",
        railroad.identity.name,
        report.runs,
        report.sessions,
        show(report.moved),
        show(report.delivered),
        show(report.waiting),
        show(report.held),
        show(report.idle),
    );
    text.push_str("\nWhat breaks, the first first (five sessions on end):\n");
    let often = |runs: usize| 2 * runs >= report.runs;
    let shown: Vec<_> = report
        .broken
        .iter()
        .filter(|one| all || often(one.runs))
        .collect();
    if shown.is_empty() {
        text.push_str("  nothing, in most runs.\n");
    }
    for one in shown {
        let _ = writeln!(
            text,
            "  session {:>3} ({} of {} runs, earliest {}): {}",
            one.session, one.runs, report.runs, one.earliest, one.words
        );
    }
    stations(&mut text, season);
    tracks(&mut text, season, all);
    lanes(&mut text, season, all);
    places(&mut text, season, all);
    kinds(&mut text, season);
    trains(&mut text, season);
    text
}

fn table<const N: usize>(text: &mut String, title: &str, rows: &[[String; N]]) {
    if rows.len() > 1 {
        let _ = write!(text, "\n{title}\n{}", columns(rows));
    }
}

fn stations(text: &mut String, season: &Season) {
    let mut rows = vec![
        [
            "yard or staging",
            "median",
            "95 % below",
            "fullest",
            "cars turned away",
        ]
        .map(str::to_owned),
    ];
    for one in season
        .report
        .stations
        .iter()
        .filter(|one| one.share.max > 0.0)
    {
        rows.push([
            one.name.clone(),
            percent(one.share.median),
            percent(one.share.p95),
            percent(one.share.max),
            show(one.no_room),
        ]);
    }
    table(
        text,
        "How full, at the fullest of each session (of the tracks where cars are kept):",
        &rows,
    );
}

fn tracks(text: &mut String, season: &Season, all: bool) {
    let mut rows = vec![["track", "median", "95 % below", "fullest"].map(str::to_owned)];
    for one in &season.report.tracks {
        if all || one.share.median > 0.85 {
            rows.push([
                one.name.clone(),
                percent(one.share.median),
                percent(one.share.p95),
                percent(one.share.max),
            ]);
        }
    }
    table(
        text,
        if all {
            "Tracks:"
        } else {
            "Tracks that are nearly always full:"
        },
        &rows,
    );
}

fn lanes(text: &mut String, season: &Season, all: bool) {
    let mut rows = vec![
        [
            "load",
            "in",
            "way",
            "offered",
            "delivered",
            "late, days",
            "waiting",
        ]
        .map(str::to_owned),
    ];
    for one in &season.report.lanes {
        if all || one.starved > 0.05 {
            rows.push([
                format!("{} of {}", one.commodity, one.who),
                one.kind.to_string(),
                one.way.clone(),
                format!("{:.1}", one.offered),
                format!("{:.1}", one.delivered),
                show(one.late),
                show(one.waiting),
            ]);
        }
    }
    table(
        text,
        if all {
            "Loads, cars a week:"
        } else {
            "Starved: loads that wait more than a week in over 5 % of the sessions; cars a week:"
        },
        &rows,
    );
}

fn places(text: &mut String, season: &Season, all: bool) {
    let mut rows =
        vec![["shipper", "track", "spots", "loads waiting", "flooded"].map(str::to_owned)];
    for one in &season.report.places {
        if all || one.flooded > 0.05 {
            rows.push([
                one.who.clone(),
                one.name.clone(),
                one.spots.to_string(),
                show(one.held),
                percent(one.flooded),
            ]);
        }
    }
    table(
        text,
        if all {
            "Spots:"
        } else {
            "Flooded: more loads waiting than spots in over 5 % of the sessions:"
        },
        &rows,
    );
}

fn kinds(text: &mut String, season: &Season) {
    let mut rows = vec![
        [
            "kind",
            "cars",
            "idle",
            "fewest idle",
            "orders without a car",
        ]
        .map(str::to_owned),
    ];
    for one in &season.report.kinds {
        rows.push([
            one.kind.to_string(),
            one.cars.to_string(),
            show(one.idle),
            one.least_idle.to_string(),
            show(one.short),
        ]);
    }
    table(text, "Cars:", &rows);
}

fn trains(text: &mut String, season: &Season) {
    let mut rows = vec![
        [
            "train",
            "cars a run",
            "room for",
            "light",
            "left: full",
            "minutes over",
            "no caboose",
        ]
        .map(str::to_owned),
    ];
    for one in &season.report.trains {
        rows.push([
            one.name.clone(),
            show(one.cars),
            format!("{:.0}", one.room),
            percent(one.light),
            show(one.full),
            show(one.over),
            percent(one.no_caboose),
        ]);
    }
    table(
        text,
        "Freight trains (light: one car or none all the way, so that it might have been annulled):",
        &rows,
    );
}

/// What would help, each change tried alone.
pub(super) fn advice(advice: &[Advice]) -> String {
    if advice.is_empty() {
        return "\nAdvice: none of the changes tried saves more than chance would.\n".into();
    }
    let mut rows = vec![
        [
            "change",
            "fewer orders and loads waiting",
            "more loads a session",
        ]
        .map(str::to_owned),
    ];
    for one in advice {
        rows.push([one.words.clone(), show(one.saves), show(one.delivers)]);
    }
    let mut text = String::new();
    table(
        &mut text,
        "Advice, each change tried by itself on the same dice (95 % intervals of the difference):",
        &rows,
    );
    text
}

/// The week in expectation: what cannot be sustained and why, then what is nearly used up.
pub(super) fn balance(balance: &Balance, all: bool) -> String {
    let offered: f64 = balance.flows.iter().map(|flow| flow.offered).sum();
    let sustained: f64 = balance.flows.iter().map(|flow| flow.sustained).sum();
    let mut text = format!(
        "\nIn expectation, without chance or queues (a linear programme, its optimum proven by prices): {sustained:.1} \
         of {offered:.1} cars a week can be sustained.\n"
    );
    let mut rows = vec![
        [
            "load",
            "in",
            "way",
            "offered",
            "sustained",
            "short",
            "because of",
        ]
        .map(str::to_owned),
    ];
    for flow in &balance.flows {
        if all || flow.short() > 0.0 {
            rows.push([
                format!("{} of {}", flow.commodity, flow.who),
                flow.kind.to_string(),
                flow.way.clone(),
                format!("{:.1}", flow.offered),
                format!("{:.1}", flow.sustained),
                if flow.short() > 0.0 {
                    format!("{:.1}", flow.short())
                } else {
                    String::new()
                },
                flow.reasons.join("; "),
            ]);
        }
    }
    table(
        &mut text,
        if all {
            "Balance, cars a week:"
        } else {
            "What no luck and no skill can sustain, cars a week:"
        },
        &rows,
    );
    let mut rows = vec![["limit", "used", "binds"].map(str::to_owned)];
    for limit in &balance.limits {
        rows.push([
            limit.words.clone(),
            percent(limit.used),
            if limit.binds {
                "yes".to_owned()
            } else {
                String::new()
            },
        ]);
    }
    table(
        &mut text,
        "Used to nine tenths and more on the mean: expect queues there.",
        &rows,
    );
    text
}
