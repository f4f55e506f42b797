//! The session in the browser: who comes in, what they see of it, what they report.
//!
//! A page shows the state of one moment and watches for news ([`stream`]); a report is a form whose
//! fields become a command ([`say`]). The script in `assets/live.js` fetches a page again when something
//! it watches has happened, and keeps reports made while the office cannot be reached. All of it works
//! without script too, by pressing the browser's own button to see the page anew.

mod access;
pub mod after;
pub mod bar;
pub mod begin;
pub mod board;
pub mod clock;
pub mod close;
pub mod desk;
mod door;
pub mod join;
pub mod journal;
mod near;
pub mod now;
mod orders;
pub mod people;
pub mod plan;
mod ready;
mod room;
pub mod say;
pub mod sheet;
pub mod station;
pub mod stream;
pub mod train;
mod work;
pub mod yard;

use std::sync::Arc;

use axum::{
    extract::{MatchedPath, Request, State as Shared},
    http::{Method, StatusCode},
    middleware::Next,
    response::{IntoResponse, Redirect, Response},
};
use engineering::station::StationKind;
use maud::{Markup, html};
use model::time::RailTime;
use session::{RealMillis, Role, State, Who, state::sheet::TrainNow};

pub use door::{Door, Secret};
pub use near::{Announced, addresses, announce};
pub use people::{printed, request, square};
pub(crate) use ready::watch_the_day;
pub use room::{Bulletin, Room, now as real_now};

use crate::{Office, app, frame::Ask, pages::Lack, show};
use access::least;
pub use access::{Least, TABLE};

/// What an address asks for, in a word: a role, `anyone` or `never`.
pub fn least_word(least: Least) -> &'static str {
    match least {
        Least::Anyone => "anyone",
        Least::Role(role) => role.word(),
        Least::Never => "never",
    }
}

/// Lets a request through if who asks may come there, and notes who it is.
pub async fn admit(
    Shared(office): Shared<Arc<Office>>,
    mut request: Request,
    next: Next,
) -> Response {
    let wanted = request
        .extensions()
        .get::<MatchedPath>()
        .map_or(Least::Role(Role::Visitor), |path| {
            least(path.as_str(), request.method())
        });
    let who = office.who(request.headers());
    match (wanted, &who) {
        (Least::Never, _) => {
            let words = "That address is not asked in this way.\n";
            return (StatusCode::METHOD_NOT_ALLOWED, words).into_response();
        }
        (Least::Role(_), None) if *request.method() == Method::GET => {
            let back = request
                .uri()
                .path_and_query()
                .map_or("/", |path| path.as_str());
            return Redirect::to(&format!("/join?back={}", show::escape(back))).into_response();
        }
        (Least::Role(_), None) => {
            let words = "Come in first: this office asks for a code at /join.\n";
            return (StatusCode::UNAUTHORIZED, words).into_response();
        }
        (Least::Role(least), Some(who)) if who.role < least => {
            let role = who.role;
            let words = format!(
                "This is for a {least}; this device may do what a {role} may. The superintendent grants \
                 more.\n"
            );
            if *request.method() != Method::GET {
                return (StatusCode::FORBIDDEN, words).into_response();
            }
            request.extensions_mut().insert(who.clone());
            let ask = app::ask(office, request).await;
            let lack = Lack::because(format!("For a {least}"), words);
            return app::answer(&ask, &lack, StatusCode::FORBIDDEN);
        }
        _ => {}
    }
    // A session that began after a device came in does not know it yet.
    if let Some(room) = office.room()
        && let Some(badge) = room.is_new(request.headers())
    {
        let room = room.clone();
        let _ = tokio::task::spawn_blocking(move || room.enter(&badge)).await;
    }
    if let Some(who) = office.who(request.headers()) {
        request.extensions_mut().insert(who);
    }
    next.run(request).await
}

/// A session at the moment a page is written, and who looks.
#[derive(Debug, Clone)]
pub struct Live {
    /// The session.
    pub state: Arc<State>,
    /// Who looks.
    pub who: Who,
    /// Real time.
    pub now: RealMillis,
    /// Railroad time.
    pub rail: RailTime,
    /// The page's own address, to come back to.
    pub path: String,
}

