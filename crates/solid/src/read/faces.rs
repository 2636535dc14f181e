//! Faces of a file, gathered as triangles.

use glam::DVec3;

use super::fault::Fault;
use crate::polygon::Cutter;

/// Most triangles that a scan may have.
pub(super) const MOST_TRIANGLES: usize = 20_000_000;

/// The fault of a scan with too many triangles.
pub(super) fn too_many_triangles() -> Fault {
    Fault::whole(format!("more than {MOST_TRIANGLES} triangles"))
        .hint("thin the scan out; 200 000 triangles measure a piece to well under a millimetre")
}

/// Gathers faces of any number of corners as triangles.
pub(super) struct Faces {
    /// What was gathered, corners in the order of the file.
    pub(super) triangles: Vec<[u32; 3]>,
    /// Faces of at least three corners.
    pub(super) n_faces: usize,
    /// Faces of fewer than three corners, left out.
    pub(super) n_short: usize,
    /// Faces that were too intricate for ear clipping.
    n_fanned: usize,
    cutter: Cutter,
    points: Vec<DVec3>,
    cut: Vec<[usize; 3]>,
}

impl Faces {
    /// An empty collection with room for `n_expected` triangles.
    pub(super) fn new(n_expected: usize) -> Self {
        Self {
            triangles: Vec::with_capacity(n_expected.min(MOST_TRIANGLES)),
            n_faces: 0,
            n_short: 0,
            n_fanned: 0,
            cutter: Cutter::default(),
            points: Vec::new(),
            cut: Vec::new(),
        }
    }

    /// Takes in one face. Every index of `corners` must be in range of `vertices`.
    pub(super) fn push(&mut self, corners: &[u32], vertices: &[DVec3]) -> Result<(), Fault> {
        if corners.len() < 3 {
            self.n_short += 1;
            return Ok(());
        }
        self.n_faces += 1;
        if self.triangles.len() + corners.len() - 2 > MOST_TRIANGLES {
            return Err(too_many_triangles());
        }
        if let &[a, b, c] = corners {
            self.triangles.push([a, b, c]);
            return Ok(());
        }
        self.points.clear();
        self.points
            .extend(corners.iter().map(|&i| vertices[i as usize]));
        self.cut.clear();
        if !self.cutter.cut(&self.points, &mut self.cut) {
            self.n_fanned += 1;
        }
        self.triangles
            .extend(self.cut.iter().map(|t| t.map(|i| corners[i])));
        Ok(())
    }

    /// Takes in a strip: each triangle shares the last two corners of the one
    /// before. Triangles with a doubled corner only join strips and are left out.
    pub(super) fn push_strip(&mut self, corners: &[u32]) -> Result<(), Fault> {
        for (index, window) in corners.windows(3).enumerate() {
            let &[a, b, c] = window else { continue };
            if a == b || b == c || c == a {
                continue;
            }
            if self.triangles.len() == MOST_TRIANGLES {
                return Err(too_many_triangles());
            }
            self.n_faces += 1;
            self.triangles
                .push(if index % 2 == 0 { [a, b, c] } else { [b, a, c] });
        }
        Ok(())
    }

    /// What the user should know about the faces.
    pub(super) fn notes(&self, notes: &mut Vec<String>) {
        if self.n_short > 0 {
            notes.push(format!(
                "{} faces have fewer than three corners and were left out",
                self.n_short
            ));
        }
        if self.n_fanned > 0 {
            notes.push(format!(
                "{} faces were too intricate to cut into ears and were cut as fans",
                self.n_fanned
            ));
        }
    }
}
