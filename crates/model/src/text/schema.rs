//! What a page may hold: the same declarations drive reading, diagnostics and the handbook.

use super::names::Noun;

/// A file, or a family of files, of the railroad folder.
#[derive(Debug)]
pub struct Page {
    /// Path in the folder; `*` stands for any name.
    pub path: &'static str,
    /// TOML or CSV.
    pub form: Form,
    /// Whether a railroad must have it.
    pub required: bool,
    /// What it is about, for the handbook.
    pub about: &'static str,
    /// What it holds; for CSV, the columns of a row.
    pub table: &'static Table,
}

/// How a page is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// Structure.
    Toml,
    /// A table people keep in a spreadsheet.
    Csv,
}

/// A table: keys and what they mean.
#[derive(Debug)]
pub struct Table {
    /// What one of them is, as a noun: "switch".
    pub noun: &'static str,
    /// What it is about, for the handbook.
    pub about: &'static str,
    /// The keys.
    pub fields: &'static [Field],
}

/// A key of a table, or a column.
#[derive(Debug)]
pub struct Field {
    /// The key as written in TOML; a column may also be written with blanks and capitals.
    pub key: &'static str,
    /// What may stand there.
    pub kind: Kind,
    /// Whether it must.
    pub need: Need,
    /// What it means, for the handbook: units, what it is measured from, what it is for.
    pub about: &'static str,
}

/// Whether a key must be there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// It must.
    Required,
    /// It may be left out.
    Optional,
    /// It may be left out, and then counts as this, written as the owner would.
    Default(&'static str),
}

/// One of a closed list of words.
#[derive(Debug)]
pub struct Choice {
    /// The word.
    pub word: &'static str,
    /// What it means, for the handbook.
    pub about: &'static str,
}

/// What may stand as a value.
#[derive(Debug, Clone, Copy)]
pub enum Kind {
    /// Any text.
    Text,
    /// The name of this thing, which others may refer to.
    Name(Noun),
    /// The name of a thing declared elsewhere.
    Ref(Noun),
    /// Yes or no.
    Flag,
    /// A whole number within bounds, both included.
    Whole(i64, i64),
    /// A number within bounds, both included.
    Number(f64, f64),
    /// A length on the model, also in scale feet: `12'-6"`, `3.81 m`, `400 scale ft`.
    Length,
    /// A length in the real world: `40 ft`, `0.8 mi`.
    FullSize,
    /// A radius on the model: a length, or a degree of curve: `30 in`, `12 deg`.
    Radius,
    /// A speed in the real world: `25 mph`, `40 km/h`.
    Speed,
    /// A grade: `2.2 %`.
    Grade,
    /// A weight on the model: `4 oz`, `113 g`.
    Weight,
    /// A weight in the real world: `50 tons`, `169000 lb`.
    FullSizeWeight,
    /// A time of day by the railroad's clock: `7:05 AM`, `19:05`, past midnight `25:10`.
    Time,
    /// A length of time: `25 min`, `1:20`.
    Duration,
    /// A day: `1941-10-14`.
    Date,
    /// A day, month or year: `1937`, `1937-05`, `May 1937`.
    PartialDate,
    /// Days of the week: `daily`, `daily except Sunday`, `Mon Wed Fri`.
    Days,
    /// One of these words.
    OneOf(&'static [Choice]),
    /// A list of values; in a CSV cell parted by `;`.
    List(&'static Kind),
    /// A short list with a fixed meaning for each place.
    Row(&'static [(&'static str, Kind)]),
    /// A table with these keys.
    Table(&'static Table),
    /// Values under names of the owner's choice.
    Map(&'static Kind),
    /// Tables under names of the owner's choice, which others may refer to if there is a noun.
    Named(Option<Noun>, &'static Table),
    /// A list of tables.
    Tables(&'static Table),
}

impl Kind {
    /// What is expected, with its article and an example: for diagnostics and the handbook.
    pub fn expected(&self) -> String {
        match self {
            Self::Text => "a text".into(),
            Self::Name(noun) => format!("the name of a {}", noun.word()),
            Self::Ref(noun) => format!("the name of a {}", noun.word()),
            Self::Flag => "`true` or `false`".into(),
            Self::Whole(i64::MIN, i64::MAX) => "a whole number".into(),
            Self::Whole(low, i64::MAX) => format!("a whole number, {low} or more"),
            Self::Whole(low, high) => format!("a whole number from {low} to {high}"),
            Self::Number(low, high) => match (low.is_finite(), high.is_finite()) {
                (true, true) => format!("a number from {low} to {high}"),
                (true, false) => format!("a number, {low} or more"),
                _ => "a number".into(),
            },
            Self::Length => "a length on the model, like `12'-6\"`, `46 in` or `3.81 m`".into(),
            Self::FullSize => "a full-size length, like `40 ft`, `0.8 mi` or `1.2 km`".into(),
            Self::Radius => "a radius on the model, like `30 in` or `760 mm`".into(),
            Self::Speed => "a speed, like `25 mph` or `40 km/h`".into(),
            Self::Grade => "a grade, like `2.2 %` or `1 in 45`".into(),
            Self::Weight => "a weight on the model, like `4.2 oz` or `120 g`".into(),
            Self::FullSizeWeight => "a full-size weight, like `50 tons` or `169,000 lb`".into(),
            Self::Time => "a time of day, like `7:05 AM`, `19:05` or `25:10` past midnight".into(),
            Self::Duration => "a length of time, like `25 min` or `1:20`".into(),
            Self::Date => "a day, like `1941-10-14`".into(),
            Self::PartialDate => {
                "a day, month or year, like `1937-05-02`, `1937-05` or `1937`".into()
            }
            Self::Days => "days, like `daily`, `daily except Sunday` or `Mon Wed Fri`".into(),
            Self::OneOf(choices) => {
                let words: Vec<String> = choices
                    .iter()
                    .map(|choice| format!("`{}`", choice.word))
                    .collect();
                format!("one of {}", words.join(", "))
            }
            Self::List(kind) => format!("a list, each {}", kind.expected()),
            Self::Row(cells) => {
                let names: Vec<&str> = cells.iter().map(|(name, _)| *name).collect();
                format!("a list of {}: [{}]", cells.len(), names.join(", "))
            }
            Self::Table(table) => format!("a table describing a {}", table.noun),
            Self::Map(kind) => format!("a table of names, each with {}", kind.expected()),
            Self::Named(_, table) => format!("a table for each {} by its name", table.noun),
            Self::Tables(table) => format!("a list of tables, one for each {}", table.noun),
        }
    }
}
