//! What stands where along a line: the contents of its track chart, before anything is drawn.

use engineering::{
    Way,
    ids::{LineId, StationId, SwitchId, TrackId, TrackRef},
    line::{OpenLine, StructureKind, Turn},
    network::Network,
    profile::{Going, Profile, SectionOf},
    station::{Control, Facility, Hand, Meets, Side, StationKind, TrackEnd, TrackUse},
};
use model::units::{Actual, CurveDefinition, DegreeOfCurve, Grade, Prototype, Speed};
use railroad::Railroad;

use super::lanes;

/// The contents of a line's track chart. Positions are distances along the modelled track from the
/// line's low-mile end.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// The railroad.
    pub railroad: String,
    /// The line.
    pub line: String,
    /// Names of the directions toward lower and higher miles.
    pub directions: [String; 2],
    /// Length of the modelled track.
    pub length: Actual,
    /// Mileposts: place and scheduled mile, every whole mile that falls on modelled track.
    pub mileposts: Vec<(Actual, f64)>,
    /// Country left out.
    pub gaps: Vec<ChartGap>,
    /// Stations in order.
    pub stations: Vec<ChartStation>,
    /// Stretches of open line: place, length, number of tracks, speed allowed.
    pub open: Vec<(Actual, Actual, u8, Option<Speed>)>,
    /// Railhead above the floor.
    pub elevations: Vec<(Actual, Actual)>,
    /// Grades between those points.
    pub grades: Vec<ChartGrade>,
    /// Curves of the line and of main tracks.
    pub curves: Vec<ChartCurve>,
    /// Bridges, tunnels and the like.
    pub structures: Vec<ChartStructure>,
    /// Slow orders: from, to, speed, reason.
    pub slow: Vec<(Actual, Actual, Option<Speed>, String)>,
    /// Steepest grade toward higher and toward lower miles.
    pub ruling: [Option<Grade>; 2],
    /// The length of car by which capacities are counted.
    pub car: Actual,
}

/// Country left out of the model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChartGap {
    /// Where on the modelled track: in the middle of its open line.
    pub at: Actual,
    /// Scheduled length without track.
    pub length: Prototype,
}

/// A station on the chart.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartStation {
    /// Its name.
    pub name: String,
    /// What sort of place.
    pub kind: StationKind,
    /// Telegraph call.
    pub call: Option<String>,
    /// Scheduled mile.
    pub mile: Option<f64>,
    /// Where it begins.
    pub at: Actual,
    /// Length along the line.
    pub length: Actual,
    /// Water, coal and the like.
    pub facilities: Vec<Facility>,
    /// Its tracks.
    pub tracks: Vec<ChartTrack>,
    /// Its switches.
    pub switches: Vec<ChartSwitch>,
    /// Its turntables.
    pub turntables: Vec<ChartTurntable>,
    /// Crossings: name, place, lane.
    pub crossings: Vec<(String, Actual, i32)>,
}

/// A turntable on the chart.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartTurntable {
    /// Its name.
    pub name: String,
    /// Where it is.
    pub at: Actual,
    /// Lane of the track that leads to it.
    pub lane: i32,
    /// Length of its rails.
    pub length: Option<Actual>,
    /// Engine tracks between it and a bumper.
    pub stalls: usize,
}

/// How a track ends on the chart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TrackShape {
    /// Goes on beyond the station.
    Open,
    /// Comes out of a switch on another lane.
    Switch {
        /// That lane.
        lane: i32,
    },
    /// Ends at a bumper.
    Bumper,
    /// Ends at a turntable.
    Turntable,
    /// Goes on as another track, on that track's lane.
    Joint {
        /// That lane.
        lane: i32,
    },
    /// Ends at nothing that exists: a fault of the page.
    Nowhere,
}

/// A track on the chart.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartTrack {
    /// Its name.
    pub name: String,
    /// What it is for.
    pub usage: TrackUse,
    /// Lane: 0 the main, positive to the left of the direction of higher miles.
    pub lane: i32,
    /// Low-mile and high-mile end.
    pub reach: [Actual; 2],
    /// How it ends there.
    pub ends: [TrackShape; 2],
    /// Length as laid.
    pub length: Actual,
    /// Length between clearance points.
    pub usable: Actual,
    /// Cars that fit.
    pub cars: u32,
    /// Names of its spots.
    pub spots: Vec<String>,
    /// The first and the last switch that lie on it.
    pub switches: Option<[Actual; 2]>,
    /// Whether it slopes from one lane to another all the way, as a crossover does.
    pub slopes: bool,
    /// Whether the track could be placed by following it from the main; if not, it stands below.
    pub placed: bool,
}

