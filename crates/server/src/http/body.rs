//! How values come in: from the body, the query and the path, refused in one shape.

use axum::{
    body::Bytes,
    extract::{FromRequest, FromRequestParts, Path, Request, rejection::BytesRejection},
    http::{StatusCode, request::Parts},
};
use method::{MethodError, registry::typed};
use serde::de::DeserializeOwned;
use serde_json::Value;

use super::ApiError;

/// A JSON body that was read into a type; what is wrong is pointed at.
#[derive(Debug, Clone)]
pub struct Body<T>(pub T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequest<S> for Body<T> {
    type Rejection = ApiError;

    async fn from_request(request: Request, state: &S) -> Result<Self, ApiError> {
        let Json(value) = Json::from_request(request, state).await?;
        Ok(Self(typed(&value)?))
    }
}

/// A JSON body as it came.
#[derive(Debug, Clone)]
pub struct Json(pub Value);

impl<S: Send + Sync> FromRequest<S> for Json {
    type Rejection = ApiError;

    async fn from_request(request: Request, state: &S) -> Result<Self, ApiError> {
        if !is_json(&request) {
            return Err(ApiError::new(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "not_json",
                "the body is not marked as JSON",
                "send Content-Type: application/json",
            ));
        }
        let bytes = Bytes::from_request(request, state)
            .await
            .map_err(|rejection| unread(&rejection))?;
        // serde_json stops at 128 levels, so a deep text can't exhaust the stack.
        serde_json::from_slice(&bytes).map(Self).map_err(|error| {
            ApiError::malformed(
                format!("the body is not JSON: {error}"),
                "send one JSON object",
            )
        })
    }
}

fn is_json(request: &Request) -> bool {
    request
        .headers()
        .get(axum::http::header::CONTENT_TYPE)
        .and_then(|value| value.to_str().ok())
        .is_some_and(|value| value.split(';').next().map(str::trim) == Some("application/json"))
}

/// Why a body could not be taken in whole.
pub fn unread(rejection: &BytesRejection) -> ApiError {
    if rejection.status() == StatusCode::PAYLOAD_TOO_LARGE {
        ApiError::too_large("a body of this kind may have")
    } else {
        ApiError::malformed("the body broke off", "send it again")
    }
}

/// Reads a part of a body into a type and holds its numbers against bounds.
///
/// # Errors
/// At the pointer of what is wrong.
pub fn checked<T: DeserializeOwned>(
    value: &Value,
    bounds: &[method::Bound],
) -> Result<T, MethodError> {
    let read = typed(value)?;
    method::bound::check(value, bounds)?;
    Ok(read)
}

/// The query of an address, read into a type.
#[derive(Debug, Clone)]
pub struct Params<T>(pub T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequestParts<S> for Params<T> {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, ApiError> {
        axum::extract::Query::try_from_uri(&parts.uri)
            .map(|query| Self(query.0))
            .map_err(|rejection| {
                ApiError::malformed(rejection.body_text(), "correct the query of the address")
            })
    }
}

/// The variable parts of a path.
#[derive(Debug, Clone)]
pub struct At<T>(pub T);

impl<T: DeserializeOwned + Send, S: Send + Sync> FromRequestParts<S> for At<T> {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, ApiError> {
        Path::from_request_parts(parts, state)
            .await
            .map(|path| Self(path.0))
            .map_err(|_| ApiError::missing("such thing"))
    }
}

/// A field that may be absent, null or a value: `Some(None)` for null.
///
/// # Errors
/// When the value is of the wrong kind.
pub fn given<'de, T, D>(deserializer: D) -> Result<Option<Option<T>>, D::Error>
where
    T: serde::Deserialize<'de>,
    D: serde::Deserializer<'de>,
{
    serde::Deserialize::deserialize(deserializer).map(Some)
}

/// A table as text.
#[derive(Debug, Clone)]
pub struct Table(pub String);

impl<S: Send + Sync> FromRequest<S> for Table {
    type Rejection = ApiError;

    async fn from_request(request: Request, state: &S) -> Result<Self, ApiError> {
        let bytes = Bytes::from_request(request, state)
            .await
            .map_err(|rejection| unread(&rejection))?;
        String::from_utf8(bytes.into()).map(Self).map_err(|_| {
            ApiError::malformed(
                "the table is not UTF-8 text",
                "save it as CSV in UTF-8 and send it again",
            )
        })
    }
}
