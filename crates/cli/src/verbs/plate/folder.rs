//! Plates of a railroad's own switches, crossings and tracks, as its pages have them.

use engineering::{
    alignment::Of,
    curve::{Path, Piece, Place},
    ids::{StationId, TrackRef},
    line::Turn,
    station::{Crossing, Hand, Slip, Station, SwitchKind, TrackEnd},
    turnout::{self, OnTrack, Plan, Practice, Side, Site, Slips},
};
use model::diagnostic::nearest;
use plates::Plate;
use railroad::Railroad;

use super::{Shop, StationArgs, TrackArgs, built, write};
use crate::outcome::{Failure, Outcome, load};

/// What a name stands for, or the nearest.
fn no_such(what: &str, name: &str, names: &[&str]) -> Failure {
    let failure = Failure::misunderstood(format!("there is no {what} `{name}`"));
    match nearest(name, names.iter().copied()) {
        Some(near) => failure.help(format!("did you mean `{near}`?")),
        None => failure.help(format!("there is: {}", names.join(", "))),
    }
}

pub(super) fn station(args: &StationArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let way = &railroad.way;
    let id = way.find_station(&args.name).ok_or_else(|| {
        let names: Vec<&str> = way.stations().map(|(_, s)| s.name.value.as_str()).collect();
        no_such("station", &args.name, &names)
    })?;
    let station = way.station(id);
    let mut shop = Shop::new(Some(railroad), None, &args.output)?;
    let switches = station
        .switches
        .iter()
        .map(|switch| switch.name.value.as_str());
    let crossings = station
        .crossings
        .iter()
        .map(|crossing| crossing.name.value.as_str());
    let names: Vec<&str> = switches.chain(crossings).collect();
    if let Some(only) = &args.only
        && !names.contains(&only.as_str())
    {
        return Err(no_such(
            &format!("switch or crossing of {}", args.name),
            only,
            &names,
        ));
    }
    let wanted = |name: &str| args.only.as_deref().is_none_or(|only| only == name);
    let mut plates: Vec<Plate> = Vec::new();
    for (at, switch) in station.switches.iter().enumerate() {
        if wanted(&switch.name.value) {
            let on = switch.on.as_ref().map_or("", |on| on.value.as_str());
            shop.heading.place = format!("{}, switch {} on {on}", args.name, switch.name.value);
            let plan = switch_plan(&shop, railroad, id, at)?;
            plates.push(shop.plate(&plan));
        }
    }
    for crossing in &station.crossings {
        if wanted(&crossing.name.value) {
            shop.heading.place = format!("{}, crossing {}", args.name, crossing.name.value);
            let plan = crossing_plan(&shop, crossing)?;
            plates.push(shop.plate(&plan));
        }
    }
    if plates.is_empty() {
        return Err(Failure::misunderstood(format!(
            "{} has neither switches nor crossings",
            args.name
        )));
    }
    write(&plates, &args.output)
}

pub(super) fn track(args: &TrackArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let way = &railroad.way;
    let id = way.find_track(&args.name).ok_or_else(|| {
        let names: Vec<String> = way
            .stations()
            .flat_map(|(station, page)| {
                page.tracks()
                    .map(move |(track, _)| TrackRef { station, track })
            })
            .map(|id| way.track_name(id))
            .collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        no_such("track", &args.name, &names)
    })?;
    let mut shop = Shop::new(Some(railroad), None, &args.output)?;
    shop.heading.place.clone_from(&args.name);
    let (course, note) = course(railroad, id);
    if course.is_empty() {
        return Err(Failure::misunderstood(format!(
            "{} has no length",
            args.name
        )));
    }
    let station = way.station(id.station);
    let facing = &railroad.network.orientation(id.station).facing;
    let mut on = Vec::new();
    let mut notes = vec![note];
    for (at, switch) in station.switches.iter().enumerate() {
        let (Some(points), true) = (switch.at, switch.track == Some(id.track)) else {
            continue;
        };
        let limits = railroad.network.limits();
        let number = limits.number(switch.number.map(|number| number.value));
        let sides: &[Side] = match switch.hand {
            Hand::Left => &[Side::Left],
            Hand::Right => &[Side::Right],
            Hand::Equilateral => {
                notes.push(format!(
                    "Switch {} is equilateral; on this plate it is drawn to the left. Its own plate has its form.",
                    switch.name.value
                ));
                &[Side::Left]
            }
            Hand::ThreeWay => {
                notes.push(format!(
                    "Switch {} is three-way; on this plate it is drawn to the left. Its own plate has its form.",
                    switch.name.value
                ));
                &[Side::Left]
            }
        };
        on.extend(sides.iter().map(|&side| OnTrack {
            name: switch.name.value.clone(),
            at: points.value.meters(),
            facing: facing[at] == TrackEnd::From,
            side,
            number,
        }));
    }
    on.sort_by(|a, b| a.at.total_cmp(&b.at));
    let mut plan = built(turnout::along(
        &shop.style,
        "plan at full size",
        &course,
        &on,
    ))?;
    plan.notes.extend(notes);
    write(&[shop.plate(&plan)], &args.output)
}

