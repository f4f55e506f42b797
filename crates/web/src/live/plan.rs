//! A new plan for the rest of the session: worked out from where everything is now, shown with its reasons
//! and with what it changes in orders already out, put in force only by the dispatcher's word.

use std::sync::{Arc, PoisonError};

use axum::{
    Extension, Form,
    extract::{State, rejection::FormRejection},
    http::StatusCode,
    response::{IntoResponse, Redirect, Response},
};
use maud::{Markup, html};
use session::{Answer, Command, Request, Who};

use super::{
    Live,
    room::{Offered, Room},
};
use crate::{
    Office,
    app::sent,
    frame::{Ask, Page},
    pages::Lack,
    services::{Replanned, Sorry},
    show,
    works::Work,
};

/// The page.
#[derive(Debug)]
pub struct PlanPage {
    live: Live,
    offered: Option<Offered>,
}

impl PlanPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let live = Live::of(ask)?;
        let offered = ask.office.room().and_then(|room| {
            let offer = room.offer.lock().unwrap_or_else(PoisonError::into_inner);
            offer.clone()
        });
        // A plan takes less than a second as a rule: the page waits for it rather than come twice.
        if let Some(offered) = &offered {
            let _ = offered.work.wait(std::time::Duration::from_millis(1500));
        }
        Ok(Self { live, offered })
    }
}

impl Page for PlanPage {
    fn title(&self) -> String {
        "A new plan".into()
    }

    fn document(&self) -> &'static str {
        "/session/desk"
    }

    fn watch(&self) -> Option<String> {
        Some("plan stop".into())
    }

    fn body(&self) -> Markup {
        html! {
            p { a href="/session/desk" { "Back to the desk" } }
            @match &self.offered {
                None => {
                    p { "No plan is on offer." }
                    (ask_again("Make a new plan"))
                }
                Some(offered) => @match offered.work.result() {
                    None => {
                        p #working role="status" data-again="700" { "A plan is being worked out from where everything is now." }
                    }
                    Some(Err(sorry)) => {
                        p.refused role="alert" { "\u{2716} " (sorry.what) "." @if let Some(help) = &sorry.help { " " (help) } }
                        (ask_again("Try again"))
                    }
                    Some(Ok(plan)) => (self.offer(offered, &plan)),
                }
            }
        }
    }
}

fn ask_again(words: &str) -> Markup {
    html! {
        form.actions method="post" action="/session/plan" {
            button name="do" value="ask" { (words) }
        }
    }
}

impl PlanPage {
    fn offer(&self, offered: &Offered, plan: &Replanned) -> Markup {
        let live = &self.live;
        let number = offered.number.to_string();
        let since = live.state.revision().saturating_sub(offered.revision);
        html! {
            p.quiet {
                "Worked out in " (format!("{:.2}", offered.work.took().as_secs_f64())) " s."
                @if since > 0 { " Since it was asked for there " (show::count(since as usize, "report has come in.", "reports have come in.")) }
            }
            @if plan.changes.is_empty() {
                p.lead { "Nothing is to be changed: the plan in force is still the best found." }
            } @else {
                h2 { "What changes" }
                ul.changes { @for change in &plan.changes { li { (change) } } }
            }
            @if !plan.reasons.is_empty() {
                h2 { "Why" }
                ul { @for reason in &plan.reasons { li { (reason) } } }
            }
            @if !plan.against.is_empty() {
                h2 { "Against orders already out" }
                ul { @for words in &plan.against { li { span.mark.late { "\u{25b2}" } " " (words) } } }
            }
            @if !plan.orders.is_empty() {
                h2 { "Orders to hand out" }
                ul.orders {
                    @for (text, to) in &plan.orders {
                        li {
                            (text.sentence(&|symbol| live.state.title(symbol), &|time| live.state.opening.time(time)))
                            @if !to.is_empty() { span.quiet { " \u{2014} to " (to.iter().map(|symbol| live.state.title(symbol)).collect::<Vec<_>>().join(", ")) } }
                        }
                    }
                }
            }
            form.actions method="post" action="/session/plan" {
                input type="hidden" name="number" value=(number);
                @if !plan.changes.is_empty() || !plan.orders.is_empty() {
                    button.primary.big name="do" value="accept" {
                        @if plan.orders.is_empty() { "Put it in force" }
                        @else { "Put it in force and hand out " (show::count(plan.orders.len(), "order", "orders")) }
                    }
                }
                button name="do" value="drop" { "Leave things as they are" }
                button name="do" value="ask" { "Work it out anew" }
            }
        }
    }
}

/// Begins working out a plan from a state.
pub(super) fn work_out(office: &Arc<Office>, state: Arc<session::State>) -> Arc<Work<Replanned>> {
    let working = office.clone();
    let loaded = office.now().loaded.clone();
    let now = super::real_now();
    Work::begin(state.revision(), move |progress| {
        match &working.services.replan {
            Some(replan) => replan(
                &loaded.railroad,
                &crate::services::ReplanAsk { state, now },
                progress,
            ),
            None => Err(Sorry {
                what: "Nobody here can plan".into(),
                help: None,
            }),
        }
    })
}

