//! The closed lists of names: one kebab-case spelling for each member, for the wire and the
//! database. What the lists contain is declared where the subject is.

use thiserror::Error;

/// A text that is none of a list's names.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{value} is not a {list}; known are {known}")]
pub struct ParseNameError {
    /// What the list is of, in words.
    pub list: &'static str,
    /// The text as given, shortened.
    pub value: String,
    /// The names that would do.
    pub known: String,
}

/// Declares a fieldless enum with its names, so that no list can forget one of its members.
macro_rules! named {
    (
        $(#[$about:meta])*
        $name:ident, $list:literal {
            $( $(#[$member_about:meta])* $member:ident = $text:literal ),+ $(,)?
        }
    ) => {
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name {
            $( $(#[$member_about])* $member ),+
        }

        impl $name {
            /// Every member, in the order of declaration.
            pub const ALL: &'static [Self] = &[$(Self::$member),+];

            /// The kebab-case name.
            pub fn as_str(self) -> &'static str {
                match self {
                    $( Self::$member => $text ),+
                }
            }

            /// Reads a name; case does not matter.
            ///
            /// # Errors
            /// [`ParseNameError`](crate::named::ParseNameError) with the names that would do.
            pub fn parse(text: &str) -> Result<Self, $crate::named::ParseNameError> {
                let wanted = text.trim();
                Self::ALL
                    .iter()
                    .copied()
                    .find(|member| member.as_str().eq_ignore_ascii_case(wanted))
                    .ok_or_else(|| $crate::named::ParseNameError {
                        list: $list,
                        value: wanted.chars().take(40).collect(),
                        known: Self::ALL.iter().map(|m| m.as_str()).collect::<Vec<_>>().join(", "),
                    })
            }
        }
    };
}

pub(crate) use named;
