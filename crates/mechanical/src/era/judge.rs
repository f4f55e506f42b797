//! A car or an engine before a date.

use std::fmt::Write as _;

use model::date::{Answer, Date, PartialDate};

use super::interchange::{Applies, Country, InterchangeRule, RULES, Scope};
use crate::{
    Car, CarKind, Engine,
    car::{RunningBoard, Underframe},
};

/// What the owner allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allowed {
    /// The modelled day.
    pub day: Date,
    /// Equipment may be as it was from this day on.
    pub earliest: Date,
    /// Equipment may be as it was up to this day.
    pub latest: Date,
    /// Whose rules hold.
    pub country: Country,
}

impl Allowed {
    /// The same for another day: equipment may be as it was up to it, and from where it might be before.
    #[must_use]
    pub fn on(self, day: Date) -> Self {
        Self {
            day,
            earliest: self.earliest.min(day),
            latest: day,
            ..self
        }
    }
}

/// How a car or engine stands before the date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// Nothing is against it.
    Right,
    /// The record does not say enough.
    Unknown,
    /// It is not right.
    Wrong,
}

/// Why it is not right, or not known to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Why {
    /// Built, rebuilt or painted so only later.
    TooLate,
    /// Out of service before.
    TooEarly,
    /// A rule kept it off.
    Rule(&'static InterchangeRule),
    /// No date built is written.
    NoDate,
    /// A date is not exact enough.
    Inexact,
}

/// One thing against a car or engine.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// How bad.
    pub standing: Standing,
    /// Why.
    pub why: Why,
    /// In a sentence, the car's name left out: "is built in 1947, after 14 October 1941".
    pub sentence: String,
    /// What would make it right.
    pub mend: String,
}

/// A car or engine and all that is against it.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// All that is against it, the worst first.
    pub findings: Vec<Finding>,
    /// The first day on which it is right as recorded, if the record says.
    pub from: Option<Date>,
    /// The last day on which it is right as recorded, if there is one.
    pub until: Option<Date>,
}

impl Judged {
    /// How it stands.
    pub fn standing(&self) -> Standing {
        self.findings
            .iter()
            .map(|finding| finding.standing)
            .max()
            .unwrap_or(Standing::Right)
    }
}

struct Judge<'a> {
    allowed: &'a Allowed,
    judged: Judged,
}

impl Judge<'_> {
    fn find(&mut self, standing: Standing, why: Why, sentence: String, mend: impl Into<String>) {
        self.judged.findings.push(Finding {
            standing,
            why,
            sentence,
            mend: mend.into(),
        });
    }

    /// Something that came to be on a date.
    fn begins(&mut self, word: &str, date: Option<PartialDate>) {
        let Some(date) = date else { return };
        let latest = self.allowed.latest;
        self.judged.from = self.judged.from.max(Some(date.first()));
        match date.after(latest) {
            Answer::Yes => {
                let mend = match word {
                    "painted" => "paint it as it was before",
                    "rebuilt" => "model it as it was before it was rebuilt",
                    _ => "keep it off the railroad",
                };
                self.find(
                    Standing::Wrong,
                    Why::TooLate,
                    format!("was {word} only in {date}, after {latest}"),
                    mend,
                );
            }
            Answer::Perhaps => self.find(
                Standing::Unknown,
                Why::Inexact,
                format!("was {word} in {date}, perhaps after {latest}"),
                "find the month",
            ),
            Answer::No => {}
        }
    }

    fn ends(&mut self, date: Option<PartialDate>) {
        let Some(date) = date else { return };
        let earliest = self.allowed.earliest;
        self.until(date.last());
        match date.before(earliest) {
            Answer::Yes => self.find(
                Standing::Wrong,
                Why::TooEarly,
                format!("left service in {date}, before {earliest}"),
                "keep it off the railroad",
            ),
            Answer::Perhaps => self.find(
                Standing::Unknown,
                Why::Inexact,
                format!("left service in {date}, perhaps before {earliest}"),
                "find the month",
            ),
            Answer::No => {}
        }
    }

    fn until(&mut self, day: Date) {
        self.judged.until = Some(self.judged.until.map_or(day, |until| until.min(day)));
    }

    fn done(mut self) -> Judged {
        self.judged
            .findings
            .sort_by_key(|finding| std::cmp::Reverse(finding.standing));
        self.judged
    }
}

fn judge(allowed: &Allowed) -> Judge<'_> {
    Judge {
        allowed,
        judged: Judged {
            findings: Vec::new(),
            from: None,
            until: None,
        },
    }
}