/// A switch on the chart.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartSwitch {
    /// Its name.
    pub name: String,
    /// Where its points are.
    pub at: Actual,
    /// Lane of the track it lies on.
    pub lane: i32,
    /// Whether it diverges toward higher miles.
    pub toward_high: bool,
    /// To which hand.
    pub hand: Hand,
    /// Frog number.
    pub number: Option<f64>,
    /// How it is thrown.
    pub control: Control,
}

/// A stretch of even grade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChartGrade {
    /// Where it begins and ends.
    pub reach: [Actual; 2],
    /// Rising toward higher miles.
    pub grade: Grade,
}

/// A curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChartCurve {
    /// Where it begins and ends.
    pub reach: [Actual; 2],
    /// Radius on the model.
    pub radius: Actual,
    /// Degree of curve of the prototype, by the chord.
    pub degrees: f64,
    /// To which hand, seen toward higher miles.
    pub turn: Option<Turn>,
}

/// A structure.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartStructure {
    /// Where it begins and ends.
    pub reach: [Actual; 2],
    /// What it is.
    pub kind: StructureKind,
    /// Its name.
    pub name: Option<String>,
}

/// Gathers the facts of a line. Everything that could be read is on the chart, also of a railroad that
/// is still being written.
pub fn facts(railroad: &Railroad, line: LineId) -> Facts {
    let (way, network) = (&railroad.way, &railroad.network);
    let page = way.line(line);
    let profile = Profile::new(way, network, line);
    let scale = railroad.identity.scale.scale;
    // A forty-foot car of the 1930s over its pull faces: common practice, no source.
    let car = scale.to_actual(Prototype::from_feet(44.0));
    let ruling = [Going::Down, Going::Up].map(|going| {
        let whole = [Actual::ZERO, profile.length];
        // The grade itself: what curves add depends on the train and is the tonnage rating's affair.
        let limits = engineering::Limits {
            compensation: Grade::from_ratio(0.0),
            ..*network.limits()
        };
        profile
            .ruling(&limits, going, whole, Actual::ZERO)
            .map(|ruling| ruling.grade)
    });
    let mut facts = Facts {
        railroad: railroad.identity.name.clone(),
        line: page.name.value.clone(),
        directions: page.directions.clone(),
        length: profile.length,
        mileposts: mileposts(&profile),
        gaps: Vec::new(),
        stations: Vec::new(),
        open: Vec::new(),
        elevations: profile
            .points
            .iter()
            .map(|point| (point.at, point.elevation))
            .collect(),
        grades: grades(&profile),
        curves: Vec::new(),
        structures: Vec::new(),
        slow: Vec::new(),
        ruling,
        car,
    };
    for section in &profile.sections {
        let [at, end] = section.reach;
        match section.what {
            SectionOf::Station(id) if way.station(id).line() != Some(line) => {
                facts
                    .stations
                    .push(junction(railroad, id, line, [at, end], car));
            }
            SectionOf::Station(id) => {
                facts
                    .stations
                    .push(station(way, network, id, line, [at, end], car));
            }
            SectionOf::Open(id) => open_line(&mut facts, way.open(id), [at, end]),
        }
    }
    for curve in &profile.curves {
        facts.curves.push(ChartCurve {
            reach: curve.reach,
            radius: curve.radius,
            degrees: DegreeOfCurve::of_radius(
                scale.to_prototype(curve.radius),
                CurveDefinition::Arc,
            )
            .map_or(90.0, |curve| curve.angle().degrees()),
            turn: curve.turn,
        });
    }
    for structure in &profile.structures {
        facts.structures.push(ChartStructure {
            reach: structure.reach,
            kind: structure.kind,
            name: structure.name.clone(),
        });
    }
    facts
}

fn grades(profile: &Profile) -> Vec<ChartGrade> {
    profile
        .points
        .windows(2)
        .filter_map(|pair| {
            let reach = [pair[0].at, pair[1].at];
            let grade =
                Grade::of_actual(pair[1].elevation - pair[0].elevation, reach[1] - reach[0])?;
            Some(ChartGrade { reach, grade })
        })
        .collect()
}