/// Puts the plan on offer that the office worked out by itself; where more has been reported since, has it
/// worked out anew.
fn look_at(office: &Arc<Office>, room: &Arc<Room>) {
    let ready = {
        let mut ready = room.ready.lock().unwrap_or_else(PoisonError::into_inner);
        ready.take()
    };
    let revision = room.state().map(|state| state.revision());
    match ready.filter(|one| Some(one.revision) == revision) {
        Some(ready) => {
            let mut offer = room.offer.lock().unwrap_or_else(PoisonError::into_inner);
            let number = offer.as_ref().map_or(1, |old| old.number + 1);
            *offer = Some(Offered { number, ..ready });
        }
        None => {
            ask_for(office, room);
        }
    }
    room.tell(super::ready::READY);
}

/// Has a plan worked out from the state as it is.
pub fn ask_for(office: &Arc<Office>, room: &Arc<Room>) -> bool {
    let Some(state) = room.state() else {
        return false;
    };
    let mut offer = room.offer.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(old) = &*offer {
        old.work.progress.stop();
    }
    let number = offer.as_ref().map_or(1, |old| old.number + 1);
    *offer = Some(Offered {
        number,
        revision: state.revision(),
        work: work_out(office, state),
    });
    true
}

/// `POST /session/plan`.
pub async fn plan(
    State(office): State<Arc<Office>>,
    Extension(who): Extension<Who>,
    form: Result<Form<Vec<(String, String)>>, FormRejection>,
) -> Response {
    let fields = form.map(|Form(fields)| fields).unwrap_or_default();
    let find = |name: &str| sent(&fields, name).unwrap_or_default();
    let Some(room) = office.room().cloned() else {
        return Redirect::to("/session").into_response();
    };
    match find("do") {
        "ask" => {
            ask_for(&office, &room);
            Redirect::to("/session/plan").into_response()
        }
        "look" => {
            look_at(&office, &room);
            Redirect::to("/session/plan").into_response()
        }
        "drop" => {
            *room.offer.lock().unwrap_or_else(PoisonError::into_inner) = None;
            Redirect::to("/session/desk").into_response()
        }
        "accept" => {
            let offered = {
                let offer = room.offer.lock().unwrap_or_else(PoisonError::into_inner);
                offer.clone()
            };
            let Some(offered) = offered.filter(|one| one.number.to_string() == find("number"))
            else {
                let words =
                    "Another plan is on offer by now. It was not put in force: look at it first.\n";
                return (StatusCode::CONFLICT, words).into_response();
            };
            let Some(Ok(plan)) = offered.work.result() else {
                return Redirect::to("/session/plan").into_response();
            };
            let done =
                tokio::task::spawn_blocking(move || accept(&room, &who, offered.number, &plan))
                    .await;
            match done {
                Ok(Ok(())) => Redirect::to("/session/desk").into_response(),
                Ok(Err(words)) => (
                    StatusCode::CONFLICT,
                    format!("{words}\n\nGo back and have the plan worked out anew.\n"),
                )
                    .into_response(),
                Err(_) => (
                    StatusCode::SERVICE_UNAVAILABLE,
                    "Not put in force: a mistake in the program.\n",
                )
                    .into_response(),
            }
        }
        _ => Redirect::to("/session/plan").into_response(),
    }
}

/// The plan, then its orders, one after another. Keys come from the plan's number, so that a second press
/// hands nothing out twice.
fn accept(room: &Arc<Room>, who: &Who, number: u64, plan: &Replanned) -> Result<(), String> {
    let made = plan.plan.made_at;
    let say = |step: String, command: Command| {
        let request = Request {
            key: format!("plan-{made}-{number}-{step}"),
            seen: None,
            command,
        };
        room.say(who, &request).map_err(|answer| match answer {
            Answer::Refused(refused) => refused.to_string(),
            Answer::Trouble(trouble) => trouble.to_string(),
        })
    };
    say(
        "plan".into(),
        Command::TakePlan {
            plan: plan.plan.clone(),
        },
    )?;
    let mut refused = Vec::new();
    for (at, (text, to)) in plan.orders.iter().enumerate() {
        let order = Command::IssueOrder {
            text: text.clone(),
            to: to.clone(),
        };
        if let Err(words) = say(format!("order-{at}"), order) {
            refused.push(words);
        }
    }
    *room.offer.lock().unwrap_or_else(PoisonError::into_inner) = None;
    if refused.is_empty() {
        Ok(())
    } else {
        Err(format!(
            "The plan is in force, but not all of its orders could be given. {}",
            refused.join(" ")
        ))
    }
}
