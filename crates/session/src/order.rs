//! Orders and authorities by names, as they are sent, kept in the journal and shown.

use model::time::RailTime;
use serde::{Deserialize, Serialize};

/// What an order says. The letters are those of [`transportation::order::Form`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "form", rename_all = "snake_case")]
pub enum OrderText {
    /// A: a train meets others, each at its station.
    Meet {
        /// The train.
        train: String,
        /// Whom it meets, and where.
        others: Vec<(String, String)>,
    },
    /// B: a train runs ahead of others, each between two stations.
    Ahead {
        /// Who goes first.
        first: String,
        /// Who follows, from where and to where.
        seconds: Vec<(String, String, String)>,
    },
    /// C: a train has right over an opposing one, as the first runs.
    RightOver {
        /// Who has right.
        first: String,
        /// Over whom.
        over: String,
        /// From where.
        from: String,
        /// To where.
        to: String,
    },
    /// E: a train runs late.
    RunLate {
        /// The train.
        train: String,
        /// By how many railroad minutes.
        minutes: u32,
        /// From where.
        from: String,
        /// To where.
        to: String,
    },
    /// E: a train waits at stations until a time.
    Wait {
        /// The train.
        train: String,
        /// Where, and until when, in railroad seconds after midnight.
        at: Vec<(String, i64)>,
    },
    /// G: a train runs extra.
    Extra {
        /// The train.
        train: String,
        /// From where.
        from: String,
        /// To where.
        to: String,
    },
    /// J: a train is held.
    Hold {
        /// The train.
        train: String,
        /// Where.
        station: String,
    },
    /// K: a schedule is annulled.
    AnnulSchedule {
        /// The train.
        train: String,
    },
    /// L: an order is annulled.
    AnnulOrder {
        /// Its number.
        number: u32,
    },
    /// An authority to occupy the track between two stations: by the dispatcher's word, by warrant or by signals.
    Authority {
        /// The train.
        train: String,
        /// From which of its stations.
        from: String,
        /// To which.
        to: String,
        /// Not in effect until these trains have arrived at these stations.
        #[serde(default)]
        after: Vec<(String, String)>,
    },
}

impl OrderText {
    /// The letter of its form; nothing for an authority.
    pub fn letter(&self) -> Option<&'static str> {
        Some(match self {
            Self::Meet { .. } => "A",
            Self::Ahead { .. } => "B",
            Self::RightOver { .. } => "C",
            Self::RunLate { .. } | Self::Wait { .. } => "E",
            Self::Extra { .. } => "G",
            Self::Hold { .. } => "J",
            Self::AnnulSchedule { .. } => "K",
            Self::AnnulOrder { .. } => "L",
            Self::Authority { .. } => return None,
        })
    }

    /// The trains it speaks of.
    pub fn trains(&self) -> Vec<&str> {
        match self {
            Self::Meet { train, others } => std::iter::once(train.as_str())
                .chain(others.iter().map(|(other, _)| other.as_str()))
                .collect(),
            Self::Ahead { first, seconds } => std::iter::once(first.as_str())
                .chain(seconds.iter().map(|(second, _, _)| second.as_str()))
                .collect(),
            Self::RightOver { first, over, .. } => vec![first, over],
            Self::RunLate { train, .. }
            | Self::Wait { train, .. }
            | Self::Extra { train, .. }
            | Self::Hold { train, .. }
            | Self::AnnulSchedule { train }
            | Self::Authority { train, .. } => vec![train],
            Self::AnnulOrder { .. } => vec![],
        }
    }

    /// What is said, in our own wording. `title` names a train, `time` shows a time.
    pub fn sentence(
        &self,
        title: &dyn Fn(&str) -> String,
        time: &dyn Fn(RailTime) -> String,
    ) -> String {
        match self {
            Self::Meet { train, others } => {
                let others: Vec<String> = others
                    .iter()
                    .map(|(other, at)| format!("{} at {at}", title(other)))
                    .collect();
                format!("{} meets {}", title(train), others.join(" and "))
            }
            Self::Ahead { first, seconds } => {
                let seconds: Vec<String> = seconds
                    .iter()
                    .map(|(second, from, to)| format!("{} from {from} to {to}", title(second)))
                    .collect();
                format!("{} runs ahead of {}", title(first), seconds.join(" and "))
            }
            Self::RightOver {
                first,
                over,
                from,
                to,
            } => format!(
                "{} has right over {} from {from} to {to}",
                title(first),
                title(over)
            ),
            Self::RunLate {
                train,
                minutes,
                from,
                to,
            } => format!(
                "{} runs {minutes} min late from {from} to {to}",
                title(train)
            ),
            Self::Wait { train, at } => {
                let at: Vec<String> = at
                    .iter()
                    .map(|(station, until)| {
                        format!("{station} until {}", time(RailTime::from_seconds(*until)))
                    })
                    .collect();
                format!("{} waits at {}", title(train), at.join(" and "))
            }
            Self::Extra { train, from, to } => {
                format!("{} runs extra from {from} to {to}", title(train))
            }
            Self::Hold { train, station } => format!("{} is held at {station}", title(train)),
            Self::AnnulSchedule { train } => format!("{} is annulled", title(train)),
            Self::AnnulOrder { number } => format!("order {number} is annulled"),
            Self::Authority {
                train,
                from,
                to,
                after,
            } => {
                let after: Vec<String> = after
                    .iter()
                    .map(|(other, at)| format!("{} has arrived at {at}", title(other)))
                    .collect();
                let when = if after.is_empty() {
                    String::new()
                } else {
                    format!(", once {}", after.join(" and "))
                };
                format!("{} may go from {from} to {to}{when}", title(train))
            }
        }
    }
}
