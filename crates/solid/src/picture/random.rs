//! Random numbers by counter: a draw depends on what it is for, never on when it is made.

/// Draws for one sample of one pixel.
#[derive(Debug, Clone, Copy)]
pub struct Draws {
    state: u64,
}

impl Draws {
    /// The stream named by a seed, a pixel and a sample.
    pub fn of(seed: u64, pixel: u64, sample: u32) -> Self {
        let name = mix(seed ^ mix(pixel.wrapping_mul(2) ^ (u64::from(sample) << 40)));
        Self { state: name }
    }

    /// The next draw, uniform in 0..1.
    pub fn next(&mut self) -> f64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        (mix(self.state) >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// The finaliser of SplitMix64 (Steele, Lea and Flood, OOPSLA 2014).
fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// The `sample`-th of a sequence that fills the unit square evenly, turned by `start`.
///
/// # Source
/// M. Roberts, The unreasonable effectiveness of quasirandom sequences (2018): R2.
pub fn spread(sample: u32, start: (f64, f64)) -> (f64, f64) {
    const PLASTIC: f64 = 1.324_717_957_244_746;
    let n = f64::from(sample);
    (
        (start.0 + n / PLASTIC).fract(),
        (start.1 + n / (PLASTIC * PLASTIC)).fract(),
    )
}
