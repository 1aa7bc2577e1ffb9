//! Cautions: short, at the moment they matter, with the sentence that defers to those who decide.
//! When one is shown is data, in `context`. No limits or doses are stated here.

use crate::named::named;

mod context;

pub use context::{About, CONTEXTS, Condition, Context, Moment, When, hazards_at};

/// The sentence that closes every caution.
pub const CLOSING: &str = "Follow your site rules, the safety data sheet and the law where you \
                           work; ask a qualified person.";

named! {
    /// A hazard of the work that this crate's subjects touch.
    Hazard, "hazard" {
        /// Arc radiation.
        ArcRadiation = "arc-radiation",
        /// Parts changed on a torch.
        LiveTorch = "live-torch",
        /// A part that does not mate.
        WrongPart = "wrong-part",
        /// Any grinding.
        Grinding = "grinding",
        /// An electrode of unknown class.
        Unidentified = "unidentified",
        /// A thoriated electrode.
        Thoriated = "thoriated",
        /// Parts just out of the arc.
        HotParts = "hot-parts",
        /// Gas cylinders.
        Cylinders = "cylinders",
        /// Argon, purging, confined space.
        Argon = "argon",
        /// Fume from stainless or coated metal.
        Fume = "fume",
    }
}

impl Hazard {
    /// The caution in its short form.
    pub fn text(self) -> &'static str {
        match self {
            Self::Thoriated => {
                "Thoriated: slightly radioactive; the concern is grinding dust. Thorium-free \
                 classes are usually preferred where the procedure allows. Extraction, no dry \
                 sweeping, dispose as your authority requires."
            }
            Self::Unidentified => "Class unknown: treat as possibly thoriated.",
            Self::Grinding => {
                "Eye protection, guards, dust extraction; wheel for tungsten only; grind \
                 lengthways; no gloves near the wheel unless your site rule says so."
            }
            Self::ArcRadiation => {
                "UV burns eyes and skin: helmet shade, covered skin, screens for bystanders."
            }
            Self::Argon => {
                "Argon displaces air without warning and collects low. Permit, ventilation, \
                 oxygen monitor, trained attendant; never go in after a collapsed person."
            }
            Self::HotParts => "Let the torch cool; cups and collets stay hot.",
            Self::LiveTorch => {
                "Power source off and output dead before changing parts; do not run without \
                 insulator or back cap."
            }
            Self::Cylinders => "Chain upright, cap on when moving, valve shut when done.",
            Self::Fume => "Ventilate or extract; clean coatings and solvents first.",
            Self::WrongPart => {
                "Do not force it. A wrong collet or missing insulator overheats the torch."
            }
        }
    }
}

/// The texts of the hazards, each once and in the order given, then the closing sentence; nothing
/// if there are none.
pub fn cautions(hazards: &[Hazard]) -> Vec<String> {
    let mut texts: Vec<String> = Vec::new();
    for hazard in hazards {
        if !texts.iter().any(|text| text == hazard.text()) {
            texts.push(hazard.text().to_owned());
        }
    }
    if !texts.is_empty() {
        texts.push(CLOSING.to_owned());
    }
    texts
}

/// The cautions of those moments, for what they are about.
///
/// ```
/// use tigstock_domain::safety::{About, Hazard, Moment, cautions_at};
/// let told = cautions_at(&[Moment::Grinding], &About::default());
/// assert_eq!(told[0], Hazard::Grinding.text());
/// assert!(cautions_at(&[Moment::Taking], &About::default()).is_empty());
/// ```
pub fn cautions_at(moments: &[Moment], about: &About) -> Vec<String> {
    cautions(&hazards_at(moments, about))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_caution_stands_once_and_the_deferring_sentence_last() {
        let said = cautions(&[Hazard::Thoriated, Hazard::Grinding, Hazard::Thoriated]);
        assert_eq!(
            said,
            [Hazard::Thoriated.text(), Hazard::Grinding.text(), CLOSING]
        );
        assert!(cautions(&[]).is_empty());
    }

    #[test]
    fn no_caution_calls_anything_safe_or_states_a_figure() {
        for hazard in Hazard::ALL {
            let text = hazard.text();
            let words = text.to_lowercase();
            assert!(
                !words
                    .split(|c: char| !c.is_alphabetic())
                    .any(|word| word == "safe"),
                "{text}"
            );
            assert!(!text.contains(|c: char| c.is_ascii_digit()), "{text}");
            assert!(text.ends_with('.') && !text.contains("  "), "{text}");
        }
        for who in ["site rules", "safety data sheet", "law", "qualified person"] {
            assert!(CLOSING.contains(who));
        }
    }
}
