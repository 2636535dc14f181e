//! Tags to tie to pieces: the tag, what the piece is, and a QR code that opens its page.

use fast_qr::{ECL, QRBuilder};
use glam::DVec2;

use super::{
    DocumentError,
    drawing::{Area, Drawing, Ink, Lettering, Pen, Sheet, Text, Weight},
    paper::Paper,
    pdf::{self, About},
};

const WIDTH_MM: f64 = 62.0;
const HEIGHT_MM: f64 = 34.0;
const EDGE_MM: f64 = 3.0;
/// Side of the code; its four quiet modules are in the margin round it.
const CODE_MM: f64 = 24.0;
/// Paper that no printer reaches.
const MARGIN_MM: f64 = 9.0;

/// What one tag says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TagLabel {
    /// The tag, such as `S-0148`.
    pub tag: String,
    /// What it is made of.
    pub material: String,
    /// A line of measures.
    pub measures: String,
    /// Where it lies.
    pub place: String,
    /// What the code opens.
    pub address: String,
}

/// One tag on a page of its own size.
///
/// # Errors
/// When the address is too long for a code, or as [`pdf::write`].
pub fn single(label: &TagLabel) -> Result<Vec<u8>, DocumentError> {
    let mut drawing = Drawing::new();
    draw(&mut drawing, DVec2::ZERO, label)?;
    pdf::write(
        &[Sheet {
            width_mm: WIDTH_MM,
            height_mm: HEIGHT_MM,
            name: label.tag.clone(),
            drawing,
        }],
        &about(),
    )
}

/// Many tags on sheets, to be cut apart along the lines.
///
/// # Errors
/// As [`single`].
pub fn sheets(labels: &[TagLabel], paper: Paper) -> Result<Vec<u8>, DocumentError> {
    let (width_mm, height_mm) = paper.sides_mm().unwrap_or((210.0, 297.0));
    let across = ((width_mm - 2.0 * MARGIN_MM) / WIDTH_MM) as usize;
    let down = ((height_mm - 2.0 * MARGIN_MM) / HEIGHT_MM) as usize;
    let left = (width_mm - across as f64 * WIDTH_MM) / 2.0;
    let top = (height_mm - down as f64 * HEIGHT_MM) / 2.0;
    let mut pages = Vec::new();
    for (n, page) in labels.chunks(across * down).enumerate() {
        let mut drawing = Drawing::new();
        for (i, label) in page.iter().enumerate() {
            let at = DVec2::new(
                left + (i % across) as f64 * WIDTH_MM,
                top + (i / across) as f64 * HEIGHT_MM,
            );
            let cut = Pen::solid(Weight::Thin, Ink::FAINT);
            drawing.rectangle(Some(cut), None, Area::at(at.x, at.y, WIDTH_MM, HEIGHT_MM));
            draw(&mut drawing, at, label)?;
        }
        pages.push(Sheet {
            width_mm,
            height_mm,
            name: format!("Tags {}", n + 1),
            drawing,
        });
    }
    pdf::write(&pages, &about())
}

fn about() -> About {
    About {
        title: "Tags".to_owned(),
        subject: "Tags for pieces".to_owned(),
    }
}

fn draw(drawing: &mut Drawing, at: DVec2, label: &TagLabel) -> Result<(), DocumentError> {
    let code_at = at + DVec2::new(WIDTH_MM - EDGE_MM - CODE_MM, (HEIGHT_MM - CODE_MM) / 2.0);
    code(drawing, code_at, &label.address)?;
    let room = WIDTH_MM - 3.0 * EDGE_MM - CODE_MM;
    let (head, line) = (Lettering::bold(5.0), Lettering::plain(2.1));
    let mut y = at.y + EDGE_MM + 7.0;
    let x = at.x + EDGE_MM;
    drawing.text(Text::new(
        DVec2::new(x, y),
        head.fitted(&label.tag, room),
        head,
    ));
    y += 6.0;
    for words in [&label.material, &label.measures, &label.place] {
        for words in line.wrapped(words, room).into_iter().take(2) {
            drawing.text(Text::new(DVec2::new(x, y), words, line));
            y += line.leading_mm();
        }
    }
    Ok(())
}

/// A QR code (ISO/IEC 18004) with medium error correction: a wet label still reads.
fn code(drawing: &mut Drawing, at: DVec2, words: &str) -> Result<(), DocumentError> {
    let code = QRBuilder::new(words)
        .ecl(ECL::M)
        .build()
        .map_err(|error| DocumentError::Writer(format!("a code for {words:?}: {error}")))?;
    let n = code.size;
    let module_mm = CODE_MM / n as f64;
    let mut rings = Vec::new();
    for row in 0..n {
        // Runs of dark modules as one bar each: no hairlines between them on paper.
        let mut from = None;
        for i in 0..=n {
            let dark = i < n && code[row][i].value();
            match (dark, from) {
                (true, None) => from = Some(i),
                (false, Some(start)) => {
                    rings.push(
                        Area::at(
                            at.x + start as f64 * module_mm,
                            at.y + row as f64 * module_mm,
                            (i - start) as f64 * module_mm,
                            module_mm,
                        )
                        .ring(),
                    );
                    from = None;
                }
                _ => {}
            }
        }
    }
    drawing.rings(None, Some(Ink(0, 0, 0)), &rings);
    Ok(())
}
