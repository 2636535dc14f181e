//! Columnar: angular prisms that cooled side by side, with split ends.

use glam::{DMat3, DVec2, DVec3};

use super::body::{Body, Spot, soft_max};
use super::chance::Chance;
use super::noise::{Noise, bump, mix, ramp};
use super::palette::{Colour, Paint};

/// Half a plane across the columns; the column lies on the inner side.
struct Edge {
    normal: DVec2,
    offset: f64,
    /// Whether another column of the group lies behind it.
    shared: bool,
}

struct Column {
    edges: Vec<Edge>,
    /// Upper and lower end: the plane's normal and offset.
    ends: [(DVec3, f64); 2],
    /// Pieces split off near the ends.
    splits: Vec<(DVec3, f64)>,
    /// Cross joints, by their height, with how open they are.
    joints: Vec<(f64, f64)>,
    tone: f64,
}

pub(super) struct Columnar {
    columns: Vec<Column>,
    half: DVec3,
    bow: DVec2,
    piece_from_build: DMat3,
    broad: Noise,
    fine: Noise,
    paint: Paint,
}

impl Columnar {
    pub(super) fn new(seed: u64, paint: Paint) -> Self {
        let mut chance = Chance::new(seed);
        let spacing = chance.within(0.17, 0.3);
        let n_columns = match () {
            () if spacing > 0.25 => chance.count(2, 3),
            () => chance.count(3, 7),
        };
        let points = lattice(&mut chance, spacing);
        let chosen = &points[..n_columns];
        let middle = chosen.iter().sum::<DVec2>() / n_columns as f64;
        let columns: Vec<Column> = (0..n_columns)
            .map(|own| column(&mut chance, &points, own, n_columns, middle, spacing))
            .collect();
        let reach = chosen
            .iter()
            .map(|p| (*p - middle).abs())
            .fold(DVec2::ZERO, DVec2::max)
            + DVec2::splat(0.78 * spacing);
        Self {
            columns,
            half: DVec3::new(reach.x, reach.y, 0.5),
            bow: DVec2::new(chance.within(-0.1, 0.1), chance.within(-0.1, 0.1)),
            piece_from_build: DMat3::from_rotation_y(std::f64::consts::FRAC_PI_2)
                * DMat3::from_rotation_z(chance.within(0.0, std::f64::consts::TAU)),
            broad: Noise::new(chance.next()),
            fine: Noise::new(chance.next()),
            paint,
        }
    }

    /// From the piece, where the columns lie along x, to where they stand along z, unbowed.
    fn standing(&self, point: DVec3) -> DVec3 {
        let p = self.piece_from_build.transpose() * point;
        let bend = self.bow * (p.z * p.z - 0.08);
        DVec3::new(p.x + bend.x, p.y + bend.y, p.z)
    }

    /// The column that a place belongs to, its distance, and how far the nearest shared edge is.
    fn nearest(&self, p: DVec3) -> (usize, f64, f64) {
        let flat = p.truncate();
        let (mut own, mut least) = (0, f64::INFINITY);
        for (index, column) in self.columns.iter().enumerate() {
            let mut prism = f64::NEG_INFINITY;
            for edge in &column.edges {
                let off = edge.normal.dot(flat) - edge.offset;
                prism = if edge.shared {
                    prism.max(off)
                } else {
                    soft_max(prism.max(-1.0), off, 0.009)
                };
            }
            for (normal, offset) in &column.ends {
                prism = soft_max(prism, normal.dot(p) - offset, 0.012);
            }
            for (normal, offset) in &column.splits {
                prism = soft_max(prism, normal.dot(p) - offset, 0.006);
            }
            if prism < least {
                (own, least) = (index, prism);
            }
        }
        let seam = self.columns[own]
            .edges
            .iter()
            .filter(|edge| edge.shared)
            .map(|edge| (edge.normal.dot(flat) - edge.offset).abs())
            .fold(f64::INFINITY, f64::min);
        (own, least, seam)
    }

    fn joint(&self, column: &Column, p: DVec3) -> f64 {
        let height = p.z + 0.02 * self.broad.at(p * 5.0);
        column
            .joints
            .iter()
            .map(|(at, open)| open * bump(height - at, 0.0065))
            .fold(0.0, f64::max)
    }
}

/// Points of a shaken six-sided lattice, the nearest to the origin first.
fn lattice(chance: &mut Chance, spacing: f64) -> Vec<DVec2> {
    let mut points = Vec::new();
    for row in -5..=5_i32 {
        for along in -5..=5_i32 {
            let shift = 0.5 * f64::from(row.rem_euclid(2));
            let shake = DVec2::new(chance.within(-0.22, 0.22), chance.within(-0.22, 0.22));
            let at = DVec2::new(f64::from(along) + shift, 0.866 * f64::from(row));
            points.push((at + shake) * spacing);
        }
    }
    points.sort_by(|a, b| a.length_squared().total_cmp(&b.length_squared()));
    points
}

