//! Whether parts fit together on a torch: every seat that is offered must be taken exactly once, by a
//! part of that very seat. What would mend a misfit is in [`ways`].

use crate::part::PartSpec;
use crate::seat::{self, Joint, Offer, Seat, Seats};
use crate::size::{Diameter, RodLength};

#[cfg(test)]
mod tests;
#[cfg(test)]
pub(crate) mod usual;
pub mod ways;

/// A part with its seats.
#[derive(Debug, Clone, Copy)]
pub struct Piece<'a> {
    /// What it is.
    pub spec: &'a PartSpec,
    /// Its seats; none if they are not known, or if it is not fitted in a torch at all.
    pub seats: Option<&'a Seats>,
}

/// Who offers a seat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carrier {
    /// The head of the torch.
    Torch,
    /// A part, by its index.
    Part(usize),
}

/// One side of a joint: the seat, and the diameter where the joint goes by it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Side {
    /// The seat.
    pub seat: Seat,
    /// The diameter; none where the joint does not go by it or any will do.
    pub diameter: Option<Diameter>,
}

impl Side {
    /// What a part takes.
    pub(crate) fn taken(piece: Piece<'_>) -> Option<Self> {
        let seat = piece.seats?.takes()?.clone();
        let diameter = seat::diameter(piece.spec).filter(|_| seat.joint().is_by_diameter());
        Some(Self { seat, diameter })
    }

    /// What a carrier offers, whose own diameter is given.
    pub(crate) fn offered(offer: &Offer, own: Option<Diameter>) -> Self {
        let by_diameter = offer.seat.joint().is_by_diameter() && !offer.any_diameter;
        Self {
            seat: offer.seat.clone(),
            diameter: own.filter(|_| by_diameter),
        }
    }

    /// Whether two sides mate: one seat, and one diameter where both have one.
    pub fn mates(&self, other: &Self) -> bool {
        let differ = matches!((self.diameter, other.diameter), (Some(a), Some(b)) if a != b);
        self.seat == other.seat && !differ
    }
}

/// What keeps parts from being a whole set-up. Parts are named by their index.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// Nothing sits on a seat.
    Vacant {
        /// Who offers it.
        on: Carrier,
        /// The seat.
        offered: Side,
    },
    /// A part sits where another seat is offered.
    Mismatch {
        /// The part.
        part: usize,
        /// Who offers the seat.
        on: Carrier,
        /// What the part takes.
        takes: Side,
        /// What is offered.
        offered: Side,
    },
    /// Several parts for one seat.
    Crowded {
        /// Where.
        joint: Joint,
        /// The parts.
        parts: Vec<usize>,
    },
    /// A part whose carrier is missing: nothing offers such a joint.
    Loose {
        /// The part.
        part: usize,
        /// What it takes.
        takes: Side,
    },
    /// The electrode is too long for the back cap, or of unknown length under one that sets a limit.
    RodTooLong {
        /// The electrode.
        electrode: usize,
        /// The back cap.
        cap: usize,
        /// The longest that goes under it.
        longest: RodLength,
        /// How long the electrode is.
        length: Option<RodLength>,
    },
    /// A part whose seats nobody has told.
    Unknown {
        /// The part.
        part: usize,
    },
    /// Of a kind that is not fitted in a torch.
    NotFitted {
        /// The part.
        part: usize,
    },
}

impl Fault {
    /// Whether more parts cannot mend it: something that is there does not go together.
    pub fn is_misfit(&self) -> bool {
        match self {
            Self::Mismatch { .. }
            | Self::Crowded { .. }
            | Self::RodTooLong { .. }
            | Self::NotFitted { .. } => true,
            Self::Vacant { .. } | Self::Loose { .. } | Self::Unknown { .. } => false,
        }
    }
}

/// What a list of parts is on a torch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// Every seat is taken exactly once.
    Complete,
    /// Something is missing.
    Incomplete,
    /// Something does not go together.
    DoesNotFit,
    /// The seats of a part are not known.
    CannotTell,
}

/// A seat that is taken as it should be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mating {
    /// Where.
    pub joint: Joint,
    /// The part that sits there.
    pub part: usize,
    /// On what.
    pub on: Carrier,
}

/// The answer of a fit check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fit {
    /// What mates.
    pub matings: Vec<Mating>,
    /// What does not, or is missing.
    pub faults: Vec<Fault>,
}

