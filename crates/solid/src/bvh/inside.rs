//! Whether a point lies inside a closed mesh.

use glam::DVec3;

use super::{Bvh, Ray};

/// Directions that no scan's axes are likely to share; unit within rounding.
const DIRECTIONS: [DVec3; 5] = [
    DVec3::new(0.413_296_1, 0.271_843_5, 0.869_065_7),
    DVec3::new(-0.737_101_9, 0.587_342_3, -0.334_112_9),
    DVec3::new(0.193_874_2, -0.889_317_6, 0.414_174_5),
    DVec3::new(0.811_394_7, 0.431_082_7, -0.394_682_1),
    DVec3::new(-0.298_613_4, -0.541_906_8, -0.785_608_3),
];

impl Bvh {
    /// Whether `point_m` lies inside the body that a closed mesh bounds.
    ///
    /// Counts leaving minus entering hits along rays: through a closed mesh the
    /// difference is the winding number, whatever the direction. Two rays that
    /// agree decide; where they don't (a mesh with holes) the majority of five
    /// does. Points on the surface may fall on either side.
    #[must_use]
    pub fn contains(&self, point_m: DVec3) -> bool {
        let Some((low, high)) = self.bounds() else {
            return false;
        };
        if !(point_m.cmpge(low).all() && point_m.cmple(high).all()) {
            return false;
        }
        let first = self.winding_along(point_m, DIRECTIONS[0]);
        let second = self.winding_along(point_m, DIRECTIONS[1]);
        if (first > 0) == (second > 0) {
            return first > 0;
        }
        let n_inside = DIRECTIONS[2..]
            .iter()
            .filter(|direction| self.winding_along(point_m, **direction) > 0)
            .count();
        n_inside >= 2
    }

    /// Leaving less entering hits along a ray.
    fn winding_along(&self, point_m: DVec3, direction: DVec3) -> i32 {
        let mut winding = 0;
        self.for_all_hits(&Ray::new(point_m, direction), |hit| {
            winding += if hit.enters { -1 } else { 1 };
        });
        winding
    }
}
