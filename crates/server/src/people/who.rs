//! The one who asks.

use axum::http::StatusCode;
use axum::{extract::FromRequestParts, http::request::Parts};
use store::{By, Units, User};

use crate::{
    clock::now_ms,
    http::{ApiError, describe::Takes},
};

/// A signed-in user; in the demo, whoever is there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Who {
    /// Id in the store; none in the demo.
    pub id: Option<i64>,
    /// Name.
    pub name: String,
    /// Role.
    pub role: String,
    /// Units on the screen.
    pub units: Units,
}

impl Who {
    /// Whoever tries the demo.
    #[must_use]
    pub fn demo(units: Units) -> Self {
        Self {
            id: None,
            name: "demo".to_owned(),
            role: "owner".to_owned(),
            units,
        }
    }

    /// This user at this time.
    #[must_use]
    pub fn by(&self) -> By {
        By::new(&self.name, now_ms())
    }
}

impl From<User> for Who {
    fn from(user: User) -> Self {
        Self {
            id: Some(user.id),
            name: user.name,
            role: user.role.word().to_owned(),
            units: user.units,
        }
    }
}

impl<S: Send + Sync> FromRequestParts<S> for Who {
    type Rejection = ApiError;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, ApiError> {
        // The guard put it there, or answered 401 before this.
        parts.extensions.get::<Self>().cloned().ok_or_else(unknown)
    }
}

impl Takes for Who {}

/// 401.
#[must_use]
pub fn unknown() -> ApiError {
    ApiError::new(
        StatusCode::UNAUTHORIZED,
        "signed_out",
        "nobody is signed in",
        "sign in and try again",
    )
}
