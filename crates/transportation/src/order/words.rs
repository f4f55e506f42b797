//! Orders and clearances as they are handed out, in our own wording and layout.

use std::fmt::Write as _;

use model::time::{RailTime, TimeStyle};

use super::{Body, Clearance, Order, RunNo, Territory, To};

impl Body {
    /// The order's sentence.
    pub fn sentence(&self, territory: &Territory, style: TimeStyle) -> String {
        let title = |run: &RunNo| territory.run(*run).title();
        let name = |place: &super::PlaceNo| territory.place(*place).name.as_str();
        let time = |time: &RailTime| time.show(style).to_string();
        match self {
            Self::Meet { train, others } => {
                // Meets at one place are told together.
                let mut parts: Vec<(super::PlaceNo, Vec<String>)> = Vec::new();
                for (other, at) in others {
                    match parts.last_mut() {
                        Some((place, trains)) if place == at => trains.push(title(other)),
                        _ => parts.push((*at, vec![title(other)])),
                    }
                }
                let parts: Vec<String> = parts
                    .iter()
                    .map(|(at, trains)| format!("{} at {}", list(trains), name(at)))
                    .collect();
                format!("{} will meet {}.", title(train), list(&parts))
            }
            Self::Ahead { first, seconds } => {
                let parts: Vec<String> = seconds
                    .iter()
                    .map(|(second, from, to)| {
                        format!("{} from {} to {}", title(second), name(from), name(to))
                    })
                    .collect();
                format!("{} will run ahead of {}.", title(first), list(&parts))
            }
            Self::RightOver {
                first,
                over,
                from,
                to,
            } => format!(
                "{} has right over {} from {} to {}.",
                title(first),
                title(over),
                name(from),
                name(to)
            ),
            Self::RunLate {
                train,
                late,
                from,
                to,
            } => format!(
                "{} will run {late} late from {} to {}.",
                title(train),
                name(from),
                name(to)
            ),
            Self::Wait { train, at } => {
                let parts: Vec<String> = at
                    .iter()
                    .map(|(place, until)| format!("at {} until {}", name(place), time(until)))
                    .collect();
                format!("{} will wait {}.", title(train), list(&parts))
            }
            Self::Extra { train, from, to } => format!(
                "{} will run from {} to {} as an extra train.",
                title(train),
                name(from),
                name(to)
            ),
            Self::WorkExtra {
                train,
                hours: [from, to],
                limits: [low, high],
            } => format!(
                "{} will work as an extra train from {} to {} between {} and {}.",
                title(train),
                time(from),
                time(to),
                name(low),
                name(high)
            ),
            Self::Hold { train, at } => format!("Hold {} at {}.", title(train), name(at)),
            Self::AnnulSchedule { train } => format!("{} does not run today.", title(train)),
            Self::AnnulOrder { number } => format!("Order {number} is annulled."),
            Self::AnnulPart { number, part } => {
                let said = part.sentence(territory, style);
                format!(
                    "That part of order {number} which says \u{201c}{}\u{201d} is annulled.",
                    said.trim_end_matches('.')
                )
            }
            Self::InsteadOf { number, body } => format!(
                "{} This instead of order {number}.",
                body.sentence(territory, style)
            ),
        }
    }
}

fn list(parts: &[String]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.clone(),
        [init @ .., last] => format!("{} and {last}", init.join(", ")),
    }
}

const WIDTH: usize = 64;

/// An order on a sheet of its own.
pub fn order_sheet(territory: &Territory, order: &Order, style: TimeStyle) -> String {
    let signed = order.copies.iter().any(|copy| copy.signed);
    let head = format!("ORDER {}", order.number);
    let form = if signed { "Form 31" } else { "Form 19" };
    let mut text = format!("{head}{form:>width$}\n", width = WIDTH - head.len());
    let _ = writeln!(text, "{}", "-".repeat(WIDTH));
    for copy in &order.copies {
        let place = &territory.place(copy.at).name;
        let last = &territory.place(copy.last).name;
        let to = match copy.to {
            To::Train(run) => format!("Conductor and engineer, {}", territory.run(run).title()),
            To::Operator => "Operator".to_owned(),
        };
        let late = if copy.at == copy.last {
            " (not later)".to_owned()
        } else {
            format!(" (at the latest {last})")
        };
        let sign = if copy.signed {
            "; to be signed for"
        } else {
            ""
        };
        let _ = writeln!(text, "  {to}, at {place}{late}{sign}");
    }
    text.push('\n');
    for line in wrapped(&order.body.sentence(territory, style), WIDTH - 4) {
        let _ = writeln!(text, "    {line}");
    }
    let foot = format!("Complete {}", order.complete.show(style));
    let letter = format!("letter {}", order.body.form());
    let _ = writeln!(
        text,
        "\n  {foot}{letter:>width$}",
        width = WIDTH - 2 - foot.len()
    );
    text
}

/// A clearance.
pub fn clearance_sheet(territory: &Territory, clearance: &Clearance, style: TimeStyle) -> String {
    let orders = if clearance.orders.is_empty() {
        "no orders".to_owned()
    } else {
        let numbers: Vec<String> = clearance.orders.iter().map(u32::to_string).collect();
        let word = if numbers.len() == 1 {
            "order"
        } else {
            "orders"
        };
        format!("{} {word}: {}", numbers.len(), list(&numbers))
    };
    let minute = RailTime::from_seconds(clearance.time.seconds().div_euclid(60) * 60);
    format!(
        "  {:<12}{:<20}{:<20}{orders}\n",
        minute.show(style).to_string(),
        territory.run(clearance.train).title(),
        territory.place(clearance.at).name,
    )
}

fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        let line = lines.last_mut().expect("there is always a line");
        if line.is_empty() {
            line.push_str(word);
        } else if line.chars().count() + 1 + word.chars().count() <= width {
            line.push(' ');
            line.push_str(word);
        } else {
            lines.push(word.to_owned());
        }
    }
    lines
}
