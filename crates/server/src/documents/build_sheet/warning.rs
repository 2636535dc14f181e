//! The box at the top that says what falls.

use super::flow::Flow;
use crate::documents::drawing::{Area, Ink, Lettering, Pen, Text, Weight};
use glam::DVec2;

const PAD_MM: f64 = 4.0;
const HEAD: Lettering = Lettering::bold(4.5).inked(Ink::WARM);
const WORDS: Lettering = Lettering::plain(2.3);

pub(super) fn draw(flow: &mut Flow, falls: &[String]) {
    if falls.is_empty() {
        return;
    }
    let inner = flow.width_mm() - 2.0 * PAD_MM;
    let lines: Vec<String> = falls
        .iter()
        .flat_map(|words| WORDS.wrapped(words, inner))
        .collect();
    // A box fits one sheet; what doesn't fit stands among the cautions again.
    let room = flow.room_mm() - 2.0 * PAD_MM - 18.0;
    let most = (room / WORDS.leading_mm()).max(1.0) as usize;
    let shown = &lines[..lines.len().min(most)];
    let height = 2.0 * PAD_MM + 13.5 + shown.len() as f64 * WORDS.leading_mm();
    let corner = flow.corner();
    let area = Area::at(corner.x, corner.y, flow.width_mm(), height);
    flow.drawing.rectangle(
        Some(Pen::solid(Weight::Thick, Ink::WARM)),
        Some(Ink::WARM_PALE),
        area,
    );
    let mut at = corner + DVec2::new(PAD_MM, PAD_MM + 5.0);
    flow.drawing
        .text(Text::new(at, "This layout does not stand", HEAD));
    at.y += 6.4;
    for line in shown {
        flow.drawing.text(Text::new(at, line, WORDS));
        at.y += WORDS.leading_mm();
    }
    at.y += 1.2;
    let advice = "Don’t build it as it is: change the layout file and plan again.";
    flow.drawing
        .text(Text::new(at, advice, Lettering::bold(2.3).inked(Ink::WARM)));
    flow.y += height + 5.0;
}
