//! Electrode classes of ISO 6848 and AWS A5.12, and the spellings that mean them. The colour band
//! is a hint for the eye and never a key: several colours have meant more than one class.

use std::fmt;

use thiserror::Error;

/// The class of a tungsten electrode, by its oxide.
///
/// Symbols, oxides and colours: ISO 6848 and AWS A5.12M/A5.12:2009, table 1.
///
/// ```
/// use tigstock_domain::class::ElectrodeClass;
/// assert_eq!(ElectrodeClass::parse("EWLa-2")?, ElectrodeClass::WLa20);
/// assert_eq!(ElectrodeClass::parse("WL20")?, ElectrodeClass::WLa20);
/// assert!(ElectrodeClass::parse("blue").is_err());
/// # Ok::<(), tigstock_domain::class::ParseClassError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ElectrodeClass {
    /// Pure tungsten.
    Wp,
    /// 2 % ceria.
    WCe20,
    /// 1 % lanthana.
    WLa10,
    /// 1.5 % lanthana.
    WLa15,
    /// 2 % lanthana.
    WLa20,
    /// 1 % thoria; slightly radioactive.
    WTh10,
    /// 2 % thoria; slightly radioactive.
    WTh20,
    /// 3 % thoria; slightly radioactive.
    WTh30,
    /// 0.3 % zirconia.
    WZr3,
    /// 0.8 % zirconia.
    WZr8,
    /// The general class: the maker states the oxide. Two of them are alike only if maker and
    /// grade are the same, so it never stands in for a named class.
    Wg,
    /// The band is ground off or was never there. It may be thoriated.
    Unidentified,
}

/// Why a text is not an electrode class.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ParseClassError {
    /// Nothing but blanks.
    #[error("an electrode class is missing; write unidentified if the band is gone")]
    Empty,
    /// A colour. It is refused, with what it may mean.
    #[error(
        "a colour is not enough: {colour} may mean {meanings}; give the class from the packet, or unidentified"
    )]
    Colour {
        /// The colour word as given.
        colour: String,
        /// What the band has meant, in words.
        meanings: &'static str,
    },
    /// Anything else.
    #[error("{0} is not an electrode class; examples are WLa20, EWLa-2, WCe20, unidentified")]
    Unknown(String),
}

/// Colour bands and what they have meant: ISO 6848 and AWS A5.12 of 2009 on, and the older lists
/// that still lie in drawers.
const COLOURS: [(&str, &str); 16] = [
    ("green", "WP (pure tungsten)"),
    ("grey", "WCe20, or the general class in older US lists"),
    ("gray", "WCe20, or the general class in older US lists"),
    (
        "orange",
        "WCe20 in older US practice, or 4 % thoria (WT40, radioactive) in older European lists",
    ),
    ("black", "WLa10"),
    ("gold", "WLa15"),
    (
        "blue",
        "WLa20, or in a lighter blue 0.4 % thoria (WT4, radioactive) in older European lists",
    ),
    ("yellow", "WTh10 (thoriated)"),
    ("red", "WTh20 (thoriated)"),
    ("violet", "WTh30 (thoriated), or a thorium-free mixed oxide"),
    ("purple", "WTh30 (thoriated), or a thorium-free mixed oxide"),
    ("lilac", "WTh30 (thoriated), or a thorium-free mixed oxide"),
    ("brown", "WZr3"),
    ("white", "WZr8"),
    ("turquoise", "a mixed oxide that no standard names"),
    ("pink", "a mixed oxide that no standard names"),
];

/// What a colour word has meant, if it is one.
pub(crate) fn colour_meanings(word: &str) -> Option<&'static str> {
    let colour = COLOURS.iter().find(|(name, _)| *name == word);
    colour.map(|(_, meanings)| *meanings)
}

