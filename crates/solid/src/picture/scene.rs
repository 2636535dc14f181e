//! What a picture shows: meshes at their places, and what they are made of.

use std::sync::Arc;

use glam::{DVec3, Mat3, Vec3};
use rayon::prelude::*;

use super::{normals, tone};
use crate::Mesh;
use crate::bvh::{Bvh, Hit, Placement, Ray};

/// What a thing is made of: how light meets it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Surface {
    /// Stone, with fine grain.
    Stone,
    /// Wood, with fine fibre.
    Wood,
    /// Grains of a bed.
    Ground {
        /// Middle diameter of a grain, m.
        grain_m: f64,
    },
    /// Leaves and stems.
    Plant,
    /// A matt thing of one plain colour, or of its vertices' colours.
    Plain,
    /// A clear pane: a closed box or other closed mesh.
    Glass,
    /// A body of clear water: a closed mesh.
    Water,
}

impl Surface {
    /// Whether one sees through it.
    #[must_use]
    pub fn is_clear(self) -> bool {
        matches!(self, Self::Glass | Self::Water)
    }
}

/// One thing in a scene.
#[derive(Debug, Clone)]
pub struct SceneItem {
    /// Its shape and, where known, its colours.
    pub mesh: Arc<Mesh>,
    /// Where the mesh lies in the scene.
    pub placement: Placement,
    /// What it is made of.
    pub surface: Surface,
    /// sRGB colour of a mesh without colours of its own; not used for glass and water.
    pub colour: [u8; 3],
}

/// A scene ready for pictures.
#[derive(Debug)]
pub struct Scene {
    pub(super) solid: Layer,
    pub(super) clear: Layer,
    /// Diagonal of the box round everything, m.
    pub(super) reach_m: f64,
}

/// Things behind one tree: all of them are laid into the scene's frame first,
/// which a line of sight gets through in half the time of a tree for each.
#[derive(Debug)]
pub(super) struct Layer {
    pub items: Vec<Item>,
    bvh: Bvh,
    /// First triangle of each item.
    first: Vec<u32>,
}

/// Where a ray met an item of a layer.
#[derive(Debug, Clone, Copy)]
pub(super) struct Met {
    pub item: u32,
    /// Of the item's own mesh.
    pub triangle: usize,
    pub hit: Hit,
}

/// An item with what is looked up when a ray meets it.
#[derive(Debug)]
pub(super) struct Item {
    pub skin: Arc<Skin>,
    pub surface: Surface,
    pub placement: Placement,
    /// Turn of the placement.
    pub turn: Mat3,
    colour: Vec3,
    /// Tells the noise of equal meshes apart.
    pub salt: u32,
    /// Highest place in the scene, m.
    pub top_m: f64,
    /// Of a pane, the mesh axis across it.
    pub thin_axis: usize,
    /// How thick the mesh is there, m.
    pub thickness_m: f64,
    /// Of a log, the mesh axis along it.
    pub long_axis: usize,
}

/// What belongs to a mesh, however often it is placed.
#[derive(Debug)]
pub(super) struct Skin {
    mesh: Arc<Mesh>,
    corner_normals: Vec<[Vec3; 3]>,
    colours: Vec<Vec3>,
}

/// A point of a surface.
#[derive(Debug, Clone, Copy)]
pub(super) struct SurfacePoint {
    pub point_m: DVec3,
    pub point_in_mesh_m: DVec3,
    /// Of the face, towards the ray's origin.
    pub face_normal: Vec3,
    /// Of the smooth surface, in the scene.
    pub normal: Vec3,
    /// Linear.
    pub colour: Vec3,
    /// A place on the smooth surface through the corners: shadows start there.
    pub raised_m: DVec3,
}

impl Scene {
    /// Builds the trees; items that share a mesh share its normals and colours.
    #[must_use]
    pub fn new(items: &[SceneItem]) -> Self {
        let mut meshes: Vec<&Arc<Mesh>> = Vec::new();
        let which: Vec<usize> = items
            .iter()
            .map(|item| {
                let known = meshes.iter().position(|mesh| Arc::ptr_eq(mesh, &item.mesh));
                known.unwrap_or_else(|| {
                    meshes.push(&item.mesh);
                    meshes.len() - 1
                })
            })
            .collect();
        let skins: Vec<Arc<Skin>> = meshes
            .par_iter()
            .map(|mesh| Arc::new(Skin::of(mesh)))
            .collect();
        let mut solid_items = Vec::new();
        let mut clear_items = Vec::new();
        for (i, item) in items.iter().enumerate() {
            let ready = Item::of(item, Arc::clone(&skins[which[i]]), i as u32);
            if item.surface.is_clear() {
                clear_items.push(ready);
            } else {
                solid_items.push(ready);
            }
        }
        let (solid, clear) = rayon::join(|| Layer::of(solid_items), || Layer::of(clear_items));
        let whole = joined(&solid, &clear);
        Self {
            solid,
            clear,
            reach_m: whole.map_or(1.0, |(low, high)| low.distance(high).max(1e-6)),
        }
    }

