//! The pieces of the yard, ready to be searched; and the search.

use glam::DVec2;
use rayon::prelude::*;

use super::{
    columns::N_COLUMNS,
    form::{FitForm, N_TURNS, Outline, turn_rad},
    gap::{Gap, GapError, Hollow},
};
use crate::Tag;

/// How far a piece may stand proud of a drawn outline, m: lines are drawn by hand.
const DRAWN_M: f32 = 2e-3;
/// Places across a gap at which an outline is tried.
const N_PLACES: usize = 13;
/// A box may be overrun by this share by a piece that nearly fits.
const NEARLY: f32 = 0.10;
/// Candidates that are tried at a time, best first.
const CHUNK: usize = 4096;

/// A piece that can fill a gap, and how it lies there.
#[derive(Debug, Clone, PartialEq)]
pub struct Match {
    /// The piece.
    pub tag: Tag,
    /// Number of its resting pose, from 1.
    pub pose: usize,
    /// Turn about the vertical from the pose, radians.
    pub turn_rad: f64,
    /// Share of the gap that it fills: of a box by volume of its own box, of an outline by area.
    pub fill: f64,
    /// Width, depth and height as it lies, m.
    pub size_m: [f64; 3],
    /// The most by which a side is over the gap, m; zero when it fits.
    pub over_m: f64,
    /// Its front outline in place, x and z, m; for a box, from the box's left end and floor.
    pub outline_m: Vec<DVec2>,
}

/// The pieces of a yard as fit search knows them, in the order of their tags.
#[derive(Debug, Clone, Default)]
pub struct FitIndex {
    pieces: Vec<(Tag, FitForm)>,
}

impl FitIndex {
    /// All pieces at once; of two with one tag the later counts.
    #[must_use]
    pub fn new(mut pieces: Vec<(Tag, FitForm)>) -> Self {
        pieces.reverse();
        pieces.sort_by_key(|(tag, _)| *tag);
        pieces.dedup_by_key(|(tag, _)| *tag);
        Self { pieces }
    }

