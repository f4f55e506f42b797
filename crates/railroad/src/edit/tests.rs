use model::diagnostic::Look;

use super::*;
use crate::fixture;

fn key(path: &str) -> Vec<Step> {
    path.split('/')
        .map(|step| match step.parse() {
            Ok(at) if step.starts_with(|c: char| c.is_ascii_digit()) => Step::At(at),
            _ => Step::Key(step.to_owned()),
        })
        .collect()
}

fn set(file: &str, path: &str, value: &str) -> Edit {
    Edit::Set {
        file: file.into(),
        path: key(path),
        value: value.into(),
    }
}

fn after(folder: &Folder, edit: &Edit) -> Result<String, String> {
    let now = load(folder);
    propose(folder, &now, edit)
        .map(|proposal| String::from_utf8(proposal.after.unwrap_or_default()).unwrap())
        .map_err(|refusal| refusal.to_string())
}

const COMMENTED: &str = r#"
--- stations/birch.toml
# Where the orchards begin.
name = "Birch"   # on the lamp post
line = "Main"
mile = 4.5
elevation = "42 in"
facilities = [
    "water",   # the tank leaks
    "coal",
]

[tracks]
main   = { from = "W",  to = "E",  length = "12 ft", use = "main" }   # by tape
siding = { from = "s1", to = "s2", length = '9 ft', use = "siding" }

# Points west first.
[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "11 ft", points = "E", hand = "right", number = 6 }
"#;

#[test]
fn a_value_changes_and_nothing_else() {
    let folder = fixture::folder(COMMENTED);
    let before = std::str::from_utf8(folder.get("stations/birch.toml").unwrap()).unwrap();
    let file = "stations/birch.toml";
    for (path, value, old, new) in [
        ("tracks/siding/length", "7 ft", "'9 ft'", "\"7 ft\""),
        ("tracks/main/length", "13 ft", "\"12 ft\"", "\"13 ft\""),
        ("mile", "5", "4.5", "5"),
        (
            "switches/s1/number",
            "8",
            "\"left\", number = 6",
            "\"left\", number = 8",
        ),
        ("facilities", "water\nice", "\"coal\"", "\"ice\""),
    ] {
        let text = after(&folder, &set(file, path, value)).unwrap();
        assert_eq!(text, before.replacen(old, new, 1), "{path}");
    }
    let text = after(&folder, &set(file, "facilities", "water\ncoal\nsand")).unwrap();
    assert_eq!(
        text,
        before.replace("    \"coal\",\n", "    \"coal\",\n    \"sand\",\n")
    );
    let bare = before.replace(
        "[\n    \"water\",   # the tank leaks\n    \"coal\",\n]",
        "\"water\"",
    );
    assert_ne!(bare, before);
    let mut one = folder.clone();
    one.insert(file, bare.clone());
    assert_eq!(
        after(&one, &set(file, "facilities", "water")).unwrap(),
        bare
    );
    // A key that was not written joins its table.
    let text = after(&folder, &set(file, "tracks/siding/radius", "30 in")).unwrap();
    assert_eq!(
        text,
        before.replace(
            "use = \"siding\" }",
            "use = \"siding\", radius = \"30 in\" }"
        )
    );
}

#[test]
fn the_value_that_is_there_changes_not_a_byte() {
    for name in ["smallest", "learning", "example"] {
        let folder = Folder::built_in(name).unwrap();
        for (path, bytes) in folder.iter() {
            if path.ends_with(".csv") {
                let mut sources = model::Sources::default();
                let id = sources.add(path, bytes);
                let sheet =
                    model::text::csv::parse(&sources, id, &mut model::Diagnostics::default());
                let page = page(path, Form::Csv).unwrap();
                for (row, cells) in sheet.rows.iter().enumerate().step_by(7) {
                    for (head, cell) in sheet.header.iter().zip(cells) {
                        let column = model::text::read::column_key(&head.value);
                        let new = csv::set(page, path, bytes, row, &column, &cell.value).unwrap();
                        assert_eq!(new, bytes, "{path}, row {row}, {column}");
                    }
                }
            } else {
                let page = page(path, Form::Toml).unwrap();
                let document: toml_edit::DocumentMut =
                    std::str::from_utf8(bytes).unwrap().parse().unwrap();
                let mut leaves = Vec::new();
                collect(document.as_item(), &mut Vec::new(), &mut leaves);
                assert!(!leaves.is_empty());
                for (leaf, text) in leaves.into_iter().step_by(3) {
                    let new = toml::set(page, path, bytes, &leaf, &text).unwrap();
                    assert_eq!(new, bytes, "{path}: {}", show(&leaf));
                }
            }
        }
    }
}

