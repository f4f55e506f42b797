//! The superintendent's page: who is here and what they may do, the codes, the clock, the session's health.

use std::sync::Arc;

use axum::{
    Extension, Form,
    extract::{State, rejection::FormRejection},
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
};
use fast_qr::{
    ECL, QRBuilder,
    convert::{Builder as _, Shape, svg::SvgBuilder},
};
use maud::{Markup, PreEscaped, html};
use session::{Command, Request, Role, Who};

use super::{Live, key, room::Room};
use crate::{
    Office,
    app::sent,
    frame::{Ask, Page, ledger},
    pages::Lack,
    show,
};

/// The page.
#[derive(Debug)]
pub struct PeoplePage {
    live: Option<Live>,
    room: Arc<Room>,
}

impl PeoplePage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let room = ask.office.room().cloned();
        Ok(Self {
            live: Live::of(ask).ok(),
            room: room
                .ok_or_else(|| Lack::because("No sessions", "This office holds no sessions."))?,
        })
    }
}

/// A square code that a phone reads, as SVG; nothing if the text is too long for one.
pub fn square(text: &str) -> Option<String> {
    let code = QRBuilder::new(text).ecl(ECL::M).build().ok()?;
    Some(
        SvgBuilder::default()
            .shape(Shape::Square)
            .margin(4)
            .to_str(&code),
    )
}

/// The same in letters, for a terminal.
pub fn printed(text: &str) -> Option<String> {
    let code = QRBuilder::new(text).ecl(ECL::L).build().ok()?;
    Some(code.to_str())
}

impl Page for PeoplePage {
    fn title(&self) -> String {
        "Superintendent\u{2019}s page".into()
    }

    fn document(&self) -> &'static str {
        "/session/people"
    }

    fn watch(&self) -> Option<String> {
        Some("devices people clock all".into())
    }

    fn body(&self) -> Markup {
        html! {
            (self.codes())
            @match &self.live {
                Some(live) => {
                    (self.devices(live))
                    (clock(live))
                }
                None => p { "No session is open. " a href="/session" { "Begin one" } },
            }
            (self.health())
        }
    }
}

impl PeoplePage {
    fn codes(&self) -> Markup {
        let Some(door) = &self.room.door else {
            return html! {
                p { "This office is open to this machine alone. To let the club\u{2019}s network in, close it and start it with "
                    code { "sawby serve --lan" } "." }
            };
        };
        let code = door.join_code();
        html! {
            section.codes {
                @if let Some(address) = door.addresses().first() {
                    @let link = format!("{address}/join?code={code}");
                    @if let Some(svg) = square(&link) {
                        div.square role="img" aria-label={ "Square code for " (link) } { (PreEscaped(svg)) }
                    }
                }
                div {
                    p { "Scan the square, or go to" }
                    @for address in door.addresses() { p.address { (address) "/join" } }
                    p { "and give the code" }
                    p.code { (code) }
                    form.actions method="post" action="/session/people" {
                        button name="do" value="new code" { "Make a new code" }
                        button name="do" value="all out" { "Send everyone out" }
                    }
                    p.hint { "A new code keeps everyone who is in. Sending everyone out asks all devices for the new codes, \
                        this one too: the superintendent\u{2019}s is printed where the office was started." }
                }
            }
        }
    }

