//! Pictures of solids by their own rays.
//!
//! A [`Scene`] of placed meshes, a [`Camera`] and [`Lighting`] give a
//! [`Picture`]: true colours, a soft lamp, the room's light with one bounce,
//! clear glass and water. The same input gives the same bytes, whatever the
//! number of threads.

mod camera;
mod clear;
mod detail;
mod film;
mod filter;
mod light;
mod noise;
mod normals;
mod random;
mod scene;
mod tone;
mod trace;

use glam::Vec3;
use rayon::prelude::*;

pub use camera::{Camera, Lens};
pub use light::{Backdrop, Lamp, Lighting};
pub use scene::{Scene, SceneItem, Surface};

use trace::Taking;

/// A finished picture in sRGB.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Pixels in a row.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// Three bytes a pixel, row by row from the upper left.
    pub rgb: Vec<u8>,
}

/// A picture in linear light, before it is drawn into a screen's range.
#[derive(Debug, Clone, PartialEq)]
pub struct Exposure {
    /// Pixels in a row.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// Row by row from the upper left; a white matt surface in light 1 is 1.
    pub light: Vec<Vec3>,
}

/// Takes a picture.
///
/// `samples` lines of sight go through each pixel: 2 are enough for a picture
/// to look at, 8 for one to print. Edges get more of their own.
/// No picture is larger than `u32::MAX` pixels; a side of 0 gives an empty one.
#[must_use]
pub fn render(
    scene: &Scene,
    camera: &Camera,
    lighting: &Lighting,
    width: u32,
    height: u32,
    samples: u32,
    seed: u64,
) -> Picture {
    expose(scene, camera, lighting, width, height, samples, seed).developed()
}

/// Takes a picture and leaves it in linear light.
#[must_use]
pub fn expose(
    scene: &Scene,
    camera: &Camera,
    lighting: &Lighting,
    width: u32,
    height: u32,
    samples: u32,
    seed: u64,
) -> Exposure {
    let taking = Taking {
        scene,
        lighting,
        aimed: camera.aimed(width.max(1), height.max(1)),
        height: f64::from(height.max(1)),
    };
    let light = film::expose(&taking, width as usize, height as usize, samples, seed);
    Exposure {
        width,
        height,
        light,
    }
}

impl Exposure {
    /// Light of a pixel.
    #[must_use]
    pub fn at(&self, x: u32, y: u32) -> Vec3 {
        self.light[y as usize * self.width as usize + x as usize]
    }

    /// The picture as a screen shows it: true up to bright, drawn in above.
    #[must_use]
    pub fn developed(&self) -> Picture {
        let rgb = self
            .light
            .par_iter()
            .with_min_len(4096)
            .flat_map_iter(|light| tone::screen(tone::within_range(*light)))
            .collect();
        Picture {
            width: self.width,
            height: self.height,
            rgb,
        }
    }
}
