//! Center lines as written become a plan: names are looked up, and what is left out follows from the
//! railroad's own tracks and switches.

use std::collections::HashMap;

use model::Spanned;

use super::{
    Described, Located, Of, StepWhat, Terminal, TerminalWhat, TurnoutStep, Unclear,
    plan::{Begin, CenterLine, Diverging, Element, End, Plan, Spot},
};
use crate::{
    Limits, Way,
    curve::Place,
    ids::{EndId, JointId, StationId, SwitchId, TrackRef},
    line::Turn,
    network::orient,
    station::{Hand, Meets, TrackEnd},
};

/// Compiles the center lines of a way.
pub(super) fn compile(way: &Way, described: Vec<Described>, limits: &Limits) -> Located {
    let mut work = Work {
        way,
        limits,
        names: HashMap::new(),
        lines: HashMap::new(),
        facing: HashMap::new(),
        unclear: Vec::new(),
        described: &described,
    };
    for (at, line) in described.iter().enumerate() {
        work.names.entry(&line.name.value).or_insert(at);
        if let Some(of) = line.of {
            match work.lines.get(&of) {
                Some(&first) => work.unclear.push(Unclear::Twice(at, first)),
                None => {
                    work.lines.insert(of, at);
                }
            }
        }
    }
    let mut lines: Vec<CenterLine> = described
        .iter()
        .enumerate()
        .map(|(at, line)| CenterLine {
            name: line.name.value.clone(),
            begin: Begin::At(Place::new(0.0, 0.0, 0.0)),
            elements: line
                .elements
                .iter()
                .map(|step| work.element(at, &step.what))
                .collect(),
            end: End::Free,
        })
        .collect();
    work.terminals(&mut lines);
    let unclear = work.unclear;
    Located {
        plan: Plan {
            lines,
            gauge: limits.gauge.meters(),
        },
        taped: vec![None; described.len()],
        described,
        unclear,
        ..Located::default()
    }
}

struct Work<'a> {
    way: &'a Way,
    limits: &'a Limits,
    names: HashMap<&'a str, usize>,
    lines: HashMap<Of, usize>,
    /// For each station that was asked about, which end of its track each switch faces.
    facing: HashMap<StationId, Vec<TrackEnd>>,
    unclear: Vec<Unclear>,
    described: &'a [Described],
}

