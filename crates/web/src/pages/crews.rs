//! Jobs, the crews that hold them, and the people who may be called.

use std::sync::Arc;

use maud::{Markup, html};
use model::time::RailTime;
use railroad::Loaded;
use transportation::Job;

use super::{Lack, station_link, train_link};
use crate::{
    forms::place::Links,
    frame::{Ask, Page, ledger},
    show,
};

/// The jobs by the time they go on duty, and the call list.
#[derive(Debug)]
pub struct Crews {
    loaded: Arc<Loaded>,
}

impl Crews {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            loaded: ask.now.loaded.clone(),
        })
    }

    /// When a job begins: as written, else when its first train leaves.
    fn begins(&self, job: &Job) -> Option<RailTime> {
        let service = &self.loaded.railroad.service;
        job.on_duty.map(|time| time.value).or_else(|| {
            job.trains
                .iter()
                .filter_map(|train| service.find_train(&train.value))
                .filter_map(|train| service.train(train).leave.map(|leave| leave.value))
                .min()
        })
    }
}

impl Page for Crews {
    fn title(&self) -> String {
        "Crews and call list".into()
    }

    fn document(&self) -> &'static str {
        "/crews"
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let mut jobs: Vec<&Job> = railroad.service.jobs.iter().collect();
        jobs.sort_by_key(|job| (self.begins(job), job.name.value.clone()));
        let links = Links::new(&self.loaded);
        let needed: i64 = jobs.iter().map(|job| job.people.value).sum();
        html! {
            p.lead {
                (show::count(jobs.len(), "job", "jobs")) ", filled by " (needed) " people one after another; "
                (show::count(railroad.service.people.len(), "person", "people")) " on the call list."
            }
            h2 { "Jobs, in the order they go on duty" }
            (ledger("Jobs", &html! {
                table {
                    thead { tr {
                        th.time scope="col" { "On duty" } th scope="col" { "Job" } th scope="col" { "At" }
                        th scope="col" { "Trains" } th.number scope="col" { "People" } th scope="col" { "As" } th scope="col" { "Remarks" }
                    } }
                    tbody {
                        @for job in &jobs {
                            tr {
                                td.time { (self.begins(job).map_or(String::new(), |time| show::time(railroad, time))) }
                                th scope="row" { a href=(links.to(job.name.span)) { (job.name.value) } }
                                td { @if let Some(at) = &job.at { (station_link(&at.value)) } }
                                td { @for (at, train) in job.trains.iter().enumerate() { @if at > 0 { ", " } (train_link(&train.value)) } }
                                td.number { (job.people.value) }
                                td { (job.roles.iter().map(|role| role.value.word()).collect::<Vec<_>>().join(", ")) }
                                td { (job.note.as_deref().unwrap_or_default()) }
                            }
                        }
                    }
                }
            }))
            h2 { "Who may be called" }
            @if railroad.service.people.is_empty() { p { "Nobody is on the list." } }
            @else {
                (ledger("People", &html! {
                    table {
                        thead { tr { th scope="col" { "Name" } th scope="col" { "Qualified" } th scope="col" { "Remarks" } } }
                        tbody {
                            @for person in &railroad.service.people {
                                tr {
                                    th scope="row" { a href=(links.to(person.name.span)) { (person.name.value) } }
                                    td {
                                        @if person.qualified.is_empty() { "for anything" }
                                        @else { (person.qualified.iter().map(|role| role.word()).collect::<Vec<_>>().join(", ")) }
                                    }
                                    td { (person.note.as_deref().unwrap_or_default()) }
                                }
                            }
                        }
                    }
                }))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn jobs_and_people_are_all_there() {
        let office = example();
        let ask = ask(&office, "/crews", &[], &[]);
        let page = whole(&ask, &Crews::of(&ask).unwrap());
        let service = &office.now().loaded.railroad.service;
        for job in &service.jobs {
            assert!(page.contains(&job.name.value));
        }
        for person in &service.people {
            assert!(page.contains(&person.name.value));
        }
    }
}
