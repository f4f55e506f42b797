//! The employees' timetable: schedules by line and direction, with the stations, sidings and offices
//! beside them, the speed table and the owner's special instructions.

use drawing::track_chart;
use engineering::{ids::LineId, line::LineKind};
use model::{
    Spanned,
    time::{RailTime, TimeStyle},
};
use railroad::{Railroad, TrainWay, identity::ClockFace};
use serde::Serialize;
use transportation::{StopWork, Train};

use super::stations::longest_siding;
use crate::{
    form::{Form, Sheet},
    sheet::Size,
    words::Wording,
};

/// What the employees' timetable says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Timetable {
    /// What takes effect when, under the title.
    pub effective: String,
    /// Schedule pages, in the order of the lines: toward higher miles, then toward lower.
    pub schedules: Vec<Schedule>,
    /// Paragraphs of special instructions.
    pub instructions: Vec<Instruction>,
    /// Speeds by the time over a mile.
    pub speeds: Vec<SpeedRow>,
}

/// A paragraph of the owner's, or a heading over some.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Instruction {
    /// Whether it is a heading.
    pub heading: bool,
    /// The text.
    pub text: String,
}

/// A row of the speed table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpeedRow {
    /// Minutes and seconds of railroad time over a mile.
    pub per_mile: String,
    /// Miles in an hour.
    pub mph: String,
}

/// A schedule page: some trains of one direction on one line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Schedule {
    /// The line.
    pub line: String,
    /// The direction, and whether it is the superior one.
    pub direction: String,
    /// A sentence on superiority.
    pub note: String,
    /// Trains, by class and then by time.
    pub trains: Vec<Column>,
    /// Stations in the order in which these trains pass them.
    pub stations: Vec<Station>,
}

/// The head of a train's column.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Column {
    /// Class in words.
    pub class: String,
    /// Number or symbol.
    pub symbol: String,
    /// Name, if any.
    pub name: String,
    /// What it is for.
    pub kind: String,
    /// Days on which it runs.
    pub days: String,
}

/// A station's row.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Station {
    /// Scheduled mile.
    pub mile: String,
    /// Name.
    pub name: String,
    /// Telegraph call.
    pub call: String,
    /// Cars its longest siding holds; empty if it has none.
    pub siding: String,
    /// Whether it has an office for orders.
    pub office: bool,
    /// What each train does here, in the order of the columns.
    pub times: Vec<Time>,
}

/// What stands in a train's column at a station.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Time {
    /// When it is due to arrive, where that is shown.
    pub arrive: String,
    /// When it is due to leave.
    pub leave: String,
    /// Whether the hour is after noon: printed bold.
    pub after_noon: bool,
    /// `s` where it stops for passengers, `w` where it works.
    pub mark: String,
    /// Trains it is to meet or pass here.
    pub meets: String,
}

impl Form for Timetable {
    const SHEET: Sheet = Sheet {
        path: "timetable.typ",
        text: include_str!("../../forms/timetable.typ"),
    };
    const TITLE: &'static str = "timetable-title";

    fn page(&self) -> String {
        "/timetable".into()
    }
}

/// Breadth of the columns beside the times, and of a train's, in parts of the type size.
const BESIDE: f64 = 19.0;
const TRAIN: f64 = 5.6;
const POINT_MM: f64 = 25.4 / 72.0;

impl Timetable {
    /// The timetable of a railroad, as it is written in its folder. `instructions` are the owner's own
    /// words: paragraphs with empty lines between, headings begun with `#`.
    pub fn new(
        railroad: &Railroad,
        wording: &Wording,
        size: Size,
        instructions: Option<&str>,
    ) -> Self {
        let room = size.width_mm * 0.88 / (size.type_pt * POINT_MM) - BESIDE;
        let most = ((room / TRAIN) as usize).max(1);
        let mut schedules = vec![];
        let ways = railroad::ways(railroad);
        let mut lines: Vec<_> = railroad.way.lines().collect();
        lines.sort_by_key(|(_, line)| line.kind != LineKind::Main);
        for (at, line) in lines {
            for direction in line.directions.iter().rev() {
                schedules.extend(schedule_pages(
                    railroad, wording, at, direction, &ways, most,
                ));
            }
        }
        Self {
            effective: railroad.identity.date.map_or_else(String::new, |date| {
                format!(
                    "{} {}",
                    wording.at("in-effect"),
                    date.value.show(model::date::DateStyle::Full)
                )
            }),
            schedules,
            instructions: instructions.map_or_else(Vec::new, paragraphs),
            speeds: speed_table(),
        }
    }
}

/// Paragraphs of plain text.
fn paragraphs(text: &str) -> Vec<Instruction> {
    let text = text.replace("\r\n", "\n");
    text.split("\n\n")
        .map(str::trim)
        .filter(|paragraph| !paragraph.is_empty())
        .map(|paragraph| {
            let heading = paragraph.starts_with('#');
            let words: Vec<&str> = paragraph
                .trim_start_matches('#')
                .split_whitespace()
                .collect();
            Instruction {
                heading,
                text: words.join(" "),
            }
        })
        .collect()
}

/// From a mile in a minute and a half to one in six.
fn speed_table() -> Vec<SpeedRow> {
    let seconds = (90..180).step_by(10).chain((180..=360).step_by(20));
    seconds
        .map(|seconds| SpeedRow {
            per_mile: format!("{}:{:02}", seconds / 60, seconds % 60),
            mph: format!("{:.1}", 3600.0 / f64::from(seconds)),
        })
        .collect()
}

