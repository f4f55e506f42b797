//! The call board: the jobs, who is on them, and who is to be called when.

use maud::{Markup, html};
use session::Role;

use super::{Live, train_link};
use crate::{
    frame::{Ask, Page, ledger},
    pages::Lack,
};

/// The page.
#[derive(Debug)]
pub struct BoardPage {
    live: Live,
}

impl BoardPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            live: Live::of(ask)?,
        })
    }
}

impl Page for BoardPage {
    fn title(&self) -> String {
        "Call board".into()
    }

    fn document(&self) -> &'static str {
        "/session/board"
    }

    fn watch(&self) -> Option<String> {
        Some("people trains devices plan stop".into())
    }

    fn body(&self) -> Markup {
        let live = &self.live;
        let state = &live.state;
        let me = live.who.name.as_str();
        let on = state.sheet.people.get(me).filter(|person| !person.off);
        html! {
            @if live.may(Role::Crew) {
                section.mine {
                    @match on {
                        Some(person) => {
                            p {
                                "You are "
                                @match &person.job {
                                    Some(job) => { "on " strong { (job) } }
                                    None => "marked up on the extra board",
                                }
                                " since " (live.time(person.since)) "."
                            }
                            (live.press("off_duty", &[("person", me)], "", "Go off duty"))
                        }
                        None => {
                            p { "You are not on duty." }
                            (live.form("on_duty", &[("person", me)], &html! {
                                label for="my-job" { "Job" } " "
                                select #my-job name="job" {
                                    option value="" { "Extra board: call me when needed" }
                                    @for job in &state.opening.jobs { option value=(job.name) { (job.name) } }
                                }
                                " " button.primary { "Mark up" }
                            }))
                        }
                    }
                }
            }
            h2 { "Jobs" }
            (ledger("Jobs", &html! {
                table {
                    thead { tr { th { "Job" } th { "On duty" } th { "Trains" } th { "People" } th { "Called" } } }
                    tbody {
                        @for job in &state.opening.jobs {
                            @let crew: Vec<&str> = state.sheet.people.iter().filter(|(_, one)| !one.off && one.job.as_deref() == Some(&job.name)).map(|(name, _)| name.as_str()).collect();
                            tr data-key=(job.name) {
                                th scope="row" { (job.name) }
                                td { @if let Some(time) = job.on_duty { (live.time(time)) } @if let Some(at) = &job.at { ", " (at) } }
                                td { @for (n, train) in job.trains.iter().enumerate() { @if n > 0 { ", " } (train_link(live, train)) } }
                                td {
                                    @if crew.is_empty() { span.mark.behind { "\u{25b3} nobody of " (job.people) } }
                                    @else { (crew.join(", ")) @if crew.len() < job.people as usize { " (of " (job.people) ")" } }
                                }
                                td {
                                    @for train in job.trains.iter().filter_map(|symbol| state.train(symbol)) {
                                        @match train.called {
                                            Some(time) => p.tight { (train.title()) " at " (live.time(time)) },
                                            None if live.may(Role::Yard) && train.active() => {
                                                (live.press("call_train", &[("train", train.symbol())], "", &format!("Call {}", train.title())))
                                            }
                                            None => {}
                                        }
                                    }
                                }
                            }
                        }
                    }
                }
            }))
            @let jobless: Vec<_> = state.sheet.trains.iter().filter(|train| train.sheet.job.is_none() && train.active()).collect();
            @if !jobless.is_empty() {
                h2 { "Trains without a job" }
                @for train in jobless {
                    div.row data-key=(train.symbol()) {
                        (train_link(live, train.symbol())) " "
                        @match train.called {
                            Some(time) => span { "called at " (live.time(time)) },
                            None if live.may(Role::Yard) => (live.press("call_train", &[("train", train.symbol())], "", "Call")),
                            None => span { "not called" },
                        }
                    }
                }
            }
            h2 { "People" }
            @let board: Vec<_> = state.sheet.people.iter().filter(|(_, one)| !one.off).collect();
            @if board.is_empty() { p { "Nobody has marked up." } }
            ul {
                @for (name, person) in board {
                    li data-key=(name) {
                        (name) ": " (person.job.as_deref().unwrap_or("extra board")) ", since " (live.time(person.since))
                        @let hours = (live.rail - person.since).seconds();
                        @if hours > state.opening.hours_of_service && state.opening.hours_of_service > 0 {
                            " " span.mark.late { "\u{25b2} over their hours" }
                        }
                        @if live.may(Role::Yard) { " " (live.press("off_duty", &[("person", name)], "small", "Off duty")) }
                    }
                }
            }
            @if live.may(Role::Yard) {
                h2 { "Mark up someone else" }
                (live.form("on_duty", &[], &html! {
                    div.fields {
                        div.field {
                            label for="person" { "Person" }
                            input #person name="person" list="people" required;
                            datalist #people {
                                @for person in &state.opening.people { option value=(person.name) {} }
                                @for device in state.sheet.devices.values() { option value=(device.name) {} }
                            }
                        }
                        div.field {
                            label for="job" { "Job" }
                            select #job name="job" {
                                option value="" { "Extra board" }
                                @for job in &state.opening.jobs { option value=(job.name) { (job.name) } }
                            }
                        }
                    }
                    button { "Mark up" }
                }))
            }
        }
    }
}
