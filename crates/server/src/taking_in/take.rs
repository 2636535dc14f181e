//! From the bytes of a scan to a measured piece: what a file and an upload have in common.

use std::sync::Arc;

use glam::{DQuat, DVec3};
use method::MethodError;
use solid::{
    Mesh, SolidError,
    grow::{Form, Recipe, grow},
    measure::{Measure, MeasureOptions, measure},
    read::{ReadOptions, read},
    write,
};

/// No piece is longer; a scan that is was read in the wrong unit.
const LONGEST_M: f64 = 2.0;

/// A scan that was read, mended and measured.
#[derive(Debug, Clone)]
pub struct Taken {
    /// Every measure.
    pub measure: Arc<Measure>,
    /// The scan as it came, in metres, z up.
    pub look: Arc<Mesh>,
    /// What the reader has to say, in words.
    pub notes: Vec<String>,
}

/// Which of a piece's values is at fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum At {
    /// The scan itself.
    Scan,
    /// The unit of its numbers.
    Unit,
}

impl At {
    /// The key of the value.
    #[must_use]
    pub fn key(self) -> &'static str {
        match self {
            Self::Scan => "scan",
            Self::Unit => "unit",
        }
    }
}

/// A fault of a scan: which value, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Which value.
    pub at: At,
    /// Why; its path is left empty.
    pub error: MethodError,
}

/// Reads a scan from the bytes of a file called `name`, mends and measures it.
///
/// # Errors
/// When it can't be read, encloses nothing, or is longer than any piece.
pub fn take(
    bytes: &[u8],
    name: &str,
    options: &ReadOptions,
    known: &MeasureOptions,
) -> Result<Taken, Fault> {
    let scan = read(bytes, name, options).map_err(|error| fault(name, &error))?;
    measured(scan.mesh, name, known, scan.notes)
}

/// Measures a mesh that was read.
///
/// # Errors
/// As [`take`].
pub fn measured(
    look: Mesh,
    name: &str,
    known: &MeasureOptions,
    notes: Vec<String>,
) -> Result<Taken, Fault> {
    let measure = measure(&look, known).map_err(|error| fault(name, &error))?;
    let long_m = measure.least_box.size_m.x;
    if long_m > LONGEST_M {
        let message = format!(
            "{name}: the longest side comes out as {:.0} mm, over {:.0} mm: is the unit right?",
            long_m * 1e3,
            LONGEST_M * 1e3
        );
        let hint = "name the unit that the scan's numbers are in: mm, cm, m or in";
        return Err(Fault {
            at: At::Unit,
            error: MethodError::new("wrong_unit", "", message, hint),
        });
    }
    Ok(Taken {
        measure: Arc::new(measure),
        look: Arc::new(look),
        notes,
    })
}

fn fault(name: &str, error: &SolidError) -> Fault {
    let at = match error {
        SolidError::UnitMissing { .. } => At::Unit,
        _ => At::Scan,
    };
    Fault {
        at,
        error: MethodError::new("bad_scan", "", format!("{name}: {error}"), error.hint()),
    }
}

/// Grows an invented piece as the bytes of a scan like any other.
///
/// # Errors
/// When there is no such form, or no piece of it so long.
pub fn grown(form: &str, seed: u64, long_mm: f64) -> Result<Vec<u8>, SolidError> {
    let form: Form = form.parse()?;
    let mesh = grow(&Recipe::new(form, seed, long_mm / 1e3)?);
    Ok(as_glb(&mesh))
}

/// A mesh alone as glTF binary.
#[must_use]
pub fn as_glb(mesh: &Mesh) -> Vec<u8> {
    write::glb(&[write::Node {
        name: "piece",
        mesh,
        translation_m: DVec3::ZERO,
        rotation: DQuat::IDENTITY,
        look: write::MaterialLook::matt(),
    }])
}
