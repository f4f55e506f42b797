//! The bulletin: what every crew must read before it goes to work: slow orders, tracks out of service,
//! what is loose in the railroad's aisles, and the owner's own notices.

use engineering::line::StructureKind;
use model::units::SpeedStyle;
use railroad::Railroad;
use serde::Serialize;

use crate::{
    form::{Form, Sheet},
    words::Wording,
};

/// A bulletin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bulletin {
    /// Slow orders.
    pub slow: Vec<Slow>,
    /// What can hurt, in words.
    pub cautions: Vec<String>,
    /// The owner's notices.
    pub notices: Vec<String>,
}

/// A slow order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Slow {
    /// Between which stations.
    pub between: String,
    /// How fast at most.
    pub speed: String,
    /// Why.
    pub why: String,
}

impl Form for Bulletin {
    const SHEET: Sheet = Sheet {
        path: "bulletin.typ",
        text: include_str!("../../forms/bulletin.typ"),
    };
    const TITLE: &'static str = "bulletin-title";

    fn page(&self) -> String {
        "/".into()
    }
}

impl Bulletin {
    /// The bulletin of a railroad, with notices in the owner's words.
    pub fn new(railroad: &Railroad, wording: &Wording, notices: &[String]) -> Self {
        let mut slow = vec![];
        let mut cautions = vec![];
        for (_, line) in railroad.way.lines() {
            for open in &line.open {
                let [from, to] = [0, 1].map(|end| {
                    open.ends[end]
                        .station
                        .as_ref()
                        .map_or("", |station| station.value.as_str())
                });
                let between = format!("{from} {} {to}", wording.at("run-to"));
                for order in &open.slow {
                    slow.push(Slow {
                        between: between.clone(),
                        speed: order.speed.map_or_else(String::new, |speed| {
                            speed
                                .show(SpeedStyle::MilesPerHour { decimals: 0 })
                                .to_string()
                        }),
                        why: order.why.clone().unwrap_or_default(),
                    });
                }
                for structure in &open.structures {
                    let name = structure.name.clone().unwrap_or_else(|| between.clone());
                    match structure.kind {
                        StructureKind::LiftOut => cautions.push(format!(
                            "{name} ({between}): {}",
                            wording.at("lift-out-caution")
                        )),
                        StructureKind::Drawbridge => cautions.push(format!(
                            "{name} ({between}): {}",
                            wording.at("drawbridge-caution")
                        )),
                        _ => {}
                    }
                }
            }
        }
        Self {
            slow,
            cautions,
            notices: notices.to_vec(),
        }
    }
}
