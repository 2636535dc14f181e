//! The build sheet: what the builder has at hand, and in which order it goes in.
//!
//! Pictures, the pieces and the ground in the order of work, the reckoning,
//! cautions, and the steps with a box to tick. A layout that doesn't stand is
//! said at the very top.

mod amount;
mod description;
mod flow;
mod from_layout;
mod lists;
mod steps;
mod warning;

pub use amount::Amount;
pub use description::{BuildSheet, GroundLine, Group, Line, Note, NotePicture, PieceLine, Step};
pub use from_layout::{Pictures, from_layout};

use super::DocumentError;
use super::drawing::Sheet;
use super::pdf;

/// The build sheet as the bytes of a PDF.
///
/// # Errors
/// Numbers that are not finite, a picture whose buffer doesn't fit its size,
/// or more than a document can hold.
pub fn render(description: &BuildSheet) -> Result<Vec<u8>, DocumentError> {
    let about = pdf::About {
        title: description.title.clone(),
        subject: "Build sheet".into(),
    };
    pdf::write(&sheets(description)?, &about)
}

/// The sheets, before they become a PDF.
///
/// # Errors
/// As [`render`].
pub fn sheets(description: &BuildSheet) -> Result<Vec<Sheet>, DocumentError> {
    description.check()?;
    let mut flow = flow::Flow::new(description);
    flow.title(description);
    warning::draw(&mut flow, &description.falls);
    lists::pictures(&mut flow, &description.pictures);
    lists::pieces(&mut flow, description);
    lists::ground(&mut flow, description);
    steps::draw(&mut flow, description);
    lists::groups(&mut flow, description);
    lists::cautions(&mut flow, &description.cautions);
    Ok(flow.finish())
}
