//! The documents as printed.
//!
//! Needs `pdftoppm` and `pdftotext` (Debian package poppler-utils).

#![expect(
    clippy::unwrap_used,
    reason = "a test stops at the first thing that fails"
)]

mod build_sheet;
mod fixture;
mod from_layout;
mod raster;
mod setting_out;
