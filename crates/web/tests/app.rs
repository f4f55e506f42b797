//! The office as a function of requests: every page, every guard, and a change from form to disk.

use std::sync::Arc;

use axum::{
    Router,
    body::Body,
    http::{HeaderMap, Request, StatusCode, header},
};
use http_body_util::BodyExt as _;
use railroad::Folder;
use tower::ServiceExt as _;
use web::{Office, Services, app};

fn on_disk(name: &str) -> (tempfile::TempDir, Arc<Office>, Router) {
    let dir = tempfile::tempdir().unwrap();
    for (path, bytes) in Folder::built_in(name).unwrap().iter() {
        let file = dir.path().join(path);
        std::fs::create_dir_all(file.parent().unwrap()).unwrap();
        std::fs::write(file, bytes).unwrap();
    }
    let office = Office::open(dir.path(), Services::default()).unwrap();
    let router = app(office.clone(), Vec::new());
    (dir, office, router)
}

struct Answer {
    status: StatusCode,
    headers: HeaderMap,
    text: String,
}

async fn ask(app: &Router, request: Request<Body>) -> Answer {
    let response = app.clone().oneshot(request).await.unwrap();
    let (parts, body) = response.into_parts();
    let bytes = body.collect().await.unwrap().to_bytes();
    Answer {
        status: parts.status,
        headers: parts.headers,
        text: String::from_utf8_lossy(&bytes).into_owned(),
    }
}

async fn get(app: &Router, path: &str) -> Answer {
    let request = Request::get(path)
        .header(header::HOST, "localhost:7087")
        .body(Body::empty())
        .unwrap();
    ask(app, request).await
}

async fn post(app: &Router, path: &str, form: &[(&str, &str)]) -> Answer {
    let body = form
        .iter()
        .map(|(name, value)| format!("{}={}", escape(name), escape(value)))
        .collect::<Vec<_>>()
        .join("&");
    let request = Request::post(path)
        .header(header::HOST, "localhost:7087")
        .header(header::ORIGIN, "http://localhost:7087")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .body(Body::from(body))
        .unwrap();
    ask(app, request).await
}

fn escape(text: &str) -> String {
    text.bytes().map(|byte| format!("%{byte:02X}")).collect()
}

/// The value of a hidden field of a page.
fn hidden(page: &str, name: &str) -> String {
    let after = page
        .split_once(&format!("name=\"{name}\" value=\""))
        .unwrap_or_else(|| panic!("no field {name} in {page}"))
        .1;
    after.split('"').next().unwrap().to_owned()
}

