//! Style sheet and scripts, built into the program.

use axum::{
    extract::{Path, Query},
    http::{HeaderValue, StatusCode, header},
    response::{IntoResponse, Response},
};
use rust_embed::RustEmbed;

#[derive(RustEmbed)]
#[folder = "assets/"]
struct Assets;

/// Where an asset is, with a part that changes with its contents, so that browsers may keep it for ever.
pub fn link(name: &str) -> String {
    let mark = Assets::get(name).map_or(0, |file| {
        file.metadata.sha256_hash()[..6]
            .iter()
            .fold(0_u64, |sum, byte| (sum << 8) | u64::from(*byte))
    });
    format!("/assets/{name}?{mark:x}")
}

/// What the browser asks for by that link.
pub async fn get(
    Path(name): Path<String>,
    Query(version): Query<Vec<(String, String)>>,
) -> Response {
    let Some(file) = Assets::get(&name) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    let kind = match name.rsplit_once('.').map(|(_, ending)| ending) {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        _ => "application/octet-stream",
    };
    // A script that imports another names no version: it must ask again.
    let keep = if version.is_empty() {
        "no-cache"
    } else {
        "public, max-age=31536000, immutable"
    };
    let mut response = file.data.into_owned().into_response();
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static(keep));
    response
}
