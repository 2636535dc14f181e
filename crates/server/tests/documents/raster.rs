//! A PDF as a printer would see it: pages at 300 dpi, and the words on them.

use glam::DVec2;
use std::path::PathBuf;
use std::process::Command;

/// Pixels in a millimetre at 300 dpi.
pub const PX_PER_MM: f64 = 300.0 / 25.4;

/// A PDF in a file of the test's own.
pub struct Document {
    path: PathBuf,
}

/// One page in grey, 0 black to 255 white.
pub struct Raster {
    width: usize,
    height: usize,
    grey: Vec<u8>,
}

impl Document {
    /// Writes the bytes where the page programs can read them.
    pub fn new(name: &str, bytes: &[u8]) -> Self {
        let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}.pdf"));
        std::fs::write(&path, bytes).unwrap();
        Self { path }
    }

    /// A page, from 1.
    pub fn raster(&self, page: usize) -> Raster {
        let out = Command::new("pdftoppm")
            .args([
                "-r",
                "300",
                "-gray",
                "-f",
                &page.to_string(),
                "-l",
                &page.to_string(),
            ])
            .arg(&self.path)
            .output()
            .expect("pdftoppm runs (Debian package poppler-utils)");
        assert!(
            out.status.success(),
            "{}",
            String::from_utf8_lossy(&out.stderr)
        );
        Raster::from_pgm(&out.stdout)
    }

    /// All words, page by page.
    pub fn text(&self) -> String {
        let out = Command::new("pdftotext")
            .arg("-layout")
            .arg(&self.path)
            .arg("-")
            .output()
            .expect("pdftotext runs (Debian package poppler-utils)");
        assert!(
            out.status.success(),
            "{}",
            String::from_utf8_lossy(&out.stderr)
        );
        String::from_utf8(out.stdout).unwrap()
    }
}

impl Raster {
    fn from_pgm(bytes: &[u8]) -> Self {
        let mut fields = vec![];
        let mut at = 0;
        while fields.len() < 4 {
            let end = at
                + bytes[at..]
                    .iter()
                    .position(u8::is_ascii_whitespace)
                    .unwrap();
            fields.push(std::str::from_utf8(&bytes[at..end]).unwrap());
            at = end + 1;
        }
        assert_eq!((fields[0], fields[3]), ("P5", "255"));
        let (width, height) = (fields[1].parse().unwrap(), fields[2].parse().unwrap());
        Self {
            width,
            height,
            grey: bytes[at..].to_vec(),
        }
    }

    /// Width of the page.
    pub fn width_mm(&self) -> f64 {
        self.width as f64 / PX_PER_MM
    }

    /// Height of the page.
    pub fn height_mm(&self) -> f64 {
        self.height as f64 / PX_PER_MM
    }

    fn darkness(&self, x: usize, y: usize) -> f64 {
        f64::from(255 - self.grey[y * self.width + x])
    }

    /// Whether there is ink at a place of the paper.
    pub fn is_dark(&self, place_mm: DVec2) -> bool {
        let px = (place_mm * PX_PER_MM).floor();
        self.darkness(px.x as usize, px.y as usize) > 40.0
    }

    /// Middle of the darkest upright line within 2 mm of `x_mm` at height `y_mm`.
    pub fn upright_line_mm(&self, x_mm: f64, y_mm: f64) -> f64 {
        let y = (y_mm * PX_PER_MM) as usize;
        centre(x_mm, |x| (y - 2..=y + 2).map(|y| self.darkness(x, y)).sum())
    }

    /// Middle of the darkest level line within 2 mm of `y_mm` at `x_mm`.
    pub fn level_line_mm(&self, x_mm: f64, y_mm: f64) -> f64 {
        let x = (x_mm * PX_PER_MM) as usize;
        centre(y_mm, |y| (x - 2..=x + 2).map(|x| self.darkness(x, y)).sum())
    }
}

/// The middle, weighted by darkness, of what lies within 0.5 mm of the darkest.
fn centre(near_mm: f64, darkness: impl Fn(usize) -> f64) -> f64 {
    let from = ((near_mm - 2.0) * PX_PER_MM).round() as usize;
    let to = ((near_mm + 2.0) * PX_PER_MM).round() as usize;
    let darkest = (from..=to)
        .max_by(|&a, &b| darkness(a).total_cmp(&darkness(b)))
        .unwrap();
    assert!(darkness(darkest) > 200.0, "no line near {near_mm} mm");
    let reach = (0.5 * PX_PER_MM) as usize;
    let (mut sum, mut weight) = (0.0, 0.0);
    for i in darkest - reach..=darkest + reach {
        sum += (i as f64 + 0.5) * darkness(i);
        weight += darkness(i);
    }
    sum / weight / PX_PER_MM
}
