//! Seats: the mating faces of a torch's front end. Fit is decided here and nowhere else: a part sits on
//! one seat and offers seats to others. Which seats a part has is data of the shop, passed in.

use std::fmt;

use thiserror::Error;

use crate::named::named;
use crate::part::{PartKind, PartSpec};
use crate::size::{Diameter, RodLength};

named! {
    /// A joint: a place of the front end where one part sits on another. The list runs from the rear
    /// to the tip.
    Joint, "joint" {
        /// The thread at the rear of the head, for the back cap.
        BackCap = "back-cap",
        /// The groove of the back cap, for its O-ring.
        ORing = "o-ring",
        /// The thread at the front of the head, for the collet body or the gas lens.
        FrontEnd = "front-end",
        /// The bore of the collet body or gas lens, for the collet.
        Collet = "collet",
        /// The bore of the collet, for the electrode.
        Electrode = "electrode",
        /// Between the head and the cup, for the insulator.
        Insulator = "insulator",
        /// The thread or push fit of the collet body or gas lens, for the cup.
        Cup = "cup",
    }
}

impl Joint {
    /// The joint at which a part of that kind sits by its name; none if it is not fitted in a torch.
    pub fn of(kind: PartKind) -> Option<Self> {
        match kind {
            PartKind::BackCap => Some(Self::BackCap),
            PartKind::ORing => Some(Self::ORing),
            PartKind::ColletBody | PartKind::GasLens => Some(Self::FrontEnd),
            PartKind::Collet => Some(Self::Collet),
            PartKind::Electrode => Some(Self::Electrode),
            PartKind::Insulator => Some(Self::Insulator),
            PartKind::Cup => Some(Self::Cup),
            PartKind::ShieldingGas | PartKind::FillerRod | PartKind::TungstenWheel => None,
        }
    }

    /// Whether its two sides must be of one diameter: what holds a rod must be of the rod's diameter.
    pub fn is_by_diameter(self) -> bool {
        matches!(self, Self::Collet | Self::Electrode)
    }

    /// What sits there, in words.
    pub fn noun(self) -> &'static str {
        match self {
            Self::BackCap => "back cap",
            Self::ORing => "back-cap O-ring",
            Self::FrontEnd => "collet body or gas lens",
            Self::Collet => "collet",
            Self::Electrode => "electrode",
            Self::Insulator => "insulator",
            Self::Cup => "cup",
        }
    }

    /// What happens without the part that sits there, where that is not plain.
    pub fn without(self) -> Option<&'static str> {
        match self {
            Self::ORing => Some("Do not weld without it: air is drawn in at the cap."),
            Self::BackCap => Some("Do not weld without it: the rear of the head is live and bare."),
            Self::Insulator => {
                Some("Do not weld without it: the head is live and bare, and heat goes into it.")
            }
            Self::FrontEnd | Self::Collet | Self::Electrode | Self::Cup => None,
        }
    }
}

/// One mating face: where it is, and which of the faces there it is. Two sides mate if they are the
/// same seat.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Seat {
    joint: Joint,
    name: String,
}

/// The longest name of a seat, in characters.
const NAME_MAX: usize = 60;

impl Seat {
    /// The seat of that name at a joint. Names compare without case.
    ///
    /// # Errors
    /// [`SeatsError::Name`] if the name is empty, longer than 60 characters or holds control
    /// characters.
    pub fn new(joint: Joint, name: &str) -> Result<Self, SeatsError> {
        let name = name.trim().to_lowercase();
        let length = name.chars().count();
        if length == 0 || length > NAME_MAX || name.chars().any(char::is_control) {
            return Err(SeatsError::Name(joint));
        }
        Ok(Self { joint, name })
    }

    /// Reads the form in which a seat is written down: the joint, a colon, the name.
    ///
    /// ```
    /// use tigstock_domain::seat::{Joint, Seat};
    /// let seat = Seat::parse("cup: large gas-lens")?;
    /// assert_eq!((seat.joint(), seat.name()), (Joint::Cup, "large gas-lens"));
    /// assert!(Seat::parse("large gas-lens").is_err());
    /// # Ok::<(), tigstock_domain::seat::SeatsError>(())
    /// ```
    ///
    /// # Errors
    /// [`SeatsError::Unreadable`] without a known joint, [`SeatsError::Name`] without a name.
    pub fn parse(text: &str) -> Result<Self, SeatsError> {
        let unreadable = || SeatsError::Unreadable(text.trim().chars().take(NAME_MAX).collect());
        let (joint, name) = text.split_once(':').ok_or_else(unreadable)?;
        let joint = Joint::parse(joint).map_err(|_| unreadable())?;
        Self::new(joint, name)
    }

    /// Where it is.
    pub fn joint(&self) -> Joint {
        self.joint
    }

    /// Which of the faces there it is.
    pub fn name(&self) -> &str {
        &self.name
    }
}

/// `cup: large gas-lens`, the form in which a seat is written down.
impl fmt::Display for Seat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.joint.as_str(), self.name)
    }
}

/// A seat that a part offers to others.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Offer {
    /// The seat.
    pub seat: Seat,
    /// It takes several diameters, as a few bodies do; otherwise that of the part that offers it.
    pub any_diameter: bool,
}

/// How an offer says that any diameter will do.
const ANY_DIAMETER: &str = ", any diameter";

