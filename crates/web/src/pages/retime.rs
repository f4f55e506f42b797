//! A train run earlier or later, or held at a station: what the day would then be, before it is written.

use std::{sync::Arc, time::Instant};

use axum::{
    Json,
    extract::{Request, State},
    response::{IntoResponse, Response},
};
use engineering::ids::LineId;
use maud::{Markup, html};
use model::time::{RailSpan, RailTime};
use railroad::edit::Step;
use serde_json::json;
use transportation::day::DayPlan;

use super::{
    Lack,
    diagram::{strings, svg},
    planned::differences,
    review::worse,
};
use crate::{
    Office,
    app::ask,
    forms::{
        changes::changes,
        desk::{Outcome, mark, outcome},
        document::{Document, place, step},
    },
    frame::{Ask, Page, drawing},
    services::{DayAsk, Progress},
    show,
};

/// The file that trains are written in.
const FILE: &str = "trains.toml";

/// A meet that is to be elsewhere.
#[derive(Debug, Clone)]
struct Wanted {
    other: String,
    at: String,
}

/// A train at other times.
#[derive(Debug)]
pub struct Retime {
    wanted: Option<Wanted>,
    symbol: String,
    minutes: i64,
    from: Option<String>,
    line: LineId,
    line_name: String,
    fields: Vec<(String, String)>,
    mark: String,
    drawing: String,
    words: Vec<String>,
    spoils: Markup,
    took_ms: f64,
}

impl Retime {
    /// The page: `train`, `minutes`, the station `from` which it is later, and the `line` to draw; or
    /// instead of minutes the train it is to `meet` and the station where, `at`.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let railroad = ask.railroad();
        let symbol = ask.query("train").unwrap_or_default();
        let names = || {
            railroad
                .service
                .trains
                .iter()
                .map(|train| train.symbol.value.as_str())
        };
        railroad
            .service
            .find_train(symbol)
            .ok_or_else(|| Lack::named("train", symbol, "trains", names()))?;
        let bytes = ask.now.folder.get(FILE).unwrap_or_default();
        let document = Document::open(FILE, bytes).ok_or_else(|| Lack::page(FILE))?;
        let before = ask
            .office
            .day()
            .and_then(|(work, _)| work.wait(std::time::Duration::from_secs(5)))
            .and_then(Result::ok);
        let wanted = match (ask.query("meet"), ask.query("at")) {
            (Some(other), Some(at)) => Some(Wanted {
                other: other.to_owned(),
                at: at.to_owned(),
            }),
            _ => None,
        };
        let (minutes, from) = match &wanted {
            Some(wanted) => {
                let plan = before.as_ref().map(|answer| &answer.plan);
                meeting(railroad, &document, plan, symbol, wanted)?
            }
            None => {
                let minutes = ask
                    .query("minutes")
                    .and_then(|minutes| minutes.parse::<i64>().ok())
                    .ok_or_else(|| {
                        Lack::because(
                            "How much later?",
                            "Minutes are a whole number from -720 to 720.",
                        )
                    })?;
                (minutes, ask.query("from").map(str::to_owned))
            }
        };
        if minutes.abs() > 720 {
            return Err(Lack::because(
                "Too far",
                "A train is moved by at most 720 minutes.",
            ));
        }
        let line = ask
            .query("line")
            .and_then(|name| railroad.way.find_line(name))
            .or_else(|| show::lines(railroad).first().map(|(id, _)| *id))
            .ok_or_else(|| Lack::because("No line", "The folder names no line yet."))?;
        let fields = shifted(ask, &document, symbol, minutes, from.as_deref());
        let begun = Instant::now();
        let outcome = ask
            .office
            .at_desk(|desk| outcome(desk, &document, changes(&document, &fields)));
        let proposal = match outcome {
            Outcome::Proposed(proposal) => proposal,
            Outcome::Nothing => {
                return Err(Lack::because(
                    "Nothing to change",
                    "The train has no written time there.",
                ));
            }
            Outcome::Refused(notes) => {
                let words: Vec<&str> = notes
                    .values()
                    .flatten()
                    .map(|note| note.words.as_str())
                    .collect();
                return Err(Lack::because("That cannot be written", words.join("; ")));
            }
        };
        let then = &proposal.loaded.railroad;
        let after = match &ask.office.services.day {
            Some(day) => {
                let quick = DayAsk {
                    seed: 1,
                    quick: true,
                };
                Some(day(then, &quick, &Progress::default()))
            }
            None => None,
        };
        let took_ms = begun.elapsed().as_secs_f64() * 1000.0;
        let (plan, mut words): (Option<&DayPlan>, Vec<String>) = match &after {
            Some(Ok(answer)) => (Some(&answer.plan), Vec::new()),
            Some(Err(sorry)) => (
                None,
                vec![format!(
                    "There would be no plan of the day: {}.",
                    sorry.what
                )],
            ),
            None => (None, Vec::new()),
        };
        if let (Some(before), Some(after)) = (&before, plan) {
            words.extend(differences(railroad, &before.plan, after));
        }
        if let (Some(wanted), Some(plan)) = (&wanted, plan) {
            words.insert(0, came_of(then, plan, symbol, wanted));
        }
        let now = strings(railroad, line, before.as_ref().map(|answer| &answer.plan));
        let later = strings(then, line, plan);
        Ok(Self {
            wanted,
            symbol: symbol.to_owned(),
            minutes,
            from,
            line,
            line_name: railroad.way.line(line).name.value.clone(),
            mark: mark(bytes),
            drawing: svg(then, line, &later, &now, Some(symbol), None),
            spoils: worse(&proposal),
            fields,
            words,
            took_ms,
        })
    }

    fn title_words(&self) -> String {
        let by = show::span(RailSpan::from_minutes(self.minutes.abs()));
        let way = if self.minutes < 0 { "earlier" } else { "later" };
        let mut words = format!("Train {} {by} {way}", self.symbol);
        if let Some(from) = &self.from {
            words.push_str(&format!(" from {from}"));
        }
        if let Some(wanted) = &self.wanted {
            words.push_str(&format!(", to meet {} at {}", wanted.other, wanted.at));
        }
        words
    }

    /// The form that writes it.
    fn keep(&self) -> Markup {
        let back = format!("/diagram?line={}", show::escape(&self.line_name));
        html! {
            form method="post" action="/write" {
                input type="hidden" name="file" value=(FILE);
                input type="hidden" name="mark" value=(self.mark);
                input type="hidden" name="back" value=(back);
                input type="hidden" name="form" value=(back);
                @for (name, value) in &self.fields { input type="hidden" name=(name) value=(value); }
                p.actions {
                    button.primary { "Keep it" }
                    a.button href=(back) { "Leave it" }
                }
            }
        }
    }

    fn consequences(&self) -> Markup {
        html! {
            h2 { (self.title_words()) }
            @if self.words.is_empty() { p { "No other train is touched, and no meet moves." } }
            @else { ul.changes { @for words in &self.words { li { (words) } } } }
            (self.spoils)
            (self.keep())
            p.quiet { "Planned anew in " (format!("{:.0} ms", self.took_ms)) ". Faint: the day as it was." }
        }
    }
}