/// Every text, number and flag of a document, and its place.
fn collect(item: &toml_edit::Item, at: &mut Vec<Step>, out: &mut Vec<(Vec<Step>, String)>) {
    use toml_edit::Value;
    let leaf = match item.as_value() {
        Some(Value::String(text)) => Some(text.value().clone()),
        Some(Value::Integer(number)) => Some(number.value().to_string()),
        Some(Value::Float(number)) => Some(number.value().to_string()),
        Some(Value::Boolean(flag)) => Some(flag.value().to_string()),
        Some(Value::Datetime(date)) => Some(date.value().to_string()),
        _ => None,
    };
    if let Some(text) = leaf {
        out.push((at.clone(), text));
    } else if let Some(table) = item.as_table_like() {
        for (key, item) in table.iter() {
            at.push(Step::Key(key.to_owned()));
            collect(item, at, out);
            at.pop();
        }
    } else if let Some(tables) = item.as_array_of_tables() {
        for (index, table) in tables.iter().enumerate() {
            at.push(Step::At(index));
            collect(&toml_edit::Item::Table(table.clone()), at, out);
            at.pop();
        }
    } else if let Some(array) = item.as_array() {
        for (index, value) in array.iter().enumerate() {
            at.push(Step::At(index));
            collect(&toml_edit::Item::Value(value.clone()), at, out);
            at.pop();
        }
    }
}

#[test]
fn records_come_and_go() {
    let folder = fixture::folder(COMMENTED);
    let file = "stations/birch.toml";
    let before = std::str::from_utf8(folder.get(file).unwrap()).unwrap();
    let values = |pairs: &[(&str, &str)]| {
        pairs
            .iter()
            .map(|(key, value)| ((*key).to_owned(), (*value).to_owned()))
            .collect::<Vec<_>>()
    };
    let add = |file: &str, path: &str, name: Option<&str>, pairs: &[(&str, &str)]| Edit::Add {
        file: file.into(),
        path: key(path),
        name: name.map(str::to_owned),
        values: values(pairs),
    };
    let text = after(
        &folder,
        &add(
            file,
            "tracks",
            Some("team"),
            &[
                ("from", "s3"),
                ("to", "bumper"),
                ("length", "3 ft"),
                ("use", "team"),
            ],
        ),
    )
    .unwrap();
    let line = "team = { from = \"s3\", to = \"bumper\", length = \"3 ft\", use = \"team\" }\n";
    assert_eq!(
        text,
        before.replace(
            "use = \"siding\" }\n",
            &format!("use = \"siding\" }}\n{line}")
        )
    );
    let text = after(
        &folder,
        &Edit::Remove {
            file: file.into(),
            path: key("switches/s1"),
        },
    )
    .unwrap();
    let s1 = "s1 = { on = \"main\", at = \"1 ft\", points = \"W\", hand = \"left\", number = 6 }\n";
    assert_eq!(text, before.replace(s1, ""));
    let text = after(
        &folder,
        &add(
            "lines/main.toml",
            "open",
            None,
            &[("from", "Birch"), ("to", "Alder"), ("length", "9 ft")],
        ),
    )
    .unwrap();
    assert!(
        text.ends_with("\n\n[[open]]\nfrom = \"Birch\"\nto = \"Alder\"\nlength = \"9 ft\"\n"),
        "{text}"
    );
    let taken = after(&folder, &add(file, "tracks", Some("main"), &[]));
    assert_eq!(
        taken,
        Err("found `main`, expected a name that is not taken yet".into())
    );
}

