//! What comes in from where, and what may go out: checked for every request, whatever its page.

use std::net::{IpAddr, Ipv6Addr};

use axum::{
    extract::{Request, State},
    http::{HeaderMap, HeaderValue, Method, StatusCode, Uri, header},
    middleware::Next,
    response::{IntoResponse, Response},
};

/// The most bytes a form may send: a spreadsheet of some thousand cars.
pub const MOST_BYTES: usize = 2 << 20;

/// Everything comes from this server, nothing is written in the page itself, nobody may frame it.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; \
                      connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// Names by which the office may be called besides addresses in figures and `localhost`.
#[derive(Debug, Clone, Default)]
pub struct Names(pub Vec<String>);

/// Lets a request through if it is meant for this office and a change comes from one of its own pages.
pub async fn guard(
    State(names): State<std::sync::Arc<Names>>,
    request: Request,
    next: Next,
) -> Response {
    let refused = refuse(&names, request.method(), request.uri(), request.headers());
    let mut response = match refused {
        Some((status, words)) => (status, words).into_response(),
        None => next.run(request).await,
    };
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "same-origin"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    response
}

fn refuse(
    names: &Names,
    method: &Method,
    uri: &Uri,
    headers: &HeaderMap,
) -> Option<(StatusCode, &'static str)> {
    let host = headers
        .get(header::HOST)
        .and_then(|host| host.to_str().ok())
        .or_else(|| uri.authority().map(|authority| authority.as_str()));
    let Some(host) = host.filter(|host| names.known(host)) else {
        // A page elsewhere may point a name of its own at this machine.
        return Some((
            StatusCode::MISDIRECTED_REQUEST,
            "This office does not go by that name. Call it by its address, or start it with --name.\n",
        ));
    };
    if matches!(*method, Method::GET | Method::HEAD) {
        return None;
    }
    if *method != Method::POST {
        return Some((
            StatusCode::METHOD_NOT_ALLOWED,
            "This office takes GET and POST.\n",
        ));
    }
    let said = |name: header::HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
    let own = match said(header::ORIGIN) {
        Some(origin) => origin
            .strip_prefix("http://")
            .or_else(|| origin.strip_prefix("https://"))
            .is_some_and(|from| from.eq_ignore_ascii_case(host)),
        // Browsers name the origin of every change; what names none is no browser.
        None => said(header::HeaderName::from_static("sec-fetch-site"))
            .is_none_or(|site| site == "same-origin"),
    };
    (!own).then_some((
        StatusCode::FORBIDDEN,
        "A change was asked for by a page that is not this office's. It was not made.\n",
    ))
}

impl Names {
    /// Whether a `Host` is this office: an address in figures cannot be pointed elsewhere by anybody.
    fn known(&self, host: &str) -> bool {
        let name = match host.rsplit_once(':') {
            Some((name, port))
                if port.bytes().all(|b| b.is_ascii_digit()) && !name.ends_with(':') =>
            {
                name
            }
            _ => host,
        };
        let bare = name.trim_start_matches('[').trim_end_matches(']');
        name.eq_ignore_ascii_case("localhost")
            || bare.parse::<Ipv6Addr>().is_ok()
            || name.parse::<IpAddr>().is_ok()
            || self.0.iter().any(|own| own.eq_ignore_ascii_case(name))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_office_is_called_by_address_localhost_or_its_own_names() {
        let names = Names(vec!["roundhouse.local".into()]);
        for host in [
            "localhost",
            "localhost:7087",
            "127.0.0.1:7087",
            "[::1]:7087",
            "192.168.1.20",
            "Roundhouse.local:80",
        ] {
            assert!(names.known(host), "{host}");
        }
        for host in [
            "example.net",
            "example.net:7087",
            "127.0.0.1.example.net",
            "",
            "local host",
        ] {
            assert!(!names.known(host), "{host}");
        }
    }

    #[test]
    fn only_its_own_pages_change_anything() {
        let ask = |method: &Method, origin: Option<&str>, site: Option<&str>| {
            let mut headers = HeaderMap::new();
            headers.insert(header::HOST, HeaderValue::from_static("127.0.0.1:7087"));
            for (name, value) in [("origin", origin), ("sec-fetch-site", site)] {
                if let Some(value) = value {
                    headers.insert(
                        header::HeaderName::from_static(name),
                        HeaderValue::from_str(value).unwrap(),
                    );
                }
            }
            refuse(&Names::default(), method, &Uri::from_static("/"), &headers)
                .map(|(status, _)| status.as_u16())
        };
        assert_eq!(ask(&Method::GET, Some("http://elsewhere.net"), None), None);
        assert_eq!(
            ask(&Method::POST, Some("http://127.0.0.1:7087"), None),
            None
        );
        assert_eq!(ask(&Method::POST, None, None), None);
        assert_eq!(ask(&Method::POST, None, Some("same-origin")), None);
        assert_eq!(ask(&Method::POST, None, Some("cross-site")), Some(403));
        assert_eq!(
            ask(&Method::POST, Some("http://127.0.0.1:8000"), None),
            Some(403)
        );
        assert_eq!(
            ask(&Method::POST, Some("http://elsewhere.net"), None),
            Some(403)
        );
        assert_eq!(ask(&Method::POST, Some("null"), None), Some(403));
        assert_eq!(ask(&Method::PUT, None, None), Some(405));
    }
}
