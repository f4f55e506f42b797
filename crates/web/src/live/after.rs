//! How the session went, so far or in the end: on time by class, moves, delays and their causes.

use std::sync::Arc;

use maud::{Markup, html};
use session::close::{Figures, figures, observed_csv};

use super::{Live, train_link};
use crate::{
    frame::{Ask, Page, ledger},
    pages::Lack,
    show,
};

/// The page.
#[derive(Debug)]
pub struct AfterPage {
    live: Live,
    /// Whether the session is in the archive: then its trains have no pages any more.
    archived: bool,
}

impl AfterPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let wanted = ask.query("session");
        match (wanted, Live::of(ask)) {
            (None, Ok(live)) => Ok(Self {
                live,
                archived: false,
            }),
            (_, open) => match Self::archived(ask, wanted)? {
                Some(live) => Ok(Self {
                    live,
                    archived: true,
                }),
                // Nothing was asked for by name, and nothing is in the archive.
                None => open.map(|live| Self {
                    live,
                    archived: false,
                }),
            },
        }
    }

    /// A session in the archive: the one asked for, or the latest; nothing if there is none at all.
    fn archived(ask: &Ask, wanted: Option<&str>) -> Result<Option<Live>, Lack> {
        let (Some(room), Some(who)) = (ask.office.room(), ask.who.clone()) else {
            return Ok(None);
        };
        let trouble = |trouble: session::Trouble| {
            Lack::because("The journal cannot be read", trouble.to_string())
        };
        let sessions = room.journal.sessions().map_err(trouble)?;
        let mut over = sessions
            .iter()
            .filter(|one| one.archived.is_some())
            .filter(|one| wanted.is_none_or(|wanted| one.id.to_string() == wanted));
        let Some(found) = over.next_back() else {
            return match wanted {
                Some(_) => Err(Lack::because(
                    "No such session in the archive",
                    "Those that are over are listed on the page \u{201c}The session now\u{201d}.",
                )),
                None => Ok(None),
            };
        };
        let state = Arc::new(room.journal.replay(found.id).map_err(trouble)?);
        let now = found.archived.unwrap_or_default();
        Ok(Some(Live {
            rail: state.rail(now),
            state,
            who,
            now,
            path: ask.path.clone(),
        }))
    }
}

impl Page for AfterPage {
    fn title(&self) -> String {
        if self.archived {
            format!("After the session: {}", self.live.state.opening.name)
        } else if self.live.state.sheet.closed.is_some() {
            "After the session".into()
        } else {
            "How the session goes".into()
        }
    }

    fn document(&self) -> &'static str {
        "/session/after"
    }

    fn watch(&self) -> Option<String> {
        (!self.archived).then(|| "trains cars plan all".into())
    }

    fn body(&self) -> Markup {
        let figures = figures(&self.live.state);
        html! {
            (Self::on_time(&figures))
            (self.work(&figures))
            (self.delays(&figures))
            (Self::times(&figures))
            (self.notes())
        }
    }
}

impl AfterPage {
    fn on_time(figures: &Figures) -> Markup {
        html! {
            h2 { "On time, by class" }
            (ledger("On time, by class", &html! {
                table {
                    thead { tr { th { "Class" } th.number { "Trains" } th.number { "Ran through" } th.number { "On time" } th.number { "Late, on the average" } } }
                    tbody {
                        @for class in &figures.classes {
                            tr {
                                th scope="row" { @match class.class { Some(class) => (class), None => "extra" } }
                                td.number { (class.trains) }
                                td.number { (class.arrived) }
                                td.number { (class.on_time) }
                                td.number { @if class.arrived > 0 { (show::figure(class.late_minutes as f64 / class.arrived as f64)) " min" } }
                            }
                        }
                    }
                }
            }))
            p.key { "On time: at the last station within five railroad minutes of its time. Common practice, no source." }
        }
    }

