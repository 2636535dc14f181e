//! What lights a scene, and what stands behind it.

use std::f32::consts::PI;

use glam::{DVec3, Vec3};

use super::tone;

/// A flat lamp, bright on one side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lamp {
    /// Its middle, m.
    pub centre_m: DVec3,
    /// From the middle to the middle of one rim, m.
    pub half_u_m: DVec3,
    /// From the middle to the middle of the next rim, m. It shines along u × v.
    pub half_v_m: DVec3,
    /// Radiance; a white matt surface in light 1 shows as white.
    pub radiance: Vec3,
}

impl Lamp {
    /// A place on the lamp; `u` and `v` run from 0 to 1.
    pub(super) fn point(&self, u: f64, v: f64) -> DVec3 {
        self.centre_m + self.half_u_m * (2.0 * u - 1.0) + self.half_v_m * (2.0 * v - 1.0)
    }

    /// Light on a matt surface from the whole lamp, nothing in the way, ÷ π.
    ///
    /// Four patches, each taken at its middle.
    pub(super) fn on(&self, point_m: DVec3, normal: Vec3) -> Vec3 {
        let face = 4.0 * self.half_u_m.cross(self.half_v_m);
        let mut sum = 0.0;
        for (u, v) in [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)] {
            let way = self.point(u, v) - point_m;
            let square = way.length_squared();
            let there = -face.dot(way);
            let here = normal.dot(way.as_vec3());
            if there > 0.0 && here > 0.0 {
                sum += here * (0.25 * there / (square * square)) as f32;
            }
        }
        self.radiance * (sum / PI)
    }
}

/// What stands behind the scene.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Backdrop {
    /// At the picture's upper rim, sRGB.
    pub top: [u8; 3],
    /// At the picture's lower rim, sRGB.
    pub bottom: [u8; 3],
    /// Height of a plane in the same tone that catches shadows, m.
    pub floor_z_m: Option<f64>,
}

/// All light of a picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lighting {
    /// The lamp that casts shadows, if any.
    pub lamp: Option<Lamp>,
    /// Radiance from straight above.
    pub sky: Vec3,
    /// Radiance from straight below; in between it fades from one to the other.
    pub below: Vec3,
    /// What stands behind.
    pub backdrop: Backdrop,
    /// Whether glass and water reflect; off for drawings.
    pub reflections: bool,
}

impl Lighting {
    /// A soft lamp above and before a box, a bright room, off-white paper behind.
    #[must_use]
    pub fn studio(low_m: DVec3, high_m: DVec3) -> Self {
        let size = high_m - low_m;
        let middle = 0.5 * (low_m + high_m);
        let reach = size.length();
        let centre_m =
            middle + DVec3::new(-0.42 * size.x, -0.36 * reach, 0.5 * size.z + 0.8 * reach);
        Self::lit_from(centre_m, middle, 0.11 * reach, 1.0)
    }

    /// As [`Lighting::studio`] for a plan: from the upper left, no reflections.
    #[must_use]
    pub fn plan(low_m: DVec3, high_m: DVec3) -> Self {
        let size = high_m - low_m;
        let middle = 0.5 * (low_m + high_m);
        let reach = size.length();
        let centre_m = middle + DVec3::new(-0.45 * reach, 0.45 * reach, 0.5 * size.z + 1.1 * reach);
        Self {
            reflections: false,
            ..Self::lit_from(centre_m, middle, 0.15 * reach, 0.85)
        }
    }

    /// Light that is the same from everywhere, and nothing else.
    #[must_use]
    pub fn uniform(radiance: f32) -> Self {
        let tone = tone::screen(Vec3::splat(radiance));
        Self {
            lamp: None,
            sky: Vec3::splat(radiance),
            below: Vec3::splat(radiance),
            backdrop: Backdrop {
                top: tone,
                bottom: tone,
                floor_z_m: None,
            },
            reflections: false,
        }
    }

    /// A square lamp that gives `light` on a surface at `aim_m` turned to it.
    fn lit_from(centre_m: DVec3, aim_m: DVec3, half_m: f64, light: f32) -> Self {
        let way = (aim_m - centre_m).try_normalize().unwrap_or(DVec3::NEG_Z);
        let u = way.any_orthonormal_vector();
        let mut lamp = Lamp {
            centre_m,
            half_u_m: u * half_m,
            half_v_m: way.cross(u) * half_m,
            radiance: Vec3::ONE,
        };
        let given = lamp.on(aim_m, (-way).as_vec3()).max_element();
        let warm = Vec3::new(1.0, 0.975, 0.93);
        if given > 0.0 {
            lamp.radiance = warm * (light / given);
        }
        Self {
            lamp: Some(lamp),
            sky: Vec3::new(0.45, 0.455, 0.455),
            below: Vec3::new(0.21, 0.20, 0.19),
            backdrop: Backdrop {
                top: [246, 244, 238],
                bottom: [226, 222, 213],
                floor_z_m: None,
            },
            reflections: true,
        }
    }

    /// The same with a floor that catches shadows at a height, m.
    #[must_use]
    pub fn with_floor(mut self, z_m: f64) -> Self {
        self.backdrop.floor_z_m = Some(z_m);
        self
    }

    /// Radiance of the room in a direction.
    pub(super) fn room(&self, direction: Vec3) -> Vec3 {
        self.below.lerp(self.sky, 0.5 + 0.5 * direction.z)
    }

    /// Light of the whole room on a matt surface, nothing in the way, ÷ π.
    ///
    /// The room is linear in z, whose mean over the cosine lobe is 2/3 of the normal's.
    pub(super) fn room_on(&self, normal: Vec3) -> Vec3 {
        self.below.lerp(self.sky, 0.5 + normal.z / 3.0)
    }

    /// The backdrop's tone at a share of the picture's height from above.
    pub(super) fn behind(&self, down: f32) -> Vec3 {
        let blend = down.clamp(0.0, 1.0);
        let blend = blend * blend * (3.0 - 2.0 * blend);
        tone::linear(self.backdrop.top).lerp(tone::linear(self.backdrop.bottom), blend)
    }
}
