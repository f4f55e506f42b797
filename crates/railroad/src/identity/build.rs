//! The identity of a railroad, built from its page.

use engineering::{
    limits::PlanOverrides,
    turnout::{FrogStyle, PointStyle, Practice, Standard, TieTable, TurnoutRules},
};
use mechanical::era::Country;
use model::{
    Span, Spanned,
    date::{Date, PartialDate},
    scale::ScaleAndGauge,
    text::{Noun, Reader, Record},
    time::{RailSpan, RailTime, TimeStyle},
    units::{Actual, Fraction, Grade, LengthStyle, Prototype},
};

use super::rules::{
    date_before_equipment, equipment_span_backwards, newer_format, older_format, unreadable_scale,
};

/// The layout of the folder that this program writes and reads.
const FORMAT: i64 = 1;

/// Which railroad this is, when, and at what scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Identity {
    /// Its name.
    pub name: String,
    /// Its own reporting marks.
    pub marks: String,
    /// Scale and gauge. HO until the page says so rightly.
    pub scale: ScaleAndGauge,
    /// The modelled day, if it could be read.
    pub date: Option<Spanned<Date>>,
    /// The first day of the span equipment may come from.
    pub equipment_from: Option<Spanned<PartialDate>>,
    /// The last day of the span equipment may come from; the modelled day if none is written.
    pub equipment_to: Option<Spanned<PartialDate>>,
    /// Whose interchange rules hold.
    pub country: Country,
    /// Difference from Greenwich, as written.
    pub time_zone: Option<String>,
    /// Where the region would be.
    pub place: Option<Place>,
    /// How lengths are printed.
    pub units: UnitsStyle,
    /// How times are printed.
    pub clock_face: ClockFace,
    /// Railroad minutes in a real one.
    pub clock: f64,
    /// The part of the day that is run.
    pub session: Option<Session>,
    /// What the owner builds to.
    pub limits: Limits,
    /// How turnouts are built.
    pub turnouts: TurnoutRules,
    /// Other railroads.
    pub roads: Vec<Road>,
    /// Divisions, by name.
    pub divisions: Vec<(String, Option<String>)>,
}

/// A point on the earth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Degrees, north positive.
    pub latitude: f64,
    /// Degrees, east positive.
    pub longitude: f64,
    /// Height above the sea.
    pub elevation: Option<Prototype>,
}

/// How the owner likes lengths on the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnitsStyle {
    /// 12'-6 1/2".
    FeetAndInches,
    /// 150 1/2 in.
    Inches,
    /// Millimetres and metres.
    Metric,
}

impl UnitsStyle {
    /// A length on the model as the owner likes it.
    pub fn show(self, length: Actual) -> String {
        let style = match self {
            // Nobody says "nought feet six".
            Self::FeetAndInches if length.abs() < Actual::from_feet(1.0) => {
                LengthStyle::InchFractions(Fraction::Quarter)
            }
            Self::FeetAndInches => LengthStyle::FeetInches(Fraction::Quarter),
            Self::Inches => LengthStyle::InchFractions(Fraction::Quarter),
            Self::Metric if length.abs() < Actual::from_meters(1.0) => {
                LengthStyle::Millimeters { decimals: 0 }
            }
            Self::Metric => LengthStyle::Meters { decimals: 2 },
        };
        length.show(style).to_string()
    }
}

/// How the owner likes times of day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockFace {
    /// 7:05 PM.
    Twelve,
    /// 19:05.
    TwentyFour,
}

impl ClockFace {
    /// How a time is shown by it.
    pub const fn style(self) -> TimeStyle {
        match self {
            Self::Twelve => TimeStyle::AmPm,
            Self::TwentyFour => TimeStyle::TwentyFour,
        }
    }
}

/// The part of the day that is run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Session {
    /// What the fast clock shows at the start.
    pub begins: RailTime,
    /// How long it lasts by the clock on the wall.
    pub real_time: RailSpan,
    /// Where it is written.
    pub span: Span,
}

