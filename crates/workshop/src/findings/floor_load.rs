//! A full tank presses on its floor more than a dwelling's floor is made for.

use method::{Caution, Severity};
use serde::Serialize;

/// The imposed load from which the floor is cautioned, kPa.
///
/// EN 1991-1-1, table 6.2, gives 1.5 to 2.0 kN/m² for floors of dwellings
/// (category A; typed from memory); the lower end is taken.
pub const FLOOR_KPA: f64 = 1.5;
/// Standard acceleration of free fall, m/s²: 3rd CGPM (1901).
const GRAVITY_M_S2: f64 = 9.806_65;

/// A tank that presses more on its own area than a dwelling's floor is made for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FloorLoad {
    /// Mass of the full tank without its stand, kg.
    pub total_kg: f64,
    /// Pressure over the tank's outside area, kPa.
    pub pressure_kpa: f64,
}

impl FloorLoad {
    /// The finding, when the pressure is over the limit.
    #[must_use]
    pub fn check(total_kg: f64, area_m2: f64) -> Option<Self> {
        let pressure_kpa = total_kg * GRAVITY_M_S2 / area_m2 * 1e-3;
        (pressure_kpa > FLOOR_KPA).then_some(Self {
            total_kg,
            pressure_kpa,
        })
    }

    /// The finding in words.
    #[must_use]
    pub fn caution(&self) -> Caution {
        Caution::new(
            "floor_load",
            Severity::Caution,
            format!(
                "full, the tank weighs {:.0} kg without its stand and presses {:.1} kPa on its area; floors of dwellings are made for about 1.5 to 2 kPa all over: have stand and floor checked by whoever answers for the building, by local codes",
                self.total_kg, self.pressure_kpa
            ),
        )
    }
}
