//! Stations from what was read.

use std::collections::HashMap;

use model::{
    Spanned,
    text::{Noun, Reader, Record, Value},
};

use super::{
    Control, Crossing, End, EndJoin, Facility, Hand, Joint, Meets, Office, OnLine, Points, Side,
    Slip, Station, StationKind, Switch, SwitchKind, Track, TrackEnd, TrackUse, Turntable,
};
use crate::{
    ids::{EndId, JointId, LineId, OpenRef, StationId, SwitchId, TrackId, TurntableId},
    line::{Line, curves, pair, word},
    way::Lookup,
};

/// What a station's ends follow from, before its tracks are looked at.
pub(crate) struct Draft<'a> {
    /// The page.
    pub(crate) record: &'a Record,
    /// Its name.
    pub(crate) name: Spanned<String>,
    /// The lines it lies on.
    pub(crate) lines: Vec<OnLine>,
}

impl<'a> Draft<'a> {
    pub(crate) fn new(record: &'a Record, name: Spanned<String>, lines: &Lookup<LineId>) -> Self {
        let on = |record: &Record| {
            let name = word(record, "line");
            OnLine {
                line: name.as_ref().and_then(|name| lines.find(&name.value)),
                name,
                mile: record.number("mile"),
            }
        };
        let lines = std::iter::once(on(record))
            .chain(record.tables("also").iter().map(on))
            .collect();
        Self {
            record,
            name,
            lines,
        }
    }
}

/// What open line joins each station: its own end names, side and which track.
pub(crate) fn ends(lines: &[Line], stations: usize) -> Vec<Vec<(String, EndJoin)>> {
    let mut joined = vec![Vec::new(); stations];
    for (line_at, line) in lines.iter().enumerate() {
        for (open_at, open) in line.open.iter().enumerate() {
            for (which, end) in open.ends.iter().enumerate() {
                let Some(StationId(station)) = end.id else {
                    continue;
                };
                for track in 1..=open.tracks.value {
                    let join = EndJoin {
                        open: OpenRef {
                            line: LineId::at(line_at),
                            open: open_at as u32,
                        },
                        which: which as u8,
                        track,
                    };
                    joined[station as usize].push((end.end_name(open.tracks.value, track), join));
                }
            }
        }
    }
    joined
}

fn station_ends(
    record: &Record,
    own: Option<(LineId, &Line)>,
    joined: &[(String, EndJoin)],
) -> (Vec<End>, bool) {
    let mut ends: Vec<End> = Vec::new();
    let written = record.written("ends");
    let side = |name: &str| {
        let (_, line) = own?;
        if name == line.ends[0] {
            Some(Side::Low)
        } else if name == line.ends[1] {
            Some(Side::High)
        } else {
            None
        }
    };
    if written {
        for end in record.texts("ends") {
            ends.push(End {
                name: end.value.to_owned(),
                span: Some(end.span),
                side: side(end.value),
                joins: Vec::new(),
            });
        }
    } else if let Some((id, line)) = own {
        // Both ends of its own line, unless double track takes their place.
        for (at, name) in line.ends.iter().enumerate() {
            let doubled = joined.iter().any(|(_, join)| {
                let open = &line_open(line, id, join);
                open.is_some_and(|open| {
                    open.tracks.value > 1
                        && usize::from(join.which) != at
                        && open.ends[usize::from(join.which)].end.value == *name
                })
            });
            if !doubled {
                let side = if at == 0 { Side::Low } else { Side::High };
                ends.push(End {
                    name: name.clone(),
                    span: None,
                    side: Some(side),
                    joins: Vec::new(),
                });
            }
        }
    }
    for (name, join) in joined {
        let at = match ends.iter().position(|end| end.name == *name) {
            Some(at) => at,
            // The open line names an end that the station's page leaves out.
            None if written => continue,
            None => {
                ends.push(End {
                    name: name.clone(),
                    span: None,
                    side: None,
                    joins: Vec::new(),
                });
                ends.len() - 1
            }
        };
        ends[at].joins.push(*join);
        // Open line of the station's own line leads where its miles say.
        if own.is_some_and(|(id, _)| id == join.open.line) {
            ends[at].side = Some(if join.which == 0 {
                Side::High
            } else {
                Side::Low
            });
        }
    }
    if !written {
        // From the low-mile end to the high one, and branches after them.
        ends.sort_by_key(|end| match end.side {
            Some(Side::Low) => 0,
            Some(Side::High) => 1,
            None => 2,
        });
    }
    (ends, written)
}

fn line_open<'a>(line: &'a Line, id: LineId, join: &EndJoin) -> Option<&'a crate::line::OpenLine> {
    (join.open.line == id).then(|| &line.open[join.open.open as usize])
}

