//! The time–distance diagram of a line: stations across by mile, time downward or along, a line for each
//! train.

use std::sync::Arc;

use engineering::ids::LineId;
use maud::{Markup, html};
use model::time::RailTime;
use railroad::Loaded;

use super::{Lack, timetable::columns, train_link};
use crate::{
    frame::{Ask, Page, drawing, ledger},
    ink::escape,
    show,
};

/// The diagram of one line.
#[derive(Debug)]
pub struct Diagram {
    loaded: Arc<Loaded>,
    line: Option<LineId>,
    strings: Vec<Strung>,
}

/// One train on the diagram.
#[derive(Debug, Clone, PartialEq)]
struct Strung {
    symbol: String,
    class: i64,
    up: bool,
    /// Mile and time, in running order; arrivals and departures both.
    points: Vec<(f64, RailTime)>,
}

const HOUR: f64 = 150.0;
const TOP: f64 = 30.0;
const LEFT: f64 = 110.0;
const HEIGHT: f64 = 460.0;

impl Diagram {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let railroad = ask.railroad();
        let names = || {
            railroad
                .way
                .lines
                .iter()
                .map(|line| line.name.value.as_str())
        };
        let line = match ask.query("line") {
            Some(name) => Some(
                railroad
                    .way
                    .find_line(name)
                    .ok_or_else(|| Lack::named("line", name, "diagram", names()))?,
            ),
            None => show::lines(railroad).first().map(|(id, _)| *id),
        };
        let mut strings = Vec::new();
        for column in line.map(|line| columns(railroad, line)).unwrap_or_default() {
            let train = railroad.service.train(column.train);
            let mut points: Vec<(f64, RailTime)> = Vec::new();
            for (station, (arrive, leave)) in &column.times {
                let mile = line.and_then(|line| railroad.way.station(*station).mile(line));
                if let Some(mile) = mile {
                    points.extend(arrive.iter().chain(leave).map(|time| (mile, *time)));
                }
            }
            points.sort_by(|a, b| {
                let along = if column.up {
                    a.0.total_cmp(&b.0)
                } else {
                    b.0.total_cmp(&a.0)
                };
                a.1.cmp(&b.1).then(along)
            });
            points.dedup();
            strings.push(Strung {
                symbol: train.symbol.value.clone(),
                class: train.class.map_or(4, |class| class.value),
                up: column.up,
                points,
            });
        }
        Ok(Self {
            loaded: ask.now.loaded.clone(),
            line,
            strings,
        })
    }

    fn svg(&self, line: LineId) -> String {
        use std::fmt::Write as _;
        let railroad = &self.loaded.railroad;
        let stations: Vec<(&str, f64)> = railroad
            .way
            .line_stations(line)
            .iter()
            .filter_map(|id| {
                let station = railroad.way.station(*id);
                Some((station.name.value.as_str(), station.mile(line)?))
            })
            .collect();
        let (Some(first), Some(last)) = (stations.first(), stations.last()) else {
            return String::new();
        };
        let times = || {
            self.strings
                .iter()
                .flat_map(|s| s.points.iter().map(|(_, time)| time.seconds()))
        };
        let begin = times().min().unwrap_or(0).div_euclid(3600);
        let end = times().max().unwrap_or(3600).div_euclid(3600) + 1;
        let x = |time: RailTime| LEFT + (time.seconds() as f64 / 3600.0 - begin as f64) * HOUR;
        let y = |mile: f64| TOP + (mile - first.1) / (last.1 - first.1).max(0.1) * HEIGHT;
        let width = LEFT + (end - begin) as f64 * HOUR + 20.0;
        let height = TOP + HEIGHT + 24.0;
        let mut svg = String::new();
        let _ = write!(
            svg,
            r#"<svg class="diagram" viewBox="0 0 {width:.0} {height:.0}" width="{width:.0}" height="{height:.0}" role="img" aria-label="Time and distance of all trains of the {}">"#,
            escape(&railroad.way.line(line).name.value)
        );
        for hour in begin..=end {
            let at = LEFT + (hour - begin) as f64 * HOUR;
            let _ = write!(
                svg,
                r#"<path class="hour" d="M{at:.1} {TOP}v{HEIGHT}"/><text class="hour-name" x="{at:.1}" y="18" text-anchor="middle">{}</text>"#,
                show::time(railroad, RailTime::from_seconds(hour * 3600))
            );
            if hour < end {
                for quarter in 1..4 {
                    let at = at + f64::from(quarter) * HOUR / 4.0;
                    let _ = write!(
                        svg,
                        r#"<path class="quarter" d="M{at:.1} {TOP}v{HEIGHT}"/>"#
                    );
                }
            }
        }
        for (name, mile) in &stations {
            let _ = write!(
                svg,
                r#"<path class="station" d="M{LEFT} {:.1}H{:.1}"/><text class="station-name" x="{:.1}" y="{:.1}" text-anchor="end">{}</text>"#,
                y(*mile),
                width - 20.0,
                LEFT - 6.0,
                y(*mile) + 4.0,
                escape(name)
            );
        }
        for string in &self.strings {
            let points: Vec<String> = string
                .points
                .iter()
                .map(|(mile, time)| format!("{:.1},{:.1}", x(*time), y(*mile)))
                .collect();
            let (Some((mile, time)), Some(symbol)) =
                (string.points.first(), Some(escape(&string.symbol)))
            else {
                continue;
            };
            let _ = write!(
                svg,
                r#"<a class="string class-{} {}" href="{}" data-train="{symbol}" aria-label="train {symbol}"><title>{symbol}</title><polyline class="reach" points="{}"/><polyline class="rail" points="{}"/><text x="{:.1}" y="{:.1}">{symbol}</text></a>"#,
                string.class.clamp(1, 4),
                if string.up { "up" } else { "down" },
                escape(&show::url(&["trains", &string.symbol])),
                points.join(" "),
                points.join(" "),
                x(*time) + 3.0,
                y(*mile) + if string.up { 13.0 } else { -5.0 },
            );
        }
        svg.push_str("</svg>");
        svg
    }
}

