//! What wore which parts: pieces used up, arc seconds, grinds, cut-backs and starts.

use super::{Model, site_of, slot_of};
use crate::shop::{PARTS, SITES, Wear, at, fitted};
use crate::told::{GROUPS, Place, Told};

impl Model {
    /// The sums of wear. Since when there is any is the earliest that was ever told, even if it was
    /// taken back.
    pub(crate) fn wear(&self) -> Wear {
        let mut wear = Wear::new();
        let until = self.until.unwrap_or(i64::MAX);
        for entry in &self.entries {
            if slot_of(&entry.told) > until {
                continue;
            }
            let sign = i64::from(!entry.taken_back);
            for (place, group, sums) in worn(&entry.told) {
                let key = (
                    PARTS[place.part].to_owned(),
                    SITES[place.site].to_owned(),
                    GROUPS[group].to_owned(),
                );
                let (kept, since) = wear.entry(key).or_insert(([0; 5], None));
                for (kept, more) in kept.iter_mut().zip(sums) {
                    *kept += sign * more;
                }
                let at = at(place.slot).timestamp_micros();
                *since = Some(since.map_or(at, |since| since.min(at)));
            }
        }
        wear
    }
}

/// What an entry adds to the wear of which parts.
fn worn(told: &Told) -> Vec<(Place, usize, [i64; 5])> {
    match *told {
        Told::Use {
            torch,
            slot,
            worn: [minutes, grinds, cut_backs, starts],
            done,
            label,
        } => {
            let site = site_of(torch);
            let exposed = fitted(torch, slot).iter().map(|part| {
                let sums = [0, minutes * 60, grinds, cut_backs, starts];
                let part = *part;
                (Place { part, site, slot }, label.group, sums)
            });
            let used = done.map(|(what, part, quantity)| {
                let used = if what == "put-back" {
                    -quantity
                } else {
                    quantity
                };
                (Place { part, site, slot }, label.group, [used, 0, 0, 0, 0])
            });
            exposed.chain(used).collect()
        }
        Told::Move(place, "issue" | "unlogged-use", quantity, label) => {
            vec![(place, label.group, [quantity, 0, 0, 0, 0])]
        }
        Told::Move(place, "return", quantity, label) => {
            vec![(place, label.group, [-quantity, 0, 0, 0, 0])]
        }
        Told::Move(..)
        | Told::Receive(..)
        | Told::Count(..)
        | Told::Transfer(..)
        | Told::Promise(..) => Vec::new(),
    }
}
