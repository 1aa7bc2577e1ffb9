//! A job of several parts: the chance that none of them stops it, and where one more piece helps
//! most. The parts are taken as independent.

use crate::predictive::NegativeBinomial;

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
    /// P(use <= available): the chance that this part lasts.
    pub fn chance(&self) -> f64 {
        self.lasts(self.available)
    }

    fn lasts(&self, available: i64) -> f64 {
        self.predictive.cdf(u64::try_from(available).unwrap_or(0))
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
/// clumsy group, breaks several together.
pub fn chance(lines: &[JobLine]) -> f64 {
    lines.iter().map(JobLine::chance).product()
}

/// Where one more piece helps most: the line, and the chance of the job with it; the first of
/// equals. None without lines, or where no single piece raises the chance.
pub fn largest_gain(lines: &[JobLine]) -> Option<Gain> {
    let now = chance(lines);
    let mut best = None;
    for (index, line) in lines.iter().enumerate() {
        let others: f64 = lines
            .iter()
            .enumerate()
            .filter(|(other, _)| *other != index)
            .map(|(_, other)| other.chance())
            .product();
        let chance = others * line.lasts(line.available.saturating_add(1));
        if chance > best.map_or(now, |best: Gain| best.chance) {
            best = Some(Gain { index, chance });
        }
    }
    best
}
