//! What is let go: the tank, the ground in it, the water, and the bodies.

use std::sync::Arc;

use glam::{DMat3, DVec3};
use solid::Pose;

use super::prepared::Solid;
use crate::ground::GroundSurface;

/// Standard acceleration of free fall, m/s². Source: 3rd CGPM (1901).
pub const GRAVITY_M_S2: f64 = 9.806_65;

/// Everything that decides where pieces come to rest.
#[derive(Debug, Clone)]
pub struct Scene {
    /// The glass vessel.
    pub tank: Tank,
    /// The ground, where there is any.
    pub ground: Option<Ground>,
    /// The water, where there is any.
    pub water: Option<Water>,
    /// The pieces, in the caller's order.
    pub bodies: Vec<Body>,
    /// Density of the stone that would hold wood down, kg/m³.
    pub ballast_density_kg_m3: f64,
}

/// Inside measures of a tank and how its glass grips.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tank {
    /// Inside length along x, m.
    pub length_m: f64,
    /// Inside width along y, m.
    pub width_m: f64,
    /// Inside height along z, m. Panes end here; above, nothing holds a piece.
    pub height_m: f64,
    /// Coefficient of friction of the base.
    pub base_friction: f64,
    /// Coefficient of friction of the panes.
    pub wall_friction: f64,
    /// How far the base rises towards +x, rad.
    pub tilt_x_rad: f64,
    /// How far the base rises towards +y, rad.
    pub tilt_y_rad: f64,
}

impl Tank {
    /// The direction of gravity in the tank frame, of unit length.
    ///
    /// A base that rises by α along x and β along y is a plane with the slopes
    /// tan α and tan β, so that its upward normal is the vertical.
    #[must_use]
    pub fn down(&self) -> DVec3 {
        -DVec3::new(self.tilt_x_rad.tan(), self.tilt_y_rad.tan(), 1.0).normalize()
    }

    /// The middle of the base, m.
    #[must_use]
    pub fn middle(&self) -> DVec3 {
        DVec3::new(0.5 * self.length_m, 0.5 * self.width_m, 0.0)
    }
}

/// The ground: a surface that pieces lie on, and its grip.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    /// Coefficient of friction of the ground.
    pub friction: f64,
    /// Where its surface is.
    pub form: GroundForm,
}

/// Where the top of the ground is.
#[derive(Debug, Clone, PartialEq)]
pub enum GroundForm {
    /// One plane.
    Plane {
        /// Height above the middle of the base, m.
        height_at_middle_m: f64,
        /// How far it rises towards +x, rad.
        slope_x_rad: f64,
        /// How far it rises towards +y, rad.
        slope_y_rad: f64,
    },
    /// Heights at the nodes of a square grid.
    Heights(GroundSurface),
}

/// The water in the tank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// Level above the middle of the base with everything in place, m.
    pub level_m: f64,
    /// Density, kg/m³; see [`super::water::density_kg_m3`].
    pub density_kg_m3: f64,
}

/// One piece.
#[derive(Debug, Clone)]
pub struct Body {
    /// Tag or name; appears in results.
    pub id: String,
    /// The prepared solid; pieces of one form may share it.
    pub solid: Arc<Solid>,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Coefficient of friction of its surface.
    pub friction: f64,
    /// Where it is let go.
    pub pose: Pose,
    /// Whether the ground is cut to its underside before it is let go.
    pub bedded: bool,
}

impl Body {
    /// A point of the piece frame in the tank frame, at `pose`.
    #[must_use]
    pub fn point_in_tank(&self, pose: &Pose, point_in_piece_m: DVec3) -> DVec3 {
        pose.point_in_tank(point_in_piece_m, self.solid.centre_m())
    }

    /// Mean density, kg/m³.
    #[must_use]
    pub fn density_kg_m3(&self) -> f64 {
        self.mass_kg / self.solid.volume_m3()
    }

    /// Inertia about the centre of mass along piece axes, kg m².
    #[must_use]
    pub fn inertia_kg_m2(&self) -> DMat3 {
        self.solid.inertia_m5() * self.density_kg_m3()
    }
}

/// What holds a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Support {
    /// The glass base.
    Base,
    /// The ground.
    Ground,
    /// The pane at x = 0.
    WallLeft,
    /// The pane at x = length.
    WallRight,
    /// The pane at y = 0.
    WallFront,
    /// The pane at y = width.
    WallBack,
    /// Another body, by its place in the list.
    Piece(usize),
}

impl Support {
    /// Its name in results: the piece's id, `ground`, `base`, `wall_left` ….
    #[must_use]
    pub fn name(self, bodies: &[Body]) -> String {
        match self {
            Self::Base => "base".to_owned(),
            Self::Ground => "ground".to_owned(),
            Self::WallLeft => "wall_left".to_owned(),
            Self::WallRight => "wall_right".to_owned(),
            Self::WallFront => "wall_front".to_owned(),
            Self::WallBack => "wall_back".to_owned(),
            Self::Piece(index) => bodies.get(index).map_or_else(String::new, |b| b.id.clone()),
        }
    }

    /// Whether it is a pane of glass at the side.
    #[must_use]
    pub fn is_wall(self) -> bool {
        matches!(
            self,
            Self::WallLeft | Self::WallRight | Self::WallFront | Self::WallBack
        )
    }
}

/// How far a settling has come.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// Where every piece is now, in the order of the bodies.
    pub poses: Vec<Pose>,
    /// Steps done.
    pub steps: usize,
    /// Simulated time, s.
    pub simulated_s: f64,
    /// Fastest point of any piece, m/s.
    pub fastest_m_s: f64,
}