impl ElectrodeClass {
    /// Every class, in the order of the standard, the undefined ones last.
    pub const ALL: [Self; 12] = [
        Self::Wp,
        Self::WCe20,
        Self::WLa10,
        Self::WLa15,
        Self::WLa20,
        Self::WTh10,
        Self::WTh20,
        Self::WTh30,
        Self::WZr3,
        Self::WZr8,
        Self::Wg,
        Self::Unidentified,
    ];

    /// Reads an ISO symbol, an AWS classification or an old ISO spelling, in any case; also
    /// `unidentified` and `unknown`. The hyphen of an AWS classification may be left out.
    ///
    /// # Errors
    /// [`ParseClassError`]: empty, a colour word (with what it may mean), or not a class.
    pub fn parse(text: &str) -> Result<Self, ParseClassError> {
        let text = text.trim();
        if text.is_empty() {
            return Err(ParseClassError::Empty);
        }
        let wanted = squeezed(text);
        let known = Self::ALL.into_iter().find(|class| {
            squeezed(class.symbol()) == wanted
                || class.aws().is_some_and(|aws| squeezed(aws) == wanted)
                || class.older().is_some_and(|older| squeezed(older) == wanted)
        });
        if let Some(class) = known {
            return Ok(class);
        }
        let words = text.to_lowercase();
        let band = COLOURS.iter().find(|(name, _)| {
            words
                .split(|c: char| !c.is_alphabetic())
                .any(|word| word == *name)
        });
        Err(match band {
            Some((name, meanings)) => ParseClassError::Colour {
                colour: (*name).to_owned(),
                meanings,
            },
            None => ParseClassError::Unknown(text.chars().take(40).collect()),
        })
    }

    /// The ISO 6848 symbol, or `unidentified`.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Wp => "WP",
            Self::WCe20 => "WCe20",
            Self::WLa10 => "WLa10",
            Self::WLa15 => "WLa15",
            Self::WLa20 => "WLa20",
            Self::WTh10 => "WTh10",
            Self::WTh20 => "WTh20",
            Self::WTh30 => "WTh30",
            Self::WZr3 => "WZr3",
            Self::WZr8 => "WZr8",
            Self::Wg => "WG",
            Self::Unidentified => "unidentified",
        }
    }

    /// The AWS A5.12 classification, where there is one.
    pub fn aws(self) -> Option<&'static str> {
        match self {
            Self::Wp => Some("EWP"),
            Self::WCe20 => Some("EWCe-2"),
            Self::WLa10 => Some("EWLa-1"),
            Self::WLa15 => Some("EWLa-1.5"),
            Self::WLa20 => Some("EWLa-2"),
            Self::WTh10 => Some("EWTh-1"),
            Self::WTh20 => Some("EWTh-2"),
            Self::WZr3 => Some("EWZr-1"),
            Self::WZr8 => Some("EWZr-8"),
            Self::Wg => Some("EWG"),
            Self::WTh30 | Self::Unidentified => None,
        }
    }

    /// Whether a text spells a class as AWS A5.12 does: `EWLa-2`, not `WLa20`.
    pub fn is_aws_spelling(text: &str) -> bool {
        let text = squeezed(text);
        let mut spelled = Self::ALL.into_iter().filter_map(Self::aws);
        spelled.any(|aws| squeezed(aws) == text)
    }

    /// The spelling of earlier ISO editions, or the other word for an unidentified one.
    fn older(self) -> Option<&'static str> {
        match self {
            Self::WCe20 => Some("WC20"),
            Self::WLa10 => Some("WL10"),
            Self::WLa15 => Some("WL15"),
            Self::WLa20 => Some("WL20"),
            Self::WTh10 => Some("WT10"),
            Self::WTh20 => Some("WT20"),
            Self::WTh30 => Some("WT30"),
            Self::WZr3 => Some("WZ3"),
            Self::WZr8 => Some("WZ8"),
            Self::Unidentified => Some("unknown"),
            Self::Wp | Self::Wg => None,
        }
    }

    /// The oxide in words.
    pub fn oxide(self) -> &'static str {
        match self {
            Self::Wp => "none",
            Self::WCe20 => "ceria",
            Self::WLa10 | Self::WLa15 | Self::WLa20 => "lanthana",
            Self::WTh10 | Self::WTh20 | Self::WTh30 => "thoria",
            Self::WZr3 | Self::WZr8 => "zirconia",
            Self::Wg => "as the maker states",
            Self::Unidentified => "unknown",
        }
    }

    /// Whether thorium cannot be ruled out: the thoriated classes, the general class, whose oxide
    /// the maker states, and an unidentified electrode.
    pub fn is_possibly_thoriated(self) -> bool {
        matches!(
            self,
            Self::WTh10 | Self::WTh20 | Self::WTh30 | Self::Wg | Self::Unidentified
        )
    }

    /// The colour of the band since 2009, as a hint for the eye only; the general class and an
    /// unidentified electrode have none.
    pub fn colour(self) -> Option<&'static str> {
        match self {
            Self::Wp => Some("green"),
            Self::WCe20 => Some("grey"),
            Self::WLa10 => Some("black"),
            Self::WLa15 => Some("gold"),
            Self::WLa20 => Some("blue"),
            Self::WTh10 => Some("yellow"),
            Self::WTh20 => Some("red"),
            Self::WTh30 => Some("violet"),
            Self::WZr3 => Some("brown"),
            Self::WZr8 => Some("white"),
            Self::Wg | Self::Unidentified => None,
        }
    }
}

