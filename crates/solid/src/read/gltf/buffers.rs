//! The bytes that a glTF file's buffers hold.

use std::borrow::Cow;

use super::super::fault::{Fault, quoted};
use super::document::{Buffer, BufferView, Document};

/// The buffers of one file. Data URIs are decoded when they are first needed;
/// a buffer that nothing needs is not looked at.
pub(super) struct Buffers<'a> {
    declared: &'a [Buffer<'a>],
    views: &'a [BufferView],
    bytes: Vec<Option<Cow<'a, [u8]>>>,
}

impl<'a> Buffers<'a> {
    /// Loads those buffers of `document` that `needed_views` lie in.
    pub(super) fn load(
        document: &'a Document<'a>,
        binary: Option<&'a [u8]>,
        needed_views: impl Iterator<Item = usize>,
    ) -> Result<Self, Fault> {
        let mut buffers = Self {
            declared: &document.buffers,
            views: &document.buffer_views,
            bytes: document.buffers.iter().map(|_| None).collect(),
        };
        for view in needed_views {
            let index = buffers.view_declared(view)?.buffer;
            let Some(buffer) = buffers.declared.get(index) else {
                return Err(Fault::whole(format!(
                    "buffer view {view} names buffer {index}, which is not there"
                )));
            };
            if buffers.bytes[index].is_none() {
                let bytes = load_one(index, buffer, binary)?;
                buffers.bytes[index] = Some(bytes);
            }
        }
        Ok(buffers)
    }

    /// What is declared of buffer view `index`.
    pub(super) fn view_declared(&self, index: usize) -> Result<&'a BufferView, Fault> {
        self.views
            .get(index)
            .ok_or_else(|| Fault::whole(format!("there is no buffer view {index}")))
    }

    /// The bytes of buffer view `index`, which must be one of those loaded.
    pub(super) fn view(&self, index: usize) -> Result<&[u8], Fault> {
        let view = self.view_declared(index)?;
        let bytes = self
            .bytes
            .get(view.buffer)
            .and_then(Option::as_deref)
            .ok_or_else(|| Fault::whole(format!("buffer {} holds no data", view.buffer)))?;
        slice(bytes, view.byte_offset, view.byte_length).ok_or_else(|| {
            Fault::whole(format!(
                "buffer view {index} ({} bytes from {}) reaches over the end of its buffer ({} bytes)",
                view.byte_length,
                view.byte_offset,
                bytes.len()
            ))
        })
    }
}

/// `length` bytes from `offset`, if they are there.
pub(super) fn slice(bytes: &[u8], offset: u64, length: u64) -> Option<&[u8]> {
    let start = usize::try_from(offset).ok()?;
    let end = usize::try_from(offset.checked_add(length)?).ok()?;
    bytes.get(start..end)
}

fn load_one<'a>(
    index: usize,
    buffer: &'a Buffer<'a>,
    binary: Option<&'a [u8]>,
) -> Result<Cow<'a, [u8]>, Fault> {
    let bytes = match &buffer.uri {
        None if index == 0 => {
            Cow::Borrowed(binary.ok_or_else(|| Fault::whole("buffer 0 has no data in the file"))?)
        }
        None => {
            return Err(Fault::whole(format!(
                "buffer {index} has no data in the file"
            )));
        }
        Some(uri) => Cow::Owned(decode_data_uri(index, &uri.0)?),
    };
    let declared = usize::try_from(buffer.byte_length).unwrap_or(usize::MAX);
    if declared > bytes.len() {
        return Err(Fault::whole(format!(
            "buffer {index} should hold {declared} bytes, but {} are there",
            bytes.len()
        ))
        .hint("the file is cut short: copy or export it again"));
    }
    Ok(match bytes {
        Cow::Borrowed(bytes) => Cow::Borrowed(&bytes[..declared]),
        Cow::Owned(mut bytes) => {
            bytes.truncate(declared);
            Cow::Owned(bytes)
        }
    })
}

fn decode_data_uri(index: usize, uri: &str) -> Result<Vec<u8>, Fault> {
    let Some(data) = uri.strip_prefix("data:") else {
        return Err(Fault::whole(format!(
            "buffer {index} lies in another file, {}",
            quoted(uri.as_bytes())
        ))
        .hint("save the scan as one GLB file, or as glTF with embedded buffers"));
    };
    let bad = || Fault::whole(format!("buffer {index} is not sound base64 data"));
    let (kind, text) = data.split_once(',').ok_or_else(bad)?;
    if !kind.ends_with(";base64") {
        return Err(bad());
    }
    decode_base64(text.as_bytes()).ok_or_else(bad)
}

/// Decodes base64 (RFC 4648, section 4), with or without its padding.
fn decode_base64(text: &[u8]) -> Option<Vec<u8>> {
    let text = match text {
        [text @ .., b'=', b'='] | [text @ .., b'='] => text,
        text => text,
    };
    let mut bytes = Vec::with_capacity(text.len() / 4 * 3 + 2);
    for group in text.chunks(4) {
        let mut bits: u32 = 0;
        for &letter in group {
            let value = match letter {
                b'A'..=b'Z' => letter - b'A',
                b'a'..=b'z' => letter - b'a' + 26,
                b'0'..=b'9' => letter - b'0' + 52,
                b'+' => 62,
                b'/' => 63,
                _ => return None,
            };
            bits = bits << 6 | u32::from(value);
        }
        let n_bytes = match group.len() {
            4 => 3,
            3 => 2,
            2 => 1,
            _ => return None,
        };
        bits <<= 6 * (4 - group.len());
        bytes.extend_from_slice(&bits.to_be_bytes()[1..=n_bytes]);
    }
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4648, section 10: its test vectors.
    #[test]
    fn base64_of_the_standard_decodes() {
        for (text, bytes) in [
            ("", ""),
            ("Zg==", "f"),
            ("Zm8=", "fo"),
            ("Zm9v", "foo"),
            ("Zm9vYg==", "foob"),
            ("Zm9vYmE=", "fooba"),
            ("Zm9vYmFy", "foobar"),
            ("Zm9vYg", "foob"),
        ] {
            assert_eq!(
                decode_base64(text.as_bytes()).as_deref(),
                Some(bytes.as_bytes())
            );
        }
        for text in ["Z", "Zm9vY", "Zm 9v", "Z===", "Zg==Zg=="] {
            assert_eq!(decode_base64(text.as_bytes()), None, "{text}");
        }
    }
}
