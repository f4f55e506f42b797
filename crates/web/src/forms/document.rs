//! A file of the folder as its form sees it: values as written, and where.

use model::{
    Diagnostics, Sources, Span,
    text::{Entry, Form, Kind, Node, NodeValue, Page, csv, read::column_key, toml},
};
use railroad::edit::{Step, page_of};

/// A file and its declaration.
#[derive(Debug)]
pub struct Document {
    /// The file's path in the folder.
    pub file: String,
    /// What it may hold.
    pub page: &'static Page,
    /// What it holds; the rows of a table as a list.
    pub root: Node,
    sources: Sources,
}

impl Document {
    /// The document of a file, if it is a page of the folder.
    pub fn open(file: &str, bytes: &[u8]) -> Option<Self> {
        let page = page_of(file)?;
        let mut sources = Sources::default();
        let id = sources.add(file, bytes);
        let root = match page.form {
            Form::Toml => toml::parse(&sources, id, &mut Diagnostics::default()),
            Form::Csv => {
                let sheet = csv::parse(&sources, id, &mut Diagnostics::default());
                let rows = sheet.rows.iter().map(|row| row_node(&sheet, row)).collect();
                Node {
                    value: NodeValue::List(rows),
                    span: Span::new(id, 0..bytes.len()),
                }
            }
        };
        Some(Self {
            file: file.to_owned(),
            page,
            root,
            sources,
        })
    }

    /// What stands at a path.
    pub fn at(&self, path: &[Step]) -> Option<&Node> {
        path.iter()
            .try_fold(&self.root, |node, step| match (&node.value, step) {
                (NodeValue::Table(entries), Step::Key(key)) => entries
                    .iter()
                    .find(|entry| entry.key.value == *key)
                    .map(|entry| &entry.node),
                (NodeValue::List(items), Step::At(at)) => items.get(*at),
                _ => None,
            })
    }

    /// What stands at a path as its owner would type it; the items of a list a line each.
    pub fn text(&self, path: &[Step]) -> Option<String> {
        self.at(path).map(|node| self.typed(node))
    }

    fn typed(&self, node: &Node) -> String {
        match &node.value {
            NodeValue::Text(text) | NodeValue::Date(text) => text.clone(),
            NodeValue::Flag(flag) => flag.to_string(),
            NodeValue::Whole(number) => number.to_string(),
            NodeValue::Number(_) => self.sources.text(node.span).to_owned(),
            NodeValue::List(items) => items
                .iter()
                .map(|item| self.typed(item))
                .collect::<Vec<_>>()
                .join("\n"),
            NodeValue::Table(_) => String::new(),
        }
    }

    /// The names under a table, in the order written.
    pub fn names(&self, path: &[Step]) -> Vec<&str> {
        match self.at(path).map(|node| &node.value) {
            Some(NodeValue::Table(entries)) => entries
                .iter()
                .map(|entry| entry.key.value.as_str())
                .collect(),
            _ => Vec::new(),
        }
    }

    /// How many items a list has.
    pub fn count(&self, path: &[Step]) -> usize {
        match self.at(path).map(|node| &node.value) {
            Some(NodeValue::List(items)) => items.len(),
            _ => 0,
        }
    }

    /// What may stand at a path, by the declaration.
    pub fn kind(&self, path: &[Step]) -> Option<Kind> {
        let top = match self.page.form {
            Form::Toml => Kind::Table(self.page.table),
            Form::Csv => Kind::Tables(self.page.table),
        };
        path.iter().try_fold(top, |kind, step| match (kind, step) {
            (Kind::Table(table), Step::Key(key)) => table
                .fields
                .iter()
                .find(|field| field.key == key)
                .map(|field| field.kind),
            (Kind::Named(_, table), Step::Key(_)) | (Kind::Tables(table), Step::At(_)) => {
                Some(Kind::Table(table))
            }
            (Kind::Map(kind), Step::Key(_)) | (Kind::List(kind), Step::At(_)) => Some(*kind),
            (Kind::Row(cells), Step::At(at)) => cells.get(*at).map(|(_, kind)| *kind),
            _ => None,
        })
    }

    /// A path from its text: what is a name and what a place in a list follows from the declaration.
    pub fn path(&self, text: &str) -> Option<Vec<Step>> {
        let mut path = Vec::new();
        for part in text.split('/').filter(|part| !part.is_empty()) {
            let part = part.replace("%2F", "/").replace("%25", "%");
            let step = match self.kind(&path)? {
                Kind::Tables(_) | Kind::List(_) | Kind::Row(_) => Step::At(part.parse().ok()?),
                _ => Step::Key(part),
            };
            path.push(step);
        }
        Some(path)
    }