#[tokio::test]
async fn every_page_of_the_contents_is_there_guarded_and_light() {
    let (_dir, _, app) = on_disk("example");
    let first = get(&app, "/").await.text;
    let nav = first
        .split("<nav")
        .nth(1)
        .unwrap()
        .split("</nav>")
        .next()
        .unwrap();
    let links: Vec<&str> = nav
        .split("href=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .collect();
    assert!(links.len() > 12, "{links:?}");
    for path in links.into_iter().chain(["/style"]) {
        let answer = get(&app, path).await;
        // Pages of a session say so where none is open.
        let none_open = path.starts_with("/session/")
            && answer.status == StatusCode::UNPROCESSABLE_ENTITY
            && answer.text.contains("session");
        assert!(
            none_open || answer.status == StatusCode::OK,
            "{path}: {}",
            answer.status
        );
        let policy = answer.headers[header::CONTENT_SECURITY_POLICY]
            .to_str()
            .unwrap();
        assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe"));
        // What the policy forbids is not written in the first place, nor anything fetched from afar.
        for forbidden in [
            " style=\"",
            "<style",
            "<script>",
            " onclick=",
            "javascript:",
            "src=\"http",
            "href=\"http",
        ] {
            assert!(!answer.text.contains(forbidden), "{path}: {forbidden}");
        }
        assert!(answer.text.len() < 150_000, "{path}: {}", answer.text.len());
    }
}

#[tokio::test]
async fn pages_are_packed_for_browsers_that_unpack_them() {
    let (_dir, _, app) = on_disk("example");
    let plain = get(&app, "/track-chart").await;
    assert!(!plain.headers.contains_key(header::CONTENT_ENCODING));
    let request = Request::get("/track-chart")
        .header(header::HOST, "localhost:7087")
        .header(header::ACCEPT_ENCODING, "gzip, br")
        .body(Body::empty())
        .unwrap();
    let response = app.clone().oneshot(request).await.unwrap();
    assert_eq!(response.headers()[header::CONTENT_ENCODING], "gzip");
    assert_eq!(response.headers()[header::VARY], "accept-encoding");
    let packed = response.into_body().collect().await.unwrap().to_bytes();
    assert!(packed.len() * 4 < plain.text.len(), "{}", packed.len());
    let mut text = String::new();
    std::io::Read::read_to_string(&mut flate2::read::GzDecoder::new(&packed[..]), &mut text)
        .unwrap();
    assert_eq!(text, plain.text);
}

#[tokio::test]
async fn scripts_and_style_come_from_here_and_are_kept() {
    let (_dir, _, app) = on_disk("smallest");
    let page = get(&app, "/").await.text;
    let link = page
        .split("href=\"")
        .find_map(|rest| {
            rest.split('"')
                .next()
                .filter(|link| link.contains("office.css"))
        })
        .unwrap();
    let answer = get(&app, link).await;
    assert_eq!(answer.status, StatusCode::OK);
    let header = |name| answer.headers[name].to_str().unwrap();
    assert!(header(header::CONTENT_TYPE).starts_with("text/css"));
    assert!(header(header::CACHE_CONTROL).contains("immutable"));
    for path in [
        "/assets/nothing.css",
        "/assets/..%2FCargo.toml",
        "/assets/%2Fetc%2Fpasswd",
    ] {
        assert_eq!(
            get(&app, path).await.status,
            StatusCode::NOT_FOUND,
            "{path}"
        );
    }
}

#[tokio::test]
async fn strangers_names_and_strangers_pages_are_refused() {
    let (dir, _, app) = on_disk("smallest");
    let before = std::fs::read(dir.path().join("railroad.toml")).unwrap();
    let foreign = Request::get("/")
        .header(header::HOST, "office.example.net")
        .body(Body::empty())
        .unwrap();
    assert_eq!(
        ask(&app, foreign).await.status,
        StatusCode::MISDIRECTED_REQUEST
    );
    let change = |origin: &str, body: String| {
        Request::post("/write")
            .header(header::HOST, "localhost:7087")
            .header(header::ORIGIN, origin)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(body))
            .unwrap()
    };
    let cross = change(
        "http://example.net",
        "file=railroad.toml&v:name=Taken".into(),
    );
    assert_eq!(ask(&app, cross).await.status, StatusCode::FORBIDDEN);
    let large = change(
        "http://localhost:7087",
        format!("file={}", "x".repeat(3 << 20)),
    );
    assert_eq!(ask(&app, large).await.status, StatusCode::PAYLOAD_TOO_LARGE);
    assert_eq!(
        std::fs::read(dir.path().join("railroad.toml")).unwrap(),
        before
    );
}

