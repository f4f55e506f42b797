//! The strip at the head of every page while a session is open: the fast clock, who one is, and whether
//! everything has been stopped.

use maud::{Markup, html};

use super::{Live, train_page};
use crate::frame::Ask;

/// The strip; nothing where no sessions are held.
pub fn bar(ask: &Ask) -> Markup {
    let Some(room) = ask.office.room() else {
        return html! {};
    };
    let live = Live::of(ask).ok();
    let behind_a_door = room.door.is_some();
    if live.is_none() && !behind_a_door {
        // Still there for the news that a session has begun.
        return html! { section.bar.empty #bar aria-label="The session" data-live data-watch="stop" data-revision="0" {} };
    }
    html! {
        section.bar #bar aria-label="The session" data-live data-watch="clock stop devices people" data-revision=(live.as_ref().map_or(0, |live| live.state.revision())) {
            @if let Some(live) = &live {
                @if let Some(why) = &live.state.sheet.stopped {
                    div.stopped role="alert" {
                        p {
                            strong { "\u{25a0} Stop everything" }
                            @if !why.is_empty() { " \u{2014} " (why) }
                        }
                        p { "Bring your train to a stand where it is safe. Nothing moves until the dispatcher says so." }
                        @if live.may(session::Role::Dispatcher) {
                            (live.press("go_ahead", &[], "", "Go ahead again"))
                        }
                    }
                }
                p.clock-line {
                    a.fast href="/session/clock" { (clock(live)) }
                    " "
                    span.session-name { a href="/session" { (live.state.opening.name) } }
                    @if live.state.sheet.closed.is_some() { " \u{b7} closed out" }
                }
            }
            p.me {
                @if let Some(who) = &ask.who {
                    @if behind_a_door {
                        (who.name) ", " (who.role.word())
                        @if let Some(live) = &live {
                            @for train in live.state.trains_of(&who.name).into_iter().filter(|train| train.active()) {
                                " \u{b7} " a href=(train_page(train.symbol())) { (train.title()) }
                            }
                        }
                    }
                }
            }
            p.connection #connection role="status" {}
        }
    }
}

/// The fast clock, kept going by the script.
pub fn clock(live: &Live) -> Markup {
    let clock = &live.state.sheet.clock;
    html! {
        span data-clock data-rail=(live.rail.seconds())
            data-runs=(clock.runs) data-ratio=(format!("{}/{}", clock.ratio[0], clock.ratio[1]))
            data-twenty-four=(live.state.opening.twenty_four) { (live.time(live.rail)) }
        @if !clock.runs { span.standing { " (the clock stands)" } }
    }
}
