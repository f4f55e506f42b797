//! The dates from which cars were no longer taken in interchange, or had to be built otherwise.
//!
//! The rules themselves were not at hand. Most dates are those of a list of rolling-stock dates kept for modelers, or were
//! given in print by students of freight cars; each row says which, and whether others give another date.

use model::date::Date;

model::words! {
    /// Where a rule was in force.
    pub enum Country {
        UnitedStates = "United States", "its statutes and the interchange rules";
        Canada = "Canada", "the interchange rules, in which its roads took part, but no statutes of the United States";
        Elsewhere = "elsewhere", "neither";
    }
}

/// What a rule is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Applies {
    /// Cars without air brakes.
    NoAirBrake,
    /// Link and pin couplers.
    LinkAndPin,
    /// Wooden underframes, whose draft sills are wood.
    WoodUnderframe,
    /// Arch-bar trucks.
    ArchBars,
    /// Truck sides of T or L section.
    TrussSection,
    /// K brakes on tank cars.
    KBrakesOnTanks,
    /// K brakes on all other cars.
    KBrakes,
    /// K brakes on cars built from the day on.
    KBrakesOnNewCars,
    /// K brakes on cars rebuilt from the day on.
    KBrakesOnRebuiltCars,
    /// Wooden running boards on house cars built from the day on.
    WoodRunningBoardOnNewCars,
    /// Running boards on house cars built from the day on.
    RunningBoardOnNewCars,
    /// Running boards on box cars and refrigerator cars.
    RunningBoard,
    /// Cars older than 40 years that were built before July 1974, or than 50 if built later.
    Age,
    /// Nothing that the car record says.
    NotRecorded,
}

/// Whose cars a rule keeps off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scope {
    /// Cars in interchange: a road may keep its own at home.
    Interchange,
    /// Every car, by law.
    Law,
    /// How new or rebuilt cars were made: a car that is otherwise has a wrong record.
    Construction,
}

/// Where a date was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// A list of rolling-stock dates kept for modelers.
    DateList,
    /// Students of steam-era freight cars, quoting the rules.
    Students,
    /// An article on running boards.
    RunningBoardArticle,
    /// From memory.
    Memory,
}

impl Source {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::DateList => "a list of rolling-stock dates kept for modelers",
            Self::Students => {
                "the interchange rules as quoted by students of steam-era freight cars"
            }
            Self::RunningBoardArticle => "an article on the removal of running boards",
            Self::Memory => "from memory, to be confirmed",
        }
    }
}

/// How far to rely on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confidence {
    /// Read in the source named.
    Read,
    /// Read, but another source gives another date.
    Disputed,
    /// From memory.
    Unconfirmed,
}

/// One rule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InterchangeRule {
    /// What it is about.
    pub applies: Applies,
    /// Whose cars.
    pub scope: Scope,
    /// The first day it was in force: year, month, day.
    pub from: (i16, u8, u8),
    /// Another first day that is also given, and by whom.
    pub or_from: Option<((i16, u8, u8), &'static str)>,
    /// In a few words, after "it has" or "it is".
    pub what: &'static str,
    /// The rule in a sentence.
    pub sentence: &'static str,
    /// Where it was read.
    pub source: Source,
    /// Whether a diagnostic of its own already reports it.
    pub own_diagnostic: bool,
}

impl InterchangeRule {
    /// The first day it was in force.
    pub fn first_day(&self) -> Option<Date> {
        Date::new(self.from.0, self.from.1, self.from.2)
    }

    /// How far to rely on it.
    pub const fn confidence(&self) -> Confidence {
        match (self.source, self.or_from) {
            (Source::Memory, _) => Confidence::Unconfirmed,
            (_, Some(_)) => Confidence::Disputed,
            _ => Confidence::Read,
        }
    }

    /// Whether it was in force in a country: the interchange rules were those of the United States and Canada alike, the
    /// statutes those of the United States.
    pub const fn holds_in(&self, country: Country) -> bool {
        match country {
            Country::UnitedStates => true,
            Country::Canada => !matches!(self.scope, Scope::Law),
            Country::Elsewhere => false,
        }
    }
}

/// The first day on which cars of that kind were barred, if it is not after this day.
pub fn barred_since(applies: Applies, on: Date) -> Option<Date> {
    RULES
        .iter()
        .filter(|rule| rule.applies == applies)
        .filter_map(InterchangeRule::first_day)
        .find(|&from| from <= on)
}

const fn rule(
    applies: Applies,
    scope: Scope,
    from: (i16, u8, u8),
    what: &'static str,
    sentence: &'static str,
    source: Source,
) -> InterchangeRule {
    InterchangeRule {
        applies,
        scope,
        from,
        or_from: None,
        what,
        sentence,
        source,
        own_diagnostic: false,
    }
}

