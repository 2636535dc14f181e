//! Where a picture is taken from.

use glam::DVec3;

use crate::bvh::Ray;

/// How the picture is projected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lens {
    /// As the eye sees it.
    Perspective {
        /// Angle between the upper and the lower rim of the picture, rad.
        height_angle_rad: f64,
    },
    /// As a drawing: parallel rays.
    Orthographic {
        /// What the picture's height shows, m.
        height_m: f64,
    },
}

/// A camera in the scene's frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Camera {
    /// Where it stands, m.
    pub eye_m: DVec3,
    /// What it looks at, m.
    pub target_m: DVec3,
    /// What is up in the picture; not along the line of sight.
    pub up: DVec3,
    /// The projection.
    pub lens: Lens,
}

impl Camera {
    /// From the front and a little above, so that a box of the tank frame fills
    /// a picture of `aspect` (width ÷ height) but for a margin.
    #[must_use]
    pub fn front(low_m: DVec3, high_m: DVec3, aspect: f64) -> Self {
        let size = high_m - low_m;
        let middle = 0.5 * (low_m + high_m);
        let height_angle_rad = 0.42f64;
        let half = (0.5 * height_angle_rad).tan();
        // The front pane is the nearest and so the largest thing to fit.
        let needs = (0.5 * size.z / half).max(0.5 * size.x / (half * aspect));
        let away = 1.22 * needs + 0.5 * size.y;
        let rise = 0.10 * away;
        Self {
            eye_m: DVec3::new(middle.x, middle.y - away, middle.z + rise),
            target_m: middle - DVec3::Z * 0.02 * size.z,
            up: DVec3::Z,
            lens: Lens::Perspective { height_angle_rad },
        }
    }

    /// Straight down, the front at the picture's lower rim.
    #[must_use]
    pub fn plan(low_m: DVec3, high_m: DVec3, aspect: f64) -> Self {
        let size = high_m - low_m;
        let middle = 0.5 * (low_m + high_m);
        Self {
            eye_m: middle.with_z(high_m.z + size.length().max(0.1)),
            target_m: middle,
            up: DVec3::Y,
            lens: Lens::Orthographic {
                height_m: 1.14 * size.y.max(size.x / aspect),
            },
        }
    }

    /// Ready to cast rays for a picture of `width` by `height` pixels.
    pub(super) fn aimed(&self, width: u32, height: u32) -> Aimed {
        let forward = (self.target_m - self.eye_m)
            .try_normalize()
            .unwrap_or(DVec3::NEG_Z);
        let right = forward.cross(self.up);
        let right = right
            .try_normalize()
            .unwrap_or_else(|| forward.any_orthonormal_vector());
        let up = right.cross(forward);
        let half = match self.lens {
            Lens::Perspective { height_angle_rad } => (0.5 * height_angle_rad).tan(),
            Lens::Orthographic { height_m } => 0.5 * height_m,
        };
        let pixel = 2.0 * half / f64::from(height);
        Aimed {
            eye_m: self.eye_m,
            forward,
            right: right * pixel,
            up: up * pixel,
            middle: (0.5 * f64::from(width), 0.5 * f64::from(height)),
            parallel: matches!(self.lens, Lens::Orthographic { .. }),
            pixel,
        }
    }
}

/// A camera with its picture's frame worked out.
#[derive(Debug, Clone, Copy)]
pub struct Aimed {
    eye_m: DVec3,
    forward: DVec3,
    /// One pixel to the right: metres, or metres at a metre's distance.
    right: DVec3,
    up: DVec3,
    middle: (f64, f64),
    parallel: bool,
    pixel: f64,
}

impl Aimed {
    /// The ray through a place of the picture, in pixels from its upper left.
    pub fn ray(&self, x: f64, y: f64) -> Ray {
        let aside = self.right * (x - self.middle.0) + self.up * (self.middle.1 - y);
        if self.parallel {
            Ray::new(self.eye_m + aside, self.forward)
        } else {
            Ray::new(self.eye_m, (self.forward + aside).normalize())
        }
    }

    /// How far a point lies from the eye, m.
    pub fn distance_m(&self, point_m: DVec3) -> f64 {
        point_m.distance(self.eye_m)
    }

    /// Width of a pixel at a distance, m.
    pub fn footprint_m(&self, distance_m: f64) -> f64 {
        if self.parallel {
            self.pixel
        } else {
            self.pixel * distance_m
        }
    }
}
