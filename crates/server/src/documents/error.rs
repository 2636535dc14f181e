//! Why a document can't be made.

/// A document that can't be made from its description.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DocumentError {
    /// A number in the description is not finite or out of its range.
    #[error("{what} is {value}: it must lie between {least} and {most}")]
    OutOfRange {
        /// Which number, in words.
        what: &'static str,
        /// Its value.
        value: f64,
        /// The least that can be drawn.
        least: f64,
        /// The most that can be drawn.
        most: f64,
    },
    /// The description has more parts than a sheet can hold.
    #[error("{what}: {count} are too many for one document, at most {most} can be drawn")]
    TooMany {
        /// What there are too many of.
        what: &'static str,
        /// How many there are.
        count: usize,
        /// How many can be drawn.
        most: usize,
    },
    /// A picture's buffer doesn't fit its size.
    #[error(
        "the picture “{name}” has {bytes} bytes, {width} × {height} pixels of RGB need {needed}"
    )]
    PictureSize {
        /// Which picture.
        name: String,
        /// Bytes given.
        bytes: usize,
        /// Width in pixels.
        width: u32,
        /// Height in pixels.
        height: u32,
        /// Bytes needed.
        needed: usize,
    },
    /// The PDF writer refused.
    #[error("the PDF could not be written: {0}")]
    Writer(String),
}

impl DocumentError {
    /// What the reader of the error can do about it.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::OutOfRange { .. } => "check the tank's measures and the pieces' places",
            Self::TooMany { .. } => "choose larger paper, or split the layout",
            Self::PictureSize { .. } => "pass three bytes for each pixel, row by row from the top",
            Self::Writer(_) => {
                "this is a fault of the program: please report it with the layout file"
            }
        }
    }
}

/// Refuses a number that is not finite or lies outside `least..=most`.
///
/// # Errors
/// [`DocumentError::OutOfRange`], with the number and its bounds.
pub(crate) fn within(
    what: &'static str,
    value: f64,
    least: f64,
    most: f64,
) -> Result<f64, DocumentError> {
    if value.is_finite() && (least..=most).contains(&value) {
        Ok(value)
    } else {
        Err(DocumentError::OutOfRange {
            what,
            value,
            least,
            most,
        })
    }
}
