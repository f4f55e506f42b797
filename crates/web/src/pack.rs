//! Answers packed for the way, where the browser can unpack them: a page of tables and drawings comes to a
//! sixth of its weight, which a phone on a slow network notices.

use std::io::Write as _;

use axum::{
    body::Body,
    extract::Request,
    http::{HeaderMap, HeaderValue, header},
    middleware::Next,
    response::Response,
};
use flate2::{Compression, write::GzEncoder};
use http_body_util::BodyExt as _;

/// What is smaller fits one parcel of the network anyway.
const LEAST: usize = 1200;

/// Packs an answer if it is text and whoever asked can unpack it.
pub async fn pack(request: Request, next: Next) -> Response {
    let wanted = takes_gzip(request.headers());
    let response = next.run(request).await;
    if !wanted || !is_text(response.headers()) {
        return response;
    }
    let (mut parts, body) = response.into_parts();
    // Pages are made whole before they are sent; news, which never ends, has been let by.
    let Ok(whole) = body
        .collect()
        .await
        .map(http_body_util::Collected::to_bytes)
    else {
        return Response::from_parts(parts, Body::empty());
    };
    if whole.len() < LEAST {
        return Response::from_parts(parts, Body::from(whole));
    }
    let mut packer = GzEncoder::new(Vec::with_capacity(whole.len() / 4), Compression::fast());
    let packed = packer.write_all(&whole).and_then(|()| packer.finish());
    let Ok(packed) = packed else {
        return Response::from_parts(parts, Body::from(whole));
    };
    parts.headers.remove(header::CONTENT_LENGTH);
    for (name, value) in [
        (header::CONTENT_ENCODING, "gzip"),
        (header::VARY, "accept-encoding"),
    ] {
        parts.headers.insert(name, HeaderValue::from_static(value));
    }
    Response::from_parts(parts, Body::from(packed))
}

fn takes_gzip(headers: &HeaderMap) -> bool {
    headers
        .get_all(header::ACCEPT_ENCODING)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(','))
        .any(|one| {
            let mut parts = one.split(';').map(str::trim);
            let refused = |part: &str| matches!(part.replace(' ', "").as_str(), "q=0" | "q=0.0");
            parts
                .next()
                .is_some_and(|name| name.eq_ignore_ascii_case("gzip"))
                && !parts.any(refused)
        })
}

fn is_text(headers: &HeaderMap) -> bool {
    headers
        .get(header::CONTENT_TYPE)
        .and_then(|kind| kind.to_str().ok())
        .is_some_and(|kind| {
            kind.starts_with("text/") && !kind.starts_with("text/event-stream")
                || kind.starts_with("application/json")
                || kind.starts_with("image/svg")
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_who_says_so_gets_it_packed() {
        let takes = |said: &'static str| {
            let mut headers = HeaderMap::new();
            headers.insert(header::ACCEPT_ENCODING, HeaderValue::from_static(said));
            takes_gzip(&headers)
        };
        assert!(takes("gzip, deflate, br"));
        assert!(takes("br;q=1.0, GZIP;q=0.5"));
        assert!(!takes("identity"));
        assert!(!takes("gzip;q=0, br"));
        assert!(!takes_gzip(&HeaderMap::new()));
    }
}
