//! Reading and writing problems and plans as DISPLIB 2025 JSON.
//!
//! The form is that of the public library (Kloster, Luteberget, Mannino and Sartor, 2025). Three fields
//! are ours, read if present and written only where used: `max_duration` of an operation, `rank` of an
//! objective term, and `train_names`, a list beside `trains`. Fields we do not know are passed over,
//! unless they look like a known one misspelt.

use std::collections::{BTreeSet, HashMap};

use serde_json::{Map, Value, json};

use crate::problem::{DelayTerm, Event, Operation, Plan, Problem, ResourceUse, Train};
use crate::validate::{Fault, Place};

/// Reads a problem and checks that it is well formed.
///
/// # Errors
/// Everything that is wrong with it, at once. The graphs of the trains are only looked into once every
/// value is of the right kind.
pub fn read_problem(text: &str) -> Result<Problem, Vec<Fault>> {
    let mut reader = Reader::default();
    let problem = match parse(text) {
        Ok(value) => reader.problem(&value),
        Err(fault) => return Err(vec![fault]),
    };
    if !reader.faults.is_empty() {
        return Err(reader.faults);
    }
    problem.validate()?;
    Ok(problem)
}

/// Reads a plan. Whether it is a plan *for* a given problem is the question of [`crate::check::check`].
///
/// # Errors
/// Everything that is not of the right kind, at once.
pub fn read_plan(text: &str) -> Result<Plan, Vec<Fault>> {
    let mut reader = Reader::default();
    let plan = match parse(text) {
        Ok(value) => reader.plan(&value),
        Err(fault) => return Err(vec![fault]),
    };
    if reader.faults.is_empty() {
        Ok(plan)
    } else {
        Err(reader.faults)
    }
}

/// Writes a problem as DISPLIB JSON. Fields at their default are left out; so are resources that no
/// operation holds, since the form names resources only where they are held. The form knows resources by
/// name alone: of several with one name, all but the first get a number behind it.
pub fn write_problem(problem: &Problem) -> String {
    let names = unlike(&problem.resources);
    let trains: Vec<Value> = problem
        .trains
        .iter()
        .map(|train| {
            train
                .operations
                .iter()
                .map(|o| operation_value(&names, o))
                .collect()
        })
        .collect();
    let objective: Vec<Value> = problem.objective.iter().map(term_value).collect();
    let mut root = Map::new();
    root.insert("trains".to_owned(), trains.into());
    root.insert("objective".to_owned(), objective.into());
    if problem.trains.iter().any(|t| !t.name.is_empty()) {
        let names: Vec<&str> = problem.trains.iter().map(|t| t.name.as_str()).collect();
        root.insert("train_names".to_owned(), json!(names));
    }
    Value::Object(root).to_string()
}

/// Writes a plan as DISPLIB JSON.
pub fn write_plan(plan: &Plan) -> String {
    let events: Vec<Value> = plan
        .events
        .iter()
        .map(|e| json!({"time": e.time, "train": e.train, "operation": e.operation}))
        .collect();
    json!({"objective_value": plan.objective_value, "events": events}).to_string()
}

/// Names of which no two are alike.
fn unlike(names: &[String]) -> Vec<String> {
    let mut taken: BTreeSet<String> = names.iter().cloned().collect();
    let mut seen = BTreeSet::new();
    names
        .iter()
        .map(|name| {
            if seen.insert(name) {
                return name.clone();
            }
            let mut number = 2;
            loop {
                let other = format!("{name} ({number})");
                if taken.insert(other.clone()) {
                    return other;
                }
                number += 1;
            }
        })
        .collect()
}

fn operation_value(names: &[String], operation: &Operation) -> Value {
    let mut map = Map::new();
    if operation.start_lb != 0 {
        map.insert("start_lb".to_owned(), operation.start_lb.into());
    }
    if let Some(start_ub) = operation.start_ub {
        map.insert("start_ub".to_owned(), start_ub.into());
    }
    map.insert("min_duration".to_owned(), operation.min_duration.into());
    if let Some(max_duration) = operation.max_duration {
        map.insert("max_duration".to_owned(), max_duration.into());
    }
    if !operation.resources.is_empty() {
        let resources: Vec<Value> = operation
            .resources
            .iter()
            .map(|held| {
                let name = &names[held.resource];
                if held.release_time == 0 {
                    json!({"resource": name})
                } else {
                    json!({"resource": name, "release_time": held.release_time})
                }
            })
            .collect();
        map.insert("resources".to_owned(), resources.into());
    }
    map.insert("successors".to_owned(), json!(operation.successors));
    Value::Object(map)
}

fn term_value(term: &DelayTerm) -> Value {
    let mut map = Map::new();
    map.insert("type".to_owned(), "op_delay".into());
    map.insert("train".to_owned(), term.train.into());
    map.insert("operation".to_owned(), term.operation.into());
    for (field, value) in [
        ("threshold", term.threshold),
        ("coeff", term.coeff),
        ("increment", term.increment),
    ] {
        if value != 0 {
            map.insert(field.to_owned(), value.into());
        }
    }
    if term.rank != 0 {
        map.insert("rank".to_owned(), term.rank.into());
    }
    Value::Object(map)
}

