//! What a cell of somebody else's spreadsheet means.

use model::{
    date::{Date, PartialDate},
    diagnostic::nearest,
    scale::Scale,
    text::{Choice, Kind},
    units::{Actual, LengthStyle, Prototype, Weight},
};

use crate::{CarKind, Designation, car::Class};

/// A cell and what is known of its column.
pub(super) struct Cell<'a> {
    pub(super) key: &'static str,
    pub(super) kind: &'a Kind,
    pub(super) found: &'a str,
    /// The unit in the column's heading.
    pub(super) unit: Option<&'a str>,
    pub(super) scale: Scale,
    /// The car's mechanical designation, if the row has one.
    pub(super) designation: Option<&'a str>,
}

/// What was made of it.
pub(super) enum Taken {
    /// The car record would read it.
    AsWritten(String),
    /// It probably means this.
    Guessed {
        value: String,
        why: String,
        also: Option<(&'static str, String)>,
    },
    /// It was left out.
    LeftOut(String),
}

fn guessed(value: impl Into<String>, why: impl Into<String>) -> Taken {
    Taken::Guessed {
        value: value.into(),
        why: why.into(),
        also: None,
    }
}

/// What usual words for kinds of cars mean.
const KINDS: &[(&str, CarKind)] = &[
    ("box", CarKind::Boxcar),
    ("box car", CarKind::Boxcar),
    ("auto box", CarKind::AutomobileCar),
    ("auto car", CarKind::AutomobileCar),
    ("refrigerator", CarKind::Reefer),
    ("refrigerator car", CarKind::Reefer),
    ("stock car", CarKind::Stock),
    ("cattle car", CarKind::Stock),
    ("gon", CarKind::Gondola),
    ("gondola car", CarKind::Gondola),
    ("hopper car", CarKind::Hopper),
    ("coal hopper", CarKind::Hopper),
    ("hopper, covered", CarKind::CoveredHopper),
    ("cov hopper", CarKind::CoveredHopper),
    ("ore", CarKind::OreCar),
    ("flat car", CarKind::Flat),
    ("flatcar", CarKind::Flat),
    ("tank car", CarKind::Tank),
    ("tanker", CarKind::Tank),
    ("cabin car", CarKind::Caboose),
    ("way car", CarKind::Caboose),
    ("hack", CarKind::Caboose),
    ("baggage", CarKind::Baggage),
    ("rpo", CarKind::Mail),
    ("passenger", CarKind::Coach),
    ("mow", CarKind::Work),
];

/// The kind of car a designation usually stands for.
pub(super) fn kind_of(designation: &str) -> Option<&'static str> {
    let read = Designation::parse(designation);
    let kind = match read.class? {
        Class::Box => CarKind::Boxcar,
        Class::Ventilator => CarKind::Ventilator,
        Class::Refrigerator => CarKind::Reefer,
        Class::Stock => CarKind::Stock,
        Class::Gondola => CarKind::Gondola,
        Class::Hopper => CarKind::Hopper,
        Class::Flat => CarKind::Flat,
        Class::Tank => CarKind::Tank,
        Class::Caboose => CarKind::Caboose,
        Class::Special if read.text.starts_with("LO") => CarKind::CoveredHopper,
        Class::Special | Class::Passenger | Class::Maintenance => return None,
    };
    Some(kind.word())
}

