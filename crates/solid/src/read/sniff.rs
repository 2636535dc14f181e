//! Which format a file has.

use super::Format;
use super::text::{Words, is_space};

/// Bytes in front of the first triangle of a binary STL file: header and count.
pub(super) const STL_HEADER_BYTES: usize = 84;
/// Bytes of one triangle of a binary STL file.
pub(super) const STL_TRIANGLE_BYTES: usize = 50;

/// How far into a text the search for tell-tale words goes, bytes.
const SEARCH_BYTES: usize = 4096;

/// Tells a file's format from its content, or from its name's ending where the
/// content leaves a doubt.
#[must_use]
pub fn sniff(bytes: &[u8], name: &str) -> Option<Format> {
    by_content(bytes).or_else(|| by_ending(name))
}

fn by_content(bytes: &[u8]) -> Option<Format> {
    if bytes.starts_with(b"glTF") {
        return Some(Format::Gltf);
    }
    if bytes.len() > 3 && bytes.starts_with(b"ply") && is_space(bytes[3]) {
        return Some(Format::Ply);
    }
    if fits_binary_stl(bytes) || begins_text_stl(bytes) {
        return Some(Format::Stl);
    }
    let text = without_mark(bytes);
    let first = text.iter().position(|&byte| !is_space(byte))?;
    if text[first] == b'{' {
        return Some(Format::Gltf);
    }
    has_obj_line(text).then_some(Format::Obj)
}

fn by_ending(name: &str) -> Option<Format> {
    let (_, ending) = name.rsplit_once('.')?;
    match ending.to_ascii_lowercase().as_str() {
        "obj" => Some(Format::Obj),
        "ply" => Some(Format::Ply),
        "stl" => Some(Format::Stl),
        "glb" | "gltf" => Some(Format::Gltf),
        _ => None,
    }
}

/// Whether an STL file is to be read as binary.
///
/// Many binary files begin with the word `solid` that marks text. The length
/// decides when it fits the count exactly; else what follows the word.
pub(super) fn is_binary_stl(bytes: &[u8]) -> bool {
    fits_binary_stl(bytes) || !begins_text_stl(bytes)
}

/// The triangle count of a binary STL file, if it is long enough to have one.
pub(super) fn stl_count(bytes: &[u8]) -> Option<u32> {
    let count = bytes.get(STL_HEADER_BYTES - 4..STL_HEADER_BYTES)?;
    Some(u32::from_le_bytes(count.try_into().ok()?))
}

fn fits_binary_stl(bytes: &[u8]) -> bool {
    stl_count(bytes).is_some_and(|count| {
        let body = u64::from(count) * STL_TRIANGLE_BYTES as u64;
        STL_HEADER_BYTES as u64 + body == bytes.len() as u64
    })
}

/// Whether the file begins like a text STL: `solid`, and then a facet or the end.
fn begins_text_stl(bytes: &[u8]) -> bool {
    let head = without_mark(&bytes[..bytes.len().min(SEARCH_BYTES)]);
    let mut words = Words::new(head, 0);
    let Some((_, first)) = words.next() else {
        return false;
    };
    first.eq_ignore_ascii_case(b"solid")
        && (head.len() < STL_HEADER_BYTES
            || words.any(|(_, word)| {
                word.eq_ignore_ascii_case(b"facet") || word.eq_ignore_ascii_case(b"endsolid")
            }))
}

/// Whether one of the first lines is one that OBJ files are made of.
fn has_obj_line(text: &[u8]) -> bool {
    const WORDS: [&[u8]; 10] = [
        b"v", b"vn", b"vt", b"f", b"o", b"g", b"s", b"l", b"mtllib", b"usemtl",
    ];
    text[..text.len().min(SEARCH_BYTES)]
        .split(|&byte| byte == b'\n' || byte == b'\r')
        .filter_map(|line| Words::new(line, 0).next())
        .map(|(_, word)| word)
        .find(|word| !word.starts_with(b"#"))
        .is_some_and(|word| WORDS.contains(&word))
}

/// The text behind a UTF-8 byte order mark, if there is one.
pub(super) fn without_mark(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes)
}
