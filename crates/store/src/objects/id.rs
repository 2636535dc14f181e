//! The name of an object.

use object_store::path::Path as Key;
use serde::{Serialize, Serializer};
use sha2::{Digest, Sha256};

use crate::StoreError;

/// The name of an object: the SHA-256 of its bytes, 64 hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ObjectId(String);

impl ObjectId {
    /// The name of these bytes.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        Self::of_sum(&Sha256::digest(bytes))
    }

    pub(super) fn of_sum(sum: &[u8]) -> Self {
        Self(hex(sum))
    }

    /// A name as it was written.
    #[must_use]
    pub fn from_hex(text: &str) -> Option<Self> {
        let good = text.len() == 64
            && text
                .bytes()
                .all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b));
        good.then(|| Self(text.to_owned()))
    }

    /// The 64 digits.
    #[must_use]
    pub fn hex(&self) -> &str {
        &self.0
    }

    pub(crate) fn of_row(table: &'static str, text: &str) -> Result<Self, StoreError> {
        Self::from_hex(text).ok_or_else(|| StoreError::Row {
            table,
            reason: "an object's name isn't 64 hexadecimal digits".to_owned(),
        })
    }

    pub(super) fn key(&self) -> Key {
        Key::from(format!("sha256/{}/{}", &self.0[..2], self.0))
    }
}

impl Serialize for ObjectId {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.0)
    }
}

/// Bytes as hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::new(), |mut text, byte| {
        // Writing to a string can't fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}
