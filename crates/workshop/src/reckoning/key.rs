//! What a group's figures depend on, written out byte by byte.
//!
//! Keys are compared whole, not by a hash of them: two different inputs never
//! pass for one.

use glam::{DQuat, DVec2, DVec3};

/// The inputs of one group in a fixed order.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Key(Vec<u8>);

impl Key {
    /// Adds a number, bit for bit.
    #[must_use]
    pub fn number(mut self, value: f64) -> Self {
        self.0.extend(value.to_bits().to_le_bytes());
        self
    }

    /// Adds a count.
    #[must_use]
    pub fn count(mut self, value: u64) -> Self {
        self.0.extend(value.to_le_bytes());
        self
    }

    /// Adds a number that may be absent.
    #[must_use]
    pub fn maybe(self, value: Option<f64>) -> Self {
        match value {
            Some(value) => self.count(1).number(value),
            None => self.count(0),
        }
    }

    /// Adds a text.
    #[must_use]
    pub fn text(self, text: &str) -> Self {
        let mut key = self.count(text.len() as u64);
        key.0.extend(text.as_bytes());
        key
    }

    /// Adds a place.
    #[must_use]
    pub fn place(self, place: DVec3) -> Self {
        place.to_array().into_iter().fold(self, Self::number)
    }

    /// Adds a place in plan.
    #[must_use]
    pub fn plan(self, place: DVec2) -> Self {
        self.number(place.x).number(place.y)
    }

    /// Adds a turn.
    #[must_use]
    pub fn turn(self, turn: DQuat) -> Self {
        turn.to_array().into_iter().fold(self, Self::number)
    }

    /// Adds many numbers.
    #[must_use]
    pub fn numbers<'a>(self, values: impl IntoIterator<Item = &'a f64>) -> Self {
        values
            .into_iter()
            .fold(self, |key, v| key.number(*v))
            .count(0)
    }

    /// Adds another key.
    #[must_use]
    pub fn key(self, other: &Self) -> Self {
        let mut key = self.count(other.0.len() as u64);
        key.0.extend(&other.0);
        key
    }
}
