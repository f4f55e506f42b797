//! How it went.
use super::Live;
use crate::{
    frame::{Ask, Page},
    pages::Lack,
};
use maud::{Markup, html};
/// The page.
#[derive(Debug)]
pub struct AfterPage {
    live: Live,
}
impl AfterPage {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        Ok(Self {
            live: Live::of(ask)?,
        })
    }
}
impl Page for AfterPage {
    fn title(&self) -> String {
        "After the session".into()
    }
    fn document(&self) -> &'static str {
        "/session/after"
    }
    fn body(&self) -> Markup {
        html! { p { (self.live.state.opening.name) } }
    }
}
