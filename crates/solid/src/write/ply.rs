//! How one mesh is written as a binary PLY file.

use crate::Mesh;

/// Writes `mesh` as a little-endian binary PLY file, in metres, z up.
///
/// Places are written as `double`, so that reading the file gives the same mesh
/// to the last bit. Colours are written when there is one for every vertex.
#[must_use]
pub fn ply(mesh: &Mesh) -> Vec<u8> {
    let coloured = mesh.colours.len() == mesh.vertices_m.len() && !mesh.colours.is_empty();
    let colour_lines = if coloured {
        "property uchar red\nproperty uchar green\nproperty uchar blue\n"
    } else {
        ""
    };
    let header = format!(
        "ply\nformat binary_little_endian 1.0\ncomment unit metre, z up\n\
         element vertex {}\nproperty double x\nproperty double y\nproperty double z\n{colour_lines}\
         element face {}\nproperty list uchar uint vertex_indices\nend_header\n",
        mesh.vertices_m.len(),
        mesh.triangles.len(),
    );
    let mut bytes = header.into_bytes();
    bytes.reserve(27 * mesh.vertices_m.len() + 13 * mesh.triangles.len());
    for (index, vertex) in mesh.vertices_m.iter().enumerate() {
        for value in vertex.to_array() {
            bytes.extend_from_slice(&value.to_le_bytes());
        }
        if coloured {
            bytes.extend_from_slice(&mesh.colours[index]);
        }
    }
    for triangle in &mesh.triangles {
        bytes.push(3);
        for corner in triangle {
            bytes.extend_from_slice(&corner.to_le_bytes());
        }
    }
    bytes
}