/// By how many minutes a train must be later, and from where on, to be at a station when another is: held
/// there if its page has a time of leaving it, else run later or earlier as a whole.
fn meeting(
    railroad: &railroad::Railroad,
    document: &Document,
    plan: Option<&DayPlan>,
    symbol: &str,
    wanted: &Wanted,
) -> Result<(i64, Option<String>), Lack> {
    let plan = plan.ok_or_else(|| {
        Lack::because(
            "No plan yet",
            "A meet is moved on the plan of the day, and there is none.",
        )
    })?;
    let station = super::station::find(railroad, &wanted.at)?;
    let call = |symbol: &str| {
        let train = plan.trains.iter().find(|train| train.symbol == symbol);
        let train = train.ok_or_else(|| {
            let names = plan.trains.iter().map(|train| train.symbol.as_str());
            Lack::named("train", symbol, "diagram", names)
        })?;
        train.call(station).ok_or_else(|| {
            Lack::because(
                "They cannot meet there",
                format!("Train {symbol} does not come by {}.", wanted.at),
            )
        })
    };
    let (own, other) = (call(symbol)?, call(&wanted.other)?);
    // The dispatcher sees to the rest: it is enough that they are there at the same time.
    let whole = |span: RailSpan| (span.seconds() as f64 / 60.0).ceil() as i64;
    if own.arrive > other.leave {
        return Ok((-whole(own.arrive - other.leave), None));
    }
    let train = step(&[Step::Key("trains".into())], symbol);
    let stops = step(&train, "stops");
    let held = (0..document.count(&stops)).any(|at| {
        let stop = place(&stops, at);
        document.text(&step(&stop, "station")).as_deref() == Some(wanted.at.as_str())
            && document.at(&step(&stop, "leave")).is_some()
    });
    if held {
        let by = whole(other.arrive - own.leave).max(1);
        return Ok((by, Some(wanted.at.clone())));
    }
    Ok((whole(other.arrive - own.arrive).max(0), None))
}

/// Where the two meet by the new plan.
fn came_of(railroad: &railroad::Railroad, plan: &DayPlan, symbol: &str, wanted: &Wanted) -> String {
    let places: Vec<&str> = plan
        .trains
        .iter()
        .filter(|train| train.symbol == symbol)
        .flat_map(|train| &train.calls)
        .filter(|call| {
            call.meets
                .iter()
                .any(|meet| plan.trains[meet.other.0].symbol == wanted.other)
        })
        .map(|call| railroad.way.station(call.station).name.value.as_str())
        .collect();
    if places.contains(&wanted.at.as_str()) {
        format!("Then {symbol} and {} meet at {}.", wanted.other, wanted.at)
    } else if places.is_empty() {
        format!(
            "Even so {symbol} and {} do not meet at {}, nor anywhere.",
            wanted.other, wanted.at
        )
    } else {
        format!(
            "Even so {symbol} and {} meet at {}, not at {}.",
            wanted.other,
            places.join(" and "),
            wanted.at
        )
    }
}

