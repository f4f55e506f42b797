//! Amounts in words.

use engineering::turnout::Amount;

/// A frog number: `6`, `6.5`, `2.98`.
pub fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Degrees, minutes and seconds: `9°31′38″`.
pub fn angle(radians: f64) -> String {
    let seconds = (radians.to_degrees() * 3600.0).round() as i64;
    format!(
        "{}°{:02}′{:02}″",
        seconds / 3600,
        seconds / 60 % 60,
        seconds % 60
    )
}

/// Rounded, and without the sign of a negative nought.
fn whole(value: f64, parts: f64) -> f64 {
    (value * parts).round() / parts + 0.0
}

/// Millimetres to a hundredth.
pub fn mm(metres: f64) -> String {
    format!("{:.2} mm", whole(metres * 1000.0, 100.0))
}

/// Inches to a thousandth.
pub fn inches(metres: f64) -> String {
    format!("{:.3} in", whole(metres / 0.0254, 1000.0))
}

/// An amount in two columns: metric and inches, or degrees in both ways.
pub fn amount(amount: &Amount) -> [String; 2] {
    match amount {
        Amount::Length(metres) => [mm(*metres), inches(*metres)],
        Amount::Angle(radians) => [angle(*radians), format!("{:.4}°", radians.to_degrees())],
        Amount::Number(value) => [number(*value), String::new()],
        Amount::Text(text) => [text.clone(), String::new()],
    }
}
