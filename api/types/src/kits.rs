//! Kits: the list of parts that a set-up needs.

use domain::code::Code;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use crate::shape::resource;
use crate::{Checker, Violation};

/// A front end has seven parts; this leaves room for spares and wheels.
pub const KIT_PARTS_MAX: usize = 100;

/// A slot of a kit: a part, and others that will do in its place.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct KitLine {
    /// The code of the part.
    pub part: String,
    /// How many of it one kit holds.
    #[serde(default = "one")]
    #[schema(minimum = 1, maximum = 1000)]
    pub quantity: i64,
    /// The codes of other parts that will do, in the order in which they are wanted. Pieces of several
    /// may be mixed. A forecast of the kit is of its first choices.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(example = json!(["cup-8-lens"]))]
    pub or: Vec<String>,
}

fn one() -> i64 {
    1
}

resource! {
    /// A kit as it should be.
    new NewKit
    /// A kit.
    view Kit
    given {
        /// The short name of the kit.
        #[schema(example = "K-24G")]
        code: String,
        /// What people call it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        name: Option<String>,
        /// Its parts, each once.
        parts: Vec<KitLine>,
    }
    added {
        /// Counts the edits; also the `ETag`.
        version: i64,
    }
}

/// A page of kits.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
pub struct KitPage {
    /// The kits by code.
    pub kits: Vec<Kit>,
    /// Give it as `after` for the next page; absent on the last.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next: Option<String>,
}

/// Names a kit.
#[derive(Clone, Debug, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Path)]
pub struct KitPath {
    /// The code of the kit.
    pub kit: String,
}

impl NewKit {
    /// Checks the codes and the quantities.
    ///
    /// # Errors
    /// One violation a field.
    pub fn check(&self) -> Result<(), Vec<Violation>> {
        let mut checker = Checker::default();
        checker.take("code", Code::parse("kit", &self.code));
        checker.text("name", self.name.as_deref(), 80);
        if self.parts.is_empty() {
            checker.note("parts", "is empty; a kit holds at least one part");
        }
        if self.parts.len() > KIT_PARTS_MAX {
            checker.note(
                "parts",
                format!("{} parts; give at most {KIT_PARTS_MAX}", self.parts.len()),
            );
        }
        for (index, line) in self.parts.iter().enumerate() {
            checker.range(&format!("parts/{index}/quantity"), line.quantity, 1, 1_000);
            if self.parts[..index]
                .iter()
                .any(|other| other.part.eq_ignore_ascii_case(&line.part))
            {
                checker.note(
                    &format!("parts/{index}/part"),
                    format!(
                        "\"{}\" is listed twice; give one line with the quantity",
                        line.part
                    ),
                );
            }
            line.check_alternatives(index, &mut checker);
        }
        checker.finish()
    }
}

impl KitLine {
    fn check_alternatives(&self, index: usize, checker: &mut Checker) {
        if self.part.trim().is_empty() {
            let why = "is empty; name the part of the slot, or leave the slot out";
            checker.note(&format!("parts/{index}/part"), why);
        }
        for (other, alternative) in self.or.iter().enumerate() {
            let field = format!("parts/{index}/or/{other}");
            if alternative.eq_ignore_ascii_case(&self.part) {
                let why = format!("\"{alternative}\" is its own alternative; leave it out");
                checker.note(&field, why);
            } else if self.or[..other]
                .iter()
                .any(|it| it.eq_ignore_ascii_case(alternative))
            {
                checker.note(
                    &field,
                    format!("\"{alternative}\" is listed twice; give it once"),
                );
            }
        }
        if self.or.len() > KIT_PARTS_MAX {
            let count = self.or.len();
            let why = format!("{count} alternatives; give at most {KIT_PARTS_MAX}");
            checker.note(&format!("parts/{index}/or"), why);
        }
    }
}