/// What the owner builds to.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Limits {
    /// Steepest grade.
    pub grade: Option<Grade>,
    /// Sharpest curve.
    pub radius: Option<Actual>,
    /// Smallest frog number.
    pub frog_number: Option<f64>,
    /// Longest train.
    pub train_length: Option<Actual>,
    /// Longest car that is to run.
    pub car_length: Option<Actual>,
    /// Spacing of parallel tracks.
    pub track_centers: Option<Actual>,
    /// What alignments and rooms are judged by.
    pub plan: PlanOverrides,
}

/// Another railroad.
#[derive(Debug, Clone, PartialEq)]
pub struct Road {
    /// Its reporting marks.
    pub marks: String,
    /// Its full name.
    pub name: String,
    /// What it is to this railroad.
    pub kind: RoadKind,
    /// The owner's words on it.
    pub about: Option<String>,
}

/// What another road is to this one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RoadKind {
    /// Another set of this railroad's own marks.
    Own,
    /// Another railroad.
    Foreign,
    /// Its track is used in common.
    Joint,
    /// An owner of cars that is no railroad.
    Private,
}

impl Default for Identity {
    fn default() -> Self {
        let scale = ScaleAndGauge::parse("HO").unwrap_or_else(|_| unreachable!("HO is listed"));
        Self {
            name: "Unnamed railroad".into(),
            marks: String::new(),
            scale,
            date: None,
            equipment_from: None,
            equipment_to: None,
            country: Country::UnitedStates,
            time_zone: None,
            place: None,
            units: UnitsStyle::FeetAndInches,
            clock_face: ClockFace::Twelve,
            clock: 4.0,
            session: None,
            limits: Limits::default(),
            turnouts: TurnoutRules::default(),
            roads: Vec::new(),
            divisions: Vec::new(),
        }
    }
}

impl Identity {
    /// What the owner builds to, as the way is judged by it.
    pub fn way_limits(&self) -> engineering::Limits {
        let scale = &self.scale;
        let standard = engineering::Limits::new(scale.scale, scale.gauge);
        engineering::Limits {
            track_centers: self.limits.track_centers.unwrap_or(standard.track_centers),
            grade: self.limits.grade,
            radius: self.limits.radius,
            frog_number: self.limits.frog_number,
            plan: self.limits.plan.over(standard.plan),
            leads: self.turnouts.leads(scale),
            ..standard
        }
    }

