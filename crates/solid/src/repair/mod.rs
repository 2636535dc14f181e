//! What closed body a scan stands for, and what had to be mended to see it.
//!
//! Scans come with split corners, faces that are there twice or turned over,
//! small holes, specks of dust and shells inside shells. [`repair`] mends them by
//! fixed rules, in a fixed order, and says what it did. A clean mesh passes
//! through unchanged.

mod clean;
mod cross;
mod edges;
mod groups;
mod holes;
mod orient;
mod shells;
mod tiles;
pub(crate) mod tree;
mod union;
mod weld;

use glam::DVec3;

use self::edges::Edges;
use self::tree::Tree;
use crate::{Mesh, SolidError};

/// Corners within this share of the bounding diagonal are one.
pub const WELD_SHARE: f64 = 1e-6;
/// Surfaces within this share of the bounding diagonal are in one place.
const REACH_SHARE: f64 = 2e-7;

/// What was mended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RepairKind {
    /// Corners in one place were joined; counts corners.
    Welded,
    /// Triangles without area were dropped; counts triangles.
    DegenerateDropped,
    /// Triangles that were there twice were dropped; counts triangles.
    DoubledDropped,
    /// Triangles that faced against their neighbours were turned; counts triangles.
    Flipped,
    /// Whole shells that faced inwards were turned; counts shells.
    TurnedOut,
    /// Holes were closed; counts holes.
    HoleClosed,
    /// Specks beside the body were dropped; counts shells.
    DustDropped,
    /// Shells inside the body were ignored; counts shells.
    InnerShell,
    /// Hollows were subtracted; counts shells.
    Hollow,
    /// Surfaces that cut each other were made one; counts shells.
    Union,
}

impl RepairKind {
    /// The word for programs.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Welded => "welded",
            Self::DegenerateDropped => "degenerate_dropped",
            Self::DoubledDropped => "doubled_dropped",
            Self::Flipped => "flipped",
            Self::TurnedOut => "turned_out",
            Self::HoleClosed => "hole_closed",
            Self::DustDropped => "dust_dropped",
            Self::InnerShell => "inner_shell",
            Self::Hollow => "hollow",
            Self::Union => "union",
        }
    }
}

/// One kind of mending, how often, and what it meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Repair {
    /// What was mended.
    pub kind: RepairKind,
    /// How often; [`RepairKind`] says what is counted.
    pub count: usize,
    /// The words for a person.
    pub detail: String,
}

/// A mended mesh.
#[derive(Debug, Clone)]
pub struct Repaired {
    /// What stays, facing outwards; hollows face into themselves.
    pub mesh: Mesh,
    /// The same body as closed shells that cut each other, where `mesh` is their
    /// union: every triangle meets its neighbours side to side, as outlines need.
    pub shells: Option<Mesh>,
    /// Whether it encloses a body without a gap.
    pub is_closed: bool,
    /// Holes that were too large to close.
    pub n_open_holes: usize,
    /// Separate bodies, hollows not counted.
    pub n_bodies: usize,
    /// What was mended, in the order of [`RepairKind`].
    pub repairs: Vec<Repair>,
}

/// Mends a mesh.
///
/// `hull_volume_m3` gives the volume of the convex hull of points, or 0 for
/// points in a plane; it is asked only when there are several shells.
///
/// # Errors
/// When no triangle with an area is left.
pub fn repair(
    mesh: &Mesh,
    hull_volume_m3: impl Fn(&[DVec3]) -> f64 + Sync,
) -> Result<Repaired, SolidError> {
    let mut log = Log::default();
    let (low, high) = used_bounds(mesh)?;
    let diagonal_m = low.distance(high);
    let tolerance_m = WELD_SHARE * diagonal_m;
    let reach_m = REACH_SHARE * diagonal_m;
    let mut work = welded(mesh, low, tolerance_m, &mut log);
    let edges = cleaned(&mut work, tolerance_m, &mut log)?;
    let edges = if edges.is_closed() {
        edges
    } else {
        let (n_flipped, edges) =
            orient::make_consistent(&work.vertices_m, &mut work.triangles, edges);
        log.add(RepairKind::Flipped, n_flipped, || {
            "triangles faced against their neighbours and were turned".to_owned()
        });
        edges
    };
    let (edges, n_open_holes) = close_holes(&mut work, edges, diagonal_m, &mut log);
    let judgement = shells::judge(&work, &edges, reach_m, &hull_volume_m3);
    log.add_shells(&judgement);
    let is_closed = judgement.is_closed;
    let n_bodies = judgement.n_bodies;
    let crossings = apply(&mut work, judgement);
    let mut shells = None;
    if is_closed && !crossings.is_empty() {
        let edges = paired(&work);
        let tree = Tree::new(&work, 4.0 * reach_m);
        let union = union::union(&work, &edges, &tree, &crossings, reach_m);
        shells = Some(std::mem::replace(&mut work, union));
    }
    drop_unused(&mut work);
    if work.triangles.is_empty() {
        return Err(no_surface());
    }
    log.repairs.sort_by_key(|repair| repair.kind);
    Ok(Repaired {
        mesh: work,
        shells,
        is_closed,
        n_open_holes: if is_closed { 0 } else { n_open_holes },
        n_bodies,
        repairs: log.repairs,
    })
}

