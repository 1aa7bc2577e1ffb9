//! How many open days a supplier takes, learned from what it delivered. When that is on a calendar is
//! in [`calendar`](crate::calendar).

use std::collections::BTreeMap;

use crate::special::real;

#[cfg(test)]
mod tests;

/// What the stated lead time is worth, in deliveries (starting assumption, invented).
pub const STATED_WEIGHT: f64 = 8.0;

/// How often a supplier keeps to what it states, where nothing else is known (starting assumption,
/// invented); each further day takes half of what is left.
pub const STATED_KEPT: f64 = 0.85;

/// What a delivery counts for each later one: after 22 more it counts half (starting assumption,
/// invented). So a supplier that became slower is noticed.
pub const DISCOUNT: f64 = 0.97;

/// With this chance an order has come by the days that are planned with (common practice is to plan
/// with what usually happens; the figure is the shop's own setting).
pub const PLANNED_CHANCE: f64 = 0.8;

/// Lead times beyond the stated one that the starting assumption reaches.
const LATE_MAX: u32 = 10;

/// A lead time in open days, as a distribution over whole days.
///
/// P(days = k) = (w base(k) + sum of d^age over deliveries that took k) / (w + sum of d^age): a
/// Dirichlet prior of weight w around the stated lead time, with older deliveries discounted
/// (Ferguson, *Annals of Statistics* 1, 1973; West and Harrison, *Bayesian Forecasting and Dynamic
/// Models*, for discounts).
#[derive(Debug, Clone, PartialEq)]
pub struct LeadTime {
    stated: u32,
    deliveries: u32,
    chances: BTreeMap<u32, f64>,
}

impl LeadTime {
    /// What is known of a supplier that states so many open days and took these for past orders,
    /// oldest first.
    pub fn learned(stated: u32, deliveries: &[u32]) -> Self {
        let mut weights: BTreeMap<u32, f64> = BTreeMap::new();
        let mut left = STATED_WEIGHT * (1.0 - STATED_KEPT);
        weights.insert(stated, STATED_WEIGHT * STATED_KEPT);
        for late in 1..=LATE_MAX {
            let part = if late == LATE_MAX { left } else { 0.5 * left };
            left -= part;
            *weights.entry(stated.saturating_add(late)).or_default() += part;
        }
        let mut weight = 1.0;
        for days in deliveries.iter().rev() {
            *weights.entry(*days).or_default() += weight;
            weight *= DISCOUNT;
        }
        let total: f64 = weights.values().sum();
        Self {
            stated,
            deliveries: u32::try_from(deliveries.len()).unwrap_or(u32::MAX),
            chances: weights
                .into_iter()
                .map(|(days, weight)| (days, weight / total))
                .collect(),
        }
    }

    /// What the supplier states, in open days.
    pub fn stated(&self) -> u32 {
        self.stated
    }

    /// How many deliveries it was learned from.
    pub fn deliveries(&self) -> u32 {
        self.deliveries
    }

    /// The chance of each number of open days, in rising order; they add up to 1.
    pub fn chances(&self) -> impl Iterator<Item = (u32, f64)> + '_ {
        self.chances.iter().map(|(days, chance)| (*days, *chance))
    }

    /// The fewest open days by which an order has come with chance `p`, from 0 to 1; the most there
    /// are at or above 1.
    pub fn quantile(&self, p: f64) -> u32 {
        let mut sum = 0.0;
        for (days, chance) in self.chances() {
            sum += chance;
            // Rounding of the sum must not add a day.
            if sum >= p - 1e-12 {
                return days;
            }
        }
        self.chances
            .keys()
            .next_back()
            .copied()
            .unwrap_or(self.stated)
    }

    /// The open days to plan with: those by which an order has come with [`PLANNED_CHANCE`]. Without
    /// any delivery, those that are stated.
    pub fn planned(&self) -> u32 {
        self.quantile(PLANNED_CHANCE)
    }

    /// The mean, in open days.
    pub fn mean(&self) -> f64 {
        self.chances()
            .map(|(days, chance)| chance * real(u64::from(days)))
            .sum()
    }
}
