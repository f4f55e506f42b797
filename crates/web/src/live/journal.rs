//! The journal as everyone who works in the session may read it: who said what, and taking it back.

use maud::{Markup, html};
use model::time::RailTime;
use session::Role;

use super::Live;
use crate::{
    frame::{Ask, Page, ledger},
    pages::Lack,
};

/// The page.
#[derive(Debug)]
pub struct JournalPage {
    live: Live,
}

/// How many lines are shown.
const SHOWN: usize = 120;

impl JournalPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            live: Live::of(ask)?,
        })
    }
}

impl Page for JournalPage {
    fn title(&self) -> String {
        "Journal".into()
    }

    fn document(&self) -> &'static str {
        "/session"
    }

    fn watch(&self) -> Option<String> {
        Some("all trains cars orders people devices plan stop clock tracks other".into())
    }

    fn body(&self) -> Markup {
        let live = &self.live;
        let recent = &live.state.sheet.recent;
        html! {
            p { "Nothing is rubbed out here: a wrong report is taken back by a line of its own, which sets right what it changed." }
            (ledger("Journal", &html! {
                table {
                    thead { tr { th { "Line" } th { "Time" } th { "What" } th { "By" } th { "Taking back" } } }
                    tbody {
                        @for (brief, _) in recent.iter().rev().take(SHOWN) {
                            tr data-key=(brief.revision) {
                                td.number { (brief.revision) }
                                td.time { (live.time(RailTime::from_seconds(brief.rail))) }
                                td { (brief.sentence) }
                                td { (brief.name) }
                                td {
                                    @if live.may(Role::Yard) || brief.device == live.who.device {
                                        (live.press("undo", &[("revision:n", &brief.revision.to_string())], "small", &format!("Take back {}", brief.revision)))
                                    }
                                }
                            }
                        }
                    }
                }
            }))
            @if recent.len() > SHOWN { p.quiet { "The latest " (SHOWN) " lines. All are in the journal\u{2019}s file." } }
        }
    }
}
