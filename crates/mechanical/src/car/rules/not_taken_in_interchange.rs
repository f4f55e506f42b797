//! A car is not as cars of its date were, or would not have been taken in interchange.

use model::{Diagnostics, Rule, Severity};

use crate::{
    Context,
    car::Car,
    era::{Scope, Why, judge_car},
};

/// A car is not as cars of its date were, or would not have been taken in interchange.
pub static RULE: Rule = Rule {
    code: "not-taken-in-interchange",
    severity: Severity::Warning,
    title: "A car is not as cars of its date were, or would not have been taken in interchange.",
    explain: "The dates are data: `sawby era --rules` lists them with where each was read and whether others give another \
              date. Rules of interchange are for other roads' cars; a road could keep its own at home. `country` in \
              railroad.toml says whose rules hold.",
    fixture: r#"
--- cars.csv
marks,number,aar,kind,length,built,brake
SMR,101,XM,boxcar,6 in,1936,K
"#,
    rendered: r#"
warning[not-taken-in-interchange]: SMR 101 has K brakes, yet was built in 1936: new cars had AB brakes from 1 September 1933 on
 --> cars.csv:2:5
  |
2 | SMR,101,XM,boxcar,6 in,1936,K
  |     ^^^
  |
  = help: give it AB brakes
"#,
    file: file!(),
};

/// Looks for it, but for what has a diagnostic of its own.
pub(crate) fn check(car: &Car, context: &Context, out: &mut Diagnostics) {
    let (Some(day), Some(allowed)) = (&context.era.date, context.allowed()) else {
        return;
    };
    if !car.state.on_the_railroad() {
        return;
    }
    for finding in judge_car(car, car.is_foreign(context), &allowed).findings {
        let Why::Rule(rule) = finding.why else {
            continue;
        };
        if rule.own_diagnostic {
            continue;
        }
        let mut found = RULE
            .at(
                car.name.span,
                format!("{} {}", car.name.value, finding.sentence),
            )
            .help(finding.mend);
        if rule.scope != Scope::Construction {
            found = found.also(day.span, "the modelled day");
        }
        if let Some((other, whose)) = rule.or_from {
            found = found.help(format!("from {} on, as {whose} has it", other.0));
        }
        out.push(found);
    }
}
