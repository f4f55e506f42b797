//! What a plan is made of, and what to file and bend its parts to.

use std::collections::BTreeMap;

use super::{Amount, Fact, FrogKind, Plan, Role, plan::FLARE};

/// A line of the bill of material.
#[derive(Debug, Clone, PartialEq)]
pub struct BillLine {
    /// How many.
    pub count: u32,
    /// Of what.
    pub what: String,
    /// Length of each, metres; of a sum, the whole.
    pub length: Option<f64>,
}

/// What is lost in cutting and filing: a tenth. Common practice, no source.
const WASTE: f64 = 1.1;

impl Plan {
    /// Rails by name and length, rail in all, ties by length, throw bars.
    pub fn bill(&self) -> Vec<BillLine> {
        let mut lines = Vec::new();
        let cast = self.build.cast.is_some();
        let mut whole = 0.0;
        // Lengths to a hundredth of a millimetre; the same name and length are one line.
        let mut rails: BTreeMap<(Role, String, i64), u32> = BTreeMap::new();
        for rail in &self.rails {
            if cast && rail.role == Role::Frog {
                continue;
            }
            let mut length = rail.line.length();
            if let (true, Some(knee)) = (cast, rail.knee) {
                // The frog brings its own wings, and rail as far as its toe.
                let toe = rail.frog.map_or(0.0, |frog| self.frogs[frog].toe);
                let bend = rail
                    .frog
                    .map_or(0.0, |frog| self.frogs[frog].knee_length(self));
                length = rail.line.length_between(0.0, knee).max(0.0) - (toe - bend);
            }
            whole += length;
            *rails
                .entry((rail.role, rail.name.clone(), (length * 1e5).round() as i64))
                .or_default() += 1;
        }
        for ((_, what, length), count) in rails {
            lines.push(BillLine {
                count,
                what,
                length: Some(length as f64 / 1e5),
            });
        }
        lines.push(BillLine {
            count: 1,
            what: format!(
                "rail code {} in all, a tenth for waste included",
                self.build.rail.code
            ),
            length: Some(whole * WASTE),
        });
        if cast {
            for frog in &self.frogs {
                lines.push(BillLine {
                    count: 1,
                    what: format!("ready-cast frog No. {:.2}", frog.number),
                    length: Some(frog.toe + frog.heel),
                });
            }
        }
        let mut ties: BTreeMap<(bool, i64), u32> = BTreeMap::new();
        for tie in &self.ties {
            *ties
                .entry((tie.head_block, (tie.length * 1e5).round() as i64))
                .or_default() += 1;
        }
        let width = self.ties.first().map_or(0.0, |tie| tie.width);
        for ((head_block, length), count) in ties {
            lines.push(BillLine {
                count,
                what: if head_block {
                    "head block".into()
                } else {
                    format!("tie, {:.2} mm wide", width * 1000.0)
                },
                length: Some(length as f64 / 1e5),
            });
        }
        // A turnout's two points lie on one bar; where points lie abreast they share a place.
        let bars = self.rails_of(Role::Point).count().div_ceil(2);
        if bars > 0 {
            lines.push(BillLine {
                count: bars as u32,
                what: "throw bar, insulated between the points".into(),
                length: Some(1.6 * self.build.clearances.gauge),
            });
        }
        if !self.gaps.is_empty() {
            lines.push(BillLine {
                count: self.gaps.len() as u32,
                what: "insulated joint or filled gap".into(),
                length: None,
            });
        }
        lines
    }

    /// Angles and lengths to file, plane and bend to.
    pub fn jig(&self) -> Vec<Fact> {
        let (head, base) = (self.build.rail.head, self.build.rail.base);
        let mut facts = Vec::new();
        let mut say = |what: String, amount: Amount| facts.push(Fact { what, amount });
        if self.build.cast.is_none() {
            for (at, frog) in self.frogs.iter().enumerate() {
                let name = format!("frog {}", at + 1);
                let half = 0.5 * frog.angle;
                say(format!("{name}: number"), Amount::Number(frog.number));
                say(
                    format!("{name}: angle of the jig's slots"),
                    Amount::Angle(frog.angle),
                );
                match frog.kind {
                    FrogKind::Point => {
                        say(
                            format!("{name}: file each point rail to half of it"),
                            Amount::Angle(half),
                        );
                        say(
                            format!("{name}: head tapered over"),
                            Amount::Length(head / half.tan()),
                        );
                        say(
                            format!("{name}: base tapered over"),
                            Amount::Length(0.5 * (base + head) / half.tan()),
                        );
                        say(
                            format!("{name}: blunt the point back from its theory by"),
                            Amount::Length(frog.blunt),
                        );
                        say(
                            format!(
                                "{name}: bend each wing by the whole angle, before the theoretical point by"
                            ),
                            Amount::Length(frog.knee_length(self)),
                        );
                    }
                    FrogKind::Obtuse => {
                        say(
                            format!("{name}: bend the obtuse rail and the check rail to"),
                            Amount::Angle(frog.angle),
                        );
                        say(
                            format!("{name}: the points end from the corner by"),
                            Amount::Length(frog.knee_length(self)),
                        );
                    }
                }
                say(
                    format!("{name}: jig wide at 100 mm from the point"),
                    Amount::Length(0.2 * half.tan()),
                );
            }
        }
        let mut told: Vec<(i64, i64)> = Vec::new();
        for rail in self.rails_of(Role::Point) {
            let length = rail.line.length();
            let planed = length - (rail.full[1] - rail.full[0]).min(length);
            let key = ((length * 1e6) as i64, (planed * 1e6) as i64);
            if told.contains(&key) {
                continue;
            }
            told.push(key);
            say(format!("{}: length", rail.name), Amount::Length(length));
            say(
                format!("{}: plane the head from the tip over", rail.name),
                Amount::Length(planed),
            );
            if planed > 0.0 {
                say(
                    format!("{}: at an angle of", rail.name),
                    Amount::Angle((head / planed).atan()),
                );
            }
        }
        if let Some(guard) = self.rails_of(Role::Guard).next() {
            say(
                "guard rail: length with its flares".into(),
                Amount::Length(guard.line.length()),
            );
            say(
                "guard rail: bend each flare by".into(),
                Amount::Angle(FLARE.atan()),
            );
            say(
                "guard rail: flare begins from its end by".into(),
                Amount::Length(self.build.clearances.guard / FLARE),
            );
            say(
                "guard rail: gauge for setting it, face to frog gauge line".into(),
                Amount::Length(self.build.clearances.check),
            );
        }
        facts
    }
}

impl super::Frog {
    /// From the theoretical point back to where a wing bends: where the lines are a flangeway apart.
    fn knee_length(&self, plan: &Plan) -> f64 {
        plan.build.clearances.flangeway / self.angle.sin()
    }
}
