//! Control points of a center line: what of its description can be moved, read from the fields of a
//! form, shifted, and written again as its owner writes.

use engineering::{
    alignment::{
        Located,
        plan::{Begin, CenterLine, Element, End, Measure},
    },
    curve::Place,
};
use maud::{Markup, html};
use model::units::Actual;
use railroad::edit::Step;

use crate::forms::{
    changes::{Sent, sent},
    document::{Document, path_text, place, step},
};

/// What is moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Where the center line begins.
    Begin,
    /// Where it is to end.
    End,
    /// One of its elements.
    Element(usize),
}

/// What a field says of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    X,
    Y,
    Bearing,
    Length,
    Radius,
    Angle,
}

/// One value of a control point.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    role: Role,
    /// The field's name in the form.
    pub name: String,
    /// Its value as written.
    pub text: String,
}

/// A control point with its values.
#[derive(Debug, Clone, PartialEq)]
pub struct Handle {
    part: Part,
    label: String,
    /// Its values.
    pub fields: Vec<Field>,
}

/// By how much a control point is moved: metres, and degrees to the right.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Move {
    x: f64,
    y: f64,
    turn: f64,
    along: f64,
    radius: f64,
}

impl Move {
    /// What a form asks for; what is no number is nothing.
    pub fn of(form: &Sent) -> Self {
        let number = |name: &str| {
            sent(form, name)
                .and_then(|value| value.parse::<f64>().ok())
                .filter(|value| value.abs() < 1000.0)
                .unwrap_or(0.0)
        };
        Self {
            x: number("x"),
            y: number("y"),
            turn: number("turn"),
            along: number("along"),
            radius: number("radius"),
        }
    }
}

/// The control points of a center line, from its record in the document.
pub fn handles(
    document: &Document,
    record: &[Step],
    located: &Located,
    line: usize,
) -> Vec<Handle> {
    let plan = &located.plan.lines[line];
    let field = |role: Role, path: Vec<Step>| {
        Some(Field {
            role,
            text: document.text(&path)?,
            name: format!("v:{}", path_text(&path)),
        })
    };
    let mut found = Vec::new();
    for (part, key, label) in [
        (Part::Begin, "begin", "Beginning"),
        (Part::End, "end", "End"),
    ] {
        let there = match part {
            Part::Begin => matches!(plan.begin, Begin::At(_)),
            _ => matches!(plan.end, End::At(_)),
        };
        let table = step(record, key);
        let at = step(&table, "at");
        let fields = [
            field(Role::X, place(&at, 0)),
            field(Role::Y, place(&at, 1)),
            field(Role::Bearing, step(&table, "bearing")),
        ];
        if there && let [Some(x), Some(y), Some(bearing)] = fields {
            found.push(Handle {
                part,
                label: label.to_owned(),
                fields: vec![x, y, bearing],
            });
        }
    }
    let elements = step(record, "elements");
    for (at, element) in plan.elements.iter().enumerate() {
        let path = place(&elements, at);
        let one = |role: Role, key: &str| field(role, step(&path, key));
        let (label, fields) = match element {
            Element::Tangent { .. } => ("tangent", vec![one(Role::Length, "tangent")]),
            Element::Curve { turn, by, .. } => {
                let hand = if *turn > 0.0 { "left" } else { "right" };
                let far = match by {
                    Measure::Angle(_) => one(Role::Angle, "angle"),
                    Measure::Length(_) => one(Role::Length, "length"),
                    Measure::Heading(_) => one(Role::Bearing, "bearing"),
                };
                // A curve by its degree keeps that: it is changed in its field.
                let radius =
                    one(Role::Radius, hand).filter(|radius| Actual::parse(&radius.text).is_ok());
                let label = if *turn > 0.0 {
                    "curve to the left"
                } else {
                    "curve to the right"
                };
                (label, vec![radius, far])
            }
            Element::Parallel {
                length: Some(_), ..
            } => ("parallel", vec![one(Role::Length, "length")]),
            Element::Connect { .. } => ("connection", vec![one(Role::Radius, "connect")]),
            _ => continue,
        };
        let fields: Vec<Field> = fields.into_iter().flatten().collect();
        if !fields.is_empty() {
            found.push(Handle {
                part: Part::Element(at),
                label: format!("{}. {label}", at + 1),
                fields,
            });
        }
    }
    found
}