#[tokio::test]
async fn a_siding_is_corrected_reviewed_written_and_taken_back() {
    let (dir, office, app) = on_disk("example");
    let file = "stations/sandrill.toml";
    let on_disk = || std::fs::read_to_string(dir.path().join(file)).unwrap();
    let before = on_disk();
    let address = format!("/edit?file={}&at=tracks%2Fsiding", escape(file));
    let mark = hidden(&get(&app, &address).await.text, "mark");
    let fields = |value: &'static str| {
        [
            ("file", file),
            ("mark", mark.as_str()),
            ("v:tracks/siding/length", value),
            ("back", "/stations/Sandrill"),
        ]
    };
    let verdict = async |value| -> serde_json::Value {
        let answer = post(&app, "/check", &fields(value)).await;
        serde_json::from_str(&answer.text).unwrap()
    };
    // While one types.
    let found = verdict("eleven").await;
    assert_eq!(found["refused"], true);
    let words = found["fields"]["tracks/siding/length"][0]["words"]
        .as_str()
        .unwrap();
    assert!(
        words.contains("eleven") && words.contains("length"),
        "{words}"
    );
    let found = verdict("9 ft 2 in").await;
    assert!(
        found["changed"] == true && found.get("refused").is_none(),
        "{found}"
    );
    // Before it is written.
    let review = post(&app, "/review", &fields("9 ft 2 in")).await;
    assert_eq!(review.status, StatusCode::OK);
    assert!(review.text.contains("9 ft 2 in") && review.text.contains("Write it"));
    assert_eq!(on_disk(), before);
    // Written: one value and nothing else.
    let answer = post(&app, "/write", &fields("9 ft 2 in")).await;
    assert_eq!(answer.status, StatusCode::SEE_OTHER);
    assert_eq!(answer.headers[header::LOCATION], "/stations/Sandrill");
    assert_eq!(on_disk(), before.replace("11 ft 2 in", "9 ft 2 in"));
    assert!(get(&app, "/stations/Sandrill").await.text.contains("9'-2"));
    // The same form sent again shows a file that is no longer there.
    let stale = post(&app, "/write", &fields("8 ft")).await;
    assert_eq!(stale.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(stale.text.contains("changed since"));
    // Taken back, and made again; a way back that leads elsewhere is not taken.
    let back = post(
        &app,
        "/desk",
        &[("do", "undo"), ("back", "//elsewhere.net")],
    )
    .await;
    assert_eq!(back.headers[header::LOCATION], "/");
    assert_eq!(on_disk(), before);
    post(&app, "/desk", &[("do", "redo"), ("back", "/")]).await;
    assert_ne!(on_disk(), before);
    assert_eq!(office.now_version(), 4);
}

#[tokio::test]
async fn forty_cars_are_pasted_at_once_and_taken_back_at_once() {
    let (dir, _, app) = on_disk("example");
    let cars = dir.path().join("cars.csv");
    let before = std::fs::read_to_string(&cars).unwrap();
    let mut rows = String::from("Road\tNumber\tAAR type\tCar type\tLength\tBuilt\r\n");
    for at in 0..40 {
        rows.push_str(&format!(
            "CVBE\t{}\tXM\tboxcar\t5.6 in\t1926\r\n",
            99_000 + at
        ));
    }
    let form = |what| {
        [
            ("file", "cars.csv"),
            ("rows", rows.as_str()),
            ("do", what),
            ("back", "/cars"),
        ]
    };
    let look = post(&app, "/paste", &form("look")).await;
    assert_eq!(look.status, StatusCode::OK);
    assert!(
        look.text.contains("40 rows would be added"),
        "{}",
        look.text
    );
    assert_eq!(std::fs::read_to_string(&cars).unwrap(), before);
    let write = post(&app, "/paste", &form("write")).await;
    assert_eq!(write.status, StatusCode::SEE_OTHER);
    let after = std::fs::read_to_string(&cars).unwrap();
    assert_eq!(after.lines().count(), before.lines().count() + 40);
    assert!(after.starts_with(&before));
    post(&app, "/desk", &[("do", "undo")]).await;
    assert_eq!(std::fs::read_to_string(&cars).unwrap(), before);
}

