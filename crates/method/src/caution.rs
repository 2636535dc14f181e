//! What a result must say beside itself.

use schemars::JsonSchema;
use serde::Serialize;

/// How much a caution matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Good to know.
    Note,
    /// Look before relying on the figure.
    Caution,
    /// Someone or something can come to harm.
    Danger,
}

/// A caution, returned beside a result.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Caution {
    /// A stable word for programs, such as `wrong_unit`.
    pub code: String,
    /// How much it matters.
    pub severity: Severity,
    /// The words for a person, with the offending numbers in them.
    pub text: String,
}

impl Caution {
    /// Writes a caution.
    #[must_use]
    pub fn new(code: &str, severity: Severity, text: impl Into<String>) -> Self {
        Self {
            code: code.to_owned(),
            severity,
            text: text.into(),
        }
    }
}
