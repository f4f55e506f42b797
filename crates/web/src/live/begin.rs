//! Opening a session: cars are billed, trains made up and timed, the day is planned; then it begins.

use std::sync::{Arc, PoisonError};

use axum::{
    Extension, Form,
    extract::{State, rejection::FormRejection},
    response::{IntoResponse, Redirect, Response},
};
use maud::{Markup, html};
use session::{Opening, Who};

use crate::{
    Office,
    app::sent,
    frame::{Ask, Page},
    pages::Lack,
    services::{OpeningAsk, Sorry},
    show,
    works::Work,
};

/// The page.
#[derive(Debug)]
pub struct BeginPage {
    work: Option<Arc<Work<Opening>>>,
    open: bool,
}

impl BeginPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let room = ask
            .office
            .room()
            .ok_or_else(|| Lack::because("No sessions", "This office holds no sessions."))?;
        let beginning = room
            .beginning
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        Ok(Self {
            work: beginning.clone(),
            open: room.state().is_some(),
        })
    }
}

/// The form that has a session worked out.
pub fn offer() -> Markup {
    html! {
        form method="post" action="/session/begin" {
            p { "The cars are billed, the trains made up and their work timed, and the day is planned. \
                Nothing is begun before you have seen it." }
            div.field {
                label for="name" { "What it is called" }
                input #name name="name" maxlength="60" placeholder="such as: Thursday\u{2019}s session";
            }
            p.actions { button.primary name="do" value="work out" { "Work out a session" } }
        }
    }
}

impl Page for BeginPage {
    fn title(&self) -> String {
        "Begin a session".into()
    }

    fn document(&self) -> &'static str {
        "/session"
    }

    fn body(&self) -> Markup {
        html! {
            @if self.open {
                p { "A session is open. " a href="/session" { "To the session" } }
            } @else if let Some(work) = &self.work {
                @match work.result() {
                    None => {
                        p #working role="status" data-again="1500" { "It is being worked out: cars billed, trains made up, the day planned. This takes some seconds." }
                        p { a href="/session/begin" { "Look again" } }
                    }
                    Some(Err(sorry)) => {
                        (amiss(&sorry))
                        (offer())
                    }
                    Some(Ok(opening)) => {
                        (ready(&opening))
                    }
                }
            } @else {
                (offer())
            }
        }
    }
}

fn amiss(sorry: &Sorry) -> Markup {
    html! {
        p.refused role="alert" { "\u{2716} " (sorry.what) "." @if let Some(help) = &sorry.help { " " (help) } }
    }
}

fn ready(opening: &Opening) -> Markup {
    let work: usize = opening
        .trains
        .iter()
        .flat_map(|train| &train.calls)
        .map(|call| call.work.len())
        .sum();
    html! {
        p.lead { "\u{201c}" (opening.name) "\u{201d} is ready: "
            (show::count(opening.trains.len(), "train", "trains")) ", "
            (show::count(opening.jobs.len(), "job", "jobs")) ", "
            (show::count(opening.bills.len(), "waybill", "waybills")) ", "
            (show::count(work, "car to take or leave", "cars to take or leave")) "." }
        p { "The clock begins at " (opening.time(opening.begins)) ", standing, " (opening.ratio[0]) ":" (opening.ratio[1])
            ". Trains are moved by " (opening.method.word()) "." }
        div.caution {
            p { strong { "Before anyone runs." } " Walk the layout: lift-outs and drawbridges closed and latched, tools off the track, \
                everyone knows where the power is cut. What the club\u{2019}s own safety rules and your local codes say goes before this page." }
        }
        form.actions method="post" action="/session/begin" {
            button.primary.big name="do" value="open" { "Open the session" }
            button name="do" value="drop" { "Drop it" }
        }
    }
}

/// `POST /session/begin`.
pub async fn begin(
    State(office): State<Arc<Office>>,
    Extension(who): Extension<Who>,
    form: Result<Form<Vec<(String, String)>>, FormRejection>,
) -> Response {
    let fields = form.map(|Form(fields)| fields).unwrap_or_default();
    let find = |name: &str| sent(&fields, name).unwrap_or_default().trim();
    let Some(room) = office.room().cloned() else {
        return Redirect::to("/session").into_response();
    };
    match find("do") {
        "work out" => {
            let name = match find("name") {
                "" => format!("Session of {}", office.name()),
                name => name.chars().take(60).collect(),
            };
            let now = office.now();
            let working = office.clone();
            let mut beginning = room
                .beginning
                .lock()
                .unwrap_or_else(PoisonError::into_inner);
            *beginning = Some(Work::begin(now.version, move |progress| {
                match &working.services.opening {
                    Some(opening) => opening(&now.loaded.railroad, &OpeningAsk { name }, progress),
                    None => Err(Sorry {
                        what: "Nobody here can plan a session".into(),
                        help: None,
                    }),
                }
            }));
            Redirect::to("/session/begin").into_response()
        }
        "open" => {
            let opened = tokio::task::spawn_blocking(move || room.begin(&who)).await;
            match opened {
                Ok(Ok(_)) => Redirect::to("/session").into_response(),
                _ => Redirect::to("/session/begin").into_response(),
            }
        }
        "drop" => {
            *room
                .beginning
                .lock()
                .unwrap_or_else(PoisonError::into_inner) = None;
            Redirect::to("/session").into_response()
        }
        _ => Redirect::to("/session/begin").into_response(),
    }
}