impl Page for Diagram {
    fn title(&self) -> String {
        match self.line {
            Some(line) => format!(
                "Time and distance: {}",
                self.loaded.railroad.way.line(line).name.value
            ),
            None => "Time and distance".into(),
        }
    }

    fn document(&self) -> &'static str {
        "/diagram"
    }

    fn wide(&self) -> bool {
        true
    }

    fn scripts(&self) -> &'static [&'static str] {
        &["diagram.js"]
    }

    fn body(&self) -> Markup {
        let railroad = &self.loaded.railroad;
        let Some(line) = self.line else {
            return html! { p { "The folder names no line yet." } };
        };
        html! {
            @if railroad.way.lines.len() > 1 {
                nav.choices aria-label="Lines" {
                    @for (id, other) in show::lines(railroad) {
                        a href={ "/diagram?line=" (show::escape(&other.name.value)) } aria-current=[(id == line).then_some("page")] { (other.name.value) }
                    }
                }
            }
            p.lead { "Each line is a train: steep where it is fast, level where it stands. Where two cross, they meet or pass." }
            div #zoom.zoom hidden {
                button type="button" data-zoom="out" { "Closer together" }
                button type="button" data-zoom="in" { "Farther apart" }
            }
            (drawing("Time and distance", &self.svg(line)))
            p.key { "Heavy: 1st class. Full: 2nd. Dashed: 3rd. Dotted: 4th." }
            h2 { "The trains" }
            (ledger("Trains of the diagram", &html! {
                table {
                    thead { tr { th scope="col" { "Train" } th scope="col" { "Direction" } th.time scope="col" { "First" } th.time scope="col" { "Last" } } }
                    tbody {
                        @for string in &self.strings {
                            tr {
                                th scope="row" { (train_link(&string.symbol)) }
                                td { (railroad.way.line(line).directions[usize::from(string.up)]) }
                                td.time { (string.points.first().map_or(String::new(), |(_, t)| show::time(railroad, *t))) }
                                td.time { (string.points.last().map_or(String::new(), |(_, t)| show::time(railroad, *t))) }
                            }
                        }
                    }
                }
            }))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pages::testing::{ask, example, whole};

    #[test]
    fn every_train_has_its_string_in_order_of_time() {
        let office = example();
        let ask = ask(&office, "/diagram", &[], &[("line", "Main Line")]);
        let page = Diagram::of(&ask).unwrap();
        assert!(!page.strings.is_empty());
        for string in &page.strings {
            assert!(
                string.points.is_sorted_by_key(|(_, time)| *time),
                "{}",
                string.symbol
            );
        }
        let text = whole(&ask, &page);
        assert_eq!(text.matches("class=\"string").count(), page.strings.len());
        assert!(text.len() < 150_000, "{} bytes", text.len());
    }
}
