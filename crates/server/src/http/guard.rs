//! What every request passes: is it from here, who is it, and what a browser is told.

use axum::{
    extract::{Request, State},
    http::{HeaderMap, HeaderValue, Method, StatusCode, header},
    middleware::Next,
    response::{IntoResponse, Response},
};

use super::ApiError;
use crate::{App, people};

/// Refuses a request to change something that another site had a browser send, and
/// in the demo any request under another name than a loopback one's.
pub async fn same_origin(State(app): State<App>, request: Request, next: Next) -> Response {
    let headers = request.headers();
    if app.config.demo && !is_loopback_name(host(headers, &request)) {
        return foreign("the demo answers on this machine only").into_response();
    }
    let is_safe = matches!(
        *request.method(),
        Method::GET | Method::HEAD | Method::OPTIONS
    );
    if !is_safe && !is_from_here(headers, host(headers, &request)) {
        return foreign("the request came from another site").into_response();
    }
    next.run(request).await
}

fn foreign(message: &str) -> ApiError {
    ApiError::new(
        StatusCode::FORBIDDEN,
        "cross_origin",
        message,
        "open Lentic under its own address",
    )
}

fn host<'a>(headers: &'a HeaderMap, request: &'a Request) -> &'a str {
    headers
        .get(header::HOST)
        .and_then(|value| value.to_str().ok())
        .or_else(|| request.uri().authority().map(|a| a.as_str()))
        .unwrap_or_default()
}

/// A browser says where a request comes from; what says nothing is no browser.
/// Pages can't write these headers themselves.
fn is_from_here(headers: &HeaderMap, host: &str) -> bool {
    let text = |name: &str| headers.get(name).map(|value| value.to_str().unwrap_or("?"));
    if let Some(site) = text("sec-fetch-site") {
        return matches!(site, "same-origin" | "none");
    }
    text("origin").is_none_or(|origin| {
        origin
            .strip_prefix("http://")
            .or_else(|| origin.strip_prefix("https://"))
            .is_some_and(|named| named.eq_ignore_ascii_case(host))
    })
}

/// Whether a Host header names this very machine: a name that a stranger's DNS
/// points here doesn't count.
fn is_loopback_name(host: &str) -> bool {
    let name = match host.strip_prefix('[') {
        Some(rest) => rest.split(']').next().unwrap_or_default(),
        None => host.split(':').next().unwrap_or_default(),
    };
    name.eq_ignore_ascii_case("localhost")
        || name
            .parse::<std::net::IpAddr>()
            .is_ok_and(|address| address.is_loopback())
}

/// Lets only the signed-in past, but for the paths that sign in.
pub async fn signed_in(State(app): State<App>, mut request: Request, next: Next) -> Response {
    const OPEN: &[&str] = &["/api/session", "/api/first-start", "/api/openapi.json"];
    let path = request.uri().path();
    if !path.starts_with("/api/") || OPEN.contains(&path) {
        return next.run(request).await;
    }
    match people::routes::present(&app, request.headers()).await {
        Ok(Some(who)) => {
            request.extensions_mut().insert(who);
            next.run(request).await
        }
        Ok(None) => people::who::unknown().into_response(),
        Err(error) => error.into_response(),
    }
}

/// What a browser may do with our pages. Styles may be inline, scripts never.
const POLICY: &str = "default-src 'self'; script-src 'self'; style-src 'self' 'unsafe-inline'; \
    img-src 'self' data: blob:; connect-src 'self' blob: data:; worker-src 'self' blob:; font-src 'self'; \
    frame-src 'self' blob:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'self'";

/// Tells a browser what it may do with an answer.
pub async fn headers(request: Request, next: Next) -> Response {
    let is_api = request.uri().path().starts_with("/api/");
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    for (name, value) in [
        ("content-security-policy", POLICY),
        ("x-content-type-options", "nosniff"),
        ("x-frame-options", "SAMEORIGIN"),
        ("referrer-policy", "same-origin"),
        ("cross-origin-opener-policy", "same-origin"),
        ("cross-origin-resource-policy", "same-origin"),
        (
            "permissions-policy",
            "camera=(self), geolocation=(), microphone=(), payment=(), usb=()",
        ),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if is_api {
        headers
            .entry(header::CACHE_CONTROL)
            .or_insert(HeaderValue::from_static("no-store"));
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_browser_of_another_site_is_told_by_its_headers() {
        let with = |pairs: &[(&'static str, &'static str)]| {
            let mut headers = HeaderMap::new();
            for (name, value) in pairs {
                headers.insert(*name, HeaderValue::from_static(value));
            }
            is_from_here(&headers, "127.0.0.1:7420")
        };
        assert!(with(&[]));
        assert!(with(&[("origin", "http://127.0.0.1:7420")]));
        assert!(with(&[("sec-fetch-site", "same-origin")]));
        assert!(!with(&[("origin", "http://127.0.0.1:8000")]));
        assert!(!with(&[("origin", "null")]));
        assert!(!with(&[("origin", "https://evil.example")]));
        assert!(!with(&[("sec-fetch-site", "cross-site")]));
        assert!(!with(&[("sec-fetch-site", "same-site")]));
    }

    #[test]
    fn only_this_machine_has_a_loopback_name() {
        for host in ["127.0.0.1:7420", "localhost", "LOCALHOST:80", "[::1]:7420"] {
            assert!(is_loopback_name(host), "{host}");
        }
        for host in [
            "",
            "evil.example:7420",
            "127.0.0.1.evil.example",
            "10.0.0.1",
        ] {
            assert!(!is_loopback_name(host), "{host}");
        }
    }
}
