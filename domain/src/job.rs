//! A job of several parts: the chance that none of them stops it, and where one more piece helps
//! most. Given the factor that they share, the parts are taken as independent.

use crate::predictive::NegativeBinomial;
use crate::shared_factor::{Node, SharedFactor};

#[cfg(test)]
mod tests;

/// One part of a job.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JobLine {
    /// Pieces the job will use.
    pub predictive: NegativeBinomial,
    /// Pieces there are for it. Below zero counts as none.
    pub available: i64,
}

impl JobLine {
    /// P(use <= available): the chance that this part lasts, with the exposure known exactly.
    pub fn chance(&self) -> f64 {
        self.lasts(self.available, 1.0)
    }

    /// The chance that this part lasts, averaged over the factor that it shares with the others.
    ///
    /// It is the chance of this part alone: the chances of several do not multiply.
    pub fn chance_over(&self, shared: SharedFactor) -> f64 {
        let nodes = shared.nodes();
        let lasts = |node: &Node| node.weight * self.lasts(self.available, node.factor);
        nodes.iter().map(lasts).sum::<f64>().min(1.0)
    }

    fn lasts(&self, available: i64, factor: f64) -> f64 {
        let available = u64::try_from(available).unwrap_or(0);
        self.predictive.stretched(factor).cdf(available)
    }
}

/// The line where one more piece raises the chance of the whole job most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gain {
    /// Which of the lines.
    pub index: usize,
    /// The chance of the whole job with that piece.
    pub chance: f64,
}

/// The chance that the job runs without a stop: the product of every line's P(use <= available);
/// 1 without lines.
///
/// It takes the parts as independent and so is a little hopeful wherever one clumsy day, or one
/// clumsy group, breaks several together: [`joint_chance`] is for those.
pub fn chance(lines: &[JobLine]) -> f64 {
    joint_chance(lines, SharedFactor::NONE)
}

/// The chance that the job runs without a stop where all its lines share a factor on their
/// exposure, such as hours that nobody knows exactly: the mean over the factor f of the product of
/// every line's P(use <= available | f).
///
/// Use given f is negative binomial over f times the exposure. Without spread it is [`chance`]. It
/// is not the product of the lines' own averages, which it exceeds: a short job is short for all.
pub fn joint_chance(lines: &[JobLine], shared: SharedFactor) -> f64 {
    let nodes = shared.nodes();
    let product = |node: &Node| -> f64 {
        let lasts = lines
            .iter()
            .map(|line| line.lasts(line.available, node.factor));
        node.weight * lasts.product::<f64>()
    };
    nodes.iter().map(product).sum::<f64>().min(1.0)
}

/// Where one more piece helps most: the line, and the chance of the job with it; the first of
/// equals. None without lines, or where no single piece raises the chance.
pub fn largest_gain(lines: &[JobLine]) -> Option<Gain> {
    largest_gain_over(lines, SharedFactor::NONE)
}

/// [`largest_gain`] where all lines share a factor.
pub fn largest_gain_over(lines: &[JobLine], shared: SharedFactor) -> Option<Gain> {
    let now = joint_chance(lines, shared);
    let mut more = lines.to_vec();
    let mut best = None;
    for index in 0..lines.len() {
        more[index].available = lines[index].available.saturating_add(1);
        let chance = joint_chance(&more, shared);
        more[index].available = lines[index].available;
        if chance > best.map_or(now, |best: Gain| best.chance) {
            best = Some(Gain { index, chance });
        }
    }
    best
}
