//! The engine records.

use std::sync::Arc;

use maud::{Markup, html};
use mechanical::{Engine, car::CarState, era::judge_engine, fit::Body};
use railroad::{Loaded, shop};

use super::{
    Lack,
    cars::{feet, fits, pounds, sheet, stands, verdict},
    train_link,
};
use crate::{
    forms::place,
    frame::{Ask, Page, ledger},
    show,
};

/// The list.
#[derive(Debug)]
pub struct Engines {
    loaded: Arc<Loaded>,
}

impl Engines {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            loaded: ask.now.loaded.clone(),
        })
    }
}

impl Page for Engines {
    fn title(&self) -> String {
        "Engine records".into()
    }

    fn document(&self) -> &'static str {
        "/engines"
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        html! {
            (ledger("Engines", &html! {
                table {
                    thead { tr {
                        th scope="col" { "Engine" }
                        th scope="col" { "Class" }
                        th scope="col" { "Kind" }
                        th scope="col" { "Wheels" }
                        th.number scope="col" { "Tractive effort" }
                        th.number scope="col" { "Model pulls" }
                        th.number scope="col" { "Length" }
                        th.number scope="col" { "Sharpest curve" }
                        th.number scope="col" { "Address" }
                        th scope="col" { "Stands at" }
                        th scope="col" { "State" }
                    } }
                    tbody {
                        @for engine in &railroad.roster.engines {
                            tr {
                                th scope="row" { a href=(show::url(&["engines", &engine.number.value])) { (engine.number.value) } }
                                td { (engine.class.as_deref().unwrap_or_default()) }
                                td { (engine.kind.map_or("", |kind| kind.value.word())) }
                                td { (engine.wheels.as_ref().map_or("", |wheels| wheels.value.as_str())) }
                                td.number { (effort(engine).unwrap_or_default()) }
                                td.number { (engine.drawbar_pull.map_or(String::new(), |pull| show::model_weight(railroad, pull.value))) }
                                td.number { (engine.length.map_or(String::new(), |l| show::length(railroad, l.value))) }
                                td.number { (engine.minimum_radius.map_or(String::new(), |l| show::length(railroad, l.value))) }
                                td.number { (engine.address.map_or(String::new(), |a| a.value.to_string())) }
                                td { (stands(engine.at.as_ref().map(|at| at.value.as_str()))) }
                                td { @if engine.state != CarState::InService { (engine.state.word()) } }
                            }
                        }
                    }
                }
            }))
            p.actions {
                a.button href="/edit?file=engines.csv" { "Change the records" }
                " "
                a.button href="/paste?file=engines.csv" { "Paste from a spreadsheet" }
            }
        }
    }
}

/// Tractive effort, as written or by the cylinders.
fn effort(engine: &Engine) -> Option<String> {
    let written = engine.tractive_effort.map(|effort| pounds(effort.value));
    written.or_else(|| {
        engine
            .computed_tractive_effort_lb()
            .map(|pounds_force| pounds(model::units::Weight::from_pounds(pounds_force)))
    })
}

/// One engine.
#[derive(Debug)]
pub struct EngineRecord {
    loaded: Arc<Loaded>,
    at: usize,
}

impl EngineRecord {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let roster = &ask.railroad().roster;
        let number = ask.param("number");
        let names = || {
            roster
                .engines
                .iter()
                .map(|engine| engine.number.value.as_str())
        };
        let id = roster
            .find_engine(number)
            .ok_or_else(|| Lack::named("engine", number, "engines", names()))?;
        Ok(Self {
            loaded: ask.now.loaded.clone(),
            at: id.index(),
        })
    }

    fn engine(&self) -> &Engine {
        &self.loaded.railroad.roster.engines[self.at]
    }
}

impl Page for EngineRecord {
    fn title(&self) -> String {
        format!("Engine {}", self.engine().number.value)
    }