#[derive(Debug, Default)]
struct Log {
    repairs: Vec<Repair>,
}

impl Log {
    fn add(&mut self, kind: RepairKind, count: usize, words: impl FnOnce() -> String) {
        if count > 0 {
            self.repairs.push(Repair {
                kind,
                count,
                detail: format!("{count} {}", words()),
            });
        }
    }

    fn add_shells(&mut self, judgement: &shells::Judgement) {
        self.add(RepairKind::TurnedOut, judgement.n_turned_out, || {
            "shells faced inwards and were turned".to_owned()
        });
        self.add(RepairKind::DustDropped, judgement.n_dust, || {
            "specks beside the body, each under 1 % of its hull, were dropped".to_owned()
        });
        self.add(RepairKind::InnerShell, judgement.n_inner, || {
            "shells inside the body were ignored: they take nothing from it".to_owned()
        });
        self.add(RepairKind::Hollow, judgement.n_hollow, || {
            "hollows inside the body were subtracted".to_owned()
        });
        let n_places = judgement.crossings.len();
        if n_places > 0 && judgement.is_closed {
            self.add(RepairKind::Union, judgement.n_cut.max(1), || {
                if judgement.n_cut > 0 {
                    format!("shells cut each other ({n_places} pairs of triangles): made one body")
                } else {
                    format!("shell cuts itself ({n_places} pairs of triangles): counted once")
                }
            });
        }
    }
}

fn no_surface() -> SolidError {
    SolidError::Degenerate {
        reason: "the mesh has no triangle with an area".to_owned(),
        hint: "export the scan as a triangle mesh; a cloud of points is not enough".to_owned(),
    }
}

/// Bounds of the corners that triangles use.
fn used_bounds(mesh: &Mesh) -> Result<(DVec3, DVec3), SolidError> {
    let (mut low, mut high) = (DVec3::INFINITY, DVec3::NEG_INFINITY);
    let mut is_finite = true;
    for t in 0..mesh.triangles.len() {
        for v in mesh.corners(t) {
            is_finite &= v.is_finite();
            low = low.min(v);
            high = high.max(v);
        }
    }
    if !is_finite {
        return Err(SolidError::Degenerate {
            reason: "a corner's place is not a finite number".to_owned(),
            hint: "export the scan again; the file is damaged".to_owned(),
        });
    }
    if mesh.triangles.is_empty() || low == high {
        return Err(no_surface());
    }
    Ok((low, high))
}

/// The mesh with corners in one place joined and unused ones gone.
fn welded(mesh: &Mesh, low: DVec3, tolerance_m: f64, log: &mut Log) -> Mesh {
    let mut work = mesh.clone();
    drop_unused(&mut work);
    let weld = weld::weld(&work.vertices_m, low, tolerance_m);
    let n_joined = weld.n_equal + weld.n_moved;
    if n_joined == 0 {
        return work;
    }
    for triangle in &mut work.triangles {
        *triangle = triangle.map(|v| weld.root[v as usize]);
    }
    // A file without an index repeats every corner; joining those mends nothing.
    let is_soup = work.vertices_m.len() == 3 * mesh.triangles.len();
    let count = if is_soup { weld.n_moved } else { n_joined };
    log.add(RepairKind::Welded, count, || {
        format!(
            "corners were joined to another within {:.2e} mm",
            tolerance_m * 1e3
        )
    });
    drop_unused(&mut work);
    work
}

