//! Long works: begun here, watched, stopped, and their reports read. They go on when the page is left.

use maud::{Markup, html};

use super::Lack;
use crate::{
    frame::{Ask, Page, ledger},
    office::StudyUnderWay,
    services::{Report, Study},
    show,
};

/// All studies.
#[derive(Debug)]
pub struct Studies {
    offered: Vec<Study>,
    begun: Vec<StudyUnderWay>,
}

impl Studies {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            offered: ask
                .office
                .services
                .studies
                .iter()
                .map(|(study, _)| study.clone())
                .collect(),
            begun: ask.office.studies(),
        })
    }
}

/// How far a work is, with what the script needs to look again.
fn state(one: &StudyUnderWay) -> Markup {
    let address = format!("/studies/{}", one.number);
    html! {
        @match one.work.result() {
            Some(Ok(_)) => { "finished in " (format!("{:.1} s", one.work.took().as_secs_f64())) }
            Some(Err(sorry)) => (sorry.what),
            None => {
                span data-waiting={ (address) "/state" } {
                    progress max="1" value=(one.work.progress.part()) aria-label="How far it is" {}
                    " " (format!("{:.0} %", one.work.progress.part() * 100.0))
                }
            }
        }
    }
}

impl Page for Studies {
    fn title(&self) -> String {
        "Capacity and season".into()
    }

    fn document(&self) -> &'static str {
        "/studies"
    }

    fn body(&self) -> Markup {
        html! {
            p.lead { "Work that takes a while goes on here whatever page you look at, and can be stopped with what it has." }
            @if self.offered.is_empty() { p { "This office was opened without anyone to do such work." } }
            @for study in &self.offered {
                form.find method="post" action="/studies" {
                    input type="hidden" name="study" value=(study.name);
                    strong { (study.title) }
                    @for (name, label, usual) in study.asks {
                        label for={ (study.name) "-" (name) } { (label) }
                        input id={ (study.name) "-" (name) } name=(name) value=(usual) size="6" inputmode="numeric";
                    }
                    button.primary { "Begin" }
                    span.hint { (study.about) }
                }
            }
            @if !self.begun.is_empty() {
                h2 { "Begun here" }
                (ledger("Works begun here", &html! {
                    table {
                        thead { tr { th scope="col" { "Work" } th scope="col" { "With" } th scope="col" { "State" } th scope="col" { "Stop" } } }
                        tbody { @for one in &self.begun { tr {
                            th scope="row" { a href={ "/studies/" (one.number) } { (one.study.title) } }
                            td { (numbers(one)) }
                            td { (state(one)) }
                            td { @if one.work.result().is_none() { (stop(one)) } }
                        } } }
                    }
                }))
            }
        }
    }
}

fn numbers(one: &StudyUnderWay) -> String {
    let each: Vec<String> = one
        .study
        .asks
        .iter()
        .zip(&one.numbers)
        .map(|((_, label, _), number)| format!("{label} {number}"))
        .collect();
    each.join(", ")
}

fn stop(one: &StudyUnderWay) -> Markup {
    html! {
        form method="post" action={ "/studies/" (one.number) "/stop" } {
            button aria-label={ "Stop " (one.study.title) } { "Stop" }
        }
    }
}

/// One work and its report.
#[derive(Debug)]
pub struct StudyPage {
    one: StudyUnderWay,
    stale: bool,
}

impl StudyPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let number: u64 = ask.param("number").parse().unwrap_or(0);
        let one = ask
            .office
            .studies()
            .into_iter()
            .find(|one| one.number == number);
        let one = one.ok_or_else(|| Lack::page(&ask.path))?;
        Ok(Self {
            stale: one.work.version != ask.now.version,
            one,
        })
    }
}

impl Page for StudyPage {
    fn title(&self) -> String {
        self.one.study.title.into()
    }

    fn document(&self) -> &'static str {
        "/studies"
    }

    fn body(&self) -> Markup {
        html! {
            p.quiet { (numbers(&self.one)) ". " (state(&self.one)) }
            @if self.stale { p { "The railroad has been changed since this was begun." } }
            @match self.one.work.result() {
                None => { p.actions { (stop(&self.one)) a href="" { "Look again" } } }
                Some(Err(sorry)) => { p { (super::attention::sign(model::Severity::Error)) " " (sorry.what) "." @if let Some(help) = sorry.help { " " (help) } } }
                Some(Ok(report)) => (told(&report)),
            }
        }
    }
}

/// Words, charts and tables.
fn told(report: &Report) -> Markup {
    html! {
        @for words in &report.words { p { (words) } }
        @for (heading, unit, bars) in &report.charts {
            h2 { (heading) }
            (chart(heading, unit, bars))
        }
        @for (heading, heads, rows) in &report.tables {
            h2 { (heading) }
            (ledger(heading, &html! {
                table {
                    thead { tr { @for head in heads { th scope="col" { (head) } } } }
                    tbody { @for row in rows.iter().take(300) { tr { @for (at, cell) in row.iter().enumerate() {
                        @if at == 0 { th scope="row" { (cell) } }
                        @else if cell.starts_with(|c: char| c.is_ascii_digit()) { td.number { (cell) } }
                        @else { td { (cell) } }
                    } } } }
                }
            }))
        }
    }
}

/// Bars with their figures beside them: nothing rests on colour.
fn chart(heading: &str, unit: &str, bars: &[(String, f64)]) -> Markup {
    let most = bars
        .iter()
        .map(|(_, value)| *value)
        .fold(0.0_f64, f64::max)
        .max(1e-9);
    html! {
        table.bars {
            caption.visually-hidden { (heading) }
            thead.visually-hidden { tr { th scope="col" { "Of" } th scope="col" { (unit) } th scope="col" { "Bar" } } }
            tbody { @for (name, value) in bars {
                tr {
                    th scope="row" { (name) }
                    td.number { (show::figure(*value)) " " (unit) }
                    td.bar { svg viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true" { rect x="0" y="1" height="8" width=(format!("{:.1}", value / most * 100.0)) {} } }
                }
            } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_report_is_told_in_words_bars_and_tables() {
        let report = Report {
            words: vec!["All & well.".into()],
            tables: vec![(
                "Cars".into(),
                vec!["Town".into(), "Cars".into()],
                vec![vec!["Alder".into(), "12".into()]],
            )],
            charts: vec![(
                "Moves".into(),
                "moves".into(),
                vec![("Alder".into(), 3.0), ("Birch".into(), 6.0)],
            )],
        };
        let text = told(&report).into_string();
        assert!(text.contains("All &amp; well.") && text.contains("<td class=\"number\">12</td>"));
        assert!(text.contains("width=\"50.0\"") && text.contains("width=\"100.0\""));
    }
}
