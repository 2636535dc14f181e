//! Which closed surfaces are solid, hollow, inside others, or dust.

use glam::DVec3;
use rayon::prelude::*;

use super::cross::{Meeting, Plate, meet};
use super::edges::{Edges, NONE, from};
use super::groups::Groups;
use super::orient::Patches;
use super::tiles;
use super::tree::Tree;
use super::union::{Crossing, Hit, hit};
use crate::Mesh;

/// A shell outside all others with less than this share of the largest's hull volume is dust.
const DUST_SHARE: f64 = 0.01;

/// One connected surface.
#[derive(Debug, Clone)]
struct Shell {
    members: Vec<u32>,
    is_closed: bool,
    /// Signed volume, rims closed by a cone.
    volume_m3: f64,
    low: DVec3,
    high: DVec3,
}

/// What the shells of a mesh are to each other.
#[derive(Debug, Default)]
pub(super) struct Judgement {
    /// Triangles that stay.
    pub(super) stays: Vec<bool>,
    /// Triangles to turn over.
    pub(super) turned: Vec<bool>,
    /// Crossings between triangles that stay.
    pub(super) crossings: Vec<Crossing>,
    /// Whether all that stays is closed.
    pub(super) is_closed: bool,
    /// Shells that stay, hollows not counted.
    pub(super) n_bodies: usize,
    /// Shells that were turned outwards.
    pub(super) n_turned_out: usize,
    /// Shells dropped as dust, and their triangles.
    pub(super) n_dust: usize,
    /// Shells ignored inside others.
    pub(super) n_inner: usize,
    /// Shells that are hollows.
    pub(super) n_hollow: usize,
    /// Shells that cut another one.
    pub(super) n_cut: usize,
}

/// Judges all shells of a mesh that faces one way on each of them.
///
/// `hull_volume_m3` gives the volume of the convex hull of a set of points.
pub(super) fn judge(
    mesh: &Mesh,
    edges: &Edges,
    reach_m: f64,
    hull_volume_m3: &(impl Fn(&[DVec3]) -> f64 + Sync),
) -> Judgement {
    let patches = Patches::flood(&mesh.triangles, edges);
    let meetings = meetings(mesh, edges, &patches, reach_m);
    let mut shells: Vec<Shell> = patches
        .members()
        .into_iter()
        .map(|members| Shell::of(mesh, edges, members))
        .collect();
    let n = shells.len();
    let (mut cutting, mut touching) = (Groups::new(n), Groups::new(n));
    for meeting in &meetings {
        let [p, q] = [meeting.a, meeting.b].map(|t| patches.of[t as usize]);
        touching.join(p, q);
        if meeting.meeting != Meeting::Touch {
            cutting.join(p, q);
        }
    }
    let (cutting, touching) = (cutting.roots(), touching.roots());
    let within = if n == 1 {
        vec![Vec::new()]
    } else {
        let tree = Tree::new(mesh, reach_m);
        containers(mesh, &patches, &tree, &shells, &cutting)
    };
    let mut judgement = Judgement {
        stays: vec![true; mesh.triangles.len()],
        turned: vec![false; mesh.triangles.len()],
        ..Judgement::default()
    };
    judgement.turn_out(&mut shells, &cutting, &within);
    let dust = dust(mesh, &shells, &touching, &within, hull_volume_m3);
    judgement.keep(&shells, &cutting, &within, &dust);
    judgement.crossings = meetings
        .into_iter()
        .filter(|m| {
            m.meeting != Meeting::Touch
                && judgement.stays[m.a as usize]
                && judgement.stays[m.b as usize]
        })
        .collect();
    judgement
}