/// Drops triangles that are no surface; gives the edges of the rest.
fn cleaned(work: &mut Mesh, tolerance_m: f64, log: &mut Log) -> Result<Edges, SolidError> {
    let mut n_degenerate = drop_triangles(work, &clean::collapsed(&work.triangles));
    let n_vertices = work.vertices_m.len();
    let mut edges = Edges::new(n_vertices, &work.triangles);
    let mut n_doubled = 0;
    if clean::may_hold_doubles(&edges) {
        n_doubled = drop_triangles(work, &clean::doubles(&work.triangles));
        if n_doubled > 0 {
            edges = Edges::new(n_vertices, &work.triangles);
        }
    }
    if edges.n_single > 0 {
        let slivers = clean::slivers(&work.vertices_m, &work.triangles, &edges, tolerance_m);
        let n_slivers = drop_triangles(work, &slivers);
        if n_slivers > 0 {
            n_degenerate += n_slivers;
            edges = Edges::new(n_vertices, &work.triangles);
        }
    }
    log.add(RepairKind::DegenerateDropped, n_degenerate, || {
        "triangles without area were dropped".to_owned()
    });
    log.add(RepairKind::DoubledDropped, n_doubled, || {
        "triangles that were there twice were dropped".to_owned()
    });
    if work.triangles.is_empty() {
        return Err(no_surface());
    }
    Ok(edges)
}

fn close_holes(work: &mut Mesh, edges: Edges, diagonal_m: f64, log: &mut Log) -> (Edges, usize) {
    if edges.n_single == 0 {
        return (edges, 0);
    }
    let rims = holes::rims(&work.triangles, &edges, work.vertices_m.len());
    let closing = holes::close(&work.vertices_m, &rims, diagonal_m, work.area_m2());
    log.add(RepairKind::HoleClosed, closing.n_closed, || {
        "holes were closed: short rim, little area".to_owned()
    });
    if closing.n_closed == 0 {
        return (edges, closing.n_open);
    }
    if !work.colours.is_empty() {
        let colour = work.colours[0];
        let n = work.colours.len() + closing.vertices_m.len();
        work.colours.resize(n, colour);
    }
    work.triangles.extend(closing.triangles);
    work.vertices_m.extend(closing.vertices_m);
    (paired(work), closing.n_open)
}

fn paired(work: &Mesh) -> Edges {
    let mut edges = Edges::new(work.vertices_m.len(), &work.triangles);
    edges.pair_crowded(&work.triangles, &work.vertices_m);
    edges
}

/// Turns and drops triangles; gives the crossings in the new numbers.
fn apply(work: &mut Mesh, judgement: shells::Judgement) -> Vec<union::Crossing> {
    for (triangle, _) in work
        .triangles
        .iter_mut()
        .zip(&judgement.turned)
        .filter(|(_, turned)| **turned)
    {
        triangle.swap(1, 2);
    }
    let number = renumbered(&judgement.stays);
    let drop: Vec<bool> = judgement.stays.iter().map(|stays| !stays).collect();
    drop_triangles(work, &drop);
    let mut crossings = judgement.crossings;
    for crossing in &mut crossings {
        crossing.a = number[crossing.a as usize];
        crossing.b = number[crossing.b as usize];
    }
    crossings
}

fn drop_triangles(work: &mut Mesh, drop: &[bool]) -> usize {
    let before = work.triangles.len();
    if drop.iter().any(|d| *d) {
        let mut place = 0;
        work.triangles.retain(|_| {
            place += 1;
            !drop[place - 1]
        });
    }
    before - work.triangles.len()
}

/// The place of each kept thing among those that are kept.
fn renumbered(is_kept: &[bool]) -> Vec<u32> {
    is_kept
        .iter()
        .scan(0, |next, is_kept| {
            let number = *next;
            *next += u32::from(*is_kept);
            Some(number)
        })
        .collect()
}

/// Drops vertices that no triangle uses; the others keep their order.
fn drop_unused(work: &mut Mesh) {
    let mut is_used = vec![false; work.vertices_m.len()];
    for v in work.triangles.iter().flatten() {
        is_used[*v as usize] = true;
    }
    if is_used.iter().all(|used| *used) {
        return;
    }
    let number = renumbered(&is_used);
    for triangle in &mut work.triangles {
        *triangle = triangle.map(|v| number[v as usize]);
    }
    let keep = |place: &mut usize| {
        *place += 1;
        is_used[*place - 1]
    };
    let mut place = 0;
    work.vertices_m.retain(|_| keep(&mut place));
    let mut place = 0;
    work.colours.retain(|_| keep(&mut place));
}
