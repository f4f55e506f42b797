//! Closing out.
use super::Live;
use crate::{
    Office,
    frame::{Ask, Page},
    pages::Lack,
};
use axum::{
    extract::State,
    response::{IntoResponse, Redirect, Response},
};
use maud::{Markup, html};
use std::sync::Arc;
/// The page.
#[derive(Debug)]
pub struct ClosePage {
    live: Live,
}
impl ClosePage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            live: Live::of(ask)?,
        })
    }
}
impl Page for ClosePage {
    fn title(&self) -> String {
        "Close-out".into()
    }
    fn document(&self) -> &'static str {
        "/session"
    }
    fn body(&self) -> Markup {
        html! { p { (self.live.state.opening.name) } }
    }
}
/// `POST /session/close`.
pub async fn close(State(_): State<Arc<Office>>) -> Response {
    Redirect::to("/session/close").into_response()
}
