//! Numbers, times and names as the pages print them.

use engineering::{
    ids::LineId,
    line::{Line, LineKind},
};
use model::{
    date::DateStyle,
    time::{RailSpan, RailTime},
    units::{Actual, Weight, WeightStyle},
};
use railroad::{Railroad, identity::UnitsStyle};

/// An address within the office: `["stations", "Port Corvane"]`.
pub fn url(parts: &[&str]) -> String {
    let mut url = String::new();
    for part in parts {
        url.push('/');
        url.push_str(&escape(part));
    }
    url
}

/// A text as a part of an address.
pub fn escape(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'_' | b'.' | b'~' => {
                out.push(char::from(byte));
            }
            _ => out.push_str(&format!("%{byte:02X}")),
        }
    }
    out
}

/// The lines, mains before branches.
pub fn lines(railroad: &Railroad) -> Vec<(LineId, &Line)> {
    let mut lines: Vec<(LineId, &Line)> = railroad.way.lines().collect();
    lines.sort_by_key(|(_, line)| line.kind != LineKind::Main);
    lines
}

/// A length in the owner's units.
pub fn length(railroad: &Railroad, length: Actual) -> String {
    railroad.identity.units.show(length)
}

/// A time by the owner's clock face.
pub fn time(railroad: &Railroad, time: RailTime) -> String {
    let style = railroad.identity.clock_face.style();
    time.show(style).to_string()
}

/// A planned time, to the minute: seconds are the solver's affair.
pub fn minute(railroad: &Railroad, at: RailTime) -> String {
    let whole = (at.seconds() + 30).div_euclid(60) * 60;
    time(railroad, RailTime::from_seconds(whole))
}

/// A length of time: `25 min`, `3 h 10 min`.
pub fn span(span: RailSpan) -> String {
    let minutes = (span.seconds() + 30).div_euclid(60);
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

/// A weight of the model.
pub fn model_weight(railroad: &Railroad, weight: Weight) -> String {
    let style = match railroad.identity.units {
        UnitsStyle::Metric => WeightStyle::Grams { decimals: 0 },
        _ => WeightStyle::Ounces { decimals: 1 },
    };
    weight.show(style).to_string()
}

/// A full-size weight.
pub fn tons(weight: Weight) -> String {
    weight
        .show(WeightStyle::ShortTons { decimals: 0 })
        .to_string()
}

/// The modelled day as at the head of a form.
pub fn day(railroad: &Railroad) -> Option<String> {
    let date = railroad.identity.date?.value;
    Some(date.show(DateStyle::Full).to_string())
}

/// A figure with no more places than it needs.
pub fn figure(value: f64) -> String {
    if (value - value.round()).abs() < 0.05 {
        format!("{value:.0}")
    } else {
        format!("{value:.1}")
    }
}

/// `1 car`, `12 cars`.
pub fn count(number: usize, one: &str, many: &str) -> String {
    match number {
        1 => format!("1 {one}"),
        _ => format!("{number} {many}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_go_into_addresses_and_come_out_whole() {
        assert_eq!(
            url(&["stations", "Port Corvane"]),
            "/stations/Port%20Corvane"
        );
        assert_eq!(url(&["x", "a/b?c%"]), "/x/a%2Fb%3Fc%25");
    }

    #[test]
    fn spans_are_in_hours_and_minutes() {
        let read = |minutes| span(RailSpan::from_minutes(minutes));
        assert_eq!(read(25), "25 min");
        assert_eq!(read(120), "2 h");
        assert_eq!(read(190), "3 h 10 min");
    }
}
