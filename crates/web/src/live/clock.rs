//! The wall clock: for a tablet that hangs where everyone sees it.

use maud::{Markup, html};
use session::Role;

use super::{Live, bar::clock};
use crate::{
    frame::{Ask, Page},
    pages::Lack,
};

/// The page.
#[derive(Debug)]
pub struct ClockPage {
    live: Live,
}

impl ClockPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            live: Live::of(ask)?,
        })
    }
}

impl Page for ClockPage {
    fn title(&self) -> String {
        "Railroad time".into()
    }

    fn document(&self) -> &'static str {
        "/session/clock"
    }

    fn alone(&self) -> bool {
        true
    }

    fn wide(&self) -> bool {
        true
    }

    fn watch(&self) -> Option<String> {
        Some("clock stop trains plan".into())
    }

    fn body(&self) -> Markup {
        let live = &self.live;
        let clock_now = &live.state.sheet.clock;
        // The next few departures, as people ask for them in front of a clock.
        let mut next: Vec<_> = live
            .state
            .sheet
            .trains
            .iter()
            .filter(|train| train.active())
            .filter_map(|train| {
                let at = train.stands_at()?;
                let call = train.calls.get(at)?;
                (at + 1 < train.calls.len()).then_some((call.plan.leave, train, at))
            })
            .collect();
        next.sort_by_key(|(time, ..)| *time);
        html! {
            div.wall-clock { (clock(live)) }
            p.quiet { (clock_now.ratio[0]) ":" (clock_now.ratio[1]) " \u{b7} " (live.state.opening.date.as_deref().unwrap_or("")) }
            @if live.may(Role::Dispatcher) {
                div.actions {
                    @if clock_now.runs {
                        (live.press("stop_clock", &[("why", "the dispatcher stopped it")], "", "Stop the clock"))
                    } @else if live.state.sheet.closed.is_none() {
                        (live.press("start_clock", &[], "primary", "Start the clock"))
                    }
                }
            }
            @if !next.is_empty() {
                h2 { "Next to leave" }
                ul.departures {
                    @for (time, train, at) in next.into_iter().take(5) {
                        li data-key=(train.symbol()) {
                            span.time { (live.time(time)) } " " (train.title()) " from " (live.call_station(train, at))
                            @if let Some(last) = train.calls.last() { " to " (live.station(last.plan.station)) }
                        }
                    }
                }
            }
        }
    }
}