/// The course of a track: its alignment, or what the tape says of its length and curves; and which.
fn course(railroad: &Railroad, id: TrackRef) -> (Path, String) {
    let located = &railroad.way.located;
    let aligned = located
        .find(Of::Track(id))
        .and_then(|line| located.path(line));
    if let Some(path) = aligned {
        return (path.clone(), "Laid out by its alignment.".into());
    }
    let track = railroad.way.track(id);
    let length = track.run().meters();
    let mut curves: Vec<([f64; 2], f64)> = track
        .curves
        .iter()
        .filter_map(|curve| {
            let [from, to] = curve.reach?;
            let sign = match curve.turn? {
                Turn::Left => 1.0,
                Turn::Right => -1.0,
            };
            let radius = curve.radius?.value.meters();
            Some(([from.value.meters(), to.value.meters()], sign / radius))
        })
        .collect();
    curves.sort_by(|a, b| a.0[0].total_cmp(&b.0[0]));
    let unknown = track.curves.len() - curves.len();
    let mut path = Path::default();
    let mut place = Place::new(0.0, 0.0, 0.0);
    let mut at = 0.0;
    for ([from, to], curvature) in curves {
        for (until, curvature) in [(from, 0.0), (to, curvature)] {
            let piece = Piece::arc(place, (until.min(length) - at).max(0.0), curvature);
            place = piece.end();
            place.curvature = 0.0;
            at += piece.length;
            path.push(piece);
        }
    }
    path.push(Piece::tangent(place, (length - at).max(0.0)));
    let mut note = "Laid out from the tape: it has no alignment.".to_owned();
    if unknown > 0 {
        note.push_str(" Curves without a place, a radius or a hand are drawn straight.");
    }
    (path, note)
}

fn switch_plan(
    shop: &Shop,
    railroad: &Railroad,
    station: StationId,
    at: usize,
) -> Result<Plan, Failure> {
    let page = railroad.way.station(station);
    let switch = &page.switches[at];
    let number = railroad
        .network
        .limits()
        .number(switch.number.map(|number| number.value));
    let mut style = shop.style;
    if switch.kind == SwitchKind::Stub {
        style.build.practice = Practice::Circular;
    }
    let (site, note) = site(railroad, page, station, at);
    let mut plan = built(match switch.hand {
        Hand::Left => turnout::lateral(&style, number, Side::Left, &site),
        Hand::Right => turnout::lateral(&style, number, Side::Right, &site),
        Hand::Equilateral => turnout::equilateral(&style, number, &site),
        Hand::ThreeWay => turnout::three_way(&style, number, Side::Left, None, &site),
    })?;
    plan.notes.extend(note);
    if switch.kind == SwitchKind::Stub {
        plan.notes.push(
            "A stub switch: its lead and curve are drawn; in place of points cut the rails square where the \
             tracks part and let them move."
                .into(),
        );
    }
    if switch.number.is_none() {
        plan.notes.push(format!(
            "The switch states no frog number: No. {number} is the railroad's least."
        ));
    }
    Ok(plan)
}

/// Where a switch lies: on its track's course, looking from its points.
fn site(
    railroad: &Railroad,
    page: &Station,
    station: StationId,
    at: usize,
) -> (Site, Option<String>) {
    let switch = &page.switches[at];
    let (Some(track), Some(points)) = (switch.track, switch.at) else {
        return (
            Site::straight(),
            Some("Its place on its track is not known: drawn straight.".into()),
        );
    };
    let (course, note) = course(railroad, TrackRef { station, track });
    if course.is_empty() {
        return (Site::straight(), None);
    }
    let curved = course.pieces().iter().any(|piece| piece.sharpest() > 1e-6);
    if !curved {
        return (Site::straight(), None);
    }
    let points = points.value.meters();
    let facing = railroad.network.orientation(station).facing[at] == TrackEnd::From;
    if facing {
        (Site::on(&course, points), Some(note))
    } else {
        (
            Site::on(&course.reversed(), course.length() - points),
            Some(note),
        )
    }
}

fn crossing_plan(shop: &Shop, crossing: &Crossing) -> Result<Plan, Failure> {
    let slips = match crossing.slip {
        Slip::None => Slips::None,
        Slip::Single => Slips::Single,
        Slip::Double => Slips::Double,
    };
    // Two tracks that cross at more than a right angle cross at less.
    let degrees = if crossing.angle > 90.0 {
        180.0 - crossing.angle
    } else {
        crossing.angle
    };
    built(turnout::crossing(&shop.style, degrees.to_radians(), slips))
}
