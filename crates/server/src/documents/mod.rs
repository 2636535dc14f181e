//! Documents on paper: the setting-out sheet and the build sheet.
//!
//! Everything here is a pure function from a description to the bytes of a
//! PDF. Nothing opens a file, reads a clock or knows where a description came
//! from; the date on a sheet is passed in. The same description gives the same
//! bytes.
//!
//! - [`drawing`]: a technical-drawing layer in true millimetres that knows
//!   nothing of tanks or pieces,
//! - [`pdf`]: its sheets as a PDF,
//! - [`setting_out`]: the plan to build on, full size, and the front elevation,
//! - [`build_sheet`]: lists, pictures and the order of work.

pub mod build_sheet;
pub mod contours;
pub mod drawing;
mod error;
mod nouns;
pub mod paper;
pub mod pdf;
pub mod setting_out;
pub mod tags;
pub mod units;

pub use error::DocumentError;
pub use nouns::{Particulars, Placing, Touch};