/// Whole miles, where they fall on modelled track: in country left out there is nothing to rule.
fn mileposts(profile: &Profile) -> Vec<(Actual, f64)> {
    let mut posts: Vec<(Actual, f64)> = Vec::new();
    for section in &profile.sections {
        let Some([low, high]) = section.miles else {
            continue;
        };
        let [at, end] = section.reach;
        let mut mile = low.ceil();
        while mile <= high && posts.len() < 10_000 {
            let place = if high > low {
                at + (end - at) * ((mile - low) / (high - low))
            } else {
                at
            };
            if posts.last().is_none_or(|(_, last)| *last < mile) {
                posts.push((place, mile));
            }
            mile += 1.0;
        }
    }
    posts
}

fn station(
    way: &Way,
    network: &Network,
    id: StationId,
    line: LineId,
    [at, end]: [Actual; 2],
    car: Actual,
) -> ChartStation {
    let page = way.station(id);
    let placed = lanes::lanes(way, network, id);
    let length = end - at;
    let orientation = network.orientation(id);
    // Tracks that hang together with nothing are drawn below everything else, where they strike the eye.
    let lowest = placed
        .iter()
        .flatten()
        .map(|placed| placed.lane)
        .min()
        .unwrap_or(0);
    let mut stray = lowest - 1;
    let lane_of = |track: Option<TrackId>| {
        track
            .and_then(|track| placed[track.index()])
            .map_or(0, |placed| placed.lane)
    };
    let mut tracks = Vec::new();
    for (track_id, track) in page.tracks() {
        if lanes::is_stall(page, track_id) {
            continue;
        }
        let usable = network.usable(
            way,
            TrackRef {
                station: id,
                track: track_id,
            },
        );
        let (lane, reach) = match placed[track_id.index()] {
            Some(placed) => (placed.lane, placed.reach),
            None if lanes::is_crossover(page, track_id) => {
                let lane = match track.meets[0] {
                    Meets::Switch(switch) => lane_of(page.switches[switch.index()].track),
                    _ => 0,
                };
                let Some(reach) = lanes::reach(network, id, page, track_id) else {
                    continue;
                };
                (lane, reach)
            }
            None => {
                let lane = stray;
                stray -= 1;
                (lane, [Actual::ZERO, track.run()])
            }
        };
        let mut ends = [TrackEnd::From, TrackEnd::To].map(|end| match track.meets[end.index()] {
            Meets::End(_) => TrackShape::Open,
            Meets::Switch(switch) => TrackShape::Switch {
                lane: lane_of(page.switches[switch.index()].track),
            },
            Meets::Joint(joint) => {
                let other = page.joints[joint.index()]
                    .tracks
                    .iter()
                    .find(|(o, _)| *o != track_id);
                TrackShape::Joint {
                    lane: lane_of(other.map(|(other, _)| *other)),
                }
            }
            Meets::Turntable(_) => TrackShape::Turntable,
            Meets::Bumper => TrackShape::Bumper,
            Meets::Nowhere => TrackShape::Nowhere,
        });
        if orientation.tracks[track_id.index()] == Side::Low {
            ends.reverse();
        }
        let on_it = page
            .switches
            .iter()
            .enumerate()
            .filter(|(_, switch)| switch.track == Some(track_id))
            .filter_map(|(order, _)| {
                network.position(network.switch_node(id, SwitchId(order as u32)))
            })
            .fold(None, |reach: Option<[Actual; 2]>, place| {
                let [low, high] = reach.unwrap_or([place, place]);
                Some([low.min(place), high.max(place)])
            });
        tracks.push(ChartTrack {
            name: track.name.value.clone(),
            usage: track.usage,
            lane,
            reach: reach.map(|place| at + place),
            ends,
            length: track.run(),
            usable: usable.length,
            cars: usable.cars(car),
            spots: track.spots.iter().map(|spot| spot.value.clone()).collect(),
            switches: on_it.map(|places| places.map(|place| at + place)),
            slopes: lanes::is_crossover(page, track_id),
            placed: placed[track_id.index()].is_some() || lanes::is_crossover(page, track_id),
        });
    }
    let switches = page
        .switches
        .iter()
        .enumerate()
        .filter_map(|(order, switch)| {
            let node = network.switch_node(id, SwitchId(order as u32));
            Some(ChartSwitch {
                name: switch.name.value.clone(),
                at: at + network.position(node)?,
                lane: lane_of(switch.track),
                toward_high: lanes::diverges_up(page, orientation, order),
                hand: switch.hand,
                number: switch.number.map(|number| number.value),
                control: switch.control,
            })
        })
        .collect();
    let turntables = page
        .turntables
        .iter()
        .filter_map(|table| {
            let stalls = table
                .tracks
                .iter()
                .filter(|(t, _)| lanes::is_stall(page, *t))
                .count();
            // It stands where the first track that is no stall meets it.
            let leads = |(track, _): &&(TrackId, TrackEnd)| !lanes::is_stall(page, *track);
            let &(track, end) = table.tracks.iter().find(leads).or(table.tracks.first())?;
            let run = if end == TrackEnd::From {
                Actual::ZERO
            } else {
                page.track(track).run()
            };
            Some(ChartTurntable {
                name: table.name.value.clone(),
                at: at + network.position_on(id, track, run)?,
                lane: lane_of(Some(track)),
                length: table.length.map(|length| length.value),
                stalls,
            })
        })
        .collect();
    let crossings = page
        .crossings
        .iter()
        .filter_map(|crossing| {
            let track = crossing.tracks[0]?;
            let place = network.position_on(id, track, crossing.at?[0].value)?;
            Some((
                crossing.name.value.clone(),
                at + place,
                lane_of(Some(track)),
            ))
        })
        .collect();
    ChartStation {
        name: page.name.value.clone(),
        kind: page.kind,
        call: page.call.as_ref().map(|call| call.value.clone()),
        mile: page.mile(line),
        at,
        length,
        facilities: page.facilities.clone(),
        tracks,
        switches,
        turntables,
        crossings,
    }
}

