//! A train may be heavier than its engines can take.

use mechanical::tonnage::{Governs, RatedFor};
use model::{Diagnostics, Rule, Severity};

use super::context::Context;
use crate::rating::{place_words, rating_car, train_limits_in};

/// A train may be heavier than its engines can take.
pub static RULE: Rule = Rule {
    code: "train-over-its-rating",
    severity: Severity::Warning,
    title: "A train may be heavier than its engines can take.",
    explain: "`max_cars` or `max_tons` allows more than the engines are rated for on the hardest grade of the train's way, \
              its helper counted where it has one. `sawby rating --train` says where it fails. Lower the limit, give it a \
              helper or another engine, or ease the grade; what is rated by stands in `tonnage.toml`.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "47.2 in"]
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "47.2 in"

[tracks]
main = { from = "W", to = "E", length = "12 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "11 ft", points = "E", hand = "right", number = 6 }
--- engines.csv
number,kind,wheels,length,built,weight,drawbar_pull
12,steam,2-8-0,9 in,1912,11 oz,2.4 oz
14,steam,2-8-0,9 in,1913,11 oz,2.4 oz
--- trains.toml
[trains.1]
name = "Local"
class = 2
direction = "east"
from = "Alder"
to = "Birch"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]
max_length = "8 ft"
max_cars = 12
"#,
    rendered: r#"
warning[train-over-its-rating]: train 1 may be 12 cars, and the models take 9 cars, 450 tons
  --> trains.toml:11:12
   |
 9 | engines = ["12"]
   |             -- rated by this engine
10 | max_length = "8 ft"
11 | max_cars = 12
   |            ^^
   |
   = help: 9 cars is all with the front 5'-9" past Alder, on 3.0 % under the whole train
"#,
    file: file!(),
};

/// Looks for it.
pub(super) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let road = context.road;
    let car = rating_car(road);
    for (id, train, _) in context.trains() {
        // Half a car more is no more than the cars differ.
        let by_tons = |tons: f64| (tons / car.full_size.short_tons()).round().max(0.0) as u32;
        let (cars, span, written) = match (&train.max_cars, &train.max_tons) {
            (Some(cars), _) => {
                let Ok(count) = u32::try_from(cars.value) else {
                    continue;
                };
                (count, cars.span, format!("{count} cars"))
            }
            (None, Some(tons)) => (
                by_tons(tons.value),
                tons.span,
                format!("{} tons", tons.value),
            ),
            (None, None) => continue,
        };
        let Some(limits) = train_limits_in(road, context, id, Some(cars)) else {
            continue;
        };
        let Ok(taken) = limits.governing() else {
            continue;
        };
        let (state, rated) = match limits.rated_for {
            RatedFor::Starting => (0, taken.starting),
            RatedFor::Moving => (1, taken.moving),
        };
        let Some((leg, hardest)) = taken.limit[state].filter(|_| rated < cars) else {
            continue;
        };
        let by = match limits.governs {
            Governs::Model => "the models",
            Governs::FullSize => "the full-size engines",
        };
        let message = format!(
            "train {} may be {written}, and {by} take {rated} cars, {:.0} tons",
            train.symbol.value,
            car.full_size.short_tons() * f64::from(rated),
        );
        let mut found = RULE.at(span, message).label(match train.max_cars {
            Some(_) => String::new(),
            None => format!("{cars} cars of {:.0} tons", car.full_size.short_tons()),
        });
        for engine in &train.engines {
            found = found.also(engine.span, "rated by this engine");
        }
        found = found.help(format!(
            "{rated} cars is all with the front {}, on {:.1} % under the whole train",
            place_words(road, &limits.legs[leg].profile, hardest.front),
            100.0 * hardest.mean,
        ));
        out.push(found);
    }
}