    fn document(&self) -> &'static str {
        "/engines"
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let engine = self.engine();
        let text = |value: Option<String>| value.unwrap_or_default();
        let facts: Vec<(&str, String)> = vec![
            ("Class", text(engine.class.clone())),
            (
                "Kind",
                text(engine.kind.map(|kind| kind.value.word().to_owned())),
            ),
            (
                "Wheel arrangement",
                text(engine.wheels.as_ref().map(|w| w.value.clone())),
            ),
            (
                "Drivers",
                text(
                    engine
                        .drivers
                        .map(|d| format!("{:.0} in", d.value.inches())),
                ),
            ),
            (
                "Cylinders",
                text(engine.cylinders.as_ref().map(|c| format!("{} in", c.value))),
            ),
            (
                "Boiler pressure",
                text(
                    engine
                        .pressure
                        .map(|p| format!("{:.0} lb per sq in", p.value)),
                ),
            ),
            (
                "Weight",
                text(engine.engine_weight.map(|w| pounds(w.value))),
            ),
            (
                "Weight on drivers",
                text(engine.weight_on_drivers.map(|w| pounds(w.value))),
            ),
            ("Tractive effort", text(effort(engine))),
            (
                "Horsepower",
                text(engine.horsepower.map(|hp| format!("{hp:.0}"))),
            ),
            (
                "Length with tender",
                text(engine.length.map(|l| show::length(railroad, l.value))),
            ),
            ("Extreme height", text(engine.height.map(|l| feet(l.value)))),
            (
                "Sharpest curve",
                text(
                    engine
                        .minimum_radius
                        .map(|l| show::length(railroad, l.value)),
                ),
            ),
            (
                "The model pulls",
                text(
                    engine
                        .drawbar_pull
                        .map(|w| show::model_weight(railroad, w.value)),
                ),
            ),
            (
                "The model weighs",
                text(engine.weight.map(|w| show::model_weight(railroad, w.value))),
            ),
            (
                "Decoder address",
                text(engine.address.map(|a| a.value.to_string())),
            ),
            (
                "Built",
                text(engine.built.as_ref().map(|d| d.value.to_string())),
            ),
            (
                "Retired",
                text(engine.retired.as_ref().map(|d| d.value.to_string())),
            ),
            ("State", engine.state.word().to_owned()),
        ];
        let trains: Vec<_> = railroad
            .service
            .trains
            .iter()
            .filter(|train| {
                let helps = train
                    .helper
                    .as_ref()
                    .and_then(|helper| helper.engine.as_ref());
                train
                    .engines
                    .iter()
                    .chain(helps)
                    .any(|number| number.value == engine.number.value)
            })
            .collect();
        html! {
            p.lead {
                @match &engine.at {
                    Some(at) => { "Stands at " (stands(Some(&at.value))) " before the session." }
                    None => "The record does not say where it stands.",
                }
                @if !trains.is_empty() {
                    " Works " @for (at, train) in trains.iter().enumerate() {
                        @if at > 0 { ", " } (train_link(&train.symbol.value))
                    } "."
                }
            }
            (sheet(&facts))
            @if let Some(allowed) = shop(railroad).allowed() { (verdict(&judge_engine(engine, &allowed))) }
            (fits(railroad, &Body::engine(engine, railroad.identity.scale.scale), "it"))
            @if !engine.log.is_empty() {
                h2 { "Repairs" }
                ul { @for entry in &engine.log { li { @if let Some(date) = &entry.value.date { (date) ": " } (entry.value.what) } } }
            }
            @if let Some(note) = &engine.note { p.note { (note) } }
            p.actions {
                a.button href=(place::link(&self.loaded, engine.number.span)) { "Change the record" }
                " " a.button href="/tonnage" { "Tonnage ratings" }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn every_engine_is_listed_and_has_its_record() {
        let office = example();
        let list = ask(&office, "/engines", &[], &[]);
        let text = whole(&list, &Engines::of(&list).unwrap());
        for engine in &office.now().loaded.railroad.roster.engines {
            let number = engine.number.value.as_str();
            assert!(text.contains(&format!("/engines/{}", show::escape(number))));
            let ask = ask(&office, "/engines/x", &[("number", number)], &[]);
            assert!(whole(&ask, &EngineRecord::of(&ask).unwrap()).contains("Where it fits"));
        }
    }
}
