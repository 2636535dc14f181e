//! How values go out.

use axum::{
    Json,
    body::Body,
    http::{HeaderName, StatusCode, header},
    response::{IntoResponse, Response},
};
use bytes::Bytes;
use serde::Serialize;

use super::ApiError;

/// JSON, or a refusal: what most handlers give.
pub type Reply<T> = Result<Json<T>, ApiError>;

/// 202: a job was started.
#[derive(Debug, Clone)]
pub struct Accepted<T>(pub T);

impl<T: Serialize> IntoResponse for Accepted<T> {
    fn into_response(self) -> Response {
        (StatusCode::ACCEPTED, Json(self.0)).into_response()
    }
}

/// 201: something new.
#[derive(Debug, Clone)]
pub struct Created<T>(pub T);

impl<T: Serialize> IntoResponse for Created<T> {
    fn into_response(self) -> Response {
        (StatusCode::CREATED, Json(self.0)).into_response()
    }
}

/// 204: done, nothing to say.
#[derive(Debug, Clone, Copy)]
pub struct Nothing;

impl IntoResponse for Nothing {
    fn into_response(self) -> Response {
        StatusCode::NO_CONTENT.into_response()
    }
}

/// How long a client may keep a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Keep {
    /// It follows from something that changes: ask each time.
    Ask,
    /// Its bytes have this name; ask whether it is still the one.
    Named(String),
}

/// Bytes of a known kind.
#[derive(Debug, Clone)]
pub struct File<K> {
    /// The bytes.
    pub bytes: Bytes,
    /// What a browser saves it as, where it is to be saved.
    pub name: Option<String>,
    /// How long it may be kept.
    pub keep: Keep,
    kind: std::marker::PhantomData<K>,
}

/// A kind of file.
pub trait Kind: Send + Sync + 'static {
    /// Its content type.
    const TYPE: &'static str;
}

macro_rules! kinds {
    ($($(#[$about:meta])* $name:ident = $content:literal,)+) => {
        $($(#[$about])* #[derive(Debug, Clone, Copy)] pub struct $name;
        impl Kind for $name { const TYPE: &'static str = $content; })+
    };
}

kinds! {
    /// A document.
    Pdf = "application/pdf",
    /// A picture.
    Png = "image/png",
    /// A scene.
    Glb = "model/gltf-binary",
    /// A table.
    Csv = "text/csv; charset=utf-8",
    /// Plain text.
    Plain = "text/plain; charset=utf-8",
}

impl<K: Kind> File<K> {
    /// Bytes that a client asks for each time.
    pub fn new(bytes: impl Into<Bytes>) -> Self {
        Self {
            bytes: bytes.into(),
            name: None,
            keep: Keep::Ask,
            kind: std::marker::PhantomData,
        }
    }

    /// The same under a name to be saved as.
    #[must_use]
    pub fn called(mut self, name: impl Into<String>) -> Self {
        self.name = Some(name.into());
        self
    }

    /// The same with the name of its bytes.
    #[must_use]
    pub fn named(mut self, sum: impl Into<String>) -> Self {
        self.keep = Keep::Named(sum.into());
        self
    }
}

impl<K: Kind> IntoResponse for File<K> {
    fn into_response(self) -> Response {
        bytes_of(self.bytes, K::TYPE, self.name.as_deref(), &self.keep)
    }
}

/// Bytes with their headers.
pub fn bytes_of(bytes: Bytes, content: &str, name: Option<&str>, keep: &Keep) -> Response {
    let mut response = Response::new(Body::from(bytes));
    let headers = response.headers_mut();
    let mut put = |name: HeaderName, value: &str| {
        if let Ok(value) = value.parse() {
            headers.insert(name, value);
        }
    };
    put(header::CONTENT_TYPE, content);
    match keep {
        Keep::Ask => put(header::CACHE_CONTROL, "private, no-cache"),
        Keep::Named(sum) => {
            put(header::CACHE_CONTROL, "private, no-cache");
            put(header::ETAG, &format!("\"{sum}\""));
        }
    }
    if let Some(name) = name {
        put(
            header::CONTENT_DISPOSITION,
            &format!("inline; filename=\"{}\"", plain_name(name)),
        );
    }
    response
}

/// A file's name that is safe between quotes in a header and on any disk.
#[must_use]
pub fn plain_name(name: &str) -> String {
    let plain: String = name
        .chars()
        .map(|c| match c {
            'a'..='z' | 'A'..='Z' | '0'..='9' | '-' | '_' | '.' => c,
            _ => '-',
        })
        .take(80)
        .collect();
    plain.trim_start_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::plain_name;

    #[test]
    fn a_name_can_neither_leave_its_folder_nor_its_header() {
        for (name, plain) in [
            ("../../etc/passwd", "-..-etc-passwd"),
            ("a\"; evil=\"b.pdf", "a---evil--b.pdf"),
            ("line\r\nbreak.pdf", "line--break.pdf"),
            (".hidden", "hidden"),
        ] {
            assert_eq!(plain_name(name), plain);
        }
    }
}
