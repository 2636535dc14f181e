//! Why a ground is refused.

/// A ground that can't be computed; each names the place of the fault.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GroundError {
    /// The cell has no size, or makes too many nodes.
    #[error("{reason}")]
    Cell {
        /// The cell asked for, m.
        cell_m: f64,
        /// What is wrong, in words.
        reason: String,
    },
    /// The inside of the tank has no area.
    #[error("the inside of the tank is {:.1} × {:.1} mm", length_m * 1e3, width_m * 1e3)]
    Inside {
        /// Inside length, m.
        length_m: f64,
        /// Inside width, m.
        width_m: f64,
    },
    /// The count of heights is not that of the grid.
    #[error("{n_heights} heights for a grid of {nx} × {ny} nodes")]
    Grid {
        /// Nodes along x.
        nx: usize,
        /// Nodes along y.
        ny: usize,
        /// Heights given.
        n_heights: usize,
    },
    /// A height is not a finite number.
    #[error("the height of node {i} in row {j} is not finite")]
    Height {
        /// Node along x.
        i: usize,
        /// Row, from the front.
        j: usize,
    },
    /// The water depth is negative or not finite.
    #[error("the water is {:.1} mm deep", water_depth_m * 1e3)]
    Water {
        /// The depth asked for, m.
        water_depth_m: f64,
    },
    /// A material's figure is out of its physical range.
    #[error("material {material}: {reason}")]
    Material {
        /// Which material, from 0.
        material: usize,
        /// Which of its figures.
        figure: MaterialFigure,
        /// What is wrong, in words.
        reason: String,
    },
    /// A bed names a material that is not there.
    #[error("bed {bed} names material {material}, but there are {n_materials}")]
    NoMaterial {
        /// Which bed, from 0.
        bed: usize,
        /// The material named.
        material: usize,
        /// How many materials there are.
        n_materials: usize,
    },
    /// A bed's region is no simple polygon inside the tank.
    #[error("bed {bed}: {reason}")]
    Region {
        /// Which bed, from 0.
        bed: usize,
        /// Which corner, from 0, where one is to blame.
        corner: Option<usize>,
        /// What is wrong, in words.
        reason: String,
    },
    /// A bed's point is of no use.
    #[error("bed {bed}: {reason}")]
    Point {
        /// Which bed, from 0.
        bed: usize,
        /// Which point, from 0; none when there are no points.
        point: Option<usize>,
        /// What is wrong, in words.
        reason: String,
    },
    /// There are more beds, points or corners than anyone lays.
    #[error("{count} {what}, over {most}")]
    TooMany {
        /// What there are too many of.
        what: &'static str,
        /// How many there are.
        count: usize,
        /// How many are allowed.
        most: usize,
        /// Which bed, where one is to blame.
        bed: Option<usize>,
    },
    /// A piece is no closed body at a finite pose.
    #[error("piece {piece}: {reason}")]
    Piece {
        /// Which piece, from 0.
        piece: usize,
        /// What is wrong, in words.
        reason: String,
    },
}

/// A figure of a material, to point at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MaterialFigure {
    /// The name.
    Name,
    /// Mass of loose material by its volume as laid.
    BulkDensity,
    /// Mass of the grains by their own volume.
    GrainDensity,
    /// Size of a grain.
    Grain,
    /// Steepest slope that stays.
    AngleOfRepose,
    /// Volume of a bag.
    Bag,
}

impl GroundError {
    /// What the user can do about the error.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Cell { .. } => "2 to 10 mm is usual for a cell; a large tank needs a larger one",
            Self::Inside { .. } => "give the inside length and width of the tank, above zero",
            Self::Grid { .. } => "give ny rows of nx heights, at least two of each",
            Self::Height { .. } => "give a number of millimetres above the base",
            Self::Water { .. } => "give the depth above the base's upper face, zero or more",
            Self::Material { .. } => "see the bag or the supplier's sheet; check the unit",
            Self::NoMaterial { .. } => "name one of the materials in the list",
            Self::Region { .. } => {
                "give at least three corners in order round the bed, inside the glass, whose sides don't cross"
            }
            Self::Point { .. } => {
                "give at least one point inside the glass, and one value for each place"
            }
            Self::TooMany { .. } => "leave out what makes no difference to the eye",
            Self::Piece { .. } => "measure the scan first; it must close and lie at a finite pose",
        }
    }
}