#[tokio::test]
async fn nothing_outside_the_folder_is_read_or_written() {
    let outer = tempfile::tempdir().unwrap();
    let inner = outer.path().join("road");
    for (path, bytes) in Folder::built_in("smallest").unwrap().iter() {
        let file = inner.join(path);
        std::fs::create_dir_all(file.parent().unwrap()).unwrap();
        std::fs::write(file, bytes).unwrap();
    }
    let secret = outer.path().join("secret.toml");
    std::fs::write(&secret, "name = \"kept apart\"\n").unwrap();
    let app = app(
        Office::open(&inner, Services::default()).unwrap(),
        Vec::new(),
    );
    let absolute = secret.to_str().unwrap();
    for file in [
        "../secret.toml",
        "stations/../../secret.toml",
        absolute,
        "stations/..%2F..%2Fsecret.toml",
    ] {
        let page = get(&app, &format!("/edit?file={}&as=text", escape(file))).await;
        assert!(!page.text.contains("kept apart"), "{file}");
        let answer = post(
            &app,
            "/write",
            &[("file", file), ("text", "name = \"taken\"\n")],
        )
        .await;
        assert!(answer.status.is_client_error(), "{file}: {}", answer.status);
    }
    assert_eq!(
        std::fs::read_to_string(&secret).unwrap(),
        "name = \"kept apart\"\n"
    );
}

#[tokio::test]
async fn a_change_made_outside_is_shown_and_never_written_over() {
    let (dir, office, app) = on_disk("smallest");
    let mark = hidden(&get(&app, "/edit?file=railroad.toml").await.text, "mark");
    let file = dir.path().join("railroad.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    let changed = format!("{text}# by hand\n");
    std::fs::write(&file, &changed).unwrap();
    // Before the office has looked, and after.
    let form = [
        ("file", "railroad.toml"),
        ("mark", mark.as_str()),
        ("v:name", "Renamed"),
    ];
    for look in [false, true] {
        if look {
            assert!(office.look_outside());
        }
        let answer = post(&app, "/write", &form).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert_eq!(std::fs::read_to_string(&file).unwrap(), changed);
    }
    assert!(
        get(&app, "/edit?file=railroad.toml&as=text")
            .await
            .text
            .contains("# by hand")
    );
}

#[tokio::test]
async fn news_comes_when_something_changes() {
    let (_dir, office, app) = on_disk("smallest");
    let waiting = tokio::spawn({
        let app = app.clone();
        async move { get(&app, "/news?after=1").await.text }
    });
    let mark = hidden(&get(&app, "/edit?file=railroad.toml").await.text, "mark");
    let form = [
        ("file", "railroad.toml"),
        ("mark", mark.as_str()),
        ("v:name", "Renamed"),
    ];
    assert_eq!(
        post(&app, "/write", &form).await.status,
        StatusCode::SEE_OTHER
    );
    assert_eq!(waiting.await.unwrap(), "2");
    assert!(get(&app, "/").await.text.contains("Renamed"));
    office.close();
    let closed = get(&app, "/news?after=2").await;
    assert_eq!(closed.status, StatusCode::SERVICE_UNAVAILABLE);
}

#[tokio::test]
async fn the_light_is_chosen_and_kept() {
    let (_dir, _, app) = on_disk("smallest");
    let answer = post(&app, "/light", &[("light", "red"), ("back", "/cars")]).await;
    let cookie = answer.headers[header::SET_COOKIE]
        .to_str()
        .unwrap()
        .to_owned();
    assert!(cookie.starts_with("light=red;"));
    let request = Request::get("/cars")
        .header(header::HOST, "localhost")
        .header(header::COOKIE, cookie.split(';').next().unwrap())
        .body(Body::empty())
        .unwrap();
    assert!(ask(&app, request).await.text.contains("data-theme=\"red\""));
}

#[tokio::test]
async fn a_lost_page_and_an_unknown_name_are_said_plainly() {
    let (_dir, _, app) = on_disk("example");
    let answer = get(&app, "/locomotives").await;
    assert_eq!(answer.status, StatusCode::NOT_FOUND);
    assert!(answer.text.contains("Nothing is kept at /locomotives"));
    let answer = get(&app, "/cars/CVBE%208806").await;
    assert_eq!(answer.status, StatusCode::NOT_FOUND);
    assert!(answer.text.contains("Did you mean"));
}
