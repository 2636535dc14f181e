//! Smooth random fields in space: what makes a surface uneven.

use glam::DVec3;

/// One random field; fields of different seeds have nothing in common.
#[derive(Debug, Clone, Copy)]
pub(super) struct Noise {
    seed: u32,
}

/// The nearest of the scattered points of [`Noise::cells`].
pub(super) struct Cell {
    /// Distance to it.
    pub(super) nearest: f64,
    /// Even over 0 to 1 and fixed for the point.
    pub(super) lot: f64,
}

impl Noise {
    pub(super) fn new(seed: u64) -> Self {
        Self {
            seed: (seed ^ (seed >> 32)) as u32,
        }
    }

    fn hash(self, x: i64, y: i64, z: i64) -> u32 {
        let mut h = self.seed
            ^ (x as u32).wrapping_mul(0x8DA6_B343)
            ^ (y as u32).wrapping_mul(0xD816_3841)
            ^ (z as u32).wrapping_mul(0xCB1A_B31F);
        h = (h ^ (h >> 15)).wrapping_mul(0x2C1B_3C6D);
        h = (h ^ (h >> 12)).wrapping_mul(0x297A_2D39);
        h ^ (h >> 15)
    }

    /// Gradient noise: about -1 to 1, mean 0, features of size 1.
    ///
    /// # Source
    /// K. Perlin, Improving noise, SIGGRAPH 2002.
    pub(super) fn at(self, p: DVec3) -> f64 {
        let base = p.floor();
        let f = p - base;
        let (x, y, z) = (base.x as i64, base.y as i64, base.z as i64);
        let fade = f * f * f * (f * (f * 6.0 - DVec3::splat(15.0)) + DVec3::splat(10.0));
        let corner = |i: i64, j: i64, k: i64| {
            let away = f - DVec3::new(i as f64, j as f64, k as f64);
            slope(self.hash(x + i, y + j, z + k), away)
        };
        let along_x = |j: i64, k: i64| mix(corner(0, j, k), corner(1, j, k), fade.x);
        let plane = |k: i64| mix(along_x(0, k), along_x(1, k), fade.y);
        mix(plane(0), plane(1), fade.z)
    }

    /// Octaves of [`Noise::at`], each half as high and twice as fine.
    pub(super) fn rough(self, p: DVec3, octaves: u32) -> f64 {
        let (mut sum, mut height, mut at) = (0.0, 1.0, p);
        for octave in 0..octaves {
            sum += height * self.at(at);
            height *= 0.5;
            at = DVec3::new(at.y, at.z, at.x) * 2.03 + DVec3::splat(7.31 + f64::from(octave));
        }
        sum
    }

    /// Crests and furrows: 1 on the crests, towards 0 between.
    pub(super) fn crests(self, p: DVec3) -> f64 {
        1.0 - self.at(p).abs().min(1.0)
    }

    /// Scattered points, one in each unit cube.
    ///
    /// # Source
    /// S. Worley, A cellular texture basis function, SIGGRAPH 1996.
    pub(super) fn cells(self, p: DVec3) -> Cell {
        let base = p.floor();
        let (x, y, z) = (base.x as i64, base.y as i64, base.z as i64);
        let mut best = (f64::INFINITY, 0);
        for (i, j, k) in (0..27).map(|n| (n % 3 - 1, n / 3 % 3 - 1, n / 9 - 1)) {
            let h = self.hash(x + i, y + j, z + k);
            let part = |shift: u32| f64::from((h >> shift) & 0x3FF) / 1023.0;
            let point = base
                + DVec3::new(i as f64, j as f64, k as f64)
                + DVec3::new(part(0), part(10), part(20));
            let distance = point.distance_squared(p);
            if distance < best.0 {
                best = (distance, h);
            }
        }
        Cell {
            nearest: best.0.sqrt(),
            lot: f64::from(best.1.wrapping_mul(0x9E37_79B1) >> 8) / f64::from(1_u32 << 24),
        }
    }
}

/// One of the twelve edge directions of a cube, times the way from the corner.
fn slope(hash: u32, away: DVec3) -> f64 {
    let (x, y, z) = (away.x, away.y, away.z);
    match hash & 15 {
        0 | 12 => x + y,
        1 | 13 => y - x,
        2 => x - y,
        3 => -x - y,
        4 => x + z,
        5 => z - x,
        6 => x - z,
        7 => -x - z,
        8 => y + z,
        9 | 14 => z - y,
        10 => y - z,
        _ => -y - z,
    }
}

pub(super) fn mix(a: f64, b: f64, t: f64) -> f64 {
    a + (b - a) * t
}

/// 0 below `from`, 1 above `to`, smooth between.
pub(super) fn ramp(from: f64, to: f64, x: f64) -> f64 {
    let t = ((x - from) / (to - from)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// 1 at 0, near 0 beyond `width`.
pub(super) fn bump(x: f64, width: f64) -> f64 {
    (-(x / width) * (x / width)).exp()
}
