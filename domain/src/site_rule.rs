//! Site rules: which electrode classes a site bars, and what that means for a class. Who is told, and
//! what happens to stock of a barred class, is elsewhere.

use std::fmt;

use thiserror::Error;

use crate::class::{ElectrodeClass, ParseClassError};

/// One thing that a site bars.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Barred {
    /// Every class with thoria.
    Thoriated,
    /// One class.
    Class(ElectrodeClass),
}

/// The word for every class with thoria.
const THORIATED: &str = "thoriated";

/// Why a text is nothing that a site can bar.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{0}; to bar all thoriated classes, write thoriated")]
pub struct ParseBarredError(#[from] ParseClassError);

impl Barred {
    /// Reads `thoriated`, in any case, or whatever [`ElectrodeClass::parse`] reads.
    ///
    /// # Errors
    /// [`ParseBarredError`] if it is neither.
    pub fn parse(text: &str) -> Result<Self, ParseBarredError> {
        if text.trim().eq_ignore_ascii_case(THORIATED) {
            return Ok(Self::Thoriated);
        }
        Ok(Self::Class(ElectrodeClass::parse(text)?))
    }

    /// Whether `class` is barred by this by name, so that nothing is left in doubt.
    fn names(self, class: ElectrodeClass) -> bool {
        match self {
            Self::Thoriated => matches!(
                class,
                ElectrodeClass::WTh10 | ElectrodeClass::WTh20 | ElectrodeClass::WTh30
            ),
            Self::Class(barred) => barred == class,
        }
    }

    /// Whether an electrode told as `class` may in truth be one that this bars.
    fn may_name(self, class: ElectrodeClass) -> bool {
        match class {
            ElectrodeClass::Unidentified => true,
            // The general class holds an oxide that no named class tells, or an unstated one; it
            // is never pure tungsten.
            ElectrodeClass::Wg => !matches!(
                self,
                Self::Class(ElectrodeClass::Wp | ElectrodeClass::Unidentified)
            ),
            ElectrodeClass::Wp
            | ElectrodeClass::WCe20
            | ElectrodeClass::WLa10
            | ElectrodeClass::WLa15
            | ElectrodeClass::WLa20
            | ElectrodeClass::WTh10
            | ElectrodeClass::WTh20
            | ElectrodeClass::WTh30
            | ElectrodeClass::WZr3
            | ElectrodeClass::WZr8 => false,
        }
    }
}

impl fmt::Display for Barred {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Thoriated => f.write_str(THORIATED),
            Self::Class(class) => class.fmt(f),
        }
    }
}

/// What a site's rule says of an electrode class.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Verdict {
    /// Nothing bars it.
    #[default]
    Permitted,
    /// It is barred by name.
    Barred,
    /// The class is not known for certain, and may be one that is barred. It is treated as barred.
    Unknown,
}

impl Verdict {
    /// Whether it may be planned, ordered, issued or moved in.
    pub fn is_permitted(self) -> bool {
        matches!(self, Self::Permitted)
    }
}

/// The classes that one site bars; none unless told.
///
/// ```
/// use tigstock_domain::class::ElectrodeClass;
/// use tigstock_domain::site_rule::{SiteRule, Verdict};
/// let school = SiteRule::parse_all(["thoriated"])?;
/// assert_eq!(school.verdict(ElectrodeClass::WTh20), Verdict::Barred);
/// assert_eq!(school.verdict(ElectrodeClass::Unidentified), Verdict::Unknown);
/// assert_eq!(school.verdict(ElectrodeClass::WLa20), Verdict::Permitted);
/// # Ok::<(), tigstock_domain::site_rule::ParseBarredError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SiteRule {
    barred: Vec<Barred>,
}

impl SiteRule {
    /// A rule that bars these, each once and in a fixed order.
    pub fn new(barred: impl IntoIterator<Item = Barred>) -> Self {
        let mut barred: Vec<Barred> = barred.into_iter().collect();
        barred.sort_unstable();
        barred.dedup();
        Self { barred }
    }

    /// Reads a rule from its words.
    ///
    /// # Errors
    /// [`ParseBarredError`] of the first word that means nothing.
    pub fn parse_all<'a>(
        words: impl IntoIterator<Item = &'a str>,
    ) -> Result<Self, ParseBarredError> {
        let barred: Result<Vec<Barred>, _> = words.into_iter().map(Barred::parse).collect();
        Ok(Self::new(barred?))
    }

    /// What is barred, each once.
    pub fn barred(&self) -> &[Barred] {
        &self.barred
    }

    /// What the rule says of a class. A class that is not known for certain is barred wherever any
    /// class is barred that it might be.
    pub fn verdict(&self, class: ElectrodeClass) -> Verdict {
        if self.barred.iter().any(|barred| barred.names(class)) {
            Verdict::Barred
        } else if self.barred.iter().any(|barred| barred.may_name(class)) {
            Verdict::Unknown
        } else {
            Verdict::Permitted
        }
    }
}

