//! The ways out of a misfit: which parts to keep, which to take off, and what may go in their place.
//! All ways are found that change no more joints than they must.

use std::collections::BTreeMap;

use super::{Piece, Side};
use crate::part::PartSpec;
use crate::seat::{self, Joint, Seats};
use crate::size::RodLength;

/// One part to put in, and what would do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// The seat that has to be taken.
    pub wanted: Side,
    /// The parts that take it, any of which will do; none if nothing that is known does.
    pub alternatives: Vec<usize>,
}

/// One way to a whole set-up.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Way {
    /// What stays as it is.
    pub keep: Vec<usize>,
    /// What has to come off.
    pub remove: Vec<usize>,
    /// What has to go in, from the rear to the tip.
    pub choices: Vec<Choice>,
}

impl Way {
    /// Whether parts that are known make it.
    pub fn is_possible(&self) -> bool {
        self.choices
            .iter()
            .all(|choice| !choice.alternatives.is_empty())
    }

    /// The joints at which something changes, as a set of bits.
    fn joints(&self, pieces: &[Piece<'_>]) -> u32 {
        let removed = self.remove.iter().filter_map(|part| joint(pieces[*part]));
        let put_in = self.choices.iter().map(|choice| choice.wanted.seat.joint());
        removed
            .chain(put_in)
            .fold(0, |set, joint| set | 1 << (joint as u32))
    }

    fn with(&self, other: &Self) -> Self {
        let mut both = self.clone();
        both.keep.extend(&other.keep);
        both.remove.extend(&other.remove);
        both.choices.extend(other.choices.iter().cloned());
        both
    }
}

/// The ways to a whole set-up on a head, from what is `fitted` and the other parts that are known.
///
/// Each way keeps what it can. A way that changes more joints than another one, and all of that one's,
/// is left out, unless only its own parts are known. Those with the fewest changes come first. If what is fitted is whole already, the one
/// way is to change nothing.
pub fn ways(head: &Seats, pieces: &[Piece<'_>], fitted: &[usize]) -> Vec<Way> {
    let search = Search { pieces, fitted };
    let mut all = search.on(head, None);
    for way in &mut all {
        search.remove_the_rest(way);
    }
    let mut all: Vec<Way> = all
        .into_iter()
        .filter_map(|way| search.under_the_cap(way))
        .collect();
    let changes: Vec<(u32, bool)> = all
        .iter()
        .map(|way| (way.joints(pieces), way.is_possible()))
        .collect();
    // What wants a part that nobody knows takes no way away that parts make.
    let is_least = |(set, is_possible): (u32, bool)| {
        !changes.iter().any(|(other, known)| {
            *other != set && other & set == *other && (*known || !is_possible)
        })
    };
    let mut least = changes.iter().map(|change| is_least(*change));
    all.retain(|_| least.next().unwrap_or(false));
    for way in &mut all {
        way.choices.sort_by_key(|choice| choice.wanted.seat.joint());
    }
    all.sort_by_key(|way| way.joints(pieces).count_ones());
    all
}

fn joint(piece: Piece<'_>) -> Option<Joint> {
    Some(piece.seats?.takes()?.joint())
}

struct Search<'s, 'a> {
    pieces: &'s [Piece<'a>],
    fitted: &'s [usize],
}

impl Search<'_, '_> {
    /// All ways to fill the seats that one carrier offers.
    fn on(&self, carrier: &Seats, own: Option<crate::size::Diameter>) -> Vec<Way> {
        let mut ways = vec![Way::default()];
        for offer in carrier.offers() {
            let here = self.at(&Side::offered(offer, own));
            ways = ways
                .iter()
                .flat_map(|way| here.iter().map(|more| way.with(more)))
                .collect();
        }
        ways
    }