/// A station of another line, at which this one ends or which it crosses: only the tracks by which
/// this line runs there. Its other tracks stand on the chart of its own line.
fn junction(
    railroad: &Railroad,
    id: StationId,
    line: LineId,
    [at, end]: [Actual; 2],
    car: Actual,
) -> ChartStation {
    let (way, network) = (&railroad.way, &railroad.network);
    let page = way.station(id);
    let route = network.main_route(way, id, line);
    let mut tracks: Vec<ChartTrack> = Vec::new();
    let mut place = at;
    for run in route.iter().flat_map(|route| &route.runs) {
        let edge = network.edge(run.edge);
        let (begin, finish) = (place, place + edge.length);
        place = finish;
        let Some(track) = edge.track() else { continue };
        let name = &way.track(track).name.value;
        match tracks.last_mut() {
            Some(last) if last.name == *name => last.reach[1] = finish,
            _ => {
                let usable = network.usable(way, track);
                tracks.push(ChartTrack {
                    name: name.clone(),
                    usage: way.track(track).usage,
                    lane: 0,
                    reach: [begin, finish],
                    ends: [TrackShape::Open; 2],
                    length: way.track(track).run(),
                    usable: usable.length,
                    cars: usable.cars(car),
                    spots: Vec::new(),
                    switches: None,
                    slopes: false,
                    placed: true,
                });
            }
        }
    }
    ChartStation {
        name: page.name.value.clone(),
        kind: page.kind,
        call: page.call.as_ref().map(|call| call.value.clone()),
        mile: page.mile(line),
        at,
        length: end - at,
        facilities: page.facilities.clone(),
        tracks,
        switches: Vec::new(),
        turntables: Vec::new(),
        crossings: Vec::new(),
    }
}

/// Adds a district of open line.
fn open_line(facts: &mut Facts, open: &OpenLine, [at, end]: [Actual; 2]) {
    facts
        .open
        .push((at, end - at, open.tracks.value, open.speed));
    if let Some(gap) = open.gap {
        facts.gaps.push(ChartGap {
            at: at + (end - at) * 0.5,
            length: gap.value,
        });
    }
    for slow in &open.slow {
        if let Some(reach) = slow.reach {
            facts.slow.push((
                at + reach[0].value,
                at + reach[1].value,
                slow.speed,
                slow.why.clone().unwrap_or_default(),
            ));
        }
    }
}
