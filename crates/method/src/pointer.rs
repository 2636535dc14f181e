//! JSON pointers (RFC 6901): which value of an input is meant.

use serde_path_to_error::{Path, Segment};

/// One step of a pointer with `~` and `/` escaped.
#[must_use]
pub fn escape(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}

/// The pointer for the place at which reading a typed input failed.
pub(crate) fn from_path(path: &Path) -> String {
    let mut pointer = String::new();
    for segment in path {
        match segment {
            Segment::Seq { index } => pointer.push_str(&format!("/{index}")),
            Segment::Map { key } => pointer.push_str(&format!("/{}", escape(key))),
            // A variant's name is a value, not a place in the text.
            Segment::Enum { .. } | Segment::Unknown => {}
        }
    }
    pointer
}

#[cfg(test)]
mod tests {
    #[test]
    fn a_slash_and_a_tilde_in_a_key_are_escaped() {
        assert_eq!(super::escape("a/b~c"), "a~1b~0c");
    }
}