impl Shell {
    fn of(mesh: &Mesh, edges: &Edges, members: Vec<u32>) -> Self {
        let (mut low, mut high) = (DVec3::INFINITY, DVec3::NEG_INFINITY);
        let (mut rim_sum, mut n_rim) = (DVec3::ZERO, 0.0);
        let mut is_closed = true;
        for &t in &members {
            for v in mesh.corners(t as usize) {
                low = low.min(v);
                high = high.max(v);
            }
            for h in 3 * t..3 * t + 3 {
                let twin = edges.twin[h as usize];
                if twin == NONE {
                    is_closed = false;
                    rim_sum += mesh.vertices_m[from(&mesh.triangles, h) as usize];
                    n_rim += 1.0;
                } else if from(&mesh.triangles, h) == from(&mesh.triangles, twin) {
                    is_closed = false;
                }
            }
        }
        let apex = if n_rim > 0.0 {
            rim_sum / n_rim
        } else {
            0.5 * (low + high)
        };
        // Seen from the rim's middle, the cone over the rim adds nothing.
        let volume_m3 = members
            .iter()
            .map(|t| {
                let [a, b, c] = mesh.corners(*t as usize).map(|v| v - apex);
                a.dot(b.cross(c)) / 6.0
            })
            .sum();
        Self {
            members,
            is_closed,
            volume_m3,
            low,
            high,
        }
    }

    fn box_volume_m3(&self) -> f64 {
        (self.high - self.low).element_product()
    }

    fn box_diagonal_m(&self) -> f64 {
        self.low.distance(self.high)
    }
}

/// All pairs of triangles that meet other than as neighbours on one surface.
fn meetings(mesh: &Mesh, edges: &Edges, patches: &Patches, reach_m: f64) -> Vec<Crossing> {
    let normals: Vec<DVec3> = (0..mesh.triangles.len())
        .into_par_iter()
        .with_min_len(4096)
        .map(|t| {
            let [a, b, c] = mesh.corners(t);
            (b - a).cross(c - a).normalize_or_zero()
        })
        .collect();
    let at = |v: u32| mesh.vertices_m[v as usize];
    let plate = |t: u32, [a, b, c]: [u32; 3]| Plate {
        corners: [at(a), at(b), at(c)],
        normal: normals[t as usize],
    };
    tiles::pairs(mesh, edges, &normals, reach_m, |a, b| {
        let (one, two) = (mesh.triangles[a as usize], mesh.triangles[b as usize]);
        let n_common = n_common(one, two);
        let is_one_shell = patches.of[a as usize] == patches.of[b as usize];
        if n_common == 2 && is_one_shell && !is_folded(mesh, &normals, [a, b]) {
            return None;
        }
        let (one, two) = (plate(a, one), plate(b, two));
        if one.normal == DVec3::ZERO || two.normal == DVec3::ZERO {
            return None;
        }
        let met = meet(&one, &two, reach_m, !is_one_shell);
        let meeting = match met {
            Some(Meeting::Touch) | None if is_one_shell => return None,
            None if n_common == 0 => return None,
            None => Meeting::Touch,
            // Along a common edge the pairing round it has already parted the shells.
            Some(Meeting::Line(..)) if n_common == 2 => Meeting::Touch,
            Some(meeting) => meeting,
        };
        Some(Crossing { a, b, meeting })
    })
}

/// Whether two triangles with a common side lie on each other.
fn is_folded(mesh: &Mesh, normals: &[DVec3], pair: [u32; 2]) -> bool {
    let [one, two] = pair.map(|t| mesh.triangles[t as usize]);
    if normals[pair[0] as usize]
        .dot(normals[pair[1] as usize])
        .abs()
        < 0.999
    {
        return false;
    }
    let apart = |t: [u32; 3], other: [u32; 3]| t.into_iter().find(|v| !other.contains(v));
    let Some((a, b)) = apart(one, two).zip(apart(two, one)) else {
        return false;
    };
    let mut side = one.into_iter().filter(|v| *v != a);
    let at = |v: u32| mesh.vertices_m[v as usize];
    match (side.next(), side.next()) {
        (Some(p), Some(q)) => {
            let along = at(q) - at(p);
            along.cross(at(a) - at(p)).dot(along.cross(at(b) - at(p))) > 0.0
        }
        _ => false,
    }
}

/// How many corners two triangles have in common.
#[inline]
fn n_common(one: [u32; 3], two: [u32; 3]) -> usize {
    one.iter()
        .map(|v| usize::from((*v == two[0]) | (*v == two[1]) | (*v == two[2])))
        .sum()
}

