//! Edits of TOML text that leave the rest of it byte for byte as it was.

use model::text::{Kind, Page, Table as Declared};
use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table, TableLike, Value};

use super::{Refusal, Step, kind_at, show};

pub(super) fn set(
    page: &Page,
    file: &str,
    bytes: &[u8],
    path: &[Step],
    value: &str,
) -> Result<Vec<u8>, Refusal> {
    let kind = kind_at(page.table, file, path)?;
    let new = to_value(&kind, value)?;
    change(file, bytes, |document| {
        let (last, parents) = path.split_last().ok_or_else(|| no_place(file, path))?;
        let parent = walk(document, file, path, parents.len())?;
        match last {
            Step::Key(key) => {
                let table = parent
                    .as_table_like_mut()
                    .ok_or_else(|| no_place(file, path))?;
                match table.get_mut(key) {
                    Some(Item::Value(old)) => replace(old, new),
                    Some(_) => return Err(no_place(file, path)),
                    None => insert(table, key, new),
                }
            }
            Step::At(at) => {
                let array = parent.as_array_mut().ok_or_else(|| no_place(file, path))?;
                let old = array.get_mut(*at).ok_or_else(|| no_place(file, path))?;
                replace(old, new);
            }
        }
        Ok(())
    })
}

pub(super) fn remove(file: &str, bytes: &[u8], path: &[Step]) -> Result<Vec<u8>, Refusal> {
    change(file, bytes, |document| {
        let (last, parents) = path.split_last().ok_or_else(|| no_place(file, path))?;
        let parent = walk(document, file, path, parents.len())?;
        let removed = match (last, parent) {
            (Step::Key(key), parent) => parent
                .as_table_like_mut()
                .is_some_and(|table| table.remove(key).is_some()),
            (Step::At(at), Item::ArrayOfTables(tables)) if *at < tables.len() => {
                tables.remove(*at);
                true
            }
            (Step::At(at), Item::Value(Value::Array(array))) if *at < array.len() => {
                array.remove(*at);
                true
            }
            _ => false,
        };
        if removed {
            Ok(())
        } else {
            Err(no_place(file, path))
        }
    })
}

pub(super) fn add(
    page: &Page,
    file: &str,
    bytes: &[u8],
    path: &[Step],
    name: Option<&str>,
    values: &[(String, String)],
) -> Result<Vec<u8>, Refusal> {
    let kind = kind_at(page.table, file, path)?;
    let declared = match (kind, name) {
        (Kind::Named(_, table), Some(_)) | (Kind::Tables(table), None) => table,
        (kind, _) => {
            return Err(Refusal::NoPlace {
                file: file.to_owned(),
                place: show(path),
                help: format!("there stands {}", kind.expected()),
            });
        }
    };
    let mut pairs = Vec::new();
    for (key, text) in values {
        let kind = kind_at(declared, file, &[Step::Key(key.clone())])?;
        pairs.push((key.as_str(), to_value(&kind, text)?));
    }
    change(file, bytes, |document| {
        let (last, parents) = path.split_last().ok_or_else(|| no_place(file, path))?;
        let Step::Key(key) = last else {
            return Err(no_place(file, path));
        };
        let parent = walk(document, file, path, parents.len())?
            .as_table_like_mut()
            .ok_or_else(|| no_place(file, path))?;
        match name {
            Some(name) => {
                if parent.get(key).is_none() {
                    parent.insert(key, Item::Table(Table::new()));
                }
                let holder = parent.get_mut(key).ok_or_else(|| no_place(file, path))?;
                let table = holder
                    .as_table_like_mut()
                    .ok_or_else(|| no_place(file, path))?;
                if table.contains_key(name) {
                    return Err(Refusal::NoValue {
                        value: name.to_owned(),
                        expected: "a name that is not taken yet".into(),
                    });
                }
                // As its neighbours are written; short records on one line.
                let in_full = match table.iter().last() {
                    Some((_, neighbour)) => neighbour.is_table(),
                    None => !fits_a_line(declared),
                };
                let item = if in_full {
                    full(pairs)
                } else {
                    one_line(pairs)
                };
                table.insert(name, item);
            }
            None => match parent.get_mut(key) {
                None => {
                    let mut tables = ArrayOfTables::new();
                    tables.push(table_of(pairs));
                    parent.insert(key, Item::ArrayOfTables(tables));
                }
                Some(Item::ArrayOfTables(tables)) => tables.push(table_of(pairs)),
                Some(Item::Value(Value::Array(array))) => {
                    let mut items: Vec<Value> = array.iter().cloned().collect();
                    if let Item::Value(new) = one_line(pairs) {
                        items.push(new);
                    }
                    let laid = laid_out(items.into_iter().collect(), array);
                    *array = laid;
                }
                Some(_) => return Err(no_place(file, path)),
            },
        }
        Ok(())
    })
}

