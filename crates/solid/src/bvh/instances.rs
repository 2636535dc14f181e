//! Many placed meshes behind one tree.

use std::sync::Arc;

use glam::{DMat3, DQuat, DVec3};

use super::tree::{RaySlabs, Tree};
use super::{Bvh, Hit, Ray, build};
use crate::Pose;

/// A rigid change of frame: point in scene = turn · point in mesh + shift.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// Unit turn.
    pub turn: DQuat,
    /// Where the mesh's origin comes to lie, m.
    pub shift_m: DVec3,
}

impl Placement {
    /// Leaves everything where it is.
    pub const IDENTITY: Self = Self {
        turn: DQuat::IDENTITY,
        shift_m: DVec3::ZERO,
    };

    /// The placement of a piece whose centre of mass is at `centre_in_piece_m`.
    #[must_use]
    pub fn of_pose(pose: Pose, centre_in_piece_m: DVec3) -> Self {
        Self {
            turn: pose.turn,
            shift_m: pose.centre_m - pose.turn * centre_in_piece_m,
        }
    }

    /// A point of the mesh, seen in the scene.
    #[must_use]
    pub fn point(&self, point_in_mesh_m: DVec3) -> DVec3 {
        self.turn * point_in_mesh_m + self.shift_m
    }

    /// The way back.
    #[must_use]
    pub fn inverse(&self) -> Self {
        let turn = self.turn.conjugate();
        Self {
            turn,
            shift_m: -(turn * self.shift_m),
        }
    }

    /// First `self`, then `next`.
    #[must_use]
    pub fn then(&self, next: &Self) -> Self {
        Self {
            turn: next.turn * self.turn,
            shift_m: next.point(self.shift_m),
        }
    }

    /// The box along the scene's axes round a box along the mesh's axes.
    #[must_use]
    pub fn box_round(&self, low_m: DVec3, high_m: DVec3) -> (DVec3, DVec3) {
        let m = DMat3::from_quat(self.turn);
        let middle = self.point(0.5 * (low_m + high_m));
        let half = 0.5 * (high_m - low_m);
        let reach = m.x_axis.abs() * half.x + m.y_axis.abs() * half.y + m.z_axis.abs() * half.z;
        (middle - reach, middle + reach)
    }
}

/// One mesh at one place. The same tree may serve many instances.
#[derive(Debug, Clone)]
pub struct Instance {
    /// The mesh's tree, in the mesh's frame.
    pub bvh: Arc<Bvh>,
    /// Where it lies in the scene.
    pub placement: Placement,
}

/// A hit and the instance that was met.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InstanceHit {
    /// Index in the list given to [`Instances::new`].
    pub instance: u32,
    /// Where; barycentric weights and triangle are those of the instance's mesh.
    pub hit: Hit,
}

/// A tree over placed meshes.
#[derive(Debug, Clone)]
pub struct Instances {
    placed: Vec<Placed>,
    tree: Tree,
}

#[derive(Debug, Clone)]
struct Placed {
    bvh: Arc<Bvh>,
    /// Scene to mesh.
    inward: DMat3,
    shift_m: DVec3,
}

impl Placed {
    fn ray_in_mesh(&self, ray: &Ray, most_m: f64) -> Ray {
        Ray {
            origin_m: self.inward * ray.origin_m + self.shift_m,
            direction: self.inward * ray.direction,
            least_m: ray.least_m,
            most_m,
        }
    }
}

impl Instances {
    /// Builds the top tree; instances without triangles never get hit.
    #[must_use]
    pub fn new(instances: &[Instance]) -> Self {
        let boxes: Vec<(u32, DVec3, DVec3)> = instances
            .iter()
            .enumerate()
            .filter_map(|(i, instance)| {
                let (low, high) = instance.bvh.bounds()?;
                let (low, high) = instance.placement.box_round(low, high);
                (low.is_finite() && high.is_finite()).then_some((i as u32, low, high))
            })
            .collect();
        let placed = instances
            .iter()
            .map(|instance| {
                let back = instance.placement.inverse();
                Placed {
                    bvh: Arc::clone(&instance.bvh),
                    inward: DMat3::from_quat(back.turn),
                    shift_m: back.shift_m,
                }
            })
            .collect();
        Self {
            placed,
            tree: build::tree(&boxes),
        }
    }

    /// Least and greatest corner of the box round everything, m.
    #[must_use]
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        self.tree.bounds_m
    }

    /// The nearest hit between the ray's two distances.
    #[must_use]
    pub fn first_hit(&self, ray: &Ray) -> Option<InstanceHit> {
        self.first_hit_among(ray, |_| true)
    }

    /// The nearest hit among the instances that `counts` lets through.
    pub fn first_hit_among(&self, ray: &Ray, counts: impl Fn(u32) -> bool) -> Option<InstanceHit> {
        let slabs = RaySlabs::of(&self.tree, ray)?;
        let mut best: Option<InstanceHit> = None;
        self.tree.visit_ray(&slabs, |first, count, most_m| {
            for instance in &self.tree.order[first..first + count] {
                if !counts(*instance) {
                    continue;
                }
                let placed = &self.placed[*instance as usize];
                let Some(hit) = placed.bvh.first_hit(&placed.ray_in_mesh(ray, *most_m)) else {
                    continue;
                };
                let nearer = best
                    .is_none_or(|b| (hit.distance_m, *instance) < (b.hit.distance_m, b.instance));
                if nearer {
                    *most_m = hit.distance_m;
                    best = Some(InstanceHit {
                        instance: *instance,
                        hit,
                    });
                }
            }
            true
        });
        best
    }

    /// Whether anything lies between the ray's two distances.
    #[must_use]
    pub fn any_hit(&self, ray: &Ray) -> bool {
        self.any_hit_among(ray, |_| true)
    }

    /// Whether any instance that `counts` lets through lies on the ray.
    pub fn any_hit_among(&self, ray: &Ray, counts: impl Fn(u32) -> bool) -> bool {
        let Some(slabs) = RaySlabs::of(&self.tree, ray) else {
            return false;
        };
        let mut found = false;
        self.tree.visit_ray(&slabs, |first, count, most_m| {
            found = self.tree.order[first..first + count]
                .iter()
                .any(|instance| {
                    let placed = &self.placed[*instance as usize];
                    counts(*instance) && placed.bvh.any_hit(&placed.ray_in_mesh(ray, *most_m))
                });
            !found
        });
        found
    }

    /// Calls `take` with every hit, in no useful order; see [`Bvh::all_hits`].
    pub fn for_all_hits(&self, ray: &Ray, mut take: impl FnMut(InstanceHit)) {
        let Some(slabs) = RaySlabs::of(&self.tree, ray) else {
            return;
        };
        self.tree.visit_ray(&slabs, |first, count, most_m| {
            for instance in &self.tree.order[first..first + count] {
                let placed = &self.placed[*instance as usize];
                let ray = placed.ray_in_mesh(ray, *most_m);
                placed.bvh.for_all_hits(&ray, |hit| {
                    take(InstanceHit {
                        instance: *instance,
                        hit,
                    });
                });
            }
            true
        });
    }
}