/// Judges an engine.
pub fn judge_engine(engine: &Engine, allowed: &Allowed) -> Judged {
    let mut judge = judge(allowed);
    if engine.built.is_none() {
        judge.find(
            Standing::Unknown,
            Why::NoDate,
            "has no date built".into(),
            "write `built`",
        );
    }
    judge.begins("built", engine.built.map(|date| date.value));
    judge.ends(engine.retired.map(|date| date.value));
    judge.done()
}

/// Judges a car; `foreign` if it is another road's, and so comes in interchange.
pub fn judge_car(car: &Car, foreign: bool, allowed: &Allowed) -> Judged {
    let mut judge = judge(allowed);
    if car.built.is_none() && car.rebuilt.is_none() {
        judge.find(
            Standing::Unknown,
            Why::NoDate,
            "has no date built".into(),
            "write `built`",
        );
    }
    judge.begins("built", car.built.map(|date| date.value));
    judge.begins("rebuilt", car.rebuilt.map(|date| date.value));
    judge.begins("painted", car.painted.map(|date| date.value));
    judge.ends(car.retired.map(|date| date.value));
    for rule in RULES.iter().filter(|rule| rule.holds_in(allowed.country)) {
        if rule.scope == Scope::Interchange && !foreign {
            continue;
        }
        let Some(first) = rule.first_day() else {
            continue;
        };
        match concerns(rule.applies, car, first) {
            None => {}
            Some(since) if rule.scope == Scope::Construction => {
                let sentence = format!("has {}, yet {since}: {}", rule.what, lower(rule.sentence));
                judge.find(
                    Standing::Wrong,
                    Why::Rule(rule),
                    sentence,
                    mend(rule.applies),
                );
            }
            Some(_) => {
                // Nobody minded a car's age before the rule on it.
                let before = first.plus_days(-1);
                let last = match rule.applies {
                    Applies::Age => before.max(age_ends(car)),
                    _ => before,
                };
                if let Some(last) = last {
                    judge.until(last);
                    if allowed.day > last {
                        let verb = if rule.applies == Applies::Age {
                            "is"
                        } else {
                            "has"
                        };
                        let mut sentence =
                            format!("{verb} {}: {}", rule.what, lower(rule.sentence));
                        // Before the later of two dates the owner should know that they differ.
                        if let Some(((year, month, day), whose)) = rule.or_from
                            && let Some(later) = Date::new(year, month, day)
                            && allowed.day < later
                        {
                            let _ = write!(sentence, " (from {later} on, by {whose})");
                        }
                        judge.find(
                            Standing::Wrong,
                            Why::Rule(rule),
                            sentence,
                            mend(rule.applies),
                        );
                    }
                }
            }
        }
    }
    judge.done()
}

/// A sentence within another, without its stop.
fn lower(sentence: &str) -> String {
    let mut chars = sentence.trim_end_matches('.').chars();
    chars.next().map_or_else(String::new, |first| {
        first.to_lowercase().chain(chars).collect()
    })
}

fn mend(applies: Applies) -> &'static str {
    match applies {
        Applies::NoAirBrake => "give it air brakes",
        Applies::LinkAndPin => "give it automatic couplers",
        Applies::WoodUnderframe => "give it a steel center sill, or keep it off the railroad",
        Applies::ArchBars | Applies::TrussSection => "give it cast steel trucks",
        Applies::KBrakesOnTanks
        | Applies::KBrakes
        | Applies::KBrakesOnNewCars
        | Applies::KBrakesOnRebuiltCars => "give it AB brakes",
        Applies::WoodRunningBoardOnNewCars => "give it a steel running board",
        Applies::RunningBoardOnNewCars | Applies::RunningBoard => "take its running board off",
        Applies::Age => "rebuild it, or keep it off the railroad",
        Applies::NotRecorded => "look at the car",
    }
}

