//! The parts of a glTF file's JSON that say where its triangles are.

use std::borrow::Cow;

use serde::Deserialize;

use super::super::fault::Fault;

/// Deepest nesting of the JSON.
const DEEPEST: usize = 64;
/// Most objects and arrays. A mesh takes about twenty; each may cost some
/// hundred bytes of memory.
const MOST_CONTAINERS: usize = 250_000;
/// Most commas, which bounds what stands in the arrays.
const MOST_COMMAS: usize = 4_000_000;

/// A text of the JSON, not copied where it needs no unescaping.
#[derive(Debug, Deserialize)]
#[serde(transparent)]
pub(super) struct Text<'a>(#[serde(borrow)] pub(super) Cow<'a, str>);

/// A glTF document; what is not listed here is passed over.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Document<'a> {
    #[serde(borrow)]
    pub(super) asset: Asset<'a>,
    #[serde(default, borrow)]
    pub(super) extensions_required: Vec<Text<'a>>,
    pub(super) scene: Option<usize>,
    #[serde(default)]
    pub(super) scenes: Vec<Scene>,
    #[serde(default)]
    pub(super) nodes: Vec<Node>,
    #[serde(default)]
    pub(super) meshes: Vec<Mesh>,
    #[serde(default, borrow)]
    pub(super) accessors: Vec<Accessor<'a>>,
    #[serde(default)]
    pub(super) buffer_views: Vec<BufferView>,
    #[serde(default, borrow)]
    pub(super) buffers: Vec<Buffer<'a>>,
}

#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Asset<'a> {
    #[serde(borrow)]
    pub(super) version: Text<'a>,
    #[serde(default, borrow)]
    pub(super) min_version: Option<Text<'a>>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Scene {
    #[serde(default)]
    pub(super) nodes: Vec<usize>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Node {
    pub(super) mesh: Option<usize>,
    pub(super) skin: Option<usize>,
    #[serde(default)]
    pub(super) children: Vec<usize>,
    pub(super) matrix: Option<Box<[f64; 16]>>,
    pub(super) translation: Option<Box<[f64; 3]>>,
    pub(super) rotation: Option<Box<[f64; 4]>>,
    pub(super) scale: Option<Box<[f64; 3]>>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Mesh {
    pub(super) primitives: Vec<Primitive>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Primitive {
    pub(super) attributes: Attributes,
    pub(super) indices: Option<usize>,
    pub(super) mode: Option<u32>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Attributes {
    #[serde(rename = "POSITION")]
    pub(super) position: Option<usize>,
    #[serde(rename = "COLOR_0")]
    pub(super) colour: Option<usize>,
}

#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Accessor<'a> {
    pub(super) buffer_view: Option<usize>,
    #[serde(default)]
    pub(super) byte_offset: u64,
    pub(super) component_type: u32,
    #[serde(default)]
    pub(super) normalized: bool,
    pub(super) count: u64,
    #[serde(rename = "type", borrow)]
    pub(super) shape: Text<'a>,
    pub(super) sparse: Option<Box<Sparse>>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Sparse {
    pub(super) count: u64,
    pub(super) indices: SparseIndices,
    pub(super) values: SparseValues,
}

#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct SparseIndices {
    pub(super) buffer_view: usize,
    #[serde(default)]
    pub(super) byte_offset: u64,
    pub(super) component_type: u32,
}

#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct SparseValues {
    pub(super) buffer_view: usize,
    #[serde(default)]
    pub(super) byte_offset: u64,
}

#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct BufferView {
    pub(super) buffer: usize,
    #[serde(default)]
    pub(super) byte_offset: u64,
    pub(super) byte_length: u64,
    pub(super) byte_stride: Option<u64>,
}

#[derive(Debug, Deserialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Buffer<'a> {
    #[serde(default, borrow)]
    pub(super) uri: Option<Text<'a>>,
    pub(super) byte_length: u64,
}

impl<'a> Document<'a> {
    /// Parses the JSON, which begins at byte `json_at` of the file.
    pub(super) fn parse(json: &'a [u8], json_at: usize) -> Result<Self, Fault> {
        check_bounds(json, json_at)?;
        // Every container was counted, so depth and memory are bounded here.
        serde_json::from_slice(json).map_err(|error| {
            let at = json_at + offset_of(json, error.line(), error.column());
            Fault::at(at, format!("the JSON can't be used: {error}"))
        })
    }
}

/// Counts nesting, containers and commas before anything is built from them.
fn check_bounds(json: &[u8], json_at: usize) -> Result<(), Fault> {
    let (mut depth, mut n_containers, mut n_commas) = (0_usize, 0, 0);
    let mut in_string = false;
    let mut bytes = json.iter().enumerate();
    while let Some((at, &byte)) = bytes.next() {
        match byte {
            b'\\' if in_string => {
                bytes.next();
            }
            b'"' => in_string = !in_string,
            _ if in_string => {}
            b'{' | b'[' => {
                depth += 1;
                n_containers += 1;
                if depth > DEEPEST {
                    let reason = format!("the JSON is nested more than {DEEPEST} deep");
                    return Err(Fault::at(json_at + at, reason));
                }
            }
            b'}' | b']' => depth = depth.saturating_sub(1),
            b',' => n_commas += 1,
            _ => {}
        }
        if n_containers > MOST_CONTAINERS || n_commas > MOST_COMMAS {
            return Err(Fault::at(
                json_at + at,
                format!(
                    "the JSON holds more than {MOST_CONTAINERS} objects or {MOST_COMMAS} entries"
                ),
            )
            .hint("export the scan alone, without the rest of the scene"));
        }
    }
    Ok(())
}

/// Byte offset of a line and column as the JSON parser counts them, from 1.
fn offset_of(json: &[u8], line: usize, column: usize) -> usize {
    let mut n_left = line.saturating_sub(1);
    let start = if n_left == 0 {
        0
    } else {
        json.iter()
            .position(|&byte| {
                n_left -= usize::from(byte == b'\n');
                n_left == 0
            })
            .map_or(json.len(), |end| end + 1)
    };
    (start + column.saturating_sub(1)).min(json.len())
}