fn change(
    file: &str,
    bytes: &[u8],
    edit: impl FnOnce(&mut DocumentMut) -> Result<(), Refusal>,
) -> Result<Vec<u8>, Refusal> {
    let not_toml = |message: String| Refusal::NotToml {
        file: file.to_owned(),
        message,
    };
    let text = std::str::from_utf8(bytes).map_err(|error| not_toml(error.to_string()))?;
    let (mark, text) = match text.strip_prefix('\u{feff}') {
        Some(rest) => ("\u{feff}", rest),
        None => ("", text),
    };
    // The editing library writes bare line feeds; give a file back the line ends it came with.
    let returns = text.contains("\r\n");
    let plain = if returns {
        text.replace("\r\n", "\n")
    } else {
        text.to_owned()
    };
    let mut document: DocumentMut = plain
        .parse()
        .map_err(|error: toml_edit::TomlError| not_toml(error.message().to_owned()))?;
    edit(&mut document)?;
    let mut text = document.to_string();
    if returns {
        text = text.replace('\n', "\r\n");
    }
    Ok(format!("{mark}{text}").into_bytes())
}

fn walk<'a>(
    document: &'a mut DocumentMut,
    file: &str,
    path: &[Step],
    depth: usize,
) -> Result<&'a mut Item, Refusal> {
    let mut item = document.as_item_mut();
    for (at, step) in path[..depth].iter().enumerate() {
        let next = match step {
            Step::Key(key) => item
                .as_table_like_mut()
                .and_then(|table| table.get_mut(key)),
            Step::At(index) => item.get_mut(*index),
        };
        item = next.ok_or_else(|| no_place(file, &path[..=at]))?;
    }
    Ok(item)
}

fn no_place(file: &str, path: &[Step]) -> Refusal {
    Refusal::NoPlace {
        file: file.to_owned(),
        place: show(path),
        help: "nothing of the kind is written there".into(),
    }
}

/// Puts a value in another's place with the blanks and comments around it.
fn replace(old: &mut Value, new: Value) {
    let decor = old.decor().clone();
    let new = match (new, &*old) {
        (Value::Array(items), Value::Array(before)) => Value::Array(laid_out(items, before)),
        (new, _) => new,
    };
    // The same value in another spelling (`1_000`, `'single'`) stays as it was written.
    if !same(&new, old) {
        *old = new;
        *old.decor_mut() = decor;
    }
}

/// Whether two values say the same to the reader, which takes `1915` and `"1915"` for one year.
fn same(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Array(a), Value::Array(b)) => {
            a.len() == b.len() && a.iter().zip(b.iter()).all(|(a, b)| same(a, b))
        }
        // A list of one may stand without brackets.
        (Value::Array(a), b) if a.len() == 1 && plain(b).is_some() => {
            a.get(0).is_some_and(|a| same(a, b))
        }
        _ => match (plain(a), plain(b)) {
            (Some(a), Some(b)) => a == b,
            _ => false,
        },
    }
}

fn plain(value: &Value) -> Option<String> {
    match value {
        Value::String(text) => Some(text.value().clone()),
        Value::Integer(number) => Some(number.value().to_string()),
        Value::Float(number) => Some(number.value().to_string()),
        Value::Boolean(flag) => Some(flag.value().to_string()),
        Value::Datetime(date) => Some(date.value().to_string()),
        Value::Array(_) | Value::InlineTable(_) => None,
    }
}

