//! The season that tonnage is rated for is none.

use model::{Diagnostics, Rule, Severity};

use crate::tonnage::Tonnage;

/// The season that tonnage is rated for is none.
pub static RULE: Rule = Rule {
    code: "unknown-season",
    severity: Severity::Error,
    title: "The season that tonnage is rated for is none.",
    explain: "`season` names one of the usual seasons, or one of your own under `[seasons.NAME]`, which then take the place \
              of the usual ones. Until it does, the first counts.",
    fixture: r#"
--- tonnage.toml
season = "wet rails"
"#,
    rendered: r#"
error[unknown-season]: there is no season `wet rails`
 --> tonnage.toml:1:11
  |
1 | season = "wet rails"
  |           ^^^^^^^^^ the seasons are fair, wet rail, cold, severe cold
  |
  = help: did you mean `wet rail`?
"#,
    file: file!(),
};

/// Looks for it.
pub(crate) fn check(tonnage: &Tonnage, out: &mut Diagnostics) {
    let Some(season) = &tonnage.unknown_season else {
        return;
    };
    let names: Vec<&str> = tonnage
        .seasons
        .iter()
        .map(|season| season.name.as_str())
        .collect();
    let found = RULE
        .at(
            season.span,
            format!("there is no season `{}`", season.value),
        )
        .label(format!("the seasons are {}", names.join(", ")))
        .did_you_mean(&season.value, names);
    out.push(found);
}
