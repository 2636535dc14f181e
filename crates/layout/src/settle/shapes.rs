//! The shapes of our own that the engine carries.

use std::sync::Arc;

use glam::DVec3;
use rapier3d_f64::parry::{
    bounding_volume::{Aabb, BoundingSphere},
    mass_properties::MassProperties,
    math::{Pose as Frame, Vector},
    query::{PointProjection, PointQuery, Ray, RayCast, RayIntersection},
    shape::{FeatureId, Shape, ShapeType, TypedShape},
};

use super::{barrier::Barrier, parts::Part, prepared::Solid};

/// A piece's points, which meet base, panes and ground.
#[derive(Clone)]
pub(crate) struct Cloud {
    /// The piece; its points are in the piece frame.
    pub solid: Arc<Solid>,
}

/// A piece that other pieces meet as a distance field.
#[derive(Clone)]
pub(crate) struct Lump {
    /// The piece.
    pub solid: Arc<Solid>,
}

/// A convex part that other pieces meet.
#[derive(Clone)]
pub(crate) struct PartShape {
    /// The part, in the piece frame.
    pub part: Arc<Part>,
}

/// A barrier with the box in which it is felt.
#[derive(Clone)]
pub(crate) struct BarrierShape {
    /// The barrier, in the tank frame.
    pub barrier: Arc<Barrier>,
    /// Where it is felt, m.
    pub bounds: (DVec3, DVec3),
}

/// All are met through the dispatcher only; nothing casts rays at them
/// or projects points on them, and their mass is set on the body.
macro_rules! carried_shape {
    ($shape:ty, $bounds:expr) => {
        impl RayCast for $shape {
            fn cast_local_ray_and_get_normal(
                &self,
                _: &Ray,
                _: f64,
                _: bool,
            ) -> Option<RayIntersection> {
                None
            }
        }

        impl PointQuery for $shape {
            fn project_local_point(&self, point: Vector, _: bool) -> PointProjection {
                PointProjection::new(false, point)
            }

            fn project_local_point_and_get_feature(
                &self,
                point: Vector,
            ) -> (PointProjection, FeatureId) {
                (PointProjection::new(false, point), FeatureId::Unknown)
            }
        }

        impl Shape for $shape {
            fn compute_local_aabb(&self) -> Aabb {
                let (low, high) = $bounds(self);
                Aabb::new(low, high)
            }

            fn compute_local_bounding_sphere(&self) -> BoundingSphere {
                self.compute_local_aabb().bounding_sphere()
            }

            fn clone_dyn(&self) -> Box<dyn Shape> {
                Box::new(self.clone())
            }

            fn scale_dyn(&self, _: Vector, _: u32) -> Option<Box<dyn Shape>> {
                None
            }

            fn compute_aabb(&self, position: &Frame) -> Aabb {
                self.compute_local_aabb().transform_by(position)
            }

            fn mass_properties(&self, _: f64) -> MassProperties {
                MassProperties::default()
            }

            fn shape_type(&self) -> ShapeType {
                ShapeType::Custom
            }

            fn as_typed_shape(&self) -> TypedShape<'_> {
                TypedShape::Custom(self)
            }

            fn ccd_thickness(&self) -> f64 {
                0.0
            }

            fn ccd_angular_thickness(&self) -> f64 {
                0.0
            }
        }
    };
}

carried_shape!(Cloud, |cloud: &Cloud| cloud.solid.bounds());
carried_shape!(Lump, |lump: &Lump| lump.solid.bounds());
carried_shape!(PartShape, |shape: &PartShape| (
    shape.part.low,
    shape.part.high
));
carried_shape!(BarrierShape, |shape: &BarrierShape| shape.bounds);
