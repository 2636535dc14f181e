//! The whole plan, the control square and the notes on one large sheet.

use super::description::SettingOut;
use super::{CONTROL_MM, legend, plan, title_block};
use crate::documents::drawing::{Area, Drawing, Sheet, title_block as block};
use glam::DVec2;

const MARGIN_MM: f64 = 15.0;
const LEGEND_MM: f64 = 85.0;
const TITLE_MM: f64 = 180.0;
const GAP_MM: f64 = 10.0;

pub(super) fn sheet(description: &SettingOut, n: usize, of: usize) -> Sheet {
    let plan_area = plan::area(&description.glass);
    let strip_mm = CONTROL_MM + GAP_MM + LEGEND_MM + GAP_MM + TITLE_MM;
    let inner_mm = plan_area.size().x.max(strip_mm);
    let width_mm = inner_mm + 2.0 * MARGIN_MM;
    let height_mm = plan_area.size().y + CONTROL_MM + 2.0 * MARGIN_MM + GAP_MM;
    let mut drawing = Drawing::new();
    let opening = Area::at(
        (width_mm - plan_area.size().x) / 2.0,
        MARGIN_MM,
        plan_area.size().x,
        plan_area.size().y,
    );
    drawing.window(
        opening,
        opening.min - plan_area.min,
        &plan::draw(description, &[]),
    );
    let foot = height_mm - MARGIN_MM;
    let square = DVec2::new(MARGIN_MM, foot - CONTROL_MM);
    legend::control_square(&mut drawing, square);
    let beside = square + DVec2::new(CONTROL_MM + GAP_MM, 4.0);
    legend::legend(&mut drawing, beside, LEGEND_MM, description.units, false);
    let title = title_block(
        description,
        "Setting-out sheet: plan, full size",
        "1:1",
        n,
        of,
    );
    let at = DVec2::new(
        width_mm - MARGIN_MM - TITLE_MM,
        foot - block::height_mm(&title, TITLE_MM),
    );
    drawing.title_block(at, TITLE_MM, &title);
    Sheet {
        width_mm,
        height_mm,
        name: "Plan".into(),
        drawing,
    }
}
