//! Stubs: short electrodes in the jar of a site. They are never counted among the full rods.

use chrono::{DateTime, Utc};
use domain::class::ElectrodeClass;
use domain::size::{Diameter, RodLength};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::entry;
use crate::{Checker, Violation};

/// How many stubs one entry may move.
const STUBS_MAX: i64 = 10_000;

entry! {
    /// Stubs that go into the jar without a torch, or come out of it.
    NewStub {
        /// `add`, `take` or `scrap`; `add` unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "add")]
        what: Option<String>,
        /// The electrode class; `unidentified` if the band is gone.
        #[schema(example = "unidentified")]
        class: String,
        /// The diameter.
        #[schema(example = "2.4 mm")]
        diameter: String,
        /// How long they are. Unless told, it is not known; to take or scrap, any that is in the jar.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(example = "48 mm")]
        length: Option<String>,
        /// How many; 1 unless told.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        #[schema(minimum = 1, maximum = 10000)]
        quantity: Option<i64>,
    }
}

/// What is done with stubs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StubMove {
    /// They go into the jar.
    Add,
    /// They are taken for use.
    Take,
    /// They are thrown away.
    Scrap,
}

/// Stubs that are told apart by nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StubKind {
    /// Their class.
    pub class: ElectrodeClass,
    /// Their diameter.
    pub diameter: Diameter,
    /// Their length, where it is known.
    pub length: Option<RodLength>,
}

/// Stubs of one class, diameter, length and lot in the jar of a site.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct StubGroup {
    /// The electrode class, or `unidentified`.
    pub class: String,
    /// The diameter.
    pub diameter: String,
    /// How long they are; absent if nobody measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<String>,
    /// Their lot; absent if it is not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    /// How many there are.
    pub quantity: i64,
    /// How many of them may be used: none where they are held.
    pub available: i64,
    /// Why they are held.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(example = "of unknown class, not permitted at Tarnbridge")]
    pub held_because: Option<String>,
    /// Whether a procedure that fixes the electrode could accept them: only if class and lot are
    /// known. Whether it does is not said here.
    pub usable_under_a_fixed_procedure: bool,
}

/// A page of a stub jar.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct StubPage {
    /// The site.
    pub site: String,
    /// The stubs by class, diameter, length and lot.
    pub stubs: Vec<StubGroup>,
    /// The cautions that go with them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<String>,
    /// The instant these figures stand for.
    pub as_of: DateTime<Utc>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Which stubs are asked for.
#[derive(Clone, Debug, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct ListStubs {
    /// The site; the first site unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// Only of this class.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub class: Option<String>,
    /// Only of this diameter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub diameter: Option<String>,
    /// Rows on a page, 1 to 500; 100 unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(minimum = 1, maximum = 500)]
    pub limit: Option<u64>,
    /// The `next` of the page before; absent for the first page.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<String>,
}

impl StubMove {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Add, Self::Take, Self::Scrap];

    /// The word on the wire.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Add => "add",
            Self::Take => "take",
            Self::Scrap => "scrap",
        }
    }

    /// What that word means.
    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|what| what.as_str() == word)
    }
}

impl NewStub {
    /// What is done with which stubs, or everything that is wrong.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(StubMove, StubKind), Vec<Violation>> {
        let mut checker = Checker::default();
        let word = self.what.as_deref().unwrap_or(StubMove::Add.as_str());
        let what = StubMove::parse(word)
            .ok_or_else(|| format!("\"{word}\" is unknown; give add, take or scrap"));
        let what = checker.take("what", what);
        let class = checker.take("class", ElectrodeClass::parse(&self.class));
        let diameter = checker.take("diameter", Diameter::parse(&self.diameter));
        let length = checker.take_opt("length", self.length.as_deref(), RodLength::parse);
        checker.range("quantity", self.quantity.unwrap_or(1), 1, STUBS_MAX);
        self.circumstances().check(&mut checker);
        checker.finish()?;
        let (Some(what), Some(class), Some(diameter)) = (what, class, diameter) else {
            return Err(Vec::new());
        };
        let kind = StubKind {
            class,
            diameter,
            length,
        };
        Ok((what, kind))
    }
}
