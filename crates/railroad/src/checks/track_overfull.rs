//! More cars stand on a track than it holds.

use std::collections::HashMap;

use engineering::{ids::TrackRef, station::TrackUse};
use model::{Diagnostics, Rule, Severity, Span, units::Actual};

use super::context::Context;

/// More cars stand on a track than it holds.
pub static RULE: Rule = Rule {
    code: "track-overfull",
    severity: Severity::Error,
    title: "More cars stand on a track than it holds.",
    explain: "The lengths over pull faces add up to more than the usable length of the track. Move \
              some, or keep them off the railroad.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,at
SMR,101,XM,boxcar,11 in,Alder / mill
SMR,102,XM,boxcar,11 in,Alder / mill
SMR,103,XM,boxcar,11 in,Alder / mill
SMR,104,XM,boxcar,11 in,Alder / mill
SMR,105,XM,boxcar,11 in,Alder / mill
SMR,90,NE,caboose,5 in,Birch / siding
"#,
    rendered: r#"
error[track-overfull]: `Alder / mill` holds 2'-11 3/4", and the 5 standing there take 4'-7"
 --> cars.csv:5:25
  |
5 | SMR,104,XM,boxcar,11 in,Alder / mill
  |                         ^^^^^^^^^^^^ no room for this one
  |
  = help: move 2 of them elsewhere
"#,
    file: file!(),
};

/// What sums of lengths may be off by without meaning anything.
const SLACK: Actual = Actual::from_mm(0.1);

/// Cars and engines, by where they stand before the first session.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let way = &context.road.way;
    let roster = &context.road.roster;
    let mut on: HashMap<TrackRef, Vec<(Actual, Span)>> = HashMap::new();
    let cars = roster
        .cars
        .iter()
        .map(|car| (car.state, &car.at, car.length));
    let engines = roster
        .engines
        .iter()
        .map(|engine| (engine.state, &engine.at, engine.length));
    for (state, at, length) in cars.chain(engines) {
        let (true, Some(at)) = (state.on_the_railroad(), at) else {
            continue;
        };
        let (Some(track), Some(length)) = (way.find_track(&at.value), length) else {
            continue;
        };
        on.entry(track).or_default().push((length.value, at.span));
    }
    for (&track, standing) in &on {
        let total: Actual = standing.iter().map(|(length, _)| *length).sum();
        let holds = context.usable(track);
        if total <= holds + SLACK {
            continue;
        }
        // Point at the first one that has no room.
        let mut sum = Actual::ZERO;
        let fits = standing
            .iter()
            .take_while(|(length, _)| {
                sum += *length;
                sum <= holds + SLACK
            })
            .count();
        let message = format!(
            "`{}` holds {}, and the {} standing there take {}",
            way.track_name(track),
            context.show(holds),
            standing.len(),
            context.show(total)
        );
        let found = RULE
            .at(standing[fits].1, message)
            .label("no room for this one");
        out.push(
            found.help(match roomy(context, &on, track, &standing[fits..]) {
                Some((other, room)) => format!(
                    "`{}` has {} left: move {} of them there",
                    way.track_name(other),
                    context.show(room),
                    standing.len() - fits
                ),
                None => format!("move {} of them elsewhere", standing.len() - fits),
            }),
        );
    }
}

/// A track of the same station for cars, with room enough for the rest beside what stands there.
fn roomy(
    context: &Context<'_>,
    on: &HashMap<TrackRef, Vec<(Actual, Span)>>,
    full: TrackRef,
    rest: &[(Actual, Span)],
) -> Option<(TrackRef, Actual)> {
    let total = |standing: &[(Actual, Span)]| standing.iter().map(|(length, _)| *length).sum();
    let need: Actual = total(rest);
    let station = context.road.way.station(full.station);
    station
        .tracks()
        .filter(|(id, track)| {
            *id != full.track
                && matches!(
                    track.usage,
                    TrackUse::Storage | TrackUse::Classification | TrackUse::Spur
                )
        })
        .map(|(track, _)| TrackRef {
            station: full.station,
            track,
        })
        .map(|track| {
            let taken = on
                .get(&track)
                .map_or(Actual::ZERO, |standing| total(standing));
            (track, context.usable(track) - taken)
        })
        .find(|(_, room)| *room >= need)
}
