//! Who may come to which page and change what: one table, asked before every answer.

use axum::http::Method;
use session::Role;

/// The least that is asked of someone who comes to an address.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Least {
    /// Nothing: how to come in, and what the pages are drawn with.
    Anyone,
    /// A role.
    Role(Role),
    /// There is no such way to ask.
    Never,
}

use Least::{Anyone, Never};

const VISITOR: Least = Least::Role(Role::Visitor);
const CREW: Least = Least::Role(Role::Crew);
const YARD: Least = Least::Role(Role::Yard);
const DISPATCHER: Least = Least::Role(Role::Dispatcher);
const SUPERINTENDENT: Least = Least::Role(Role::Superintendent);

/// Every address of the office, with what looking at it and sending to it ask for.
///
/// What is not here is for the superintendent alone: a page somebody forgets to enter is shut, not open.
pub const TABLE: &[(&str, Least, Least)] = &[
    // How to come in.
    ("/join", Anyone, Anyone),
    ("/leave", Never, Anyone),
    ("/light", Never, Anyone),
    ("/assets/{name}", Anyone, Never),
    // The documents: read by all who came in, changed by the superintendent.
    ("/", VISITOR, Never),
    ("/attention", VISITOR, Never),
    ("/attention/{code}", VISITOR, Never),
    ("/track-chart", VISITOR, Never),
    ("/stations", VISITOR, Never),
    ("/stations/{name}", VISITOR, Never),
    ("/stations/{name}/tracks", VISITOR, Never),
    ("/clearances", VISITOR, Never),
    ("/tonnage", VISITOR, Never),
    ("/engines", VISITOR, Never),
    ("/engines/{number}", VISITOR, Never),
    ("/cars", VISITOR, Never),
    ("/cars/{name}", VISITOR, Never),
    ("/era", VISITOR, Never),
    ("/shippers", VISITOR, Never),
    ("/waybills", VISITOR, Never),
    ("/waybills/filed", VISITOR, Never),
    ("/books", VISITOR, Never),
    ("/books/state", VISITOR, Never),
    ("/yards", VISITOR, Never),
    ("/yards/{name}", VISITOR, Never),
    ("/timetable", VISITOR, Never),
    ("/trains/{symbol}", VISITOR, Never),
    ("/diagram", VISITOR, Never),
    ("/switching", VISITOR, Never),
    ("/switching/{station}", VISITOR, Never),
    ("/orders", VISITOR, Never),
    ("/retime", VISITOR, Never),
    ("/retime/try", VISITOR, Never),
    ("/day/state", VISITOR, Never),
    ("/studies", VISITOR, SUPERINTENDENT),
    ("/studies/{number}", VISITOR, Never),
    ("/studies/{number}/state", VISITOR, Never),
    ("/studies/{number}/stop", Never, SUPERINTENDENT),
    ("/rooms", VISITOR, Never),
    ("/print", VISITOR, Never),
    ("/print/sheets", VISITOR, Never),
    ("/rooms/try", Never, SUPERINTENDENT),
    ("/crews", VISITOR, Never),
    ("/folder", VISITOR, Never),
    ("/edit", SUPERINTENDENT, Never),
    ("/paste", SUPERINTENDENT, SUPERINTENDENT),
    ("/review", Never, SUPERINTENDENT),
    ("/write", Never, SUPERINTENDENT),
    ("/check", Never, SUPERINTENDENT),
    ("/desk", Never, SUPERINTENDENT),
    ("/style", VISITOR, Never),
    ("/news", VISITOR, Never),
    // The session.
    ("/session", VISITOR, Never),
    ("/session/stream", VISITOR, Never),
    // Each command has a least role of its own besides, held to by the session itself.
    ("/session/say", Never, VISITOR),
    ("/session/desk", DISPATCHER, Never),
    ("/session/plan", DISPATCHER, DISPATCHER),
    ("/session/sheet", VISITOR, Never),
    ("/session/trains/{symbol}", VISITOR, Never),
    ("/session/yards/{station}", VISITOR, Never),
    ("/session/stations/{station}", VISITOR, Never),
    ("/session/clock", VISITOR, Never),
    ("/session/board", VISITOR, Never),
    ("/session/people", SUPERINTENDENT, SUPERINTENDENT),
    ("/session/after", VISITOR, Never),
    ("/session/close", YARD, SUPERINTENDENT),
    ("/session/journal", CREW, Never),
    ("/session/begin", SUPERINTENDENT, SUPERINTENDENT),
];

/// What an address asks for.
pub fn least(pattern: &str, method: &Method) -> Least {
    let row = TABLE.iter().find(|(path, ..)| *path == pattern);
    match (row, method) {
        (Some((_, look, _)), &(Method::GET | Method::HEAD)) => *look,
        (Some((.., send)), &Method::POST) => *send,
        (Some(_), _) => Never,
        (None, _) => SUPERINTENDENT,
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    /// The addresses written in the router are those of the table, so that none is open by oversight.
    #[test]
    fn every_address_has_its_row() {
        let source = include_str!("../app.rs");
        let written: BTreeSet<&str> = source
            .split(".route(")
            .skip(1)
            .filter_map(|rest| rest.split('"').nth(1))
            .collect();
        let table: BTreeSet<&str> = TABLE.iter().map(|(path, ..)| *path).collect();
        assert_eq!(
            written.difference(&table).collect::<Vec<_>>(),
            Vec::<&&str>::new(),
            "in the router, but nobody says who may come there"
        );
        assert_eq!(
            table.difference(&written).collect::<Vec<_>>(),
            Vec::<&&str>::new(),
            "in the table, but not in the router"
        );
        assert_eq!(table.len(), TABLE.len(), "a row stands twice");
    }

    #[test]
    fn what_is_not_in_the_table_is_shut() {
        assert_eq!(least("/forgotten", &Method::GET), SUPERINTENDENT);
        assert_eq!(least("/session/say", &Method::GET), Never);
        assert_eq!(least("/", &Method::HEAD), VISITOR);
        assert_eq!(least("/", &Method::DELETE), Never);
    }
}
