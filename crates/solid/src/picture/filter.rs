//! Takes the noise out of the light and leaves its edges.

use glam::Vec3;
use rayon::prelude::*;

use super::film::Pixel;
use super::trace::NOTHING;

/// Light of one pixel: shares of the lamp (x) and of the room (yzw's red, green, blue).
pub type Shares = [f32; 4];

/// One row of the 5 × 5 kernel (a cubic B-spline).
const KERNEL: [f32; 3] = [3.0 / 8.0, 1.0 / 4.0, 1.0 / 16.0];

/// Smooths the shares over neighbours on the same surface: five-tap rows and
/// columns whose taps lie ever further apart.
///
/// # Source
/// H. Dammertz et al., Edge-avoiding à-trous wavelet transform for fast global
/// illumination filtering, High Performance Graphics (2010).
pub fn smooth(pixels: &[Pixel], width: usize, n_samples: u32, passes: u32) -> Vec<Shares> {
    let mut shares: Vec<Shares> = pixels.iter().map(Pixel::shares).collect();
    for pass in 0..passes {
        let step = 1isize << pass;
        // Later passes see less noise, so they trust differences more.
        let noise = 1.1 / (n_samples as f32).sqrt() * 0.62f32.powi(pass as i32);
        let kept = Kept {
            pixels,
            shares: &shares,
            width: width as isize,
            height: (pixels.len() / width) as isize,
            step,
            noise,
        };
        shares = (0..pixels.len())
            .into_par_iter()
            .with_min_len(width)
            .map(|i| kept.around((i % width) as isize, (i / width) as isize))
            .collect();
    }
    shares
}

struct Kept<'a> {
    pixels: &'a [Pixel],
    shares: &'a [Shares],
    width: isize,
    height: isize,
    step: isize,
    noise: f32,
}

impl Kept<'_> {
    fn around(&self, x: isize, y: isize) -> Shares {
        let at = (y * self.width + x) as usize;
        let own = &self.pixels[at];
        let own_shares = self.shares[at];
        if own.id == NOTHING {
            return own_shares;
        }
        let reach = 1.0 / (own.footprint_m * self.step as f32).max(1e-9);
        let (mut sum, mut whole) = ([0.0; 4], 0.0);
        for dy in -2..=2isize {
            for dx in -2..=2isize {
                let (px, py) = (x + dx * self.step, y + dy * self.step);
                if px < 0 || py < 0 || px >= self.width || py >= self.height {
                    continue;
                }
                let place = (py * self.width + px) as usize;
                let other = &self.pixels[place];
                if other.id != own.id {
                    continue;
                }
                let facing = own.normal.dot(other.normal).max(0.0);
                let off = own.normal.dot(other.point - own.point).abs() * reach;
                let shares = self.shares[place];
                let apart = difference(&own_shares, &shares) / self.noise;
                let kernel = KERNEL[dx.unsigned_abs()] * KERNEL[dy.unsigned_abs()];
                let weight = kernel * other.weight * facing.powi(12)
                    / ((1.0 + off * off) * (1.0 + apart * apart * apart * apart));
                whole += weight;
                for k in 0..4 {
                    sum[k] += weight * shares[k];
                }
            }
        }
        if whole > 0.0 {
            sum.map(|share| share / whole)
        } else {
            own_shares
        }
    }
}

fn difference(a: &Shares, b: &Shares) -> f32 {
    let room = Vec3::new(a[1] - b[1], a[2] - b[2], a[3] - b[3]);
    (a[0] - b[0]).abs().max(room.abs().max_element())
}
