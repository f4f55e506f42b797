//! Open line runs past a station.

use model::{Rule, Severity};

use crate::check::Check;

/// Open line runs past a station.
pub static RULE: Rule = Rule {
    code: "open-line-skips-station",
    severity: Severity::Error,
    title: "Open line runs past a station.",
    explain: "Between two stations that a district of open line joins there is no third. Part \
        the district in two at the station, or mend the mile of the station.",
    fixture: r#"
--- stations/cedar.toml
name = "Cedar"
line = "Main"
mile = 3
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "6 ft", use = "main" }
"#,
    rendered: r#"
error[open-line-skips-station]: the open line from Alder to Birch runs past Cedar
 --> lines/main.toml:4:9
  |
4 | from = "Alder"
  |         ^^^^^
  |
 ::: stations/cedar.toml:1:9
  |
1 | name = "Cedar"
  |         ----- lies between them by its mile
  |
  = help: write one district from Alder to Cedar and another on from Cedar
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (id, line) in way.lines() {
        let stations = way.line_stations(id);
        // One table for the whole line: a line may have a thousand stations.
        let places: std::collections::HashMap<_, _> =
            stations.iter().enumerate().map(|(at, station)| (*station, at)).collect();
        for open in &line.open {
            let [Some(from), Some(to)] = [open.ends[0].id, open.ends[1].id] else { continue };
            let (Some(&low), Some(&high)) = (places.get(&from), places.get(&to)) else { continue };
            if high <= low + 1 {
                continue;
            }
            let passed = way.station(stations[low + 1]);
            let name = &passed.name.value;
            let (a, b) = (&way.station(from).name.value, &way.station(to).name.value);
            check.out.push(
                RULE.at(open.span, format!("the open line from {a} to {b} runs past {name}"))
                    .also(passed.name.span, "lies between them by its mile")
                    .help(format!("write one district from {a} to {name} and another on from {name}")),
            );
        }
    }
}