/// A station; `joined` is what open line joins it.
pub(crate) fn build(
    reader: &mut Reader<'_>,
    draft: Draft<'_>,
    lines: &[Line],
    joined: &[(String, EndJoin)],
) -> Station {
    let Draft {
        record,
        name,
        lines: on,
    } = draft;
    // A line that is misspelt here may still be known by the open line that comes in: its ends are
    // then not reported as unknown as well.
    let own = on
        .first()
        .and_then(|on| on.line)
        .or_else(|| joined.first().map(|(_, join)| join.open.line))
        .map(|id| (id, &lines[id.index()]));
    let (ends, ends_written) = station_ends(record, own, joined);
    let joints: Vec<Joint> = record
        .map("joints")
        .iter()
        .map(|(name, _)| Joint {
            name: name.clone(),
            tracks: Vec::new(),
        })
        .collect();
    let elevations = ["elevations", "joints"]
        .into_iter()
        .flat_map(|key| record.map(key))
        .filter_map(|(name, value)| match value.value {
            Value::Length(length) => Some((
                name.clone(),
                Spanned {
                    value: length,
                    span: value.span,
                },
            )),
            _ => None,
        })
        .collect();
    let mut station = Station {
        lines: on,
        kind: record
            .word("kind")
            .and_then(|w| StationKind::from_word(w.value))
            .unwrap_or(StationKind::ALL[0]),
        ends,
        ends_written,
        call: word(record, "call"),
        office: record.table("office").map(office),
        facilities: record
            .list("facilities")
            .iter()
            .filter_map(|item| match item.value {
                Value::Word(word) => Facility::from_word(word),
                _ => None,
            })
            .collect(),
        saw_by: record.flag("saw_by").map(|flag| flag.value),
        yard_limits: record.flag("yard_limits").is_some_and(|flag| flag.value),
        elevation: record.length("elevation"),
        elevations,
        tracks: record
            .named("tracks")
            .iter()
            .map(|(name, track)| build_track(name, track))
            .collect(),
        switches: record
            .named("switches")
            .iter()
            .map(|(name, one)| build_switch(name, one))
            .collect(),
        crossings: record
            .named("crossings")
            .iter()
            .map(|(name, one)| build_crossing(name, one))
            .collect(),
        turntables: record
            .named("turntables")
            .iter()
            .map(|(name, one)| Turntable {
                name: name.clone(),
                length: one.length("length"),
                tracks: Vec::new(),
            })
            .collect(),
        joints,
        note: record.text("note").map(|note| note.value.to_owned()),
        span: record.span,
        name,
    };
    for track in &station.tracks {
        let name = format!("{} / {}", station.name.value, track.name.value);
        reader
            .names
            .declare(Noun::Track, &name, track.name.span, &mut reader.out);
    }
    resolve(&mut station);
    station
}

fn office(record: &Record) -> Office {
    let hours = match record.list("hours") {
        [
            Spanned {
                value: Value::Time(opens),
                ..
            },
            Spanned {
                value: Value::Time(closes),
                ..
            },
        ] => Some([*opens, *closes]),
        _ => None,
    };
    Office {
        hours,
        register: record.flag("register").is_some_and(|flag| flag.value),
    }
}

fn build_track(name: &Spanned<String>, record: &Record) -> Track {
    let usage = match record.word("use") {
        Some(word) => TrackUse::from_word(word.value).unwrap_or(TrackUse::Spur),
        None if name.value == "main" => TrackUse::Main,
        None => TrackUse::Spur,
    };
    Track {
        name: name.clone(),
        at: [word(record, "from"), word(record, "to")],
        meets: [Meets::Nowhere; 2],
        length: record.length("length"),
        measured: record.written("length"),
        usable: record.length("usable"),
        clear: [None; 2],
        usage,
        radius: record.radius("radius"),
        curves: curves(record),
        elevation: pair(record.list("elevation")),
        speed: record.speed("speed").map(|speed| speed.value),
        spots: record
            .texts("spots")
            .into_iter()
            .map(|spot| spot.map(str::to_owned))
            .collect(),
        spot_length: record.length("spot_length"),
        several_trains: record
            .flag("several_trains")
            .is_some_and(|several| several.value),
        note: record.text("note").map(|note| note.value.to_owned()),
        span: record.span,
    }
}

