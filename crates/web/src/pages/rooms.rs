//! The plan of the rooms: where the track lies.

use drawing::plan::{Part, draw, facts};
use maud::{Markup, html};

use super::Lack;
use crate::frame::{Ask, Page, drawing};

/// The drawing, if anything has a place yet.
#[derive(Debug)]
pub struct Rooms {
    svg: Option<String>,
}

impl Rooms {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let facts = facts(ask.railroad(), Part::All);
        let svg = (!facts.tracks.is_empty()).then(|| draw(&facts, ask.railroad().identity.units));
        Ok(Self { svg })
    }
}

impl Page for Rooms {
    fn title(&self) -> String {
        "Plan of the rooms".into()
    }

    fn document(&self) -> &'static str {
        "/rooms"
    }

    fn wide(&self) -> bool {
        true
    }

    fn body(&self) -> Markup {
        html! {
            @match &self.svg {
                Some(svg) => {
                    p.lead { "Where the track lies, as far as its center lines are described." }
                    (drawing("Plan of the rooms", svg))
                }
                None => { p { "Nothing has a place in the rooms yet: describe center lines under " code { "alignments/" } "." } }
            }
        }
    }
}
