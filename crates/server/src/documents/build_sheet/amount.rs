//! A figure as it stands on paper: measured upright, estimated with `≈`,
//! assumed with its word.

use crate::documents::units::{GLUE, Units, significant, whole};
use method::{Certainty, Figure};

/// A number with its unit and how it is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Amount {
    /// The number.
    pub value: f64,
    /// Its unit as methods write it: `mm`, `kg`, `L`, `deg`, a currency, or nothing.
    pub unit: String,
    /// How it is known.
    pub certainty: Certainty,
}

impl From<&Figure> for Amount {
    fn from(figure: &Figure) -> Self {
        Self {
            value: figure.value,
            unit: figure.unit.clone(),
            certainty: figure.certainty,
        }
    }
}

impl Amount {
    /// A number that was measured.
    pub fn measured(value: f64, unit: &str) -> Self {
        Self {
            value,
            unit: unit.into(),
            certainty: Certainty::Measured,
        }
    }

    /// The words on paper.
    pub fn words(&self, units: Units) -> String {
        let number = match self.unit.as_str() {
            "mm" => units.length(self.value),
            "m" => units.length(self.value * 1e3),
            "kg" => units.mass(self.value),
            "L" | "l" => units.volume(self.value),
            "deg" => format!("{}°", whole(self.value)),
            "" => significant(self.value),
            unit => format!("{}{GLUE}{unit}", significant(self.value)),
        };
        match self.certainty {
            Certainty::Measured => number,
            Certainty::Estimated => format!("≈{GLUE}{number}"),
            Certainty::Assumed => format!("{number}{GLUE}(assumed)"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_estimated_never_looks_measured() {
        fn check(value: f64, unit: &str, certainty: Certainty, expected: &str) {
            let amount = Amount {
                value,
                unit: unit.into(),
                certainty,
            };
            assert_eq!(amount.words(Units::Metric).replace(GLUE, " "), expected);
        }
        check(12.34, "kg", Certainty::Measured, "12.3 kg");
        check(12.34, "kg", Certainty::Estimated, "≈ 12.3 kg");
        check(1650.0, "kg/m³", Certainty::Assumed, "1650 kg/m³ (assumed)");
        check(142.2, "L", Certainty::Estimated, "≈ 142 L");
        check(21.6, "deg", Certainty::Estimated, "≈ 22°");
    }
}
