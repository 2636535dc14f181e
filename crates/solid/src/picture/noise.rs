//! Procedural grain: smooth noise with its slope, and cells.

use glam::{IVec3, Vec3};

/// A whole-number hash of a lattice point, uniform over u32.
fn hash(cell: IVec3, seed: u32) -> u32 {
    let mut h = (cell.x as u32).wrapping_mul(0x8da6_b343)
        ^ (cell.y as u32).wrapping_mul(0xd816_3841)
        ^ (cell.z as u32).wrapping_mul(0xcb1a_b31f)
        ^ seed.wrapping_mul(0x9e37_79b9);
    h = (h ^ (h >> 16)).wrapping_mul(0x7feb_352d);
    h = (h ^ (h >> 15)).wrapping_mul(0x846c_a68b);
    h ^ (h >> 16)
}

fn unit(h: u32) -> f32 {
    (h >> 8) as f32 * (1.0 / 16_777_216.0)
}

/// Smooth noise in −1..1 at a point in cells, and its slope per cell.
///
/// Lattice values with quintic blending (K. Perlin, Improving noise, 2002).
pub fn smooth(p: Vec3, seed: u32) -> (f32, Vec3) {
    let floor = p.floor();
    let cell = floor.as_ivec3();
    let w = p - floor;
    let u = w * w * w * (w * (w * 6.0 - 15.0) + 10.0);
    let du = 30.0 * w * w * (w * (w - 2.0) + 1.0);
    let at = |x, y, z| unit(hash(cell + IVec3::new(x, y, z), seed)) * 2.0 - 1.0;
    let (a, b, c, d) = (at(0, 0, 0), at(1, 0, 0), at(0, 1, 0), at(1, 1, 0));
    let (e, f, g, h) = (at(0, 0, 1), at(1, 0, 1), at(0, 1, 1), at(1, 1, 1));
    let (kx, ky, kz) = (b - a, c - a, e - a);
    let (kxy, kyz, kzx) = (a - b - c + d, a - c - e + g, a - b - e + f);
    let kxyz = -a + b + c - d + e - f - g + h;
    let value = a
        + kx * u.x
        + ky * u.y
        + kz * u.z
        + kxy * u.x * u.y
        + kyz * u.y * u.z
        + kzx * u.z * u.x
        + kxyz * u.x * u.y * u.z;
    let slope = du
        * Vec3::new(
            kx + kxy * u.y + kzx * u.z + kxyz * u.y * u.z,
            ky + kyz * u.z + kxy * u.x + kxyz * u.z * u.x,
            kz + kzx * u.x + kyz * u.y + kxyz * u.x * u.y,
        );
    (value, slope)
}

/// The grain that a point in cells belongs to.
#[derive(Debug, Clone, Copy)]
pub struct Grain {
    /// From the grain's middle to the point, in cells.
    pub offset: Vec3,
    /// How much nearer the grain's middle is than the next one's, in cells: 0 on a seam.
    pub margin: f32,
    /// What the grain is like: three draws in 0..1.
    pub draws: [f32; 3],
}

/// Cells round scattered points, one for each lattice cell.
///
/// # Source
/// S. Worley, A cellular texture basis function, SIGGRAPH 1996.
pub fn grain(p: Vec3, seed: u32) -> Grain {
    let floor = p.floor();
    let cell = floor.as_ivec3();
    let w = p - floor;
    let (mut first, mut second) = (f32::INFINITY, f32::INFINITY);
    let mut best = (Vec3::ZERO, 0u32);
    for x in -1..=1 {
        for y in -1..=1 {
            for z in -1..=1 {
                let step = IVec3::new(x, y, z);
                let h = hash(cell + step, seed);
                let at = |shift: u32| (h >> shift & 0x3ff) as f32 * (0.8 / 1023.0) + 0.1;
                let offset = w - step.as_vec3() - Vec3::new(at(0), at(10), at(20));
                let square = offset.length_squared();
                if square < first {
                    (second, first) = (first, square);
                    best = (offset, h);
                } else {
                    second = second.min(square);
                }
            }
        }
    }
    let draw = |salt: u32| unit(hash(IVec3::splat(best.1 as i32), salt));
    Grain {
        offset: best.0,
        margin: second.sqrt() - first.sqrt(),
        draws: [draw(seed ^ 1), draw(seed ^ 2), draw(seed ^ 3)],
    }
}
