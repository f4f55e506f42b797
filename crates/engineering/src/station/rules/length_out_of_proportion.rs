//! A track is longer than any railroad room.

use model::{
    Rule, Severity, Spanned,
    units::{Actual, Prototype},
};

use crate::check::Check;

/// A track is longer than any railroad room.
pub static RULE: Rule = Rule {
    code: "length-out-of-proportion",
    severity: Severity::Warning,
    title: "A track is longer than any railroad room.",
    explain: "A lost point or a key struck twice makes a length ten or a hundred times too great. What is \
        suspect: a station track of more than a mile and a half at full size, a district of open line of \
        more than ten, a turntable of more than 160 feet (common practice, no source). Lengths are \
        measured on the model; `scale ft` says otherwise.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "400 ft", use = "spur", spots = ["door 1", "door 2"] }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
warning[length-out-of-proportion]: the track `mill` is 400'-0" long: 6.6 miles at full size
 --> stations/alder.toml:9:48
  |
9 | mill = { from = "s3", to = "bumper", length = "400 ft", use = "spur", spots = ["door 1", "door 2"] }
  |                                                ^^^^^^
  |
  = help: is a point lost, or a figure twice there?
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let scale = check.limits.scale;
    let (station, open, table) = (
        scale.to_actual(Prototype::from_miles(1.5)),
        scale.to_actual(Prototype::from_miles(10.0)),
        scale.to_actual(Prototype::from_feet(160.0)),
    );
    let mut suspects: Vec<(String, Spanned<Actual>)> = Vec::new();
    let mut look = |what: String, length: Option<Spanned<Actual>>, most: Actual| {
        suspects.extend(length.filter(|length| length.value > most).map(|length| (what, length)));
    };
    for page in &check.way.stations {
        for track in &page.tracks {
            look(format!("the track `{}`", track.name.value), track.length, station);
        }
        for turntable in &page.turntables {
            look(format!("the turntable `{}`", turntable.name.value), turntable.length, table);
        }
    }
    for line in &check.way.lines {
        for district in &line.open {
            look("this open line".to_owned(), district.length, open);
        }
    }
    for (what, length) in suspects {
        let full_size = scale.to_prototype(length.value);
        let message = format!(
            "{what} is {} long: {:.1} miles at full size",
            check.show(length.value),
            full_size.miles()
        );
        check.out.push(RULE.at(length.span, message).help("is a point lost, or a figure twice there?"));
    }
}
