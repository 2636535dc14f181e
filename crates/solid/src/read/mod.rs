//! Which triangles a scan file holds.
//!
//! Takes the bytes of an OBJ, PLY, STL or glTF/GLB file and gives its triangles
//! in metres, z up. Nothing is repaired here: corners are not welded and broken
//! triangles stay in. Nothing outside the given bytes is ever opened.
//!
//! Files are hostile until read: no count in a header reserves memory before as
//! many bytes are known to be there, all offsets are checked, nesting and
//! instancing are bounded.

mod faces;
mod fault;
mod gltf;
mod obj;
mod ply;
mod sniff;
mod stl;
mod text;

use glam::DVec3;

pub use sniff::sniff;

use crate::{Mesh, SolidError};
use fault::Fault;

/// Largest file that is read, bytes.
pub const LARGEST_FILE_BYTES: usize = 512 * 1024 * 1024;

/// A coordinate beyond this is no scan's, metres. Products of three such
/// lengths are still far from overflow.
const FARTHEST_M: f64 = 1e9;

/// The formats that can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Format {
    /// Wavefront OBJ text.
    Obj,
    /// PLY: text, or binary of either byte order.
    Ply,
    /// STL: text or binary.
    Stl,
    /// glTF 2.0: JSON with embedded buffers, or GLB.
    Gltf,
}

impl Format {
    /// The format's usual name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Obj => "OBJ",
            Self::Ply => "PLY",
            Self::Stl => "STL",
            Self::Gltf => "glTF",
        }
    }
}

/// What one unit of the file's numbers is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unit {
    /// Millimetre.
    Mm,
    /// Centimetre.
    Cm,
    /// Metre.
    M,
    /// International inch, 25.4 mm exactly.
    In,
}

impl Unit {
    /// One unit in metres.
    #[must_use]
    pub fn metres(self) -> f64 {
        match self {
            Self::Mm => 1e-3,
            Self::Cm => 1e-2,
            Self::M => 1.0,
            Self::In => 0.0254,
        }
    }
}

/// Which of the file's axes points up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Up {
    /// z: the file's axes are the piece's.
    Z,
    /// y: the file's (x, y, z) becomes (x, −z, y).
    Y,
}

/// What the file itself does not say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ReadOptions {
    /// Unit of the file's numbers. Must be given, except for glTF, which is in
    /// metres by its standard; given for glTF, it replaces metres.
    pub unit: Option<Unit>,
    /// Axis that points up. `None`: y for glTF (by its standard), z for the others.
    pub up: Option<Up>,
}

/// How much a file held, before anything was cut or left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct RawCounts {
    /// Points that the file lists.
    pub vertices: usize,
    /// Faces of at least three corners, triangle strips counted by triangle.
    pub faces: usize,
    /// Triangles after polygons were cut.
    pub triangles: usize,
}

/// A file that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Scan {
    /// Its triangles, metres, z up; points that no triangle uses are left out.
    pub mesh: Mesh,
    /// What the file was.
    pub format: Format,
    /// What the file held.
    pub raw: RawCounts,
    /// What the user should know about the reading, in words.
    pub notes: Vec<String>,
}

/// What a reader hands over: the file's own numbers and axes.
#[derive(Debug, Default)]
struct Raw {
    vertices: Vec<DVec3>,
    triangles: Vec<[u32; 3]>,
    colours: Vec<[u8; 3]>,
    n_faces: usize,
    notes: Vec<String>,
}

