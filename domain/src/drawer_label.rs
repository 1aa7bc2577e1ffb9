//! What a drawer's label says in the words of the shop, such as `3/32 blue lanthanated 7in` or `#7 cup gas lens`: a
//! proposal of a part. What is unsure is asked and never guessed; above all a class is never taken from a colour.

use crate::class::ElectrodeClass;
use crate::part::{Arrangement, BodyFamily, CapLength, ColletLength, CupSeat, PartKind, PartSpec};
use crate::size::{CupNumber, Diameter, RodLength};

mod fields;
mod kind;
mod make;
mod sizes;
#[cfg(test)]
mod tests;
mod words;

pub use make::code;

/// What is known of a part. A field that its kind does not have stays empty.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Fields {
    /// What kind of part it is.
    pub kind: Option<PartKind>,
    /// Of an electrode.
    pub class: Option<ElectrodeClass>,
    /// Of what has a diameter.
    pub diameter: Option<Diameter>,
    /// Of an electrode, as delivered.
    pub rod_length: Option<RodLength>,
    /// Of a collet.
    pub collet_length: Option<ColletLength>,
    /// Of a back cap.
    pub cap_length: Option<CapLength>,
    /// Of what goes by a torch body.
    pub family: Option<BodyFamily>,
    /// Of a collet body, a gas lens or an insulator.
    pub arrangement: Option<Arrangement>,
    /// Of a cup.
    pub cup: Option<CupNumber>,
    /// Of a cup.
    pub seat: Option<CupSeat>,
    /// The mixture of a gas, the classification of filler rod.
    pub composition: Option<String>,
}

/// A field of a part, by the name of its column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Field {
    /// What kind of part it is.
    Kind,
    /// The electrode class.
    Class,
    /// The diameter.
    Diameter,
    /// The length.
    Length,
    /// The torch body family.
    Family,
    /// The arrangement of the front end.
    Arrangement,
    /// The cup number.
    CupNumber,
    /// What a cup seats on.
    Seat,
    /// The mixture or classification.
    Composition,
}

impl Field {
    /// The name of its column.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Kind => "kind",
            Self::Class => "class",
            Self::Diameter => "diameter",
            Self::Length => "length",
            Self::Family => "family",
            Self::Arrangement => "arrangement",
            Self::CupNumber => "cup_number",
            Self::Seat => "seat",
            Self::Composition => "composition",
        }
    }
}

/// What a person has to say before the part is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// Of which field.
    pub field: Field,
    /// The question, with the answers that would do.
    pub asks: String,
}

/// What a label was understood to say.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Proposal {
    /// What is known.
    pub fields: Fields,
    /// What is unsure, in the order in which it is best answered.
    pub questions: Vec<Question>,
    /// What was taken in one of its meanings because its kind leaves no other.
    pub notes: Vec<String>,
    /// Words that were not understood. They may matter, so they are told.
    pub not_understood: Vec<String>,
    /// The marking as printed, where it is not in the words of ISO 6848.
    pub marking: Option<String>,
}

impl Proposal {
    /// The part, once nothing is unsure.
    pub fn spec(&self) -> Option<PartSpec> {
        let is_sure = self.questions.is_empty();
        is_sure.then(|| self.fields.spec()).flatten()
    }
}

/// Reads a label. What is told of the part beside it, by whoever answered a question, goes before what the label says
/// and is not asked again.
///
/// ```
/// use tigstock_domain::drawer_label::{Field, Fields, read};
/// let seven = read("#7 cup, gas lens, large body", &Fields::default());
/// let spec = seven.spec().map(|spec| spec.describe());
/// assert_eq!(spec.as_deref(), Some("Cup no. 7, gas-lens seat"));
/// // A colour tells no class, and "lanthanated" leaves three.
/// let blue = read("3/32 blue lanthanated 7in", &Fields::default());
/// assert_eq!(blue.questions[0].field, Field::Class);
/// assert!(blue.spec().is_none());
/// ```
pub fn read(label: &str, told: &Fields) -> Proposal {
    let words = words::read(label);
    let kind = kind::of(&words, told.kind);
    fields::proposed(words, kind, told)
}
