//! What glass and water do to a line of sight that goes through them.
//!
//! The line is not bent: seen square through a pane, bending only draws the
//! tank's depth together, and a straight line keeps edges where the drawing has them.

use glam::Vec3;

use super::light::Lighting;
use super::scene::{Item, Met, Scene, Surface};
use crate::bvh::Ray;

/// Absorption of clear float glass, 1/m: its edges are green (common practice, no source).
const GLASS_PER_M: Vec3 = Vec3::new(3.6, 1.3, 2.5);
/// Absorption of tank water with a trace of humic matter, 1/m; gentler than most real tanks.
const WATER_PER_M: Vec3 = Vec3::new(0.22, 0.055, 0.075);
/// Inside a pane that is met on its face a line runs at most this many times
/// the thickness, because it is bent: 1 ÷ √(1 − 1 ÷ 1.5²).
const FACE_LENGTHS: f64 = 1.342;
/// A line that comes in by a rim is taken to leave the pane after this much, m.
const RIM_LENGTH_M: f64 = 0.20;
/// Share of the water's tint in drawings.
const TINT_IN_DRAWING: f32 = 0.35;
/// Reflectance of glass and water at right angles, from n = 1.5 and 1.33 (Fresnel).
const GLASS_SQUARE: f32 = 0.04;
const WATER_SQUARE: f32 = 0.02;
/// Share of the room's reflection that is shown: enough to see that there is glass.
const REFLECTION_SHOWN: f32 = 0.45;
/// Height of the line that water draws on a pane, m.
const WATER_LINE_M: f64 = 0.0016;

/// What is left of the light behind, and what comes on top of it.
#[derive(Debug, Clone, Copy)]
pub struct Through {
    pub left: Vec3,
    pub added: Vec3,
    /// Height of the water over the end of the line, if it ends in water, m.
    pub water_top_m: Option<f64>,
}

/// What happens between the ray's origin and `ray.most_m`.
pub fn through(scene: &Scene, lighting: &Lighting, ray: &Ray, pixel_m: f64) -> Through {
    let mut sight = Sight {
        lighting,
        ray,
        pixel_m,
        through: Through {
            left: Vec3::ONE,
            added: Vec3::ZERO,
            water_top_m: None,
        },
    };
    if scene.clear.items.is_empty() {
        return sight.through;
    }
    let mut crossings = [Crossing::default(); MOST_ITEMS];
    let mut n_items = 0;
    scene.clear.for_all_hits(ray, |item, found| {
        let on_rim = sight.surface(item, found);
        let known = crossings[..n_items]
            .iter()
            .position(|crossing| crossing.item == found.item);
        let at = known.unwrap_or_else(|| {
            n_items = (n_items + 1).min(MOST_ITEMS);
            crossings[n_items - 1] = Crossing {
                item: found.item,
                ..Crossing::default()
            };
            n_items - 1
        });
        if found.hit.enters {
            crossings[at].way_m -= found.hit.distance_m;
            crossings[at].open += 1;
            crossings[at].by_rim |= on_rim;
        } else {
            crossings[at].way_m += found.hit.distance_m;
            crossings[at].open -= 1;
        }
    });
    let end_m = if ray.most_m.is_finite() {
        ray.most_m
    } else {
        0.0
    };
    // In the order of the items: sums must not depend on the tree's walk.
    crossings[..n_items].sort_unstable_by_key(|crossing| crossing.item);
    for crossing in &crossings[..n_items] {
        let item = &scene.clear.items[crossing.item as usize];
        let length_m = (crossing.way_m + f64::from(crossing.open) * end_m).max(0.0);
        if item.surface == Surface::Water {
            if crossing.open > 0 {
                sight.through.water_top_m = Some(item.top_m);
            }
            sight.through.left *= in_water(lighting, length_m);
        } else {
            let most_m = if crossing.by_rim {
                RIM_LENGTH_M
            } else {
                FACE_LENGTHS * item.thickness_m
            };
            let length_m = length_m.min(most_m) as f32;
            sight.through.left *= (-GLASS_PER_M * length_m).exp();
        }
    }
    sight.through
}

