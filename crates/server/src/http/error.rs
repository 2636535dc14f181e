//! How the server refuses: one shape, whatever went wrong.

use axum::{
    Json,
    http::{StatusCode, header},
    response::{IntoResponse, Response},
};
use method::MethodError;
use schemars::JsonSchema;
use serde::Serialize;
use store::StoreError;

/// A refusal on its way out.
#[derive(Debug, Clone)]
pub struct ApiError {
    /// The HTTP status.
    pub status: StatusCode,
    /// What is told.
    pub told: Box<Told>,
    /// Seconds after which it may be tried again.
    pub retry_after_s: Option<u64>,
}

/// What a client is told of a refusal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Told {
    /// A stable word for programs, such as `stale`.
    pub code: String,
    /// JSON pointer of the offending value; empty for the whole.
    pub path: String,
    /// What is wrong.
    pub message: String,
    /// What to do about it.
    pub hint: String,
    /// For `stale`: the version that the thing is at.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub current_version: Option<i64>,
}

/// The body of every refusal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Refusal {
    /// What is told.
    pub error: Told,
}

impl ApiError {
    /// A refusal with a status, a word, what is wrong and what to do.
    #[must_use]
    pub fn new(
        status: StatusCode,
        code: &str,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self {
            status,
            told: Box::new(Told {
                code: code.to_owned(),
                path: String::new(),
                message: message.into(),
                hint: hint.into(),
                current_version: None,
            }),
            retry_after_s: None,
        }
    }

    /// The same at a JSON pointer.
    #[must_use]
    pub fn at(mut self, path: impl Into<String>) -> Self {
        self.told.path = path.into();
        self
    }

    /// The same with the pointer put below another.
    #[must_use]
    pub fn below(mut self, path: &str) -> Self {
        self.told.path = format!("{path}{}", self.told.path);
        self
    }

    /// 422: a value breaks a rule.
    #[must_use]
    pub fn refused(path: &str, message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::new(StatusCode::UNPROCESSABLE_ENTITY, "refused", message, hint).at(path)
    }

    /// 400: what came can't be read.
    #[must_use]
    pub fn malformed(message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::new(StatusCode::BAD_REQUEST, "malformed", message, hint)
    }

    /// 404: there is no such thing.
    #[must_use]
    pub fn missing(what: impl std::fmt::Display) -> Self {
        Self::new(
            StatusCode::NOT_FOUND,
            "not_found",
            format!("there is no {what}"),
            "check the address; it may have been removed",
        )
    }

    /// 413: too much came.
    #[must_use]
    pub fn too_large(limit: &str) -> Self {
        Self::new(
            StatusCode::PAYLOAD_TOO_LARGE,
            "too_large",
            format!("more than {limit} came"),
            format!("send at most {limit}"),
        )
    }

    /// 500: a fault of the server's own. What it was goes into the log only.
    #[must_use]
    pub fn internal(error: &dyn std::fmt::Display) -> Self {
        tracing::error!(%error, "a request failed");
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "failed",
            "the server could not do it",
            "try again; if it stays, the server's log says why",
        )
    }
}

impl From<MethodError> for ApiError {
    fn from(error: MethodError) -> Self {
        Self::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            &error.code,
            error.message,
            error.hint,
        )
        .at(error.path)
    }
}

impl From<StoreError> for ApiError {
    fn from(error: StoreError) -> Self {
        let message = error.to_string();
        let conflict = |code, hint: &str| Self::new(StatusCode::CONFLICT, code, &message, hint);
        match &error {
            StoreError::Stale { current, .. } => {
                let mut stale = conflict("stale", "look at it as it is now, then change it again");
                stale.told.current_version = Some(*current);
                stale
            }
            StoreError::Taken { .. } => {
                conflict("taken", "choose another piece, or let it go first")
            }
            StoreError::Exists { .. } => conflict("exists", "choose another name"),
            StoreError::Missing { noun, subject } => Self::missing(format!("{noun} {subject}")),
            StoreError::Refused { path, hint, .. } => Self::refused(path, message, *hint),
            StoreError::Workshop(_) => Self::refused("", message, "correct the value"),
            StoreError::JobLost { .. } => conflict("over", "the job is over"),
            _ => Self::internal(&error),
        }
    }
}

impl IntoResponse for ApiError {
    fn into_response(self) -> Response {
        let body = Json(Refusal { error: *self.told });
        let mut response = (self.status, body).into_response();
        if let Some(seconds) = self.retry_after_s {
            response
                .headers_mut()
                .insert(header::RETRY_AFTER, seconds.into());
        }
        response
    }
}