/// Where control points are drawn: their name, what they are, where, and whether they move freely.
pub fn places(located: &Located, line: usize) -> Vec<(String, String, Place, bool)> {
    let plan = &located.plan.lines[line];
    let mut found = Vec::new();
    let path = located.path(line);
    if let Begin::At(at) = plan.begin {
        found.push(("begin".to_owned(), "Beginning".to_owned(), at, true));
    }
    let laid = located.solved.lines.get(line).and_then(Option::as_ref);
    for (at, element) in plan.elements.iter().enumerate() {
        let label = match element {
            Element::Tangent { .. } => "End of tangent",
            Element::Curve { .. } => "End of curve",
            Element::Parallel {
                length: Some(_), ..
            } => "End of parallel",
            Element::Connect { .. } => "Connection",
            _ => continue,
        };
        let end = laid
            .and_then(|laid| laid.reach.get(at))
            .map(|reach| reach[1]);
        if let Some(end) = end
            .zip(path)
            .and_then(|(end, path)| path.at(end.min(path.length())))
        {
            found.push((format!("e{at}"), format!("{label} {}", at + 1), end, false));
        }
    }
    if let End::At(at) = plan.end {
        found.push(("end".to_owned(), "End".to_owned(), at, true));
    }
    found
}

impl Handle {
    /// Its name among the control points.
    pub fn id(&self) -> String {
        match self.part {
            Part::Begin => "begin".to_owned(),
            Part::End => "end".to_owned(),
            Part::Element(at) => format!("e{at}"),
        }
    }

    /// Takes the values of a form, as far as they can be read, into the center line.
    pub fn take(&mut self, form: &Sent, line: &mut CenterLine) {
        for field in &mut self.fields {
            let Some(text) = sent(form, &field.name) else {
                continue;
            };
            if let Some(value) = read(field.role, text) {
                text.trim().clone_into(&mut field.text);
                set(line, self.part, field.role, value);
            }
        }
    }

    /// Shifts it: the center line and the values as they would be written.
    pub fn shift(&mut self, by: &Move, line: &mut CenterLine) {
        for field in &mut self.fields {
            let Some(value) = get(line, self.part, field.role) else {
                continue;
            };
            let radius = get(line, self.part, Role::Radius).unwrap_or(f64::INFINITY);
            let turned = (by.along / radius).to_degrees();
            let more = match (field.role, self.part) {
                (Role::X, _) => by.x,
                (Role::Y, _) => by.y,
                (Role::Bearing, Part::Element(at)) => turned * -hand(line, at),
                (Role::Bearing, _) => by.turn,
                (Role::Length, _) => by.along,
                (Role::Angle, _) => turned,
                (Role::Radius, _) => by.radius,
            };
            if more == 0.0 {
                continue;
            }
            let value = match field.role {
                Role::X | Role::Y => value + more,
                Role::Length | Role::Radius => (value + more).max(0.006_35),
                Role::Angle => (value + more).max(0.1),
                Role::Bearing => (value + more).rem_euclid(360.0),
            };
            field.text = words(field.role, value, &field.text);
            // What is drawn is what would be written.
            if let Some(value) = read(field.role, &field.text) {
                set(line, self.part, field.role, value);
            }
        }
    }
}

fn hand(line: &CenterLine, at: usize) -> f64 {
    match line.elements.get(at) {
        Some(Element::Curve { turn, .. }) => *turn,
        _ => 1.0,
    }
}

/// Metres, or degrees.
fn read(role: Role, text: &str) -> Option<f64> {
    match role {
        Role::X | Role::Y | Role::Length | Role::Radius => {
            Actual::parse(text).ok().map(Actual::meters)
        }
        Role::Bearing | Role::Angle => text.trim().parse().ok(),
    }
}

fn bearing(heading: f64) -> f64 {
    90.0 - heading.to_degrees()
}

fn get(line: &CenterLine, part: Part, role: Role) -> Option<f64> {
    let of_place = |place: &Place| match role {
        Role::X => Some(place.x),
        Role::Y => Some(place.y),
        Role::Bearing => Some(bearing(place.heading)),
        _ => None,
    };
    match part {
        Part::Begin => match &line.begin {
            Begin::At(place) => of_place(place),
            _ => None,
        },
        Part::End => match &line.end {
            End::At(place) => of_place(place),
            _ => None,
        },
        Part::Element(at) => match (line.elements.get(at)?, role) {
            (Element::Tangent { length, .. }, Role::Length) => Some(*length),
            (Element::Curve { radius, .. } | Element::Connect { radius, .. }, Role::Radius) => {
                Some(*radius)
            }
            (Element::Parallel { length, .. }, Role::Length) => *length,
            (Element::Curve { by, .. }, _) => match (*by, role) {
                (Measure::Length(length), Role::Length) => Some(length),
                (Measure::Angle(angle), Role::Angle) => Some(angle.to_degrees()),
                (Measure::Heading(heading), Role::Bearing) => Some(bearing(heading)),
                _ => None,
            },
            _ => None,
        },
    }
}

