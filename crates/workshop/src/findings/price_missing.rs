//! A layout can't be quoted while a price is missing.

use method::{Caution, Severity};
use serde::Serialize;

/// A piece or a material without a price.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PriceMissing {
    /// The tag of the piece, or the name of the material.
    pub what: String,
    /// Why there is no price, in words.
    pub reason: String,
}

impl PriceMissing {
    /// The finding in words.
    #[must_use]
    pub fn caution(&self) -> Caution {
        Caution::new(
            "price_missing",
            Severity::Caution,
            format!("{} is not in the sum: {}", self.what, self.reason),
        )
    }
}