#[test]
fn cells_and_rows_change_in_place() {
    let cars = "marks;number;aar;kind;length;built;note\r\nSMR;101;XM;boxcar;6 in;1928;\"red; old\"\r\n\r\nSMR;90;NE;caboose;5 in\r\n";
    let mut folder = fixture::folder("");
    folder.insert("cars.csv", cars);
    let cell = |row, column: &str, value: &str| Edit::SetCell {
        file: "cars.csv".into(),
        row,
        column: column.into(),
        value: value.into(),
    };
    let check = |edit: &Edit, old: &str, new: &str| {
        assert_eq!(after(&folder, edit).unwrap(), cars.replacen(old, new, 1));
    };
    check(&cell(0, "built", "1930"), "1928", "1930");
    check(&cell(0, "note", "blue"), "\"red; old\"", "blue");
    check(
        &cell(1, "note", "a;b"),
        "caboose;5 in",
        "caboose;5 in;;\"a;b\"",
    );
    let text = after(&folder, &cell(1, "weight", "4 oz")).unwrap();
    assert!(
        text.starts_with("marks;number;aar;kind;length;built;note;weight\r\n"),
        "{text}"
    );
    assert!(text.contains("caboose;5 in;;;4 oz\r\n"), "{text}");
    let row = [
        ("marks", "SMR"),
        ("number", "7"),
        ("kind", "flat"),
        ("length", "6 in"),
    ];
    let values = row
        .map(|(key, value)| (key.to_owned(), value.to_owned()))
        .to_vec();
    let add = Edit::AddRow {
        file: "cars.csv".into(),
        values,
    };
    assert_eq!(
        after(&folder, &add).unwrap(),
        format!("{cars}SMR;7;;flat;6 in;;\r\n")
    );
    let remove = Edit::RemoveRow {
        file: "cars.csv".into(),
        row: 0,
    };
    check(&remove, "SMR;101;XM;boxcar;6 in;1928;\"red; old\"\r\n", "");
    assert!(
        after(&folder, &cell(9, "built", "1930"))
            .unwrap_err()
            .contains("row 10")
    );
    assert!(
        after(&folder, &cell(0, "bilt", "1930"))
            .unwrap_err()
            .contains("the columns are")
    );
}

#[test]
fn an_edit_that_makes_the_folder_unreadable_is_refused() {
    let folder = fixture::folder(COMMENTED);
    let file = "stations/birch.toml";
    for (edit, expected) in [
        (set(file, "tracks/siding/length", "seven"), "length"),
        (
            set(file, "tracks/siding/use", "sidling"),
            "`use` cannot be `sidling`",
        ),
        (
            set(file, "switches/s1/number", "six"),
            "found `six`, expected a number",
        ),
        (
            set(file, "tracks/siding/lenght", "7 ft"),
            "may have from, to, length",
        ),
        (
            set(file, "tracks/ghost/length", "7 ft"),
            "nothing of the kind is written there",
        ),
        (
            set("stations/ghost.toml", "mile", "7"),
            "there is no file `stations/ghost.toml`",
        ),
        (
            Edit::Remove {
                file: file.into(),
                path: key("name"),
            },
            "this station has no `name`",
        ),
        (
            Edit::AddFile {
                file: "stations/x.toml".into(),
                text: "name = ".into(),
            },
            "this is not TOML",
        ),
        (
            Edit::AddFile {
                file: file.into(),
                text: String::new(),
            },
            "is there already",
        ),
    ] {
        let refusal = after(&folder, &edit).unwrap_err();
        assert!(refusal.contains(expected), "{refusal}");
    }
}

#[test]
fn a_proposal_says_what_would_be_worse_and_better() {
    let folder = fixture::folder("");
    let now = load(&folder);
    let edit = set("lines/main.toml", "open/0/to", "Brich");
    let proposal = propose(&folder, &now, &edit).unwrap();
    assert!(
        proposal
            .worse
            .iter()
            .any(|found| found.rule.code == "unknown-name")
    );
    let mut wrong = folder;
    wrong.insert("lines/main.toml", proposal.after.unwrap());
    let back = set("lines/main.toml", "open/0/to", "Birch");
    let proposal = propose(&wrong, &proposal.loaded, &back).unwrap();
    assert!(proposal.worse.is_empty() && proposal.better >= 1);
    assert_eq!(proposal.loaded.report(Look::Plain), now.report(Look::Plain));
}

