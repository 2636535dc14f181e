//! How much water is left in the tank at its water line?

use layout::ground::{Share, WaterVolume, build};
use method::{Caution, Certainty, Figure, Severity};
use serde::Serialize;

use super::{key::Key, memo::Memo, reckon::InGround};
use crate::{Layout, findings::Finding};

/// The group *Water*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Water {
    /// Water at the water line, L, with what stands in the gaps of the ground where these are known.
    pub water: Figure,
    /// The part of it above the ground, L.
    pub free: Figure,
    /// The part of it in the gaps of the ground, L, where grain densities are known.
    pub pore: Option<Figure>,
    /// Volume of pieces under water and above the ground, L.
    pub displaced_by_pieces: Figure,
    /// What the tank would hold at that line with nothing in it, L.
    pub bare: Figure,
    /// What was found.
    pub findings: Vec<Finding>,
    /// The same in words, and what the methods said.
    pub cautions: Vec<Caution>,
}

/// Reckons the group.
pub(super) fn reckon(layout: &Layout, in_ground: &InGround, memo: &mut Memo) -> Water {
    let level_m = layout.tank.water_line_m;
    let mut key = Key::default().key(&in_ground.laid_key).number(level_m);
    for share in &in_ground.shares {
        key = key.number(share.submerged_m3).numbers(&share.wet_in_bed_m3);
    }
    memo.water.get(key, &mut memo.counts.n_water, || {
        let shares: Vec<Share> = in_ground.shares.iter().map(|s| (**s).clone()).collect();
        group(&build::water(
            &in_ground.plan,
            &in_ground.laid,
            &shares,
            level_m,
        ))
    })
}

fn group(volume: &WaterVolume) -> Water {
    let figure = |value_m3: f64, relation: &str| {
        Figure::new(
            value_m3 * 1e3,
            "L",
            Certainty::Estimated,
            relation,
            "balance of volumes",
        )
    };
    let pore = (volume.gaps_unknown_in_m3 == 0.0 || volume.pore_m3 > 0.0).then(|| {
        figure(
            volume.pore_m3,
            "wet ground × (1 − bulk density ÷ grain density)",
        )
    });
    let cautions = (volume.gaps_unknown_in_m3 > 0.0)
        .then(|| {
            Caution::new(
                "gaps_unknown",
                Severity::Note,
                format!(
                    "the grain density of {:.1} L of wet ground is not known; the water in its gaps is not counted",
                    volume.gaps_unknown_in_m3 * 1e3
                ),
            )
        })
        .into_iter()
        .collect();
    Water {
        water: figure(
            volume.total_m3(),
            "free water + water in the gaps of the ground",
        ),
        free: figure(
            volume.free_m3,
            "inside plan × depth − ground under water − pieces under water and above the ground",
        ),
        pore,
        displaced_by_pieces: figure(
            volume.pieces_m3,
            "closed meshes cut exactly by the water's level and the ground's top",
        ),
        bare: figure(volume.bare_m3, "inside length × width × water line"),
        findings: Vec::new(),
        cautions,
    }
}
