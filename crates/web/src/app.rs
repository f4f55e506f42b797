//! Addresses and what answers them.

use std::{sync::Arc, time::Duration};

use axum::{
    Form, Router,
    extract::{DefaultBodyLimit, FromRequestParts, Query, RawPathParams, Request, State},
    http::{HeaderMap, HeaderValue, StatusCode, header},
    middleware,
    response::{Html, IntoResponse, Redirect, Response},
    routing::{MethodRouter, get, post},
};

use crate::{
    Office, assets,
    forms::desk,
    frame::{Ask, Page, Theme, frame},
    guard::{self, Names},
    pages::{self, Lack},
};

/// The whole office: a request in, a response out. `names` are those by which it may be called
/// besides its addresses and `localhost`.
pub fn app(office: Arc<Office>, names: Vec<String>) -> Router {
    Router::new()
        // Today.
        .route("/", page(pages::today::Today::of))
        .route("/attention", page(pages::attention::Attention::of))
        .route("/attention/{code}", page(pages::attention::Explained::of))
        // Way.
        .route("/track-chart", page(pages::track_chart::TrackChart::of))
        .route("/stations", page(pages::stations::Stations::of))
        .route("/stations/{name}", page(pages::station::StationPage::of))
        .route("/stations/{name}/tracks", page(pages::town::TownPage::of))
        .route("/clearances", page(pages::clearances::Clearances::of))
        // Power and cars.
        .route("/tonnage", page(pages::tonnage::TonnagePage::of))
        .route("/engines", page(pages::engines::Engines::of))
        .route("/engines/{number}", page(pages::engines::EngineRecord::of))
        .route("/cars", page(pages::cars::Cars::of))
        .route("/cars/{name}", page(pages::cars::CarRecord::of))
        .route("/era", page(pages::era::EraPage::of))
        // Traffic.
        .route("/shippers", page(pages::shippers::Shippers::of))
        .route("/waybills", page(pages::waybills::Waybills::of))
        // Trains.
        .route("/timetable", page(pages::timetable::Timetable::of))
        .route("/trains/{symbol}", page(pages::timetable::TrainPage::of))
        .route("/diagram", page(pages::diagram::Diagram::of))
        .route("/switching", page(pages::switching::Towns::of))
        .route(
            "/switching/{station}",
            page(pages::switching::SwitchList::of),
        )
        .route("/crews", page(pages::crews::Crews::of))
        // The folder.
        .route("/folder", page(pages::folder::FolderPage::of))
        .route("/edit", page(pages::edit::EditPage::of))
        .route(
            "/paste",
            page(pages::paste::PastePage::of).post(desk::paste),
        )
        .route("/review", post(desk::review))
        .route("/write", post(desk::write))
        .route("/check", post(desk::check))
        .route("/desk", post(desk::undo_or_redo))
        // About the pages themselves.
        .route("/style", page(pages::style::StylePage::of))
        .route("/light", post(light))
        .route("/news", get(news))
        .route("/assets/{name}", get(assets::get))
        .fallback(lost)
        .layer(DefaultBodyLimit::max(guard::MOST_BYTES))
        .layer(middleware::from_fn_with_state(
            Arc::new(Names(names)),
            guard::guard,
        ))
        .with_state(office)
}

/// A page that is made of what is asked and the railroad as it is.
fn page<P: Page + 'static>(make: fn(&Ask) -> Result<P, Lack>) -> MethodRouter<Arc<Office>> {
    get(
        move |State(office): State<Arc<Office>>, request: Request| async move {
            let ask = ask(office, request).await;
            // Pages are reckoned aside, so that a heavy one holds nobody up.
            let made = tokio::task::spawn_blocking(move || match make(&ask) {
                Ok(page) => (StatusCode::OK, frame(&ask, &page)),
                Err(lack) => (lack.status(), frame(&ask, &lack)),
            });
            match made.await {
            Ok((status, page)) => (status, Html(page.into_string())).into_response(),
            Err(_) => (
                StatusCode::INTERNAL_SERVER_ERROR,
                "This page could not be made: a mistake in the program. The railroad is unharmed.\n",
            )
                .into_response(),
        }
        },
    )
}

/// A page in answer to a form.
pub(crate) fn answer(ask: &Ask, page: &dyn Page, status: StatusCode) -> Response {
    (status, Html(frame(ask, page).into_string())).into_response()
}

pub(crate) async fn ask(office: Arc<Office>, request: Request) -> Ask {
    let (mut parts, _) = request.into_parts();
    let params = RawPathParams::from_request_parts(&mut parts, &()).await;
    let query = Query::<Vec<(String, String)>>::try_from_uri(&parts.uri);
    Ask {
        now: office.now(),
        office,
        theme: theme(&parts.headers),
        path: parts.uri.path().to_owned(),
        params: params
            .iter()
            .flatten()
            .map(|(name, value)| (name.to_owned(), value.to_owned()))
            .collect(),
        query: query.map(|query| query.0).unwrap_or_default(),
    }
}

pub(crate) fn theme(headers: &HeaderMap) -> Theme {
    headers
        .get(header::COOKIE)
        .and_then(|cookies| cookies.to_str().ok())
        .and_then(|cookies| {
            cookies
                .split(';')
                .find_map(|cookie| cookie.trim().strip_prefix("light="))
        })
        .map_or(Theme::Own, Theme::of)
}

/// Only a path of this office may be gone back to.
pub(crate) fn back(path: Option<&str>) -> String {
    match path {
        Some(path) if path.starts_with('/') && !path.starts_with("//") && !path.contains('\\') => {
            path.to_owned()
        }
        _ => "/".into(),
    }
}

async fn light(Form(form): Form<Vec<(String, String)>>) -> Response {
    let find = |name: &str| {
        form.iter()
            .find(|(key, _)| key == name)
            .map(|(_, value)| value.as_str())
    };
    let theme = find("light").map_or(Theme::Own, Theme::of);
    let cookie = format!(
        "light={}; Path=/; Max-Age=31536000; SameSite=Strict",
        theme.word()
    );
    let mut response = Redirect::to(&back(find("back"))).into_response();
    if let Ok(cookie) = HeaderValue::from_str(&cookie) {
        response.headers_mut().insert(header::SET_COOKIE, cookie);
    }
    response
}

/// Answers when the railroad is no longer the version asked about, or after a while in any case.
async fn news(
    State(office): State<Arc<Office>>,
    Query(query): Query<Vec<(String, String)>>,
) -> Response {
    let known = query
        .iter()
        .find(|(key, _)| key == "after")
        .and_then(|(_, version)| version.parse::<u64>().ok())
        .unwrap_or(0);
    let mut news = office.news();
    let wait = news.wait_for(|version| *version != known);
    let version = match tokio::time::timeout(Duration::from_secs(25), wait).await {
        Ok(Ok(version)) => *version,
        _ => known,
    };
    if version == u64::MAX {
        return (StatusCode::SERVICE_UNAVAILABLE, "").into_response();
    }
    ([(header::CONTENT_TYPE, "text/plain")], version.to_string()).into_response()
}

async fn lost(State(office): State<Arc<Office>>, request: Request) -> Response {
    let ask = ask(office, request).await;
    let lack = Lack::page(&ask.path);
    answer(&ask, &lack, StatusCode::NOT_FOUND)
}
