//! Which parts an entry of use wears, and by how much, as it is recorded and taken back. The sums of
//! the past in `store/past.rs` follow the same rule, and `rebuild` holds the two against each other.

use super::books::Worn;
use crate::store::entity::entries;

/// What an entry adds to the exposure of each part: what is fitted shares all of it, except that the
/// grinds of an electrode that is not fitted, which the entry then names, are that electrode's alone.
pub(crate) fn shares(entry: &entries::Model, fitted: &[i64]) -> Vec<(i64, Worn)> {
    let all = Worn {
        arc_seconds: entry.arc_seconds,
        grinds: entry.grinds,
        cut_backs: entry.cut_backs,
        starts: entry.starts,
    };
    let elsewhere = entry.ground_part_id;
    let of_fitted = match elsewhere {
        None => all,
        Some(_) => Worn { grinds: 0, ..all },
    };
    let ground = Worn {
        grinds: entry.grinds,
        ..Worn::default()
    };
    let fitted = fitted.iter().map(|part| (*part, of_fitted));
    let shares = fitted.chain(elsewhere.map(|part| (part, ground)));
    shares
        .filter(|(_, worn)| *worn != Worn::default())
        .collect()
}
