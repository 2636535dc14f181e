//! Which paper a document is printed on.

use serde::{Deserialize, Serialize};

/// Paper for documents.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// ISO 216 A4, 210 mm × 297 mm.
    #[default]
    A4,
    /// ISO 216 A3, 297 mm × 420 mm.
    A3,
    /// US Letter, 8 ½ in × 11 in.
    Letter,
    /// One sheet as large as the drawing needs, for a plotter.
    Sheet,
}

impl Paper {
    /// Short and long side in millimetres; `None` for paper cut to the drawing.
    ///
    /// # Source
    /// ISO 216 (A series); ANSI/ASME Y14.1 size A (Letter).
    pub fn sides_mm(self) -> Option<(f64, f64)> {
        match self {
            Self::A4 => Some((210.0, 297.0)),
            Self::A3 => Some((297.0, 420.0)),
            Self::Letter => Some((215.9, 279.4)),
            Self::Sheet => None,
        }
    }

    /// Its name in words.
    pub fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::A3 => "A3",
            Self::Letter => "Letter",
            Self::Sheet => "one sheet",
        }
    }
}