/// For each shell: the closed shells that hold it, with the sign of their winding.
///
/// Shells that cut each other hold none of each other here.
fn containers(
    mesh: &Mesh,
    patches: &Patches,
    tree: &Tree,
    shells: &[Shell],
    cutting: &[u32],
) -> Vec<Vec<u32>> {
    shells
        .iter()
        .enumerate()
        .map(|(s, shell)| {
            let is_boxed = |other: usize| {
                other != s
                    && cutting[other] != cutting[s]
                    && shells[other].is_closed
                    && shells[other].low.cmple(shell.low).all()
                    && shells[other].high.cmpge(shell.high).all()
            };
            if (0..shells.len().min(256)).all(|other| !is_boxed(other)) && shells.len() <= 256 {
                return Vec::new();
            }
            let mut windings: Vec<(u32, i32)> = Vec::new();
            // A few places: on a surface that touches another, one could mislead.
            for step in 0..3 {
                let t = shell.members[shell.members.len() * step / 3];
                windings.extend(windings_at(mesh, patches, tree, t));
            }
            windings.sort_unstable();
            windings
                .chunk_by(|a, b| a.0 == b.0)
                .filter(|group| {
                    is_boxed(group[0].0 as usize)
                        && 2 * group.iter().filter(|w| w.1 != 0).count() > 3
                })
                .map(|group| group[0].0)
                .collect()
        })
        .collect()
}

/// Winding number of every shell that a ray from the middle of triangle `t` meets.
fn windings_at(mesh: &Mesh, patches: &Patches, tree: &Tree, t: u32) -> Vec<(u32, i32)> {
    const RAYS: [DVec3; 4] = [
        DVec3::new(0.295_471, 0.683_903, 0.667_061),
        DVec3::new(-0.712_433, 0.401_197, 0.575_749),
        DVec3::new(0.508_217, -0.777_011, 0.371_353),
        DVec3::new(-0.233_777, -0.331_999, -0.913_837),
    ];
    let [a, b, c] = mesh.corners(t as usize);
    let start = (a + b + c) / 3.0;
    let mut crossed: Vec<(u32, i32)> = Vec::new();
    for ray in RAYS {
        crossed.clear();
        let mut is_sure = true;
        tree.along_ray(start, ray, |other| {
            let corners = mesh.corners(other as usize);
            let sign = if (corners[1] - corners[0])
                .cross(corners[2] - corners[0])
                .dot(ray)
                > 0.0
            {
                1
            } else {
                -1
            };
            match hit(start, ray, corners) {
                Hit::Inside => crossed.push((patches.of[other as usize], sign)),
                Hit::Edge => is_sure = false,
                Hit::Beside => {}
            }
        });
        if is_sure {
            break;
        }
    }
    crossed.sort_unstable();
    crossed
        .chunk_by(|a, b| a.0 == b.0)
        .map(|group| (group[0].0, group.iter().map(|w| w.1).sum()))
        .collect()
}

/// Marks the shells that are dust.
fn dust(
    mesh: &Mesh,
    shells: &[Shell],
    touching: &[u32],
    within: &[Vec<u32>],
    hull_volume_m3: &(impl Fn(&[DVec3]) -> f64 + Sync),
) -> Vec<bool> {
    let mut heaps: Vec<Vec<usize>> = vec![Vec::new(); shells.len()];
    for (s, heap) in touching.iter().enumerate() {
        heaps[*heap as usize].push(s);
    }
    heaps.retain(|heap| heap.iter().any(|s| within[*s].is_empty()));
    if heaps.len() <= 1 {
        return vec![false; shells.len()];
    }
    let box_volume = |heap: &Vec<usize>| {
        let low = heap
            .iter()
            .fold(DVec3::INFINITY, |v, s| v.min(shells[*s].low));
        let high = heap
            .iter()
            .fold(DVec3::NEG_INFINITY, |v, s| v.max(shells[*s].high));
        (high - low).element_product()
    };
    heaps.sort_by(|a, b| box_volume(b).total_cmp(&box_volume(a)).then(a.cmp(b)));
    let mut largest_m3 = 0.0_f64;
    let mut volumes = Vec::with_capacity(heaps.len());
    for heap in &heaps {
        // A hull is no larger than its box, so most dust needs no hull.
        let volume_m3 = if box_volume(heap) < DUST_SHARE * largest_m3 {
            0.0
        } else {
            let mut corners: Vec<u32> = heap
                .iter()
                .flat_map(|s| shells[*s].members.iter())
                .flat_map(|t| mesh.triangles[*t as usize])
                .collect();
            corners.sort_unstable();
            corners.dedup();
            let points: Vec<DVec3> = corners
                .iter()
                .map(|v| mesh.vertices_m[*v as usize])
                .collect();
            hull_volume_m3(&points)
        };
        largest_m3 = largest_m3.max(volume_m3);
        volumes.push(volume_m3);
    }
    let mut dust = vec![false; shells.len()];
    for (heap, volume_m3) in heaps.iter().zip(volumes) {
        for s in heap {
            dust[*s] = volume_m3 < DUST_SHARE * largest_m3;
        }
    }
    // What lies inside a grain goes with it.
    for s in 0..shells.len() {
        if within[s].iter().any(|other| dust[*other as usize]) {
            dust[s] = true;
        }
    }
    dust
}

