//! Coming in: a code, a name, and what one would like to do.

use std::{sync::Arc, time::Instant};

use axum::{
    Form,
    extract::{ConnectInfo, State},
    http::{Extensions, HeaderMap, HeaderValue, StatusCode, header},
    response::{IntoResponse, Redirect, Response},
};
use maud::{Markup, html};
use session::{Role, Who};

use super::{
    door::Shut,
    room::{COOKIE, badge_of},
};
use crate::{
    Office,
    app::{self, sent},
    frame::{Ask, Page},
    pages::Lack,
    serve::From,
};

/// The page.
#[derive(Debug)]
pub struct JoinPage {
    code: String,
    name: String,
    back: String,
    sorry: Option<String>,
    inside: Option<Who>,
    door: bool,
}

impl JoinPage {
    /// The page; `code` in the query, as the square code on the wall has it, is filled in.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            code: ask.query("code").unwrap_or_default().to_owned(),
            name: String::new(),
            back: app::back(ask.query("back")),
            sorry: None,
            inside: ask.who.clone(),
            door: ask.office.room().is_some_and(|room| room.door.is_some()),
        })
    }
}

/// What one may ask to be.
const WISHES: [(Role, &str); 4] = [
    (Role::Visitor, "Look on"),
    (Role::Crew, "Run a train"),
    (Role::Yard, "Work a yard or station"),
    (Role::Dispatcher, "Dispatch"),
];

impl Page for JoinPage {
    fn title(&self) -> String {
        "Come in".into()
    }

    fn document(&self) -> &'static str {
        ""
    }

    fn alone(&self) -> bool {
        self.inside.is_none()
    }

    fn body(&self) -> Markup {
        if !self.door {
            return html! {
                p { "This office is open to this machine alone, and asks for no code." }
                p { a href="/session" { "To the session" } }
            };
        }
        html! {
            @if let Some(who) = &self.inside {
                p { "This device is in, as " strong { (who.name) } ", " (who.role.word()) "." }
                p { a.button href="/session" { "To the session" } }
                form method="post" action="/leave" { button { "Leave with this device" } }
                h2 { "Come in anew, under another name" }
            }
            form.join method="post" action="/join" {
                @if let Some(sorry) = &self.sorry {
                    p.refused role="alert" { "\u{2716} " (sorry) }
                }
                input type="hidden" name="back" value=(self.back);
                div.field {
                    label for="code" { "Code" }
                    input #code name="code" value=(self.code) required autocomplete="off" autocapitalize="characters" spellcheck="false" maxlength="24";
                    p.hint { "As it stands on the wall or on the office\u{2019}s screen." }
                }
                div.field {
                    label for="name" { "Your name" }
                    input #name name="name" value=(self.name) required autocomplete="name" maxlength="40";
                    p.hint { "As it stands on the call board: everyone sees who said what." }
                }
                fieldset.wishes {
                    legend { "I would like to" }
                    @for (role, words) in WISHES {
                        label { input type="radio" name="wish" value=(role.word()) checked[role == Role::Visitor]; " " (words) }
                    }
                    p.hint { "The superintendent is told, and grants it." }
                }
                p.actions { button.primary.big { "Come in" } }
            }
        }
    }
}

/// `POST /join`.
pub async fn join(
    State(office): State<Arc<Office>>,
    extensions: Extensions,
    headers: HeaderMap,
    form: Result<Form<Vec<(String, String)>>, axum::extract::rejection::FormRejection>,
) -> Response {
    let fields = form.map(|Form(fields)| fields).unwrap_or_default();
    let find = |name: &str| sent(&fields, name).unwrap_or_default();
    let room = office.room().cloned();
    let Some((room, door)) = room
        .as_ref()
        .and_then(|room| Some((room, room.door.as_ref()?)))
    else {
        return Redirect::to("/session").into_response();
    };
    let from = extensions
        .get::<ConnectInfo<From>>()
        .map(|info| info.0.0.ip());
    let came = door.come_in(from, find("code"), find("name"), Instant::now());
    let badge = match came {
        Ok(badge) => badge,
        Err(shut) => {
            let (status, sorry) = sorry(shut);
            let request = axum::extract::Request::builder().uri("/join");
            let mut ask = app::ask(
                office.clone(),
                request.body(axum::body::Body::empty()).unwrap_or_default(),
            )
            .await;
            ask.theme = app::theme(&headers);
            let page = JoinPage {
                code: find("code").chars().take(24).collect(),
                name: find("name").chars().take(40).collect(),
                back: app::back(Some(find("back"))),
                sorry: Some(sorry),
                inside: None,
                door: true,
            };
            return app::answer(&ask, &page, status);
        }
    };
    if let Some(role) = Role::from_word(find("wish")).filter(|role| *role > Role::Visitor) {
        room.wish(&badge.device, role);
    }
    let cookie = door.write(&badge);
    let entering = room.clone();
    let _ = tokio::task::spawn_blocking(move || entering.enter(&badge)).await;
    room.look_again();
    let to = match app::back(Some(find("back"))) {
        back if back == "/" || back.starts_with("/join") => "/session".to_owned(),
        back => back,
    };
    with_cookie(
        Redirect::to(&to).into_response(),
        &cookie,
        60 * 60 * 24 * 30,
        &headers,
    )
}

fn sorry(shut: Shut) -> (StatusCode, String) {
    match shut {
        Shut::Wrong => (
            StatusCode::FORBIDDEN,
            "That is not the code of this office. Look at the wall again.".into(),
        ),
        Shut::Wait(seconds) => (
            StatusCode::TOO_MANY_REQUESTS,
            format!("Too many wrong codes came from here. Try again in {seconds} seconds."),
        ),
        Shut::NoName => (
            StatusCode::UNPROCESSABLE_ENTITY,
            "Say your name, so that others know who reports.".into(),
        ),
        Shut::NoDice => (
            StatusCode::SERVICE_UNAVAILABLE,
            "This machine gives no chance numbers at the moment. Try again.".into(),
        ),
    }
}

/// `POST /leave`: the device's badge is taken off.
pub async fn leave(State(office): State<Arc<Office>>, headers: HeaderMap) -> Response {
    if let Some(room) = office.room().cloned()
        && let Some(badge) = room
            .door
            .as_ref()
            .and_then(|door| door.read(badge_of(&headers)?))
    {
        // Who goes may say so, whatever their role; and goes even if it cannot be written down.
        let _ =
            tokio::task::spawn_blocking(move || room.send_out(&Who::office(), &badge.device)).await;
    }
    with_cookie(Redirect::to("/join").into_response(), "", 0, &headers)
}

/// The cookie is never shown to scripts, never sent by other sites' pages, and over TLS only if it came
/// by it.
fn with_cookie(mut response: Response, value: &str, seconds: u32, headers: &HeaderMap) -> Response {
    let secure = headers
        .get(header::ORIGIN)
        .and_then(|origin| origin.to_str().ok())
        .is_some_and(|origin| origin.starts_with("https://"));
    let cookie = format!(
        "{COOKIE}={value}; Path=/; Max-Age={seconds}; HttpOnly; SameSite=Strict{}",
        if secure { "; Secure" } else { "" }
    );
    if let Ok(cookie) = HeaderValue::from_str(&cookie) {
        response.headers_mut().insert(header::SET_COOKIE, cookie);
    }
    response
}
