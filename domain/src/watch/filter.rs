//! A filter over parts: a kind with named sizes and classes, so that electrodes that do the same job are
//! watched together. Parts themselves are in [`part`](crate::part).

use std::fmt;

use thiserror::Error;

use crate::class::{ElectrodeClass, ParseClassError};
use crate::named::ParseNameError;
use crate::part::{PartKind, PartSpec};
use crate::size::{CupNumber, Diameter, ParseCupError, ParseDiameterError};

/// A kind of part, with the named sizes and classes that count; none named means any.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Filter {
    kind: PartKind,
    diameters: Vec<Diameter>,
    cups: Vec<CupNumber>,
    classes: Vec<ElectrodeClass>,
}

/// Why a text is no filter.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum FilterError {
    /// Nothing but blanks.
    #[error("a filter is missing: write a kind, sizes and classes, like electrode 1.6 WLa20,WCe20")]
    Empty,
    /// It does not begin with a kind.
    #[error("{0}; a filter begins with one, like electrode 1.6 WLa20,WCe20")]
    Kind(ParseNameError),
    /// A size that is none.
    #[error(transparent)]
    Diameter(#[from] ParseDiameterError),
    /// A cup number that is none.
    #[error(transparent)]
    Cup(#[from] ParseCupError),
    /// A class that is none.
    #[error(transparent)]
    Class(#[from] ParseClassError),
    /// A class of something that has none.
    #[error("only electrodes have a class: leave out {0}")]
    NoClass(String),
}

impl Filter {
    /// Reads a filter: the kind, then sizes and classes in any order, apart by blanks or commas.
    ///
    /// ```
    /// use tigstock_domain::watch::Filter;
    /// let filter = Filter::parse("electrode WCe20, 1.6mm WLa20").unwrap();
    /// assert_eq!(filter.to_string(), "electrode 1.6 WCe20,WLa20");
    /// ```
    ///
    /// # Errors
    /// [`FilterError`], for the first word that is none of these.
    pub fn parse(text: &str) -> Result<Self, FilterError> {
        let text = text.replace(" mm", "mm");
        let mut words = text
            .split(|letter: char| letter.is_whitespace() || letter == ',')
            .filter(|word| !word.is_empty());
        let kind = words.next().ok_or(FilterError::Empty)?;
        let mut filter = Self {
            kind: PartKind::parse(kind).map_err(FilterError::Kind)?,
            diameters: Vec::new(),
            cups: Vec::new(),
            classes: Vec::new(),
        };
        for word in words {
            filter.take(word)?;
        }
        filter.diameters.sort_unstable_by_key(|size| size.um());
        filter.diameters.dedup();
        filter.cups.sort_unstable_by_key(|cup| cup.get());
        filter.cups.dedup();
        filter.classes = ElectrodeClass::ALL
            .into_iter()
            .filter(|class| filter.classes.contains(class))
            .collect();
        Ok(filter)
    }

    fn take(&mut self, word: &str) -> Result<(), FilterError> {
        if word.starts_with(|letter: char| letter.is_ascii_digit()) {
            if self.kind == PartKind::Cup {
                self.cups.push(CupNumber::parse(word)?);
            } else {
                self.diameters.push(Diameter::parse(word)?);
            }
            return Ok(());
        }
        if self.kind != PartKind::Electrode {
            return Err(FilterError::NoClass(word.chars().take(40).collect()));
        }
        self.classes.push(ElectrodeClass::parse(word)?);
        Ok(())
    }

    /// What its parts are called together: `Electrode 1.6 mm, WCe20 or WLa20`.
    pub fn describe(&self) -> String {
        let or = |words: Vec<String>| words.join(" or ");
        let sizes = self.diameters.iter().map(ToString::to_string);
        let cups = self.cups.iter().map(|cup| format!("no. {}", cup.get()));
        let sizes = or(sizes.chain(cups).collect());
        let classes = or(self
            .classes
            .iter()
            .map(|it| it.symbol().to_owned())
            .collect());
        let noun = self.kind.noun();
        let mut letters = noun.chars();
        let noun: String = letters
            .next()
            .map(|first| first.to_uppercase().chain(letters).collect())
            .unwrap_or_default();
        let words = [sizes, classes];
        let words: Vec<String> = words.into_iter().filter(|it| !it.is_empty()).collect();
        if words.is_empty() {
            format!("{noun}, all")
        } else {
            format!("{noun} {}", words.join(", "))
        }
    }

    /// The kind.
    pub fn kind(&self) -> PartKind {
        self.kind
    }

    /// Whether a part is among those that count.
    pub fn matches(&self, part: &PartSpec) -> bool {
        let (diameter, cup) = size(part);
        let is_among = |diameter| self.diameters.is_empty() || self.diameters.contains(&diameter);
        let is_cup = |cup| self.cups.is_empty() || self.cups.contains(&cup);
        let is_class = |class| self.classes.is_empty() || self.classes.contains(&class);
        part.kind() == self.kind
            && diameter.map_or(self.diameters.is_empty(), is_among)
            && cup.map_or(self.cups.is_empty(), is_cup)
            && part.class().map_or(self.classes.is_empty(), is_class)
    }

    /// How many of size and class fit a part of the same kind: which of the parts comes nearest.
    pub fn nearness(&self, part: &PartSpec) -> usize {
        let (diameter, cup) = size(part);
        let among = [
            part.kind() == self.kind,
            diameter.is_some_and(|it| self.diameters.contains(&it)),
            cup.is_some_and(|it| self.cups.contains(&it)),
            part.class().is_some_and(|it| self.classes.contains(&it)),
        ];
        among.into_iter().filter(|it| *it).count()
    }
}

fn size(part: &PartSpec) -> (Option<Diameter>, Option<CupNumber>) {
    match part {
        PartSpec::Electrode { diameter, .. }
        | PartSpec::Collet { diameter, .. }
        | PartSpec::ColletBody { diameter, .. }
        | PartSpec::GasLens { diameter, .. }
        | PartSpec::FillerRod { diameter, .. } => (Some(*diameter), None),
        PartSpec::Cup { number, .. } => (None, Some(*number)),
        PartSpec::BackCap { .. }
        | PartSpec::ORing { .. }
        | PartSpec::Insulator { .. }
        | PartSpec::ShieldingGas { .. }
        | PartSpec::TungstenWheel => (None, None),
    }
}

impl fmt::Display for Filter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.kind.as_str())?;
        let mut list = |words: Vec<String>| match words.len() {
            0 => Ok(()),
            _ => write!(f, " {}", words.join(",")),
        };
        list(self.diameters.iter().map(|it| it.mm().to_owned()).collect())?;
        list(self.cups.iter().map(|it| it.get().to_string()).collect())?;
        list(
            self.classes
                .iter()
                .map(|it| it.symbol().to_owned())
                .collect(),
        )
    }
}
