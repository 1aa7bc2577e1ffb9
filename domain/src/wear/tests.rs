//! Wear rates, evidence and the ladder.

use super::*;

#[test]
fn a_share_of_own_data_is_the_part_of_exposure_that_was_seen() {
    let assumed = Gamma::new(1.0, 40.0).expect("gamma");
    assert!((assumed.own_data_share(20.0) - 1.0 / 3.0).abs() < 1e-15);
}
