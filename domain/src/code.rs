//! The short code by which a shop names a part, a torch, a kit, a job, a supplier or a site. What
//! the code stands for is elsewhere.

use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};

use thiserror::Error;

/// A code of 1 to 64 characters: ASCII letters, digits, `.`, `_`, `-`, beginning with a letter or
/// a digit. It is kept as given and compared without regard to case, because `wla20-2.4` on a phone
/// is the same drawer as `WLa20-2.4` on the label.
///
/// ```
/// use tigstock_domain::code::Code;
/// let label = Code::parse("part", "WLa20-2.4")?;
/// assert_eq!(label, Code::parse("part", "wla20-2.4")?);
/// assert_eq!(label.as_str(), "WLa20-2.4");
/// # Ok::<(), tigstock_domain::code::ParseCodeError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Code(String);

/// Why a text is not a code.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ParseCodeError {
    /// No character at all.
    #[error("a {kind} code is missing")]
    Empty {
        /// What the code was to name.
        kind: &'static str,
    },
    /// More than 64 characters.
    #[error(
        "a {kind} code has at most {} characters, this one has {length}",
        Code::LENGTH_MAX
    )]
    TooLong {
        /// What the code was to name.
        kind: &'static str,
        /// How many characters were given.
        length: usize,
    },
    /// A character that has no place in a code.
    #[error(
        "{value} is not a {kind} code: use letters, digits, '.', '_' and '-', beginning with a letter or digit"
    )]
    Character {
        /// What the code was to name.
        kind: &'static str,
        /// The text as given.
        value: String,
    },
}

impl Code {
    /// The longest code, in characters.
    pub const LENGTH_MAX: usize = 64;

    /// Reads a code; `kind` is the noun for the message (`part`, `torch`). Blanks around it are
    /// not part of it.
    ///
    /// # Errors
    /// [`ParseCodeError`]: empty, too long, or with another character than the code's own.
    pub fn parse(kind: &'static str, text: &str) -> Result<Self, ParseCodeError> {
        let text = text.trim();
        let length = text.chars().count();
        let Some(first) = text.chars().next() else {
            return Err(ParseCodeError::Empty { kind });
        };
        if length > Self::LENGTH_MAX {
            return Err(ParseCodeError::TooLong { kind, length });
        }
        let fits = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-');
        if first.is_ascii_alphanumeric() && text.chars().all(fits) {
            Ok(Self(text.to_owned()))
        } else {
            Err(ParseCodeError::Character {
                kind,
                value: text.to_owned(),
            })
        }
    }

    /// The code as it was given.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The lower-case form, under which two spellings of one code are equal.
    pub fn key(&self) -> String {
        self.0.to_ascii_lowercase()
    }

    /// A text under which codes sort as people number things: 2 before 10, and 10 before 10a.
    ///
    /// Each run of digits is written as how many digits it has and then the digits, zeros in front
    /// left out; the code in lower case follows after a blank, so that 2 and 02 stay apart.
    ///
    /// ```
    /// use tigstock_domain::code::Code;
    /// let key = |text| Code::parse("drawer", text).map(|code| code.sort_key());
    /// assert!(key("2")? < key("10")?);
    /// assert!(key("B9-2")? < key("b10-1")?);
    /// # Ok::<(), tigstock_domain::code::ParseCodeError>(())
    /// ```
    pub fn sort_key(&self) -> String {
        let code = self.key();
        let mut sort_key = String::with_capacity(2 * code.len() + 8);
        let mut rest = code.as_str();
        while let Some(first) = rest.chars().next() {
            let is_digit = first.is_ascii_digit();
            let end = rest
                .find(|c: char| c.is_ascii_digit() != is_digit)
                .unwrap_or(rest.len());
            let (run, after) = rest.split_at(end);
            if is_digit {
                let digits = run.trim_start_matches('0');
                // A code has at most 64 characters, so two digits tell how many there are.
                let length = format!("{:02}", digits.len());
                sort_key.push_str(&length);
                sort_key.push_str(digits);
            } else {
                sort_key.push_str(run);
            }
            rest = after;
        }
        sort_key.push(' ');
        sort_key.push_str(&code);
        sort_key
    }

    fn folded(&self) -> impl Iterator<Item = u8> + '_ {
        self.0.bytes().map(|byte| byte.to_ascii_lowercase())
    }
}

impl PartialEq for Code {
    fn eq(&self, other: &Self) -> bool {
        self.0.eq_ignore_ascii_case(&other.0)
    }
}

impl Eq for Code {}

impl PartialOrd for Code {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Code {
    fn cmp(&self, other: &Self) -> Ordering {
        self.folded().cmp(other.folded())
    }
}

impl Hash for Code {
    fn hash<H: Hasher>(&self, state: &mut H) {
        for byte in self.folded() {
            state.write_u8(byte);
        }
        state.write_u8(0xff);
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn drawers_sort_as_people_number_them() {
        let in_order = [
            "0", "1", "02", "2", "9", "10", "10a", "10b", "11", "100", "A2", "a10", "b1-2", "B1-10",
        ];
        let keys: Vec<String> = in_order
            .iter()
            .map(|text| Code::parse("drawer", text).expect("a code").sort_key())
            .collect();
        let mut sorted = keys.clone();
        sorted.sort();
        assert_eq!(keys, sorted);
        sorted.dedup();
        assert_eq!(sorted.len(), in_order.len(), "no two have the same");
    }

    #[test]
    fn spellings_that_differ_in_case_are_one_code() {
        let set: HashSet<Code> = ["T1", "t1", "T2"]
            .into_iter()
            .map(|text| Code::parse("torch", text).expect("a code"))
            .collect();
        assert_eq!(set.len(), 2);
    }

    #[test]
    fn what_is_not_a_code_is_refused_with_the_noun() {
        let refused = ["", "-T1", "T 1", "T/1", "T1\n2", "\u{e9}1"];
        for text in refused {
            let said = Code::parse("torch", text).unwrap_err().to_string();
            assert!(said.contains("torch code"), "{said}");
        }
        assert_eq!(
            Code::parse("part", &"a".repeat(65)),
            Err(ParseCodeError::TooLong {
                kind: "part",
                length: 65
            })
        );
        assert!(Code::parse("part", &"a".repeat(64)).is_ok());
    }
}
