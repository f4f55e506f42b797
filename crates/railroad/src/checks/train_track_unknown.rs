//! A train uses a track that its station does not have.

use model::{Diagnostics, Rule, Severity};

use super::context::Context;

/// A train uses a track that its station does not have.
pub static RULE: Rule = Rule {
    code: "train-track-unknown",
    severity: Severity::Error,
    title: "A train uses a track that its station does not have.",
    explain: "`from_track`, `to_track` and the `track` of a stop name a track of that station.",
    fixture: r#"
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Birch"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]
to_track = "sidding"
"#,
    rendered: r#"
error[train-track-unknown]: Birch has no track `sidding`
 --> trains.toml:9:13
  |
9 | to_track = "sidding"
  |             ^^^^^^^
  |
  = help: did you mean `siding`?
  = help: it has: main, siding
"#,
    file: file!(),
};

/// Tracks at the ends and at stops.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for train in &context.road.service.trains {
        let ends = [
            (&train.from, &train.from_track),
            (&train.to, &train.to_track),
        ];
        let stops = train.stops.iter().map(|stop| (&stop.station, &stop.track));
        for (station, track) in ends.into_iter().chain(stops) {
            let (Some(id), Some(track)) = (context.station(station.as_ref()), track) else {
                continue;
            };
            let page = context.road.way.station(id);
            if page.find_track(&track.value).is_none() {
                let names: Vec<&str> = page.tracks.iter().map(|t| t.name.value.as_str()).collect();
                let message = format!("{} has no track `{}`", page.name.value, track.value);
                let found = RULE.at(track.span, message);
                out.push(
                    found
                        .did_you_mean(&track.value, names.iter().copied())
                        .help(format!("it has: {}", names.join(", "))),
                );
            }
        }
    }
}
