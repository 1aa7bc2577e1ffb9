//! What is printed on a part or its packet, and in which system of names: millimetres and ISO 6848
//! symbols, or inches and AWS A5.12 classifications. The joint specification says of the two series
//! of sizes that they are no exact equivalents of each other, so which one is printed is kept.

use crate::class::ElectrodeClass;
use crate::size::{Diameter, RodLength};

/// A system of names for sizes and classes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum System {
    /// Sizes in millimetres, classes by ISO 6848.
    Metric,
    /// Sizes in inches, classes by AWS A5.12.
    Inch,
}

/// A size or a class with the system in which it is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Written<T> {
    /// What is meant.
    pub value: T,
    /// How it is written.
    pub system: System,
}

impl<T> Written<T> {
    /// A name of the metric system, in which parts are named here.
    pub fn metric(value: T) -> Self {
        let system = System::Metric;
        Self { value, system }
    }
}

impl Written<Diameter> {
    /// Reads a named diameter and how it is written.
    ///
    /// # Errors
    /// As [`Diameter::parse`].
    pub fn parse(text: &str) -> Result<Self, crate::size::ParseDiameterError> {
        let value = Diameter::parse(text)?;
        let system = if Diameter::is_inch_marking(text) {
            System::Inch
        } else {
            System::Metric
        };
        Ok(Self { value, system })
    }
}

impl Written<ElectrodeClass> {
    /// Reads an electrode class and how it is spelled.
    ///
    /// # Errors
    /// As [`ElectrodeClass::parse`].
    pub fn parse(text: &str) -> Result<Self, crate::class::ParseClassError> {
        let value = ElectrodeClass::parse(text)?;
        let system = if ElectrodeClass::is_aws_spelling(text) {
            System::Inch
        } else {
            System::Metric
        };
        Ok(Self { value, system })
    }
}

/// A marking as printed, with the sizes and classes that can be read in it. A colour is never read.
///
/// ```
/// use tigstock_domain::procedure::{Marking, System};
/// let read = Marking::read("3/32 in x 7 in EWLa-2");
/// assert_eq!(read.sizes()[0].value.mm(), "2.4");
/// assert_eq!(read.sizes()[0].system, System::Inch);
/// assert_eq!(read.classes()[0].value.symbol(), "WLa20");
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Marking {
    text: String,
    sizes: Vec<Written<Diameter>>,
    classes: Vec<Written<ElectrodeClass>>,
    odd_size: Option<String>,
}

impl Marking {
    /// Reads a marking. What is neither a size nor a class is left alone.
    pub fn read(text: &str) -> Self {
        let mut marking = Self {
            text: text.trim().to_owned(),
            sizes: Vec::new(),
            classes: Vec::new(),
            odd_size: None,
        };
        let words = words(text);
        let mut at = 0;
        while at < words.len() {
            at += marking.class(&words[at..]).unwrap_or_else(|| {
                // One word is passed over if it means nothing.
                marking.size(&words[at..])
            });
        }
        marking.sizes.sort_unstable();
        marking.sizes.dedup();
        marking.classes.sort_unstable();
        marking.classes.dedup();
        marking
    }

    /// The class at the beginning of the words, of up to three of them: how many it took.
    fn class(&mut self, words: &[String]) -> Option<usize> {
        let taken = (1..=words.len().min(3)).rev().find_map(|count| {
            let class = Written::<ElectrodeClass>::parse(&words[..count].join(" ")).ok()?;
            (class.value != ElectrodeClass::Unidentified).then_some((count, class))
        });
        let (count, class) = taken?;
        self.classes.push(class);
        Some(count)
    }

    /// The size at the beginning of the words, if there is one: how many words were passed.
    fn size(&mut self, words: &[String]) -> usize {
        let first = &words[0];
        if !first.starts_with(|c: char| c.is_ascii_digit() || c == '.') || first.ends_with('%') {
            return 1;
        }
        let next = words.get(1).map(String::as_str).unwrap_or_default();
        let apart = ["mm", "in", "in.", "inch", "inches", "\"", "''"].contains(&next);
        let text = if apart {
            format!("{first} {next}")
        } else {
            first.clone()
        };
        let passed = 1 + usize::from(apart);
        let has_unit = text.ends_with(|c: char| !c.is_ascii_digit());
        // A bare whole number is a count more often than a size.
        if next == "%" || !(has_unit || text.contains(['.', '/', ','])) {
            return passed;
        }
        match Written::<Diameter>::parse(&text) {
            Ok(size) => self.sizes.push(size),
            Err(_) if RodLength::parse(&text).is_ok() => {}
            Err(_) if is_figure(&text, has_unit) => self.odd_size = Some(text),
            Err(_) => {}
        }
        passed
    }

    /// As printed.
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// The sizes that can be read in it.
    pub fn sizes(&self) -> &[Written<Diameter>] {
        &self.sizes
    }

    /// The classes that can be read in it.
    pub fn classes(&self) -> &[Written<ElectrodeClass>] {
        &self.classes
    }

    /// What looks like a size in it and is none that has a name.
    pub fn odd_size(&self) -> Option<&str> {
        self.odd_size.as_deref()
    }

    /// Whether two markings say the same: letter for letter but for blanks and case, or the same
    /// sizes and the same classes in the same systems. The general class says nothing of what is in
    /// it, so a marking with it must be the same letter for letter.
    pub fn is(&self, other: &Self) -> bool {
        let named = |it: &Self| {
            let general = |class: &Written<_>| class.value == ElectrodeClass::Wg;
            !it.sizes.is_empty() && !it.classes.is_empty() && !it.classes.iter().any(general)
        };
        let read = |it: &Self| (it.sizes.clone(), it.classes.clone(), it.odd_size.clone());
        squeezed(&self.text) == squeezed(&other.text)
            || (named(self) && named(other) && read(self) == read(other))
    }
}

/// A figure that was meant as a size: with a unit, as a decimal, or as a fraction of an inch.
fn is_figure(text: &str, has_unit: bool) -> bool {
    let parts: Vec<&str> = text.split('/').collect();
    match parts[..] {
        [_, under] if !has_unit => ["8", "16", "32", "64"].contains(&under),
        _ => has_unit || text.chars().all(|c| c.is_ascii_digit() || ".,".contains(c)),
    }
}

/// The words of a marking; `2.4x175` is two.
fn words(text: &str) -> Vec<String> {
    let plain = text.replace(['\u{d7}', '(', ')', ';', '|', '='], " ");
    let mut words = Vec::new();
    for word in plain.split_whitespace() {
        let word = word.trim_matches([',', ':']);
        let is_figure = word.starts_with(|c: char| c.is_ascii_digit() || c == '.');
        let pieces: Vec<&str> = if is_figure {
            word.split('x').collect()
        } else {
            vec![word]
        };
        let pieces = pieces.into_iter().filter(|piece| !piece.is_empty());
        words.extend(pieces.map(str::to_owned));
    }
    words
}

/// Without blanks and case.
pub(super) fn squeezed(text: &str) -> String {
    let letters = text.chars().filter(|c| !c.is_whitespace());
    letters.flat_map(char::to_lowercase).collect()
}
