//! Whole lives from a record of changes: what a part went through between two changes at one position. What the lives
//! say is in the parent and in `regularity`.

use std::collections::BTreeMap;

use super::{LifeError, Lives};

/// Something that happened to the parts at some positions, in the order of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Happened {
    /// A position was exposed to so much.
    Exposed {
        /// Which position.
        position: i64,
        /// In units of the driver, from 0.
        exposure: f64,
    },
    /// One fresh part was put in at a position.
    Changed {
        /// Which position.
        position: i64,
    },
    /// Parts were taken or put back, so that it is not known which part is in this position, or in any if none is
    /// named.
    Unknown {
        /// Which position.
        position: Option<i64>,
    },
}

/// The lives that ended, and the age of the part that is in each position now, where that is known.
///
/// A life is whole if both its changes are on record and nothing between them makes it unknown. Parts that were
/// changed without any exposure broke when new; they are no lives, and the exposure of the next one begins anew.
///
/// # Errors
/// [`LifeError`] for an exposure that is negative or beyond all bounds.
///
/// ```
/// use tigstock_domain::wear::gamma_life::{Happened, lives};
/// let (change, ground) = (Happened::Changed { position: 1 }, |grinds| Happened::Exposed { position: 1, exposure: grinds });
/// let (whole, ages) = lives([ground(7.0), change, ground(12.0), ground(8.0), change, ground(3.0)])?;
/// // What was in before the first change is no whole life; then one of 20, and 3 so far.
/// assert_eq!((whole.whole(), whole.exposure(), ages[&1]), (1, 20.0, 3.0));
/// # Ok::<(), tigstock_domain::wear::gamma_life::LifeError>(())
/// ```
pub fn lives(
    happened: impl IntoIterator<Item = Happened>,
) -> Result<(Lives, BTreeMap<i64, f64>), LifeError> {
    let (mut whole, mut ages) = (Lives::NONE, BTreeMap::new());
    for one in happened {
        match one {
            Happened::Exposed { position, exposure } => {
                if !(0.0..=Lives::LIFE_MAX).contains(&exposure) {
                    return Err(LifeError::Age(exposure));
                }
                if let Some(age) = ages.get_mut(&position) {
                    *age += exposure;
                }
            }
            Happened::Changed { position } => {
                if let Some(age) = ages.insert(position, 0.0).filter(|age| *age > 0.0) {
                    whole = whole.and(age)?;
                }
            }
            Happened::Unknown {
                position: Some(position),
            } => {
                ages.remove(&position);
            }
            Happened::Unknown { position: None } => ages.clear(),
        }
    }
    Ok((whole, ages))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn exposed(position: i64, exposure: f64) -> Happened {
        Happened::Exposed { position, exposure }
    }

    fn changed(position: i64) -> Happened {
        Happened::Changed { position }
    }

    #[test]
    fn each_position_has_lives_of_its_own() {
        let (whole, ages) = lives([
            changed(1),
            changed(2),
            exposed(1, 10.0),
            exposed(2, 4.0),
            changed(2),
            exposed(1, 5.0),
            changed(1),
            exposed(2, 1.5),
        ])
        .expect("lives");
        assert_eq!((whole.whole(), whole.exposure()), (2, 19.0));
        assert_eq!(ages, BTreeMap::from([(1, 0.0), (2, 1.5)]));
    }

    #[test]
    fn what_is_not_known_ends_no_life_and_begins_none() {
        let unknown = |position| Happened::Unknown { position };
        let (whole, ages) = lives([
            changed(1),
            exposed(1, 10.0),
            unknown(Some(1)),
            exposed(1, 5.0),
            changed(1),
            changed(2),
            exposed(2, 3.0),
            unknown(None),
            changed(2),
        ])
        .expect("lives");
        assert_eq!(whole, Lives::NONE);
        assert_eq!(ages, BTreeMap::from([(2, 0.0)]));
    }

    #[test]
    fn a_part_that_broke_when_new_is_no_life() {
        let (whole, _) = lives([
            changed(1),
            changed(1),
            exposed(1, 0.0),
            changed(1),
            exposed(1, 9.0),
            changed(1),
        ])
        .expect("lives");
        assert_eq!((whole.whole(), whole.exposure()), (1, 9.0));
        let wrong = lives([exposed(1, -1.0)]);
        assert_eq!(wrong, Err(LifeError::Age(-1.0)));
    }
}
