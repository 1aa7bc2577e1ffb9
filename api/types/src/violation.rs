//! What is wrong with a request, field by field, and the small checks that find it. A violation
//! always names the field, the value and what to do.

use std::fmt::Display;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// One thing that is wrong with a request.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Violation {
    /// JSON Pointer (RFC 6901) into the request body, or `?name` for a query parameter.
    #[schema(example = "/diameter")]
    pub pointer: String,
    /// The value that was sent and what to send instead.
    #[schema(example = "\"2.45\" is not a named diameter; nearest are 2.4 mm and 2.5 mm")]
    pub detail: String,
}

impl Violation {
    /// A violation at `pointer`, told by `detail`.
    pub fn new(pointer: impl Into<String>, detail: impl Display) -> Self {
        Self {
            pointer: pointer.into(),
            detail: detail.to_string(),
        }
    }
}

/// Collects violations while a request is read, so that a person hears of all of them at once.
#[derive(Debug, Default)]
pub struct Checker {
    prefix: String,
    found: Vec<Violation>,
}

impl Checker {
    /// A checker whose pointers start at `prefix` (empty for the whole body).
    pub fn at(prefix: impl Into<String>) -> Self {
        Self {
            prefix: prefix.into(),
            found: Vec::new(),
        }
    }

    /// Notes a violation of `field`.
    pub fn note(&mut self, field: &str, detail: impl Display) {
        self.found
            .push(Violation::new(format!("{}/{field}", self.prefix), detail));
    }

    /// The value of a check, or a note of its error.
    pub fn take<T, E: Display>(&mut self, field: &str, result: Result<T, E>) -> Option<T> {
        result.map_err(|error| self.note(field, error)).ok()
    }

    /// Like [`Checker::take`] for a field that may be absent.
    pub fn take_opt<T, E: Display, V: ?Sized>(
        &mut self,
        field: &str,
        value: Option<&V>,
        check: impl FnOnce(&V) -> Result<T, E>,
    ) -> Option<T> {
        value.and_then(|value| self.take(field, check(value)))
    }

    /// A field that must be there: notes its absence.
    pub fn need<T>(&mut self, field: &str, value: Option<T>, remedy: &str) -> Option<T> {
        if value.is_none() {
            self.note(field, format!("missing; {remedy}"));
        }
        value
    }

    /// A whole number within `min..=max`.
    pub fn range(&mut self, field: &str, value: i64, min: i64, max: i64) -> i64 {
        if !(min..=max).contains(&value) {
            self.note(
                field,
                format!("{value} is out of range; give {min} to {max}"),
            );
        }
        value
    }

    /// A short text: not over `max` characters, no control characters.
    pub fn text(&mut self, field: &str, value: Option<&str>, max: usize) {
        let Some(text) = value else { return };
        if text.chars().count() > max {
            self.note(
                field,
                format!("{} characters; give at most {max}", text.chars().count()),
            );
        }
        if text.chars().any(char::is_control) {
            self.note(
                field,
                "holds a control character; give plain text on one line",
            );
        }
    }

    /// How many violations were noted.
    pub fn noted(&self) -> usize {
        self.found.len()
    }

    /// `Ok` when nothing was found.
    ///
    /// # Errors
    /// All violations that were noted.
    pub fn finish(self) -> Result<(), Vec<Violation>> {
        if self.found.is_empty() {
            Ok(())
        } else {
            Err(self.found)
        }
    }
}
