//! The example railroad many times over, side by side: each copy with stations, trains, engines, cars and
//! shippers of its own.

use railroad::Folder;

/// A folder of so many copies.
pub fn copies(count: usize) -> Folder {
    let one = Folder::built_in("example").unwrap_or_default();
    let text = |path: &str| {
        one.get(path)
            .map(|bytes| String::from_utf8_lossy(bytes).into_owned())
            .unwrap_or_default()
    };
    let mut names: Vec<String> = one
        .iter()
        .filter(|(path, _)| path.starts_with("stations/") || path.starts_with("lines/"))
        .filter_map(|(path, _)| {
            let page = text(path);
            let line = page.lines().find(|line| line.starts_with("name = "))?;
            Some(line.split('"').nth(1)?.to_owned())
        })
        .collect();
    // Longer names first, so that none is taken for part of another.
    names.sort_by_key(|name| std::cmp::Reverse(name.len()));
    let rename = |text: &str, copy: usize| {
        let mut text = text.to_owned();
        for (at, name) in names.iter().enumerate() {
            text = text.replace(name.as_str(), &format!("\u{1}{at}\u{2}"));
        }
        for (at, name) in names.iter().enumerate() {
            text = text.replace(&format!("\u{1}{at}\u{2}"), &format!("{name} {copy}"));
        }
        text
    };
    let mut all = Folder::default();
    for path in ["railroad.toml", "tonnage.toml", "test-pulls.csv"] {
        if let Some(bytes) = one.get(path) {
            all.insert(path, bytes.to_vec());
        }
    }
    let mut tables = [String::new(), String::new(), String::new(), String::new()];
    for copy in 0..count {
        for (path, _) in one.iter() {
            if path.starts_with("stations/") || path.starts_with("lines/") {
                let (stem, end) = path.rsplit_once('.').unwrap_or((path, "toml"));
                all.insert(format!("{stem}-{copy}.{end}"), rename(&text(path), copy));
            }
        }
        tables[0].push_str(&trains(&rename(&text("trains.toml"), copy), copy));
        for (at, (path, column)) in [
            ("cars.csv", Some("number")),
            ("engines.csv", Some("number")),
            ("shippers.csv", None),
        ]
        .into_iter()
        .enumerate()
        {
            let page = rename(&text(path), copy);
            tables[at + 1].push_str(&rows(&page, column, copy, copy == 0));
        }
    }
    let [trains, cars, engines, shippers] = tables;
    all.insert("trains.toml", trains);
    all.insert("cars.csv", cars);
    all.insert("engines.csv", engines);
    all.insert("shippers.csv", shippers);
    all
}

/// Trains under symbols of their own, without jobs.
fn trains(page: &str, copy: usize) -> String {
    let mut out = String::new();
    for line in page.lines() {
        if line.starts_with("job = ") || line.starts_with("meets = ") {
            continue;
        }
        let line = match line.strip_prefix("[trains.") {
            Some(rest) => format!("[trains.\"{}-{copy}\"]", rest.trim_end_matches(']')),
            None if line.starts_with("engines = ") || line.starts_with("helper = ") => {
                numbered(line, copy)
            }
            None => line.to_owned(),
        };
        out.push_str(&line);
        out.push('\n');
    }
    out
}

/// Engine numbers of a line of a train.
fn numbered(line: &str, copy: usize) -> String {
    let mut out = String::new();
    for (at, part) in line.split('"').enumerate() {
        if at > 0 {
            out.push('"');
        }
        out.push_str(part);
        let is_number = at % 2 == 1 && part.len() <= 4 && part.chars().any(|c| c.is_ascii_digit());
        if is_number {
            out.push_str(&format!("-{copy}"));
        }
    }
    out
}

/// Rows of a table, a column numbered anew; with or without the header.
fn rows(page: &str, column: Option<&str>, copy: usize, header: bool) -> String {
    let mut lines = page.lines();
    let head = lines.next().unwrap_or_default();
    let at = column.and_then(|column| head.split(',').position(|key| key == column));
    let mut out = String::new();
    if header {
        out.push_str(head);
        out.push('\n');
    }
    for line in lines {
        let cells: Vec<String> = line
            .split(',')
            .enumerate()
            .map(|(cell, text)| {
                if Some(cell) != at {
                    text.to_owned()
                } else if column == Some("number")
                    && text.chars().all(|c| c.is_ascii_digit())
                    && text.len() > 3
                {
                    format!("{copy}{text}")
                } else {
                    format!("{text}-{copy}")
                }
            })
            .collect();
        out.push_str(&cells.join(","));
        out.push('\n');
    }
    out
}
