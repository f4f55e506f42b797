//! A commodity is spelt in two ways.

use std::collections::{HashMap, HashSet};

use model::{Diagnostics, Rule, Severity, Spanned};

use crate::Traffic;

/// A commodity is spelt in two ways.
pub static RULE: Rule = Rule {
    code: "commodity-spelt-two-ways",
    severity: Severity::Warning,
    title: "A commodity is spelt in two ways.",
    explain: "Commodities go by their very name: what is shipped as `Flour` is not received as \
              `flour`. Spell it one way.",
    fixture: r#"
--- shippers.csv
shipper,station,track,spots,does,commodity,car_kind,cars_per_week
Alder Milling,Alder,mill,door 1,ships,flour,boxcar,3
Alder Milling,Alder,mill,door 2,ships,Flours,boxcar,1
"#,
    rendered: r#"
warning[commodity-spelt-two-ways]: `Flours` is spelt `flour` elsewhere
 --> shippers.csv:3:39
  |
2 | Alder Milling,Alder,mill,door 1,ships,flour,boxcar,3
  |                                       ----- first here
3 | Alder Milling,Alder,mill,door 2,ships,Flours,boxcar,1
  |                                       ^^^^^^
  |
  = help: write `flour` here too
"#,
    file: file!(),
};

/// Names that differ in capitals, blanks, hyphens or a plural's s. Each spelling is reported once.
pub(crate) fn check(traffic: &Traffic, out: &mut Diagnostics) {
    let mut first: HashMap<String, &Spanned<String>> = HashMap::new();
    let mut reported = HashSet::new();
    for commodity in traffic
        .flows
        .iter()
        .filter_map(|flow| flow.commodity.as_ref())
    {
        let letters: String = commodity
            .value
            .chars()
            .filter(|c| c.is_alphanumeric())
            .collect();
        let folded = letters.to_lowercase().trim_end_matches('s').to_owned();
        let known = *first.entry(folded).or_insert(commodity);
        if known.value != commodity.value && reported.insert(commodity.value.as_str()) {
            let message = format!("`{}` is spelt `{}` elsewhere", commodity.value, known.value);
            out.push(
                RULE.at(commodity.span, message)
                    .also(known.span, "first here")
                    .help(format!("write `{}` here too", known.value)),
            );
        }
    }
}
