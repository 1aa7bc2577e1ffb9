//! Seats: which seat a pattern of part sits on, and which it offers to others. A shop reads, corrects
//! and extends them; fit follows from nothing else.

use domain::code::Code;
use domain::part::{Arrangement, BodyFamily, CapLength, ColletLength, CupSeat, PartKind};
use domain::seat::{Offer, Seat, Seats};
use domain::size::RodLength;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;
use crate::{Checker, Violation};

/// The kind under which the head of a torch is entered.
pub const TORCH_KIND: &str = "torch";

resource! {
    /// The seats of a pattern of part, or of one part that differs from its pattern. A seat is written
    /// as its joint and its name, `cup: large gas-lens`; joints are `back-cap`, `o-ring`, `front-end`,
    /// `collet`, `electrode`, `insulator` and `cup`. Two sides mate if they are the same seat.
    #[derive(Default)]
    new NewPartSeats
    /// The seats of a pattern of part, or of one part.
    view PartSeats
    given {
        /// The short name of this entry.
        #[schema(example = "gas-lens-large-gas-lens")]
        code: String,
        /// The one part that it is for; without it, every part of the pattern.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        part: Option<String>,
        /// The kind of part of the pattern, or `torch` for the head of a torch.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "gas-lens")]
        kind: Option<String>,
        /// The body family of the pattern, where its kind has one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "large")]
        family: Option<String>,
        /// The pattern within the kind: arrangement of a collet body, gas lens or insulator, length of
        /// a collet or back cap, seat of a cup.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "gas-lens")]
        pattern: Option<String>,
        /// The seat it sits on; the head of a torch sits on none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "front-end: large")]
        takes: Option<String>,
        /// The seats it offers, each joint once. A collet or electrode seat that is not bound to the
        /// part's own diameter ends in `, any diameter`.
        #[serde(default)]
        #[schema(example = json!(["collet: large standard", "insulator: large gas-lens", "cup: large gas-lens"]))]
        offers: Vec<String>,
        /// The longest electrode it leaves room for, as a short back cap does.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "50 mm")]
        longest_rod: Option<String>,
        /// Where this is known from.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "common practice")]
        source: Option<String>,
        /// A note of the shop.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
        /// Whether the shop has checked it against its torch maker's parts list.
        #[serde(default)]
        checked: bool,
    }
    added {
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// A page of seats.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct PartSeatsPage {
    /// The entries by code.
    pub seats: Vec<PartSeats>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names an entry of seats.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct PartSeatsPath {
    /// The code of the entry.
    pub seats: String,
}

impl NewPartSeats {
    /// The seats, or everything that is wrong with them.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<Seats, Vec<Violation>> {
        let mut checker = Checker::default();
        checker.take("code", Code::parse("seats", &self.code));
        checker.text("source", self.source.as_deref(), 200);
        checker.text("note", self.note.as_deref(), 400);
        self.check_subject(&mut checker);
        let takes = checker.take_opt("takes", self.takes.as_deref(), Seat::parse);
        let mut offers = Vec::with_capacity(self.offers.len());
        for (index, offer) in self.offers.iter().enumerate() {
            offers.extend(checker.take(&format!("offers/{index}"), Offer::parse(offer)));
        }
        let rod = self.longest_rod.as_deref();
        let rod = checker.take_opt("longest_rod", rod, RodLength::parse);
        checker.finish()?;
        let at = |error| vec![Violation::new("/offers", error)];
        Seats::new(takes, offers, rod).map_err(at)
    }

    /// Either one part, or a pattern that parts can have.
    fn check_subject(&self, checker: &mut Checker) {
        let pattern = [
            ("kind", &self.kind),
            ("family", &self.family),
            ("pattern", &self.pattern),
        ];
        if self.part.is_some() {
            for (field, _) in pattern.iter().filter(|(_, value)| value.is_some()) {
                checker.note(field, "follows from the part; leave it out");
            }
            return;
        }
        let Some(kind) = &self.kind else {
            checker.note("kind", "missing; give a kind, torch, or the part it is for");
            return;
        };
        let kind = match kind.as_str() {
            TORCH_KIND => None,
            kind => match checker.take("kind", PartKind::parse(kind)) {
                Some(kind) => Some(kind),
                None => return,
            },
        };
        if kind.is_some_and(|kind| !kind.is_fitted()) {
            checker.note("kind", "is not fitted in a torch and has no seat");
            return;
        }
        self.check_family(kind, checker);
        self.check_pattern(kind, checker);
    }

    fn check_family(&self, kind: Option<PartKind>, checker: &mut Checker) {
        let family = self.family.as_deref();
        if kind == Some(PartKind::Electrode) {
            if family.is_some() {
                checker.note("family", "an electrode has no body family; leave it out");
            }
        } else if let Some(family) = checker.need("family", family, "give small or large") {
            checker.take("family", BodyFamily::parse(family));
        }
    }

    fn check_pattern(&self, kind: Option<PartKind>, checker: &mut Checker) {
        let pattern = self.pattern.as_deref();
        let names: Vec<&str> = match kind {
            Some(PartKind::Collet) => ColletLength::ALL.iter().map(|p| p.as_str()).collect(),
            Some(PartKind::ColletBody | PartKind::GasLens | PartKind::Insulator) => {
                Arrangement::ALL.iter().map(|p| p.as_str()).collect()
            }
            Some(PartKind::BackCap) => CapLength::ALL.iter().map(|p| p.as_str()).collect(),
            Some(PartKind::Cup) => CupSeat::ALL.iter().map(|p| p.as_str()).collect(),
            _ => Vec::new(),
        };
        match pattern {
            Some(_) if names.is_empty() => {
                checker.note("pattern", "this kind has one pattern only; leave it out");
            }
            Some(told) if !names.contains(&told) => {
                let known = names.join(", ");
                checker.note(
                    "pattern",
                    format!("{told} is not a pattern of it; known are {known}"),
                );
            }
            None if !names.is_empty() => {
                checker.note(
                    "pattern",
                    format!("missing; give one of {}", names.join(", ")),
                );
            }
            Some(_) | None => {}
        }
    }
}