    fn work(&self, figures: &Figures) -> Markup {
        let state = &self.live.state;
        let [done, left, dropped] = figures.work;
        html! {
            h2 { "Work" }
            dl.facts {
                dt { "Cars taken or left as planned" } dd { (done) }
                dt { "Not taken or left" } dd { (left) }
                dt { "Not to be done any more" } dd { (dropped) }
                dt { "Car movements" } dd { (figures.moves) }
                dt { "From the first report to the last" } dd { (show::figure(figures.minutes)) " min on the wall" }
                dt { "Orders given" } dd { (state.sheet.orders.len()) }
                dt { "Lines in the journal" } dd { (state.revision()) }
            }
            @if !state.sheet.remarks.is_empty() {
                h3 { "Cars not handled as billed" }
                ul { @for remark in &state.sheet.remarks { li { (remark.car) ": " (remark.sentence) } } }
            }
        }
    }

    fn delays(&self, figures: &Figures) -> Markup {
        let live = &self.live;
        let delays = &live.state.sheet.delays;
        html! {
            h2 { "Delays" }
            @if delays.is_empty() { p { "None was reported." } }
            @else {
                (ledger("Delays by cause", &html! {
                    table {
                        thead { tr { th { "Cause" } th.number { "Times" } th.number { "Minutes" } } }
                        tbody { @for (cause, count, minutes) in &figures.causes { tr { th scope="row" { (cause.word()) } td.number { (count) } td.number { (minutes) } } } }
                    }
                }))
                (ledger("Delays by place", &html! {
                    table {
                        thead { tr { th { "Place" } th.number { "Minutes" } } }
                        tbody { @for (place, minutes) in &figures.by_place { tr { th scope="row" { (place) } td.number { (minutes) } } } }
                    }
                }))
                ul {
                    @for delay in delays {
                        li {
                            @if self.archived { (live.state.title(&delay.train)) } @else { (train_link(live, &delay.train)) }
                            ", " (delay.minutes) " min, " (delay.cause.word())
                            @if let Some(station) = &delay.station { ", at " (station) }
                            @if !delay.text.is_empty() { ": " (delay.text) }
                        }
                    }
                }
            }
        }
    }

    /// How long stops and runs took, against the plan: what the owner's own rates can be set by.
    fn times(figures: &Figures) -> Markup {
        html! {
            @if !figures.runs.is_empty() {
                h2 { "Running times observed" }
                (ledger("Running times observed", &html! {
                    table {
                        thead { tr { th { "Train" } th { "From" } th { "To" } th.number { "Took" } th.number { "Reckoned" } } }
                        tbody {
                            @for run in &figures.runs {
                                tr {
                                    th scope="row" { (run.train) } td { (run.from) } td { (run.to) }
                                    td.number { (show::figure(run.took / 60.0)) " min" }
                                    td.number { (show::figure(run.reckoned / 60.0)) " min" }
                                }
                            }
                        }
                    }
                }))
                p.key { "Railroad minutes." }
                details data-key="observed" {
                    summary { "The same for a spreadsheet, in seconds" }
                    pre { (observed_csv(figures)) }
                }
            }
            @if !figures.stops.is_empty() {
                h2 { "Switching times observed" }
                (ledger("Switching times observed", &html! {
                    table {
                        thead { tr { th { "Train" } th { "Station" } th.number { "Cars" } th.number { "Took" } th.number { "Reckoned" } } }
                        tbody {
                            @for stop in &figures.stops {
                                tr {
                                    th scope="row" { (stop.train) } td { (stop.station) } td.number { (stop.cars) }
                                    td.number { (show::figure(stop.took / 60.0)) " min" }
                                    td.number { @if let Some(reckoned) = stop.reckoned { (show::figure(reckoned / 60.0)) " min" } }
                                }
                            }
                        }
                    }
                }))
                p.key { "Minutes on the wall, with all waiting: set the pace of switching by the stops that had none." }
            }
        }
    }

    fn notes(&self) -> Markup {
        let live = &self.live;
        html! {
            @if !live.state.sheet.notes.is_empty() {
                h2 { "Notes" }
                ul {
                    @for note in &live.state.sheet.notes {
                        li { span.time { (live.time(note.rail)) } " " (note.text) span.quiet { ", " (note.name) @if let Some(train) = &note.train { ", of " (live.state.title(train)) } } }
                    }
                }
            }
        }
    }
}
