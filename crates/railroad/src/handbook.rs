//! The reference pages of the documentation, written from the declarations that the reader uses.

use std::fmt::Write;

use model::text::{Form, Kind, Need, Table};

use crate::{all_rules, pages};

const NOTICE: &str = "<!-- Written by `cargo xtask docs` from the code. Do not edit. -->\n";

/// `docs/railroad-folder.md`: every page, key, unit and default.
pub fn railroad_folder() -> String {
    let mut text = format!(
        "# The railroad folder\n{NOTICE}\nA railroad is a folder of plain files: TOML for structure, CSV for \
         what people keep in spreadsheets.\nEverything is written once; what can be computed is not \
         written at all. Quantities carry their unit\n(`12'-6 1/2\"`, `3.81 m`, `46 in`, `400 scale ft`, \
         `0.8 mi`, `25 mph`, `7:05 AM`, `2.2 %`), names are\nfree text, and a file may hold only some of \
         what is listed: `sawby check` says what is missing.\n\nA table file may part its cells with \
         commas, semicolons or tabs, and may be in UTF-8 or Windows-1252.\nColumn heads may be written \
         with capitals and blanks (`Light weight`); a cell parts the items of a\nlist with semicolons.\n\n",
    );
    for page in pages() {
        let form = match page.form {
            Form::Toml => "TOML",
            Form::Csv => "CSV, one row each",
        };
        let must = if page.required { ", required" } else { "" };
        let _ = writeln!(text, "## `{}`\n\n{form}{must}. {}\n", page.path, page.about);
        let mut inner = Vec::new();
        table(&mut text, page.table, &mut inner);
        let mut at = 0;
        while at < inner.len() {
            let (path, of): (String, &Table) = inner[at].clone();
            let _ = writeln!(text, "### `{path}` in `{}`\n\n{}\n", page.path, of.about);
            let mut more = Vec::new();
            table(&mut text, of, &mut more);
            for (key, table) in more {
                inner.push((format!("{path}.{key}"), table));
            }
            at += 1;
        }
    }
    text
}

fn table(text: &mut String, table: &'static Table, inner: &mut Vec<(String, &'static Table)>) {
    text.push_str("| key | holds | if left out | meaning |\n|---|---|---|---|\n");
    for field in table.fields {
        let absent = match field.need {
            Need::Required => "**required**".to_owned(),
            Need::Optional => String::new(),
            Need::Default(value) => format!("`{value}`"),
        };
        let mut about = field.about.to_owned();
        let choices = match field.kind {
            Kind::OneOf(choices) | Kind::List(&Kind::OneOf(choices)) => choices,
            _ => &[],
        };
        for choice in choices {
            let _ = write!(about, "<br>`{}`: {}", choice.word, choice.about);
        }
        let holds = match field.kind {
            Kind::OneOf(_) => "one of the words listed".to_owned(),
            Kind::List(Kind::OneOf(_)) => "a list of the words listed".to_owned(),
            kind => kind.expected(),
        };
        let cell = |text: &str| text.replace('|', "\\|");
        let _ = writeln!(
            text,
            "| `{}` | {} | {absent} | {} |",
            field.key,
            cell(&holds),
            cell(&about)
        );
        match field.kind {
            Kind::Table(table) => inner.push((field.key.to_owned(), table)),
            Kind::Named(_, table) => inner.push((format!("{}.NAME", field.key), table)),
            Kind::Tables(table) => inner.push((format!("{}[]", field.key), table)),
            _ => {}
        }
    }
    text.push('\n');
}

/// `docs/diagnostics.md`: every code with its reason, a faulty example and what is printed for it.
pub fn diagnostics() -> String {
    let rules = all_rules();
    let mut text = format!(
        "# Diagnostics\n{NOTICE}\nWhat `sawby check` can say: {} kinds. `sawby explain CODE` prints one of \
         these entries.\nThe examples are files laid over `railroads/smallest`.\n\n",
        rules.len()
    );
    for rule in rules {
        let _ = writeln!(
            text,
            "## `{}`\n\n*{}.* {}\n\n{}\n\n```\n{}\n```\n\n```\n{}\n```\n",
            rule.code,
            rule.severity.word(),
            rule.title,
            rule.explain,
            rule.fixture.trim_matches('\n'),
            rule.rendered.trim_matches('\n')
        );
    }
    text
}

/// One entry of the diagnostics as plain text for a terminal.
pub fn explain(rule: &model::Rule) -> String {
    format!(
        "{} ({})\n\n{}\n{}\n\nFor example, this:\n\n{}\n\ngives:\n\n{}\n",
        rule.code,
        rule.severity.word(),
        rule.title,
        rule.explain,
        rule.fixture.trim_matches('\n'),
        rule.rendered.trim_matches('\n')
    )
}
