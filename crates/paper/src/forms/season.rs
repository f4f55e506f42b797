//! The season report: what the railroad came to over many sessions played by dice, in words and charts.

use serde::Serialize;

use crate::form::{Form, Sheet};

/// What a season came to. It is counted elsewhere; this is its paper.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Season {
    /// The report: lines of text, those indented being rows under the line before them.
    pub report: String,
    /// Charts: SVG.
    pub charts: Vec<String>,
}

/// The report.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeasonReport {
    /// Its parts, in order.
    pub parts: Vec<Part>,
    /// Files of the charts.
    pub charts: Vec<String>,
}

/// A part of the report: a line and the rows under it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Part {
    /// The line.
    pub line: String,
    /// The rows.
    pub rows: Vec<String>,
}

impl Form for SeasonReport {
    const SHEET: Sheet = Sheet {
        path: "season.typ",
        text: include_str!("../../forms/season.typ"),
    };
    const TITLE: &'static str = "season-title";
}

impl SeasonReport {
    /// The report, and its charts by name.
    pub fn new(season: &Season) -> (Self, Vec<(String, String)>) {
        let mut parts: Vec<Part> = vec![];
        for line in season.report.lines().filter(|line| !line.trim().is_empty()) {
            match parts.last_mut() {
                Some(part) if line.starts_with(' ') => part.rows.push(line.trim_end().to_owned()),
                _ => parts.push(Part {
                    line: line.trim().to_owned(),
                    rows: vec![],
                }),
            }
        }
        let drawings: Vec<(String, String)> = season
            .charts
            .iter()
            .enumerate()
            .map(|(at, svg)| (format!("season-{at}"), svg.clone()))
            .collect();
        let charts = drawings.iter().map(|(name, _)| name.clone()).collect();
        (Self { parts, charts }, drawings)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_stand_under_their_line() {
        let season = Season {
            report: "100 sessions.\n\nFull yards:\n  Kellander  3 %\n  Farholt  0 %\n".into(),
            charts: vec!["<svg/>".into()],
        };
        let (report, drawings) = SeasonReport::new(&season);
        assert_eq!(report.parts.len(), 2);
        assert_eq!(report.parts[1].rows, ["  Kellander  3 %", "  Farholt  0 %"]);
        assert_eq!(report.charts, [drawings[0].0.clone()]);
    }
}