/// Whether the rule is about this car; and for rules of construction, what of the car's history makes it so.
fn concerns(applies: Applies, car: &Car, first: Date) -> Option<String> {
    let has = |text: &Option<model::Spanned<String>>, words: &[&str]| {
        text.as_ref().is_some_and(|text| {
            let text = text.value.to_lowercase();
            words.iter().any(|word| text.contains(word))
        })
    };
    let tank = car.kind.is_some_and(|kind| kind.value == CarKind::Tank);
    let house = car.kind.is_some_and(|kind| {
        use CarKind as K;
        matches!(
            kind.value,
            K::Boxcar | K::AutomobileCar | K::Reefer | K::Ventilator | K::Stock
        )
    });
    let since = |word: &str, date: Option<PartialDate>| {
        date.filter(|date| date.on_or_after(first) == Answer::Yes)
            .map(|date| format!("was {word} in {date}"))
    };
    let built = || since("built", car.built.map(|date| date.value));
    let rebuilt = || since("rebuilt", car.rebuilt.map(|date| date.value));
    let plain = |yes: bool| yes.then(String::new);
    let board = car.running_board.map(|board| board.value);
    match applies {
        Applies::NoAirBrake => plain(has(&car.brake, &["none", "hand"])),
        Applies::LinkAndPin => plain(
            car.couplers
                .as_deref()
                .is_some_and(|couplers| couplers.to_lowercase().contains("link and pin")),
        ),
        Applies::WoodUnderframe => plain(
            car.underframe
                .is_some_and(|frame| frame.value == Underframe::Wood),
        ),
        Applies::ArchBars => plain(car.has_arch_bar_trucks()),
        Applies::TrussSection => plain(has(
            &car.truck,
            &["t-section", "t section", "l-section", "l section"],
        )),
        Applies::KBrakesOnTanks => plain(tank && car.has_k_brakes()),
        Applies::KBrakes => plain(!tank && car.has_k_brakes()),
        Applies::KBrakesOnNewCars => car.has_k_brakes().then(built).flatten(),
        Applies::KBrakesOnRebuiltCars => car.has_k_brakes().then(rebuilt).flatten(),
        Applies::WoodRunningBoardOnNewCars => (house && board == Some(RunningBoard::Wood))
            .then(built)
            .flatten(),
        Applies::RunningBoardOnNewCars => (house
            && board.is_some_and(|board| board != RunningBoard::None))
        .then(built)
        .flatten(),
        Applies::RunningBoard => plain(
            car.kind
                .is_some_and(|kind| matches!(kind.value, CarKind::Boxcar | CarKind::Reefer))
                && board.is_some_and(|board| board != RunningBoard::None),
        ),
        Applies::Age => plain(car.built.is_some()),
        Applies::NotRecorded => None,
    }
}

/// The last day before a car is past its age.
fn age_ends(car: &Car) -> Option<Date> {
    let built = car.built?.value;
    let years = if built.last() < Date::new(1974, 7, 1)? {
        40
    } else {
        50
    };
    let last = built.last();
    Date::new(last.year() + years, last.month(), last.day().min(28))
}

#[cfg(test)]
mod tests {
    use model::{Sources, scale::Scale, text::Reader};

    use super::*;
    use crate::{Context, Era, Roster, car, engine};

    /// Cars and engines from rows under the usual heads, and the context in which SMR is home.
    fn roster(cars: &str, engines: &str) -> (Roster, Context) {
        let mut sources = Sources::default();
        let cars = format!(
            "marks,number,kind,length,built,rebuilt,painted,retired,truck,brake,underframe,running_board\n{cars}"
        );
        let cars = sources.add("cars.csv", cars.as_bytes());
        let engines = sources.add(
            "engines.csv",
            format!("number,kind,length,built,retired\n{engines}").as_bytes(),
        );
        let scale = Scale::new(87.1).unwrap();
        let mut reader = Reader::new(&sources, scale);
        let cars = reader.csv(&car::PAGE, cars);
        let engines = reader.csv(&engine::PAGE, engines);
        let roster = Roster::build(&mut reader, &cars, &engines);
        (
            roster,
            Context {
                era: Era::default(),
                scale,
                own_marks: vec!["SMR".into()],
                country: Country::UnitedStates,
            },
        )
    }

    fn on(year: i16, month: u8, day: u8) -> Allowed {
        let day = Date::new(year, month, day).unwrap();
        Allowed {
            day,
            earliest: day,
            latest: day,
            country: Country::UnitedStates,
        }
    }

    fn one(row: &str, allowed: &Allowed) -> (Standing, Vec<String>) {
        let (roster, context) = roster(row, "");
        let car = &roster.cars[0];
        let judged = judge_car(car, car.is_foreign(&context), allowed);
        (
            judged.standing(),
            judged
                .findings
                .into_iter()
                .map(|finding| finding.sentence)
                .collect(),
        )
    }

    #[test]
    fn dates_that_could_be_either_are_said_to_be_unknown() {
        let row = "BTC,1,boxcar,6 in,1941,,,,,,,";
        assert_eq!(one(row, &on(1941, 10, 14)).0, Standing::Unknown);
        assert_eq!(one(row, &on(1940, 10, 14)).0, Standing::Wrong);
        assert_eq!(one(row, &on(1942, 1, 1)), (Standing::Right, vec![]));
        assert_eq!(
            one("BTC,1,boxcar,6 in,,,,,,,,", &on(1942, 1, 1)).0,
            Standing::Unknown
        );
        assert_eq!(
            one("BTC,1,boxcar,6 in,1920,,1946,,,,,", &on(1942, 1, 1)).0,
            Standing::Wrong
        );
        assert_eq!(
            one("BTC,1,boxcar,6 in,1920,,,1938,,,,", &on(1942, 1, 1)).0,
            Standing::Wrong
        );
    }

