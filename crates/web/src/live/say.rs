//! A report or command from a form: fields into a command, the journal's answer back to the device.

use std::sync::Arc;

use axum::{
    Extension, Json,
    body::Bytes,
    extract::State,
    http::{HeaderMap, StatusCode, header},
    response::{IntoResponse, Redirect, Response},
};
use model::time::RailTime;
use serde_json::{Map, Value, json};
use session::{Answer, Command, Receipt, Refused, Request, Who, Why};

use crate::{Office, app};

/// The fields of a form that are not part of the command.
const OUTSIDE: [&str; 2] = ["back", "each-car"];

/// The most cars in one press: more than any train has.
const MOST_CARS: usize = 200;

/// `POST /session/say`.
pub async fn say(
    State(office): State<Arc<Office>>,
    Extension(who): Extension<Who>,
    headers: HeaderMap,
    body: Bytes,
) -> Response {
    let fields: Vec<(String, String)> = serde_urlencoded::from_bytes(&body).unwrap_or_default();
    let wants_json = headers
        .get(header::ACCEPT)
        .and_then(|accept| accept.to_str().ok())
        .is_some_and(|accept| accept.contains("application/json"));
    let back = app::back(
        fields
            .iter()
            .find(|(name, _)| name == "back")
            .map(|(_, path)| path.as_str()),
    );
    let Some(room) = office.room().cloned() else {
        return answer(
            StatusCode::NOT_FOUND,
            "No sessions are held by this office.",
            wants_json,
        );
    };
    let request = match request_of(&fields) {
        Ok(request) => request,
        Err(words) => return answer(StatusCode::UNPROCESSABLE_ENTITY, &words, wants_json),
    };
    // The same work with many cars is a command for each: what is done stays done if one is refused.
    let cars: Vec<String> = fields
        .iter()
        .filter(|(name, _)| name == "each-car")
        .flat_map(|(_, cars)| cars.split(',').map(|car| car.trim().to_owned()))
        .filter(|car| !car.is_empty())
        .take(MOST_CARS)
        .collect();
    let said = tokio::task::spawn_blocking(move || {
        let Command::Work { train, done, .. } = &request.command else {
            return room.say(&who, &request);
        };
        if cars.is_empty() {
            return room.say(&who, &request);
        }
        let mut last = None;
        for car in cars {
            let one = Request {
                key: format!("{}/{car}", request.key).chars().take(64).collect(),
                seen: request.seen,
                command: Command::Work {
                    train: train.clone(),
                    car,
                    done: done.clone(),
                },
            };
            last = Some(room.say(&who, &one)?);
        }
        last.map_or_else(|| room.say(&who, &request), Ok)
    })
    .await;
    match said {
        Ok(Ok(receipt)) if wants_json => Json(receipt_json(&receipt)).into_response(),
        Ok(Ok(_)) => Redirect::to(&back).into_response(),
        Ok(Err(Answer::Refused(refused))) => {
            answer(status(&refused), &refused.to_string(), wants_json)
        }
        Ok(Err(Answer::Trouble(trouble))) => answer(
            StatusCode::SERVICE_UNAVAILABLE,
            &trouble.to_string(),
            wants_json,
        ),
        Err(_) => answer(
            StatusCode::SERVICE_UNAVAILABLE,
            "The report was not taken: a mistake in the program. Say it again.",
            wants_json,
        ),
    }
}

fn receipt_json(receipt: &Receipt) -> Value {
    json!({ "done": true, "revision": receipt.revision, "repeated": receipt.repeated })
}

/// The status of a refusal.
pub fn status(refused: &Refused) -> StatusCode {
    match refused.why {
        Why::NotAllowed => StatusCode::FORBIDDEN,
        Why::Unknown => StatusCode::NOT_FOUND,
        _ => StatusCode::CONFLICT,
    }
}

fn answer(status: StatusCode, words: &str, wants_json: bool) -> Response {
    if wants_json {
        let body = json!({ "done": false, "words": words });
        return (status, Json(body)).into_response();
    }
    // Without script the browser shows this, and its own way back.
    (
        status,
        format!("Not done. {words}\n\nGo back to the page before.\n"),
    )
        .into_response()
}

