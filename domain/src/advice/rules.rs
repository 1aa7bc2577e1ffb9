//! Rules of thumb that follow from a diameter or a current: the smallest cup, how far the electrode
//! may stand out, how long the gas flows on, and litres against cubic feet.

use super::current::Current;
use crate::size::{CupNumber, Diameter};

/// The name of the rule for the smallest cup.
pub const CUP_RULE: &str = "cup bore at least 3 x electrode diameter, in inches (common practice)";
/// The name of the rules for stickout.
pub const STICKOUT_RULE: &str = "stickout up to 3 x diameter, 6 x with a gas lens in draught-free \
                                 air; or not more than the cup bore (common practice)";
/// The name of the rule for post-flow.
pub const POST_FLOW_RULE: &str = "post-flow 1 s for each 10 A (course notes)";

/// Litres a minute in one cubic foot an hour: 28.3168466 L / 60 min, by the foot of exactly
/// 0.3048 m.
pub const CFH_IN_LITRES_PER_MINUTE: f64 = 0.471_947;

/// Cup numbers that are usually sold (common practice); 9 is not among them.
const USUAL_CUPS: [u8; 8] = [4, 5, 6, 7, 8, 10, 11, 12];

/// The smallest cup whose bore is at least three times the electrode diameter, not below no. 4, the
/// smallest that is usually sold; `None` if no cup number is large enough.
///
/// A cup number is sixteenths of an inch, so it is 48 times the diameter in inches, rounded up. The
/// inch size is meant, not the metric name: 1/8 in gives exactly no. 6, though 3 x 3.2 mm is more
/// than its bore.
///
/// ```
/// use tigstock_domain::advice::minimum_cup;
/// use tigstock_domain::size::Diameter;
/// assert_eq!(minimum_cup(Diameter::parse("3.2")?).map(|cup| cup.get()), Some(6));
/// # Ok::<(), tigstock_domain::size::ParseDiameterError>(())
/// ```
pub fn minimum_cup(diameter: Diameter) -> Option<CupNumber> {
    let (over, under) = diameter.inches();
    let number = (48 * over + under - 1) / under;
    CupNumber::new(number.max(i64::from(USUAL_CUPS[0]))).ok()
}

/// The smallest usual cup number that is not below `cup`, where there is one.
pub fn next_usual_cup(cup: CupNumber) -> Option<CupNumber> {
    let usual = USUAL_CUPS.into_iter().find(|number| *number >= cup.get())?;
    CupNumber::new(i64::from(usual)).ok()
}

/// How far an electrode usually stands out at most, in micrometres: three diameters.
pub fn stickout_um(diameter: Diameter) -> i64 {
    3 * diameter.um()
}

/// The same with a gas lens in draught-free air: six diameters.
pub fn stickout_lens_um(diameter: Diameter) -> i64 {
    6 * diameter.um()
}

/// How long the gas flows on after the arc, in seconds: one for each 10 A.
pub fn post_flow_seconds(current: Current) -> f64 {
    current.amps() / 10.0
}

/// Litres a minute in cubic feet an hour.
pub fn cfh(litres_per_minute: f64) -> f64 {
    litres_per_minute / CFH_IN_LITRES_PER_MINUTE
}
