//! What a procedure says of one part in the drawer, with a reason for each dimension that is wrong.

use std::fmt;

use super::State;
use super::equivalence::{Equivalence, NamedThing};
use super::marking::Marking;
use super::requirement::Requirement;
use super::rule;
use crate::class::ElectrodeClass;
use crate::part::{Arrangement, PartSpec};
use crate::size::{CupNumber, Diameter, RodLength};

/// Whether a candidate is a part as delivered, or a stub of the jar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Piece {
    /// As delivered.
    #[default]
    Whole,
    /// A short electrode of the jar, and whether its lot is known.
    Stub {
        /// Whether it is.
        lot_known: bool,
    },
}

/// A part that is held against a procedure.
#[derive(Debug, Clone, Copy)]
pub struct Candidate<'a> {
    /// What it is.
    pub spec: &'a PartSpec,
    /// The marking as printed, where it was told.
    pub marking: Option<&'a str>,
    /// The grade that the maker declares, of the general class.
    pub grade: Option<&'a str>,
    /// Whole, or a stub.
    pub piece: Piece,
}

/// One dimension of a part that is not as the procedure has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reason {
    /// A diameter that is not permitted.
    Size {
        /// The diameter.
        is: Diameter,
        /// Those that are.
        permitted: Vec<Diameter>,
    },
    /// A class that is not permitted.
    Class,
    /// An unidentified electrode.
    ClassUnknown,
    /// An electrode of the general class whose grade is not permitted.
    Grade,
    /// An electrode of the general class without a grade.
    GradeUnknown,
    /// Another length than the one that is fixed; none if it is not told.
    Length(Option<RodLength>, RodLength),
    /// A cup number that is not permitted.
    Cup(CupNumber, Vec<CupNumber>),
    /// An arrangement that is not permitted.
    Arrangement(Arrangement, Vec<Arrangement>),
    /// A gas or a filler that is not permitted.
    Composition(&'static str),
    /// The marking says something else than what the part was set up as.
    Marking(String),
    /// A stub whose lot nobody knows.
    LotUnknown,
    /// The marking is of the other system, or the maker's grade wants a look, and nobody signed.
    NotSigned(String),
}

fn listed<T: fmt::Display>(values: &[T]) -> String {
    let values: Vec<String> = values.iter().map(ToString::to_string).collect();
    values.join(" or ")
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Size { is, permitted } => {
                let permitted: Vec<&str> = permitted.iter().map(|size| size.mm()).collect();
                let (is, permitted) = (is.mm(), listed(&permitted));
                write!(
                    f,
                    "different size: {is} is not {permitted}, and it needs its own collet"
                )
            }
            Self::Class => f.write_str("class not on the procedure"),
            Self::ClassUnknown => f.write_str("class unknown"),
            Self::Grade => f.write_str("the grade that its maker declares is not on the procedure"),
            Self::GradeUnknown => f.write_str(
                "class WG has no fixed composition, and the grade that its maker declares is not told",
            ),
            Self::Length(Some(is), fixed) => write!(f, "different length: {is} is not {fixed}"),
            Self::Length(None, fixed) => {
                write!(f, "length not told; the procedure fixes {fixed}")
            }
            Self::Cup(is, permitted) => {
                write!(f, "cup no. {is} is not no. {}", listed(permitted))
            }
            Self::Arrangement(is, permitted) => {
                let permitted: Vec<&str> = permitted.iter().map(|it| it.as_str()).collect();
                let (is, permitted) = (is.as_str(), listed(&permitted));
                write!(f, "{is} arrangement is not {permitted}")
            }
            Self::Composition(what) => write!(f, "{what} not on the procedure"),
            Self::Marking(read) => {
                write!(
                    f,
                    "its marking reads {read}, which is not what it was set up as"
                )
            }
            Self::LotUnknown => f.write_str("lot unknown"),
            Self::NotSigned(equivalence) => write!(f, "not signed: {equivalence}"),
        }
    }
}

/// What a procedure says of a candidate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict<'e> {
    /// Which of the three.
    pub state: State,
    /// What is wrong, dimension by dimension; nothing if it matches.
    pub reasons: Vec<Reason>,
    /// The signed equivalence on which it stands.
    pub equivalence: Option<&'e Equivalence>,
    /// What would have to be signed: the marking, and the thing that it would be.
    pub to_sign: Option<(String, NamedThing)>,
}

impl Verdict<'_> {
    /// The reasons in one line; empty if it matches.
    pub fn because(&self) -> String {
        let reasons: Vec<String> = self.reasons.iter().map(ToString::to_string).collect();
        reasons.join("; ")
    }

    fn of(reasons: Vec<Reason>) -> Self {
        let state = if reasons.is_empty() {
            State::Matches
        } else {
            State::DoesNotMatch
        };
        Self {
            state,
            reasons,
            equivalence: None,
            to_sign: None,
        }
    }
}

impl Requirement {
    /// Whether the procedure fixes anything of that kind of part. Every electrode is held against it.
    pub fn concerns(&self, spec: &PartSpec) -> bool {
        match spec {
            PartSpec::Electrode { .. } => true,
            PartSpec::Cup { .. } => self.cups.is_some() || self.arrangements.is_some(),
            PartSpec::ColletBody { .. } | PartSpec::GasLens { .. } => {
                self.arrangements.is_some() || self.diameters.is_some()
            }
            PartSpec::ShieldingGas { .. } => self.gases.is_some(),
            PartSpec::FillerRod { .. } => self.fillers.is_some(),
            PartSpec::Collet { .. }
            | PartSpec::BackCap { .. }
            | PartSpec::ORing { .. }
            | PartSpec::Insulator { .. }
            | PartSpec::TungstenWheel => false,
        }
    }