#[test]
fn the_desk_writes_takes_back_and_refuses_to_write_over_others() {
    let dir = tempfile::tempdir().unwrap();
    for (path, bytes) in fixture::folder(COMMENTED).iter() {
        let file = dir.path().join(path);
        std::fs::create_dir_all(file.parent().unwrap()).unwrap();
        std::fs::write(file, bytes).unwrap();
    }
    let file = "stations/birch.toml";
    let on_disk = || std::fs::read_to_string(dir.path().join(file)).unwrap();
    let original = on_disk();
    let mut desk = Desk::open(dir.path()).unwrap();
    assert_eq!(desk.undo().unwrap(), None);
    for (path, value) in [("mile", "5"), ("tracks/siding/length", "8 ft")] {
        let proposal = desk.propose(&set(file, path, value)).unwrap();
        desk.make(proposal).unwrap();
    }
    let edited = on_disk();
    assert!(edited.contains("mile = 5\n") && edited.contains("\"8 ft\""));
    assert_eq!(desk.undo().unwrap().as_deref(), Some(file));
    assert_eq!(desk.undo().unwrap().as_deref(), Some(file));
    assert_eq!(on_disk(), original);
    desk.redo().unwrap();
    desk.redo().unwrap();
    assert_eq!(on_disk(), edited);
    let new = Edit::AddFile {
        file: "people.csv".into(),
        text: "name\nIda\n".into(),
    };
    let proposal = desk.propose(&new).unwrap();
    desk.make(proposal).unwrap();
    assert!(dir.path().join("people.csv").exists());
    desk.undo().unwrap();
    assert!(!dir.path().join("people.csv").exists());

    let proposal = desk.propose(&set(file, "mile", "6")).unwrap();
    std::fs::write(dir.path().join(file), &original).unwrap();
    assert!(matches!(
        desk.make(proposal),
        Err(DeskError::ChangedOutside { .. })
    ));
    assert_eq!(on_disk(), original);
    assert!(matches!(desk.undo(), Err(DeskError::ChangedOutside { .. })));
    desk.reload().unwrap();
    let proposal = desk.propose(&set(file, "mile", "6")).unwrap();
    desk.make(proposal).unwrap();
    assert!(on_disk().contains("mile = 6\n"));
    // No half-written file is left beside the whole one.
    let names: Vec<_> = std::fs::read_dir(dir.path().join("stations"))
        .unwrap()
        .collect();
    assert_eq!(names.len(), 2);
}

#[test]
fn several_changes_of_a_file_are_one() {
    let folder = fixture::folder(COMMENTED);
    let file = "stations/birch.toml";
    let together = |edits: Vec<Edit>| Edit::Together {
        file: file.into(),
        edits,
    };
    let switch = Edit::Add {
        file: file.into(),
        path: key("switches"),
        name: Some("s9".into()),
        values: [
            ("on", "main"),
            ("at", "6 ft"),
            ("points", "W"),
            ("hand", "right"),
        ]
        .map(|(key, value)| (key.to_owned(), value.to_owned()))
        .to_vec(),
    };
    let track = Edit::Add {
        file: file.into(),
        path: key("tracks"),
        name: Some("coal".into()),
        values: [
            ("from", "s9"),
            ("to", "bumper"),
            ("length", "3 ft"),
            ("use", "spur"),
        ]
        .map(|(key, value)| (key.to_owned(), value.to_owned()))
        .to_vec(),
    };
    let text = after(&folder, &together(vec![switch.clone(), track])).unwrap();
    assert!(
        text.contains("s9 = {") && text.contains("coal = {"),
        "{text}"
    );
    // One that cannot be made stops them all, and says which it is.
    let wrong = together(vec![switch, set(file, "mile", "far")]);
    let now = load(&folder);
    match propose(&folder, &now, &wrong) {
        Err(Refusal::Among { at: 1, why }) => {
            assert!(why.to_string().contains("found `far`"), "{why}");
        }
        other => panic!("{other:?}"),
    }
    // A desk without a disk makes them and takes them back as one.
    let mut desk = Desk::in_memory(folder.clone());
    let proposal = desk
        .propose(&together(vec![
            set(file, "mile", "5"),
            set(file, "tracks/siding/length", "8 ft"),
        ]))
        .unwrap();
    desk.make(proposal).unwrap();
    assert_eq!(desk.last_done(), Some(file));
    assert_ne!(desk.folder(), &folder);
    desk.undo().unwrap();
    assert_eq!(desk.folder(), &folder);
    assert_eq!((desk.last_done(), desk.last_undone()), (None, Some(file)));
}

#[test]
fn rows_pasted_together_start_a_table_that_is_not_there() {
    let mut folder = fixture::folder("");
    folder.remove("people.csv");
    let row = |name: &str| Edit::AddRow {
        file: "people.csv".into(),
        values: vec![("name".into(), name.into())],
    };
    let edit = Edit::Together {
        file: "people.csv".into(),
        edits: vec![row("Ida"), row("Joss")],
    };
    assert_eq!(after(&folder, &edit).unwrap(), "name\nIda\nJoss\n");
}
