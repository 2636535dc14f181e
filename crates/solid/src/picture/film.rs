//! Takes a picture: samples each pixel, smooths the light, draws edges fine.

use glam::Vec3;
use rayon::prelude::*;

use super::filter::{self, Shares};
use super::random::{Draws, spread};
use super::tone;
use super::trace::{NOTHING, Seen, Taking};

/// Extra lines of sight where a pixel holds an edge.
const EDGE_SAMPLES: u32 = 8;
const FILTER_PASSES: u32 = 4;

/// What the samples of one pixel add up to.
#[derive(Debug, Clone, Copy)]
pub struct Pixel {
    /// Of the first sample that met something.
    pub id: u32,
    pub point: Vec3,
    pub normal: Vec3,
    pub footprint_m: f32,
    /// Share of the samples that met something.
    pub weight: f32,
    direct: Vec3,
    room: Vec3,
    still: Vec3,
    lamp_share: f32,
    room_share: Vec3,
}

impl Pixel {
    pub fn shares(&self) -> Shares {
        let room = self.room_share;
        [self.lamp_share, room.x, room.y, room.z]
    }
}

/// The picture in linear light, row by row from the upper left.
pub fn expose(
    taking: &Taking<'_>,
    width: usize,
    height: usize,
    samples: u32,
    seed: u64,
) -> Vec<Vec3> {
    if width * height == 0 {
        return Vec::new();
    }
    let samples = samples.max(1);
    let pixels: Vec<Pixel> = (0..width * height)
        .into_par_iter()
        .with_min_len(width)
        .map(|i| sampled(taking, i, width, samples, seed))
        .collect();
    let shares = filter::smooth(&pixels, width, samples, FILTER_PASSES);
    let film = Film {
        taking,
        pixels: &pixels,
        shares: &shares,
        width,
        height,
    };
    (0..width * height)
        .into_par_iter()
        .with_min_len(width)
        .map(|i| film.light_of(i, samples, seed))
        .collect()
}

fn sampled(taking: &Taking<'_>, i: usize, width: usize, samples: u32, seed: u64) -> Pixel {
    let (x, y) = ((i % width) as f64, (i / width) as f64);
    let mut pixel = Pixel {
        id: NOTHING,
        point: Vec3::ZERO,
        normal: Vec3::ZERO,
        footprint_m: 1.0,
        weight: 0.0,
        direct: Vec3::ZERO,
        room: Vec3::ZERO,
        still: Vec3::ZERO,
        lamp_share: 0.0,
        room_share: Vec3::ZERO,
    };
    let mut start = Draws::of(seed, i as u64, 0);
    let start = (start.next(), start.next());
    for sample in 0..samples {
        let (u, v) = spread(sample, start);
        let seen = taking.look(x + u, y + v);
        pixel.direct += seen.direct;
        pixel.room += seen.room;
        pixel.still += seen.still;
        if seen.id == NOTHING {
            continue;
        }
        // The start is the pixel's, so that its samples spread evenly.
        let mut draws = Draws::of(seed, i as u64, 1);
        let lit = taking.light(&seen, &mut draws, sample);
        pixel.lamp_share += lit.lamp;
        pixel.room_share += lit.room;
        pixel.weight += 1.0;
        if pixel.id == NOTHING {
            pixel.id = seen.id;
            pixel.point = seen.point_m.as_vec3();
            pixel.normal = seen.normal;
            pixel.footprint_m = taking.footprint_m(seen.point_m) as f32;
        }
    }
    let each = 1.0 / samples as f32;
    pixel.direct *= each;
    pixel.room *= each;
    pixel.still *= each;
    if pixel.weight > 0.0 {
        pixel.lamp_share /= pixel.weight;
        pixel.room_share /= pixel.weight;
    }
    pixel.weight *= each;
    pixel
}

struct Film<'a> {
    taking: &'a Taking<'a>,
    pixels: &'a [Pixel],
    shares: &'a [Shares],
    width: usize,
    height: usize,
}

impl Film<'_> {
    fn light_of(&self, i: usize, samples: u32, seed: u64) -> Vec3 {
        let pixel = &self.pixels[i];
        if !self.holds_edge(i) {
            return joined(pixel.direct, pixel.room, pixel.still, self.shares[i]);
        }
        let (x, y) = ((i % self.width) as f64, (i / self.width) as f64);
        let mut start = Draws::of(seed, i as u64, 2);
        let start = (start.next(), start.next());
        let n_looks = EDGE_SAMPLES.max(samples);
        // Drawn into range one by one: an edge against bright light stays smooth.
        let sum: Vec3 = (0..n_looks)
            .map(|look| {
                let (u, v) = spread(look, start);
                let seen = self.taking.look(x + u, y + v);
                let shares = self.best_shares(i, &seen);
                tone::within_range(joined(seen.direct, seen.room, seen.still, shares))
            })
            .sum();
        sum / n_looks as f32
    }

    fn neighbours(&self, i: usize) -> impl Iterator<Item = usize> + '_ {
        let (x, y) = ((i % self.width) as isize, (i / self.width) as isize);
        (-1..=1)
            .flat_map(move |dy| (-1..=1).map(move |dx| (x + dx, y + dy)))
            .filter_map(move |(x, y)| {
                let inside =
                    x >= 0 && y >= 0 && x < self.width as isize && y < self.height as isize;
                inside.then(|| y as usize * self.width + x as usize)
            })
    }

    /// Whether surfaces or panes begin or end in or beside this pixel.
    fn holds_edge(&self, i: usize) -> bool {
        let own = &self.pixels[i];
        if own.weight > 0.0 && own.weight < 1.0 {
            return true;
        }
        self.neighbours(i).any(|j| {
            let other = &self.pixels[j];
            let veil = (own.still - other.still).abs().max_element();
            other.id != own.id
                || veil > 0.02
                || own.id != NOTHING
                    && (own.normal.dot(other.normal) < 0.75
                        || own.normal.dot(other.point - own.point).abs() > 4.0 * own.footprint_m)
        })
    }

    /// Smoothed light of the neighbour that lies most nearly at the same place.
    fn best_shares(&self, i: usize, seen: &Seen) -> Shares {
        if seen.id == NOTHING {
            return [0.0; 4];
        }
        let point = seen.point_m.as_vec3();
        let strangeness = |j: usize| {
            let other = &self.pixels[j];
            let stranger = if other.id == seen.id { 0.0 } else { 1e6 };
            let off = seen.normal.dot(other.point - point).abs() / other.footprint_m;
            let turned = 1.0 - seen.normal.dot(other.normal);
            let unlit = if other.weight > 0.0 { 0.0 } else { 1e9 };
            stranger + unlit + off.min(1e5) + 8.0 * turned
        };
        let best = self
            .neighbours(i)
            .map(|j| (strangeness(j), j))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        best.map_or([1.0; 4], |(_, j)| self.shares[j])
    }
}

fn joined(direct: Vec3, room: Vec3, still: Vec3, shares: Shares) -> Vec3 {
    let room_share = Vec3::new(shares[1], shares[2], shares[3]).max(Vec3::ZERO);
    direct * shares[0] + room * room_share + still
}