    /// Whether a candidate is what the revision permits, with the equivalences that are signed for it.
    ///
    /// The lists come first, so that no signature makes anything match that is not on them. What the
    /// revision says nothing of, such as an O-ring, matches.
    pub fn verdict<'e>(&self, candidate: &Candidate<'_>, signed: &'e [Equivalence]) -> Verdict<'e> {
        match candidate.spec {
            PartSpec::Electrode {
                class,
                diameter,
                length,
            } => self.electrode(candidate, (*class, *diameter, *length), signed),
            PartSpec::Cup { number, seat, .. } => {
                let permitted = self.cups.as_deref();
                let number = permitted
                    .filter(|permitted| !permitted.contains(number))
                    .map(|permitted| Reason::Cup(*number, permitted.to_vec()));
                let arrangements = self.arrangements.as_deref();
                let seat = arrangements
                    .filter(|permitted| !permitted.iter().any(|it| it.cup_seat() == *seat))
                    .map(|permitted| Reason::Arrangement(seat.arrangement(), permitted.to_vec()));
                Verdict::of(number.into_iter().chain(seat).collect())
            }
            PartSpec::ColletBody {
                diameter,
                arrangement,
                ..
            }
            | PartSpec::GasLens {
                diameter,
                arrangement,
                ..
            } => {
                let size = rule::diameter(self, *diameter);
                let arrangements = self.arrangements.as_deref();
                let arrangement = arrangements
                    .filter(|permitted| !permitted.contains(arrangement))
                    .map(|permitted| Reason::Arrangement(*arrangement, permitted.to_vec()));
                Verdict::of(size.into_iter().chain(arrangement).collect())
            }
            PartSpec::ShieldingGas { mixture } => {
                composition("gas", mixture, self.gases.as_deref())
            }
            PartSpec::FillerRod { classification, .. } => {
                composition("filler", classification, self.fillers.as_deref())
            }
            PartSpec::Collet { .. }
            | PartSpec::BackCap { .. }
            | PartSpec::ORing { .. }
            | PartSpec::Insulator { .. }
            | PartSpec::TungstenWheel => Verdict::of(Vec::new()),
        }
    }

    fn electrode<'e>(
        &self,
        candidate: &Candidate<'_>,
        (class, diameter, length): (ElectrodeClass, Diameter, Option<RodLength>),
        signed: &'e [Equivalence],
    ) -> Verdict<'e> {
        let marking = Marking::read(candidate.marking.unwrap_or_default());
        let length = self
            .length
            .filter(|fixed| length != Some(*fixed))
            .map(|fixed| Reason::Length(length, fixed));
        let wrong = [
            rule::class(self, class, candidate.grade),
            rule::diameter(self, diameter),
            length,
            rule::contradiction(&marking, class, diameter).map(Reason::Marking),
            self.lot(class, candidate.piece),
        ];
        let wrong: Vec<Reason> = wrong.into_iter().flatten().collect();
        let sizes = (diameter, marking.sizes());
        let alike = rule::is_named_alike(self.diameters.as_ref(), sizes)
            && rule::is_named_alike(self.classes.as_ref(), (class, marking.classes()));
        let general = class == ElectrodeClass::Wg;
        if !wrong.is_empty() || (!general && (alike || self.substitution)) {
            return Verdict::of(wrong);
        }
        let thing = NamedThing {
            class,
            diameter,
            grade: candidate.grade.filter(|_| general).map(str::to_owned),
        };
        let printed = if marking.as_str().is_empty() {
            Marking::read(&thing.describe())
        } else {
            marking
        };
        signed_or_not(&printed, thing, signed)
    }

    /// A stub has lost its packet: where nothing may be substituted, its lot has to be known.
    fn lot(&self, class: ElectrodeClass, piece: Piece) -> Option<Reason> {
        let unknown = piece == Piece::Stub { lot_known: false };
        let wanted = !self.substitution && class != ElectrodeClass::Unidentified;
        (unknown && wanted).then_some(Reason::LotUnknown)
    }
}

/// A gas or a filler against the permitted ones.
fn composition<'e>(what: &'static str, told: &str, permitted: Option<&[String]>) -> Verdict<'e> {
    let wrong = permitted.is_some_and(|permitted| !rule::is_among(told, permitted));
    let wrong = wrong.then_some(Reason::Composition(what));
    Verdict::of(wrong.into_iter().collect())
}

/// What is named otherwise than the procedure names it stands on a signature, or waits for one.
fn signed_or_not<'e>(
    printed: &Marking,
    thing: NamedThing,
    signed: &'e [Equivalence],
) -> Verdict<'e> {
    let covers = |equivalence: &&Equivalence| {
        let grade = thing.grade.as_deref();
        equivalence.marking.is(printed)
            && equivalence.thing.is((thing.class, thing.diameter), grade)
    };
    let own = signed.iter().filter(covers).min_by_key(|it| &it.id);
    if own.is_some() {
        return Verdict {
            equivalence: own,
            ..Verdict::of(Vec::new())
        };
    }
    let says = format!("{} = {}", printed.as_str(), thing.describe());
    Verdict {
        state: State::NeedsSignOff,
        to_sign: Some((printed.as_str().to_owned(), thing)),
        ..Verdict::of(vec![Reason::NotSigned(says)])
    }
}