    /// Least and greatest corner of the box round everything, m.
    #[must_use]
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        joined(&self.solid, &self.clear)
    }
}

fn joined(a: &Layer, b: &Layer) -> Option<(DVec3, DVec3)> {
    [a.bvh.bounds(), b.bvh.bounds()]
        .into_iter()
        .flatten()
        .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
}

impl Layer {
    fn of(items: Vec<Item>) -> Self {
        let mut whole = Mesh::default();
        let mut first = Vec::new();
        for item in &items {
            let mesh = &item.skin.mesh;
            first.push(whole.triangles.len() as u32);
            let before = whole.vertices_m.len() as u32;
            let placed = mesh.vertices_m.iter().map(|v| item.placement.point(*v));
            whole.vertices_m.extend(placed);
            let moved = mesh.triangles.iter().map(|t| t.map(|v| v + before));
            whole.triangles.extend(moved);
        }
        Self {
            items,
            bvh: Bvh::build(&whole),
            first,
        }
    }

    fn met(&self, hit: Hit) -> Met {
        let item = self.first.partition_point(|first| *first <= hit.triangle) - 1;
        Met {
            item: item as u32,
            triangle: (hit.triangle - self.first[item]) as usize,
            hit,
        }
    }

    pub fn first_hit(&self, ray: &Ray) -> Option<Met> {
        self.bvh.first_hit(ray).map(|hit| self.met(hit))
    }

    pub fn any_hit(&self, ray: &Ray) -> bool {
        self.bvh.any_hit(ray)
    }

    pub fn for_all_hits(&self, ray: &Ray, mut take: impl FnMut(&Item, &Met)) {
        self.bvh.for_all_hits(ray, |hit| {
            let met = self.met(hit);
            take(&self.items[met.item as usize], &met);
        });
    }
}

impl Skin {
    fn of(mesh: &Arc<Mesh>) -> Self {
        let has_colours = mesh.colours.len() == mesh.vertices_m.len();
        Self {
            mesh: Arc::clone(mesh),
            corner_normals: normals::of_corners(mesh),
            colours: if has_colours {
                mesh.colours.iter().map(|c| tone::linear(*c)).collect()
            } else {
                Vec::new()
            },
        }
    }
}

impl Item {
    fn of(item: &SceneItem, skin: Arc<Skin>, salt: u32) -> Self {
        let (low, high) = item.mesh.bounds().unwrap_or_default();
        Self {
            skin,
            surface: item.surface,
            placement: item.placement,
            turn: Mat3::from_quat(item.placement.turn.as_quat()),
            colour: tone::linear(item.colour),
            salt,
            top_m: item.placement.box_round(low, high).1.z,
            thin_axis: (high - low).min_position(),
            thickness_m: (high - low).min_element(),
            long_axis: (high - low).max_position(),
        }
    }

    /// The colour where a ray met the item, and nothing else.
    pub fn colour_at(&self, found: &Met) -> Vec3 {
        if self.skin.colours.is_empty() {
            return self.colour;
        }
        let triangle = self.skin.mesh.triangles[found.triangle];
        let [a, b, c] = triangle.map(|v| self.skin.colours[v as usize]);
        let [u, v, w] = found.hit.barycentric.map(|x| x as f32);
        a * u + b * v + c * w
    }

    /// The face's outward normal in the mesh.
    pub fn face_normal_in_mesh(&self, found: &Met) -> Vec3 {
        let [a, b, c] = self.skin.mesh.corners(found.triangle);
        (b - a).cross(c - a).normalize_or_zero().as_vec3()
    }

    /// Everything about the point where a ray met the item.
    pub fn surface_point(&self, found: &Met) -> SurfacePoint {
        let t = found.triangle;
        let corners = self.skin.mesh.corners(t);
        let weights = found.hit.barycentric;
        let point_in_mesh_m: DVec3 = (0..3).map(|k| corners[k] * weights[k]).sum();
        let side = if found.hit.enters { 1.0 } else { -1.0 };
        let face = self.face_normal_in_mesh(found);
        let corner_normals = self.skin.corner_normals[t];
        let smooth: Vec3 = (0..3).map(|k| corner_normals[k] * weights[k] as f32).sum();
        let smooth = smooth.try_normalize().unwrap_or(face);
        // J. Hanika, Hacking the shadow terminator, Ray Tracing Gems II (2021).
        let lift: DVec3 = (0..3)
            .map(|k| {
                let normal = corner_normals[k].as_dvec3() * f64::from(side);
                let below = (point_in_mesh_m - corners[k]).dot(normal).min(0.0);
                -normal * (below * weights[k])
            })
            .sum();
        SurfacePoint {
            point_m: self.placement.point(point_in_mesh_m),
            point_in_mesh_m,
            face_normal: self.turn * face * side,
            normal: self.turn * smooth * side,
            colour: self.colour_at(found),
            raised_m: self.placement.point(point_in_mesh_m + lift),
        }
    }
}
