//! What is asked for is not there.

use axum::http::StatusCode;
use maud::{Markup, html};
use model::diagnostic::nearest;

use crate::{frame::Page, show};

/// A page in place of one that there is not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lack {
    status: u16,
    title: String,
    words: String,
    instead: Option<(String, String)>,
}

impl Lack {
    /// There is no thing of that name; the nearest one is offered.
    pub fn named<'a>(
        what: &str,
        name: &str,
        root: &str,
        names: impl IntoIterator<Item = &'a str>,
    ) -> Self {
        let near = nearest(name, names);
        Self {
            status: 404,
            title: format!("No {what} \u{201c}{name}\u{201d}"),
            words: format!("The railroad's folder names no {what} \u{201c}{name}\u{201d}."),
            instead: near.map(|near| (show::url(&[root, near]), near.to_owned())),
        }
    }

    /// There is no page at that address.
    pub fn page(path: &str) -> Self {
        Self {
            status: 404,
            title: "No such page".into(),
            words: format!("Nothing is kept at {path}. The contents list what there is."),
            instead: None,
        }
    }

    /// What is asked cannot be answered.
    pub fn because(title: impl Into<String>, words: impl Into<String>) -> Self {
        Self {
            status: 422,
            title: title.into(),
            words: words.into(),
            instead: None,
        }
    }

    /// What it says.
    pub fn words(&self) -> &str {
        &self.words
    }

    /// The status to answer with.
    pub fn status(&self) -> StatusCode {
        StatusCode::from_u16(self.status).unwrap_or(StatusCode::NOT_FOUND)
    }
}

impl Page for Lack {
    fn title(&self) -> String {
        self.title.clone()
    }

    fn document(&self) -> &'static str {
        ""
    }

    fn body(&self) -> Markup {
        html! {
            p { (self.words) }
            @if let Some((path, name)) = &self.instead {
                p { "Did you mean " a href=(path) { (name) } "?" }
            }
        }
    }
}
