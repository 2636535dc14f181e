//! What is to be filled: a box, or an outline over the tank's front with a depth behind it.

use glam::DVec2;

/// Columns of a drawn outline.
pub(super) const N_GAP_COLUMNS: usize = 96;
const MOST_CORNERS: usize = 2000;
/// Gaps are between these sizes, m.
const LEAST_M: f64 = 0.005;
const GREATEST_M: f64 = 5.0;

/// A gap to fill.
#[derive(Debug, Clone, PartialEq)]
pub enum Gap {
    /// A box.
    Box {
        /// Along the tank's front, m.
        width_m: f64,
        /// From front to back, m.
        depth_m: f64,
        /// Upwards, m.
        height_m: f64,
    },
    /// An outline over the tank's front.
    Outline {
        /// Corners in order, x and z in the tank frame, m.
        corners_m: Vec<DVec2>,
        /// Room from front to back, m.
        depth_m: f64,
    },
}

/// Why a gap is no gap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum GapError {
    /// A size is too small, too large or not finite.
    #[error("a gap is 5 mm to 5 m wide, deep and high")]
    Size,
    /// Fewer than three corners, too many, or no area.
    #[error("an outline has 3 to 2000 corners and some area")]
    Outline,
}

impl Gap {
    /// Refuses what nothing could fill.
    ///
    /// # Errors
    /// When a size or the outline is out of range.
    pub fn check(&self) -> Result<(), GapError> {
        let good = |sizes: &[f64]| {
            sizes
                .iter()
                .all(|s| (LEAST_M..=GREATEST_M).contains(s))
                .then_some(())
                .ok_or(GapError::Size)
        };
        match self {
            Self::Box {
                width_m,
                depth_m,
                height_m,
            } => good(&[*width_m, *depth_m, *height_m]),
            Self::Outline { corners_m, depth_m } => {
                good(&[*depth_m])?;
                if !(3..=MOST_CORNERS).contains(&corners_m.len()) {
                    return Err(GapError::Outline);
                }
                let (low, high) = extent(corners_m);
                if !(low.is_finite() && high.is_finite()) {
                    return Err(GapError::Size);
                }
                good(&(high - low).to_array())?;
                let columns = Hollow::of(corners_m);
                (f64::from(columns.area_m2) >= LEAST_M * LEAST_M)
                    .then_some(())
                    .ok_or(GapError::Outline)
            }
        }
    }
}

fn extent(corners_m: &[DVec2]) -> (DVec2, DVec2) {
    corners_m
        .iter()
        .fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(low, high), c| {
            (low.min(*c), high.max(*c))
        })
}

/// A drawn outline as columns.
#[derive(Debug, Clone)]
pub(super) struct Hollow {
    /// Its left end, m.
    pub x_m: f32,
    /// Its width, m.
    pub width_m: f32,
    /// Its greatest clear height, m.
    pub height_m: f32,
    /// Its area, m².
    pub area_m2: f32,
    /// Floor of each column, m.
    pub floor_m: [f32; N_GAP_COLUMNS],
    /// Ceiling of each column, m.
    pub ceiling_m: [f32; N_GAP_COLUMNS],
}

impl Hollow {
    /// The columns of an outline: each from its lowest crossing to its highest, at its middle.
    pub fn of(corners_m: &[DVec2]) -> Self {
        let (low, high) = extent(corners_m);
        let step = (high.x - low.x) / N_GAP_COLUMNS as f64;
        let (mut floor_m, mut ceiling_m) = ([0.0; N_GAP_COLUMNS], [0.0; N_GAP_COLUMNS]);
        let (mut area, mut height) = (0.0, 0.0_f64);
        for c in 0..N_GAP_COLUMNS {
            let x = low.x + (c as f64 + 0.5) * step;
            let (mut floor, mut ceiling) = (f64::INFINITY, f64::NEG_INFINITY);
            for (i, a) in corners_m.iter().enumerate() {
                let b = corners_m[(i + 1) % corners_m.len()];
                if (a.x <= x) != (b.x <= x) {
                    let z = a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x);
                    (floor, ceiling) = (floor.min(z), ceiling.max(z));
                }
            }
            if ceiling < floor {
                (floor, ceiling) = (low.y, low.y);
            }
            area += (ceiling - floor) * step;
            height = height.max(ceiling - floor);
            (floor_m[c], ceiling_m[c]) = (floor as f32, ceiling as f32);
        }
        Self {
            x_m: low.x as f32,
            width_m: (high.x - low.x) as f32,
            height_m: height as f32,
            area_m2: area as f32,
            floor_m,
            ceiling_m,
        }
    }

    /// Highest floor and lowest ceiling between two places, m.
    pub fn between(&self, from_m: f32, to_m: f32) -> (f32, f32) {
        let column = |x: f32| {
            let share = (x - self.x_m) / self.width_m * N_GAP_COLUMNS as f32;
            (share.max(0.0) as usize).min(N_GAP_COLUMNS - 1)
        };
        let (first, last) = (column(from_m), column(to_m));
        let floor = self.floor_m[first..=last]
            .iter()
            .copied()
            .fold(f32::MIN, f32::max);
        let ceiling = self.ceiling_m[first..=last]
            .iter()
            .copied()
            .fold(f32::MAX, f32::min);
        (floor, ceiling)
    }
}
