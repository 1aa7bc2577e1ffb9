//! Named sizes: electrode and filler diameters, cup numbers and rod lengths. What fits what, and
//! which classes exist, is elsewhere.

mod cup;
mod decimal;
mod diameter;
mod marking;
mod rod;
mod spreadsheet;
#[cfg(test)]
mod tests;

pub(crate) use decimal::exact_multiple;
pub(crate) use marking::{LengthUnit, split_unit};

pub use cup::{CupBoreError, CupNumber, CupNumberError, ParseCupError};
pub use diameter::{Diameter, ParseDiameterError};
pub use rod::{RodLength, RodLengthError};
