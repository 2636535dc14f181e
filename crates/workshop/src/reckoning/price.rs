//! What does the layout cost?

use method::{Caution, Certainty, Figure};
use serde::Serialize;

use super::{Ground, key::Key, memo::Memo};
use crate::{
    Layout, Money, WorkshopError,
    findings::{Finding, PriceMissing},
};

/// One line of the price.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Priced {
    /// The tag of a piece, or the name of a material.
    pub what: String,
    /// How many: 1 for a piece, bags for a material.
    pub count: u64,
    /// Price of one, where known.
    pub each: Option<Money>,
    /// Price of all, where known.
    pub sum: Option<Money>,
}

/// The group *Price*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Price {
    /// Pieces in the order of placing, then materials.
    pub lines: Vec<Priced>,
    /// Sum of the lines whose price is known, exact; none when there is no price or no one currency.
    pub sum: Option<Money>,
    /// The same as a figure; estimated where a price is missing.
    pub total: Option<Figure>,
    /// What was found.
    pub findings: Vec<Finding>,
    /// The same in words.
    pub cautions: Vec<Caution>,
}

/// Reckons the group from the pieces' prices and the bags of ground; poses don't count.
pub(super) fn reckon(layout: &Layout, ground: &Ground, memo: &mut Memo) -> Price {
    let lines = lines(layout, ground);
    let key = lines.iter().fold(Key::default(), |key, (line, reason)| {
        let key = key.text(&line.what).count(line.count).text(reason);
        match line.each {
            Some(each) => key.count(each.minor as u64).text(each.currency.code()),
            None => key.text(""),
        }
    });
    memo.price
        .get(key, &mut memo.counts.n_price, || group(lines))
}

/// Each line with the reason for a price that is missing.
fn lines(layout: &Layout, ground: &Ground) -> Vec<(Priced, &'static str)> {
    let pieces = layout.placed.iter().map(|placed| {
        let what = placed.piece.tag().to_string();
        priced(what, 1, placed.piece.price(), "it has no price yet")
    });
    let materials = layout
        .ground
        .materials
        .iter()
        .zip(&ground.materials)
        .filter(|(_, laid)| laid.volume.value > 0.0)
        .map(|(material, laid)| match &laid.bags {
            Some(bags) => priced(
                laid.name.clone(),
                bags.value as u64,
                material.bag_price,
                "its bag has no price yet",
            ),
            None => priced(
                laid.name.clone(),
                1,
                None,
                "it has no size of bag to price it by",
            ),
        });
    pieces.chain(materials).collect()
}

fn priced(
    what: String,
    count: u64,
    each: Option<Money>,
    reason: &'static str,
) -> (Priced, &'static str) {
    let sum = each.and_then(|each| each.times(count).ok());
    let line = Priced {
        what,
        count,
        each,
        sum,
    };
    (line, reason)
}

fn group(lines: Vec<(Priced, &'static str)>) -> Price {
    let mut findings: Vec<Finding> = lines
        .iter()
        .filter(|(line, _)| line.sum.is_none())
        .map(|(line, reason)| {
            Finding::PriceMissing(PriceMissing {
                what: line.what.clone(),
                reason: (*reason).to_owned(),
            })
        })
        .collect();
    let mut sums = lines.iter().filter_map(|(line, _)| line.sum);
    let sum: Result<Option<Money>, WorkshopError> = sums
        .next()
        .map(|first| sums.try_fold(first, Money::plus))
        .transpose();
    let sum = sum.unwrap_or_else(|error| {
        findings.push(Finding::PriceMissing(PriceMissing {
            what: "the sum".to_owned(),
            reason: error.to_string(),
        }));
        None
    });
    let certainty = if findings.is_empty() {
        Certainty::Measured
    } else {
        Certainty::Estimated
    };
    Price {
        total: sum.map(|sum| {
            Figure::new(
                sum.amount(),
                sum.currency.code(),
                certainty,
                "sum of the lines whose price is known",
                "prices as stated in the layout or the yard",
            )
        }),
        sum,
        lines: lines.into_iter().map(|(line, _)| line).collect(),
        cautions: findings.iter().map(Finding::caution).collect(),
        findings,
    }
}
