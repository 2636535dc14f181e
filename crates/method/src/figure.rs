//! A number that explains itself.

use schemars::JsonSchema;
use serde::Serialize;

/// How a figure is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Certainty {
    /// Taken from a scale, a scan or a drawing.
    Measured,
    /// Follows from measured figures by a relation with an error of its own.
    Estimated,
    /// Rests on a value that somebody assumed and may change.
    Assumed,
}

/// A value with its unit, how it is known, and by which relation.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Figure {
    /// The value in `unit`.
    pub value: f64,
    /// The unit, such as `L`, `kg`, `deg`, or empty for a plain number.
    pub unit: String,
    /// How it is known.
    pub certainty: Certainty,
    /// The relation in words or symbols, with what it was computed from.
    pub relation: String,
    /// Author, title, year, or `common practice, no source`.
    pub source: String,
}

impl Figure {
    /// Writes a figure.
    #[must_use]
    pub fn new(
        value: f64,
        unit: &str,
        certainty: Certainty,
        relation: impl Into<String>,
        source: &str,
    ) -> Self {
        Self {
            value,
            unit: unit.to_owned(),
            certainty,
            relation: relation.into(),
            source: source.to_owned(),
        }
    }
}
