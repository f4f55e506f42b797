//! The printed documents: what there is, for whom, and the sheets themselves.

use axum::{
    extract::{Request, State},
    http::{HeaderValue, StatusCode, header},
    response::{IntoResponse, Response},
};
use maud::{Markup, html};
use std::sync::Arc;

use super::Lack;
use crate::{
    Office,
    app::{answer, ask},
    frame::{Ask, Page},
    services::{PrintAsk, Progress, Sorry},
    show,
};

/// What there is.
#[derive(Debug)]
pub struct Documents {
    documents: Vec<(String, String)>,
    whom: Vec<String>,
}

/// The way to a document, for somebody or for all.
pub fn link(what: &str, whom: Option<&str>) -> String {
    let mut link = format!("/print/sheets?what={}", show::escape(what));
    if let Some(whom) = whom {
        link.push_str(&format!("&for={}", show::escape(whom)));
    }
    link
}

impl Documents {
    /// The page.
    pub fn of(ask: &Ask) -> Result<Self, Lack> {
        let press = ask.office.services.press.as_ref();
        let railroad = ask.railroad();
        let trains = railroad.service.trains.iter().map(|train| &train.symbol);
        let jobs = railroad.service.jobs.iter().map(|job| &job.name);
        let stations = railroad.way.stations.iter().map(|station| &station.name);
        Ok(Self {
            documents: press.map_or_else(Vec::new, |press| press.documents.clone()),
            whom: trains
                .chain(jobs)
                .chain(stations)
                .map(|name| name.value.clone())
                .collect(),
        })
    }
}

impl Page for Documents {
    fn title(&self) -> String {
        "Printed documents".into()
    }

    fn document(&self) -> &'static str {
        "/print"
    }

    fn body(&self) -> Markup {
        if self.documents.is_empty() {
            return html! { p { "This office was opened without anyone to print." } };
        }
        html! {
            p.lead { "The same sheets that " code { "sawby print" } " makes. What is made for a session is made of its plan and its waybills." }
            form.find method="get" action="/print/sheets" {
                label for="what" { "Print" }
                select #what name="what" {
                    option value="session" { "all that a session needs" }
                    @for (name, _) in &self.documents { option value=(name) { (name) } }
                }
                label for="for" { "for" }
                input #for name="for" list="whom" size="16" placeholder="everybody" autocomplete="off";
                label for="paper" { "on" }
                select #paper name="paper" { option value="letter" { "letter" } option value="a4" { "A4" } }
                label for="size" { "as" }
                select #size name="size" {
                    option value="" { "whole sheets" } option value="large" { "large print" } option value="half" { "half sheets" }
                }
                button.primary { "Make the PDF" }
                datalist #whom { @for name in &self.whom { option value=(name) {} } }
            }
            dl.facts {
                @for (name, about) in &self.documents {
                    dt { a href=(link(name, None)) { (name) } }
                    dd { (about) }
                }
            }
        }
    }
}

/// One document as a PDF.
pub async fn sheets(State(office): State<Arc<Office>>, request: Request) -> Response {
    let ask = ask(office, request).await;
    let made = tokio::task::spawn_blocking(move || {
        let made = print(&ask);
        (ask, made)
    });
    match made.await {
        Ok((_, Ok((name, bytes)))) => {
            let mut response = bytes.into_response();
            let headers = response.headers_mut();
            headers.insert(
                header::CONTENT_TYPE,
                HeaderValue::from_static("application/pdf"),
            );
            if let Ok(said) = HeaderValue::from_str(&format!("attachment; filename=\"{name}.pdf\""))
            {
                headers.insert(header::CONTENT_DISPOSITION, said);
            }
            response
        }
        Ok((ask, Err(lack))) => answer(&ask, &lack, lack.status()),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

fn print(ask: &Ask) -> Result<(String, Vec<u8>), Lack> {
    let press = ask
        .office
        .services
        .press
        .as_ref()
        .ok_or_else(|| Lack::because("No press here", "Nobody prints in this office."))?;
    let what = ask.query("what").unwrap_or("session");
    let names = || {
        press
            .documents
            .iter()
            .map(|(name, _)| name.as_str())
            .chain(["session"])
    };
    if names().all(|name| name != what) {
        return Err(Lack::named("document", what, "print", names()));
    }
    let size = ask.query("size");
    let asked = PrintAsk {
        what: what.to_owned(),
        whom: ask.query("for").map(str::to_owned),
        a4: ask.query("paper") == Some("a4"),
        large: size == Some("large"),
        half: size == Some("half"),
    };
    let bytes = (press.print)(ask.railroad(), &asked, &Progress::default()).map_err(
        |Sorry { what, help }| {
            let help = help.map_or(String::new(), |help| format!(" {help}"));
            Lack::because("It was not printed", format!("{what}.{help}"))
        },
    )?;
    let plain = |text: &str| -> String {
        text.chars()
            .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
            .collect()
    };
    let mut name = plain(what);
    if let Some(whom) = &asked.whom {
        name.push('-');
        name.push_str(&plain(whom));
    }
    Ok((name, bytes))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        Services,
        pages::testing::{ask, whole},
        services::Press,
    };

    fn office() -> Arc<Office> {
        let folder = railroad::Folder::built_in("smallest").unwrap();
        let press = Press {
            documents: vec![("yard sheets".into(), "what comes".into())],
            print: Box::new(|_, asked, _| match asked.whom.as_deref() {
                Some("nobody") => Err(Sorry {
                    what: "nobody is called so".into(),
                    help: Some("Somebody is.".into()),
                }),
                whom => Ok(format!("{} {whom:?} {}", asked.what, asked.a4).into_bytes()),
            }),
        };
        let services = Services {
            press: Some(press),
            ..Services::default()
        };
        Office::in_memory(folder, services)
    }

    #[test]
    fn a_document_is_printed_as_asked_and_named_plainly() {
        let office = office();
        let printed = |query: &[(&str, &str)]| print(&ask(&office, "/print/sheets", &[], query));
        let (name, bytes) = printed(&[
            ("what", "yard sheets"),
            ("for", "Alder \"yard\""),
            ("paper", "a4"),
        ])
        .unwrap();
        assert_eq!(name, "yard-sheets-Alder--yard-");
        assert_eq!(bytes, b"yard sheets Some(\"Alder \\\"yard\\\"\") true");
        assert!(printed(&[("what", "yard sheet")]).is_err());
        let lack = printed(&[("for", "nobody")]).unwrap_err();
        assert!(lack.words().contains("nobody is called so. Somebody is."));
    }

    #[test]
    fn the_page_names_every_document() {
        let office = office();
        let asked = ask(&office, "/print", &[], &[]);
        let page = whole(&asked, &Documents::of(&asked).unwrap());
        assert!(page.contains("/print/sheets?what=yard%20sheets") && page.contains("what comes"));
    }
}
