//! Switching: how a train works a town, move by move.

use std::sync::Arc;

use engineering::ids::StationId;
use maud::{Markup, html};
use railroad::Loaded;
use transportation::TrainId;

use super::{Lack, station, station_link, train_link};
use crate::{
    frame::{Ask, Page, drawing, ledger},
    services::{Progress, SwitchAsk, SwitchPlan},
    show,
};

/// The towns that trains work.
#[derive(Debug)]
pub struct Towns {
    loaded: Arc<Loaded>,
    towns: Option<Vec<(StationId, Vec<TrainId>)>>,
}

impl Towns {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let railroad = ask.railroad();
        let towns = ask.office.services.works.as_ref().map(|works| {
            railroad
                .way
                .stations()
                .map(|(id, _)| (id, works(railroad, id)))
                .filter(|(_, trains)| !trains.is_empty())
                .collect()
        });
        Ok(Self {
            loaded: ask.now.loaded.clone(),
            towns,
        })
    }
}

impl Page for Towns {
    fn title(&self) -> String {
        "Switching".into()
    }

    fn document(&self) -> &'static str {
        "/switching"
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let Some(towns) = &self.towns else {
            return html! { p { "This office was opened without anyone to plan switching." } };
        };
        html! {
            p.lead { "The towns that trains set out and pick up at. Choose one to see the work done move by move." }
            (ledger("Towns", &html! {
                table {
                    thead { tr { th scope="col" { "Town" } th scope="col" { "Worked by" } } }
                    tbody {
                        @for (id, trains) in towns {
                            @let name = &railroad.way.station(*id).name.value;
                            tr {
                                th scope="row" { a href=(show::url(&["switching", name])) { (name) } }
                                td { @for (at, train) in trains.iter().enumerate() {
                                    @if at > 0 { ", " } (train_link(&railroad.service.train(*train).symbol.value))
                                } }
                            }
                        }
                    }
                }
            }))
        }
    }
}

/// The plan of one town.
#[derive(Debug)]
pub struct SwitchList {
    loaded: Arc<Loaded>,
    asked: SwitchAsk,
    plan: SwitchPlan,
    /// Which picture is shown: 0 before the first move. All of them if none.
    step: Option<usize>,
}

impl SwitchList {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let railroad = ask.railroad();
        let station = station::find(railroad, ask.param("station"))?;
        let number = |name: &str| ask.query(name).and_then(|n| n.parse::<u64>().ok());
        let asked = SwitchAsk {
            station,
            train: number("train").unwrap_or(0) as usize,
            session: number("session"),
            fastest: ask.query("by") == Some("minutes"),
        };
        let switch = ask.office.services.switch.as_ref().ok_or_else(|| {
            Lack::because(
                "No switching here",
                "This office was opened without anyone to plan switching.",
            )
        })?;
        let plan = switch(railroad, &asked, &Progress::default()).map_err(|sorry| {
            let name = &railroad.way.station(station).name.value;
            let help = sorry.help.map_or(String::new(), |help| format!(" {help}"));
            Lack::because(
                format!("Switching {name}"),
                format!("{}.{help}", sorry.what),
            )
        })?;
        let step = number("step").map(|step| (step as usize).min(plan.moves.len()));
        Ok(Self {
            loaded: ask.now.loaded.clone(),
            asked,
            plan,
            step,
        })
    }

    fn name(&self) -> &str {
        &self
            .loaded
            .railroad
            .way
            .station(self.asked.station)
            .name
            .value
    }

    fn address(&self, step: Option<usize>) -> String {
        let mut address = format!(
            "{}?train={}",
            show::url(&["switching", self.name()]),
            self.asked.train
        );
        if let Some(session) = self.asked.session {
            address.push_str(&format!("&session={session}"));
        }
        if self.asked.fastest {
            address.push_str("&by=minutes");
        }
        if let Some(step) = step {
            address.push_str(&format!("&step={step}#step"));
        }
        address
    }

    fn choices(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        html! {
            form.find method="get" action=(show::url(&["switching", self.name()])) {
                label for="train" { "Train" }
                select #train name="train" {
                    @for (at, train) in self.plan.trains.iter().enumerate() {
                        option value=(at) selected[at == self.asked.train] { (railroad.service.train(*train).symbol.value) }
                    }
                }
                label for="session" { "Session" }
                input #session name="session" inputmode="numeric" size="5" value=(self.asked.session.map_or(String::new(), |s| s.to_string()))
                    placeholder="today" aria-describedby="session-hint";
                label for="by" { "Fewest" }
                select #by name="by" {
                    option value="moves" { "moves" }
                    option value="minutes" selected[self.asked.fastest] { "minutes" }
                }
                button { "Plan it" }
                span.hint #session-hint { "A number draws a typical session; empty: the cars where they stand." }
            }
        }
    }

    fn one(&self, step: usize) -> Markup {
        let plan = &self.plan;
        html! {
            nav.leaves #step aria-label="Moves" {
                @if step > 0 { a rel="prev" data-key="ArrowLeft" href=(self.address(Some(step - 1))) { "\u{2190} Before" } }
                span { "Move " (step) " of " (plan.moves.len()) }
                @if step < plan.moves.len() { a rel="next" data-key="ArrowRight" href=(self.address(Some(step + 1))) { "After \u{2192}" } }
                a href=(self.address(None)) { "All moves" }
            }
            @match step.checked_sub(1).and_then(|at| plan.moves.get(at)) {
                None => {
                    h2 { "Before the first move" }
                    (drawing("The town before the first move", &plan.before))
                }
                Some(one) => {
                    h2 { (step) ". " (one.title) }
                    ol.steps { @for words in &one.steps { li { (words) } } }
                    (drawing(&format!("The town after move {step}"), &one.drawing))
                }
            }
        }
    }
}

