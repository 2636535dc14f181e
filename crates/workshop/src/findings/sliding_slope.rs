//! Ground steeper than its material's angle of repose slides.

use method::{Caution, Severity};
use serde::Serialize;

/// A stretch of ground that will slide.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SlidingSlope {
    /// The material.
    pub material: String,
    /// Middle of the stretch in plan, mm from the left and front glass.
    pub place_mm: [f64; 2],
    /// Steepest slope in it, deg.
    pub slope_deg: f64,
    /// Angle of repose of the material, deg.
    pub repose_deg: f64,
    /// Its area in plan, cm².
    pub area_cm2: f64,
}

impl SlidingSlope {
    /// The finding in words.
    #[must_use]
    pub fn caution(&self) -> Caution {
        Caution::new(
            "slope_slides",
            Severity::Caution,
            format!(
                "{} near {:.0} mm from the left and {:.0} mm from the front slopes up to {:.0}° over {:.0} cm²; it holds up to {:.0}°: lower the bank or hold it with stone",
                self.material,
                self.place_mm[0],
                self.place_mm[1],
                self.slope_deg,
                self.area_cm2,
                self.repose_deg
            ),
        )
    }
}