impl Work<'_> {
    fn find(&mut self, name: &Spanned<String>) -> Option<usize> {
        let found = self.names.get(name.value.as_str()).copied();
        if found.is_none() {
            self.unclear.push(Unclear::NoSuch(name.clone()));
        }
        found
    }

    fn track(&self, line: usize) -> Option<TrackRef> {
        match self.described[line].of {
            Some(Of::Track(track)) => Some(track),
            _ => None,
        }
    }

    /// The switch of a name in the station of a track's center line.
    fn switch(&self, line: usize, name: &str) -> Option<(StationId, SwitchId)> {
        let track = self.track(line)?;
        let switch = self.way.station(track.station).find_switch(name)?;
        Some((track.station, switch))
    }

    fn element(&mut self, line: usize, what: &StepWhat) -> Element {
        match what {
            StepWhat::Plain(element) => *element,
            StepWhat::Connect(element, between) => match *element {
                Element::Connect {
                    radius,
                    easement,
                    to,
                    ..
                } => Element::Connect {
                    radius,
                    easement,
                    between: between.unwrap_or(self.limits.plan.between_reverse.meters()),
                    to,
                },
                other => other,
            },
            StepWhat::Parallel(other, centers, side, radius, length) => {
                let Some(host) = self.find(other) else {
                    return Element::Mark;
                };
                let gauge = self.limits.gauge.meters();
                let centers = centers.unwrap_or(self.limits.track_centers.meters());
                // Of a track that leaves its host, the side to which it leaves.
                let side = side.map_or_else(
                    || self.side(line, host),
                    |side| match side {
                        Turn::Left => 1.0,
                        Turn::Right => -1.0,
                    },
                );
                Element::Parallel {
                    line: host,
                    left: side * centers,
                    radius: radius.unwrap_or(2.0 * gauge * 36.0),
                    length: *length,
                }
            }
            StepWhat::Turnout(step) => {
                let known = self.switch(line, &step.name.value);
                if known.is_none() && (step.number.is_none() || step.hand.is_none()) {
                    self.unclear
                        .push(Unclear::NotOfStation(step.name.clone(), line));
                }
                if !step.diverging {
                    return Element::Mark;
                }
                let (number, hand) = self.turnout(known, Some(step));
                Element::Diverge { turn: hand, number }
            }
            StepWhat::Crossing(name) => {
                let station = self
                    .track(line)
                    .map(|track| self.way.station(track.station));
                let known = station.is_some_and(|station| {
                    station
                        .crossings
                        .iter()
                        .any(|crossing| crossing.name.value == name.value)
                });
                if !known {
                    self.unclear.push(Unclear::NotOfStation(name.clone(), line));
                }
                Element::Mark
            }
            StepWhat::Unclear => Element::Mark,
        }
    }

    /// To which side of a host a track lies that begins or ends at one of its switches: the hand seen
    /// along the host. Left if it does neither.
    fn side(&mut self, line: usize, host: usize) -> f64 {
        let (Some(track), Some(on)) = (self.track(line), self.track(host)) else {
            return 1.0;
        };
        if track.station != on.station {
            return 1.0;
        }
        let meets = self.way.track(track).meets;
        for meets in meets {
            if let Meets::Switch(switch) = meets
                && let Some(diverging) = self.station_switch(track, switch)
                && diverging.line == host
            {
                return if diverging.facing {
                    diverging.hand
                } else {
                    -diverging.hand
                };
            }
        }
        1.0
    }

    /// Frog number and hand, by the station's page or the element.
    fn turnout(
        &self,
        known: Option<(StationId, SwitchId)>,
        step: Option<&TurnoutStep>,
    ) -> (f64, f64) {
        let page =
            known.map(|(station, switch)| &self.way.station(station).switches[switch.index()]);
        let number = page
            .and_then(|page| page.number.map(|n| n.value))
            .or(step.and_then(|s| s.number));
        let hand = page
            .map(|page| page.hand)
            .or(step.and_then(|step| step.hand));
        // Of an equilateral one the side that is not said to be the left is taken to be the left too:
        // the other side is the line it lies on, and curves as that is described.
        let hand = if hand == Some(Hand::Right) { -1.0 } else { 1.0 };
        (self.limits.number(number), hand)
    }

    /// The diverging side of a station's switch, if the track it lies on has a center line.
    fn station_switch(&mut self, track: TrackRef, switch: SwitchId) -> Option<Diverging> {
        let page = self.way.station(track.station);
        let at = &page.switches[switch.index()];
        let on = TrackRef {
            station: track.station,
            track: at.track?,
        };
        let host = *self.lines.get(&Of::Track(on))?;
        let facing = self
            .facing
            .entry(track.station)
            .or_insert_with(|| orient::orient(page).facing)[switch.index()];
        let element = self.described[host].elements.iter().position(|step| {
            matches!(&step.what, StepWhat::Turnout(turnout) if turnout.name.value == at.name.value)
        });
        let spot = match element {
            Some(element) => Spot::Element(element),
            None => Spot::Distance(at.at?.meters()),
        };
        let (number, mut hand) = self.turnout(Some((track.station, switch)), None);
        // The second track of a three-way leaves to the other side.
        let second = at.diverging.iter().position(|(one, _)| *one == track.track) == Some(1);
        if at.hand == Hand::ThreeWay && second {
            hand = -1.0;
        }
        Some(Diverging {
            line: host,
            at: spot,
            facing: facing == TrackEnd::From,
            hand,
            number,
        })
    }

    /// A turnout named with the center line it lies on.
    fn named_turnout(&mut self, name: &Spanned<String>, on: &Spanned<String>) -> Option<Diverging> {
        let host = self.find(on)?;
        let steps = &self.described[host].elements;
        let found = steps
            .iter()
            .enumerate()
            .find_map(|(at, step)| match &step.what {
                StepWhat::Turnout(turnout) if turnout.name.value == name.value => {
                    Some((at, turnout))
                }
                _ => None,
            });
        let Some((element, step)) = found else {
            self.unclear.push(Unclear::NoTurnout(name.clone(), host));
            return None;
        };
        let (number, hand) = self.turnout(self.switch(host, &name.value), Some(step));
        Some(Diverging {
            line: host,
            at: Spot::Element(element),
            facing: !step.trailing,
            hand,
            number,
        })
    }

    /// Finds beginnings and ends. Those that are not written follow from neighbors, outward from
    /// the center lines whose beginning is written; so none waits for itself.
    fn terminals(&mut self, lines: &mut [CenterLine]) {
        let count = lines.len();
        let mut known = vec![false; count];
        for at in 0..count {
            let described = &self.described[at];
            if let Some(terminal) = &described.begin {
                if let Some(begin) = self.begin(terminal) {
                    lines[at].begin = begin;
                }
                // What is wrong with it is said elsewhere; it is there as far as can be.
                known[at] = true;
            }
        }
        loop {
            let mut grown = false;
            for at in 0..count {
                if known[at] {
                    continue;
                }
                let begin = match self.neighbor(at, TrackEnd::From) {
                    Some(Neighbor::Switch(diverging)) if known[diverging.line] => {
                        Some(Begin::Switch(diverging))
                    }
                    Some(Neighbor::Line(other, TrackEnd::To)) if known[other] => {
                        Some(Begin::After(other))
                    }
                    Some(Neighbor::Line(other, TrackEnd::From)) if known[other] => {
                        Some(Begin::Back(other))
                    }
                    _ => None,
                };
                if let Some(begin) = begin {
                    lines[at].begin = begin;
                    lines[at].end = self.end(at, &known);
                    known[at] = true;
                    grown = true;
                }
            }
            if !grown {
                break;
            }
        }
        for at in 0..count {
            if self.described[at].begin.is_some() {
                // Their own beginnings are fixed: their ends may look to each other only where that
                // cannot go in a circle, at the switches of tracks whose beginning is fixed too.
                lines[at].end = match &self.described[at].end {
                    Some(_) => self.end(at, &known),
                    None => match self.neighbor(at, TrackEnd::To) {
                        Some(Neighbor::Switch(diverging))
                            if self.described[diverging.line].begin.is_some()
                                && diverging.line != at =>
                        {
                            End::Switch(diverging)
                        }
                        // That one's beginning is a fixed point: nothing has to wait for it.
                        Some(Neighbor::Line(other, TrackEnd::From)) => {
                            match self.described[other].begin {
                                Some(Terminal {
                                    what: TerminalWhat::At(point, heading),
                                    ..
                                }) => End::At(Place::new(point.x, point.y, heading)),
                                _ => End::Free,
                            }
                        }
                        _ => End::Free,
                    },
                };
            } else if !known[at] {
                self.unclear.push(Unclear::NoBeginning(at));
            }
        }
    }

    fn begin(&mut self, terminal: &Terminal) -> Option<Begin> {
        match &terminal.what {
            TerminalWhat::At(point, heading) => {
                Some(Begin::At(Place::new(point.x, point.y, *heading)))
            }
            TerminalWhat::Other(name) => self.find(name).map(Begin::After),
            TerminalWhat::BackFrom(name) => self.find(name).map(Begin::Back),
            TerminalWhat::Turnout(name, on) => self.named_turnout(name, on).map(Begin::Switch),
            TerminalWhat::Closed | TerminalWhat::Unclear => None,
        }
    }

    fn end(&mut self, at: usize, known: &[bool]) -> End {
        let Some(terminal) = &self.described[at].end else {
            return match self.neighbor(at, TrackEnd::To) {
                Some(Neighbor::Switch(diverging)) if known[diverging.line] => {
                    End::Switch(diverging)
                }
                Some(Neighbor::Line(other, TrackEnd::From)) if known[other] => End::Before(other),
                _ => End::Free,
            };
        };
        match &terminal.what {
            TerminalWhat::At(point, heading) => End::At(Place::new(point.x, point.y, *heading)),
            TerminalWhat::Other(name) => self.find(name).map_or(End::Free, End::Before),
            TerminalWhat::Turnout(name, on) => {
                self.named_turnout(name, on).map_or(End::Free, End::Switch)
            }
            TerminalWhat::Closed => End::Start,
            TerminalWhat::BackFrom(_) | TerminalWhat::Unclear => End::Free,
        }
    }

    /// What is beyond an end of a center line's track, if that has a center line.
    fn neighbor(&mut self, at: usize, end: TrackEnd) -> Option<Neighbor> {
        let way = self.way;
        match self.described[at].of? {
            Of::Track(track) => match way.track(track).meets[end.index()] {
                Meets::Switch(switch) => self.station_switch(track, switch).map(Neighbor::Switch),
                Meets::End(id) => {
                    let join = way.station(track.station).ends[id.index()].joins.first()?;
                    let line = *self.lines.get(&Of::Open(join.open, join.track))?;
                    let end = if join.which == 0 {
                        TrackEnd::From
                    } else {
                        TrackEnd::To
                    };
                    Some(Neighbor::Line(line, end))
                }
                Meets::Joint(joint) => self.joined(track, joint),
                Meets::Turntable(_) | Meets::Bumper | Meets::Nowhere => None,
            },
            Of::Open(open, number) => {
                let page = way.open(open);
                let which = &page.ends[end.index()];
                let station = which.id?;
                let name = which.end_name(page.tracks.value, number);
                let id = way.station(station).find_end(&name)?;
                self.reaching(station, id)
            }
        }
    }

    /// The track that reaches a station end.
    fn reaching(&self, station: StationId, end: EndId) -> Option<Neighbor> {
        self.meeting(station, Meets::End(end), None)
    }

    fn joined(&self, track: TrackRef, joint: JointId) -> Option<Neighbor> {
        self.meeting(track.station, Meets::Joint(joint), Some(track))
    }

    fn meeting(&self, station: StationId, meets: Meets, but: Option<TrackRef>) -> Option<Neighbor> {
        let tracks = self.way.station(station).tracks();
        tracks
            .map(|(track, page)| (TrackRef { station, track }, page))
            .filter(|(track, _)| Some(*track) != but)
            .find_map(|(track, page)| {
                let end = [TrackEnd::From, TrackEnd::To]
                    .into_iter()
                    .find(|end| page.meets[end.index()] == meets)?;
                Some(Neighbor::Line(*self.lines.get(&Of::Track(track))?, end))
            })
    }
}

/// What a center line meets.
enum Neighbor {
    /// The diverging side of a switch.
    Switch(Diverging),
    /// One end of another center line.
    Line(usize, TrackEnd),
}