impl Cell<'_> {
    pub(super) fn take(&self) -> Taken {
        match (self.key, self.kind) {
            ("marks" | "number", _) => Taken::AsWritten(self.found.to_owned()),
            ("length", _) => self.length(),
            (_, Kind::Length | Kind::FullSize) => self.full_size(),
            (_, Kind::Weight) => self.model_weight(),
            (_, Kind::FullSizeWeight) => self.full_size_weight(),
            (_, Kind::PartialDate) => self.date(),
            ("kind", Kind::OneOf(_)) => self.car_kind(),
            (_, Kind::OneOf(choices)) => self.word(choices),
            // Track and road names are those of this railroad: only its owner knows what another's mean.
            (_, Kind::Ref(_)) => Taken::LeftOut("a name of another list: fill it in".to_owned()),
            _ => Taken::AsWritten(self.found.to_owned()),
        }
    }

    /// A bare number; decimal commas too, since a unit is about to follow.
    fn number(&self) -> Option<f64> {
        let text = self.found.trim().trim_start_matches('~');
        let text = match text.split_once(',') {
            Some((whole, part)) if part.len() == 3 => format!("{whole}{part}"),
            Some((whole, part)) => format!("{whole}.{part}"),
            None => text.to_owned(),
        };
        text.parse()
            .ok()
            .filter(|number: &f64| number.is_finite() && *number > 0.0)
    }

    /// The number with the unit of the heading.
    fn with_unit(&self) -> Option<String> {
        let unit = match self.unit? {
            "'" | "feet" => "ft",
            "\"" | "inches" => "in",
            "grams" => "g",
            "ounces" => "oz",
            "lbs" => "lb",
            unit => unit,
        };
        Some(format!("{} {unit}", self.number()?))
    }

    /// Over the pulling faces, on the model. A length of a real car is its nominal one, over which ends and couplers come to
    /// about 4 ft (common practice, no source).
    fn length(&self) -> Taken {
        let read = |text: &str| Actual::parse_in(text, self.scale).ok();
        let plausible = |length: Actual| {
            let feet = self.scale.to_prototype(length).feet();
            (10.0..110.0).contains(&feet)
        };
        if let Some(length) = read(self.found)
            && plausible(length)
        {
            return Taken::AsWritten(self.found.to_owned());
        }
        let written = self.with_unit();
        if let Some(text) = &written
            && let Some(length) = read(text)
            && plausible(length)
        {
            return guessed(text, "the unit stands in the heading");
        }
        let full_size = Prototype::parse(self.found)
            .ok()
            .or_else(|| Prototype::parse(written.as_deref()?).ok())
            .or_else(|| {
                self.number()
                    .filter(|number| (20.0..100.0).contains(number))
                    .map(Prototype::from_feet)
            })
            .filter(|length| (15.0..100.0).contains(&length.feet()));
        if let Some(nominal) = full_size {
            let over = self.scale.to_actual(nominal + Prototype::from_feet(4.0));
            let value = over
                .show(LengthStyle::Inches { decimals: 2 })
                .to_string()
                .replace('"', " in");
            let nominal = format!("{} ft", (nominal.feet() * 100.0).round() / 100.0);
            return Taken::Guessed {
                value,
                why: format!(
                    "{nominal} is taken for its nominal full-size length, and 4 ft added for ends and couplers"
                ),
                also: Some(("inside_length", nominal)),
            };
        }
        match self.number() {
            Some(number) if plausible(Actual::from_inches(number)) => {
                guessed(format!("{number} in"), "a number alone is taken for inches")
            }
            Some(number) if plausible(Actual::from_mm(number)) => guessed(
                format!("{number} mm"),
                "a number alone is taken for millimeters",
            ),
            _ => Taken::LeftOut("no length of a car".to_owned()),
        }
    }

    fn full_size(&self) -> Taken {
        if Prototype::parse(self.found).is_ok() {
            return Taken::AsWritten(self.found.to_owned());
        }
        match self.with_unit() {
            Some(text) if Prototype::parse(&text).is_ok() => {
                guessed(text, "the unit stands in the heading")
            }
            _ => match self.number().filter(|number| *number < 120.0) {
                Some(number) => guessed(format!("{number} ft"), "a number alone is taken for feet"),
                None => Taken::LeftOut("no length".to_owned()),
            },
        }
    }

    fn model_weight(&self) -> Taken {
        if Weight::parse(self.found).is_ok() {
            return Taken::AsWritten(self.found.to_owned());
        }
        match (self.with_unit(), self.number()) {
            (Some(text), _) if Weight::parse(&text).is_ok() => {
                guessed(text, "the unit stands in the heading")
            }
            (_, Some(number)) if number < 30.0 => {
                guessed(format!("{number} oz"), "a number alone is taken for ounces")
            }
            (_, Some(number)) => guessed(
                format!("{number} g"),
                "a number of 30 or more is taken for grams",
            ),
            _ => Taken::LeftOut("no weight".to_owned()),
        }
    }

    fn full_size_weight(&self) -> Taken {
        if Weight::parse(self.found).is_ok() {
            return Taken::AsWritten(self.found.to_owned());
        }
        match (self.with_unit(), self.number()) {
            (Some(text), _) if Weight::parse(&text).is_ok() => {
                guessed(text, "the unit stands in the heading")
            }
            (_, Some(number)) if number >= 1000.0 => guessed(
                format!("{number} lb"),
                "a number of 1000 or more is taken for pounds",
            ),
            (_, Some(number)) => guessed(
                format!("{number} tons"),
                "a number under 1000 is taken for tons",
            ),
            _ => Taken::LeftOut("no weight".to_owned()),
        }
    }

    fn date(&self) -> Taken {
        if PartialDate::parse(self.found).is_ok() {
            return Taken::AsWritten(self.found.to_owned());
        }
        // What a spreadsheet keeps for a date: days from the end of 1899.
        if let Some(day) = self
            .found
            .parse::<i32>()
            .ok()
            .filter(|days| (10_000..100_000).contains(days))
            .and_then(|days| Date::new(1899, 12, 30)?.plus_days(days))
        {
            return guessed(day.to_string(), "a spreadsheet's number for a day");
        }
        let digits: String = self
            .found
            .chars()
            .filter(|c| c.is_ascii_digit() || matches!(c, '-' | '/'))
            .collect();
        let year = |two: &str| two.parse::<i16>().ok().map(|year| 1900 + year);
        if let Some(date) = PartialDate::parse(&digits)
            .ok()
            .filter(|_| digits.len() >= 4)
        {
            return guessed(date.to_string(), "what else stands in the cell is left out");
        }
        // Stencils say `6-37`; owners write '37.
        if let Some((month, two)) = digits.split_once(['-', '/'])
            && two.len() == 2
            && let (Ok(month), Some(year)) = (month.parse::<u8>(), year(two))
            && let Some(date) = PartialDate::month(year, month)
        {
            return guessed(
                date.to_string(),
                "two figures are taken for a year of the 1900s",
            );
        }
        match (digits.len(), year(&digits).and_then(PartialDate::year)) {
            (2, Some(date)) => guessed(
                date.to_string(),
                "two figures are taken for a year of the 1900s",
            ),
            _ => Taken::LeftOut("no date".to_owned()),
        }
    }

    fn car_kind(&self) -> Taken {
        let found = self.found.trim().to_lowercase();
        if CarKind::from_word(&found).is_some() {
            return Taken::AsWritten(found);
        }
        let known = KINDS
            .iter()
            .find(|(word, _)| *word == found)
            .map(|(_, kind)| kind.word());
        // Descriptions such as `40' steel boxcar` hold the word.
        let within = || {
            let mut words: Vec<&str> = CarKind::ALL.iter().map(|kind| kind.word()).collect();
            words.sort_by_key(|word| std::cmp::Reverse(word.len()));
            words.into_iter().find(|word| found.contains(word))
        };
        let by_code = || {
            kind_of(&found)
                .filter(|_| found.len() <= 4)
                .or_else(|| kind_of(self.designation?))
        };
        if let Some(kind) = known.or_else(within) {
            return guessed(kind, "a usual word for it");
        }
        if let Some(kind) = by_code() {
            return guessed(kind, "from its designation");
        }
        match nearest(&found, CarKind::ALL.iter().map(|kind| kind.word())) {
            Some(kind) => guessed(kind, "the word is like it"),
            None => Taken::LeftOut("no kind of car is called so: fill it in".to_owned()),
        }
    }

    fn word(&self, choices: &[Choice]) -> Taken {
        let found = self.found.trim().to_lowercase();
        let words = || choices.iter().map(|choice| choice.word);
        if words().any(|word| word == found) {
            return Taken::AsWritten(found);
        }
        let usual = match (self.key, found.as_str()) {
            ("state", "yes" | "y" | "ok" | "active" | "good" | "ready" | "x") => Some("in service"),
            ("state", "no" | "n" | "repair" | "shop" | "rip" | "broken" | "needs work") => {
                Some("on the bench")
            }
            ("state", "stored" | "storage" | "box" | "sold") => Some("off the railroad"),
            ("running_board", "metal" | "apex" | "see-through" | "grating") => Some("steel"),
            ("running_board", "no" | "removed") => Some("none"),
            ("underframe", "fishbelly" | "fish belly" | "center sill") => Some("steel center sill"),
            ("underframe", "truss rod" | "truss rods" | "wooden") => Some("wood"),
            _ => None,
        };
        match usual.or_else(|| nearest(&found, words())) {
            Some(word) => guessed(word, "a usual word for it"),
            None => Taken::LeftOut(format!(
                "expected one of {}",
                words().collect::<Vec<_>>().join(", ")
            )),
        }
    }
}
