//! Which cars and engines are right for the date.

use std::sync::Arc;

use maud::{Markup, html};
use mechanical::era::{Allowed, Judged, RULES, Standing, judge_car, judge_engine, moving};
use model::date::{Date, DateStyle};
use railroad::{Loaded, shop};

use super::Lack;
use crate::{
    frame::{Ask, Page, ledger},
    show,
};

/// The judgment of a day.
#[derive(Debug)]
pub struct EraPage {
    loaded: Arc<Loaded>,
    now: Option<Allowed>,
    on: Option<Date>,
    wrong: Option<String>,
}

impl EraPage {
    /// The page; `on` in the query tries another day.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let (on, wrong) = match ask.query("on").map(Date::parse) {
            Some(Ok(date)) => (Some(date), None),
            Some(Err(error)) => (None, Some(error.to_string())),
            None => (None, None),
        };
        Ok(Self {
            now: shop(ask.railroad()).allowed(),
            loaded: ask.now.loaded.clone(),
            on,
            wrong,
        })
    }

    fn judged(&self, allowed: &Allowed) -> Vec<(String, String, Judged)> {
        let railroad = &self.loaded.railroad;
        let context = shop(railroad);
        let engines = railroad
            .roster
            .engines
            .iter()
            .filter(|engine| engine.state.on_the_railroad())
            .map(|engine| {
                let number = &engine.number.value;
                (
                    format!("engine {number}"),
                    show::url(&["engines", number]),
                    judge_engine(engine, allowed),
                )
            });
        let cars = railroad
            .roster
            .cars
            .iter()
            .filter(|car| car.state.on_the_railroad())
            .map(|car| {
                let name = &car.name.value;
                (
                    name.clone(),
                    show::url(&["cars", name]),
                    judge_car(car, car.is_foreign(&context), allowed),
                )
            });
        engines.chain(cars).collect()
    }
}

impl Page for EraPage {
    fn title(&self) -> String {
        "Right for the date".into()
    }

    fn document(&self) -> &'static str {
        "/era"
    }

    fn body(&self) -> Markup {
        let Some(now) = self.now else {
            return html! { p { "The railroad's page gives no date by which to judge." } };
        };
        let allowed = self.on.map_or(now, |day| now.on(day));
        let judged = self.judged(&allowed);
        let count = |standing| {
            judged
                .iter()
                .filter(|(.., j)| j.standing() == standing)
                .count()
        };
        html! {
            form.find method="get" action="/era" {
                label for="on" { "As if it were" }
                input #on name="on" value=(allowed.day.show(DateStyle::Iso)) aria-invalid=[self.wrong.as_ref().map(|_| "true")] aria-describedby="on-wrong";
                button { "Judge" }
                span #on-wrong role="status" { (self.wrong.as_deref().unwrap_or_default()) }
            }
            p.lead {
                "On " (allowed.day.show(DateStyle::Full)) ", with equipment from " (allowed.earliest.show(DateStyle::MonthName))
                " on: " (count(Standing::Right)) " right, " (count(Standing::Wrong)) " not, " (count(Standing::Unknown)) " not known."
            }
            @if let Some(day) = self.on {
                @let then = now.on(day);
                @let (changes, freed) = moving(&self.loaded.railroad.roster, &shop(&self.loaded.railroad), &now, &then);
                h2 { "What would have to change" }
                @if changes.is_empty() { p { "Nothing." } }
                ul {
                    @for change in &changes {
                        li { (change.mend) ": " (change.names.len()) " (" (some(&change.names)) ")" }
                    }
                    @if !freed.is_empty() { li { "Right then and not now: " (freed.len()) " (" (some(&freed)) ")" } }
                }
            }
            h2 { "What is not right, or not known to be" }
            @if judged.iter().all(|(.., j)| j.standing() == Standing::Right) { p { "\u{2713} Nothing." } }
            @else {
                (ledger("What is not right", &html! {
                    table {
                        thead { tr { th scope="col" { "Which" } th scope="col" { "Why" } th scope="col" { "What would make it right" } } }
                        tbody {
                            @for (name, url, judged) in judged.iter().filter(|(.., j)| j.standing() != Standing::Right).take(200) {
                                @for finding in &judged.findings {
                                    tr {
                                        th scope="row" { a href=(url) { (name) } }
                                        td { @if finding.standing == Standing::Wrong { "\u{2716} " } @else { "? " } (finding.sentence) }
                                        td { (finding.mend) }
                                    }
                                }
                            }
                        }
                    }
                }))
            }
            details {
                summary { "The rules, and where each was read" }
                ul.rules {
                    @for rule in RULES {
                        @let (year, month, day) = rule.from;
                        li { (format!("{year}-{month:02}-{day:02}")) ": " (rule.sentence) " " span.quiet { (rule.source.words()) } }
                    }
                }
            }
        }
    }
}

fn some(names: &[String]) -> String {
    const MOST: usize = 12;
    match names.len() {
        0..=MOST => names.join(", "),
        more => format!("{} and {} more", names[..MOST].join(", "), more - MOST),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn another_day_can_be_tried_and_a_bad_one_is_said() {
        let office = example();
        let read = |on: &[(&str, &str)]| {
            let ask = ask(&office, "/era", &[], on);
            whole(&ask, &EraPage::of(&ask).unwrap())
        };
        assert!(read(&[]).contains("On Thursday, October 9, 1941"));
        assert!(read(&[("on", "1925-06-01")]).contains("What would have to change"));
        assert!(read(&[("on", "yesterday")]).contains("aria-invalid=\"true\""));
    }
}
