//! Use to come of one part, or of several taken together: the laws of each are added up, taken to be
//! independent of each other.

use domain::predictive::{CountTable, Mixture};

use crate::service::Error;
use crate::service::ahead::PartAhead;

/// A law of use, weighed over the days that it may be over.
enum Uses {
    One(Mixture),
    Several(Vec<(f64, CountTable)>),
}

/// The use of the parts of a watch.
pub(super) struct Pooled {
    laws: Vec<PartAhead>,
}

impl Pooled {
    /// Of parts with those laws.
    pub(super) fn of(laws: Vec<PartAhead>) -> Self {
        Self { laws }
    }

    fn over(&self, days: &[(u32, f64)]) -> Result<Uses, Error> {
        if let [law] = self.laws.as_slice() {
            return Ok(Uses::One(law.over_each(days)?));
        }
        let mut several = Vec::with_capacity(days.len());
        for (days, chance) in days {
            let mut sum = CountTable::nothing();
            for law in &self.laws {
                let table = CountTable::mixed(&law.over(*days)?);
                sum = table.and_then(|table| sum.plus(&table)).map_err(fault)?;
            }
            several.push((*chance, sum));
        }
        Ok(Uses::Several(several))
    }

    /// The smallest number of pieces that is enough over those days with a chance.
    pub(super) fn need(&self, days: &[(u32, f64)], chance: f64) -> Result<i64, Error> {
        let need = match self.over(days)? {
            Uses::One(uses) => uses.quantile(chance),
            Uses::Several(each) => {
                let enough = |pieces: u64| {
                    let sum: f64 = each.iter().map(|(w, uses)| w * uses.cdf(pieces)).sum();
                    sum >= chance
                };
                let last = each.iter().map(|(_, uses)| uses.quantile(chance)).max();
                let last = last.unwrap_or(0);
                (0..last).find(|pieces| enough(*pieces)).unwrap_or(last)
            }
        };
        Ok(i64::try_from(need).unwrap_or(i64::MAX))
    }

    /// The chance that more than so many pieces are wanted over those days.
    pub(super) fn short(&self, days: &[(u32, f64)], available: i64) -> Result<f64, Error> {
        let enough = u64::try_from(available).unwrap_or(0);
        Ok(match self.over(days)? {
            Uses::One(uses) => uses.sf(enough),
            Uses::Several(each) => each.iter().map(|(w, uses)| w * uses.sf(enough)).sum(),
        })
    }

    /// Expected use in a week.
    pub(super) fn per_week(&self) -> Result<f64, Error> {
        let each = self.laws.iter().map(|law| Ok(law.over(7)?.mean()));
        each.sum()
    }

    /// The first day by which so many pieces are used up with a chance of 5 %, where one part is watched.
    pub(super) fn early(&self, pieces: i64) -> Result<Option<chrono::NaiveDate>, Error> {
        match self.laws.as_slice() {
            [law] => law.early(pieces),
            _ => Ok(None),
        }
    }
}

fn fault(error: impl std::fmt::Display) -> Error {
    Error::Internal(error.to_string())
}