impl Offer {
    /// Reads an offer: a seat, followed by `, any diameter` where it takes several.
    ///
    /// # Errors
    /// As [`Seat::parse`]; [`SeatsError::NoDiameter`] for `any diameter` where none matters.
    pub fn parse(text: &str) -> Result<Self, SeatsError> {
        let any = text.trim().strip_suffix(ANY_DIAMETER);
        let seat = Seat::parse(any.unwrap_or(text))?;
        if any.is_some() && !seat.joint.is_by_diameter() {
            return Err(SeatsError::NoDiameter(seat.joint));
        }
        Ok(Self {
            seat,
            any_diameter: any.is_some(),
        })
    }
}

impl fmt::Display for Offer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let any = if self.any_diameter { ANY_DIAMETER } else { "" };
        write!(f, "{}{any}", self.seat)
    }
}

/// The seats of one part: the one it sits on, and those it offers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seats {
    takes: Option<Seat>,
    offers: Vec<Offer>,
    longest_rod: Option<RodLength>,
}

/// Why seats are not those of one part.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SeatsError {
    /// Not a joint, a colon and a name.
    #[error(
        "{0} is not a seat; write the joint and the name, such as \"cup: large gas-lens\"; joints are {joints}",
        joints = joints()
    )]
    Unreadable(String),
    /// `any diameter` where the diameter does not matter.
    #[error("a {} seat has no diameter; leave out \"any diameter\"", .0.as_str())]
    NoDiameter(Joint),
    /// A name that is none.
    #[error("the {} seat needs a name of 1 to 60 printable characters", .0.as_str())]
    Name(Joint),
    /// One joint twice.
    #[error("{} is named twice; a part has one seat at each joint", .0.as_str())]
    Twice(Joint),
    /// A part that sits on nothing and offers nothing.
    #[error("no seat is given; say which seat it takes, which it offers, or both")]
    None,
}

fn joints() -> String {
    let names: Vec<&str> = Joint::ALL.iter().map(|joint| joint.as_str()).collect();
    names.join(", ")
}

impl Seats {
    /// The seats of a part. `longest_rod` is the limit that a back cap sets to the electrode.
    ///
    /// # Errors
    /// [`SeatsError::Twice`] for two seats at one joint, [`SeatsError::None`] for no seat at all.
    pub fn new(
        takes: Option<Seat>,
        offers: Vec<Offer>,
        longest_rod: Option<RodLength>,
    ) -> Result<Self, SeatsError> {
        let mut joints: Vec<Joint> = takes.iter().map(Seat::joint).collect();
        joints.extend(offers.iter().map(|offer| offer.seat.joint));
        joints.sort_unstable();
        if let Some(twice) = joints.windows(2).find(|pair| pair[0] == pair[1]) {
            return Err(SeatsError::Twice(twice[0]));
        }
        if joints.is_empty() {
            return Err(SeatsError::None);
        }
        Ok(Self {
            takes,
            offers,
            longest_rod,
        })
    }

    /// The seat it sits on; a torch's head sits on none.
    pub fn takes(&self) -> Option<&Seat> {
        self.takes.as_ref()
    }

    /// The seats it offers.
    pub fn offers(&self) -> &[Offer] {
        &self.offers
    }

    /// The longest electrode it leaves room for.
    pub fn longest_rod(&self) -> Option<RodLength> {
        self.longest_rod
    }
}

/// What decides which seats a part has, where the shop has said nothing of that part itself: kind,
/// body family, and the pattern within the kind (length of a collet or a back cap, arrangement of a
/// body, lens or insulator, seat of a cup).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pattern {
    /// The kind; none for the head of a torch.
    pub kind: Option<PartKind>,
    /// The body family, where the kind has one.
    pub family: Option<&'static str>,
    /// The pattern within the kind, where it has several.
    pub within: Option<&'static str>,
}

impl Pattern {
    /// The pattern of a part.
    pub fn of(spec: &PartSpec) -> Self {
        let (family, within) = match spec {
            PartSpec::Collet { length, family, .. } => (Some(family), Some(length.as_str())),
            PartSpec::ColletBody {
                arrangement,
                family,
                ..
            }
            | PartSpec::GasLens {
                arrangement,
                family,
                ..
            }
            | PartSpec::Insulator {
                arrangement,
                family,
            } => (Some(family), Some(arrangement.as_str())),
            PartSpec::Cup { seat, family, .. } => (Some(family), Some(seat.as_str())),
            PartSpec::BackCap { length, family } => (Some(family), Some(length.as_str())),
            PartSpec::ORing { family } => (Some(family), None),
            PartSpec::Electrode { .. }
            | PartSpec::ShieldingGas { .. }
            | PartSpec::FillerRod { .. }
            | PartSpec::TungstenWheel => (None, None),
        };
        Self {
            kind: Some(spec.kind()),
            family: family.map(|family| family.as_str()),
            within,
        }
    }
}

/// The diameter that a part brings to its joints: that of the rod it is, holds or takes.
pub fn diameter(spec: &PartSpec) -> Option<Diameter> {
    match spec {
        PartSpec::Electrode { diameter, .. }
        | PartSpec::Collet { diameter, .. }
        | PartSpec::ColletBody { diameter, .. }
        | PartSpec::GasLens { diameter, .. } => Some(*diameter),
        PartSpec::Cup { .. }
        | PartSpec::BackCap { .. }
        | PartSpec::ORing { .. }
        | PartSpec::Insulator { .. }
        | PartSpec::ShieldingGas { .. }
        | PartSpec::FillerRod { .. }
        | PartSpec::TungstenWheel => None,
    }
}