    /// How many pieces there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.pieces.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.pieces.is_empty()
    }

    /// Adds a piece, or puts it in the place of the one with its tag.
    pub fn put(&mut self, tag: Tag, form: FitForm) {
        match self.pieces.binary_search_by_key(&tag, |(tag, _)| *tag) {
            Ok(at) => self.pieces[at].1 = form,
            Err(at) => self.pieces.insert(at, (tag, form)),
        }
    }

    /// Takes a piece away.
    pub fn remove(&mut self, tag: Tag) {
        if let Ok(at) = self.pieces.binary_search_by_key(&tag, |(tag, _)| *tag) {
            self.pieces.remove(at);
        }
    }

    /// At most `most` pieces that fill a gap, best first, each in its best pose;
    /// of a box also those that overrun it by up to a tenth, after all that fit.
    ///
    /// `keep` says which pieces are looked at.
    ///
    /// # Errors
    /// When the gap is none.
    pub fn find(
        &self,
        gap: &Gap,
        keep: impl Fn(Tag) -> bool + Sync,
        most: usize,
    ) -> Result<Vec<Match>, GapError> {
        gap.check()?;
        Ok(match gap {
            Gap::Box {
                width_m,
                depth_m,
                height_m,
            } => self.in_box(
                [*width_m as f32, *depth_m as f32, *height_m as f32],
                keep,
                most,
            ),
            Gap::Outline { corners_m, depth_m } => {
                self.in_outline(&Hollow::of(corners_m), *depth_m as f32, keep, most)
            }
        })
    }

    fn in_box(
        &self,
        gap_m: [f32; 3],
        keep: impl Fn(Tag) -> bool + Sync,
        most: usize,
    ) -> Vec<Match> {
        let mut found: Vec<(usize, InBox)> = self
            .pieces
            .par_iter()
            .enumerate()
            .filter(|(_, (tag, _))| keep(*tag))
            .filter_map(|(at, (_, form))| best_in_box(form, gap_m).map(|best| (at, best)))
            .collect();
        let better = |a: &(usize, InBox), b: &(usize, InBox)| {
            (a.1.over_m > 0.0)
                .cmp(&(b.1.over_m > 0.0))
                .then(b.1.fill.total_cmp(&a.1.fill))
                .then(a.0.cmp(&b.0))
        };
        if found.len() > most && most > 0 {
            found.select_nth_unstable_by(most - 1, better);
        }
        found.truncate(most);
        found.sort_by(better);
        found
            .into_iter()
            .map(|(at, best)| self.match_in_box(at, best, gap_m))
            .collect()
    }

    fn match_in_box(&self, at: usize, best: InBox, gap_m: [f32; 3]) -> Match {
        let (tag, form) = &self.pieces[at];
        let outline_m = if best.pose < form.n_seen() {
            let outline = form.outline(best.pose, if best.across { N_TURNS / 2 } else { 0 });
            points(&outline, false, 0.5 * (gap_m[0] - outline.width_m), 0.0)
        } else {
            // Rarer poses are known by their boxes only.
            rectangle(best.size_m, 0.5 * (gap_m[0] - best.size_m[0]))
        };
        Match {
            tag: *tag,
            pose: best.pose + 1,
            turn_rad: if best.across {
                turn_rad(N_TURNS / 2)
            } else {
                0.0
            },
            fill: f64::from(best.fill),
            size_m: best.size_m.map(f64::from),
            over_m: f64::from(best.over_m),
            outline_m,
        }
    }

    fn in_outline(
        &self,
        hollow: &Hollow,
        depth_m: f32,
        keep: impl Fn(Tag) -> bool + Sync,
        most: usize,
    ) -> Vec<Match> {
        let mut candidates: Vec<Candidate> = self
            .pieces
            .par_iter()
            .enumerate()
            .filter(|(_, (tag, _))| keep(*tag))
            .flat_map_iter(|(at, (_, form))| candidates(at, form, hollow, depth_m))
            .collect();
        let better = |a: &Candidate, b: &Candidate| {
            b.area_m2
                .total_cmp(&a.area_m2)
                .then((a.at, a.view).cmp(&(b.at, b.view)))
        };
        let mut matches: Vec<Match> = Vec::new();
        let mut rest = candidates.as_mut_slice();
        while !rest.is_empty() && matches.len() < most {
            let n = rest.len().min(CHUNK);
            if n < rest.len() {
                rest.select_nth_unstable_by(n - 1, better);
            }
            let (now, later) = rest.split_at_mut(n);
            now.sort_unstable_by(better);
            for candidate in now.iter() {
                let tag = self.pieces[candidate.at as usize].0;
                if matches.len() == most || matches.iter().any(|m| m.tag == tag) {
                    continue;
                }
                matches.extend(self.lying(*candidate, hollow));
            }
            rest = later;
        }
        matches
    }

    /// How a candidate lies in the hollow, when it does.
    fn lying(&self, candidate: Candidate, hollow: &Hollow) -> Option<Match> {
        let (tag, form) = &self.pieces[candidate.at as usize];
        let view = usize::from(candidate.view);
        let (pose, turn) = (view / N_TURNS, view % N_TURNS);
        let outline = form.outline(pose, turn);
        let room = (hollow.width_m - outline.width_m).max(0.0);
        let mut best: Option<(f32, f32, bool)> = None;
        for mirrored in [false, true] {
            for place in 0..N_PLACES {
                let x = hollow.x_m + room * place as f32 / (N_PLACES - 1) as f32;
                if let Some(z) = rest_height_m(&outline, mirrored, x, hollow)
                    && best.is_none_or(|(least, _, _)| z < least - 1e-6)
                {
                    best = Some((z, x, mirrored));
                }
            }
        }
        let (z, x, mirrored) = best?;
        Some(Match {
            tag: *tag,
            pose: pose + 1,
            turn_rad: turn_rad(if mirrored { turn + N_TURNS } else { turn }),
            fill: f64::from((candidate.area_m2 / hollow.area_m2).min(1.0)),
            size_m: [outline.width_m, outline.depth_m, outline.height_m].map(f64::from),
            over_m: 0.0,
            outline_m: points(&outline, mirrored, x, z),
        })
    }
}

/// How a piece lies in a box.
#[derive(Debug, Clone, Copy)]
struct InBox {
    pose: usize,
    /// Turned by a quarter.
    across: bool,
    size_m: [f32; 3],
    fill: f32,
    over_m: f32,
}

