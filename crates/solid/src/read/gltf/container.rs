//! The JSON and the binary chunk of a GLB file.

use super::super::fault::Fault;
use super::super::sniff::without_mark;

/// Bytes of a GLB file's header, and of each chunk's.
const HEADER_BYTES: usize = 12;
const CHUNK_HEADER_BYTES: usize = 8;

/// The parts of a glTF file.
pub(super) struct Container<'a> {
    pub(super) json: &'a [u8],
    /// Where the JSON begins in the file, for errors.
    pub(super) json_at: usize,
    /// The GLB's binary chunk.
    pub(super) binary: Option<&'a [u8]>,
}

impl<'a> Container<'a> {
    pub(super) fn read(bytes: &'a [u8]) -> Result<Self, Fault> {
        if bytes.starts_with(b"glTF") {
            Self::read_glb(bytes)
        } else {
            let json = without_mark(bytes);
            Ok(Self {
                json,
                json_at: bytes.len() - json.len(),
                binary: None,
            })
        }
    }

    fn read_glb(bytes: &'a [u8]) -> Result<Self, Fault> {
        let cut_short = |what: &str| {
            Fault::at(bytes.len(), format!("the file ends within {what}"))
                .hint("the file is cut short: copy or export it again")
        };
        let version = word(bytes, 4).ok_or_else(|| cut_short("its header"))?;
        if version != 2 {
            return Err(
                Fault::at(4, format!("GLB version {version}; only version 2 is read"))
                    .hint("save the scan as glTF 2.0"),
            );
        }
        let length = word(bytes, 8).ok_or_else(|| cut_short("its header"))? as usize;
        if length > bytes.len() {
            return Err(Fault::at(
                8,
                format!(
                    "the header says {length} bytes, the file has {}",
                    bytes.len()
                ),
            )
            .hint("the file is cut short: copy or export it again"));
        }
        let bytes = &bytes[..length];
        let mut json = None;
        let mut binary = None;
        let mut at = HEADER_BYTES;
        while at < bytes.len() {
            let n_bytes = word(bytes, at).ok_or_else(|| cut_short("a chunk's header"))?;
            let kind = word(bytes, at + 4).ok_or_else(|| cut_short("a chunk's header"))?;
            let start = at + CHUNK_HEADER_BYTES;
            let chunk = bytes[start..].get(..n_bytes as usize).ok_or_else(|| {
                Fault::at(
                    at,
                    format!("a chunk of {n_bytes} bytes reaches over the file's end"),
                )
            })?;
            let is_first = at == HEADER_BYTES;
            match &kind.to_le_bytes() {
                b"JSON" if is_first => json = Some((chunk, start)),
                b"BIN\0" if binary.is_none() => binary = Some(chunk),
                _ if is_first => return Err(Fault::at(at, "the first chunk is not JSON")),
                _ => {}
            }
            at = start + chunk.len();
        }
        let (json, json_at) = json.ok_or_else(|| cut_short("its header"))?;
        Ok(Self {
            json,
            json_at,
            binary,
        })
    }
}

fn word(bytes: &[u8], at: usize) -> Option<u32> {
    let four = bytes.get(at..)?.first_chunk::<4>()?;
    Some(u32::from_le_bytes(*four))
}