/// All that are known, by date.
pub const RULES: &[InterchangeRule] = &[
    rule(
        Applies::LinkAndPin,
        Scope::Law,
        (1900, 8, 1),
        "link and pin couplers",
        "From August 1900 on cars moving between states had to have automatic couplers.",
        Source::DateList,
    ),
    rule(
        Applies::NoAirBrake,
        Scope::Law,
        (1906, 1, 1),
        "no air brake",
        "From 1906 on all cars moving between states had to have air brakes.",
        Source::DateList,
    ),
    rule(
        Applies::NotRecorded,
        Scope::Law,
        (1915, 1, 1),
        "grab irons and ladders of its own fashion",
        "The safety appliances of 1911, grab irons and ladders among them, had to be on all cars by 1915.",
        Source::DateList,
    ),
    rule(
        Applies::NotRecorded,
        Scope::Interchange,
        (1925, 5, 1),
        "no capacity stencils",
        "From 1 May 1925 on cars in interchange had to be stenciled with nominal capacity and load limit.",
        Source::DateList,
    ),
    rule(
        Applies::WoodUnderframe,
        Scope::Interchange,
        (1928, 1, 1),
        "a wooden underframe",
        "From 1928 on cars with wooden draft sills were not accepted in interchange.",
        Source::DateList,
    ),
    rule(
        Applies::NotRecorded,
        Scope::Construction,
        (1933, 8, 1),
        "couplers older than type E",
        "New cars from August 1933 on, and rebuilt ones from August 1937 on, had couplers of type E or F.",
        Source::DateList,
    ),
    rule(
        Applies::KBrakesOnNewCars,
        Scope::Construction,
        (1933, 9, 1),
        "K brakes",
        "New cars had AB brakes from 1 September 1933 on.",
        Source::Students,
    ),
    rule(
        Applies::KBrakesOnRebuiltCars,
        Scope::Construction,
        (1937, 8, 1),
        "K brakes",
        "Rebuilt cars had AB brakes from 1 August 1937 on.",
        Source::DateList,
    ),
    rule(
        Applies::NotRecorded,
        Scope::Interchange,
        (1938, 1, 1),
        "a shipper's advertisement on its sides",
        "From 1938 on lettering that advertised shippers was restricted.",
        Source::DateList,
    ),
    InterchangeRule {
        or_from: Some(((1941, 8, 1), "a supplement to a field guide of 1941")),
        own_diagnostic: true,
        ..rule(
            Applies::ArchBars,
            Scope::Interchange,
            (1940, 7, 1),
            "arch-bar trucks",
            "From 1 July 1940 on cars with arch-bar trucks were not accepted in interchange.",
            Source::Students,
        )
    },
    InterchangeRule {
        or_from: Some(((1945, 1, 1), "lists of rolling-stock dates")),
        ..rule(
            Applies::WoodRunningBoardOnNewCars,
            Scope::Construction,
            (1944, 1, 1),
            "a wooden running board",
            "New running boards of house cars were not of wood from 1 January 1944 on.",
            Source::Students,
        )
    },
    rule(
        Applies::NotRecorded,
        Scope::Interchange,
        (1948, 1, 1),
        "too high",
        "From 1948 on the clearance diagram for cars that may go anywhere, Plate B, was 15 ft 1 in high.",
        Source::DateList,
    ),
    InterchangeRule {
        or_from: Some(((1957, 1, 1), "memory of an extension")),
        ..rule(
            Applies::TrussSection,
            Scope::Interchange,
            (1949, 1, 1),
            "truck sides of T or L section",
            "From 1 January 1949 on cars with truck sides of T or L section were not accepted in interchange, unless the \
             date was put off.",
            Source::DateList,
        )
    },
    InterchangeRule {
        own_diagnostic: true,
        ..rule(
            Applies::KBrakes,
            Scope::Interchange,
            (1953, 7, 1),
            "K brakes",
            "From 1 July 1953 on cars with K brakes were not accepted in interchange.",
            Source::Students,
        )
    },
    InterchangeRule {
        own_diagnostic: true,
        ..rule(
            Applies::KBrakesOnTanks,
            Scope::Interchange,
            (1953, 10, 1),
            "K brakes",
            "From 1 October 1953 on tank cars with K brakes were not accepted in interchange.",
            Source::Students,
        )
    },
    rule(
        Applies::RunningBoardOnNewCars,
        Scope::Construction,
        (1966, 10, 1),
        "a running board",
        "New box cars and the like were delivered without running boards from October 1966 on.",
        Source::RunningBoardArticle,
    ),
    rule(
        Applies::Age,
        Scope::Interchange,
        (1974, 7, 1),
        "past its age",
        "Cars built before July 1974 are kept out of interchange after 40 years, later ones after 50.",
        Source::Memory,
    ),
    InterchangeRule {
        or_from: Some(((1983, 1, 1), "others")),
        ..rule(
            Applies::RunningBoard,
            Scope::Interchange,
            (1982, 1, 1),
            "a running board",
            "Running boards were to be off box cars and refrigerator cars by 1982.",
            Source::RunningBoardArticle,
        )
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_stand_by_date_and_say_what_they_are() {
        assert!(RULES.windows(2).all(|pair| pair[0].from <= pair[1].from));
        for rule in RULES {
            assert!(
                rule.first_day().is_some() && rule.sentence.ends_with('.') && !rule.what.is_empty()
            );
            assert!(rule.or_from.is_none_or(|(day, _)| day > rule.from));
        }
    }
}
