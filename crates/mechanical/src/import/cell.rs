//! What a cell of somebody else's spreadsheet means.

use model::{
    date::{Date, PartialDate},
    diagnostic::nearest,
    scale::Scale,
    text::{Choice, Kind},
    units::{Actual, CurveText, LengthStyle, Prototype, Weight},
};

use super::List;
use crate::{
    CarKind, Designation, EngineKind,
    car::Class,
    engine::{Cylinders, Wheels},
};

/// A cell and what is known of its column.
pub(super) struct Cell<'a> {
    pub(super) list: List,
    pub(super) key: &'static str,
    pub(super) kind: &'a Kind,
    pub(super) found: &'a str,
    /// The unit in the column's heading.
    pub(super) unit: Option<&'a str>,
    pub(super) scale: Scale,
    /// The cell of the row that the kind may follow from, if it has one.
    pub(super) clue: Option<&'a str>,
}

/// What was made of it.
pub(super) enum Taken {
    /// The record would read it.
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

/// What usual words for kinds of engines mean.
const ENGINE_KINDS: &[(&str, EngineKind)] = &[
    ("s", EngineKind::Steam),
    ("d", EngineKind::Diesel),
    ("de", EngineKind::Diesel),
    ("road switcher", EngineKind::Diesel),
    ("e", EngineKind::Electric),
    ("motor car", EngineKind::GasElectric),
    ("rail car", EngineKind::GasElectric),
    ("railcar", EngineKind::GasElectric),
];

/// What usual words for kinds of cars mean.
const CAR_KINDS: &[(&str, CarKind)] = &[
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

fn in_list<T: Copy>(list: &[(&str, T)], found: &str) -> Option<T> {
    list.iter()
        .find(|(word, _)| *word == found)
        .map(|(_, kind)| *kind)
}

/// The kind of car a designation usually stands for.
pub(super) fn kind_of(designation: &str) -> Option<CarKind> {
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
    Some(kind)
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
            ("wheels", _) if self.list == List::Engines => self.wheels(),
            ("cylinders", _) if Cylinders::parse(self.found).is_none() => {
                Taken::LeftOut("no bore and stroke in inches, like `22 x 28`".to_owned())
            }
            (_, Kind::Number(low, high)) => self.bare(|number| (*low..=*high).contains(&number)),
            (_, Kind::Whole(low, high)) => self.bare(|number| {
                number.fract() == 0.0 && (*low as f64..=*high as f64).contains(&number)
            }),
            (_, Kind::Radius) => self.radius(),
            ("kind", Kind::OneOf(choices)) => self.kind_word(choices),
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

    /// A number within bounds and nothing else; a word beside it is its unit or name, and left out.
    fn bare(&self, fits: impl Fn(f64) -> bool) -> Taken {
        let read = |text: &str| -> Option<f64> {
            let number: f64 = text.replace([',', ' '], "").parse().ok()?;
            fits(number).then_some(number)
        };
        if read(self.found).is_some() {
            return Taken::AsWritten(self.found.to_owned());
        }
        let words = self
            .found
            .trim_matches(|c: char| !c.is_ascii_digit() && c != '-');
        match read(words) {
            Some(number) => guessed(
                number.to_string(),
                "what else stands in the cell is left out",
            ),
            None => Taken::LeftOut(format!("expected {}", self.kind.expected())),
        }
    }

    /// Whyte notation or letters of the trucks. Spreadsheet programs take `2-8-2` for a day of 2002.
    fn wheels(&self) -> Taken {
        if Wheels::parse(self.found).is_some() {
            return Taken::AsWritten(self.found.to_owned());
        }
        let parts: Vec<u16> = self
            .found
            .split(['-', '/'])
            .filter_map(|part| part.trim().parse().ok())
            .collect();
        let day = match parts[..] {
            [year @ 2000..2020, month, day] => Some(format!("{month}-{day}-{}", year - 2000)),
            [month, day, year @ 2000..2020] => Some(format!("{month}-{day}-{}", year - 2000)),
            _ => None,
        };
        match day.filter(|text| Wheels::parse(text).is_some()) {
            Some(text) => guessed(text, "a spreadsheet took it for a day"),
            None => Taken::LeftOut("no wheel arrangement".to_owned()),
        }
    }

    fn radius(&self) -> Taken {
        if CurveText::parse(self.found).is_ok() {
            return Taken::AsWritten(self.found.to_owned());
        }
        match (self.with_unit(), self.number()) {
            (Some(text), _) if CurveText::parse(&text).is_ok() => {
                guessed(text, "the unit stands in the heading")
            }
            (_, Some(number)) if number < 150.0 => {
                guessed(format!("{number} in"), "a number alone is taken for inches")
            }
            (_, Some(number)) => guessed(
                format!("{number} mm"),
                "a number of 150 or more is taken for millimeters",
            ),
            _ => Taken::LeftOut("no radius".to_owned()),
        }
    }

    /// Over the pulling faces, on the model. A length of a real car is its nominal one, over which ends and couplers come to
    /// about 4 ft (common practice, no source); that of a real engine is taken for the one over its couplers.
    fn length(&self) -> Taken {
        let read = |text: &str| Actual::parse_in(text, self.scale).ok();
        let plausible = |length: Actual| {
            let feet = self.scale.to_prototype(length).feet();
            match self.list {
                List::Cars => (10.0..110.0).contains(&feet),
                List::Engines => (12.0..300.0).contains(&feet),
            }
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
            .filter(|length| match self.list {
                List::Cars => (15.0..100.0).contains(&length.feet()),
                List::Engines => (12.0..300.0).contains(&length.feet()),
            });
        if let Some(nominal) = full_size {
            let more = match self.list {
                List::Cars => 4.0,
                List::Engines => 0.0,
            };
            let over = self.scale.to_actual(nominal + Prototype::from_feet(more));
            let value = over
                .show(LengthStyle::Inches { decimals: 2 })
                .to_string()
                .replace('"', " in");
            let nominal = format!("{} ft", (nominal.feet() * 100.0).round() / 100.0);
            if self.list == List::Engines {
                return guessed(
                    value,
                    format!("{nominal} is taken for its full-size length over the pulling faces"),
                );
            }
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
            _ => Taken::LeftOut(format!(
                "no length of {} {}",
                if self.list == List::Cars { "a" } else { "an" },
                self.list.noun()
            )),
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
            // Handbooks and owners give drivers in inches.
            _ if self.key == "drivers" => {
                match self
                    .number()
                    .filter(|number| (20.0..100.0).contains(number))
                {
                    Some(number) => {
                        guessed(format!("{number} in"), "a number alone is taken for inches")
                    }
                    None => Taken::LeftOut("no diameter of driving wheels".to_owned()),
                }
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
            // Far beyond any model: a full-size weight in the wrong column.
            (_, Some(number)) if number < 20_000.0 => guessed(
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
            // A force is not given in tons.
            (_, Some(number)) if number < 1000.0 && self.key == "tractive_effort" => {
                Taken::LeftOut("no tractive effort in pounds".to_owned())
            }
            (_, None) if self.key == "tractive_effort" => {
                Taken::LeftOut("no tractive effort in pounds".to_owned())
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

    fn kind_word(&self, choices: &[Choice]) -> Taken {
        let found = self.found.trim().to_lowercase();
        let words = || choices.iter().map(|choice| choice.word);
        if words().any(|word| word == found) {
            return Taken::AsWritten(found);
        }
        let known = match self.list {
            List::Cars => in_list(CAR_KINDS, &found).map(CarKind::word),
            List::Engines => in_list(ENGINE_KINDS, &found).map(EngineKind::word),
        };
        // Descriptions such as `40' steel boxcar` hold the word; of `diesel-electric` the first counts.
        let within = || {
            words()
                .filter_map(|word| Some((found.find(word)?, word)))
                .min_by_key(|(at, word)| {
                    let first = if self.list == List::Engines { *at } else { 0 };
                    (first, std::cmp::Reverse(word.len()))
                })
                .map(|(_, word)| word)
        };
        let by_code = || {
            self.list
                .kind_by(&found)
                .filter(|_| self.list == List::Engines || found.len() <= 4)
                .or_else(|| self.list.kind_by(self.clue?))
        };
        if let Some(kind) = known.or_else(within) {
            return guessed(kind, "a usual word for it");
        }
        if let Some(kind) = by_code() {
            return guessed(kind, format!("from its {}", self.list.clue().1));
        }
        match nearest(&found, words()) {
            Some(kind) => guessed(kind, "the word is like it"),
            None => Taken::LeftOut(format!(
                "no kind of {} is called so: fill it in",
                self.list.noun()
            )),
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
