//! The track chart of each line.

use drawing::track_chart::{Facts, Paper, facts, whole};
use maud::{Markup, html};
use railroad::identity::UnitsStyle;

use super::{Lack, caution};
use crate::{
    frame::{Ask, Page, drawing},
    show,
};

/// The chart of one line, and the names of the others.
#[derive(Debug)]
pub struct TrackChart {
    facts: Option<Facts>,
    lines: Vec<String>,
    units: UnitsStyle,
}

impl TrackChart {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let railroad = ask.railroad();
        let lines: Vec<String> = show::lines(railroad)
            .into_iter()
            .map(|(_, line)| line.name.value.clone())
            .collect();
        let line = match ask.query("line") {
            Some(name) => Some(railroad.way.find_line(name).ok_or_else(|| {
                Lack::named(
                    "line",
                    name,
                    "track-chart",
                    lines.iter().map(String::as_str),
                )
            })?),
            None => show::lines(railroad).first().map(|(id, _)| *id),
        };
        Ok(Self {
            facts: line.map(|line| facts(railroad, line)),
            lines,
            units: railroad.identity.units,
        })
    }
}

impl Page for TrackChart {
    fn title(&self) -> String {
        match &self.facts {
            Some(facts) => format!("Track chart: {}", facts.line),
            None => "Track chart".into(),
        }
    }

    fn document(&self) -> &'static str {
        "/track-chart"
    }

    fn wide(&self) -> bool {
        true
    }

    fn body(&self) -> Markup {
        let Some(facts) = &self.facts else {
            return html! { p { "The folder names no line yet." } };
        };
        let lift_outs = facts
            .structures
            .iter()
            .any(|structure| structure.kind.word() == "lift-out");
        html! {
            @if self.lines.len() > 1 {
                nav.choices aria-label="Lines" {
                    @for line in &self.lines {
                        a href={ "/track-chart?line=" (show::escape(line)) }
                            aria-current=[(*line == facts.line).then_some("page")] { (line) }
                    }
                }
            }
            p.lead {
                (self.units.show(facts.length)) " of track on the model, "
                (show::count(facts.stations.len(), "station", "stations")) "."
                @for side in [1, 0] {
                    @if let Some(grade) = facts.ruling[side] {
                        " Steepest " (facts.directions[side]) ": " (format!("{:.2} %", grade.percent())) "."
                    }
                }
            }
            @if lift_outs {
                (caution("This line crosses a lift-out bridge. Kill the track power on both sides and post someone \
                    before it is lifted; nobody passes under it while trains run."))
            }
            (drawing(&format!("Track chart of the {}", facts.line), &whole(facts, self.units, Paper::Letter)))
            h2 { "The same in figures" }
            (figures(facts, self.units))
        }
    }
}

/// What the drawing shows, for those who cannot see it and for looking up.
fn figures(facts: &Facts, units: UnitsStyle) -> Markup {
    crate::frame::ledger(
        "Stations of the line",
        &html! {
            table {
                thead { tr {
                    th scope="col" { "Station" }
                    th.number scope="col" { "Mile" }
                    th.number scope="col" { "Length" }
                    th scope="col" { "Longest siding" }
                    th.number scope="col" { "usable" }
                    th.number scope="col" { "cars" }
                    th.number scope="col" { "Switches" }
                } }
                tbody {
                    @for station in &facts.stations {
                        @let siding = station.tracks.iter()
                            .filter(|track| track.usage.word() == "siding")
                            .max_by(|a, b| a.usable.total_cmp(&b.usable));
                        tr {
                            th scope="row" { (super::station_link(&station.name)) }
                            td.number { (station.mile.map_or(String::new(), |mile| format!("{mile:.1}"))) }
                            td.number { (units.show(station.length)) }
                            @match siding {
                                Some(track) => {
                                    td { (track.name) }
                                    td.number { (units.show(track.usable)) }
                                    td.number { (track.cars) }
                                }
                                None => { td { "none" } td {} td {} }
                            }
                            td.number { (station.switches.len()) }
                        }
                    }
                }
            }
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn each_line_has_its_chart_and_the_figures_beside_it() {
        let office = example();
        let ask = ask(&office, "/track-chart", &[], &[("line", "Main Line")]);
        let page = whole(&ask, &TrackChart::of(&ask).unwrap());
        assert!(page.contains("<svg") && page.contains("Whistle Ledge"));
        assert!(page.len() < 150_000, "{} bytes", page.len());
    }

    #[test]
    fn a_line_that_there_is_not_is_guessed() {
        let office = example();
        let ask = ask(&office, "/track-chart", &[], &[("line", "Main Lime")]);
        assert!(whole(&ask, &TrackChart::of(&ask).unwrap_err()).contains("Main Line"));
    }
}
