//! The weekly limit of messages: how many may still be told, and which of those that wait.

use chrono::{DateTime, TimeDelta, Utc};

/// Messages in seven days unless told otherwise (product rule).
pub const WEEKLY_LIMIT: i64 = 5;

/// The highest weekly limit.
pub const WEEKLY_LIMIT_MAX: i64 = 1_000;

/// How many messages may be told at an instant so that no seven days hold more than `limit`, from the
/// instants of those that were told before. Those about safety are not counted by the caller.
pub fn room(
    told: impl IntoIterator<Item = DateTime<Utc>>,
    now: DateTime<Utc>,
    limit: i64,
) -> usize {
    let recent = told
        .into_iter()
        .filter(|at| now - *at < TimeDelta::weeks(1))
        .count();
    usize::try_from(limit).unwrap_or(0).saturating_sub(recent)
}

/// Which of the messages that wait are told: those that weigh most, as many as there is room for; of
/// equal weight the first ones. A weight is the chance of a stop times the hours that it costs.
pub fn chosen(weights: &[f64], room: usize) -> Vec<bool> {
    let mut order: Vec<usize> = (0..weights.len()).collect();
    order.sort_by(|a, b| weights[*b].total_cmp(&weights[*a]));
    let mut chosen = vec![false; weights.len()];
    for index in order.into_iter().take(room) {
        chosen[index] = true;
    }
    chosen
}
