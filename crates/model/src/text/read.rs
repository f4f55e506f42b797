//! A tree read by a page's declaration: typed records, and a diagnostic for all that does not fit.

use super::{
    csv::{self, Sheet},
    names::Names,
    rules::{
        csv_extra_cells, csv_no_header, csv_repeated_column, empty_value, missing_key,
        missing_value, not_utf8, number_out_of_range, unknown_column, unknown_key, unknown_word,
        unreadable_value, wrong_kind,
    },
    schema::{Field, Form, Kind, Need, Page, Table},
    toml,
    tree::{Entry, Node, NodeValue},
};
use crate::{
    Diagnostics, FileId, Sources, Span, Spanned,
    date::{Date, PartialDate},
    days::Days,
    scale::Scale,
    source::Encoding,
    time::{RailSpan, RailTime},
    units::{Actual, CurveText, Grade, Prototype, Speed, Weight},
};

/// A value that fits its [`Kind`].
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A text, a name or a reference.
    Text(String),
    /// Yes or no.
    Flag(bool),
    /// A whole number within its bounds.
    Whole(i64),
    /// A number within its bounds.
    Number(f64),
    /// A length on the model.
    Length(Actual),
    /// A full-size length.
    FullSize(Prototype),
    /// A radius on the model.
    Radius(Actual),
    /// A speed.
    Speed(Speed),
    /// A grade.
    Grade(Grade),
    /// A weight, on the model or full-size as the field says.
    Weight(Weight),
    /// A time of day.
    Time(RailTime),
    /// A length of time.
    Duration(RailSpan),
    /// A day.
    Date(Date),
    /// A day, month or year.
    PartialDate(PartialDate),
    /// Days of the week.
    Days(Days),
    /// One of the words of a [`Kind::OneOf`].
    Word(&'static str),
    /// A list, or the cells of a [`Kind::Row`].
    List(Vec<Spanned<Value>>),
    /// A table.
    Table(Record),
    /// Values by name, in the order written.
    Map(Vec<(Spanned<String>, Spanned<Value>)>),
    /// Tables by name, in the order written.
    Named(Vec<(Spanned<String>, Record)>),
    /// A list of tables.
    Tables(Vec<Record>),
}

/// A table that has been read: what fitted, in the order of the declaration.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// Where it stands: a row, or from its first key to its last.
    pub span: Span,
    table: TableRef,
    values: Vec<Option<Spanned<Value>>>,
    written: Vec<bool>,
}

/// Compared by address: declarations are statics.
#[derive(Debug, Clone, Copy)]
struct TableRef(&'static Table);

impl PartialEq for TableRef {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self.0, other.0)
    }
}

