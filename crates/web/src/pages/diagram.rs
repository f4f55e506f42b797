//! The time–distance diagram of a line: time across, stations down by mile, a line for each train.

use std::{fmt::Write as _, sync::Arc};

use engineering::ids::{LineId, StationId};
use maud::{Markup, html};
use model::time::RailTime;
use railroad::{Loaded, Railroad};
use transportation::day::DayPlan;

use super::{
    Lack,
    planned::{Planned, differences},
    timetable::columns,
    train_link,
};
use crate::{
    frame::{Ask, Page, drawing, ledger},
    ink::escape,
    services::DayAnswer,
    show,
};

/// The diagram of one line.
#[derive(Debug)]
pub struct Diagram {
    loaded: Arc<Loaded>,
    line: Option<LineId>,
    strings: Vec<Strung>,
    ghosts: Vec<Strung>,
    planned: Planned,
    before: Option<Arc<DayAnswer>>,
    comparing: bool,
}

/// One train on the diagram.
#[derive(Debug, Clone, PartialEq)]
pub struct Strung {
    symbol: String,
    /// Where its page is.
    page: String,
    class: i64,
    up: bool,
    /// Whether its times are written on a page of its own, so that they can be moved.
    written: bool,
    /// Station, mile and time, in running order; arrivals and departures both.
    points: Vec<(StationId, f64, RailTime)>,
    /// Where it meets or passes others: mile, time, whom.
    meets: Vec<(f64, RailTime, String)>,
}

impl Strung {
    /// A train with a page of its own at points in running order: station, mile, time. Nothing if it has
    /// been at no more than one place.
    pub fn of(
        symbol: &str,
        page: String,
        class: i64,
        points: Vec<(StationId, f64, RailTime)>,
    ) -> Option<Self> {
        let (first, last) = (points.first()?, points.last()?);
        Some(Self {
            symbol: symbol.to_owned(),
            page,
            class,
            up: last.1 > first.1,
            written: false,
            points,
            meets: Vec::new(),
        })
    }
}

/// Width of an hour, and the margins of the drawing.
const HOUR: f64 = 150.0;
const TOP: f64 = 30.0;
const LEFT: f64 = 110.0;
const HEIGHT: f64 = 460.0;

/// The trains of a line: by a plan of the day, or by their own pages.
pub fn strings(railroad: &Railroad, line: LineId, plan: Option<&DayPlan>) -> Vec<Strung> {
    let mile = |station: StationId| railroad.way.station(station).mile(line);
    let Some(plan) = plan else {
        return by_page(railroad, line);
    };
    let mut strings = Vec::new();
    for train in &plan.trains {
        let mut points = Vec::new();
        let mut meets = Vec::new();
        for call in &train.calls {
            let Some(at) = mile(call.station) else {
                continue;
            };
            points.push((call.station, at, call.arrive));
            if call.leave != call.arrive {
                points.push((call.station, at, call.leave));
            }
            for meet in &call.meets {
                let other = plan.trains[meet.other.0].symbol.clone();
                meets.push((at, call.arrive.max(call.leave), other));
            }
        }
        let (Some(first), Some(last)) = (points.first(), points.last()) else {
            continue;
        };
        if (first.1 - last.1).abs() < 1e-9 {
            continue;
        }
        strings.push(Strung {
            page: show::url(&["trains", &train.symbol]),
            symbol: train.symbol.clone(),
            class: train.class,
            up: last.1 > first.1,
            written: train.train.is_some(),
            points,
            meets,
        });
    }
    strings
}

fn by_page(railroad: &Railroad, line: LineId) -> Vec<Strung> {
    let mut strings = Vec::new();
    for column in columns(railroad, line, None) {
        let mut points: Vec<(StationId, f64, RailTime)> = Vec::new();
        for (station, (arrive, leave)) in &column.times {
            if let Some(mile) = railroad.way.station(*station).mile(line) {
                points.extend(
                    arrive
                        .iter()
                        .chain(leave)
                        .map(|time| (*station, mile, *time)),
                );
            }
        }
        points.sort_by(|a, b| {
            let along = if column.up {
                a.1.total_cmp(&b.1)
            } else {
                b.1.total_cmp(&a.1)
            };
            a.2.cmp(&b.2).then(along)
        });
        points.dedup();
        strings.push(Strung {
            page: show::url(&["trains", &column.symbol]),
            symbol: column.symbol,
            class: column.class,
            up: column.up,
            written: true,
            points,
            meets: Vec::new(),
        });
    }
    strings
}