impl Fit {
    /// The state in one word.
    pub fn state(&self) -> State {
        if self.faults.is_empty() {
            State::Complete
        } else if self.faults.iter().any(Fault::is_misfit) {
            State::DoesNotFit
        } else if self
            .faults
            .iter()
            .any(|fault| matches!(fault, Fault::Unknown { .. }))
        {
            State::CannotTell
        } else {
            State::Incomplete
        }
    }
}

/// Checks parts on the head of a torch.
///
/// Complete means: each seat that the head or a part offers is taken by exactly one part, each part
/// sits on exactly one seat, both sides of each joint are the same seat and of one diameter where the
/// joint goes by it, and the rod goes under the cap. Nothing is looked up in a table of torches.
pub fn check(head: &Seats, pieces: &[Piece<'_>]) -> Fit {
    let mut fit = Fit {
        matings: Vec::new(),
        faults: Vec::new(),
    };
    let takes: Vec<Option<Side>> = pieces.iter().map(|piece| Side::taken(*piece)).collect();
    let offers = offers(head, pieces);
    for joint in Joint::ALL.iter().copied() {
        let there = |side: &Option<Side>| side.as_ref().is_some_and(|s| s.seat.joint() == joint);
        let parts: Vec<usize> = (0..pieces.len()).filter(|i| there(&takes[*i])).collect();
        let mut offered = offers.iter().filter(|(_, side)| side.seat.joint() == joint);
        if parts.len() > 1 {
            fit.faults.push(Fault::Crowded {
                joint,
                parts: parts.clone(),
            });
        }
        match offered.next() {
            Some((on, side)) if parts.is_empty() => fit.faults.push(Fault::Vacant {
                on: *on,
                offered: side.clone(),
            }),
            Some((on, side)) => {
                let sitting = parts
                    .iter()
                    .filter_map(|part| Some((*part, takes[*part].as_ref()?)));
                for (part, takes) in sitting {
                    fit.sit((part, takes), (*on, side));
                }
            }
            None => fit.faults.extend(parts.iter().filter_map(|part| {
                let takes = takes[*part].clone()?;
                Some(Fault::Loose { part: *part, takes })
            })),
        }
    }
    fit.faults.extend(strangers(pieces));
    fit.faults.extend(rod_too_long(pieces));
    fit
}

impl Fit {
    fn sit(&mut self, (part, takes): (usize, &Side), (on, offered): (Carrier, &Side)) {
        if takes.mates(offered) {
            self.matings.push(Mating {
                joint: takes.seat.joint(),
                part,
                on,
            });
        } else {
            self.faults.push(Fault::Mismatch {
                part,
                on,
                takes: takes.clone(),
                offered: offered.clone(),
            });
        }
    }
}

/// Every seat that is offered, by whom. Of several parts that offer one joint, the first counts: they
/// sit on one seat, and that is told.
fn offers(head: &Seats, pieces: &[Piece<'_>]) -> Vec<(Carrier, Side)> {
    let of_head = head.offers().iter();
    let mut all: Vec<(Carrier, Side)> = of_head
        .map(|offer| (Carrier::Torch, Side::offered(offer, None)))
        .collect();
    for (index, piece) in pieces.iter().enumerate() {
        let own = seat::diameter(piece.spec);
        for offer in piece.seats.map_or(&[][..], Seats::offers) {
            all.push((Carrier::Part(index), Side::offered(offer, own)));
        }
    }
    all
}

/// Parts without seats: of a kind that is not fitted, or not known.
fn strangers<'a>(pieces: &'a [Piece<'a>]) -> impl Iterator<Item = Fault> + 'a {
    let without = pieces
        .iter()
        .enumerate()
        .filter(|(_, piece)| piece.seats.is_none());
    without.map(|(part, piece)| {
        if piece.spec.kind().is_fitted() {
            Fault::Unknown { part }
        } else {
            Fault::NotFitted { part }
        }
    })
}

/// The electrode against the shortest limit that a part sets to it.
fn rod_too_long(pieces: &[Piece<'_>]) -> Option<Fault> {
    let limit = |(index, piece): (usize, &Piece<'_>)| Some((piece.seats?.longest_rod()?, index));
    let (longest, cap) = pieces.iter().enumerate().filter_map(limit).min()?;
    pieces.iter().enumerate().find_map(|(electrode, piece)| {
        let PartSpec::Electrode { length, .. } = piece.spec else {
            return None;
        };
        let fits = length.is_some_and(|length| length <= longest);
        (!fits).then_some(Fault::RodTooLong {
            electrode,
            cap,
            longest,
            length: *length,
        })
    })
}
