//! How lengths and masses are written on a document.

use serde::{Deserialize, Serialize};

/// Units on a document.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// Millimetres, kilograms, litres.
    #[default]
    Metric,
    /// Inches to the nearest 1/16, pounds, US gallons.
    Us,
    /// Metric, with US in brackets.
    Both,
}

/// Millimetres in an inch, exactly (international yard and pound agreement, 1959).
pub const MM_PER_INCH: f64 = 25.4;
/// Kilograms in an avoirdupois pound, exactly (the same agreement).
pub const KG_PER_POUND: f64 = 0.453_592_37;
/// Litres in a US liquid gallon of 231 cubic inches, exactly.
pub const LITRES_PER_US_GALLON: f64 = 3.785_411_784;

/// A space at which no line is broken, between a number and its unit.
pub const GLUE: char = '\u{a0}';

impl Units {
    /// A length, with its unit: `182 mm`, `7 3/16 in`, `182 mm (7 3/16 in)`.
    pub fn length(self, mm: f64) -> String {
        match self {
            Self::Metric => format!("{}{GLUE}mm", whole(mm)),
            Self::Us => format!("{}{GLUE}in", sixteenths(mm)),
            Self::Both => format!("{}{GLUE}mm ({}{GLUE}in)", whole(mm), sixteenths(mm)),
        }
    }

    /// A length as on a dimension line, where the title block names the unit:
    /// `182`, `7 3/16″`, `182 (7 3/16″)`.
    pub fn dimension(self, mm: f64) -> String {
        match self {
            Self::Metric => whole(mm),
            Self::Us => format!("{}″", sixteenths(mm)),
            Self::Both => format!("{} ({}″)", whole(mm), sixteenths(mm)),
        }
    }

    /// What a title block says of the unit of its dimensions.
    pub fn dimension_note(self) -> &'static str {
        match self {
            Self::Metric => "Dimensions in millimetres",
            Self::Us => "Dimensions in inches, to the nearest 1/16",
            Self::Both => "Dimensions in millimetres (inches to the nearest 1/16)",
        }
    }

    /// A mass: `4.20 kg`, `9.3 lb`, `4.20 kg (9.3 lb)`.
    pub fn mass(self, kg: f64) -> String {
        let metric = format!("{}{GLUE}kg", significant(kg));
        let us = format!("{}{GLUE}lb", significant(kg / KG_PER_POUND));
        self.choose(metric, us)
    }

    /// A volume: `142 L`, `37.5 US gal`.
    pub fn volume(self, litres: f64) -> String {
        let metric = format!("{}{GLUE}L", significant(litres));
        let us = format!(
            "{}{GLUE}US{GLUE}gal",
            significant(litres / LITRES_PER_US_GALLON)
        );
        self.choose(metric, us)
    }

    fn choose(self, metric: String, us: String) -> String {
        match self {
            Self::Metric => metric,
            Self::Us => us,
            Self::Both => format!("{metric} ({us})"),
        }
    }
}

/// A length to the whole millimetre, without a negative zero.
pub fn whole(mm: f64) -> String {
    let rounded = mm.round();
    if rounded == 0.0 {
        "0".into()
    } else {
        minus(format!("{rounded:.0}"))
    }
}

/// Three significant figures for small numbers, whole ones from 100 up.
pub fn significant(value: f64) -> String {
    let size = value.abs();
    let text = if size >= 99.95 {
        format!("{value:.0}")
    } else if size >= 9.995 {
        format!("{value:.1}")
    } else {
        format!("{value:.2}")
    };
    let zero = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
    minus(if zero {
        text.trim_start_matches('-').into()
    } else {
        text
    })
}

/// A length in inches to the nearest sixteenth, in lowest terms.
pub fn sixteenths(mm: f64) -> String {
    let total = (mm.abs() / MM_PER_INCH * 16.0).round() as u64;
    let (inches, mut part) = (total / 16, total % 16);
    let sign = if mm < 0.0 && total > 0 { "−" } else { "" };
    if part == 0 {
        return format!("{sign}{inches}");
    }
    let mut of = 16;
    while part % 2 == 0 {
        part /= 2;
        of /= 2;
    }
    if inches == 0 {
        format!("{sign}{part}/{of}")
    } else {
        format!("{sign}{inches}{GLUE}{part}/{of}")
    }
}

fn minus(text: String) -> String {
    text.replace('-', "−")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_in_inches_are_in_lowest_terms() {
        fn check(mm: f64, expected: &str) {
            assert_eq!(sixteenths(mm).replace(GLUE, " "), expected, "{mm} mm");
        }
        check(0.0, "0");
        check(25.4, "1");
        check(12.7, "1/2");
        check(182.0, "7 3/16");
        check(914.4, "36");
        check(-6.35, "−1/4");
        check(25.4 * (2.0 - 1.0 / 64.0), "2");
    }

    #[test]
    fn quantities_are_written_in_both_units() {
        let plain = |words: String| words.replace(GLUE, " ");
        assert_eq!(plain(Units::Both.length(182.0)), "182 mm (7 3/16 in)");
        assert_eq!(plain(Units::Us.dimension(914.4)), "36″");
        assert_eq!(plain(Units::Metric.mass(4.2)), "4.20 kg");
        assert_eq!(
            plain(Units::Us.volume(LITRES_PER_US_GALLON * 40.0)),
            "40.0 US gal"
        );
        assert_eq!(plain(Units::Metric.length(-0.2)), "0 mm");
    }
}