impl Judgement {
    /// Turns shells that face inwards without being hollows.
    ///
    /// The outermost shell decides for all; a shell beside it, or one that cuts
    /// another, decides for itself and for what it holds.
    fn turn_out(&mut self, shells: &mut [Shell], cutting: &[u32], within: &[Vec<u32>]) {
        let outermost = (0..shells.len())
            .filter(|s| within[*s].is_empty())
            .max_by(|a, b| {
                shells[*a]
                    .box_diagonal_m()
                    .total_cmp(&shells[*b].box_diagonal_m())
                    .then(b.cmp(a))
            });
        let is_inwards = |s: usize| shells[s].volume_m3 < 0.0;
        let all = outermost.is_some_and(is_inwards);
        let turn: Vec<bool> = (0..shells.len())
            .map(|s| {
                // The shells on top that this one is, or lies in.
                let top = std::iter::once(s)
                    .chain(within[s].iter().map(|o| *o as usize))
                    .filter(|o| within[*o].is_empty())
                    .max_by(|a, b| {
                        shells[*a]
                            .box_volume_m3()
                            .total_cmp(&shells[*b].box_volume_m3())
                            .then(b.cmp(a))
                    });
                match top {
                    Some(top) if top == s || cutting[top] == cutting[s] => is_inwards(s),
                    Some(top) => is_inwards(top),
                    None => all,
                }
            })
            .collect();
        for (shell, turn) in shells.iter_mut().zip(turn) {
            if turn {
                shell.volume_m3 = -shell.volume_m3;
                self.n_turned_out += 1;
                shell
                    .members
                    .iter()
                    .for_each(|t| self.turned[*t as usize] = true);
            }
        }
    }

    /// Decides which shells stay.
    fn keep(&mut self, shells: &[Shell], cutting: &[u32], within: &[Vec<u32>], dust: &[bool]) {
        self.is_closed = true;
        let sign = |s: usize| if shells[s].volume_m3 < 0.0 { -1 } else { 1 };
        for (s, shell) in shells.iter().enumerate() {
            let outside: i32 = within[s].iter().map(|o| sign(*o as usize)).sum();
            let is_inside = outside >= 1;
            let is_cut = cutting
                .iter()
                .enumerate()
                .any(|(other, group)| other != s && *group == cutting[s]);
            let stays = if dust[s] {
                self.n_dust += 1;
                false
            } else if is_inside && (!shell.is_closed || sign(s) > 0) {
                self.n_inner += 1;
                false
            } else if outside < 0 || (outside == 0 && sign(s) < 0) {
                // A hollow in a hollow takes nothing away.
                self.n_inner += 1;
                false
            } else {
                self.is_closed &= shell.is_closed;
                self.n_hollow += usize::from(is_inside);
                self.n_bodies += usize::from(!is_inside);
                self.n_cut += usize::from(is_cut);
                true
            };
            if !stays {
                shell
                    .members
                    .iter()
                    .for_each(|t| self.stays[*t as usize] = false);
            }
        }
    }
}
