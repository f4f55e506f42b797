//! Addresses and what answers them.

use std::{sync::Arc, time::Duration};

use axum::{
    Form, Json, Router,
    extract::{DefaultBodyLimit, FromRequestParts, Path, Query, RawPathParams, Request, State},
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
    live, pack,
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
        .route("/waybills", page(pages::waybills::Todays::of))
        .route("/waybills/filed", page(pages::waybills::Waybills::of))
        .route("/books", page(pages::books::WhereCarsAre::of))
        .route("/books/state", get(books_state))
        .route("/yards", page(pages::yard::Yards::of))
        .route("/yards/{name}", page(pages::yard::YardPage::of))
        // Trains.
        .route("/timetable", page(pages::timetable::Timetable::of))
        .route("/trains/{symbol}", page(pages::timetable::TrainPage::of))
        .route("/diagram", page(pages::diagram::Diagram::of))
        .route("/switching", page(pages::switching::Towns::of))
        .route(
            "/switching/{station}",
            page(pages::switching::SwitchList::of),
        )
        .route("/orders", page(pages::orders::Orders::of))
        .route("/retime", page(pages::retime::Retime::of))
        .route("/retime/try", get(pages::retime::tried))
        .route("/day/state", get(day_state))
        .route(
            "/studies",
            page(pages::studies::Studies::of).post(begin_study),
        )
        .route("/studies/{number}", page(pages::studies::StudyPage::of))
        .route("/studies/{number}/state", get(study_state))
        .route("/studies/{number}/stop", post(stop_study))
        .route("/rooms", page(pages::rooms::Rooms::of))
        .route("/rooms/try", post(pages::rooms::tried))
        .route("/crews", page(pages::crews::Crews::of))
        // The folder.
        .route("/folder", page(pages::folder::FolderPage::of))
        .route("/print", page(pages::print::Documents::of))
        .route("/print/sheets", get(pages::print::sheets))
        .route("/edit", page(pages::edit::EditPage::of))
        .route(
            "/paste",
            page(pages::paste::PastePage::of).post(desk::paste),
        )
        .route("/review", post(desk::review))
        .route("/write", post(desk::write))
        .route("/check", post(desk::check))
        .route("/desk", post(desk::undo_or_redo))
        // The session.
        .route(
            "/join",
            page(live::join::JoinPage::of).post(live::join::join),
        )
        .route("/leave", post(live::join::leave))
        .route("/session", page(live::now::NowPage::of))
        .route("/session/stream", get(live::stream::stream))
        .route("/session/say", post(live::say::say))
        .route(
            "/session/begin",
            page(live::begin::BeginPage::of).post(live::begin::begin),
        )
        .route("/session/desk", page(live::desk::DeskPage::of))
        .route(
            "/session/plan",
            page(live::plan::PlanPage::of).post(live::plan::plan),
        )
        .route("/session/sheet", page(live::sheet::SheetPage::of))
        .route("/session/trains/{symbol}", page(live::train::TrainPage::of))
        .route("/session/yards/{station}", page(live::yard::YardPage::of))
        .route(
            "/session/stations/{station}",
            page(live::station::StationPage::of),
        )
        .route("/session/clock", page(live::clock::ClockPage::of))
        .route("/session/board", page(live::board::BoardPage::of))
        .route(
            "/session/people",
            page(live::people::PeoplePage::of).post(live::people::people),
        )
        .route("/session/after", page(live::after::AfterPage::of))
        .route("/session/journal", page(live::journal::JournalPage::of))
        .route(
            "/session/close",
            page(live::close::ClosePage::of).post(live::close::close),
        )
        // About the pages themselves.
        .route("/style", page(pages::style::StylePage::of))
        .route("/light", post(light))
        .route("/news", get(news))
        .route("/assets/{name}", get(assets::get))
        .fallback(lost)
        .layer(DefaultBodyLimit::max(guard::MOST_BYTES))
        .layer(middleware::from_fn_with_state(office.clone(), live::admit))
        .layer(middleware::from_fn_with_state(
            Arc::new(Names(names)),
            guard::guard,
        ))
        .layer(middleware::from_fn(pack::pack))
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
    let who = parts.extensions.get::<session::Who>().cloned();
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
        who,
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

/// What was sent under a name, if anything was.
pub(crate) fn sent<'a>(form: &'a [(String, String)], name: &str) -> Option<&'a str> {
    form.iter()
        .find(|(key, _)| key == name)
        .map(|(_, value)| value.as_str())
}

async fn light(Form(form): Form<Vec<(String, String)>>) -> Response {
    let theme = sent(&form, "light").map_or(Theme::Own, Theme::of);
    let cookie = format!(
        "light={}; Path=/; Max-Age=31536000; SameSite=Strict",
        theme.word()
    );
    let mut response = Redirect::to(&back(sent(&form, "back"))).into_response();
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

fn state(done: bool, part: f64) -> Response {
    Json(serde_json::json!({ "done": done, "part": part })).into_response()
}

/// How far the plan of the day is.
async fn day_state(State(office): State<Arc<Office>>) -> Response {
    match office.day() {
        Some((work, _)) => state(work.result().is_some(), work.progress.part()),
        None => state(true, 1.0),
    }
}

/// How far the billing of the session is.
async fn books_state(State(office): State<Arc<Office>>) -> Response {
    match office.books() {
        Some(work) => state(work.result().is_some(), work.progress.part()),
        None => state(true, 1.0),
    }
}

async fn begin_study(
    State(office): State<Arc<Office>>,
    Form(form): Form<Vec<(String, String)>>,
) -> Response {
    let find = |name: &str| sent(&form, name).map(str::trim);
    let name = find("study").unwrap_or_default();
    let numbers = office
        .services
        .studies
        .iter()
        .find(|(study, _)| study.name == name)
        .map(|(study, _)| {
            study
                .asks
                .iter()
                .map(|(name, _, usual)| find(name).and_then(|n| n.parse().ok()).unwrap_or(*usual))
                .collect()
        })
        .unwrap_or_default();
    match office.study(name, numbers) {
        Some(number) => Redirect::to(&format!("/studies/{number}")).into_response(),
        None => Redirect::to("/studies").into_response(),
    }
}

async fn study_state(State(office): State<Arc<Office>>, Path(number): Path<u64>) -> Response {
    let found = office
        .studies()
        .into_iter()
        .find(|one| one.number == number);
    match found {
        Some(one) => state(one.work.result().is_some(), one.work.progress.part()),
        None => StatusCode::NOT_FOUND.into_response(),
    }
}

async fn stop_study(State(office): State<Arc<Office>>, Path(number): Path<u64>) -> Response {
    if let Some(one) = office.studies().iter().find(|one| one.number == number) {
        one.work.progress.stop();
    }
    Redirect::to(&format!("/studies/{number}")).into_response()
}

async fn lost(State(office): State<Arc<Office>>, request: Request) -> Response {
    let ask = ask(office, request).await;
    let lack = Lack::page(&ask.path);
    answer(&ask, &lack, StatusCode::NOT_FOUND)
}