    fn devices(&self, live: &Live) -> Markup {
        let devices = &live.state.sheet.devices;
        let waiting =
            |device: &str, role: Role| self.room.wished(device).filter(|wish| *wish > role);
        html! {
            h2 { "Who is here" }
            @if devices.is_empty() { p { "No device has joined." } }
            @else {
                (ledger("Devices", &html! {
                    table {
                        thead { tr { th { "Name" } th { "May do what a" } th { "Asks to be" } th { "Grant" } th { "Send out" } } }
                        tbody {
                            @for (device, one) in devices {
                                tr data-key=(device) {
                                    th scope="row" { (one.name) " " span.quiet { (device.chars().take(4).collect::<String>()) } }
                                    td { (one.role.word()) " may" }
                                    td {
                                        @if let Some(wish) = waiting(device, one.role) {
                                            (live.press("grant", &[("device", device), ("role", wish.word())], "primary", &format!("Make {} {}", one.name, wish.word())))
                                        }
                                    }
                                    td {
                                        (live.form("grant", &[("device", device)], &html! {
                                            select name="role" aria-label={ "Role of " (one.name) } {
                                                @for role in Role::ALL { option value=(role.word()) selected[role == one.role] { (role.word()) } }
                                            }
                                            button { "Grant" }
                                        }))
                                    }
                                    td {
                                        form method="post" action="/session/people" {
                                            input type="hidden" name="device" value=(device);
                                            button name="do" value="send out" { "Send " (one.name) " out" }
                                        }
                                    }
                                }
                            }
                        }
                    }
                }))
            }
        }
    }

    fn health(&self) -> Markup {
        let health = self.room.journal.health();
        html! {
            h2 { "Health of the journal" }
            dl.facts {
                dt { "Lines" } dd { (health.revision) }
                dt { "Written to disk" } dd { (show::count(health.commits as usize, "time", "times")) " since the office was opened" }
                dt { "Reports taken, refused" } dd { (health.carried_out) ", " (health.refused) }
                dt { "The last writing took" } dd { (millis(health.last_commit_micros)) }
                dt { "The slowest" } dd { (millis(health.slowest_commit_micros)) }
            }
            @if let Some(trouble) = &health.trouble {
                p.refused role="alert" { "\u{2716} " (trouble) }
            }
        }
    }
}

fn millis(micros: u64) -> String {
    format!("{:.1} ms", micros as f64 / 1000.0)
}

fn clock(live: &Live) -> Markup {
    let clock = &live.state.sheet.clock;
    html! {
        h2 { "The clock" }
        p { "It shows " (super::bar::clock(live)) " and runs " (clock.ratio[0]) ":" (clock.ratio[1]) "." }
        div.actions {
            @if clock.runs {
                (live.press("stop_clock", &[("why", "the superintendent stopped it")], "", "Stop the clock"))
            } @else {
                (live.press("start_clock", &[], "primary", "Start the clock"))
            }
            (live.form("set_ratio", &[("real:n", "1")], &html! {
                label for="ratio" { "Ratio" } " "
                input #ratio.narrow name="railroad:n" type="number" min="1" max="60" value=(clock.ratio[0]) required;
                span { " to 1 " }
                button { "Set" }
            }))
            (live.form("jump_clock", &[], &html! {
                label for="jump" { "Put it on to" } " "
                input #jump.narrow name="to:t" placeholder=(live.time(live.rail)) required;
                " " button { "Put on" }
            }))
        }
    }
}

/// `POST /session/people`: new codes.
pub async fn people(
    State(office): State<Arc<Office>>,
    Extension(who): Extension<Who>,
    form: Result<Form<Vec<(String, String)>>, FormRejection>,
) -> Response {
    let fields = form.map(|Form(fields)| fields).unwrap_or_default();
    let does = sent(&fields, "do");
    let Some(room) = office.room().cloned() else {
        return Redirect::to("/session").into_response();
    };
    let changed = match (&room.door, does) {
        (Some(door), Some("new code")) => door.new_code(),
        (Some(door), Some("all out")) => door.all_out(),
        (_, Some("send out")) => {
            let room = room.clone();
            let device = sent(&fields, "device").unwrap_or_default().to_owned();
            tokio::task::spawn_blocking(move || room.send_out(&who, &device))
                .await
                .unwrap_or_else(|_| Err("a mistake in the program".into()))
        }
        _ => Ok(()),
    };
    match changed {
        Ok(()) => {
            room.look_again();
            Redirect::to("/session/people").into_response()
        }
        Err(error) => (
            StatusCode::SERVICE_UNAVAILABLE,
            format!("Nothing was changed, for it could not be kept: {error}\n"),
        )
            .into_response(),
    }
}

/// A request on behalf of a page.
pub fn request(command: Command) -> Request {
    Request {
        key: key(),
        seen: None,
        command,
    }
}
