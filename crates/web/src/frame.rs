//! What is around every page: the letterhead, the contents, the desk, and the foot.

use std::sync::Arc;

use maud::{DOCTYPE, Markup, PreEscaped, html};
use model::Severity;
use railroad::{Loaded, Railroad};

use crate::{assets, live::bar::bar, office::Snapshot, show};

/// How the page is lit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Theme {
    /// As the reader's machine is set.
    #[default]
    Own,
    /// Ink on paper.
    Light,
    /// For the evening.
    Dark,
    /// For a dark room: does not dazzle.
    Red,
}

impl Theme {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Own, Self::Light, Self::Dark, Self::Red];

    /// The word in cookies and in the page.
    pub fn word(self) -> &'static str {
        match self {
            Self::Own => "own",
            Self::Light => "light",
            Self::Dark => "dark",
            Self::Red => "red",
        }
    }

    fn label(self) -> &'static str {
        match self {
            Self::Own => "As this device",
            Self::Light => "Light",
            Self::Dark => "Dark",
            Self::Red => "Dim red",
        }
    }

    /// The theme of a word; [`Theme::Own`] if it is none.
    pub fn of(word: &str) -> Self {
        Self::ALL
            .into_iter()
            .find(|theme| theme.word() == word)
            .unwrap_or_default()
    }
}

/// One request for a page: what is asked, and the railroad as it is at that moment.
#[derive(Debug)]
pub struct Ask {
    /// The railroad.
    pub now: Arc<Snapshot>,
    /// What the office can have done.
    pub office: Arc<crate::Office>,
    /// How the page is lit.
    pub theme: Theme,
    /// The page's own address, without the query.
    pub path: String,
    /// Parts of the address by name.
    pub params: Vec<(String, String)>,
    /// The query.
    pub query: Vec<(String, String)>,
    /// Who asks; nobody, if they have not come in yet.
    pub who: Option<session::Who>,
}

impl Ask {
    /// A part of the address.
    pub fn param(&self, name: &str) -> &str {
        find(&self.params, name).unwrap_or_default()
    }

    /// A value of the query, if it is not empty.
    pub fn query(&self, name: &str) -> Option<&str> {
        find(&self.query, name)
            .map(str::trim)
            .filter(|value| !value.is_empty())
    }

    /// The railroad as read.
    pub fn loaded(&self) -> &Loaded {
        &self.now.loaded
    }

    /// The railroad.
    pub fn railroad(&self) -> &Railroad {
        &self.now.loaded.railroad
    }
}

fn find<'a>(list: &'a [(String, String)], name: &str) -> Option<&'a str> {
    list.iter()
        .find(|(key, _)| key == name)
        .map(|(_, value)| value.as_str())
}

/// A page: what it is called, which of the documents it belongs to, and what it says.
pub trait Page {
    /// Its heading, also in the window's title.
    fn title(&self) -> String;
    /// The document among [`CONTENTS`] it belongs to.
    fn document(&self) -> &'static str;
    /// What it says under its heading.
    fn body(&self) -> Markup;
    /// Modules of script that make it handier.
    fn scripts(&self) -> &'static [&'static str] {
        &[]
    }
    /// The train, station or job of which it speaks: for whom its document is printed.
    fn whom(&self) -> Option<String> {
        None
    }
    /// Whether it may take the whole width.
    fn wide(&self) -> bool {
        false
    }
    /// Whether it stands alone: for a wall, or for someone who has not come in yet.
    fn alone(&self) -> bool {
        false
    }
    /// What in the session it is about, by the words of the news; such a page is kept up to date.
    fn watch(&self) -> Option<String> {
        None
    }
}

/// The documents, in the groups in which the contents list them.
pub const CONTENTS: &[(&str, &[(&str, &str)])] = &[
    (
        "Today",
        &[
            ("/", "The railroad today"),
            ("/attention", "What needs attention"),
        ],
    ),
    (
        "Way",
        &[
            ("/track-chart", "Track chart"),
            ("/rooms", "Plan of the rooms"),
            ("/stations", "Stations"),
            ("/clearances", "Where equipment fits"),
        ],
    ),
    (
        "Power and cars",
        &[
            ("/tonnage", "Tonnage ratings"),
            ("/engines", "Engine records"),
            ("/cars", "Car records"),
            ("/era", "Right for the date"),
        ],
    ),
    (
        "Traffic",
        &[
            ("/shippers", "Shippers"),
            ("/waybills", "Waybills"),
            ("/books", "Where cars are"),
        ],
    ),
    (
        "Trains",
        &[
            ("/timetable", "Timetable"),
            ("/diagram", "Time\u{2013}distance diagram"),
            ("/orders", "Train orders"),
            ("/yards", "Yards"),
            ("/switching", "Switching"),
            ("/crews", "Crews and call list"),
            ("/studies", "Capacity and season"),
        ],
    ),
    (
        "The session",
        &[
            ("/session", "The session now"),
            ("/session/desk", "Dispatcher\u{2019}s desk"),
            ("/session/sheet", "Train sheet"),
            ("/session/board", "Call board"),
            ("/session/clock", "Wall clock"),
            ("/session/people", "Superintendent\u{2019}s page"),
            ("/session/after", "After the session"),
        ],
    ),
    (
        "The folder",
        &[
            ("/folder", "Files and changes"),
            ("/print", "Printed documents"),
        ],
    ),
];

