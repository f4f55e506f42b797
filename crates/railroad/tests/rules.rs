//! Every rule's faulty example gives the diagnostic that stands beside it.
//!
//! `SAWBY_BLESS=1 cargo test -p railroad` writes what is printed into the rules' files, to be read
//! and committed.

use std::{fs, path::Path};

use model::diagnostic::{Look, render};
use railroad::{Folder, all_rules, fixture, load};

#[test]
fn each_example_prints_what_is_pinned() {
    let bless = std::env::var_os("SAWBY_BLESS").is_some();
    let mut wrong = Vec::new();
    for rule in all_rules() {
        let loaded = load(&fixture::folder(rule.fixture));
        let mut printed: Vec<String> = loaded
            .diagnostics
            .iter()
            .filter(|found| found.rule.code == rule.code)
            .map(|found| render(found, &loaded.sources, Look::Plain))
            .collect();
        if printed.is_empty() {
            let others = loaded.report(Look::Plain);
            wrong.push(format!(
                "`{}` is not found in its own example:\n{others}",
                rule.code
            ));
            continue;
        }
        // What else is wrong with an example is not what it is an example of; a second of the same
        // kind would only repeat it.
        printed.truncate(2);
        let printed = printed.join("\n\n");
        if printed.trim_matches('\n') == rule.rendered.trim_matches('\n') {
            continue;
        }
        if bless {
            write_into(rule.file, &printed);
        } else {
            wrong.push(format!(
                "`{}` prints\n{printed}\nbut pinned is\n{}",
                rule.code, rule.rendered
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n----\n"));
}

fn write_into(file: &str, printed: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .join(file);
    let text = fs::read_to_string(&path).unwrap();
    let start = text.find("rendered: r").expect("a rule has a `rendered`");
    let open = start + text[start..].find('"').unwrap();
    let hashes = text[start + "rendered: r".len()..open].len();
    let close = format!("\"{}", "#".repeat(hashes));
    let end = open + 1 + text[open + 1..].find(&close).unwrap();
    fs::write(
        &path,
        format!("{}\n{printed}\n{}", &text[..=open], &text[end..]),
    )
    .unwrap();
}

#[test]
fn codes_are_unique_and_plain() {
    let rules = all_rules();
    for pair in rules.windows(2) {
        assert_ne!(pair[0].code, pair[1].code);
    }
    for rule in rules {
        assert!(
            rule.code
                .chars()
                .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'),
            "{}",
            rule.code
        );
        assert!(
            rule.title.ends_with('.') && !rule.explain.is_empty(),
            "{}",
            rule.code
        );
        let file = rule.code.replace('-', "_");
        assert!(
            rule.file.ends_with(&format!("/{file}.rs")),
            "{} is in {}",
            rule.code,
            rule.file
        );
    }
}

#[test]
fn the_smallest_railroad_is_clean() {
    let loaded = load(&Folder::built_in("smallest").unwrap());
    assert_eq!(loaded.report(Look::Plain), "");
}
