//! Where a figure comes from.

use schemars::JsonSchema;
use serde::Serialize;

/// One figure's relation and its source, so that a screen can explain the number.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Basis {
    /// Which quantity this explains, by its output key.
    pub quantity: String,
    /// The relation in words or symbols.
    pub relation: String,
    /// Author, title, year and place, or `common practice, no source`.
    pub source: String,
}

impl Basis {
    /// Writes one entry.
    #[must_use]
    pub fn new(quantity: &str, relation: &str, source: &str) -> Self {
        Self {
            quantity: quantity.to_owned(),
            relation: relation.to_owned(),
            source: source.to_owned(),
        }
    }
}
