//! Whether grown pieces are solids that everything else can be computed from.

use std::collections::{HashMap, HashSet};

use glam::DVec3;
use rayon::prelude::*;
use solid::grow::{Form, Palette, Recipe, grow};
use solid::hull::convex_hull;
use solid::least_box::least_box;
use solid::{Mesh, Moments};

const SEEDS: std::ops::Range<u64> = 0..20;

const LONG_M: f64 = 0.24;

/// A piece in few enough triangles that hundreds can be grown in a test.
fn grown(form: Form, seed: u64) -> Mesh {
    let recipe = Recipe::new(form, seed, LONG_M).expect("a length in bounds");
    grow(&recipe.with_triangles(6_000))
}

/// What is wrong with a mesh as the skin of one solid, in words.
fn faults(mesh: &Mesh) -> Vec<&'static str> {
    let mut faults = Vec::new();
    let mut sides: HashMap<(u32, u32), usize> = HashMap::new();
    for [a, b, c] in &mesh.triangles {
        for side in [(*a, *b), (*b, *c), (*c, *a)] {
            *sides.entry(side).or_default() += 1;
        }
    }
    if sides.values().any(|n| *n != 1) {
        faults.push("a directed edge is used more than once");
    }
    if sides.keys().any(|(a, b)| !sides.contains_key(&(*b, *a))) {
        faults.push("an edge has no opposite");
    }
    let used: HashSet<u32> = mesh.triangles.iter().flatten().copied().collect();
    if fans(mesh) != used.len() {
        faults.push("the triangles at a vertex are not one fan");
    }
    if used.len() != mesh.vertices_m.len() {
        faults.push("a vertex is in no triangle");
    }
    if shells(mesh) != 1 {
        faults.push("there is more than one shell");
    }
    if Moments::of(mesh).volume_m3 <= 0.0 {
        faults.push("it is wound inwards");
    }
    let hull = convex_hull(&mesh.vertices_m).expect("a solid has a hull");
    if (least_box(&hull).size_m.x / LONG_M - 1.0).abs() > 0.01 {
        faults.push("its longest side is over 1 % off");
    }
    if mesh.colours.len() != mesh.vertices_m.len() {
        faults.push("a vertex has no colour");
    }
    faults
}

fn root(parent: &mut [usize], mut at: usize) -> usize {
    while parent[at] != at {
        parent[at] = parent[parent[at]];
        at = parent[at];
    }
    at
}

fn n_roots(parent: &mut [usize]) -> usize {
    (0..parent.len()).filter(|n| root(parent, *n) == *n).count()
}

fn shells(mesh: &Mesh) -> usize {
    let mut parent: Vec<usize> = (0..mesh.vertices_m.len()).collect();
    for triangle in &mesh.triangles {
        for corner in &triangle[1..] {
            let a = root(&mut parent, triangle[0] as usize);
            let b = root(&mut parent, *corner as usize);
            parent[a] = b;
        }
    }
    n_roots(&mut parent)
}

/// Number of fans of triangles over all vertices: corners joined across shared edges.
fn fans(mesh: &Mesh) -> usize {
    let mut parent: Vec<usize> = (0..3 * mesh.triangles.len()).collect();
    let mut at_edge: HashMap<(u32, u32), usize> = HashMap::new();
    for (index, triangle) in mesh.triangles.iter().enumerate() {
        for side in 0..3 {
            let (from, to) = (triangle[side], triangle[(side + 1) % 3]);
            let (corner, next) = (3 * index + side, 3 * index + (side + 1) % 3);
            at_edge.insert((from, to), corner);
            if let Some(opposite) = at_edge.get(&(to, from)) {
                let other_next = opposite / 3 * 3 + (opposite % 3 + 1) % 3;
                for (one, other) in [(corner, other_next), (next, *opposite)] {
                    let (a, b) = (root(&mut parent, one), root(&mut parent, other));
                    parent[a] = b;
                }
            }
        }
    }
    n_roots(&mut parent)
}

#[test]
fn every_form_and_seed_is_the_skin_of_one_solid() {
    let wrong: Vec<_> = Form::ALL
        .into_iter()
        .flat_map(|form| SEEDS.map(move |seed| (form, seed)))
        .collect::<Vec<_>>()
        .into_par_iter()
        .map(|(form, seed)| (form, seed, faults(&grown(form, seed))))
        .filter(|(_, _, faults)| !faults.is_empty())
        .collect();
    assert!(wrong.is_empty(), "{wrong:?}");
}

