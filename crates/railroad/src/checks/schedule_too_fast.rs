//! A train's times would need an impossible speed.

use model::{
    Diagnostics, Rule, Severity, Spanned,
    time::RailTime,
    units::{Prototype, Speed},
};
use transportation::TrainKind;

use super::context::{Context, Step};

/// A train's times would need an impossible speed.
pub static RULE: Rule = Rule {
    code: "schedule-too-fast",
    severity: Severity::Warning,
    title: "A train's times would need an impossible speed.",
    explain: "The speed is that of the model at scale, by the fast clock, over the open line between \
              two timed stations; gaps in the line count as scheduled miles. It is judged by the speed \
              allowed on the line, by half as much again where none is written and 80 mph.",
    fixture: r#"
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Birch"
leave = "8:00 AM"
arrive = "8:00:20 AM"
engines = ["12"]
"#,
    rendered: r#"
warning[schedule-too-fast]: train 1 would need 238 mph from Alder to Birch; 80 mph is allowed
 --> trains.toml:7:11
  |
6 | leave = "8:00 AM"
  |          ------- it leaves
7 | arrive = "8:00:20 AM"
  |           ^^^^^^^^^^
  |
  = help: allow at least 1 min
"#,
    file: file!(),
};

/// Between timed stations. Stops and the tracks of stations would only make it worse.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for (_, train, way) in context.trains() {
        let passenger = matches!(
            train.kind.map(|kind| kind.value),
            Some(TrainKind::Passenger | TrainKind::Express)
        );
        let mut before: Option<(usize, Spanned<RailTime>, &str)> = None;
        for place in train.times() {
            let Some(name) = place.station else { continue };
            let Some(here) = context.station(Some(name)).and_then(|id| way.position(id)) else {
                continue;
            };
            if let (Some((there, left, from)), Some(arrive)) =
                (before, place.arrive.or(place.leave))
                && here > there
                && arrive.value >= left.value
            {
                let steps = &way.opens[there..here];
                // Times by the minute may each be up to a minute late.
                let minutes = arrive.value.since(left.value).minutes();
                let whole = minutes.fract() == 0.0;
                let hours = if whole { minutes + 1.0 } else { minutes } / 60.0;
                let miles = scheduled_miles(context, steps);
                let speed = Speed::from_mph(if hours > 0.0 {
                    miles / hours
                } else {
                    f64::INFINITY
                });
                let limit = allowed(context, steps, passenger);
                if speed > limit {
                    let needed = if hours > 0.0 {
                        format!("{:.0} mph", speed.mph())
                    } else {
                        "no time at all".to_owned()
                    };
                    let least = 60.0 * miles / limit.mph();
                    let message = format!(
                        "train {} would need {needed} from {from} to {}; {:.0} mph is allowed",
                        train.symbol.value,
                        name.value,
                        limit.mph()
                    );
                    let found = RULE.at(arrive.span, message).also(left.span, "it leaves");
                    out.push(found.help(format!("allow at least {:.0} min", least.ceil())));
                }
            }
            if let Some(leave) = place.leave.or(place.arrive) {
                before = Some((here, leave, &name.value));
            }
        }
    }
}

/// Miles that the clock sees: the model's length at scale, times the clock's ratio; gaps as they are.
fn scheduled_miles(context: &Context<'_>, steps: &[Step]) -> f64 {
    steps
        .iter()
        .map(|step| {
            let open = context.road.way.open(step.open);
            let track = context.scale().to_prototype(open.run()) * context.road.identity.clock;
            let gap = open.gap.map_or(Prototype::ZERO, |gap| gap.value);
            (track + gap).miles()
        })
        .sum()
}

/// The highest speed allowed anywhere on the way.
fn allowed(context: &Context<'_>, steps: &[Step], passenger: bool) -> Speed {
    let way = &context.road.way;
    let speeds = steps.iter().map(|step| {
        let (line, open) = (way.line(step.open.line), way.open(step.open));
        let by_line = if passenger {
            line.passenger_speed.or(line.speed)
        } else {
            line.speed
        };
        open.speed
            .or(by_line)
            .unwrap_or(Speed::from_mph(UNWRITTEN_MPH))
    });
    speeds
        .reduce(|a, b| if b > a { b } else { a })
        .unwrap_or(Speed::from_mph(UNWRITTEN_MPH))
}

/// Where no speed is written: common practice, no source.
const UNWRITTEN_MPH: f64 = 80.0;