impl fmt::Display for ElectrodeClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

/// Lower case without blanks and hyphens, so that `EWLa-2`, `ewla2` and `EW La 2` are one.
fn squeezed(text: &str) -> String {
    text.chars()
        .filter(|c| *c != '-' && !c.is_whitespace())
        .flat_map(char::to_lowercase)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_symbol_and_classification_reads_back() {
        for class in ElectrodeClass::ALL {
            assert_eq!(ElectrodeClass::parse(class.symbol()), Ok(class));
            assert_eq!(
                ElectrodeClass::parse(&class.symbol().to_uppercase()),
                Ok(class)
            );
            if let Some(aws) = class.aws() {
                assert_eq!(ElectrodeClass::parse(&aws.to_lowercase()), Ok(class));
            }
        }
    }

    #[test]
    fn earlier_spellings_and_the_word_unknown_are_understood() {
        let known = [
            ("WL15", ElectrodeClass::WLa15),
            ("wt20", ElectrodeClass::WTh20),
            ("WC20", ElectrodeClass::WCe20),
            ("WZ8", ElectrodeClass::WZr8),
            ("unknown", ElectrodeClass::Unidentified),
        ];
        for (text, class) in known {
            assert_eq!(ElectrodeClass::parse(text), Ok(class), "{text}");
        }
    }

    #[test]
    fn a_colour_is_refused_with_what_it_may_mean() {
        let said = ElectrodeClass::parse("Orange band")
            .unwrap_err()
            .to_string();
        assert!(said.contains("a colour is not enough"), "{said}");
        assert!(
            said.contains("WCe20") && said.contains("radioactive"),
            "{said}"
        );
    }

    #[test]
    fn four_per_cent_thoria_is_no_class_of_the_standard() {
        assert_eq!(
            ElectrodeClass::parse("WT40"),
            Err(ParseClassError::Unknown("WT40".to_owned()))
        );
    }

    #[test]
    fn what_may_hold_thorium_is_flagged() {
        let flagged: Vec<_> = ElectrodeClass::ALL
            .into_iter()
            .filter(|c| c.is_possibly_thoriated())
            .collect();
        assert_eq!(
            flagged,
            [
                ElectrodeClass::WTh10,
                ElectrodeClass::WTh20,
                ElectrodeClass::WTh30,
                ElectrodeClass::Wg,
                ElectrodeClass::Unidentified,
            ]
        );
    }
}