#[test]
fn a_fault_is_seen_when_there_is_one() {
    // Guards the check above: each broken box must be told from a whole one.
    let whole = || Mesh {
        colours: vec![[0; 3]; 8],
        ..Mesh::cuboid(DVec3::splat(LONG_M))
    };
    assert!(faults(&whole()).is_empty());
    let mut open = whole();
    open.triangles.pop();
    assert!(faults(&open).contains(&"an edge has no opposite"));
    let mut inward = whole();
    inward.triangles.iter_mut().for_each(|t| t.swap(0, 1));
    assert_eq!(faults(&inward), ["it is wound inwards"]);
    let mut two = whole();
    let second = whole();
    two.vertices_m.extend(
        second
            .vertices_m
            .iter()
            .map(|v| *v * 0.5 + DVec3::splat(0.75 * LONG_M)),
    );
    two.triangles
        .extend(second.triangles.iter().map(|t| t.map(|c| c + 8)));
    two.colours.extend(second.colours);
    assert!(faults(&two).contains(&"there is more than one shell"));
    // The two boxes touch in a corner; made one vertex, the corner has two fans.
    let (near, far) = (7, 8);
    assert!(two.vertices_m[7].distance(two.vertices_m[8]) < 1e-12);
    two.triangles
        .iter_mut()
        .flatten()
        .filter(|c| **c == far)
        .for_each(|c| *c = near);
    assert!(faults(&two).contains(&"the triangles at a vertex are not one fan"));
}

#[test]
fn a_piece_at_full_detail_is_the_skin_of_one_solid() {
    for form in Form::ALL {
        let mesh = grow(&Recipe::new(form, 41, LONG_M).expect("in bounds"));
        assert!(faults(&mesh).is_empty(), "{form:?}: {:?}", faults(&mesh));
    }
}

#[test]
fn the_same_recipe_gives_the_same_mesh_whatever_the_threads() {
    for form in Form::ALL {
        let alone = rayon::ThreadPoolBuilder::new().num_threads(1).build();
        let alone = alone.expect("a pool of one").install(|| grown(form, 7));
        let many = rayon::ThreadPoolBuilder::new().num_threads(4).build();
        let many = many.expect("a pool of four").install(|| grown(form, 7));
        assert!(alone == many, "{form:?}");
    }
}

#[test]
fn different_seeds_give_different_pieces() {
    for form in Form::ALL {
        let volume = |seed| Moments::of(&grown(form, seed)).volume_m3;
        assert!((volume(1) / volume(2) - 1.0).abs() > 1e-4, "{form:?}");
    }
}

#[test]
fn length_triangles_and_colours_follow_the_recipe() {
    let recipe = |long_m| Recipe::new(Form::Fissured, 3, long_m).expect("in bounds");
    let small = grow(&recipe(0.1));
    let large = grow(&recipe(1.0));
    let ratio = Moments::of(&large).volume_m3 / Moments::of(&small).volume_m3;
    assert!((ratio / 1000.0 - 1.0).abs() < 1e-9);
    for wanted in [5_000, 12_000, 20_000] {
        let n = grow(&recipe(0.1).with_triangles(wanted)).triangles.len();
        assert!(n <= wanted && n * 10 > wanted * 8, "{n} for {wanted}");
    }
    let mut green = Palette::of(Form::Fissured);
    green.body = [0, 255, 0];
    let painted = grow(&recipe(0.1).with_palette(green));
    let sum = |mesh: &Mesh, channel: usize| -> f64 {
        mesh.colours.iter().map(|c| f64::from(c[channel])).sum()
    };
    assert!(painted.triangles == small.triangles);
    assert!(sum(&painted, 1) > sum(&small, 1) && sum(&painted, 0) < sum(&small, 0));
}

#[test]
fn a_length_out_of_bounds_is_refused() {
    for long_m in [f64::NAN, f64::INFINITY, -0.1, 0.0, 0.001, 6.0] {
        let refused = Recipe::new(Form::Arch, 1, long_m).expect_err("out of bounds");
        assert!(refused.hint().contains("between"), "{long_m}");
    }
}

#[test]
fn forms_are_known_by_their_names() {
    for form in Form::ALL {
        assert_eq!(form.name().parse::<Form>().expect("a known name"), form);
    }
    let refused = "granite".parse::<Form>().expect_err("not a form");
    assert!(refused.hint().contains("columnar"));
}