/// The drawing; `ghosts` are drawn faintly under the trains, `picked` stands out.
pub fn svg(
    railroad: &Railroad,
    line: LineId,
    strings: &[Strung],
    ghosts: &[Strung],
    picked: Option<&str>,
    now: Option<RailTime>,
) -> String {
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
        strings
            .iter()
            .chain(ghosts)
            .flat_map(|s| s.points.iter().map(|(.., time)| time.seconds()))
    };
    let begin = times().min().unwrap_or(0).div_euclid(3600);
    let end = times().max().unwrap_or(3600).div_euclid(3600) + 1;
    let x = |time: RailTime| LEFT + (time.seconds() as f64 / 3600.0 - begin as f64) * HOUR;
    let y = |mile: f64| TOP + (mile - first.1) / (last.1 - first.1).max(0.1) * HEIGHT;
    let width = LEFT + (end - begin) as f64 * HOUR + 20.0;
    let height = TOP + HEIGHT + 24.0;
    let mut svg = String::new();
    let line_name = escape(&railroad.way.line(line).name.value);
    let _ = write!(
        svg,
        r#"<svg class="diagram{}" viewBox="0 0 {width:.0} {height:.0}" width="{width:.0}" height="{height:.0}" role="group" aria-label="Time and distance of all trains of the {line_name}" data-line="{line_name}" data-hour="{HOUR}">"#,
        if picked.is_some() { " picking" } else { "" },
    );
    for hour in begin..=end {
        let at = LEFT + (hour - begin) as f64 * HOUR;
        let _ = write!(
            svg,
            r#"<path class="hour" d="M{at:.0} {TOP}v{HEIGHT}"/><text x="{at:.0}" y="18" text-anchor="middle">{}</text>"#,
            show::time(railroad, RailTime::from_seconds(hour * 3600))
        );
        if hour < end {
            let quarters: String = (1..4)
                .map(|quarter| {
                    format!(
                        "M{:.1} {TOP}v{HEIGHT}",
                        at + f64::from(quarter) * HOUR / 4.0
                    )
                })
                .collect();
            let _ = write!(svg, r#"<path class="quarter" d="{quarters}"/>"#);
        }
    }
    for (name, mile) in &stations {
        let _ = write!(
            svg,
            r#"<path class="station" d="M{LEFT} {:.1}H{:.1}"/><text x="{:.1}" y="{:.1}" text-anchor="end">{}</text>"#,
            y(*mile),
            width - 20.0,
            LEFT - 6.0,
            y(*mile) + 4.0,
            escape(name)
        );
    }
    if let Some(now) = now
        && (begin * 3600..=end * 3600).contains(&now.seconds())
    {
        let _ = write!(
            svg,
            r#"<path class="now" d="M{:.1} {TOP}v{HEIGHT}"/>"#,
            x(now)
        );
    }
    let points = |string: &Strung| {
        string
            .points
            .iter()
            .map(|(_, mile, time)| format!("{:.1},{:.1}", x(*time), y(*mile)))
            .collect::<Vec<_>>()
            .join(" ")
    };
    for ghost in ghosts {
        // Only where something has moved is there anything to see.
        let same = strings
            .iter()
            .any(|string| string.symbol == ghost.symbol && string.points == ghost.points);
        if !same {
            let _ = write!(
                svg,
                r#"<polyline class="ghost" points="{}"/>"#,
                points(ghost)
            );
        }
    }
    for string in strings {
        let Some((_, mile, time)) = string.points.first() else {
            continue;
        };
        let symbol = escape(&string.symbol);
        let _ = write!(
            svg,
            r#"<a class="string class-{} {}{}" href="{}" aria-label="train {symbol}"{}><title>{symbol}</title><polyline class="reach" points="{line}"/><polyline class="rail" points="{line}"/><text x="{:.1}" y="{:.1}">{symbol}</text>"#,
            string.class.clamp(1, 4),
            if string.up { "up" } else { "down" },
            if picked == Some(string.symbol.as_str()) {
                " picked"
            } else {
                ""
            },
            escape(&string.page),
            if string.written {
                format!(" data-train=\"{symbol}\"")
            } else {
                String::new()
            },
            x(*time) + 3.0,
            y(*mile) + if string.up { 13.0 } else { -5.0 },
            line = points(string),
        );
        for (mile, time, other) in &string.meets {
            let other = escape(other);
            let _ = write!(
                svg,
                r#"<circle class="meet" data-other="{other}" cx="{:.1}" cy="{:.1}" r="4.5"><title>{symbol} and {other}</title></circle>"#,
                x(*time),
                y(*mile),
            );
        }
        svg.push_str("</a>");
    }
    svg.push_str("</svg>");
    svg
}