    /// Arch-bar trucks barred from 1 July 1940, K brakes from 1 July 1953, those of tank cars from 1 October 1953, as quoted
    /// by students of steam-era freight cars: the day before each is right, and the road's own cars stay right at home.
    #[test]
    fn interchange_rules_hold_from_their_day_and_only_abroad() {
        for (row, first) in [
            ("BTC,1,boxcar,6 in,1915,,,,arch bar,,,", (1940, 7, 1)),
            ("BTC,1,boxcar,6 in,1915,,,,,K,,", (1953, 7, 1)),
            ("BTC,1,tank,6 in,1915,,,,,K,,", (1953, 10, 1)),
            ("BTC,1,gondola,6 in,1915,,,,,,wood,", (1928, 1, 1)),
        ] {
            let first = on(first.0, first.1, first.2);
            let before = first.on(first.day.plus_days(-1).unwrap());
            assert_eq!(one(row, &first).0, Standing::Wrong, "{row}");
            assert_eq!(one(row, &before).0, Standing::Right, "{row}");
            assert_eq!(
                one(&row.replace("BTC", "SMR"), &first).0,
                Standing::Right,
                "{row}"
            );
            let abroad = Allowed {
                country: Country::Elsewhere,
                ..first
            };
            assert_eq!(one(row, &abroad).0, Standing::Right, "{row}");
        }
    }

    #[test]
    fn where_sources_differ_on_a_day_both_are_told() {
        let row = "BTC,1,boxcar,6 in,1915,,,,arch bar,,,";
        let both = "by a supplement to a field guide of 1941";
        assert!(one(row, &on(1941, 3, 1)).1[0].contains(both));
        assert!(!one(row, &on(1941, 8, 1)).1[0].contains(both));
    }

    #[test]
    fn a_car_built_after_ab_brakes_came_in_has_no_k_brakes() {
        let (standing, said) = one("BTC,1,boxcar,6 in,1936,,,,,K,,", &on(1941, 10, 14));
        assert_eq!(standing, Standing::Wrong);
        assert_eq!(
            said,
            [
                "has K brakes, yet was built in 1936: new cars had AB brakes from 1 September 1933 on"
            ]
        );
        assert_eq!(
            one("BTC,1,boxcar,6 in,1933,,,,,K,,", &on(1941, 10, 14)).0,
            Standing::Right
        );
    }

    #[test]
    fn the_days_on_which_a_car_is_right_agree_with_its_judgment() {
        let (roster, context) = roster(
            "BTC,1,boxcar,6 in,1915,,1923-05,,arch bar,K,,wood\nBTC,2,tank,6 in,1930,,,1950,,K,,\nBTC,3,boxcar,6 in,1915,,,,,,,wood",
            "12,steam,9 in,1912,1948-03-01\n",
        );
        for (at, car) in roster.cars.iter().enumerate() {
            let foreign = car.is_foreign(&context);
            let judged = judge_car(car, foreign, &on(1930, 6, 1));
            let until = judged.until.unwrap();
            assert_eq!(
                judge_car(car, foreign, &on(1930, 6, 1).on(until)).standing(),
                Standing::Right,
                "{at}"
            );
            let after = Allowed {
                earliest: until.plus_days(1).unwrap(),
                ..on(1930, 6, 1).on(until.plus_days(1).unwrap())
            };
            assert_eq!(
                judge_car(car, foreign, &after).standing(),
                Standing::Wrong,
                "{at}"
            );
        }
        let engine = judge_engine(&roster.engines[0], &on(1930, 1, 1));
        assert_eq!(
            (engine.standing(), engine.until),
            (Standing::Right, Date::new(1948, 3, 1))
        );
    }

    #[test]
    fn moving_to_another_year_says_what_would_have_to_change() {
        let (roster, context) = roster(
            "BTC,1,boxcar,6 in,1915,,,,,K,,\nBTC,2,boxcar,6 in,1938,,,,,AB,,\nBTC,3,boxcar,6 in,1956,,,,,AB,,\nSMR,4,boxcar,6 in,1915,,,,,K,,",
            "12,steam,9 in,1912,1948\n",
        );
        let now = on(1941, 10, 14);
        let (changes, freed) = super::super::moving(&roster, &context, &now, &on(1957, 1, 1));
        let said: Vec<_> = changes
            .iter()
            .map(|change| (&*change.mend, change.names.join(" ")))
            .collect();
        assert_eq!(
            said,
            [
                ("give it AB brakes", "BTC 1".to_owned()),
                ("keep it off the railroad", "engine 12".to_owned())
            ]
        );
        assert_eq!(freed, ["BTC 3"]);
    }
}
