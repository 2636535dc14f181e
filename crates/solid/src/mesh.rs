//! A triangle mesh: the one shape that everything here is computed from.

use glam::DVec3;

/// A triangle mesh in metres, z up, in the piece frame (the file's origin).
///
/// A triangle's corners run anticlockwise seen from outside.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mesh {
    /// Corner places, metres.
    pub vertices_m: Vec<DVec3>,
    /// Indices into `vertices_m`; always in range.
    pub triangles: Vec<[u32; 3]>,
    /// One sRGB colour for each vertex, or empty when the scan has none.
    pub colours: Vec<[u8; 3]>,
}

impl Mesh {
    /// The three corners of triangle `index`, metres.
    #[must_use]
    pub fn corners(&self, index: usize) -> [DVec3; 3] {
        self.triangles[index].map(|vertex| self.vertices_m[vertex as usize])
    }

    /// Least and greatest corner of the box along the axes, or `None` for a mesh without vertices.
    #[must_use]
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        let first = *self.vertices_m.first()?;
        Some(
            self.vertices_m
                .iter()
                .fold((first, first), |(low, high), v| (low.min(*v), high.max(*v))),
        )
    }

    /// Length of the bounding box's diagonal, metres; 0 for an empty mesh.
    #[must_use]
    pub fn diagonal_m(&self) -> f64 {
        self.bounds().map_or(0.0, |(low, high)| low.distance(high))
    }

    /// Area of all triangles, square metres.
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        (0..self.triangles.len())
            .map(|t| {
                let [a, b, c] = self.corners(t);
                0.5 * (b - a).cross(c - a).length()
            })
            .sum()
    }

    /// Unit normals at the vertices, each triangle weighted by its area.
    ///
    /// A vertex that no triangle gives a direction to gets the vertical.
    #[must_use]
    pub fn vertex_normals(&self) -> Vec<DVec3> {
        let mut normals = vec![DVec3::ZERO; self.vertices_m.len()];
        for (index, triangle) in self.triangles.iter().enumerate() {
            let [a, b, c] = self.corners(index);
            let area = (b - a).cross(c - a);
            for corner in triangle {
                normals[*corner as usize] += area;
            }
        }
        normals
            .into_iter()
            .map(|normal| normal.try_normalize().unwrap_or(DVec3::Z))
            .collect()
    }

    /// The closed box of the given size, centred on the origin.
    #[must_use]
    pub fn cuboid(size_m: DVec3) -> Self {
        let half = 0.5 * size_m;
        let vertices_m = (0..8)
            .map(|i| {
                let sign = |bit: i32| if i & bit == 0 { -1.0 } else { 1.0 };
                DVec3::new(half.x * sign(1), half.y * sign(2), half.z * sign(4))
            })
            .collect();
        let triangles = vec![
            [0, 2, 3],
            [0, 3, 1],
            [4, 5, 7],
            [4, 7, 6],
            [0, 1, 5],
            [0, 5, 4],
            [2, 6, 7],
            [2, 7, 3],
            [0, 4, 6],
            [0, 6, 2],
            [1, 3, 7],
            [1, 7, 5],
        ];
        Self {
            vertices_m,
            triangles,
            colours: Vec::new(),
        }
    }
}
