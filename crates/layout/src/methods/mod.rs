//! The methods of this crate: JSON and its units live here.

pub mod ground;
mod piece;
pub mod settle;

use method::Registry;

/// Adds the methods of this crate to a registry.
#[must_use]
pub fn register(registry: Registry) -> Registry {
    registry
        .with::<ground::ScapeGround>()
        .with::<settle::ScapeSettle>()
}