impl fmt::Display for SiteRule {
    /// The words with commas between them, as they are read back.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, barred) in self.barred.iter().enumerate() {
            let comma = if index == 0 { "" } else { ", " };
            write!(f, "{comma}{barred}")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const NAMED: [ElectrodeClass; 10] = [
        ElectrodeClass::Wp,
        ElectrodeClass::WCe20,
        ElectrodeClass::WLa10,
        ElectrodeClass::WLa15,
        ElectrodeClass::WLa20,
        ElectrodeClass::WTh10,
        ElectrodeClass::WTh20,
        ElectrodeClass::WTh30,
        ElectrodeClass::WZr3,
        ElectrodeClass::WZr8,
    ];

    fn rule(words: &[&str]) -> SiteRule {
        SiteRule::parse_all(words.iter().copied()).expect("they are words of a rule")
    }

    #[test]
    fn a_site_without_a_rule_permits_even_what_nobody_can_name() {
        for class in ElectrodeClass::ALL {
            assert_eq!(SiteRule::default().verdict(class), Verdict::Permitted);
        }
    }

    #[test]
    fn thoriated_bars_the_three_classes_with_thoria_and_whatever_may_hold_it() {
        let school = rule(&["Thoriated"]);
        for class in ElectrodeClass::ALL {
            let verdict = school.verdict(class);
            assert_eq!(
                !verdict.is_permitted(),
                class.is_possibly_thoriated(),
                "{class}"
            );
        }
        assert_eq!(school.verdict(ElectrodeClass::Wg), Verdict::Unknown);
    }

    #[test]
    fn an_unidentified_electrode_is_barred_wherever_any_class_is() {
        for class in NAMED {
            let one = SiteRule::new([Barred::Class(class)]);
            assert_eq!(
                one.verdict(ElectrodeClass::Unidentified),
                Verdict::Unknown,
                "{class}"
            );
        }
    }

    #[test]
    fn the_general_class_holds_an_oxide_so_it_is_no_pure_tungsten() {
        assert_eq!(
            rule(&["WP"]).verdict(ElectrodeClass::Wg),
            Verdict::Permitted
        );
        assert_eq!(
            rule(&["WCe20"]).verdict(ElectrodeClass::Wg),
            Verdict::Unknown
        );
    }

    #[test]
    fn barring_one_named_class_leaves_every_other_named_class_alone() {
        for barred in NAMED {
            let one = SiteRule::new([Barred::Class(barred)]);
            for class in NAMED {
                assert_eq!(one.verdict(class).is_permitted(), class != barred);
            }
        }
    }

    #[test]
    fn any_spelling_of_a_class_is_read_and_a_colour_is_refused() {
        assert_eq!(rule(&["EWTh-2"]), rule(&["wt20"]));
        let said = Barred::parse("red").expect_err("a colour").to_string();
        assert!(said.contains("a colour is not enough"), "{said}");
        assert!(said.contains("write thoriated"), "{said}");
    }

    proptest! {
        #[test]
        fn a_rule_reads_back_from_its_words(picked in prop::collection::vec(0_usize..13, 0..6)) {
            let barred = picked.iter().map(|&index| match ElectrodeClass::ALL.get(index) {
                Some(class) => Barred::Class(*class),
                None => Barred::Thoriated,
            });
            let made = SiteRule::new(barred);
            let words = made.to_string();
            let words = words.split(", ").filter(|word| !word.is_empty());
            prop_assert_eq!(SiteRule::parse_all(words), Ok(made));
        }

        #[test]
        fn a_longer_rule_never_permits_more(
            picked in prop::collection::vec(0_usize..12, 1..5), class in 0_usize..12,
        ) {
            let class = ElectrodeClass::ALL[class];
            let all = picked.iter().map(|&index| Barred::Class(ElectrodeClass::ALL[index]));
            let fewer = SiteRule::new(all.clone().skip(1));
            if SiteRule::new(all).verdict(class).is_permitted() {
                prop_assert!(fewer.verdict(class).is_permitted());
            }
        }
    }
}