    /// Reads the page's record. What is missing keeps its default.
    pub(crate) fn build(record: &Record, reader: &mut Reader<'_>) -> Self {
        let mut identity = Self::default();
        if let Some(format) = record.whole("format") {
            if *format > FORMAT {
                reader
                    .out
                    .push(newer_format::diagnostic(*format, FORMAT, format.span));
            } else if *format < FORMAT {
                reader
                    .out
                    .push(older_format::diagnostic(*format, FORMAT, format.span));
            }
        }
        if let Some(text) = record.text("scale")
            && let Some(scale) = scale(&text, reader)
        {
            identity.scale = scale;
        }
        if let Some(name) = record.text("name") {
            identity.name = name.to_string();
        }
        if let Some(marks) = record.text("marks") {
            identity.marks = marks.to_string();
        }
        identity.date = record.date("date");
        identity.equipment_from = record.partial_date("equipment_from");
        identity.equipment_to = record.partial_date("equipment_to");
        if let (Some(from), Some(to)) = (&identity.equipment_from, &identity.equipment_to)
            && to.last() < from.first()
        {
            reader
                .out
                .push(equipment_span_backwards::diagnostic(from.span, to.span));
        }
        if let (Some(date), Some(from)) = (&identity.date, &identity.equipment_from)
            && date.value < from.first()
        {
            reader
                .out
                .push(date_before_equipment::diagnostic(date.span, from.span));
        }
        if let Some(country) = Country::read(record, "country") {
            identity.country = country.value;
        }
        identity.time_zone = record.text("time_zone").map(|zone| zone.to_string());
        identity.place = record.table("place").and_then(|place| {
            Some(Place {
                latitude: *place.number("latitude")?,
                longitude: *place.number("longitude")?,
                elevation: place.full_size("elevation").map(|height| height.value),
            })
        });
        identity.units = match record.word("units").map(|word| word.value) {
            Some("inches") => UnitsStyle::Inches,
            Some("metric") => UnitsStyle::Metric,
            _ => UnitsStyle::FeetAndInches,
        };
        identity.clock_face = match record.word("clock_face").map(|word| word.value) {
            Some("24 hour") => ClockFace::TwentyFour,
            _ => ClockFace::Twelve,
        };
        if let Some(clock) = record.number("clock") {
            identity.clock = *clock;
        }
        identity.session = record.table("session").and_then(|session| {
            Some(Session {
                begins: *session.time("begins")?,
                real_time: *session.duration("real_time")?,
                span: session.span,
            })
        });
        if let Some(limits) = record.table("limits") {
            identity.limits = Limits {
                grade: limits.grade("grade").map(|grade| grade.value),
                radius: limits.radius("radius").map(|radius| radius.value),
                frog_number: limits.number("frog_number").map(|number| number.value),
                train_length: limits.length("train_length").map(|length| length.value),
                car_length: limits.length("car_length").map(|length| length.value),
                track_centers: limits.length("track_centers").map(|length| length.value),
                plan: PlanOverrides {
                    between_reverse: limits.length("reverse_tangent").map(|length| length.value),
                    between_cars: limits.length("car_gap").map(|length| length.value),
                    beside_cars: limits.length("side_clearance").map(|length| length.value),
                    overhead: limits.length("overhead").map(|length| length.value),
                    roadbed: limits.length("roadbed").map(|length| length.value),
                    reach: limits.length("reach").map(|length| length.value),
                    aisle: limits.length("aisle").map(|length| length.value),
                    lowest: limits.length("lowest").map(|length| length.value),
                    highest: limits.length("highest").map(|length| length.value),
                    couplers: limits
                        .length("coupler_difference")
                        .map(|length| length.value),
                },
            };
        }
        if let Some(turnouts) = record.table("turnouts") {
            identity.turnouts = TurnoutRules {
                practice: Practice::read(turnouts, "practice").map(|word| word.value),
                standard: Standard::read(turnouts, "standard").map(|word| word.value),
                rail: turnouts
                    .whole("rail")
                    .and_then(|code| u16::try_from(code.value).ok()),
                points: PointStyle::read(turnouts, "points").map(|word| word.value),
                frog: FrogStyle::read(turnouts, "frog").map(|word| word.value),
                ties: TieTable::read(turnouts, "ties").map(|word| word.value),
            };
        }
        for (marks, road) in record.named("roads") {
            identity.roads.push(Road {
                marks: marks.value.clone(),
                name: road
                    .text("name")
                    .map(|name| name.to_string())
                    .unwrap_or_default(),
                kind: match road.word("kind").map(|word| word.value) {
                    Some("own") => RoadKind::Own,
                    Some("joint") => RoadKind::Joint,
                    Some("private") => RoadKind::Private,
                    _ => RoadKind::Foreign,
                },
                about: road.text("about").map(|about| about.to_string()),
            });
        }
        // The railroad itself is a road too: its track and cars may say whose they are.
        if let Some(marks) = record.text("marks")
            && reader.names.find(Noun::Road, marks.value).is_none()
        {
            reader
                .names
                .declare(Noun::Road, marks.value, marks.span, &mut reader.out);
        }
        for (name, division) in record.named("divisions") {
            let about = division.text("about").map(|about| about.to_string());
            identity.divisions.push((name.value.clone(), about));
        }
        identity
    }
}

fn scale(text: &Spanned<&str>, reader: &mut Reader<'_>) -> Option<ScaleAndGauge> {
    match ScaleAndGauge::parse(text.value) {
        Ok(scale) => Some(scale),
        Err(error) => {
            reader.out.push(unreadable_scale::diagnostic(text, &error));
            None
        }
    }
}
