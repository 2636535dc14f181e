//! Which triangles of two meshes may touch.

use glam::DVec3;

use super::tree::Tree;
use super::{Bvh, Placement};

/// One box of a tree: a node's member, or the whole.
#[derive(Debug, Clone, Copy)]
struct Member {
    low_m: DVec3,
    high_m: DVec3,
    child: u32,
    count: u32,
}

impl Bvh {
    /// Pairs (triangle of `self`, triangle of `other`) whose boxes come within
    /// `margin_m` of each other, in ascending order.
    ///
    /// `self_from_other` takes the other mesh's frame into this one's. The
    /// boxes run along this mesh's axes: every pair that touches is among
    /// them, and some that don't.
    #[must_use]
    pub fn pairs_overlapping(
        &self,
        other: &Self,
        self_from_other: &Placement,
        margin_m: f64,
    ) -> Vec<(u32, u32)> {
        let mut found = Vec::new();
        let (Some(mine), Some(theirs)) = (whole(&self.tree), whole(&other.tree)) else {
            return found;
        };
        let placed: Vec<(DVec3, DVec3)> = other
            .corners_m
            .iter()
            .map(|corners| box_of(&corners.map(|v| self_from_other.point(v))))
            .collect();
        let mut waiting = vec![(mine, theirs)];
        while let Some((a, b)) = waiting.pop() {
            let (low_m, high_m) = self_from_other.box_round(b.low_m, b.high_m);
            if apart((a.low_m, a.high_m), (low_m, high_m), margin_m) {
                continue;
            }
            let open_mine = a.count == 0 && (b.count > 0 || size(a) >= size(b));
            if open_mine {
                waiting.extend(members(&self.tree, a.child).map(|member| (member, b)));
            } else if b.count == 0 {
                waiting.extend(members(&other.tree, b.child).map(|member| (a, member)));
            } else {
                let theirs = b.child as usize..(b.child + b.count) as usize;
                for i in a.child as usize..(a.child + a.count) as usize {
                    let own = box_of(&self.corners_m[i]);
                    let near = theirs.clone().filter(|j| !apart(own, placed[*j], margin_m));
                    found.extend(near.map(|j| (self.tree.order[i], other.tree.order[j])));
                }
            }
        }
        found.sort_unstable();
        found
    }
}

fn box_of(corners: &[DVec3; 3]) -> (DVec3, DVec3) {
    let [a, b, c] = *corners;
    (a.min(b).min(c), a.max(b).max(c))
}

fn apart(a: (DVec3, DVec3), b: (DVec3, DVec3), margin_m: f64) -> bool {
    let margin = DVec3::splat(margin_m);
    (a.0 - margin).cmpgt(b.1).any() || (b.0 - margin).cmpgt(a.1).any()
}

fn size(member: Member) -> f64 {
    (member.high_m - member.low_m).length_squared()
}

fn whole(tree: &Tree) -> Option<Member> {
    let (low_m, high_m) = tree.bounds_m?;
    Some(Member {
        low_m,
        high_m,
        child: 0,
        count: 0,
    })
}

/// The members of a node that hold something.
fn members(tree: &Tree, node: u32) -> impl Iterator<Item = Member> + '_ {
    let node = &tree.nodes[node as usize];
    (0..4).filter_map(move |i| {
        let corner = |of: &[glam::Vec4; 3]| {
            DVec3::new(
                f64::from(of[0][i]),
                f64::from(of[1][i]),
                f64::from(of[2][i]),
            )
        };
        (node.low[0][i] <= node.high[0][i]).then(|| Member {
            low_m: corner(&node.low) + tree.centre_m,
            high_m: corner(&node.high) + tree.centre_m,
            child: node.child[i],
            count: node.count[i],
        })
    })
}
