//! The need of 10 000 parts (posterior, predictive, 95 % quantile), against the same quantiles by a
//! general statistics library, which finds them by bisection over its own distribution function.

use std::hint::black_box;
use std::time::Instant;

use domain::forecast::{Target, need};
use domain::wear::Gamma;
use statrs::distribution::{DiscreteCDF, NegativeBinomial};

use crate::{Pair, ROUNDS, report};

const PARTS: u32 = 10_000;
const ARC_HOURS: f64 = 410.0;
const JOB_HOURS: f64 = 34.0;

pub(crate) fn measure() {
    let prior = Gamma::new(2.0, 20.0).expect("an assumption");
    let target = Target::new(0.95).expect("a target");
    let mut pairs = Vec::new();
    for _ in 0..ROUNDS {
        let begun = Instant::now();
        for used in 0..PARTS {
            let wear = prior
                .posterior(u64::from(used % 200), ARC_HOURS)
                .expect("a wear rate");
            let uses = wear.predictive(JOB_HOURS).expect("a predictive");
            black_box(need(&uses, target));
        }
        let subject = f64::from(PARTS) / begun.elapsed().as_secs_f64();
        let begun = Instant::now();
        for used in 0..PARTS {
            let size = 2.0 + f64::from(used % 200);
            let chance = (20.0 + ARC_HOURS) / (20.0 + ARC_HOURS + JOB_HOURS);
            let uses = NegativeBinomial::new(size, chance).expect("a distribution");
            black_box(uses.inverse_cdf(0.95));
        }
        let baseline = f64::from(PARTS) / begun.elapsed().as_secs_f64();
        pairs.push(Pair { baseline, subject });
    }
    report("forecasts_10000", 1.0, "needs a second", &pairs);
}