fn schedule_pages(
    railroad: &Railroad,
    wording: &Wording,
    line: LineId,
    direction: &str,
    ways: &[Option<TrainWay>],
    most: usize,
) -> Vec<Schedule> {
    let page = &railroad.way.lines[line.index()];
    let toward_higher = page.directions[1] == direction;
    let mut stations = track_chart::facts(railroad, line).stations;
    if !toward_higher {
        stations.reverse();
    }
    let mut trains: Vec<&Train> = railroad
        .service
        .trains
        .iter()
        .zip(ways)
        .filter(|(train, way)| runs_on(railroad, train, way.as_ref(), line, direction))
        .map(|(train, _)| train)
        .collect();
    trains.sort_by_key(|train| {
        (
            train.class.map_or(i64::MAX, |class| class.value),
            train.leave.map(|leave| leave.value),
            train.symbol.value.clone(),
        )
    });
    let superior = page
        .superior
        .as_ref()
        .is_some_and(|superior| superior.value == direction);
    trains
        .chunks(most)
        .map(|trains| Schedule {
            line: page.name.value.clone(),
            direction: direction.to_owned(),
            note: if superior {
                wording.at("direction-superior").to_owned()
            } else {
                wording.at("direction-inferior").to_owned()
            },
            trains: trains.iter().map(|train| column(train, wording)).collect(),
            stations: stations
                .iter()
                .map(|station| {
                    let office = railroad
                        .way
                        .find_station(&station.name)
                        .is_some_and(|id| railroad.way.station(id).office.is_some());
                    Station {
                        mile: station
                            .mile
                            .map_or_else(String::new, |mile| format!("{mile:.1}")),
                        name: station.name.clone(),
                        call: station.call.clone().unwrap_or_default(),
                        siding: longest_siding(station)
                            .map_or_else(String::new, |cars| cars.to_string()),
                        office,
                        times: trains
                            .iter()
                            .map(|train| time(railroad, train, &station.name))
                            .collect(),
                    }
                })
                .collect(),
        })
        .collect()
}

/// Whether a train runs on a line in a direction: where its way leads, on every line that it runs over;
/// of a train without a way by its own word.
fn runs_on(
    railroad: &Railroad,
    train: &Train,
    way: Option<&TrainWay>,
    line: LineId,
    direction: &str,
) -> bool {
    let page = &railroad.way.lines[line.index()];
    match way {
        Some(way) => way
            .opens
            .iter()
            .filter(|step| step.open.line == line)
            .any(|step| page.directions[usize::from(step.up)] == direction),
        None => {
            let says = |said: &Option<Spanned<String>>, what: &str| {
                said.as_ref().is_some_and(|said| said.value == what)
            };
            says(&train.direction, direction) && says(&train.line, &page.name.value)
        }
    }
}

fn column(train: &Train, wording: &Wording) -> Column {
    let class = train.class.map_or(0, |class| class.value);
    Column {
        class: wording.at(&format!("class-{class}")).to_owned(),
        symbol: train.symbol.value.clone(),
        name: train.name.clone().unwrap_or_default(),
        kind: train
            .kind
            .map_or_else(String::new, |kind| kind.value.word().to_owned()),
        days: train.days.value.to_string(),
    }
}

fn time(railroad: &Railroad, train: &Train, station: &str) -> Time {
    let Some(place) = train
        .times()
        .into_iter()
        .find(|place| place.station.is_some_and(|at| at.value == station))
    else {
        return Time::default();
    };
    let face = railroad.identity.clock_face;
    let stop = train
        .stops
        .iter()
        .find(|stop| stop.station.as_ref().is_some_and(|at| at.value == station));
    let works = |kinds: &[StopWork]| {
        stop.is_some_and(|stop| stop.work.iter().any(|work| kinds.contains(&work.value)))
    };
    let mark = if works(&[StopWork::PassengerStop]) {
        "s"
    } else if works(&[StopWork::PickUp, StopWork::SetOut, StopWork::Switch]) {
        "w"
    } else {
        ""
    };
    let meets: Vec<&str> = train
        .meets
        .iter()
        .filter(|meet| meet.at.as_ref().is_some_and(|at| at.value == station))
        .filter_map(|meet| meet.train.as_ref())
        .map(|other| other.value.as_str())
        .collect();
    let (arrive, leave) = (
        place.arrive.map(|time| time.value),
        place.leave.map(|time| time.value),
    );
    let both = arrive.is_some() && leave.is_some();
    let ends = place.leave.is_none();
    Time {
        arrive: if both || ends {
            arrive.map_or_else(String::new, |time| clock(time, face))
        } else {
            String::new()
        },
        leave: leave.map_or_else(String::new, |time| clock(time, face)),
        after_noon: face == ClockFace::Twelve
            && leave
                .or(arrive)
                .is_some_and(|time| time.of_day() >= RailTime::NOON),
        mark: mark.to_owned(),
        meets: meets.join(" "),
    }
}

/// Hours and minutes; whether after noon is said by the weight of the type.
fn clock(time: RailTime, face: ClockFace) -> String {
    let shown = time.of_day();
    match face {
        ClockFace::TwentyFour => shown.show(TimeStyle::TwentyFour).to_string(),
        ClockFace::Twelve => {
            let minutes = shown.seconds() / 60;
            let hour = (minutes / 60 + 11) % 12 + 1;
            format!("{hour}:{:02}", minutes % 60)
        }
    }
}
