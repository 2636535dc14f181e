//! What the fuzz targets have in common: read, and hold the result to what is
//! promised of it.

use solid::measure::{MeasureOptions, measure};
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

/// Reads and measures `bytes`; what comes out is finite and in its bounds.
pub fn measure_any(bytes: &[u8]) {
    let options = ReadOptions {
        unit: Some(Unit::Mm),
        up: None,
    };
    let Ok(scan) = read(bytes, "fuzz.stl", &options) else {
        return;
    };
    // Few triangles: the kernels' own time is not what is looked for here.
    if scan.mesh.triangles.len() > 500 {
        return;
    }
    let options = MeasureOptions {
        mass_kg: None,
        density_kg_m3: Some(2650.0),
    };
    match measure(&scan.mesh, &options) {
        Ok(measure) => {
            let figures = [
                measure.moments.volume_m3,
                measure.volume_error_m3,
                measure.area_m2,
                measure.mass_kg.unwrap_or_default(),
            ];
            assert!(
                figures.iter().all(|figure| figure.is_finite()),
                "{figures:?}"
            );
            assert!(measure.moments.volume_m3 > 0.0);
            assert!(measure.moments.centre_m.is_finite());
            assert!(measure.as_laid_m.is_finite());
            assert!(
                measure
                    .inertia_kg_m2()
                    .is_none_or(|inertia| inertia.is_finite())
            );
        }
        Err(error) => assert!(!error.hint().is_empty()),
    }
}
