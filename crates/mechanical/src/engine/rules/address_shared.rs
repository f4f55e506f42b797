//! Two engines have the same decoder address.

use std::collections::{HashMap, hash_map::Entry};

use model::{Diagnostics, Rule, Severity};

use crate::engine::Engine;

/// Two engines have the same decoder address.
pub static RULE: Rule = Rule {
    code: "address-shared",
    severity: Severity::Warning,
    title: "Two engines have the same decoder address.",
    explain: "Both would answer the same throttle. Give one of them another address, or make them one \
              engine on the record if they always run together.",
    fixture: r#"
--- engines.csv
number,kind,wheels,length,address
12,steam,2-8-0,9 in,12
14,steam,2-8-0,9 in,12
"#,
    rendered: r#"
warning[address-shared]: engines 12 and 14 both have address 12
 --> engines.csv:3:21
  |
2 | 12,steam,2-8-0,9 in,12
  |                     -- first here
3 | 14,steam,2-8-0,9 in,12
  |                     ^^
  |
  = help: give one of them another address
"#,
    file: file!(),
};

/// Engines that are on the railroad, in the order of their page.
pub(crate) fn check_all(engines: &[Engine], out: &mut Diagnostics) {
    let mut first: HashMap<i64, &Engine> = HashMap::new();
    for engine in engines
        .iter()
        .filter(|engine| engine.state.on_the_railroad())
    {
        let Some(address) = &engine.address else {
            continue;
        };
        match first.entry(address.value) {
            Entry::Vacant(free) => {
                free.insert(engine);
            }
            Entry::Occupied(taken) => {
                let other = taken.get();
                let message = format!(
                    "engines {} and {} both have address {}",
                    other.number.value, engine.number.value, address.value
                );
                let span = other.address.map_or(other.span, |address| address.span);
                out.push(
                    RULE.at(address.span, message)
                        .also(span, "first here")
                        .help("give one of them another address"),
                );
            }
        }
    }
}
