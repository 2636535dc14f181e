//! What the fuzz targets have in common: read, and hold the result to what is
//! promised of it.

use solid::read::{ReadOptions, Unit, read};

/// Reads `bytes` as a file of this name and checks the mesh that comes out.
pub fn read_any(bytes: &[u8], name: &str) {
    let options = ReadOptions {
        unit: Some(Unit::Mm),
        up: None,
    };
    match read(bytes, name, &options) {
        Ok(scan) => {
            let mesh = &scan.mesh;
            let n_vertices = mesh.vertices_m.len();
            assert!(!mesh.triangles.is_empty());
            assert!(mesh.vertices_m.iter().all(|vertex| vertex.is_finite()));
            assert!(
                mesh.triangles
                    .iter()
                    .flatten()
                    .all(|&corner| (corner as usize) < n_vertices)
            );
            assert!(mesh.colours.is_empty() || mesh.colours.len() == n_vertices);
        }
        Err(error) => {
            assert!(!error.to_string().is_empty());
            assert!(!error.hint().is_empty());
        }
    }
}
