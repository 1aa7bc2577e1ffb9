//! Figures from outside: each test compares the domain with values that this project did not
//! compute. Where they come from and how close they must be is in the README beside this file.

mod advice;
mod classes;
mod gas_and_filler;
mod intermittent;
mod kit_count;
mod open_data;
mod order_selection;
mod policies;
mod predictive;
mod second_library;
mod sizes;
mod sums;
mod two_drivers;
mod units;
mod wide_range;

/// Asserts that two numbers agree to a relative tolerance; an expected 0 must be met exactly.
#[track_caller]
fn assert_close(found: f64, expected: f64, relative: f64, what: &str) {
    let difference = (found - expected).abs();
    assert!(
        difference <= relative * expected.abs(),
        "{what}: found {found:e}, expected {expected:e}, relative difference {:e}",
        difference / expected.abs()
    );
}
