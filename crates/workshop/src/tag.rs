//! How pieces are told apart: a letter for what it is, and a number.

use std::{fmt, str::FromStr};

use serde::{Serialize, Serializer};

use crate::WorkshopError;

/// What a piece is made of, broadly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PieceKind {
    /// Stone; sinks and stays.
    Stone,
    /// Wood; may float.
    Wood,
}

impl PieceKind {
    /// The letter that its tags begin with.
    #[must_use]
    pub fn letter(self) -> char {
        match self {
            Self::Stone => 'S',
            Self::Wood => 'W',
        }
    }

    /// The word for a person.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Stone => "stone",
            Self::Wood => "wood",
        }
    }
}

/// A piece's short number, such as `S-0148`.
///
/// The number is above zero and written with at least four digits; more only
/// when it needs them, so that a tag is written in one way only.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Tag {
    kind: PieceKind,
    number: u32,
}

impl Tag {
    /// The tag of this kind and number.
    ///
    /// # Errors
    /// When the number is zero.
    pub fn new(kind: PieceKind, number: u32) -> Result<Self, WorkshopError> {
        if number == 0 {
            return Err(WorkshopError::Tag {
                text: format!("{}-0000", kind.letter()),
            });
        }
        Ok(Self { kind, number })
    }

    /// What the tagged piece is.
    #[must_use]
    pub fn kind(self) -> PieceKind {
        self.kind
    }

    /// The number without its letter.
    #[must_use]
    pub fn number(self) -> u32 {
        self.number
    }
}

impl fmt::Display for Tag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{}-{:04}", self.kind.letter(), self.number))
    }
}

impl FromStr for Tag {
    type Err = WorkshopError;

    fn from_str(text: &str) -> Result<Self, WorkshopError> {
        let refuse = || WorkshopError::Tag {
            text: text.chars().take(40).collect(),
        };
        let (letter, digits) = text.split_once('-').ok_or_else(refuse)?;
        let kind = match letter {
            "S" => PieceKind::Stone,
            "W" => PieceKind::Wood,
            _ => return Err(refuse()),
        };
        let plain = digits.len() >= 4 && digits.bytes().all(|b| b.is_ascii_digit());
        let number = digits.parse().map_err(|_| refuse())?;
        let tag = Self::new(kind, number).map_err(|_| refuse())?;
        if plain && tag.to_string() == text {
            Ok(tag)
        } else {
            Err(refuse())
        }
    }
}

impl Serialize for Tag {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tag_reads_back_as_it_is_written() {
        for text in ["S-0148", "W-0207", "S-0001", "W-12345"] {
            let tag: Tag = text.parse().expect("a good tag");
            assert_eq!(tag.to_string(), text);
        }
    }

    #[test]
    fn what_is_written_otherwise_is_refused() {
        for text in [
            "",
            "S0148",
            "S-148",
            "S-00148",
            "s-0148",
            "X-0148",
            "S-0000",
            "S-+148",
            "S-4294967296",
            "S-0148 ",
            "S--148",
        ] {
            assert!(text.parse::<Tag>().is_err(), "{text:?} was taken");
        }
    }
}