impl Diagram {
    /// The page; `compare` in the query lays it over the plan before the last change.
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
        let planned = Planned::of(ask);
        let before = ask.office.day().and_then(|(_, before)| before);
        let comparing = ask.query("compare").is_some() && before.is_some();
        let drawn = |plan: Option<&DayPlan>| {
            line.map(|line| strings(railroad, line, plan))
                .unwrap_or_default()
        };
        Ok(Self {
            loaded: ask.now.loaded.clone(),
            strings: drawn(planned.plan()),
            ghosts: if comparing {
                drawn(before.as_ref().map(|answer| &answer.plan))
            } else {
                Vec::new()
            },
            line,
            planned,
            before,
            comparing,
        })
    }

    /// The form that moves a meet: what dragging a ring asks for.
    fn move_a_meet(&self, line: LineId) -> Markup {
        let railroad = &self.loaded.railroad;
        let trains = || self.strings.iter().filter(|string| string.written);
        html! {
            form.find method="get" action="/retime" {
                input type="hidden" name="line" value=(railroad.way.line(line).name.value);
                label for="meet-train" { "Train" }
                select #meet-train name="train" { @for string in trains() { option { (string.symbol) } } }
                label for="meet-other" { "meets" }
                select #meet-other name="meet" { @for string in &self.strings { option { (string.symbol) } } }
                label for="meet-at" { "at" }
                select #meet-at name="at" {
                    @for station in railroad.way.line_stations(line) { option { (railroad.way.station(*station).name.value) } }
                }
                button { "Try the meet" }
            }
        }
    }

    fn compared(&self) -> Markup {
        let (Some(before), Some(after)) = (&self.before, self.planned.plan()) else {
            return html! {};
        };
        let words = differences(&self.loaded.railroad, &before.plan, after);
        html! {
            h2 { "Against the plan before the last change" }
            @if words.is_empty() { p { "Nothing has changed." } }
            ul.changes { @for words in words { li { (words) } } }
        }
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
        let line_name = &railroad.way.line(line).name.value;
        html! {
            @if railroad.way.lines.len() > 1 {
                nav.choices aria-label="Lines" {
                    @for (id, other) in show::lines(railroad) {
                        a href={ "/diagram?line=" (show::escape(&other.name.value)) } aria-current=[(id == line).then_some("page")] { (other.name.value) }
                    }
                }
            }
            p.lead {
                "Each line is a train: steep where it is fast, level where it stands; a ring where two meet or pass. "
                "Drag a train to run it earlier or later; with Shift from the station where you hold it on. \
                 Drag a ring up or down to meet elsewhere. \
                 By keyboard: pick it with the tabulator, move it with < and >."
            }
            (self.planned.word())
            form.find method="get" action="/retime" {
                input type="hidden" name="line" value=(line_name);
                label for="retime-train" { "Train" }
                select #retime-train name="train" {
                    @for string in self.strings.iter().filter(|string| string.written) { option { (string.symbol) } }
                }
                label for="retime-minutes" { "later by minutes" }
                input #retime-minutes name="minutes" value="5" size="4" inputmode="numeric";
                label for="retime-from" { "from" }
                select #retime-from name="from" {
                    option value="" { "its first station" }
                    @for station in railroad.way.line_stations(line) { option { (railroad.way.station(*station).name.value) } }
                }
                button { "Try it" }
            }
            @if self.strings.iter().any(|string| !string.meets.is_empty()) { (self.move_a_meet(line)) }
            div.zoom {
                div #zoom hidden {
                    button type="button" data-zoom="out" { "Closer together" }
                    button type="button" data-zoom="in" { "Farther apart" }
                }
                @if self.before.is_some() {
                    @if self.comparing { a.button href={ "/diagram?line=" (show::escape(line_name)) } { "Without the plan before" } }
                    @else { a.button href={ "/diagram?compare=1&line=" (show::escape(line_name)) } { "Compare with the plan before" } }
                }
            }
            div #tried aria-live="polite" {}
            (drawing("Time and distance", &svg(railroad, line, &self.strings, &self.ghosts, None, None)))
            p.key { "Heavy: 1st class. Full: 2nd. Dashed: 3rd. Dotted: 4th. Ring: a meet or a pass." }
            @if self.comparing { (self.compared()) }
            h2 { "The trains" }
            (ledger("Trains of the diagram", &html! {
                table {
                    thead { tr { th scope="col" { "Train" } th scope="col" { "Direction" } th.time scope="col" { "First" } th.time scope="col" { "Last" } th scope="col" { "Meets and passes" } } }
                    tbody {
                        @for string in &self.strings {
                            tr {
                                th scope="row" { @if string.written { (train_link(&string.symbol)) } @else { (string.symbol) } }
                                td { (railroad.way.line(line).directions[usize::from(string.up)]) }
                                td.time { (string.points.first().map_or(String::new(), |(.., t)| show::minute(railroad, *t))) }
                                td.time { (string.points.last().map_or(String::new(), |(.., t)| show::minute(railroad, *t))) }
                                td { (string.meets.iter().map(|(.., other)| other.as_str()).collect::<Vec<_>>().join(", ")) }
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
                string.points.is_sorted_by_key(|(.., time)| *time),
                "{}",
                string.symbol
            );
        }
        let text = whole(&ask, &page);
        assert_eq!(text.matches("class=\"string").count(), page.strings.len());
        assert!(text.len() < 150_000, "{} bytes", text.len());
    }
}