macro_rules! accessors {
    ($($(#[$meta:meta])* $name:ident: $variant:ident => $type:ty;)*) => {
        $($(#[$meta])*
        pub fn $name(&self, key: &str) -> Option<Spanned<$type>> {
            match self.get(key)? {
                Spanned { value: Value::$variant(value), span } => {
                    Some(Spanned { value: value.clone(), span: *span })
                }
                other => unreachable!("`{key}` of a {} is {other:?}", self.table.0.noun),
            }
        })*
    };
}

impl Record {
    /// The value of a key, if it was written and fits, or has a default.
    ///
    /// # Panics
    /// If the declaration has no such key: a mistake in the program, not in the railroad.
    pub fn get(&self, key: &str) -> Option<&Spanned<Value>> {
        self.values[self.index(key)].as_ref()
    }

    /// Whether the owner wrote the key, rightly or wrongly.
    pub fn written(&self, key: &str) -> bool {
        self.written[self.index(key)]
    }

    fn index(&self, key: &str) -> usize {
        let fields = self.table.0.fields;
        fields
            .iter()
            .position(|field| field.key == key)
            .unwrap_or_else(|| panic!("a {} has no key `{key}`", self.table.0.noun))
    }

    /// A text, name or reference.
    pub fn text(&self, key: &str) -> Option<Spanned<&str>> {
        match self.get(key)? {
            Spanned {
                value: Value::Text(text),
                span,
            } => Some(Spanned {
                value: text.as_str(),
                span: *span,
            }),
            other => unreachable!("`{key}` of a {} is {other:?}", self.table.0.noun),
        }
    }

    accessors! {
        /// A flag.
        flag: Flag => bool;
        /// A whole number.
        whole: Whole => i64;
        /// A number.
        number: Number => f64;
        /// A length on the model.
        length: Length => Actual;
        /// A full-size length.
        full_size: FullSize => Prototype;
        /// A radius on the model.
        radius: Radius => Actual;
        /// A speed.
        speed: Speed => Speed;
        /// A grade.
        grade: Grade => Grade;
        /// A weight.
        weight: Weight => Weight;
        /// A time of day.
        time: Time => RailTime;
        /// A length of time.
        duration: Duration => RailSpan;
        /// A day.
        date: Date => Date;
        /// A day, month or year.
        partial_date: PartialDate => PartialDate;
        /// Days of the week.
        days: Days => Days;
        /// One of a closed list of words.
        word: Word => &'static str;
    }

    /// The items of a list or row; none if it is not there.
    pub fn list(&self, key: &str) -> &[Spanned<Value>] {
        match self.get(key) {
            Some(Spanned {
                value: Value::List(items),
                ..
            }) => items,
            None => &[],
            other => unreachable!("`{key}` of a {} is {other:?}", self.table.0.noun),
        }
    }

    /// The texts of a list.
    pub fn texts(&self, key: &str) -> Vec<Spanned<&str>> {
        self.list(key)
            .iter()
            .filter_map(|item| match &item.value {
                Value::Text(text) => Some(Spanned {
                    value: text.as_str(),
                    span: item.span,
                }),
                _ => None,
            })
            .collect()
    }

    /// A table within this one.
    pub fn table(&self, key: &str) -> Option<&Record> {
        match self.get(key)? {
            Spanned {
                value: Value::Table(record),
                ..
            } => Some(record),
            other => unreachable!("`{key}` of a {} is {other:?}", self.table.0.noun),
        }
    }

    /// Values by name, in the order written; none if the key is not there.
    pub fn map(&self, key: &str) -> &[(Spanned<String>, Spanned<Value>)] {
        match self.get(key) {
            Some(Spanned {
                value: Value::Map(values),
                ..
            }) => values,
            None => &[],
            other => unreachable!("`{key}` of a {} is {other:?}", self.table.0.noun),
        }
    }

    /// Tables by name, in the order written; none if the key is not there.
    pub fn named(&self, key: &str) -> &[(Spanned<String>, Record)] {
        match self.get(key) {
            Some(Spanned {
                value: Value::Named(records),
                ..
            }) => records,
            None => &[],
            other => unreachable!("`{key}` of a {} is {other:?}", self.table.0.noun),
        }
    }

    /// A list of tables; none if the key is not there.
    pub fn tables(&self, key: &str) -> &[Record] {
        match self.get(key) {
            Some(Spanned {
                value: Value::Tables(records),
                ..
            }) => records,
            None => &[],
            other => unreachable!("`{key}` of a {} is {other:?}", self.table.0.noun),
        }
    }
}

/// Reads pages; collects names and diagnostics on the way.
#[derive(Debug)]
pub struct Reader<'a> {
    /// The files.
    pub sources: &'a Sources,
    /// Names declared and referred to so far.
    pub names: Names,
    /// What was found wrong so far.
    pub out: Diagnostics,
    /// The railroad's scale: scale feet and degrees of curve need it.
    pub scale: Scale,
}

impl<'a> Reader<'a> {
    /// A reader that has read nothing yet.
    pub fn new(sources: &'a Sources, scale: Scale) -> Self {
        Self {
            sources,
            names: Names::default(),
            out: Diagnostics::default(),
            scale,
        }
    }

    /// Reads a TOML page.
    pub fn toml(&mut self, page: &Page, file: FileId) -> Record {
        debug_assert_eq!(page.form, Form::Toml);
        self.note_encoding(file);
        let node = toml::parse(self.sources, file, &mut self.out);
        self.record(page.table, &node, Span::new(file, 0..0))
    }

    /// Reads a CSV page: a record for each row.
    pub fn csv(&mut self, page: &Page, file: FileId) -> Vec<Record> {
        debug_assert_eq!(page.form, Form::Csv);
        self.note_encoding(file);
        let sheet = csv::parse(self.sources, file, &mut self.out);
        let Some(columns) = self.columns(page.table, &sheet, file) else {
            return Vec::new();
        };
        let mut records = Vec::with_capacity(sheet.rows.len());
        for row in &sheet.rows {
            if let Some(extra) = row
                .get(sheet.header.len()..)
                .filter(|extra| !extra.is_empty())
            {
                let span = csv::row_span(extra);
                self.out.push(csv_extra_cells::diagnostic(
                    span,
                    sheet.header.len(),
                    row.len(),
                ));
            }
            records.push(self.row(page.table, &columns, row));
        }
        records
    }

    fn note_encoding(&mut self, file: FileId) {
        if self.sources.get(file).encoding == Encoding::Windows1252 {
            self.out.push(not_utf8::diagnostic(self.sources, file));
        }
    }

    /// For each declared field the column that holds it.
    fn columns(
        &mut self,
        table: &'static Table,
        sheet: &Sheet,
        file: FileId,
    ) -> Option<Vec<Option<usize>>> {
        if sheet.header.is_empty() {
            self.out.push(csv_no_header::diagnostic(file, table));
            return None;
        }
        let mut columns = vec![None; table.fields.len()];
        for (at, cell) in sheet.header.iter().enumerate() {
            if cell.value.is_empty() {
                continue;
            }
            let key = column_key(&cell.value);
            match table.fields.iter().position(|field| field.key == key) {
                None => self.out.push(unknown_column::diagnostic(table, cell)),
                Some(field) => match columns[field] {
                    None => columns[field] = Some(at),
                    Some(first) => {
                        let first: &Spanned<String> = &sheet.header[first];
                        self.out
                            .push(csv_repeated_column::diagnostic(cell, first.span));
                    }
                },
            }
        }
        let header = csv::row_span(&sheet.header);
        for (field, column) in table.fields.iter().zip(&columns) {
            if field.need == Need::Required && column.is_none() {
                self.out.push(missing_key::column(table, field, header));
            }
        }
        Some(columns)
    }

    fn row(
        &mut self,
        table: &'static Table,
        columns: &[Option<usize>],
        row: &[Spanned<String>],
    ) -> Record {
        let span = csv::row_span(row);
        let mut values = Vec::with_capacity(table.fields.len());
        let mut written = Vec::with_capacity(table.fields.len());
        for (field, column) in table.fields.iter().zip(columns) {
            let cell = column
                .and_then(|at| row.get(at))
                .filter(|cell| !cell.value.is_empty());
            written.push(cell.is_some());
            values.push(match cell {
                Some(cell) => {
                    let text = NodeValue::Text(cell.value.clone());
                    self.value(
                        field,
                        &field.kind,
                        &Node {
                            value: text,
                            span: cell.span,
                        },
                    )
                }
                None => {
                    if field.need == Need::Required && column.is_some() {
                        self.out.push(missing_value::diagnostic(table, field, span));
                    }
                    self.default(field, span)
                }
            });
        }
        Record {
            span,
            table: TableRef(table),
            values,
            written,
        }
    }

    /// Reads a table by its declaration. `place` is where to point when a key is missing and the
    /// table holds nothing to point at.
    fn record(&mut self, table: &'static Table, node: &Node, place: Span) -> Record {
        let NodeValue::Table(entries) = &node.value else {
            self.out.push(wrong_kind::table(table, node));
            return self.absent(table, node.span);
        };
        for entry in entries {
            if table
                .fields
                .iter()
                .all(|field| field.key != entry.key.value)
            {
                self.out.push(unknown_key::diagnostic(table, entry));
            }
        }
        let span = match (entries.first(), entries.last()) {
            (Some(first), Some(last)) => Span {
                file: node.span.file,
                start: first.key.span.start,
                end: last.node.span.end.max(last.key.span.end),
            },
            _ => place,
        };
        let mut values = Vec::with_capacity(table.fields.len());
        let mut written = Vec::with_capacity(table.fields.len());
        for field in table.fields {
            let entry: Option<&Entry> = entries.iter().find(|entry| entry.key.value == field.key);
            written.push(entry.is_some());
            values.push(match entry {
                Some(entry) => self.value(field, &field.kind, &entry.node),
                None => {
                    if field.need == Need::Required {
                        self.out
                            .push(missing_key::diagnostic(table, field, entries, place));
                    }
                    self.default(field, span)
                }
            });
        }
        Record {
            span,
            table: TableRef(table),
            values,
            written,
        }
    }

    fn absent(&self, table: &'static Table, span: Span) -> Record {
        let blank = table.fields.len();
        Record {
            span,
            table: TableRef(table),
            values: vec![None; blank],
            written: vec![false; blank],
        }
    }

    fn default(&mut self, field: &Field, span: Span) -> Option<Spanned<Value>> {
        let Need::Default(text) = field.need else {
            return None;
        };
        let value = NodeValue::Text(text.to_owned());
        let value = self.value(field, &field.kind, &Node { value, span });
        debug_assert!(
            value.is_some(),
            "the default `{text}` of `{}` does not fit",
            field.key
        );
        value
    }

    fn value(&mut self, field: &Field, kind: &Kind, node: &Node) -> Option<Spanned<Value>> {
        let span = node.span;
        let value = match (kind, &node.value) {
            (Kind::Table(table), NodeValue::Table(_)) => {
                Value::Table(self.record(table, node, span))
            }
            (Kind::Named(noun, table), NodeValue::Table(entries)) => {
                let mut records = Vec::with_capacity(entries.len());
                for entry in entries {
                    if let Some(noun) = noun {
                        self.names
                            .declare(*noun, &entry.key.value, entry.key.span, &mut self.out);
                    }
                    let record = self.record(table, &entry.node, entry.key.span);
                    records.push((entry.key.clone(), record));
                }
                Value::Named(records)
            }
            (Kind::Map(kind), NodeValue::Table(entries)) => {
                let mut values = Vec::with_capacity(entries.len());
                for entry in entries {
                    if let Some(value) = self.value(field, kind, &entry.node) {
                        values.push((entry.key.clone(), value));
                    }
                }
                Value::Map(values)
            }
            (Kind::Tables(table), NodeValue::List(nodes)) => Value::Tables(
                nodes
                    .iter()
                    .map(|node| self.record(table, node, node.span))
                    .collect(),
            ),
            (Kind::List(kind), NodeValue::List(nodes)) => Value::List(
                nodes
                    .iter()
                    .filter_map(|node| self.value(field, kind, node))
                    .collect(),
            ),
            // A list of one may be written without brackets; a cell parts its items by semicolons.
            (Kind::List(kind), NodeValue::Text(text)) => {
                let written = self.sources.text(span);
                let plain = written == text;
                let mut items = Vec::new();
                for part in text
                    .split(';')
                    .map(str::trim)
                    .filter(|part| !part.is_empty())
                {
                    // Within a cell that had to be unescaped, point at the whole cell.
                    let at = part.as_ptr() as usize - text.as_ptr() as usize;
                    let place = if plain {
                        span.part(at..at + part.len())
                    } else {
                        span
                    };
                    let node = Node {
                        value: NodeValue::Text(part.to_owned()),
                        span: place,
                    };
                    items.extend(self.value(field, kind, &node));
                }
                Value::List(items)
            }
            (Kind::Row(cells), NodeValue::List(nodes)) => {
                if cells.len() != nodes.len() {
                    self.out.push(wrong_kind::diagnostic(field, kind, node));
                    return None;
                }
                let read: Vec<_> = cells
                    .iter()
                    .zip(nodes)
                    .filter_map(|((_, kind), node)| self.value(field, kind, node))
                    .collect();
                if read.len() < cells.len() {
                    return None;
                }
                Value::List(read)
            }
            (Kind::Flag, NodeValue::Flag(flag)) => Value::Flag(*flag),
            (Kind::Whole(low, high), NodeValue::Whole(number)) => {
                if !(low..=high).contains(&number) {
                    self.out
                        .push(number_out_of_range::diagnostic(field, kind, node.span));
                    return None;
                }
                Value::Whole(*number)
            }
            (Kind::Number(low, high), NodeValue::Whole(_) | NodeValue::Number(_)) => {
                let number = match node.value {
                    NodeValue::Whole(number) => number as f64,
                    NodeValue::Number(number) => number,
                    _ => unreachable!("matched above"),
                };
                if !(*low..=*high).contains(&number) {
                    self.out
                        .push(number_out_of_range::diagnostic(field, kind, node.span));
                    return None;
                }
                Value::Number(number)
            }
            (_, NodeValue::Text(text)) => self.text_value(field, kind, node, text)?,
            (Kind::Date | Kind::PartialDate, NodeValue::Date(text)) => {
                self.text_value(field, kind, node, text)?
            }
            (Kind::PartialDate, NodeValue::Whole(year)) => {
                self.text_value(field, kind, node, &year.to_string())?
            }
            // Names and texts are often bare numbers: engine 104, train 7.
            (Kind::Text | Kind::Name(_) | Kind::Ref(_), NodeValue::Whole(number)) => {
                self.text_value(field, kind, node, &number.to_string())?
            }
            _ => {
                self.out.push(wrong_kind::diagnostic(field, kind, node));
                return None;
            }
        };
        Some(Spanned { value, span })
    }

    fn text_value(&mut self, field: &Field, kind: &Kind, node: &Node, text: &str) -> Option<Value> {
        let span = node.span;
        if text.trim().is_empty() {
            self.out.push(empty_value::diagnostic(field, span));
            return None;
        }
        macro_rules! parsed {
            ($variant:ident, $result:expr) => {
                $result.map(Value::$variant).map_err(Some)
            };
        }
        let result = match kind {
            Kind::Text => return Some(Value::Text(text.to_owned())),
            Kind::Name(noun) => {
                self.names.declare(*noun, text, span, &mut self.out);
                return Some(Value::Text(text.to_owned()));
            }
            Kind::Ref(noun) => {
                self.names.refer(*noun, text, span);
                return Some(Value::Text(text.to_owned()));
            }
            Kind::OneOf(choices) => {
                let Some(choice) = choices.iter().find(|c| c.word.eq_ignore_ascii_case(text))
                else {
                    self.out
                        .push(unknown_word::diagnostic(field, choices, text, span));
                    return None;
                };
                return Some(Value::Word(choice.word));
            }
            Kind::Flag => match text.to_ascii_lowercase().as_str() {
                "true" | "yes" | "y" | "x" | "1" => return Some(Value::Flag(true)),
                "false" | "no" | "n" | "0" => return Some(Value::Flag(false)),
                _ => Err(None),
            },
            Kind::Whole(..) | Kind::Number(..) => {
                let plain = text.replace([',', ' '], "");
                let number = match kind {
                    Kind::Whole(..) => plain.parse().map(NodeValue::Whole).ok(),
                    _ => plain.parse().map(NodeValue::Number).ok(),
                };
                match number {
                    Some(value) => {
                        return self
                            .value(field, kind, &Node { value, span })
                            .map(|v| v.value);
                    }
                    None => Err(None),
                }
            }
            Kind::Length => parsed!(Length, Actual::parse_in(text, self.scale)),
            Kind::FullSize => parsed!(FullSize, Prototype::parse(text)),
            Kind::Radius => {
                parsed!(
                    Radius,
                    CurveText::parse(text).map(|curve| curve.actual_radius(self.scale))
                )
            }
            Kind::Speed => parsed!(Speed, Speed::parse(text)),
            Kind::Grade => parsed!(Grade, Grade::parse(text)),
            Kind::Weight | Kind::FullSizeWeight => parsed!(Weight, Weight::parse(text)),
            Kind::Time => parsed!(Time, RailTime::parse(text)),
            Kind::Duration => parsed!(Duration, RailSpan::parse(text)),
            Kind::Date => match spreadsheet_day(text) {
                Some(date) => Ok(Value::Date(date)),
                None => parsed!(Date, Date::parse(text)),
            },
            Kind::PartialDate => match spreadsheet_day(text) {
                Some(date) => Ok(Value::PartialDate(date.into())),
                None => parsed!(PartialDate, PartialDate::parse(text)),
            },
            Kind::Days => Days::parse(text).map(Value::Days).map_err(|_| None),
            Kind::List(_)
            | Kind::Row(_)
            | Kind::Table(_)
            | Kind::Map(_)
            | Kind::Named(..)
            | Kind::Tables(_) => {
                self.out.push(wrong_kind::diagnostic(field, kind, node));
                return None;
            }
        };
        match result {
            Ok(value) => Some(value),
            Err(error) => {
                // Unless the text had to be unescaped, the fault can be pointed at within it.
                let span = match &error {
                    Some(error) if self.sources.text(span) == text && !error.at.is_empty() => {
                        span.part(error.at.clone())
                    }
                    _ => span,
                };
                self.out
                    .push(unreadable_value::diagnostic(field, kind, text, span, error));
                None
            }
        }
    }
}

/// The key a column head stands for: `Light weight` and `light-weight` are the column `light_weight`.
pub fn column_key(header: &str) -> String {
    let mut key: String = header
        .chars()
        .map(|c| {
            if c.is_alphanumeric() {
                c.to_ascii_lowercase()
            } else {
                '_'
            }
        })
        .collect();
    while key.contains("__") {
        key = key.replace("__", "_");
    }
    key.trim_matches('_').to_owned()
}

/// A bare number that spreadsheets save for a date: days since 30 December 1899. Years and months
/// written together (`1937`, `193705`) are not of the five figures that days from 1927 on have.
fn spreadsheet_day(text: &str) -> Option<Date> {
    let days: i32 = text
        .parse()
        .ok()
        .filter(|days| (10_000..100_000).contains(days))?;
    Date::new(1899, 12, 30)?.plus_days(days)
}