fn set(line: &mut CenterLine, part: Part, role: Role, value: f64) {
    let at_place = |place: &mut Place| match role {
        Role::X => place.x = value,
        Role::Y => place.y = value,
        Role::Bearing => place.heading = (90.0 - value).to_radians(),
        _ => {}
    };
    match part {
        Part::Begin => {
            if let Begin::At(place) = &mut line.begin {
                at_place(place);
            }
        }
        Part::End => {
            if let End::At(place) = &mut line.end {
                at_place(place);
            }
        }
        Part::Element(at) => match (line.elements.get_mut(at), role) {
            (Some(Element::Tangent { length, .. }), Role::Length) => *length = value,
            (
                Some(Element::Curve { radius, .. } | Element::Connect { radius, .. }),
                Role::Radius,
            ) => *radius = value,
            (Some(Element::Parallel { length, .. }), Role::Length) => *length = Some(value),
            (Some(Element::Curve { by, .. }), _) => match (by, role) {
                (Measure::Length(length), Role::Length) => *length = value,
                (Measure::Angle(angle), Role::Angle) => *angle = value.to_radians(),
                (Measure::Heading(heading), Role::Bearing) => {
                    *heading = (90.0 - value).to_radians();
                }
                _ => {}
            },
            _ => {}
        },
    }
}

/// A value in the manner of what stood there: to a quarter of an inch, a millimetre or a tenth of a degree.
fn words(role: Role, value: f64, like: &str) -> String {
    match role {
        Role::Bearing | Role::Angle => {
            let tenths = (value * 10.0).round() / 10.0;
            format!("{tenths}")
        }
        _ => length_like(value, like),
    }
}

fn length_like(metres: f64, like: &str) -> String {
    let plain = like.trim().to_lowercase();
    let mm = (metres * 1000.0).round();
    if plain.ends_with("mm") {
        return format!("{mm:.0} mm");
    }
    if plain.ends_with("cm") {
        return format!("{:.1} cm", mm / 10.0);
    }
    if plain.ends_with('m') {
        return format!("{:.3} m", mm / 1000.0);
    }
    let quarters = (metres / 0.025_4 * 4.0).round() as i64;
    let sign = if quarters < 0 { "-" } else { "" };
    let quarters = quarters.abs();
    let (feet, inches, part) = (quarters / 48, quarters % 48 / 4, quarters % 4);
    let part = ["", "1/4", "1/2", "3/4"][part as usize];
    let inches = match (inches, part) {
        (0, "") if feet > 0 => String::new(),
        (0, part) if !part.is_empty() => format!("{part} in"),
        (inches, "") => format!("{inches} in"),
        (inches, part) => format!("{inches} {part} in"),
    };
    let feet = match feet {
        0 => String::new(),
        feet => format!("{feet} ft"),
    };
    let between = if feet.is_empty() || inches.is_empty() {
        ""
    } else {
        " "
    };
    format!("{sign}{feet}{between}{inches}")
}

/// The control points as a table of fields.
pub fn table(handles: &[Handle]) -> Markup {
    html! {
        table.grid {
            thead { tr { th scope="col" { "Point" } th scope="col" { "Values" } } }
            tbody {
                @for handle in handles {
                    tr data-of=(handle.id()) {
                        th scope="row" { (handle.label) }
                        td {
                            @for field in &handle.fields {
                                @let word = match field.role {
                                    Role::X => "to the right", Role::Y => "up the plan", Role::Bearing => "bearing, degrees",
                                    Role::Length => "length", Role::Radius => "radius", Role::Angle => "angle, degrees",
                                };
                                label.value { span { (word) }
                                    input id=(field.name) name=(field.name) value=(field.text) size="10" autocomplete="off"; }
                                " "
                            }
                        }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_written_as_they_stood() {
        for (metres, like, text) in [
            (0.3048, "2 ft", "1 ft"),
            (0.546_1, "21 1/2 in", "1 ft 9 1/2 in"),
            (0.006_35, "1 in", "1/4 in"),
            (0.0, "1 in", "0 in"),
            (-0.330_2, "6 in", "-1 ft 1 in"),
            (1.2341, "3 m", "1.234 m"),
            (1.2341, "300 cm", "123.4 cm"),
            (1.2346, "300 mm", "1235 mm"),
        ] {
            assert_eq!(length_like(metres, like), text);
            if metres >= 0.0 {
                let read = Actual::parse(text).unwrap().meters();
                assert!((read - metres).abs() < 0.0032, "{text}");
            }
        }
    }
}