/// The whole page.
pub fn frame(ask: &Ask, page: &dyn Page) -> Markup {
    let railroad = ask.railroad();
    let title = page.title();
    let heading = &title;
    html! {
        (DOCTYPE)
        html lang="en" data-theme=(ask.theme.word()) data-version=(ask.now.version) {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " \u{2013} " (railroad.identity.name) }
                link rel="icon" type="image/svg+xml" href=(assets::link("mark.svg"));
                link rel="stylesheet" href=(assets::link("office.css"));
                link rel="stylesheet" href=(assets::link("live.css"));
                @if ask.who.is_some() {
                    script type="module" src=(assets::link("office.js")) {}
                    @if ask.office.room().is_some() {
                        script type="module" src=(assets::link("live.js")) {}
                    }
                }
                @for script in page.scripts() {
                    script type="module" src=(assets::link(script)) {}
                }
            }
            body {
                a.skip href="#page" { "Skip to the page" }
                @if ask.who.is_some() {
                    (bar(ask))
                }
                (letterhead(ask))
                div.sheet.wide[page.wide()].alone[page.alone()] {
                    @if !page.alone() {
                        (contents(page.document()))
                    }
                    main #page tabindex="-1" data-live[page.watch().is_some()] data-watch=[page.watch()] {
                        h1 { (heading) }
                        (page.body())
                        (on_paper(ask, page))
                    }
                }
                (foot(ask))
            }
        }
    }
}

/// The printed document beside a document of the office.
const PAPER: &[(&str, &str)] = &[
    ("/timetable", "timetable"),
    ("/stations", "plans"),
    ("/tonnage", "tonnage"),
    ("/orders", "orders"),
    ("/switching", "switch lists"),
    ("/yards", "yard sheets"),
    ("/waybills", "waybills"),
    ("/crews", "call board"),
    ("/cars", "car cards"),
    ("/engines", "roster"),
];

/// The way to the same on paper.
fn on_paper(ask: &Ask, page: &dyn Page) -> Markup {
    let here = page.document();
    let found = PAPER.iter().find(|(document, _)| *document == here);
    let (Some((_, what)), Some(press)) = (found, &ask.office.services.press) else {
        return html! {};
    };
    if press.documents.iter().all(|(name, _)| name != what) {
        return html! {};
    }
    let whom = page.whom();
    html! {
        p.actions.paper {
            a.button href=(crate::pages::print::link(what, whom.as_deref())) {
                "On paper: " (what) @if let Some(whom) = &whom { " for " (whom) } " (PDF)"
            }
        }
    }
}

fn letterhead(ask: &Ask) -> Markup {
    let railroad = ask.railroad();
    let identity = &railroad.identity;
    let mut under = Vec::new();
    under.extend(show::day(railroad));
    under.push(format!("{} scale", identity.scale.name));
    if (identity.clock - 1.0).abs() > 1e-9 {
        under.push(format!("clock {} to 1", identity.clock));
    }
    let errors = ask.loaded().count(Severity::Error);
    let warnings = ask.loaded().count(Severity::Warning);
    html! {
        header.letterhead {
            p.marks aria-hidden="true" { (identity.marks) }
            div.road {
                p.name { a href="/" { (identity.name) } }
                p.under { (under.join(" \u{b7} ")) }
            }
            p.state {
                @if ask.who.is_none() {
                } @else if errors + warnings == 0 {
                    a.well href="/attention" { "\u{2713} Nothing needs attention" }
                } @else {
                    a.ill[errors > 0] href="/attention" {
                        @if errors > 0 { "\u{2716} " (show::count(errors, "error", "errors")) }
                        @if errors > 0 && warnings > 0 { ", " }
                        @if warnings > 0 {
                            @if errors == 0 { "\u{25b2} " }
                            (show::count(warnings, "warning", "warnings"))
                        }
                    }
                }
            }
            p.to-contents { a href="#contents" { "Contents" } }
        }
        (desk(ask))
    }
}

/// What was changed here and can be taken back.
fn desk(ask: &Ask) -> Markup {
    let now = &ask.now;
    let may = ask
        .who
        .as_ref()
        .is_some_and(|who| who.role == session::Role::Superintendent);
    if !may || now.undo.is_none() && now.redo.is_none() {
        return html! {};
    }
    html! {
        form.desk method="post" action="/desk" aria-label="Changes made here" {
            input type="hidden" name="back" value=(ask.path);
            @if let Some(file) = &now.undo {
                button name="do" value="undo" accesskey="z" { "Take back" }
                span { "the last change, of " (file) }
            }
            @if let Some(file) = &now.redo {
                button name="do" value="redo" { "Make again" }
                span { "the change of " (file) }
            }
        }
    }
}

fn contents(here: &str) -> Markup {
    html! {
        nav.contents #contents aria-label="Contents" {
            @for (group, pages) in CONTENTS {
                h2 { (group) }
                ul {
                    @for (path, name) in *pages {
                        li { a href=(path) aria-current=[(*path == here).then_some("page")] { (name) } }
                    }
                }
            }
        }
    }
}

fn foot(ask: &Ask) -> Markup {
    html! {
        footer.foot {
            form method="post" action="/light" aria-label="Light" {
                input type="hidden" name="back" value=(ask.path);
                span #light { "Light" }
                @for theme in Theme::ALL {
                    button name="light" value=(theme.word()) aria-pressed=(if theme == ask.theme { "true" } else { "false" }) {
                        (theme.label())
                    }
                }
            }
            p {
                @if !ask.now.lasting {
                    "This railroad is not on disk: changes last until the office closes. "
                }
                a href="/style" { "How these pages are set" }
            }
        }
    }
}

/// A drawing that may be wider than the screen: it scrolls by itself, also by keyboard.
pub fn drawing(label: &str, svg: &str) -> Markup {
    html! {
        div.drawing role="region" aria-label=(label) tabindex="0" { (PreEscaped(svg)) }
    }
}

/// A table that may be wider than the screen.
pub fn ledger(label: &str, table: &Markup) -> Markup {
    html! {
        div.ledger role="region" aria-label=(label) tabindex="0" { (table) }
    }
}
