//! What does not move: base, panes and ground, and how a piece's points meet them.

use std::sync::Arc;

use glam::DVec3;

use super::{
    field,
    scene::{Ground, GroundForm, Support, Tank},
};
use crate::ground::GroundSurface;

/// A surface that does not move.
#[derive(Debug, Clone)]
pub(crate) struct Barrier {
    /// What it is.
    pub support: Support,
    /// Its coefficient of friction.
    pub friction: f64,
    /// Where it is.
    pub surface: Surface,
}

/// Where a barrier is.
#[derive(Debug, Clone)]
pub(crate) enum Surface {
    /// A plane through a point, up to a height.
    Plane {
        point: DVec3,
        normal: DVec3,
        top_m: f64,
    },
    /// Heights on a grid.
    Grid(Arc<GroundSurface>),
}

impl Barrier {
    /// Base, panes and, where there is one, ground.
    pub fn of_tank(tank: &Tank, ground: Option<&Ground>) -> Vec<Self> {
        let wall = |support, point, normal| Self {
            support,
            friction: tank.wall_friction,
            surface: Surface::Plane {
                point,
                normal,
                top_m: tank.height_m,
            },
        };
        let far = DVec3::new(tank.length_m, tank.width_m, 0.0);
        let mut barriers = vec![
            Self {
                support: Support::Base,
                friction: tank.base_friction,
                surface: Surface::Plane {
                    point: DVec3::ZERO,
                    normal: DVec3::Z,
                    top_m: f64::MAX,
                },
            },
            wall(Support::WallLeft, DVec3::ZERO, DVec3::X),
            wall(Support::WallRight, far, -DVec3::X),
            wall(Support::WallFront, DVec3::ZERO, DVec3::Y),
            wall(Support::WallBack, far, -DVec3::Y),
        ];
        barriers.extend(ground.map(|ground| Self {
            support: Support::Ground,
            friction: ground.friction,
            surface: ground_surface(tank, &ground.form),
        }));
        barriers
    }

    /// How far a point is in front of the surface, m, and the surface's normal
    /// there; `None` where the surface does not reach.
    pub fn gap(&self, point: DVec3) -> Option<(f64, DVec3)> {
        let reaches = match &self.surface {
            Surface::Plane { top_m, .. } => point.z <= *top_m,
            Surface::Grid(_) => true,
        };
        reaches.then(|| self.gap_unbounded(point))
    }

    /// As [`Barrier::gap`], but a pane goes on beyond its top.
    pub fn gap_unbounded(&self, point: DVec3) -> (f64, DVec3) {
        match &self.surface {
            Surface::Plane {
                point: through,
                normal,
                ..
            } => ((point - *through).dot(*normal), *normal),
            Surface::Grid(grid) => field::gap(grid, point),
        }
    }

    /// Whether it is uneven, so that a hull's corners alone do not tell where a piece lies.
    pub fn is_uneven(&self) -> bool {
        matches!(self.surface, Surface::Grid(_))
    }

    /// A box that holds all points within `reach_m` of the surface and a little behind.
    pub fn bounds(&self, tank: &Tank, reach_m: f64) -> (DVec3, DVec3) {
        let wide = DVec3::splat(10.0);
        let far = DVec3::new(tank.length_m, tank.width_m, tank.height_m);
        let (mut low, mut high) = (-wide, far + wide);
        match self.support {
            Support::Base => high.z = reach_m,
            Support::WallLeft => high.x = reach_m,
            Support::WallRight => low.x = far.x - reach_m,
            Support::WallFront => high.y = reach_m,
            Support::WallBack => low.y = far.y - reach_m,
            Support::Ground | Support::Piece(_) => {
                if let Surface::Grid(grid) = &self.surface {
                    high.z = grid.range_m().1 + reach_m;
                }
            }
        }
        (low, high)
    }
}

fn ground_surface(tank: &Tank, form: &GroundForm) -> Surface {
    match form {
        GroundForm::Plane {
            height_at_middle_m,
            slope_x_rad,
            slope_y_rad,
        } => Surface::Plane {
            point: tank.middle() + DVec3::Z * *height_at_middle_m,
            normal: DVec3::new(-slope_x_rad.tan(), -slope_y_rad.tan(), 1.0).normalize(),
            top_m: f64::MAX,
        },
        GroundForm::Heights(grid) => Surface::Grid(Arc::new(grid.clone())),
    }
}
