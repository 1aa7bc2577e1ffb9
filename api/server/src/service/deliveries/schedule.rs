//! When a delivery that failed is tried again. Functions of values: no clock, no dice.

use std::time::Duration;

/// How long to wait after each failed try: the schedule that the Standard Webhooks specification (1.0.0,
/// "Deliverability and reliability") recommends. The first try is at once. After the last step a day
/// passes between tries until [`GIVE_UP_AFTER`].
const WAITS_SECONDS: [u64; 9] = [
    5,
    5 * 60,
    30 * 60,
    2 * 3_600,
    5 * 3_600,
    10 * 3_600,
    14 * 3_600,
    20 * 3_600,
    24 * 3_600,
];

/// How long a delivery is tried, from its first try on, and how long a webhook may fail without a single
/// success before nothing is sent to it any more (product rule: a long weekend must not lose a message).
pub const GIVE_UP_AFTER: Duration = Duration::from_hours(5 * 24);

/// The longest wait that a receiver may ask for: a day, so that none can put a message off for ever.
const ASKED_MAX: Duration = Duration::from_hours(24);

/// How much of a wait is added at most, as a share of it, so that many that failed at the same time do not
/// come back at the same time (common practice).
const JITTER_SHARE: f64 = 0.1;

/// How long to wait after the `attempts`-th failed try, 1 or more. `dice` is a number from 0 to 1 at
/// random; `asked` is what the receiver asked for (`Retry-After`), which is kept to if it is longer.
pub fn wait(attempts: u32, dice: f64, asked: Option<Duration>) -> Duration {
    let step = usize::try_from(attempts.saturating_sub(1)).unwrap_or(usize::MAX);
    let last = WAITS_SECONDS.len() - 1;
    let wait = Duration::from_secs(WAITS_SECONDS[step.min(last)]);
    let dice = if dice.is_finite() {
        dice.clamp(0.0, 1.0)
    } else {
        0.0
    };
    let wait = wait + wait.mul_f64(JITTER_SHARE * dice);
    wait.max(asked.unwrap_or_default().min(ASKED_MAX))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_waits_are_those_of_the_specification() {
        let told: Vec<u64> = (1..=10).map(|it| wait(it, 0.0, None).as_secs()).collect();
        let hours = |hours: u64| hours * 3_600;
        assert_eq!(
            told,
            [
                5,
                300,
                1_800,
                hours(2),
                hours(5),
                hours(10),
                hours(14),
                hours(20),
                hours(24),
                hours(24)
            ]
        );
    }

    #[test]
    fn dice_only_ever_add_and_never_more_than_a_tenth() {
        for attempts in 1..12 {
            let base = wait(attempts, 0.0, None);
            for dice in [0.0, 0.3, 1.0, 7.0, -1.0, f64::NAN] {
                let thrown = wait(attempts, dice, None);
                assert!(
                    base <= thrown && thrown <= base + base / 10,
                    "{attempts} {dice}"
                );
            }
        }
    }

    #[test]
    fn what_the_receiver_asks_for_is_kept_to_up_to_a_day() {
        let minutes = Duration::from_mins(20);
        assert_eq!(wait(1, 0.0, Some(minutes)), minutes);
        assert_eq!(wait(4, 0.0, Some(minutes)), Duration::from_hours(2));
        let forever = Duration::from_secs(u64::MAX);
        assert_eq!(wait(1, 0.0, Some(forever)), Duration::from_hours(24));
    }
}
