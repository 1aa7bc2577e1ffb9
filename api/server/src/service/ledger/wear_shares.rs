//! Which parts an entry of use wears, and by how much, as it is recorded and taken back. The sums of
//! the past in `store/past.rs` follow the same rule, and `rebuild` holds the two against each other.

use domain::exposure::ArcSource;

use super::books::Worn;
use crate::store::entity::entries;

/// What an entry adds to the exposure of each part: what is fitted shares all of it, except that the
/// grinds of an electrode that is not fitted, and student-days, belong to the part alone that the entry
/// then names.
pub(crate) fn shares(entry: &entries::Model, fitted: &[i64]) -> Vec<(i64, Worn)> {
    let arc_of = |source: ArcSource| {
        let is_told_by = entry.arc_from.as_deref() == Some(source.as_str());
        if is_told_by { entry.arc_seconds } else { 0 }
    };
    let alone = entry.exposed_part_id;
    let of_fitted = Worn {
        arc_seconds: entry.arc_seconds,
        arc_counter_seconds: arc_of(ArcSource::Counter),
        arc_cylinder_seconds: arc_of(ArcSource::Cylinder),
        grinds: if alone.is_some() { 0 } else { entry.grinds },
        cut_backs: entry.cut_backs,
        starts: entry.starts,
        student_days: 0,
    };
    let of_alone = Worn {
        grinds: entry.grinds,
        student_days: entry.student_days,
        ..Worn::default()
    };
    let fitted = fitted.iter().map(|part| (*part, of_fitted));
    let shares = fitted.chain(alone.map(|part| (part, of_alone)));
    shares
        .filter(|(_, worn)| *worn != Worn::default())
        .collect()
}
