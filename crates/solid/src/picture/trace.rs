//! What one line of sight sees, and how much light reaches it.

use glam::{DVec3, Vec3};

use super::camera::Aimed;
use super::clear;
use super::detail;
use super::light::Lighting;
use super::random::{Draws, spread};
use super::scene::{Met, Scene};
use crate::bvh::Ray;

/// What lies behind everything.
pub const NOTHING: u32 = u32::MAX;
/// The floor that catches shadows.
pub const FLOOR: u32 = u32::MAX - 1;
/// Share of the room's light that is taken to reach the second surface.
const ROOM_AT_SECOND: f32 = 0.6;

/// A picture being taken.
pub struct Taking<'a> {
    pub scene: &'a Scene,
    pub lighting: &'a Lighting,
    pub aimed: Aimed,
    pub height: f64,
}

/// What a line of sight sees. Its light is
/// `direct` × (lamp's share in sight) + `room` × (room's share) + `still`.
#[derive(Debug, Clone, Copy)]
pub struct Seen {
    /// Which item, or `FLOOR` or `NOTHING`.
    pub id: u32,
    /// Where, m.
    pub point_m: DVec3,
    /// Smooth, without fine detail.
    pub normal: Vec3,
    pub direct: Vec3,
    pub room: Vec3,
    pub still: Vec3,
    /// Where rays to the light start, m.
    start_m: DVec3,
}

/// Shares of the light that reach a point; 1 where nothing is in the way.
#[derive(Debug, Clone, Copy)]
pub struct Lit {
    pub lamp: f32,
    pub room: Vec3,
}

