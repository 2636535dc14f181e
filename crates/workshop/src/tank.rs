//! The glass vessel: its inside, and what its glass weighs.

use glam::{DVec2, DVec3};
use method::{Certainty, Figure};
use serde::Serialize;

use crate::WorkshopError;

/// Density of soda-lime float glass, kg/m³.
///
/// # Source
/// EN 572-1, Glass in building: basic soda-lime silicate glass products, table 1.
pub const GLASS_DENSITY_KG_M3: f64 = 2500.0;

/// A box of glass, open at the top.
///
/// The front and back panes stand on the base plate along its full length; the
/// side panes stand on it between them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Tank {
    /// Outside length (x), width (y) and height (z), m.
    #[serde(serialize_with = "as_list")]
    pub outside_m: DVec3,
    /// Thickness of the four walls, m.
    pub wall_m: f64,
    /// Thickness of the base plate, m.
    pub base_m: f64,
    /// Water line above the base's upper face, m.
    pub water_line_m: f64,
    /// Mass of the empty tank on the scale, kg, where it was weighed.
    pub empty_mass_kg: Option<f64>,
}

fn as_list<S: serde::Serializer>(v: &DVec3, serializer: S) -> Result<S::Ok, S::Error> {
    v.to_array().serialize(serializer)
}

impl Tank {
    /// A tank whose measures make one.
    ///
    /// # Errors
    /// When a measure is not finite or not above zero, the walls or the base
    /// leave no inside, or the water line lies above the rim.
    pub fn checked(self) -> Result<Self, WorkshopError> {
        let refuse = |measure, reason: &str| {
            Err(WorkshopError::Tank {
                measure,
                reason: reason.to_owned(),
            })
        };
        let positive = |value: f64| value.is_finite() && value > 0.0;
        if !self.outside_m.is_finite() || self.outside_m.min_element() <= 0.0 {
            return refuse("outside_m", "each outside measure is above zero");
        }
        if !positive(self.wall_m) {
            return refuse("wall_m", "the walls have a thickness above zero");
        }
        if !positive(self.base_m) {
            return refuse("base_m", "the base has a thickness above zero");
        }
        let inside = self.inside_m();
        if inside.x <= 0.0 || inside.y <= 0.0 {
            return refuse("wall_m", "the walls leave no inside");
        }
        if inside.z <= 0.0 {
            return refuse("base_m", "the base leaves no inside");
        }
        if !(self.water_line_m >= 0.0 && self.water_line_m <= inside.z) {
            return refuse(
                "water_line_m",
                "the water line lies between the base and the rim",
            );
        }
        if self.empty_mass_kg.is_some_and(|mass| !positive(mass)) {
            return refuse("empty_mass_kg", "a tank weighs something");
        }
        Ok(self)
    }

    /// Inside length, width and height, m.
    #[must_use]
    pub fn inside_m(&self) -> DVec3 {
        self.outside_m - DVec3::new(2.0 * self.wall_m, 2.0 * self.wall_m, self.base_m)
    }

    /// Area of the inside in plan, m².
    #[must_use]
    pub fn plan_area_m2(&self) -> f64 {
        let inside = self.inside_m();
        inside.x * inside.y
    }

    /// Mass of the glass from the volume of its panes, kg, without silicone and fittings.
    ///
    /// # Equation
    /// m = ρ [L W b + 2 L h t + 2 (W − 2t) h t] with h = H − b, for outside
    /// L × W × H, walls t and base b.
    #[must_use]
    pub fn glass_mass_kg(&self) -> f64 {
        let (o, t) = (self.outside_m, self.wall_m);
        let pane_height = o.z - self.base_m;
        let base = o.x * o.y * self.base_m;
        let long_panes = 2.0 * o.x * pane_height * t;
        let short_panes = 2.0 * (o.y - 2.0 * t) * pane_height * t;
        GLASS_DENSITY_KG_M3 * (base + long_panes + short_panes)
    }

    /// Mass of the empty tank: from the scale where it was weighed, else of its glass.
    #[must_use]
    pub fn empty_mass(&self) -> Figure {
        match self.empty_mass_kg {
            Some(mass) => Figure::new(
                mass,
                "kg",
                Certainty::Measured,
                "on the scale",
                "weighed empty",
            ),
            None => Figure::new(
                self.glass_mass_kg(),
                "kg",
                Certainty::Estimated,
                "2500 kg/m³ × volume of base, two long panes on it and two short panes between; without silicone and fittings",
                "density: EN 572-1, table 1",
            ),
        }
    }

    /// Where the middle of the inside lies in plan, m.
    #[must_use]
    pub fn middle_in_plan_m(&self) -> DVec2 {
        0.5 * self.inside_m().truncate()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TANK: Tank = Tank {
        outside_m: DVec3::new(0.9, 0.45, 0.45),
        wall_m: 0.01,
        base_m: 0.012,
        water_line_m: 0.4,
        empty_mass_kg: None,
    };

    #[test]
    fn glass_is_outside_less_inside_times_density() {
        // Closed form: the panes fill the box less its inside.
        let inside = TANK.inside_m();
        let o = TANK.outside_m;
        let glass = o.x * o.y * o.z - inside.x * inside.y * inside.z;
        assert!((TANK.glass_mass_kg() - 2500.0 * glass).abs() < 1e-9);
    }

    #[test]
    fn a_weighed_tank_is_believed() {
        let weighed = Tank {
            empty_mass_kg: Some(31.0),
            ..TANK
        };
        assert_eq!(weighed.empty_mass().value, 31.0);
        assert_eq!(weighed.empty_mass().certainty, Certainty::Measured);
        assert_eq!(TANK.empty_mass().certainty, Certainty::Estimated);
    }

    #[test]
    fn measures_that_make_no_tank_are_named() {
        let named = |tank: Tank| match tank.checked() {
            Err(WorkshopError::Tank { measure, .. }) => measure,
            other => panic!("{other:?}"),
        };
        assert_eq!(
            named(Tank {
                wall_m: 0.225,
                ..TANK
            }),
            "wall_m"
        );
        assert_eq!(
            named(Tank {
                base_m: 0.0,
                ..TANK
            }),
            "base_m"
        );
        assert_eq!(
            named(Tank {
                water_line_m: 0.5,
                ..TANK
            }),
            "water_line_m"
        );
        assert_eq!(
            named(Tank {
                outside_m: DVec3::NAN,
                ..TANK
            }),
            "outside_m"
        );
        assert!(TANK.checked().is_ok());
    }
}