/// Clear things that one line of sight keeps apart; more share the last place.
const MOST_ITEMS: usize = 24;

/// The line's way through one clear thing.
#[derive(Debug, Clone, Copy, Default)]
struct Crossing {
    item: u32,
    /// Distances of leaving less those of entering, m.
    way_m: f64,
    /// Entered and not left.
    open: i32,
    /// Came in by a pane's rim.
    by_rim: bool,
}

/// Light left after a length of water, m.
pub fn in_water(lighting: &Lighting, length_m: f64) -> Vec3 {
    let tint = if lighting.reflections {
        1.0
    } else {
        TINT_IN_DRAWING
    };
    (-WATER_PER_M * (length_m.max(0.0) as f32 * tint)).exp()
}

struct Sight<'a> {
    lighting: &'a Lighting,
    ray: &'a Ray,
    pixel_m: f64,
    through: Through,
}

impl Sight<'_> {
    /// One face that the line goes through; whether it is a pane's rim.
    fn surface(&mut self, item: &Item, found: &Met) -> bool {
        let in_mesh = item.face_normal_in_mesh(found);
        let normal = item.turn * in_mesh;
        let direction = self.ray.direction.as_vec3();
        let facing = normal.dot(direction).abs();
        if item.surface == Surface::Water {
            self.water(item, found, normal, facing);
            return false;
        }
        let on_rim = in_mesh[item.thin_axis].abs() < 0.5;
        self.glass(found, normal, facing, on_rim);
        on_rim
    }

    fn glass(&mut self, found: &Met, normal: Vec3, facing: f32, on_rim: bool) {
        if on_rim && found.hit.enters {
            // A polished rim gathers light from the whole pane and shows it
            // green; in a drawing it is the line of the glass.
            if self.lighting.reflections {
                self.veil(Vec3::new(0.70, 0.78, 0.75), Vec3::new(0.10, 0.135, 0.12));
            } else {
                self.veil(Vec3::new(0.66, 0.60, 0.62), Vec3::new(0.06, 0.065, 0.065));
            }
        }
        if found.hit.enters && !on_rim {
            self.reflect(normal, facing, GLASS_SQUARE);
        }
    }

    fn water(&mut self, item: &Item, found: &Met, normal: Vec3, facing: f32) {
        let z_m = self.ray.at(found.hit.distance_m).z;
        if normal.z.abs() < 0.5 {
            let line_m = WATER_LINE_M.max(1.4 * self.pixel_m);
            if self.lighting.reflections && item.top_m - z_m < line_m {
                self.veil(Vec3::new(0.66, 0.76, 0.78), Vec3::new(0.13, 0.16, 0.16));
            }
        } else if normal.z > 0.0 && found.hit.enters {
            self.reflect(normal, facing, WATER_SQUARE);
        } else if normal.z > 0.0 && self.lighting.reflections {
            // The surface seen from below is half a mirror.
            self.veil(Vec3::new(0.80, 0.86, 0.86), Vec3::new(0.07, 0.085, 0.085));
        }
    }

    fn reflect(&mut self, normal: Vec3, facing: f32, square: f32) {
        if !self.lighting.reflections {
            return;
        }
        // C. Schlick, An inexpensive BRDF model (1994).
        let share = square + (1.0 - square) * (1.0 - facing).powi(5);
        let share = share * REFLECTION_SHOWN;
        let direction = self.ray.direction.as_vec3();
        let mirrored = direction - normal * (2.0 * normal.dot(direction));
        let room = self.lighting.room(mirrored);
        self.veil(Vec3::splat(1.0 - share), room * share);
    }

    /// Lays a veil over the line of sight. Veils are weak: their order is not kept.
    fn veil(&mut self, left: Vec3, added: Vec3) {
        self.through.left *= left;
        self.through.added = self.through.added * left + added;
    }
}
