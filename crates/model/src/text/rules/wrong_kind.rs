//! A value is of the wrong kind.

use crate::{
    Diagnostic, Rule, Severity,
    text::{Field, Kind, Node, NodeValue, Table},
};

/// A value is of the wrong kind.
pub static RULE: Rule = Rule {
    code: "wrong-kind",
    severity: Severity::Error,
    title: "A value is of the wrong kind.",
    explain: "A number where a text should be, a single value where a list should be, and the like. A quantity \
        with a unit is a text and stands in quotation marks.",
    fixture: r#"
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = 12, use = "main" }
"#,
    rendered: r#"
error[wrong-kind]: `length` is a whole number
 --> stations/birch.toml:7:41
  |
7 | main = { from = "W", to = "E", length = 12, use = "main" }
  |                                         ^^ expected a length on the model, like `12'-6"`, `46 in` or `3.81 m`
  |
  = help: a quantity is written with its unit, in quotation marks
"#,
    file: file!(),
};

/// A value that is not what its field says.
pub(crate) fn diagnostic(field: &Field, kind: &Kind, node: &Node) -> Diagnostic {
    let found = RULE
        .at(node.span, format!("`{}` is {}", field.key, node.value.noun()))
        .label(format!("expected {}", kind.expected()));
    match &node.value {
        NodeValue::Whole(_) | NodeValue::Number(_) => {
            found.help("a quantity is written with its unit, in quotation marks")
        }
        _ => found,
    }
}

/// Something else where a table should be.
pub(crate) fn table(table: &Table, node: &Node) -> Diagnostic {
    let keys: Vec<&str> = table.fields.iter().take(3).map(|field| field.key).collect();
    RULE.at(node.span, format!("this {} is {}", table.noun, node.value.noun()))
        .label("expected a table")
        .help(format!("write it as {{ {} = ..., ... }}", keys.join(" = ..., ")))
}
