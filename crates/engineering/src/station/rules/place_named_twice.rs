//! Two places of a station have the same name.

use model::{Rule, Severity};

use std::collections::HashMap;

use crate::check::Check;

/// Two places of a station have the same name.
pub static RULE: Rule = Rule {
    code: "place-named-twice",
    severity: Severity::Error,
    title: "Two places of a station have the same name.",
    explain: "Tracks find the places they join by name: a name stands for one end, switch, \
        crossing, joint or turntable. `bumper`, `from` and `to` have meanings of their own.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"
joints = { s1 = "40 in" }

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[place-named-twice]: Alder has two places `s1`
  --> stations/alder.toml:13:1
   |
 5 | joints = { s1 = "40 in" }
   |            -- the first
...
13 | s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
   | ^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    for station in &check.way.stations {
        let mut first: HashMap<&str, Option<model::Span>> = HashMap::new();
        let ends = station.ends.iter().map(|end| (end.name.as_str(), end.span));
        let switches = station.switches.iter().map(|one| &one.name);
        let crossings = station.crossings.iter().map(|one| &one.name);
        let joints = station.joints.iter().map(|one| &one.name);
        let tables = station.turntables.iter().map(|one| &one.name);
        let named = switches.chain(crossings).chain(joints).chain(tables);
        let mut all: Vec<_> =
            ends.chain(named.map(|name| (name.value.as_str(), Some(name.span)))).collect();
        // In the order of the page, so that the second of two is the one reported.
        all.sort_by_key(|(_, span)| *span);
        for (name, span) in all {
            let taken = ["bumper", "from", "to"].contains(&name);
            let other = first.get(name).copied();
            first.entry(name).or_insert(span);
            let Some(span) = span.filter(|_| taken || other.is_some()) else { continue };
            let found = RULE.at(
                span,
                match taken {
                    true => format!("`{name}` has a meaning of its own"),
                    false => format!("{} has two places `{name}`", station.name.value),
                },
            );
            check.out.push(match other.flatten() {
                Some(other) => found.also(other, "the first"),
                None => found.help("choose another name"),
            });
        }
    }
}