fn column(
    chance: &mut Chance,
    points: &[DVec2],
    own: usize,
    n_columns: usize,
    middle: DVec2,
    spacing: f64,
) -> Column {
    let place = points[own];
    let edges = (0..points.len())
        .filter(|other| *other != own && points[*other].distance(place) < 2.2 * spacing)
        .map(|other| {
            let way = points[other] - place;
            let normal = way.normalize_or(DVec2::X);
            Edge {
                normal,
                offset: normal.dot(0.5 * (points[other] + place) - middle),
                shared: other < n_columns,
            }
        })
        .collect();
    let outer = (place - middle).length() / (2.0 * spacing);
    let mut end = |sign: f64| {
        let lean = DVec3::new(chance.within(-0.28, 0.28), chance.within(-0.28, 0.28), sign);
        let normal = lean.normalize();
        let height = 0.46 - chance.within(0.0, 0.14 + 0.22 * outer.min(1.0));
        let foot = DVec3::new(place.x - middle.x, place.y - middle.y, sign * height);
        (normal, normal.dot(foot))
    };
    let ends = [end(1.0), end(-1.0)];
    let splits = (0..chance.count(1, 4))
        .map(|_| {
            let angle = chance.within(0.0, std::f64::consts::TAU);
            let up = if chance.happens(0.6) { 1.0 } else { -1.0 };
            let normal =
                DVec3::new(angle.cos(), angle.sin(), up * chance.within(0.3, 1.1)).normalize();
            let tip = DVec3::new(
                place.x - middle.x + 0.42 * spacing * angle.cos(),
                place.y - middle.y + 0.42 * spacing * angle.sin(),
                up * chance.within(0.26, 0.42),
            );
            (normal, normal.dot(tip))
        })
        .collect();
    let joints = (0..chance.count(1, 4))
        .map(|_| (chance.within(-0.42, 0.42), chance.within(0.003, 0.012)))
        .collect();
    Column {
        edges,
        ends,
        splits,
        joints,
        tone: chance.within(-1.0, 1.0),
    }
}

impl Body for Columnar {
    fn bounds(&self) -> (DVec3, DVec3) {
        let wide = self.half.x.max(self.half.y) + 0.1;
        let reach = DVec3::new(0.56, wide, wide);
        (-reach, reach)
    }

    fn distance(&self, point: DVec3) -> f64 {
        let p = self.standing(point);
        let shaken = p + DVec3::splat(1.0) * 0.010 * self.broad.at(p * 4.0);
        let (own, even, seam) = self.nearest(shaken);
        if even.abs() > 0.07 {
            return even;
        }
        let wide = 0.5 + self.broad.at(p * 2.5 + DVec3::splat(8.0));
        let groove = (0.014 + 0.03 * wide.clamp(0.0, 1.0)) * bump(seam, 0.007);
        let chisel = 0.0035
            * self
                .fine
                .rough(DVec3::new(p.x * 5.0, p.y * 5.0, p.z * 22.0), 2);
        let face = 0.007 * self.broad.rough(p * 8.0, 2) + 0.0025 * self.fine.rough(p * 24.0, 2);
        even + groove + chisel + face + self.joint(&self.columns[own], p)
    }

    fn colour(&self, spot: &Spot) -> Colour {
        let p = self.standing(spot.point);
        let paint = &self.paint;
        let (own, _, _) = self.nearest(p);
        let column = &self.columns[own];
        let normal = self.piece_from_build.transpose() * spot.normal;
        let end = ramp(0.45, 0.75, normal.z.abs());
        let mottle = self.broad.rough(p * 5.0 + DVec3::splat(3.0), 4);
        let mut colour = paint.body * (1.0 + 0.14 * column.tone + 0.2 * mottle);
        colour = colour.lerp(paint.pale, 0.35 * end * (0.7 + 0.6 * mottle));
        let rust = ramp(
            0.0,
            0.5,
            self.broad.rough(
                DVec3::new(p.x, p.y, 0.5 * p.z) * 3.2 + DVec3::splat(77.0),
                4,
            ),
        );
        colour = colour.lerp(paint.stain, 0.6 * rust * (1.0 - 0.6 * end));
        let bar = self.fine.at(DVec3::new(p.x * 3.0, p.y * 3.0, p.z * 26.0));
        colour *= 1.0 + 0.1 * bar * (1.0 - end) + 0.13 * self.fine.at(p * 25.0);
        colour = colour.lerp(paint.deep, 0.5 * ramp(0.003, 0.012, self.joint(column, p)));
        colour = colour.lerp(paint.pale, 0.55 * ramp(1.0, 1.15, spot.openness));
        let lichen = ramp(0.22, 0.46, self.fine.rough(p * 4.6 + DVec3::splat(19.0), 4));
        colour = colour.lerp(paint.growth, 0.6 * lichen * ramp(-0.2, 0.6, spot.normal.z));
        colour.lerp(paint.deep, 0.7 * ramp(0.6, 0.0, spot.openness))
            * mix(0.85, 1.03, spot.openness)
    }
}