    /// All ways to fill one seat, with all that then sits on what fills it.
    fn at(&self, wanted: &Side) -> Vec<Way> {
        let joint = wanted.seat.joint();
        let there = |part: &usize| self::joint(self.pieces[*part]) == Some(joint);
        let current: Vec<usize> = self.fitted.iter().copied().filter(there).collect();
        let mut ways = Vec::new();
        let sitting = current
            .iter()
            .copied()
            .find(|part| self.mates(*part, wanted));
        if let Some(sitting) = sitting {
            let others = current.iter().copied().filter(|part| *part != sitting);
            let kept = Way {
                keep: vec![sitting],
                remove: others.collect(),
                choices: Vec::new(),
            };
            ways.extend(self.upon(sitting).iter().map(|more| kept.with(more)));
            if is_leaf(joint) {
                return ways;
            }
        }
        let groups = self.candidates(wanted);
        if groups.is_empty() && sitting.is_none() {
            ways.push(chosen(wanted, &current, Vec::new()));
        }
        for group in groups {
            let carrier = group[0];
            let choice = chosen(wanted, &current, group);
            ways.extend(self.upon(carrier).iter().map(|more| choice.with(more)));
        }
        ways
    }

    fn upon(&self, part: usize) -> Vec<Way> {
        let piece = self.pieces[part];
        match piece.seats {
            Some(seats) => self.on(seats, seat::diameter(piece.spec)),
            None => vec![Way::default()],
        }
    }

    fn mates(&self, part: usize, wanted: &Side) -> bool {
        Side::taken(self.pieces[part]).is_some_and(|side| side.mates(wanted))
    }

    /// What is not fitted and takes the seat, in groups that offer the same and leave the same room,
    /// so that any of one group will do for any other.
    fn candidates(&self, wanted: &Side) -> Vec<Vec<usize>> {
        let mut groups: BTreeMap<(Vec<Side>, Option<RodLength>), Vec<usize>> = BTreeMap::new();
        for part in 0..self.pieces.len() {
            if self.fitted.contains(&part) || !self.mates(part, wanted) {
                continue;
            }
            let piece = self.pieces[part];
            let own = seat::diameter(piece.spec);
            let seats = piece.seats.map_or(&[][..], Seats::offers);
            let mut offered: Vec<Side> = seats
                .iter()
                .map(|offer| Side::offered(offer, own))
                .collect();
            offered.sort();
            let room = piece.seats.and_then(Seats::longest_rod);
            groups.entry((offered, room)).or_default().push(part);
        }
        groups.into_values().collect()
    }

    /// What sits on nothing that is left comes off, unless something is wanted that nobody knows, on
    /// which it may sit.
    fn remove_the_rest(&self, way: &mut Way) {
        if !way.is_possible() {
            return;
        }
        let told = |part: &usize| way.keep.contains(part) || way.remove.contains(part);
        let rest: Vec<usize> = self
            .fitted
            .iter()
            .copied()
            .filter(|part| !told(part))
            .collect();
        way.remove.extend(rest);
    }

    /// The rods of a way against the caps of that way; nothing if the rod that stays is too long.
    fn under_the_cap(&self, mut way: Way) -> Option<Way> {
        let room = |part: &usize| self.pieces[*part].seats.and_then(Seats::longest_rod);
        let kept = way.keep.iter().filter_map(room);
        // All parts of a group leave the same room.
        let chosen = way
            .choices
            .iter()
            .filter_map(|choice| choice.alternatives.first());
        let Some(longest) = kept.chain(chosen.filter_map(room)).min() else {
            return Some(way);
        };
        let fits = |part: &usize| {
            if let PartSpec::Electrode { length, .. } = self.pieces[*part].spec {
                length.is_some_and(|length| length <= longest)
            } else {
                true
            }
        };
        if !way.keep.iter().all(fits) {
            return None;
        }
        for choice in &mut way.choices {
            choice.alternatives.retain(fits);
        }
        Some(way)
    }
}

/// Where nothing sits on what sits there, and so nothing is gained by changing what fits. A rod may have
/// to change for the cap.
fn is_leaf(joint: Joint) -> bool {
    matches!(joint, Joint::ORing | Joint::Insulator | Joint::Cup)
}

fn chosen(wanted: &Side, current: &[usize], alternatives: Vec<usize>) -> Way {
    Way {
        keep: Vec::new(),
        remove: current.to_vec(),
        choices: vec![Choice {
            wanted: wanted.clone(),
            alternatives,
        }],
    }
}