impl Page for SwitchList {
    fn title(&self) -> String {
        format!("Switching {}", self.name())
    }

    fn document(&self) -> &'static str {
        "/switching"
    }

    fn whom(&self) -> Option<String> {
        Some(self.name().to_owned())
    }

    fn body(&self) -> Markup {
        let plan = &self.plan;
        html! {
            (self.choices())
            @for words in &plan.task { p { (words) } }
            @if !plan.left.is_empty() {
                h2 { "What cannot be done" }
                ul { @for words in &plan.left { li { (words) } } }
            }
            @for words in &plan.worth { p.lead { (words) } }
            @match self.step {
                Some(step) => (self.one(step)),
                None => {
                    @if !plan.moves.is_empty() {
                        p.actions { a.button href=(self.address(Some(0))) { "Step through it" } " " (station_link(self.name())) }
                    }
                    ol.moves {
                        @for (at, one) in plan.moves.iter().enumerate() {
                            li {
                                h2 { a href=(self.address(Some(at + 1))) { (one.title) } }
                                @for words in &one.steps { p { (words) } }
                            }
                        }
                    }
                }
            }
            p.key { "Solid: the engine. Hatched: cars handled in the move. Plain: other cars. Arrow: the last run of the train." }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        Office, Services,
        pages::testing::{ask, whole},
        services::SwitchMove,
    };

    fn office() -> Arc<Office> {
        let services = Services {
            works: Some(Box::new(|railroad, _| {
                vec![railroad.service.find_train("2").unwrap()]
            })),
            switch: Some(Box::new(|railroad, ask, _| {
                Ok(SwitchPlan {
                    trains: vec![railroad.service.find_train("2").unwrap()],
                    task: vec!["Sets out one car.".into()],
                    worth: vec![format!("2 moves by seed {:?}.", ask.session)],
                    left: vec![],
                    before: "<svg id=\"before\"></svg>".into(),
                    moves: (1..=2)
                        .map(|at| SwitchMove {
                            title: format!("Title {at}"),
                            steps: vec![format!("Step {at} & more")],
                            seconds: 60.0,
                            drawing: format!("<svg id=\"after-{at}\"></svg>"),
                        })
                        .collect(),
                })
            })),
            ..Services::default()
        };
        Office::in_memory(railroad::Folder::built_in("example").unwrap(), services)
    }

    #[test]
    fn a_plan_is_stepped_through_and_read_as_a_whole() {
        let office = office();
        let read = |query: &[(&str, &str)]| {
            let ask = ask(
                &office,
                "/switching/Sandrill",
                &[("station", "Sandrill")],
                query,
            );
            whole(&ask, &SwitchList::of(&ask).unwrap())
        };
        let all = read(&[]);
        assert!(
            all.contains("Title 1")
                && all.contains("Step 2 &amp; more")
                && !all.contains("<svg id")
        );
        let first = read(&[("step", "0"), ("session", "7")]);
        assert!(first.contains("id=\"before\"") && first.contains("seed Some(7)"));
        assert!(first.contains("session=7&amp;step=1#step"));
        let last = read(&[("step", "9")]);
        assert!(last.contains("id=\"after-2\"") && !last.contains("rel=\"next\""));
    }

    #[test]
    fn an_office_without_a_planner_says_so() {
        let office = crate::pages::testing::example();
        let ask = ask(&office, "/switching", &[], &[]);
        assert!(whole(&ask, &Towns::of(&ask).unwrap()).contains("without anyone to plan"));
    }
}
