//! News for every screen: one stream of server-sent events per device.

use std::{convert::Infallible, sync::Arc, time::Duration};

use axum::{
    extract::State,
    http::{HeaderMap, StatusCode},
    response::{
        IntoResponse, Response,
        sse::{Event, KeepAlive, Sse},
    },
};
use futures_util::stream;
use tokio::sync::broadcast::error::RecvError;

use super::room::{Bulletin, Room};
use crate::Office;

/// How often a silent stream says that it is still there.
const ALIVE: Duration = Duration::from_secs(12);

struct Listener {
    room: Arc<Room>,
    told: tokio::sync::broadcast::Receiver<Arc<Bulletin>>,
    closing: tokio::sync::watch::Receiver<u64>,
    /// The revision the device saw last, while it has not been told anything yet.
    first: Option<u64>,
}

/// `GET /session/stream`: the revision as the id of each event, and what the events were about. A device
/// that was away says which revision it saw last, and is told to look again if that is not the latest.
pub async fn stream(State(office): State<Arc<Office>>, headers: HeaderMap) -> Response {
    let Some(room) = office.room() else {
        return StatusCode::NO_CONTENT.into_response();
    };
    let seen = headers
        .get("last-event-id")
        .and_then(|id| id.to_str().ok())
        .and_then(|id| id.parse().ok());
    let listener = Listener {
        told: room.listen(),
        room: room.clone(),
        closing: office.news(),
        first: Some(seen.unwrap_or(0)),
    };
    let events = stream::unfold(listener, |mut listener| async move {
        let event = next(&mut listener).await?;
        Some((Ok::<_, Infallible>(event), listener))
    });
    Sse::new(events)
        .keep_alive(KeepAlive::new().interval(ALIVE).text("here"))
        .into_response()
}

async fn next(listener: &mut Listener) -> Option<Event> {
    if let Some(seen) = listener.first.take() {
        let revision = listener.room.state().map_or(0, |state| state.revision());
        // The first word is said at once in any case: the page knows then that it is connected.
        let about = if revision == seen { "" } else { "all" };
        return Some(event(revision, about));
    }
    loop {
        tokio::select! {
            told = listener.told.recv() => {
                return match told {
                    Ok(bulletin) => {
                        let about: Vec<&str> = bulletin.about.iter().map(String::as_str).collect();
                        Some(event(bulletin.revision, &about.join("\u{1f}")))
                    }
                    // Too slow to hear each: one look makes up for all.
                    Err(RecvError::Lagged(_)) => {
                        let revision = listener.room.state().map_or(0, |state| state.revision());
                        Some(event(revision, "all"))
                    }
                    Err(RecvError::Closed) => None,
                };
            }
            changed = listener.closing.changed() => {
                if changed.is_err() || *listener.closing.borrow() == u64::MAX {
                    return None;
                }
            }
        }
    }
}

fn event(revision: u64, about: &str) -> Event {
    let about: Vec<&str> = about
        .split('\u{1f}')
        .filter(|word| !word.is_empty())
        .collect();
    let data = serde_json::json!({ "revision": revision, "about": about });
    Event::default()
        .id(revision.to_string())
        .data(data.to_string())
}