/// Reads a scan from the bytes of its file.
///
/// `name` is the file's name, of which only the ending is looked at, and only
/// where the content leaves a doubt.
///
/// # Errors
/// [`SolidError::UnitMissing`] when `options.unit` is needed and not given;
/// [`SolidError::Unreadable`] for everything that is wrong with the file.
pub fn read(bytes: &[u8], name: &str, options: &ReadOptions) -> Result<Scan, SolidError> {
    if bytes.len() > LARGEST_FILE_BYTES {
        return Err(Fault::whole("the file is larger than 512 MB")
            .hint("thin the scan out or save it in a binary format")
            .into_error("scan", None));
    }
    let Some(format) = sniff(bytes, name) else {
        return Err(
            Fault::whole("the file is none of OBJ, PLY, STL, GLB and glTF")
                .hint("export the scan as OBJ, PLY, STL or GLB")
                .into_error("scan", None),
        );
    };
    let unit = match (options.unit, format) {
        (Some(unit), _) => unit,
        (None, Format::Gltf) => Unit::M,
        (None, _) => {
            return Err(SolidError::UnitMissing {
                format: format.name(),
                hint: "give the unit: mm, cm, m or in".into(),
            });
        }
    };
    let up = options.up.unwrap_or(match format {
        Format::Gltf => Up::Y,
        _ => Up::Z,
    });
    let (read, is_text) = match format {
        Format::Obj => (obj::read(bytes), true),
        Format::Ply => (ply::read(bytes), ply::is_text(bytes)),
        Format::Stl => (stl::read(bytes), !sniff::is_binary_stl(bytes)),
        Format::Gltf => (gltf::read(bytes), false),
    };
    read.and_then(|raw| finish(raw, format, unit, up))
        .map_err(|fault| fault.into_error(format.name(), is_text.then_some(bytes)))
}

/// Puts the file's numbers into metres, z up, and drops points without use.
fn finish(raw: Raw, format: Format, unit: Unit, up: Up) -> Result<Scan, Fault> {
    let Raw {
        mut vertices,
        mut triangles,
        mut colours,
        n_faces,
        mut notes,
    } = raw;
    let counts = RawCounts {
        vertices: vertices.len(),
        faces: n_faces,
        triangles: triangles.len(),
    };
    if triangles.is_empty() {
        return Err(Fault::whole(if vertices.is_empty() {
            "the file holds no faces".to_owned()
        } else {
            format!("the file holds {} points but no faces", vertices.len())
        })
        .hint("export the surface as triangles or polygons, not only its points"));
    }
    if format == Format::Gltf && unit != Unit::M {
        notes.push("glTF is in metres by its standard; the given unit was used instead".into());
    }
    let scale = unit.metres();
    for vertex in &mut vertices {
        let v = *vertex * scale;
        // The comparison is false for NaN too.
        if !(v.abs().max_element() <= FARTHEST_M && v.is_finite()) {
            return Err(
                Fault::whole("a point lies more than a million kilometres away")
                    .hint("check the unit, and remove broken points from the scan"),
            );
        }
        *vertex = match up {
            Up::Z => v,
            Up::Y => DVec3::new(v.x, -v.z, v.y),
        };
    }
    let n_dropped = drop_unused(&mut vertices, &mut triangles, &mut colours);
    if n_dropped > 0 {
        notes.push(format!(
            "{n_dropped} points belong to no face and were left out"
        ));
    }
    Ok(Scan {
        mesh: Mesh {
            vertices_m: vertices,
            triangles,
            colours,
        },
        format,
        raw: counts,
        notes,
    })
}

/// Removes vertices that no triangle uses, keeping the order; returns how many.
fn drop_unused(
    vertices: &mut Vec<DVec3>,
    triangles: &mut [[u32; 3]],
    colours: &mut Vec<[u8; 3]>,
) -> usize {
    let mut used = vec![false; vertices.len()];
    for corner in triangles.iter().flatten() {
        used[*corner as usize] = true;
    }
    let n_used = used.iter().filter(|&&used| used).count();
    let n_dropped = vertices.len() - n_used;
    if n_dropped == 0 {
        return 0;
    }
    let mut new_index = vec![0_u32; vertices.len()];
    let old_indices = (0..vertices.len()).filter(|&old| used[old]);
    for (new, old) in old_indices.enumerate() {
        new_index[old] = new as u32;
        vertices[new] = vertices[old];
        if !colours.is_empty() {
            colours[new] = colours[old];
        }
    }
    vertices.truncate(n_used);
    colours.truncate(n_used);
    for corner in triangles.iter_mut().flatten() {
        *corner = new_index[*corner as usize];
    }
    n_dropped
}