fn build_switch(name: &Spanned<String>, record: &Record) -> Switch {
    Switch {
        name: name.clone(),
        on: word(record, "on"),
        track: None,
        at: record.length("at"),
        measured: record.written("at"),
        points_written: word(record, "points"),
        points: Points::Unknown,
        hand: record
            .word("hand")
            .and_then(|w| Hand::from_word(w.value))
            .unwrap_or(Hand::ALL[0]),
        number: record.number("number"),
        normal: word(record, "normal"),
        control: record
            .word("control")
            .and_then(|w| Control::from_word(w.value))
            .unwrap_or(Control::ALL[0]),
        kind: record
            .word("kind")
            .and_then(|w| SwitchKind::from_word(w.value))
            .unwrap_or(SwitchKind::ALL[0]),
        diverging: Vec::new(),
        span: record.span,
    }
}

fn build_crossing(name: &Spanned<String>, record: &Record) -> Crossing {
    let on = match record.texts("on")[..] {
        [one, other] => Some([one.map(str::to_owned), other.map(str::to_owned)]),
        _ => None,
    };
    Crossing {
        name: name.clone(),
        on,
        tracks: [None; 2],
        at: pair(record.list("at")),
        angle: record.number("angle").map_or(90.0, |angle| angle.value),
        slip: record
            .word("slip")
            .and_then(|w| Slip::from_word(w.value))
            .unwrap_or(Slip::ALL[0]),
        span: record.span,
    }
}

/// Finds what each track and switch refers to within the station.
fn resolve(station: &mut Station) {
    // Where a name is given twice, ends come before switches, and so on: a rule reports it.
    let mut places: HashMap<&str, Meets> = HashMap::new();
    let ends = station
        .ends
        .iter()
        .enumerate()
        .map(|(at, end)| (end.name.as_str(), Meets::End(EndId::at(at))));
    let switches = station
        .switches
        .iter()
        .enumerate()
        .map(|(at, one)| (one.name.value.as_str(), Meets::Switch(SwitchId::at(at))));
    let turntables = station.turntables.iter().enumerate().map(|(at, one)| {
        (
            one.name.value.as_str(),
            Meets::Turntable(TurntableId::at(at)),
        )
    });
    let joints = station
        .joints
        .iter()
        .enumerate()
        .map(|(at, one)| (one.name.value.as_str(), Meets::Joint(JointId::at(at))));
    for (name, meets) in ends.chain(switches).chain(turntables).chain(joints) {
        places.entry(name).or_insert(meets);
    }
    let bumper = |name: &str| name.eq_ignore_ascii_case("bumper").then_some(Meets::Bumper);
    let meets: Vec<[Meets; 2]> = station
        .tracks
        .iter()
        .map(|track| {
            [0, 1].map(|which: usize| match &track.at[which] {
                Some(name) => places
                    .get(name.value.as_str())
                    .copied()
                    .or(bumper(&name.value))
                    .unwrap_or(Meets::Nowhere),
                None => Meets::Nowhere,
            })
        })
        .collect();
    let tracks: HashMap<String, TrackId> = station
        .tracks
        .iter()
        .enumerate()
        .rev()
        .map(|(at, track)| (track.name.value.clone(), TrackId::at(at)))
        .collect();
    for (at, meets) in meets.into_iter().enumerate() {
        station.tracks[at].meets = meets;
        for (end, meets) in [TrackEnd::From, TrackEnd::To].into_iter().zip(meets) {
            let here = (TrackId::at(at), end);
            match meets {
                Meets::Switch(id) => station.switches[id.index()].diverging.push(here),
                Meets::Turntable(id) => station.turntables[id.index()].tracks.push(here),
                Meets::Joint(id) => station.joints[id.index()].tracks.push(here),
                Meets::End(_) | Meets::Bumper | Meets::Nowhere => {}
            }
        }
    }
    for switch in &mut station.switches {
        switch.track = switch
            .on
            .as_ref()
            .and_then(|on| tracks.get(&on.value))
            .copied();
        switch.points = match switch
            .points_written
            .as_ref()
            .map(|points| points.value.as_str())
        {
            None => Points::Unknown,
            Some(name) => match station.ends.iter().position(|end| end.name == name) {
                Some(at) => Points::End(EndId::at(at)),
                None if name.eq_ignore_ascii_case("from") => Points::Track(TrackEnd::From),
                None if name.eq_ignore_ascii_case("to") => Points::Track(TrackEnd::To),
                // The plain name of a double-track end: both lie the same way.
                None => match station
                    .ends
                    .iter()
                    .position(|end| end.name == format!("{name}1"))
                {
                    Some(at) => Points::End(EndId::at(at)),
                    None => Points::Unknown,
                },
            },
        };
    }
    for crossing in &mut station.crossings {
        if let Some(on) = &crossing.on {
            crossing.tracks = [0, 1].map(|which: usize| tracks.get(&on[which].value).copied());
        }
    }
}
