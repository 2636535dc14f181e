//! The embedded web client: its files, and the page for every path of its own.

use axum::{
    body::Body,
    http::{HeaderMap, HeaderValue, StatusCode, Uri, header},
    response::{IntoResponse, Response},
};
use bytes::Bytes;
use rust_embed::RustEmbed;

use crate::http::ApiError;

#[derive(RustEmbed)]
#[folder = "$LENTIC_WEB"]
struct Client;

/// A file of the web client, or its page.
pub async fn client(uri: Uri, headers: HeaderMap) -> Response {
    let path = uri.path().trim_start_matches('/');
    if path.starts_with("api/") || path == "api" {
        return ApiError::missing("such route").into_response();
    }
    let name = if is_file(path) { path } else { "index.html" };
    match Client::get(name) {
        Some(file) => answer(name, file, &headers),
        None => ApiError::missing("such page").into_response(),
    }
}

/// Whether a path names a file of the build: they lie at the top or in `assets`. A page's address may end
/// like a file's (`methods/light.map`).
fn is_file(path: &str) -> bool {
    match path.split_once('/') {
        Some((folder, _)) => folder == "assets",
        None => path.contains('.'),
    }
}

fn answer(name: &str, file: rust_embed::EmbeddedFile, asked: &HeaderMap) -> Response {
    let sum: String = file.metadata.sha256_hash()[..16]
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    let tag = format!("\"{sum}\"");
    let same = asked
        .get(header::IF_NONE_MATCH)
        .is_some_and(|value| value.as_bytes() == tag.as_bytes());
    let mut response = if same {
        StatusCode::NOT_MODIFIED.into_response()
    } else {
        let bytes = match file.data {
            std::borrow::Cow::Borrowed(bytes) => Bytes::from_static(bytes),
            std::borrow::Cow::Owned(bytes) => Bytes::from(bytes),
        };
        Response::new(Body::from(bytes))
    };
    let headers = response.headers_mut();
    headers.insert(
        header::CONTENT_TYPE,
        HeaderValue::from_static(content_type(name)),
    );
    let keep = if name.starts_with("assets/") {
        // Their names change with their content.
        "public, max-age=31536000, immutable"
    } else {
        "no-cache"
    };
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static(keep));
    if let Ok(tag) = HeaderValue::from_str(&tag) {
        headers.insert(header::ETAG, tag);
    }
    response
}

fn content_type(name: &str) -> &'static str {
    match name.rsplit('.').next().unwrap_or_default() {
        "html" => "text/html; charset=utf-8",
        "js" | "mjs" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "json" | "map" => "application/json",
        "webmanifest" => "application/manifest+json",
        "svg" => "image/svg+xml",
        "png" => "image/png",
        "jpg" | "jpeg" => "image/jpeg",
        "webp" => "image/webp",
        "ico" => "image/x-icon",
        "woff2" => "font/woff2",
        "woff" => "font/woff",
        "wasm" => "application/wasm",
        "glb" => "model/gltf-binary",
        "txt" => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_top_and_assets_hold_files() {
        assert!(!is_file(""));
        assert!(!is_file("yard/S-0101"));
        assert!(!is_file("methods/light.map"));
        assert!(is_file("favicon.svg"));
        assert!(is_file("assets/index-1a2b.js"));
    }
}