fn parse(text: &str) -> Result<Value, Fault> {
    serde_json::from_str(text).map_err(|e| Fault::Syntax {
        line: e.line(),
        column: e.column(),
        // The reader says the place again; once is enough.
        what: e
            .to_string()
            .split(" at line ")
            .next()
            .unwrap_or_default()
            .to_owned(),
    })
}

/// Collects what is wrong while it reads, putting defaults in the place of what it could not read.
#[derive(Default)]
struct Reader {
    faults: Vec<Fault>,
}

const WHOLE: &str = "a whole number, 0 or more";
const EMPTY: &[Value] = &[];

impl Reader {
    fn kind(&mut self, place: Place, field: &'static str, expected: &'static str, found: &Value) {
        let mut found = found.to_string();
        if found.chars().count() > 40 {
            found = found.chars().take(37).chain("...".chars()).collect();
        }
        self.faults.push(Fault::Kind {
            place,
            field,
            expected,
            found,
        });
    }

    /// Faults the fields that look like one of `known` misspelt.
    fn spelling(&mut self, map: &Map<String, Value>, known: &[&'static str], place: &Place) {
        for found in map.keys().filter(|k| !known.contains(&k.as_str())) {
            let nearest = known
                .iter()
                .map(|&k| (strsim::damerau_levenshtein(found, k), k))
                .min();
            if let Some((distance, meant)) = nearest
                && distance <= 2
            {
                let found = found.clone();
                self.faults.push(Fault::Misspelt {
                    place: place.clone(),
                    found,
                    meant,
                });
            }
        }
    }

    /// A whole number, `None` if absent or null.
    fn whole(
        &mut self,
        map: &Map<String, Value>,
        field: &'static str,
        place: &Place,
    ) -> Option<i64> {
        match map.get(field) {
            None | Some(Value::Null) => None,
            Some(value) => match value.as_i64() {
                Some(number) if number >= 0 => Some(number),
                _ => {
                    self.kind(place.clone(), field, WHOLE, value);
                    None
                }
            },
        }
    }

    /// A whole number that must be there.
    fn needed(&mut self, map: &Map<String, Value>, field: &'static str, place: &Place) -> i64 {
        if !map.contains_key(field) {
            self.faults.push(Fault::Missing {
                place: place.clone(),
                field,
                expected: WHOLE,
            });
        }
        self.whole(map, field, place).unwrap_or(0)
    }

    fn index(&mut self, map: &Map<String, Value>, field: &'static str, place: &Place) -> usize {
        usize::try_from(self.needed(map, field, place)).unwrap_or(usize::MAX)
    }

    fn list<'v>(
        &mut self,
        map: &'v Map<String, Value>,
        field: &'static str,
        place: &Place,
        needed: bool,
    ) -> &'v [Value] {
        match map.get(field) {
            Some(Value::Array(items)) => items,
            None | Some(Value::Null) if !needed => EMPTY,
            None => {
                self.faults.push(Fault::Missing {
                    place: place.clone(),
                    field,
                    expected: "a list",
                });
                EMPTY
            }
            Some(value) => {
                self.kind(place.clone(), field, "a list", value);
                EMPTY
            }
        }
    }

    fn problem(&mut self, value: &Value) -> Problem {
        let mut problem = Problem::default();
        let Value::Object(root) = value else {
            self.kind(
                Place::File,
                "root",
                "an object with `trains` and `objective`",
                value,
            );
            return problem;
        };
        self.spelling(root, &["trains", "objective", "train_names"], &Place::File);
        let trains = self.list(root, "trains", &Place::File, true);
        let names = self.list(root, "train_names", &Place::File, false);
        if !names.is_empty() && names.len() != trains.len() {
            let found = Value::from(format!(
                "of {} names for {} trains",
                names.len(),
                trains.len()
            ));
            self.kind(Place::File, "train_names", "one name per train", &found);
        }
        let mut resources = Resources::default();
        for (t, value) in trains.iter().enumerate() {
            let name = match names.get(t) {
                None => String::new(),
                Some(Value::String(name)) => name.clone(),
                Some(other) => {
                    let place = Place::Train {
                        train: t,
                        name: String::new(),
                    };
                    self.kind(place, "train_names", "a name in quotes", other);
                    String::new()
                }
            };
            let operations = if let Value::Array(operations) = value {
                operations
                    .iter()
                    .enumerate()
                    .map(|(o, value)| {
                        let place = Place::Operation {
                            train: t,
                            name: name.clone(),
                            operation: o,
                        };
                        self.operation(value, &place, &mut resources)
                    })
                    .collect()
            } else {
                let place = Place::Train {
                    train: t,
                    name: name.clone(),
                };
                self.kind(place, "trains", "a list of operations", value);
                Vec::new()
            };
            problem.trains.push(Train { name, operations });
        }
        problem.resources = resources.names;
        for (i, value) in self
            .list(root, "objective", &Place::File, true)
            .iter()
            .enumerate()
        {
            if let Some(term) = self.term(value, &Place::Term { term: i }) {
                problem.objective.push(term);
            }
        }
        problem
    }

    fn operation(&mut self, value: &Value, place: &Place, resources: &mut Resources) -> Operation {
        let Value::Object(map) = value else {
            self.kind(place.clone(), "operation", "an object", value);
            return Operation::default();
        };
        const KNOWN: &[&str] = &[
            "start_lb",
            "start_ub",
            "min_duration",
            "max_duration",
            "resources",
            "successors",
        ];
        self.spelling(map, KNOWN, place);
        let mut operation = Operation {
            start_lb: self.whole(map, "start_lb", place).unwrap_or(0),
            start_ub: self.whole(map, "start_ub", place),
            min_duration: self.whole(map, "min_duration", place).unwrap_or(0),
            max_duration: self.whole(map, "max_duration", place),
            ..Operation::default()
        };
        for held in self.list(map, "resources", place, false) {
            let Value::Object(held) = held else {
                self.kind(
                    place.clone(),
                    "resources",
                    "objects with a `resource`",
                    held,
                );
                continue;
            };
            self.spelling(held, &["resource", "release_time"], place);
            let release_time = self.whole(held, "release_time", place).unwrap_or(0);
            match held.get("resource") {
                Some(Value::String(name)) => {
                    let resource = resources.index(name);
                    operation.resources.push(ResourceUse {
                        resource,
                        release_time,
                    });
                }
                Some(other) => {
                    self.kind(
                        place.clone(),
                        "resource",
                        "a resource's name in quotes",
                        other,
                    );
                }
                None => self.faults.push(Fault::Missing {
                    place: place.clone(),
                    field: "resource",
                    expected: "a resource's name in quotes",
                }),
            }
        }
        for next in self.list(map, "successors", place, false) {
            match next.as_u64().and_then(|n| usize::try_from(n).ok()) {
                Some(next) => operation.successors.push(next),
                None => self.kind(
                    place.clone(),
                    "successors",
                    "indices of operations of the same train",
                    next,
                ),
            }
        }
        operation
    }

    fn term(&mut self, value: &Value, place: &Place) -> Option<DelayTerm> {
        let Value::Object(map) = value else {
            self.kind(
                place.clone(),
                "objective",
                "an object of type `op_delay`",
                value,
            );
            return None;
        };
        const KNOWN: &[&str] = &[
            "type",
            "train",
            "operation",
            "threshold",
            "coeff",
            "increment",
            "rank",
        ];
        self.spelling(map, KNOWN, place);
        match map.get("type") {
            Some(Value::String(kind)) if kind == "op_delay" => {}
            Some(other) => self.kind(place.clone(), "type", "\"op_delay\"", other),
            None => self.faults.push(Fault::Missing {
                place: place.clone(),
                field: "type",
                expected: "\"op_delay\"",
            }),
        }
        let rank = self.whole(map, "rank", place).unwrap_or(0);
        let rank = u8::try_from(rank).unwrap_or_else(|_| {
            self.kind(
                place.clone(),
                "rank",
                "a whole number from 0 to 255",
                &rank.into(),
            );
            0
        });
        Some(DelayTerm {
            train: self.index(map, "train", place),
            operation: self.index(map, "operation", place),
            threshold: self.whole(map, "threshold", place).unwrap_or(0),
            coeff: self.whole(map, "coeff", place).unwrap_or(0),
            increment: self.whole(map, "increment", place).unwrap_or(0),
            rank,
        })
    }

    fn plan(&mut self, value: &Value) -> Plan {
        let mut plan = Plan::default();
        let Value::Object(root) = value else {
            self.kind(
                Place::File,
                "root",
                "an object with `objective_value` and `events`",
                value,
            );
            return plan;
        };
        self.spelling(root, &["objective_value", "events"], &Place::File);
        plan.objective_value = self.needed(root, "objective_value", &Place::File);
        for (position, value) in self
            .list(root, "events", &Place::File, true)
            .iter()
            .enumerate()
        {
            let place = Place::Event { position };
            let Value::Object(map) = value else {
                self.kind(
                    place,
                    "events",
                    "an object with `time`, `train`, `operation`",
                    value,
                );
                continue;
            };
            self.spelling(map, &["time", "train", "operation"], &place);
            plan.events.push(Event {
                time: self.needed(map, "time", &place),
                train: self.index(map, "train", &place),
                operation: self.index(map, "operation", &place),
            });
        }
        plan
    }
}

/// Resource names in the order in which they are first met.
#[derive(Default)]
struct Resources {
    names: Vec<String>,
    indices: HashMap<String, usize>,
}

impl Resources {
    fn index(&mut self, name: &str) -> usize {
        if let Some(&index) = self.indices.get(name) {
            return index;
        }
        let index = self.names.len();
        self.names.push(name.to_owned());
        self.indices.insert(name.to_owned(), index);
        index
    }
}
