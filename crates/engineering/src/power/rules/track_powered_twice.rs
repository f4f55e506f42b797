//! Two power districts feed the same track.

use model::{Rule, Severity};

use std::collections::HashMap;

use crate::check::Check;

/// Two power districts feed the same track.
pub static RULE: Rule = Rule {
    code: "track-powered-twice",
    severity: Severity::Error,
    title: "Two power districts feed the same track.",
    explain: "Two boosters or throttles on one track fight each other, or worse. Name the track \
        in one district only. A district may feed a whole station but for tracks that others \
        name one by one.",
    fixture: r#"
--- power.toml
[districts.west]
stations = ["Alder"]

[districts.east]
stations = ["Birch", "Alder"]
"#,
    rendered: r#"
error[track-powered-twice]: Alder is fed by the district `west` already
 --> power.toml:5:23
  |
2 | stations = ["Alder"]
  |              ----- here
...
5 | stations = ["Birch", "Alder"]
  |                       ^^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    let (mut stations, mut tracks) = (HashMap::new(), HashMap::new());
    for (at, district) in way.power.iter().enumerate() {
        for station in &district.stations {
            let first = *stations.entry(station.value).or_insert((at, station.span));
            if first.1 != station.span {
                let name = way.station(station.value).name.value.clone();
                report(check, &name, station.span, first);
            }
        }
        for track in &district.tracks {
            let first = *tracks.entry(track.value).or_insert((at, track.span));
            if first.1 != track.span {
                let name = format!("`{}`", way.track_name(track.value));
                report(check, &name, track.span, first);
            }
        }
    }
}

fn report(check: &mut Check<'_>, what: &str, span: model::Span, first: (usize, model::Span)) {
    let other = &check.way.power[first.0].name.value;
    check.out.push(
        RULE.at(span, format!("{what} is fed by the district `{other}` already")).also(first.1, "here"),
    );
}
