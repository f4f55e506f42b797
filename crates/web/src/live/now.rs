//! The session now: what everyone may see, and the way to one's own page.

use std::sync::Arc;

use maud::{Markup, html};
use session::{Role, Who};

use super::{Live, bar::clock, begin, room::Room, train_link};
use crate::{
    frame::{Ask, Page, ledger},
    pages::Lack,
    show,
};

/// The page.
#[derive(Debug)]
pub struct NowPage {
    live: Option<Live>,
    room: Option<Arc<Room>>,
    who: Option<Who>,
    /// Whether anybody here can open a session.
    opens: bool,
}

impl NowPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            live: Live::of(ask).ok(),
            room: ask.office.room().cloned(),
            who: ask.who.clone(),
            opens: ask.office.services.opening.is_some(),
        })
    }
}

impl Page for NowPage {
    fn title(&self) -> String {
        match &self.live {
            Some(live) => live.state.opening.name.clone(),
            None => "The session now".into(),
        }
    }

    fn document(&self) -> &'static str {
        "/session"
    }

    fn watch(&self) -> Option<String> {
        Some("all stop plan trains orders people devices clock".into())
    }

    fn body(&self) -> Markup {
        let Some(room) = &self.room else {
            return html! {
                p { "This office holds no sessions: it was opened without a place for a journal." }
            };
        };
        let Some(live) = &self.live else {
            return html! {
                p.lead { "No session is open." }
                @if self.who.as_ref().is_some_and(|who| who.role == Role::Superintendent) && self.opens {
                    (begin::offer())
                } @else if self.opens {
                    p { "The superintendent opens it. This page changes by itself when it begins." }
                }
                (past(room))
            };
        };
        html! {
            p.lead { "It is " (clock(live)) "." }
            (own(live))
            h2 { "Where to work" }
            ul.ways {
                @if live.may(Role::Dispatcher) {
                    li { a href="/session/desk" { "Dispatcher\u{2019}s desk" } " \u{2014} the diagram, orders, a new plan" }
                }
                @if live.may(Role::Superintendent) {
                    li { a href="/session/people" { "Superintendent\u{2019}s page" } " \u{2014} people, codes, the clock" }
                }
                li { a href="/session/board" { "Call board" } " \u{2014} who is called for what" }
                li { a href="/session/sheet" { "Train sheet" } }
                li { a href="/session/clock" { "Wall clock" } }
                @if live.may(Role::Yard) {
                    li { a href="/session/close" { "Close-out" } " \u{2014} when the last train is in" }
                }
                @if live.may(Role::Crew) {
                    li { a href="/session/journal" { "Journal" } " \u{2014} who said what, and taking back" }
                }
                li { a href="/session/after" { "After the session" } " \u{2014} how it went so far" }
            }
            h2 { "Trains" }
            (ledger("Trains", &html! {
                table {
                    thead { tr { th { "Train" } th { "Job" } th { "Where" } th { "Against the plan" } } }
                    tbody {
                        @for train in &live.state.sheet.trains {
                            tr data-key=(train.symbol()) {
                                th scope="row" { (train_link(live, train.symbol())) }
                                td { (train.sheet.job.as_deref().unwrap_or("")) }
                                td { (live.whereabouts(train)) }
                                td { (live.late_mark(train)) }
                            }
                        }
                    }
                }
            }))
            h2 { "Stations" }
            ul.ways.short {
                @for station in &live.state.opening.stations {
                    li {
                        a href=(show::url(&["session", "stations", &station.name])) { (station.name) }
                        @if super::is_yard(station.kind) {
                            " (" a href=(show::url(&["session", "yards", &station.name])) { "the yard" } ")"
                        }
                    }
                }
            }
            (past(room))
        }
    }
}

fn own(live: &Live) -> Markup {
    let trains: Vec<_> = live
        .state
        .trains_of(&live.who.name)
        .into_iter()
        .filter(|train| train.active())
        .collect();
    html! {
        @if trains.is_empty() {
            @if live.who.role == Role::Visitor {
                p { "You are looking on. To run a train, say so when you come in; the superintendent grants it." }
            } @else if live.who.role == Role::Crew {
                p { "You are on no job yet: mark up on the " a href="/session/board" { "call board" } "." }
            }
        } @else {
            h2 { "Your trains" }
            @for train in trains {
                p { a.button.primary.big href=(super::train_page(train.symbol())) { (train.title()) } " " (live.whereabouts(train)) }
            }
        }
    }
}

/// Sessions that are over.
fn past(room: &Room) -> Markup {
    let sessions = room.journal.sessions();
    html! {
        @match sessions {
            Ok(sessions) => {
                @let over: Vec<_> = sessions.iter().filter(|one| one.archived.is_some()).collect();
                @if !over.is_empty() {
                    h2 { "Sessions before" }
                    ul {
                        @for one in over.iter().rev().take(12) {
                            li { a href=(format!("/session/after?session={}", one.id)) { (one.name) } ", " (show::count(one.revision as usize, "line", "lines")) " in the journal" }
                        }
                    }
                }
            }
            Err(trouble) => p.refused { "\u{2716} " (trouble) }
        }
    }
}