/// Items laid out as the list they replace was: line for line, with its comments and its last comma.
fn laid_out(mut items: Array, like: &Array) -> Array {
    let last = like.iter().last();
    for (at, item) in items.iter_mut().enumerate() {
        if let Some(old) = like.get(at) {
            *item.decor_mut() = old.decor().clone();
        } else if let Some(last) = last {
            // A comment behind an item stands before the next one: only the line break and the
            // indent are copied.
            let before = last
                .decor()
                .prefix()
                .and_then(|prefix| prefix.as_str())
                .unwrap_or("");
            let indent = before.rfind('\n').map_or(" ", |at| &before[at..]);
            item.decor_mut().set_prefix(indent);
        }
    }
    items.set_trailing(like.trailing().clone());
    items.set_trailing_comma(like.trailing_comma());
    items
}

/// Adds a key. In a table on one line the blank before the brace stays before the brace.
fn insert(table: &mut dyn TableLike, key: &str, mut new: Value) {
    let last = table
        .iter_mut()
        .last()
        .and_then(|(_, item)| item.as_value_mut());
    if let Some(last) = last {
        let suffix = last
            .decor()
            .suffix()
            .and_then(|suffix| suffix.as_str())
            .map(str::to_owned);
        if let Some(blank) = suffix.filter(|suffix| !suffix.is_empty() && suffix.trim().is_empty())
        {
            last.decor_mut().set_suffix("");
            new.decor_mut().set_prefix(" ");
            new.decor_mut().set_suffix(blank);
        }
    }
    table.insert(key, Item::Value(new));
}

fn fits_a_line(table: &Declared) -> bool {
    table.fields.iter().all(|field| {
        !matches!(
            field.kind,
            Kind::Table(_) | Kind::Named(..) | Kind::Tables(_)
        )
    }) && table.fields.len() <= 16
}

fn one_line(pairs: Vec<(&str, Value)>) -> Item {
    let mut table = InlineTable::new();
    for (key, value) in pairs {
        table.insert(key, value);
    }
    Item::Value(Value::InlineTable(table))
}

fn full(pairs: Vec<(&str, Value)>) -> Item {
    Item::Table(table_of(pairs))
}

fn table_of(pairs: Vec<(&str, Value)>) -> Table {
    let mut table = Table::new();
    // A blank line parts it from what stands before.
    table.decor_mut().set_prefix("\n");
    for (key, value) in pairs {
        table.insert(key, Item::Value(value));
    }
    table
}

/// What an owner types, as TOML of the right kind.
fn to_value(kind: &Kind, text: &str) -> Result<Value, Refusal> {
    let wrong = || Refusal::NoValue {
        value: text.to_owned(),
        expected: kind.expected(),
    };
    let plain = text.trim();
    Ok(match kind {
        Kind::Flag => match plain.to_ascii_lowercase().as_str() {
            "true" | "yes" => true.into(),
            "false" | "no" => false.into(),
            _ => return Err(wrong()),
        },
        Kind::Whole(..) => plain
            .replace(',', "")
            .parse::<i64>()
            .map_err(|_| wrong())?
            .into(),
        Kind::Number(..) => match plain.replace(',', "") {
            number if number.parse::<i64>().is_ok() => {
                number.parse::<i64>().map_err(|_| wrong())?.into()
            }
            number => {
                let number = number.parse::<f64>().map_err(|_| wrong())?;
                if !number.is_finite() {
                    return Err(wrong());
                }
                number.into()
            }
        },
        Kind::Date => match plain.parse::<toml_edit::Datetime>() {
            Ok(date) if date.time.is_none() => date.into(),
            _ => plain.into(),
        },
        Kind::List(inner) => {
            let mut items = Array::new();
            for line in text.lines().filter(|line| !line.trim().is_empty()) {
                items.push(to_value(inner, line)?);
            }
            Value::Array(items)
        }
        Kind::Row(cells) => {
            let lines: Vec<&str> = text
                .lines()
                .filter(|line| !line.trim().is_empty())
                .collect();
            if lines.len() != cells.len() {
                return Err(wrong());
            }
            let mut items = Array::new();
            for ((_, kind), line) in cells.iter().zip(lines) {
                items.push(to_value(kind, line)?);
            }
            Value::Array(items)
        }
        Kind::Table(_) | Kind::Named(..) | Kind::Tables(_) | Kind::Map(_) => return Err(wrong()),
        _ => plain.into(),
    })
}
