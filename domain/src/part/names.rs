//! The closed lists of names that describe a part: kinds, families, arrangements, seats, lengths.
//! How a name is read and spelled is in `named`.

use std::fmt;

use crate::named::named;

named! {
    /// The family of a torch body; most front-end parts go by it.
    BodyFamily, "body family" {
        /// Small-body torches.
        Small = "small",
        /// Large-body torches.
        Large = "large",
    }
}

impl fmt::Display for BodyFamily {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} body", self.as_str())
    }
}

named! {
    /// The length pattern of a collet.
    ColletLength, "collet length" {
        /// For standard collet bodies and standard gas lenses.
        Standard = "standard",
        /// For short-nose bodies and large gas lenses.
        Short = "short",
    }
}

named! {
    /// The arrangement of a front end: parts of different arrangements do not mate.
    Arrangement, "arrangement" {
        /// Collet body with standard cups.
        Standard = "standard",
        /// Gas lens with gas-lens cups.
        GasLens = "gas-lens",
        /// Large-diameter gas lens with its own cups.
        LargeGasLens = "large-gas-lens",
        /// Short-nose conversion with the small family's gas-lens cups.
        ShortNose = "short-nose",
    }
}

named! {
    /// What a cup seats on. A cup of one seat does not go onto another, whatever its number.
    CupSeat, "cup seat" {
        /// The collet body.
        Standard = "standard",
        /// The gas lens.
        GasLens = "gas-lens",
        /// The large-diameter gas lens.
        LargeGasLens = "large-gas-lens",
    }
}

named! {
    /// The length of a back cap, which limits the length of the electrode under it.
    CapLength, "back cap length" {
        /// For electrodes of about 50 mm or less.
        Short = "short",
        /// For electrodes of about 75 mm or less (from memory).
        Medium = "medium",
        /// For full-length electrodes.
        Long = "long",
    }
}

named! {
    /// The kind of a part.
    PartKind, "kind of part" {
        /// Tungsten electrode.
        Electrode = "electrode",
        /// Collet.
        Collet = "collet",
        /// Collet body.
        ColletBody = "collet-body",
        /// Gas lens.
        GasLens = "gas-lens",
        /// Cup.
        Cup = "cup",
        /// Back cap.
        BackCap = "back-cap",
        /// O-ring of a back cap.
        ORing = "o-ring",
        /// Insulator.
        Insulator = "insulator",
        /// Shielding gas.
        ShieldingGas = "shielding-gas",
        /// Filler rod.
        FillerRod = "filler-rod",
        /// Grinding wheel kept for tungsten.
        TungstenWheel = "tungsten-wheel",
    }
}

named! {
    /// What a quantity of a part is counted in. Always whole numbers.
    Unit, "unit" {
        /// Pieces.
        Piece = "piece",
        /// Millilitres at normal conditions.
        Millilitre = "ml",
        /// Grams.
        Gram = "g",
    }
}

impl Unit {
    /// An amount as people write it: `6`, `8400 L`, `271 g`, `5 kg`.
    ///
    /// ```
    /// use tigstock_domain::part::Unit;
    /// assert_eq!(Unit::Millilitre.amount(8_400_500), "8400.5 L");
    /// assert_eq!(Unit::Gram.amount(1_250), "1.25 kg");
    /// assert_eq!(Unit::Gram.amount(271), "271 g");
    /// ```
    pub fn amount(self, amount: i64) -> String {
        match self {
            Self::Piece => amount.to_string(),
            Self::Gram if amount.abs() < 1_000 => format!("{amount} g"),
            Self::Gram => format!("{} kg", thousandths(amount)),
            Self::Millilitre => format!("{} L", thousandths(amount)),
        }
    }
}

impl Unit {
    /// The same to the whole litre from 10 L on, for what is not known closer.
    ///
    /// ```
    /// use tigstock_domain::part::Unit;
    /// assert_eq!(Unit::Millilitre.about(8_400_500), "8401 L");
    /// assert_eq!(Unit::Piece.about(13), "13");
    /// ```
    pub fn about(self, amount: i64) -> String {
        match self {
            Self::Millilitre if amount.unsigned_abs() >= 10_000 => {
                let rounded = amount.saturating_add(500 * amount.signum()) / 1_000;
                self.amount(rounded.saturating_mul(1_000))
            }
            Self::Piece | Self::Millilitre | Self::Gram => self.amount(amount),
        }
    }
}

/// Thousandths as a decimal without needless zeros.
fn thousandths(amount: i64) -> String {
    let sign = if amount < 0 { "-" } else { "" };
    let (whole, part) = (amount.unsigned_abs() / 1_000, amount.unsigned_abs() % 1_000);
    let text = format!("{sign}{whole}.{part:03}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

impl Arrangement {
    /// What the cups of the arrangement seat on; a short-nose conversion takes gas-lens cups.
    pub fn cup_seat(self) -> CupSeat {
        match self {
            Self::Standard => CupSeat::Standard,
            Self::GasLens | Self::ShortNose => CupSeat::GasLens,
            Self::LargeGasLens => CupSeat::LargeGasLens,
        }
    }
}

impl CupSeat {
    /// The usual arrangement of what the cup seats on.
    pub fn arrangement(self) -> Arrangement {
        match self {
            Self::Standard => Arrangement::Standard,
            Self::GasLens => Arrangement::GasLens,
            Self::LargeGasLens => Arrangement::LargeGasLens,
        }
    }
}

impl PartKind {
    /// What its quantities are counted in: gas in millilitres at normal conditions, filler in
    /// grams, everything else in pieces.
    pub fn unit(self) -> Unit {
        match self {
            Self::ShieldingGas => Unit::Millilitre,
            Self::FillerRod => Unit::Gram,
            Self::Electrode
            | Self::Collet
            | Self::ColletBody
            | Self::GasLens
            | Self::Cup
            | Self::BackCap
            | Self::ORing
            | Self::Insulator
            | Self::TungstenWheel => Unit::Piece,
        }
    }

    /// The noun in a sentence: `collet body`, `O-ring`.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Electrode => "electrode",
            Self::Collet => "collet",
            Self::ColletBody => "collet body",
            Self::GasLens => "gas lens",
            Self::Cup => "cup",
            Self::BackCap => "back cap",
            Self::ORing => "O-ring",
            Self::Insulator => "insulator",
            Self::ShieldingGas => "shielding gas",
            Self::FillerRod => "filler rod",
            Self::TungstenWheel => "tungsten wheel",
        }
    }

    /// Whether it sits in the front end of a torch and so can be fitted, worn and borrowed.
    pub fn is_fitted(self) -> bool {
        !matches!(
            self,
            Self::ShieldingGas | Self::FillerRod | Self::TungstenWheel
        )
    }
}
