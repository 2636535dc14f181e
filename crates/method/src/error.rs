//! How a method refuses.

use serde::Serialize;

/// A refusal: no result, a place and a way out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, thiserror::Error)]
#[error("{message}{}", if path.is_empty() { String::new() } else { format!(" (at {path})") })]
pub struct MethodError {
    /// A stable word for programs, such as `out_of_range`.
    pub code: String,
    /// JSON pointer of the offending value; empty for the whole input.
    pub path: String,
    /// What is wrong, with the offending value in it.
    pub message: String,
    /// What to do about it.
    pub hint: String,
}

impl MethodError {
    /// Writes a refusal.
    #[must_use]
    pub fn new(
        code: &str,
        path: impl Into<String>,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self {
            code: code.to_owned(),
            path: path.into(),
            message: message.into(),
            hint: hint.into(),
        }
    }

    /// The object that the command line and HTTP give back: `{"error":{…}}`.
    #[must_use]
    pub fn to_json(&self) -> serde_json::Value {
        serde_json::json!({ "error": self })
    }
}