fn best_in_box(form: &FitForm, gap_m: [f32; 3]) -> Option<InBox> {
    let volume = gap_m[0] * gap_m[1] * gap_m[2];
    let mut best: Option<InBox> = None;
    for pose in 0..form.n_boxes() {
        let b = form.pose_box(pose);
        for across in [false, true] {
            let size_m = if across {
                [b.depth_m, b.width_m, b.height_m]
            } else {
                [b.width_m, b.depth_m, b.height_m]
            };
            let over = |k: usize| size_m[k] - gap_m[k];
            if (0..3).any(|k| over(k) > NEARLY * gap_m[k]) {
                continue;
            }
            let over_m = over(0).max(over(1)).max(over(2));
            let over_m = if over_m > 5e-5 { over_m } else { 0.0 };
            let fill = size_m[0] * size_m[1] * size_m[2] / volume;
            let beats = best.is_none_or(|old| {
                let (new_over, old_over) = (over_m > 0.0, old.over_m > 0.0);
                (old_over && !new_over) || (old_over == new_over && fill > old.fill)
            });
            if beats {
                best = Some(InBox {
                    pose,
                    across,
                    size_m,
                    fill,
                    over_m,
                });
            }
        }
    }
    best
}

/// An outline that is not too large for a hollow.
#[derive(Debug, Clone, Copy)]
struct Candidate {
    area_m2: f32,
    at: u32,
    view: u8,
}

fn candidates(
    at: usize,
    form: &FitForm,
    hollow: &Hollow,
    depth_m: f32,
) -> impl Iterator<Item = Candidate> {
    (0..form.n_seen() * N_TURNS).filter_map(move |view| {
        let outline = form.outline(view / N_TURNS, view % N_TURNS);
        let fits = outline.height_m <= hollow.height_m + DRAWN_M
            && outline.width_m <= hollow.width_m + DRAWN_M
            && outline.depth_m <= depth_m;
        let area_m2 = outline.area_m2();
        (fits && area_m2 <= hollow.area_m2 * 1.02).then_some(Candidate {
            area_m2,
            at: at as u32,
            view: view as u8,
        })
    })
}

/// Height at which an outline comes to lie on the hollow's floor; nothing when it
/// stands proud of the ceiling there.
fn rest_height_m(outline: &Outline, mirrored: bool, x_m: f32, hollow: &Hollow) -> Option<f32> {
    let step = outline.width_m / N_COLUMNS as f32;
    let mut rest = f32::MIN;
    let mut clear = f32::MAX;
    for c in 0..N_COLUMNS {
        let from = x_m + step * c as f32;
        let (floor, ceiling) = hollow.between(from, from + step);
        let (lower, upper) = outline.column_m(c, mirrored);
        rest = rest.max(floor - lower);
        clear = clear.min(ceiling - upper);
    }
    (rest <= clear + DRAWN_M).then_some(rest.min(clear))
}

/// The front of a box as a ring of points, x and z, m.
fn rectangle(size_m: [f32; 3], x_m: f32) -> Vec<DVec2> {
    let (left, right) = (f64::from(x_m), f64::from(x_m + size_m[0]));
    let top = f64::from(size_m[2]);
    [(left, 0.0), (right, 0.0), (right, top), (left, top)]
        .map(|(x, z)| DVec2::new(x, z))
        .to_vec()
}

/// The outline as a ring of points, x and z, m.
fn points(outline: &Outline, mirrored: bool, x_m: f32, z_m: f32) -> Vec<DVec2> {
    let step = outline.width_m / N_COLUMNS as f32;
    let at =
        |c: usize, z: f32| DVec2::new(f64::from(x_m + step * (c as f32 + 0.5)), f64::from(z_m + z));
    let lower = (0..N_COLUMNS).map(|c| at(c, outline.column_m(c, mirrored).0));
    let upper = (0..N_COLUMNS).map(|c| at(c, outline.column_m(c, mirrored).1));
    let end = |right: bool| {
        let c = if right { N_COLUMNS - 1 } else { 0 };
        let (low, high) = outline.column_m(c, mirrored);
        let x = if right { x_m + outline.width_m } else { x_m };
        DVec2::new(f64::from(x), f64::from(z_m + 0.5 * (low + high)))
    };
    let mut ring: Vec<DVec2> = vec![end(false)];
    ring.extend(lower);
    ring.push(end(true));
    ring.extend(upper.rev());
    ring
}