impl Live {
    /// The session that is open.
    ///
    /// # Errors
    /// A page that says there is none.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let state = ask.office.room().and_then(|room| room.state());
        let (Some(state), Some(who)) = (state, ask.who.clone()) else {
            return Err(Lack::because(
                "No session is open",
                "The superintendent opens one from the page \u{201c}The session now\u{201d}.",
            ));
        };
        let now = real_now();
        Ok(Self {
            rail: state.rail(now),
            state,
            who,
            now,
            path: ask.path.clone(),
        })
    }

    /// A time as the railroad shows it, to the minute that has begun.
    pub fn time(&self, time: RailTime) -> String {
        let whole = time.seconds().div_euclid(60) * 60;
        self.state.opening.time(RailTime::from_seconds(whole))
    }

    /// Whether who looks has at least this role.
    pub fn may(&self, role: Role) -> bool {
        self.who.role >= role
    }

    /// Whether who looks may report for a train: its crew, and everyone from a yard up.
    pub fn may_report(&self, train: &TrainNow) -> bool {
        self.may(Role::Yard)
            || self.may(Role::Crew) && self.state.crew_of(train).contains(&self.who.name.as_str())
    }

    /// A station's name.
    pub fn station(&self, number: usize) -> &str {
        self.state
            .opening
            .stations
            .get(number)
            .map_or("", |station| &station.name)
    }

    /// The station of one of a train's calls.
    pub fn call_station(&self, train: &TrainNow, call: usize) -> &str {
        train
            .calls
            .get(call)
            .map_or("", |call| self.station(call.plan.station))
    }

    /// A train of that symbol.
    ///
    /// # Errors
    /// A page that offers the nearest.
    pub fn train(&self, symbol: &str) -> Result<&TrainNow, Lack> {
        self.state.train(symbol).ok_or_else(|| {
            let names = self.state.sheet.trains.iter().map(TrainNow::symbol);
            Lack::named("train", symbol, "session/trains", names)
        })
    }

    /// A report that takes no more than a press: the fields that go with it, and what the button says.
    pub fn press(&self, does: &str, fields: &[(&str, &str)], class: &str, says: &str) -> Markup {
        let button = html! { button class=(class) { (says) } };
        self.form(does, fields, &button)
    }

    /// A report with fields of its own inside.
    pub fn form(&self, does: &str, fields: &[(&str, &str)], inside: &Markup) -> Markup {
        let mark: Vec<&str> = std::iter::once(does)
            .chain(fields.iter().map(|(_, value)| *value))
            .collect();
        html! {
            form.say method="post" action="/session/say" data-say data-key=(mark.join("/")) {
                input type="hidden" name="do" value=(does);
                input type="hidden" name="key" value=(key());
                input type="hidden" name="seen:n" value=(self.state.revision());
                input type="hidden" name="back" value=(self.path);
                @for (name, value) in fields {
                    input type="hidden" name=(name) value=(value);
                }
                (inside)
            }
        }
    }

    /// Where a train is, in words.
    pub fn whereabouts(&self, train: &TrainNow) -> String {
        use session::state::sheet::At;
        let call = train.call();
        let here = self.call_station(train, call);
        match &train.at {
            At::Waiting if train.called.is_some() => format!("called, at {here}"),
            At::Waiting => format!("not called yet, at {here}"),
            At::Station { clear: true, .. } => format!("at {here}, clear of the main"),
            At::Station { .. } => format!("at {here}"),
            At::Line { .. } => match train.calls.get(call + 1) {
                Some(next) => format!("between {here} and {}", self.station(next.plan.station)),
                None => format!("beyond {here}"),
            },
            At::Ended => format!("tied up at {here}"),
            At::Annulled => "annulled".into(),
            At::Combined { into } => format!("combined with {}", self.state.title(into)),
        }
    }

    /// How it stands against the plan: `6 min late`, `on time`.
    pub fn lateness(&self, train: &TrainNow) -> Option<(i64, String)> {
        let seconds = train.late_seconds()?;
        let minutes = (seconds as f64 / 60.0).round() as i64;
        Some((
            minutes,
            match minutes {
                1.. => format!("{minutes} min late"),
                0 => "on time".into(),
                _ => format!("{} min early", -minutes),
            },
        ))
    }

    /// The same with its sign and colour.
    pub fn late_mark(&self, train: &TrainNow) -> Markup {
        match self.lateness(train) {
            Some((minutes, words)) if minutes >= 10 => {
                html! { span.mark.late { "\u{25b2} " (words) } }
            }
            Some((minutes, words)) if minutes >= 1 => {
                html! { span.mark.behind { "\u{25b3} " (words) } }
            }
            Some((_, words)) => html! { span.mark.well { "\u{2713} " (words) } },
            None => html! {},
        }
    }
}

/// The address of a train's page in the session.
pub fn train_page(symbol: &str) -> String {
    show::url(&["session", "trains", symbol])
}

/// A link to a train's page, by its title.
pub fn train_link(live: &Live, symbol: &str) -> Markup {
    html! { a href=(train_page(symbol)) { (live.state.title(symbol)) } }
}

/// A name for one command, never given twice. Should the system have no dice, the script gives its own.
fn key() -> String {
    let mut chance = [0; 12];
    let _ = getrandom::fill(&mut chance);
    chance.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Whether trains are made up there: then it has a yard's page.
fn is_yard(kind: StationKind) -> bool {
    matches!(kind, StationKind::Yard | StationKind::Staging)
}