/// The fields of the form that shifts a train's written times: all of them, or those from a station on.
fn shifted(
    ask: &Ask,
    document: &Document,
    symbol: &str,
    minutes: i64,
    from: Option<&str>,
) -> Vec<(String, String)> {
    let train = step(&[Step::Key("trains".into())], symbol);
    let text = |path: &[Step]| document.text(path);
    let mut times: Vec<Vec<Step>> = Vec::new();
    let mut reached = from.is_none() || text(&step(&train, "from")).as_deref() == from;
    if reached {
        times.push(step(&train, "leave"));
    }
    let stops = step(&train, "stops");
    for at in 0..document.count(&stops) {
        let stop = place(&stops, at);
        let here = text(&step(&stop, "station")).as_deref() == from;
        if reached {
            times.push(step(&stop, "arrive"));
        }
        // Held at a station, it arrives as before and leaves later.
        if reached || here {
            times.push(step(&stop, "leave"));
        }
        reached |= here;
    }
    if reached {
        times.push(step(&train, "arrive"));
    }
    times
        .into_iter()
        .filter_map(|path| {
            let time = RailTime::parse(&text(&path)?).ok()?;
            let later = time + RailSpan::from_minutes(minutes);
            let name = format!("v:{}", crate::forms::document::path_text(&path));
            Some((name, show::time(ask.railroad(), later)))
        })
        .collect()
}

impl Page for Retime {
    fn title(&self) -> String {
        "A train at other times".into()
    }

    fn document(&self) -> &'static str {
        "/diagram"
    }

    fn wide(&self) -> bool {
        true
    }

    fn body(&self) -> Markup {
        html! {
            (self.consequences())
            (drawing("The day as it would be", &self.drawing))
        }
    }
}

/// The same for the script that drags a train: the drawing and what follows from it.
pub async fn tried(State(office): State<Arc<Office>>, request: Request) -> Response {
    let ask = ask(office, request).await;
    let tried = tokio::task::spawn_blocking(move || Retime::of(&ask)).await;
    match tried {
        Ok(Ok(retime)) => Json(json!({
            "drawing": retime.drawing,
            "words": retime.consequences().into_string(),
            "line": retime.line.0,
        }))
        .into_response(),
        Ok(Err(lack)) => {
            Json(json!({ "words": html! { p { (lack.words()) } }.into_string() })).into_response()
        }
        Err(_) => axum::http::StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example};

    /// Path and by how many minutes it moves.
    fn moves(minutes: i64, from: Option<&str>) -> Vec<(String, f64)> {
        let office = example();
        let ask = ask(&office, "/retime", &[], &[]);
        let document = Document::open(FILE, ask.now.folder.get(FILE).unwrap()).unwrap();
        shifted(&ask, &document, "2", minutes, from)
            .into_iter()
            .map(|(name, value)| {
                let path = name.strip_prefix("v:trains/2/").unwrap().to_owned();
                let old = document.text(&document.path(&name[2..]).unwrap()).unwrap();
                let [old, new] = [old, value].map(|time| RailTime::parse(&time).unwrap());
                (path, (new - old).minutes())
            })
            .collect()
    }

    #[test]
    fn all_times_of_a_train_move_together_or_those_from_a_station_on() {
        let all = moves(20, None);
        let paths: Vec<&str> = all.iter().map(|(path, _)| path.as_str()).collect();
        assert_eq!((paths[0], paths[paths.len() - 1]), ("leave", "arrive"));
        assert!(paths.contains(&"stops/0/arrive"));
        assert!(
            all.iter().all(|(_, by)| (by - 20.0).abs() < 1e-9),
            "{all:?}"
        );
        // Held at its second stop, it comes there as before.
        let held = moves(5, Some("Stirrup Wells"));
        assert_eq!(held[0].0, "stops/1/leave");
        assert!(
            held.iter().all(|(_, by)| (by - 5.0).abs() < 1e-9),
            "{held:?}"
        );
        assert!(held.len() < all.len());
        assert_eq!(moves(5, Some("Nowhere")), []);
    }

    #[test]
    fn a_change_is_shown_with_its_form_before_it_is_written() {
        let office = example();
        let ask = ask(
            &office,
            "/retime",
            &[],
            &[("train", "2"), ("minutes", "10")],
        );
        let page = Retime::of(&ask).unwrap();
        let text = page.body().into_string();
        assert!(text.contains("Train 2 10 min later") && text.contains("Keep it"));
        assert!(text.contains("name=\"v:trains/2/leave\" value="));
    }
}
