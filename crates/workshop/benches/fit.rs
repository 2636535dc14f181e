//! How long fit search takes over many pieces.

use divan::{Bencher, black_box};
use glam::{DVec2, DVec3};
use solid::{
    Mesh,
    grow::{Form, Recipe, grow},
    measure::{MeasureOptions, measure},
};
use workshop::{
    PieceKind, Tag,
    fit::{FitForm, FitIndex, Gap},
};

fn main() {
    divan::main();
}

/// Many tags of few grown forms, each stretched anew.
fn index(n_pieces: u32) -> FitIndex {
    let forms: Vec<Mesh> = (0..6)
        .filter_map(|seed| Recipe::new(Form::ALL[seed % Form::ALL.len()], seed as u64, 0.15).ok())
        .map(|recipe| coarse(&grow(&recipe)))
        .collect();
    let pieces = (1..=n_pieces)
        .filter_map(|n| {
            let stretch =
                |k: u32| 0.4 + 2.0 * f64::from((n.wrapping_mul(2_654_435_761) >> k) % 97) / 97.0;
            let mut mesh = forms[n as usize % forms.len()].clone();
            for v in &mut mesh.vertices_m {
                *v *= DVec3::new(stretch(3), stretch(9), stretch(15));
            }
            let measured = measure(&mesh, &MeasureOptions::default()).ok()?;
            Some((Tag::new(PieceKind::Stone, n).ok()?, FitForm::of(&measured)))
        })
        .collect();
    FitIndex::new(pieces)
}

/// The hull stands for the piece: quick to measure fifty thousand times.
fn coarse(mesh: &Mesh) -> Mesh {
    let step = (mesh.vertices_m.len() / 60).max(1);
    let points: Vec<DVec3> = mesh.vertices_m.iter().step_by(step).copied().collect();
    solid::hull::convex_hull(&points).map_or_else(
        |_| mesh.clone(),
        |hull| Mesh {
            vertices_m: hull.vertices_m,
            triangles: hull.triangles,
            ..Mesh::default()
        },
    )
}

const MANY: u32 = 50_000;

#[divan::bench(args = [0.08, 0.15, 0.4])]
fn in_a_box(bencher: Bencher, size_m: f64) {
    let index = index(MANY);
    let gap = Gap::Box {
        width_m: size_m,
        depth_m: size_m,
        height_m: size_m,
    };
    bencher.bench_local(|| index.find(black_box(&gap), |_| true, 60));
}

#[divan::bench(args = [0.08, 0.15, 0.4])]
fn in_an_outline(bencher: Bencher, size_m: f64) {
    let index = index(MANY);
    let gap = Gap::Outline {
        corners_m: [[0.0, 0.1], [0.5, 0.0], [1.0, 0.1], [0.9, 0.9], [0.4, 1.0]]
            .map(|c| DVec2::from(c) * size_m)
            .to_vec(),
        depth_m: size_m,
    };
    bencher.bench_local(|| index.find(black_box(&gap), |_| true, 60));
}
