//! What to look at before relying on a measure.

use method::{Caution, Severity};

use super::{Measure, MeasureOptions};

/// A longest side outside this range makes the unit doubtful, m.
const USUAL_SIDE_M: std::ops::RangeInclusive<f64> = 0.010..=2.0;
/// An implied density further off the material's than this share is doubtful.
const DENSITY_SHARE: f64 = 0.15;
/// A piece thinner than this share of its length is thin.
const THIN_SHARE: f64 = 0.005;
/// A likeliest pose that tips under this angle wants support, degrees.
const TIPS_EASILY_DEG: f64 = 2.0;
/// A piece over this is lifted by two, kg.
const LIFT_KG: f64 = 20.0;

/// What the mended scan says that no figure does.
#[derive(Debug, Clone, Copy)]
pub(super) struct ScanFacts {
    pub(super) n_open_holes: usize,
    pub(super) n_bodies: usize,
}

/// All cautions of a measure, in a fixed order.
pub(super) fn cautions(
    measure: &Measure,
    options: &MeasureOptions,
    scan: ScanFacts,
) -> Vec<Caution> {
    [
        wrong_unit(measure),
        not_closed(measure, scan),
        density_differs(measure, options),
        several_bodies(scan),
        thin(measure),
        tips_easily(measure),
        heavy(measure),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn wrong_unit(measure: &Measure) -> Option<Caution> {
    let long_m = measure.least_box.size_m.x;
    (!USUAL_SIDE_M.contains(&long_m)).then(|| {
        Caution::new(
            "wrong_unit",
            Severity::Caution,
            format!(
                "wrong unit? The longest side comes to {:.4} mm; pieces lie between 10 and 2000 mm",
                long_m * 1e3
            ),
        )
    })
}

fn not_closed(measure: &Measure, scan: ScanFacts) -> Option<Caution> {
    (!measure.is_closed).then(|| {
        Caution::new(
            "not_closed",
            Severity::Caution,
            format!(
                "the mesh is not closed ({} open rims): the volume is a best guess, {:.3} ± {:.3} L, \
                 and mass, centre and poses rest on it",
                scan.n_open_holes,
                measure.moments.volume_m3 * 1e3,
                measure.volume_error_m3 * 1e3
            ),
        )
    })
}

fn density_differs(measure: &Measure, options: &MeasureOptions) -> Option<Caution> {
    let (material, _) = options.density_kg_m3.zip(options.mass_kg)?;
    let implied = measure.density_kg_m3?;
    ((implied / material - 1.0).abs() > DENSITY_SHARE).then(|| {
        Caution::new(
            "density_differs",
            Severity::Caution,
            format!(
                "mass over volume gives {implied:.0} kg/m³, the material has {material:.0} kg/m³: \
                 check the scale, the unit of the scan and for hollows that no scan sees"
            ),
        )
    })
}

fn several_bodies(scan: ScanFacts) -> Option<Caution> {
    (scan.n_bodies > 1).then(|| {
        Caution::new(
            "several_surfaces",
            Severity::Note,
            format!(
                "the scan holds {} surfaces that are not joined; they were measured as one rigid piece",
                scan.n_bodies
            ),
        )
    })
}

fn thin(measure: &Measure) -> Option<Caution> {
    let size_m = measure.least_box.size_m;
    (size_m.z < THIN_SHARE * size_m.x).then(|| {
        Caution::new(
            "thin",
            Severity::Caution,
            format!(
                "the piece is only {:.3} mm thick at {:.1} mm length: small faults of the scan weigh heavily",
                size_m.z * 1e3,
                size_m.x * 1e3
            ),
        )
    })
}

fn tips_easily(measure: &Measure) -> Option<Caution> {
    let pose = measure.resting.poses.first()?;
    let tip_deg = pose.tip_angle_rad.to_degrees();
    (tip_deg < TIPS_EASILY_DEG).then(|| {
        Caution::new(
            "tips_easily",
            Severity::Note,
            format!(
                "even in its likeliest pose a tilt of {tip_deg:.2}° tips it over: bed or wedge it"
            ),
        )
    })
}

fn heavy(measure: &Measure) -> Option<Caution> {
    let mass_kg = measure.mass_kg?;
    (mass_kg > LIFT_KG).then(|| {
        Caution::new(
            "heavy",
            Severity::Danger,
            format!(
                "{mass_kg:.1} kg: lift with two people or a trolley, and never over glass without \
                 support; follow the local rules for lifting"
            ),
        )
    })
}