/// The command a form stands for.
///
/// Names with dots are fields within fields, or figures the places of a list; what a value is to be stands after a colon: `n` a whole
/// number, `b` yes or no, `t` a railroad time, `l` a list (by commas or lines, or given again), `j` JSON.
/// What is left empty is left out.
///
/// # Errors
/// What cannot be read, as a sentence.
pub fn request_of(fields: &[(String, String)]) -> Result<Request, String> {
    let mut root = Map::new();
    for (name, text) in fields.iter().take(300) {
        let (path, kind) = name.split_once(':').unwrap_or((name, ""));
        if OUTSIDE.contains(&path) {
            continue;
        }
        let text = text.trim();
        // A reason may be none; anything else left empty is not said.
        let reason = matches!(path, "why" | "text");
        if text.is_empty() && kind != "l" && !reason {
            continue;
        }
        put(
            &mut root,
            path,
            value(text, kind).map_err(|expected| {
                format!("`{text}` was found for {path}; {expected} was expected.")
            })?,
        );
    }
    serde_json::from_value(lists(Value::Object(root)))
        .map_err(|error| format!("The report cannot be read: {error}."))
}

fn value(text: &str, kind: &str) -> Result<Value, &'static str> {
    Ok(match kind {
        "n" => json!(text.parse::<u64>().map_err(|_| "a whole number")?),
        "b" => json!(matches!(text, "true" | "on" | "yes" | "1")),
        "t" => json!(
            RailTime::parse(text)
                .map_err(|_| "a time such as 14:05 or 2:05 pm")?
                .seconds()
        ),
        "l" => text
            .split([',', '\n'])
            .map(str::trim)
            .filter(|part| !part.is_empty())
            .map(Value::from)
            .collect(),
        "j" => serde_json::from_str(text).map_err(|_| "a value as this page sends it")?,
        _ => json!(text),
    })
}

/// Objects whose fields are figures are lists.
fn lists(value: Value) -> Value {
    let Value::Object(map) = value else {
        return value;
    };
    let numbered = !map.is_empty()
        && map
            .keys()
            .all(|key| !key.is_empty() && key.bytes().all(|byte| byte.is_ascii_digit()));
    if numbered {
        Value::Array(map.into_iter().map(|(_, value)| lists(value)).collect())
    } else {
        Value::Object(
            map.into_iter()
                .map(|(key, value)| (key, lists(value)))
                .collect(),
        )
    }
}

fn put(map: &mut Map<String, Value>, path: &str, value: Value) {
    match path.split_once('.') {
        Some((first, rest)) => {
            let inner = map.entry(first).or_insert_with(|| json!({}));
            if let Value::Object(inner) = inner {
                put(inner, rest, value);
            }
        }
        None => match (map.get_mut(path), value) {
            (Some(Value::Array(list)), Value::Array(more)) => list.extend(more),
            (_, value) => {
                map.insert(path.to_owned(), value);
            }
        },
    }
}

#[cfg(test)]
mod tests {
    use session::{Done, OrderText};

    use super::*;

    fn read(fields: &[(&str, &str)]) -> Result<Request, String> {
        let fields: Vec<(String, String)> = fields
            .iter()
            .map(|(name, value)| ((*name).to_owned(), (*value).to_owned()))
            .collect();
        request_of(&fields)
    }

    #[test]
    fn forms_become_commands() {
        let request = read(&[
            ("key", "k1"),
            ("seen:n", "41"),
            ("back", "/session"),
            ("do", "work"),
            ("train", "12"),
            ("car", "CVBE 8805"),
            ("done.done", "set_out"),
            ("done.track", "mill"),
            ("done.spot:n", ""),
        ])
        .unwrap();
        assert_eq!((request.key.as_str(), request.seen), ("k1", Some(41)));
        assert_eq!(
            request.command,
            Command::Work {
                train: "12".into(),
                car: "CVBE 8805".into(),
                done: Done::SetOut {
                    track: "mill".into(),
                    spot: None
                }
            }
        );
        let request = read(&[
            ("key", "k2"),
            ("do", "issue_order"),
            ("text.form", "wait"),
            ("text.train", "12"),
            ("text.at.0.0", "Wendry"),
            ("text.at.0.1:t", "10:40 am"),
            ("to:l", "12"),
            ("to:l", "7, 9"),
        ])
        .unwrap();
        assert_eq!(
            request.command,
            Command::IssueOrder {
                text: OrderText::Wait {
                    train: "12".into(),
                    at: vec![("Wendry".into(), RailTime::from_hm(10, 40).seconds())]
                },
                to: vec!["12".into(), "7".into(), "9".into()]
            }
        );
    }

    #[test]
    fn what_cannot_be_read_is_said() {
        let words = read(&[("key", "k"), ("do", "delay"), ("minutes:n", "ten")]).unwrap_err();
        assert_eq!(
            words,
            "`ten` was found for minutes; a whole number was expected."
        );
        let words = read(&[("key", "k"), ("do", "jump_clock"), ("to:t", "noonish")]).unwrap_err();
        assert!(words.contains("14:05"), "{words}");
        for odd in [&[][..], &[("do", "fly")], &[("do.do", "x"), ("do", "y")]] {
            assert!(read(odd).is_err());
        }
    }
}
