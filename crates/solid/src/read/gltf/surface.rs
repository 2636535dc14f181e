//! Which surfaces a glTF file's meshes have, and how many triangles they come to.

use std::ops::Range;

use super::super::faces::{MOST_TRIANGLES, too_many_triangles};
use super::super::fault::Fault;
use super::accessor::declared;
use super::document::{Document, Primitive};
use super::scene::Instance;

/// Most points, three for each triangle.
const MOST_VERTICES: u64 = 3 * MOST_TRIANGLES as u64;

/// How corners make triangles.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Mode {
    Triangles,
    Strip,
    Fan,
}

impl Mode {
    /// How many triangles `n_corners` make; `None` where they do not come out even.
    fn count(self, n_corners: u64) -> Option<u64> {
        match self {
            Self::Triangles => n_corners.is_multiple_of(3).then_some(n_corners / 3),
            Self::Strip | Self::Fan => Some(n_corners.saturating_sub(2)),
        }
    }

    /// Passes every triangle that `corners` make to `take`. Triangles of a strip
    /// with a doubled corner only join its parts and are left out.
    pub(super) fn triangles(self, corners: &[u32], mut take: impl FnMut([u32; 3])) {
        match self {
            Self::Triangles => corners
                .chunks_exact(3)
                .for_each(|t| take([t[0], t[1], t[2]])),
            Self::Strip => {
                for (index, t) in corners.windows(3).enumerate() {
                    let [a, b, c] = [t[0], t[1], t[2]];
                    if a != b && b != c && c != a {
                        take(if index % 2 == 0 { [a, b, c] } else { [b, a, c] });
                    }
                }
            }
            Self::Fan => {
                if let [first, others @ ..] = corners {
                    others.windows(2).for_each(|t| take([*first, t[0], t[1]]));
                }
            }
        }
    }
}

/// One primitive of a mesh, as far as it matters here.
#[derive(Debug)]
pub(super) struct Surface {
    mesh: usize,
    place: usize,
    pub(super) mode: Mode,
    pub(super) positions: usize,
    pub(super) indices: Option<usize>,
    pub(super) colours: Option<usize>,
}

impl Surface {
    /// Accessors that the surface is read from.
    pub(super) fn accessors(&self) -> impl Iterator<Item = usize> + use<> {
        let others = [self.indices, self.colours].into_iter().flatten();
        others.chain([self.positions])
    }

    /// A fault of this surface.
    pub(super) fn fault(&self, what: &str) -> Fault {
        Fault::whole(format!(
            "primitive {} of mesh {} {what}",
            self.place, self.mesh
        ))
    }

    /// The surface of a primitive; `None` for points, lines and what has no place.
    fn of(mesh: usize, place: usize, primitive: &Primitive) -> Result<Option<Self>, Fault> {
        let mode = match primitive.mode.unwrap_or(4) {
            0..=3 => return Ok(None),
            4 => Mode::Triangles,
            5 => Mode::Strip,
            6 => Mode::Fan,
            mode => {
                return Err(Fault::whole(format!(
                    "primitive {place} of mesh {mesh} has mode {mode}, which glTF does not know"
                )));
            }
        };
        Ok(primitive.attributes.position.map(|positions| Self {
            mesh,
            place,
            mode,
            positions,
            indices: primitive.indices,
            colours: primitive.attributes.colour,
        }))
    }
}

/// All surfaces that the scene shows, and what they come to.
#[derive(Debug)]
pub(super) struct Plan {
    /// Each surface once, by mesh.
    pub(super) surfaces: Vec<Surface>,
    /// Where a mesh's surfaces stand in `surfaces`; `None` for one that is not shown.
    of_mesh: Vec<Option<Range<usize>>>,
    /// Points of all instances.
    pub(super) n_vertices: usize,
    /// Triangles of all instances.
    pub(super) n_triangles: usize,
}

impl Plan {
    /// Lists the surfaces of `instances` and adds them up, from what the file
    /// declares; refuses more than can be read.
    pub(super) fn of(
        document: &Document,
        instances: &[Instance],
        notes: &mut Vec<String>,
    ) -> Result<Self, Fault> {
        let mut surfaces = Vec::new();
        let mut of_mesh = vec![None; document.meshes.len()];
        let mut sums = vec![(0_u64, 0_u64); document.meshes.len()];
        let (mut n_vertices, mut n_triangles) = (0_u64, 0_u64);
        let mut n_passed_over = 0;
        for instance in instances {
            let index = instance.mesh;
            let Some(mesh) = document.meshes.get(index) else {
                return Err(Fault::whole(format!("there is no mesh {index}")));
            };
            if of_mesh[index].is_none() {
                let first = surfaces.len();
                for (place, primitive) in mesh.primitives.iter().enumerate() {
                    match Surface::of(index, place, primitive)? {
                        Some(surface) => surfaces.push(surface),
                        None => n_passed_over += 1,
                    }
                }
                of_mesh[index] = Some(first..surfaces.len());
                sums[index] = sum(document, &surfaces[first..])?;
            }
            n_vertices = n_vertices.saturating_add(sums[index].0);
            n_triangles = n_triangles.saturating_add(sums[index].1);
            if n_triangles > MOST_TRIANGLES as u64 || n_vertices > MOST_VERTICES {
                return Err(too_many_triangles());
            }
        }
        if n_passed_over > 0 {
            notes.push(format!(
                "{n_passed_over} primitives are points or lines and were left out"
            ));
        }
        Ok(Self {
            surfaces,
            of_mesh,
            // Both were just held against far smaller bounds.
            n_vertices: n_vertices as usize,
            n_triangles: n_triangles as usize,
        })
    }

    /// Places in `surfaces` of a mesh's surfaces.
    pub(super) fn surfaces_of(&self, mesh: usize) -> Range<usize> {
        self.of_mesh.get(mesh).cloned().flatten().unwrap_or(0..0)
    }
}

/// Points and triangles that the accessors of `surfaces` declare.
fn sum(document: &Document, surfaces: &[Surface]) -> Result<(u64, u64), Fault> {
    let (mut n_vertices, mut n_triangles) = (0_u64, 0_u64);
    for surface in surfaces {
        let n_points = declared(document, surface.positions)?.count;
        let n_corners = match surface.indices {
            Some(indices) => declared(document, indices)?.count,
            None => n_points,
        };
        let Some(n) = surface.mode.count(n_corners) else {
            return Err(surface.fault(&format!(
                "has {n_corners} corners, which is not three for each triangle"
            )));
        };
        n_vertices = n_vertices.saturating_add(n_points);
        n_triangles = n_triangles.saturating_add(n);
    }
    Ok((n_vertices, n_triangles))
}