impl Taking<'_> {
    /// What lies behind a place of the picture, in pixels from its upper left.
    pub fn look(&self, x: f64, y: f64) -> Seen {
        let ray = self.aimed.ray(x, y);
        let found = self.scene.solid.first_hit(&ray);
        let behind = self.lighting.behind((y / self.height) as f32);
        let mut seen = match &found {
            Some(found) => self.surface(found),
            None => self.backdrop(&ray, behind),
        };
        let most_m = found.map_or(f64::INFINITY, |found| found.hit.distance_m);
        let distance_m = if most_m.is_finite() { most_m } else { 0.0 };
        let sight = Ray { most_m, ..ray };
        let pixel_m = self.aimed.footprint_m(distance_m.max(self.scene.reach_m));
        let through = clear::through(self.scene, self.lighting, &sight, pixel_m);
        let dimmed = through.water_top_m.map_or(Vec3::ONE, |top_m| {
            clear::in_water(self.lighting, top_m - seen.point_m.z)
        });
        seen.direct *= through.left * dimmed;
        seen.room *= through.left * dimmed;
        seen.still = seen.still * through.left + through.added;
        seen
    }

    /// Width of a pixel at a point, m.
    pub fn footprint_m(&self, point_m: DVec3) -> f64 {
        self.aimed.footprint_m(self.aimed.distance_m(point_m))
    }

    fn surface(&self, found: &Met) -> Seen {
        let item = &self.scene.solid.items[found.item as usize];
        let at = item.surface_point(found);
        let footprint_m = self.aimed.footprint_m(found.hit.distance_m) as f32;
        let back = item.turn.transpose();
        let (colour, fine) = detail::of(
            item,
            at.point_in_mesh_m.as_vec3(),
            back * at.normal,
            at.colour,
            footprint_m,
        );
        let fine = item.turn * fine;
        Seen {
            id: found.item,
            point_m: at.point_m,
            normal: at.normal,
            direct: colour * self.lamp_on(at.point_m, fine),
            room: colour * self.lighting.room_on(fine),
            still: Vec3::ZERO,
            start_m: at.raised_m + (at.face_normal.as_dvec3()) * self.skin_m(),
        }
    }

    /// Rays leave a surface from this far above it, m.
    fn skin_m(&self) -> f64 {
        2e-7 * self.scene.reach_m
    }

    fn lamp_on(&self, point_m: DVec3, normal: Vec3) -> Vec3 {
        self.lighting
            .lamp
            .map_or(Vec3::ZERO, |lamp| lamp.on(point_m, normal))
    }

    /// The backdrop; its floor has the very same tone where no shadow falls.
    fn backdrop(&self, ray: &Ray, behind: Vec3) -> Seen {
        let nothing = Seen {
            id: NOTHING,
            point_m: DVec3::ZERO,
            normal: Vec3::ZERO,
            direct: Vec3::ZERO,
            room: Vec3::ZERO,
            still: behind,
            start_m: DVec3::ZERO,
        };
        let Some(floor_m) = self.lighting.backdrop.floor_z_m else {
            return nothing;
        };
        let distance_m = (floor_m - ray.origin_m.z) / ray.direction.z;
        if !(distance_m > 0.0 && distance_m < 40.0 * self.scene.reach_m) {
            return nothing;
        }
        let point_m = ray.at(distance_m);
        let lamp = self.lamp_on(point_m, Vec3::Z);
        let room = self.lighting.room_on(Vec3::Z);
        let whole = (lamp + room).max(Vec3::splat(1e-6));
        Seen {
            id: FLOOR,
            point_m,
            normal: Vec3::Z,
            direct: behind * lamp / whole,
            room: behind * room / whole,
            still: Vec3::ZERO,
            start_m: point_m + DVec3::Z * self.skin_m(),
        }
    }

    /// Light at a point by one ray to the lamp and one into the room.
    ///
    /// The room's share is 1 plus what things in the way change: where nothing
    /// is in the way it has no noise at all.
    pub fn light(&self, seen: &Seen, draws: &mut Draws, sample: u32) -> Lit {
        let starts = [(); 3].map(|()| (draws.next(), draws.next()));
        let lamp = self.lamp_share(seen.start_m, spread(sample, starts[0]));
        let (u, v) = spread(sample, starts[1]);
        let direction = cosine_lobe(seen.normal.as_dvec3(), u, v);
        let ray = Ray::new(seen.start_m, direction);
        let Some(found) = self.scene.solid.first_hit(&ray) else {
            return Lit {
                lamp,
                room: Vec3::ONE,
            };
        };
        let item = &self.scene.solid.items[found.item as usize];
        let side = if found.hit.enters { 1.0 } else { -1.0 };
        let normal = item.turn * item.face_normal_in_mesh(&found) * side;
        let point_m = ray.at(found.hit.distance_m);
        let start_m = point_m + normal.as_dvec3() * self.skin_m();
        let mut arriving = self.lighting.room_on(normal) * ROOM_AT_SECOND;
        let on_second = self.lamp_on(point_m, normal);
        if on_second != Vec3::ZERO {
            arriving += on_second * self.lamp_share(start_m, spread(sample, starts[2]));
        }
        let coming = item.colour_at(&found) * arriving;
        let hidden = self.lighting.room(direction.as_vec3());
        let whole = self.lighting.room_on(seen.normal).max(Vec3::splat(1e-6));
        Lit {
            lamp,
            room: Vec3::ONE + (coming - hidden) / whole,
        }
    }

    /// 1 when a place on the lamp is in sight, else 0.
    fn lamp_share(&self, start_m: DVec3, (u, v): (f64, f64)) -> f32 {
        let Some(lamp) = self.lighting.lamp else {
            return 0.0;
        };
        let way = lamp.point(u, v) - start_m;
        let most_m = way.length();
        let ray = Ray {
            most_m,
            ..Ray::new(start_m, way / most_m)
        };
        if self.scene.solid.any_hit(&ray) {
            0.0
        } else {
            1.0
        }
    }
}

/// A direction about `normal` with density cos ÷ π.
///
/// P. Shirley and K. Chiu's concentric map is not needed: a point on the unit
/// ball added to the normal has that very density.
fn cosine_lobe(normal: DVec3, u: f64, v: f64) -> DVec3 {
    let z = 1.0 - 2.0 * u;
    let out = (1.0 - z * z).max(0.0).sqrt();
    let (sin, cos) = (std::f64::consts::TAU * v).sin_cos();
    let sum = normal + DVec3::new(out * cos, out * sin, z);
    sum.try_normalize().unwrap_or(normal)
}
