//! What a piece looks like: its mean colour, fewer triangles, a picture.

use glam::{DQuat, DVec3};
use solid::{
    Mesh,
    bvh::Placement,
    picture::{Camera, Lens, Lighting, Picture, Scene, SceneItem, Surface, render},
};
use std::sync::Arc;
use workshop::PieceKind;

use crate::scene::{STONE, WOOD};

/// Pixels to a millimetre of a piece's picture.
const PIXELS_MM: f64 = 2.0;
/// The longest side of a piece's picture.
const MOST_PIXELS: f64 = 900.0;
/// Lines of sight through each pixel.
const SAMPLES: u32 = 2;
const SEED: u64 = 1;

/// The colour of pieces whose scans have none.
#[must_use]
pub fn plain_colour(kind: PieceKind) -> [u8; 3] {
    match kind {
        PieceKind::Stone => STONE,
        PieceKind::Wood => WOOD,
    }
}

/// The mean colour of a scan's surface in linear light, as `#rrggbb`.
#[must_use]
pub fn mean_colour(mesh: &Mesh, kind: PieceKind) -> String {
    let mean = mean(mesh).unwrap_or_else(|| plain_colour(kind));
    format!("#{:02x}{:02x}{:02x}", mean[0], mean[1], mean[2])
}

fn mean(mesh: &Mesh) -> Option<[u8; 3]> {
    if mesh.colours.len() != mesh.vertices_m.len() || mesh.colours.is_empty() {
        return None;
    }
    let (mut sum, mut area) = ([0.0; 3], 0.0);
    for t in &mesh.triangles {
        let [a, b, c] = t.map(|i| mesh.vertices_m[i as usize]);
        let size = 0.5 * (b - a).cross(c - a).length();
        area += size;
        for i in t {
            let colour = mesh.colours[*i as usize];
            for (sum, channel) in sum.iter_mut().zip(colour) {
                *sum += size / 3.0 * linear(channel);
            }
        }
    }
    (area > 0.0).then(|| sum.map(|s| coded(s / area)))
}

/// sRGB to linear light (IEC 61966-2-1).
fn linear(channel: u8) -> f64 {
    let c = f64::from(channel) / 255.0;
    if c <= 0.04045 {
        c / 12.92
    } else {
        ((c + 0.055) / 1.055).powf(2.4)
    }
}

/// Linear light to sRGB (IEC 61966-2-1).
fn coded(light: f64) -> u8 {
    let c = if light <= 0.003_130_8 {
        12.92 * light
    } else {
        1.055 * light.powf(1.0 / 2.4) - 0.055
    };
    (c * 255.0).round().clamp(0.0, 255.0) as u8
}

/// The mesh with about so many triangles; its corners are corners of the full one.
#[must_use]
pub fn reduced(mesh: &Mesh, n_triangles: usize) -> Mesh {
    if mesh.triangles.len() <= n_triangles {
        return mesh.clone();
    }
    let Some((low, high)) = mesh.bounds() else {
        return mesh.clone();
    };
    let middle = 0.5 * (low + high);
    let points: Vec<[f32; 3]> = mesh
        .vertices_m
        .iter()
        .map(|v| (*v - middle).as_vec3().to_array())
        .collect();
    let indices: Vec<u32> = mesh.triangles.iter().flatten().copied().collect();
    let kept = meshopt::simplify_decoder(
        &indices,
        &points,
        3 * n_triangles,
        1.0,
        meshopt::SimplifyOptions::None,
        None,
    );
    compact(mesh, &kept)
}

/// The corners that the kept triangles use, with their colours.
fn compact(mesh: &Mesh, kept: &[u32]) -> Mesh {
    let mut place = vec![u32::MAX; mesh.vertices_m.len()];
    let coloured = mesh.colours.len() == mesh.vertices_m.len();
    let mut out = Mesh::default();
    for corners in kept.chunks_exact(3) {
        let triangle = [corners[0], corners[1], corners[2]].map(|v| {
            let slot = &mut place[v as usize];
            if *slot == u32::MAX {
                *slot = out.vertices_m.len() as u32;
                out.vertices_m.push(mesh.vertices_m[v as usize]);
                if coloured {
                    out.colours.push(mesh.colours[v as usize]);
                }
            }
            *slot
        });
        out.triangles.push(triangle);
    }
    out
}

/// The piece as it lies by itself, seen from the front and a little above.
#[must_use]
pub fn picture(look: &Arc<Mesh>, kind: PieceKind, turn: DQuat) -> Picture {
    let (low, high) = look
        .vertices_m
        .iter()
        .map(|v| turn * *v)
        .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), p| {
            (low.min(p), high.max(p))
        });
    let shift_m = DVec3::new(0.0, 0.0, -low.z);
    let (low, high) = (low + shift_m, high + shift_m);
    let size = high - low;
    let middle = 0.5 * (low + high);
    // Room for the shadow beside and before it.
    let (width_m, height_m) = (1.25 * size.x, 1.25 * (size.z + 0.35 * size.y));
    let scale = (1e3 * PIXELS_MM).min(MOST_PIXELS / width_m.max(height_m));
    let pixels = |length_m: f64| ((length_m * scale).round() as u32).max(16);
    let camera = Camera {
        eye_m: middle + DVec3::new(0.0, -4.0 * size.length(), 1.5 * size.length()),
        target_m: middle,
        up: DVec3::Z,
        lens: Lens::Orthographic { height_m },
    };
    let items = [SceneItem {
        mesh: Arc::clone(look),
        placement: Placement { turn, shift_m },
        surface: match kind {
            PieceKind::Stone => Surface::Stone,
            PieceKind::Wood => Surface::Wood,
        },
        colour: plain_colour(kind),
    }];
    render(
        &Scene::new(&items),
        &camera,
        &Lighting::studio(low, high).with_floor(0.0),
        pixels(width_m),
        pixels(height_m),
        SAMPLES,
        SEED,
    )
}

/// A picture as PNG.
///
/// # Errors
/// When it can't be packed.
pub fn png(picture: &Picture) -> Result<Vec<u8>, png::EncodingError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, picture.width, picture.height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_source_srgb(png::SrgbRenderingIntent::Perceptual);
    encoder.write_header()?.write_image_data(&picture.rgb)?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mean_of_black_and_white_is_half_the_light() {
        // IEC 61966-2-1: linear 0.5 is 188 of 255.
        let mut mesh = Mesh::cuboid(DVec3::ONE);
        mesh.colours = mesh
            .vertices_m
            .iter()
            .map(|v| if v.z > 0.0 { [255; 3] } else { [0; 3] })
            .collect();
        assert_eq!(mean_colour(&mesh, PieceKind::Stone), "#bcbcbc");
    }

    #[test]
    fn fewer_triangles_keep_their_colours_and_nearly_their_volume() {
        let recipe = solid::grow::Recipe::new(solid::grow::Form::Rounded, 3, 0.2);
        let mesh = solid::grow::grow(&recipe.expect("a form of this length"));
        let few = reduced(&mesh, 2000);
        assert!(few.triangles.len() <= 2000);
        assert_eq!(few.colours.len(), few.vertices_m.len());
        let (whole, part) = (solid::Moments::of(&mesh), solid::Moments::of(&few));
        // A band of our own: a viewer's mesh, not one that is measured.
        assert!((part.volume_m3 / whole.volume_m3 - 1.0).abs() < 0.02);
    }
}
