//! Where a grown piece's randomness comes from: one stream of numbers per seed.

use glam::DVec3;

/// A stream of random numbers that depends on its seed alone.
///
/// # Source
/// G. Steele, D. Lea, C. Flood, Fast splittable pseudorandom number generators,
/// OOPSLA 2014 (SplitMix64).
#[derive(Debug, Clone)]
pub(super) struct Chance {
    state: u64,
}

impl Chance {
    pub(super) fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    pub(super) fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Evenly spread over 0 to 1.
    pub(super) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(super) fn within(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.unit()
    }

    /// A whole number from `least` to `most`, both included.
    pub(super) fn count(&mut self, least: usize, most: usize) -> usize {
        least + (self.unit() * (most - least + 1) as f64) as usize
    }

    pub(super) fn happens(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// Evenly spread over the unit sphere.
    pub(super) fn direction(&mut self) -> DVec3 {
        let z = self.within(-1.0, 1.0);
        let (sin, cos) = (self.unit() * std::f64::consts::TAU).sin_cos();
        let r = (1.0 - z * z).sqrt();
        DVec3::new(r * cos, r * sin, z)
    }
}
