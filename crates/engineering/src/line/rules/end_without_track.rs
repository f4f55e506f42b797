//! Open line joins a station end that no track reaches.

use model::{Rule, Severity};

use crate::check::Check;

/// Open line joins a station end that no track reaches.
pub static RULE: Rule = Rule {
    code: "end-without-track",
    severity: Severity::Error,
    title: "Open line joins a station end that no track reaches.",
    explain: "A train that comes in by this end finds no track. Let a track of the station begin \
        or end there. The two tracks of double track have an end each, `E1` and `E2`.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "42 in"]
to_end = "N"
"#,
    rendered: r#"
error[end-without-track]: no track of Birch reaches its end `N`
 --> lines/main.toml:8:11
  |
8 | to_end = "N"
  |           ^
  |
 ::: stations/birch.toml:1:9
  |
1 | name = "Birch"
  |         ----- its page
  |
  = help: write a track with `from` or `to` = "N"
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    use crate::{ids::EndId, station::Meets};
    let way = check.way;
    for (_, station) in way.stations() {
        for (at, end) in station.ends.iter().enumerate() {
            let Some(join) = end.joins.first() else { continue };
            let here = Meets::End(EndId(at as u32));
            if station.tracks.iter().any(|track| track.meets.contains(&here)) {
                continue;
            }
            let open = way.open(join.open);
            let found = RULE
                .at(
                    open.ends[usize::from(join.which)].end.span,
                    format!("no track of {} reaches its end `{}`", station.name.value, end.name),
                )
                .also(station.name.span, "its page");
            check.out.push(if open.tracks.value > 1 {
                found.help(format!("double track needs a track for each: one from or to `{}`", end.name))
            } else {
                found.help(format!("write a track with `from` or `to` = \"{}\"", end.name))
            });
        }
    }
}
