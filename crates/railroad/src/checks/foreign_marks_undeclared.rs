//! Cars bear the marks of a road that is not named.

use std::collections::{HashMap, HashSet};

use mechanical::car::canonical_marks;
use model::{Diagnostics, Rule, Severity, Span};

use super::context::Context;

/// Cars bear the marks of a road that is not named.
pub static RULE: Rule = Rule {
    code: "foreign-marks-undeclared",
    severity: Severity::Note,
    title: "Cars bear the marks of a road that is not named.",
    explain: "Name the roads and private owners whose cars come here under `[roads.MARKS]` in \
              railroad.toml: cars are sent home by them. Marks that differ by a slip show up here too.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length
BTC,4410,XM,boxcar,6 in
BTC,4411,XM,boxcar,6 in
SMR,90,NE,caboose,5 in
"#,
    rendered: r#"
note[foreign-marks-undeclared]: 2 cars bear the marks `BTC`, and no road of that name is known
 --> cars.csv:2:1
  |
2 | BTC,4410,XM,boxcar,6 in
  | ^^^
  |
  = help: write `[roads."BTC"]` with its `name` in railroad.toml
"#,
    file: file!(),
};

/// Once for each marks, at the first car that bears them.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let identity = &context.road.identity;
    let known: HashSet<String> = identity
        .roads
        .iter()
        .map(|road| road.marks.as_str())
        .chain([identity.marks.as_str()])
        .map(canonical_marks)
        .collect();
    let mut strangers: HashMap<&str, (Span, usize)> = HashMap::new();
    for car in &context.road.roster.cars {
        // A private owner's car may name its home road instead.
        if !car.marks.is_empty() && !known.contains(&car.marks.value) && car.home_road.is_none() {
            strangers
                .entry(&car.marks.value)
                .or_insert((car.marks.span, 0))
                .1 += 1;
        }
    }
    for (marks, (span, count)) in strangers {
        let cars = if count == 1 {
            "a car bears".into()
        } else {
            format!("{count} cars bear")
        };
        let message = format!("{cars} the marks `{marks}`, and no road of that name is known");
        let found = RULE
            .at(span, message)
            .did_you_mean(marks, known.iter().map(String::as_str));
        out.push(found.help(format!(
            "write `[roads.\"{marks}\"]` with its `name` in railroad.toml"
        )));
    }
}