    /// The path of the smallest thing that is written around a place of the file.
    pub fn path_at(&self, offset: usize) -> Vec<Step> {
        let mut best = (usize::MAX, Vec::new());
        let mut here = Vec::new();
        match (&self.root.value, self.page.form) {
            // Rows stand one after the other: only one can hold the place.
            (NodeValue::List(rows), Form::Csv) => {
                let row = rows.partition_point(|row| row.span.range().end < offset);
                if let Some(node) = rows.get(row) {
                    here.push(Step::At(row));
                    smallest(node, offset, &mut here, &mut best);
                }
            }
            _ => smallest(&self.root, offset, &mut here, &mut best),
        }
        best.1
    }
}

/// A path as a text: `tracks/siding/length`.
pub fn path_text(path: &[Step]) -> String {
    let parts: Vec<String> = path
        .iter()
        .map(|step| match step {
            Step::Key(key) => key.replace('%', "%25").replace('/', "%2F"),
            Step::At(at) => at.to_string(),
        })
        .collect();
    parts.join("/")
}

/// A path and one step more.
pub fn step(path: &[Step], key: &str) -> Vec<Step> {
    let mut path = path.to_vec();
    path.push(Step::Key(key.to_owned()));
    path
}

/// A path and one place of a list more.
pub fn place(path: &[Step], at: usize) -> Vec<Step> {
    let mut path = path.to_vec();
    path.push(Step::At(at));
    path
}

fn smallest(node: &Node, offset: usize, here: &mut Vec<Step>, best: &mut (usize, Vec<Step>)) {
    let mut note = |span: Span, here: &[Step]| {
        let range = span.range();
        if (range.start..=range.end).contains(&offset) && range.len() < best.0 {
            *best = (range.len(), here.to_vec());
        }
    };
    note(node.span, here);
    if let NodeValue::Table(entries) = &node.value {
        for entry in entries {
            here.push(Step::Key(entry.key.value.clone()));
            note(entry.key.span, here);
            here.pop();
        }
    }
    match &node.value {
        NodeValue::Table(entries) => {
            for entry in entries {
                here.push(Step::Key(entry.key.value.clone()));
                smallest(&entry.node, offset, here, best);
                here.pop();
            }
        }
        NodeValue::List(items) => {
            for (at, item) in items.iter().enumerate() {
                here.push(Step::At(at));
                smallest(item, offset, here, best);
                here.pop();
            }
        }
        _ => {}
    }
}

/// A row of a table with its columns by their keys, as the declaration names them.
fn row_node(sheet: &csv::Sheet, row: &[model::Spanned<String>]) -> Node {
    let entries = sheet
        .header
        .iter()
        .zip(row)
        .map(|(head, cell)| Entry {
            key: model::Spanned {
                value: column_key(&head.value),
                span: cell.span,
            },
            node: Node {
                value: NodeValue::Text(cell.value.clone()),
                span: cell.span,
            },
        })
        .collect();
    Node {
        value: NodeValue::Table(entries),
        span: csv::row_span(row),
    }
}

#[cfg(test)]
mod tests {
    use railroad::Folder;

    use super::*;

    fn open(file: &str) -> Document {
        let folder = Folder::built_in("example").unwrap();
        Document::open(file, folder.get(file).unwrap()).unwrap()
    }

    #[test]
    fn values_are_found_by_path_and_paths_by_place() {
        let document = open("stations/sandrill.toml");
        let path = document.path("tracks/transfer 1/length").unwrap();
        assert_eq!(document.text(&path).as_deref(), Some("6 ft"));
        let span = document.at(&path).unwrap().span;
        assert_eq!(document.path_at(span.range().start + 1), path);
        assert_eq!(
            document
                .text(&document.path("tracks/mill/spots").unwrap())
                .unwrap(),
            "flour door 1\nflour door 2"
        );
        assert_eq!(document.path("nonsense/x"), None);
        // A train by number is a name, not a place in a list.
        let trains = open("trains.toml");
        assert_eq!(
            trains.path("trains/2/stops/1/station").unwrap(),
            [
                Step::Key("trains".into()),
                Step::Key("2".into()),
                Step::Key("stops".into()),
                Step::At(1),
                Step::Key("station".into()),
            ]
        );
    }

    #[test]
    fn cells_are_found_by_row_and_column() {
        let document = open("cars.csv");
        let path = document.path("2/kind").unwrap();
        assert_eq!(document.text(&path).as_deref(), Some("boxcar"));
        let span = document.at(&path).unwrap().span;
        assert_eq!(document.path_at(span.range().start), path);
    }

    #[test]
    fn paths_survive_being_written() {
        let path = vec![Step::Key("a/b%".into()), Step::Key("c".into())];
        assert_eq!(path_text(&path), "a%2Fb%25/c");
    }
}
