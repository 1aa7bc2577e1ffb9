//! The days to come of 10 000 parts on one core: from what is kept of a shop and a plan of its work,
//! for each part the law of its use until an order of today is there, and five of its quantiles. The
//! law is a mixture over the days that the parcel may take and over how well plans were kept. The
//! baseline takes the laws as given and finds the same quantiles the plain way: it adds up the
//! probabilities of the `statrs` crate, component by component, until each chance is reached. The two
//! must agree on every quantile.

use std::time::Instant;

use domain::predictive::Mixture;
use domain::review::{Ahead, Drivers, Shop, Use, Work};
use domain::wear::Gamma;
use statrs::distribution::{Discrete, NegativeBinomial as Other};

use crate::{ROUNDS, explain, median};

/// How many parts.
const PARTS: usize = 10_000;
/// How many of them the plain way is measured on; its time is taken per part.
const SAMPLE: usize = 500;
/// Days of history, and days that are planned.
const HISTORY: u32 = 200;
const PLANNED: usize = 28;
const CHANCES: [f64; 5] = [0.05, 0.25, 0.5, 0.75, 0.95];
/// Days until a parcel and the next look, each with its chance. Invented.
const LEAD: [(usize, f64); 6] = [
    (10, 0.05),
    (11, 0.2),
    (12, 0.4),
    (13, 0.2),
    (15, 0.1),
    (20, 0.05),
];

/// The ratio.
pub(crate) fn ratio() -> Result<f64, String> {
    let mut shop = shop().map_err(|error| error.to_string())?;
    let plan = plan();
    let (mut plain, mut ours) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        let begin = Instant::now();
        let ahead = shop.review(&plan).map_err(|error| error.to_string())?;
        let found: Vec<Vec<u64>> = (0..PARTS)
            .map(|part| Ok(uses(&ahead, part)?.quantiles(&CHANCES)))
            .collect::<Result<_, String>>()?;
        ours.push(begin.elapsed().as_secs_f64() / real(PARTS));
        let laws: Vec<Mixture> = (0..SAMPLE)
            .map(|part| uses(&ahead, part))
            .collect::<Result<_, _>>()?;
        let begin = Instant::now();
        let expected: Vec<Vec<u64>> = laws.iter().map(plainly).collect::<Result<_, _>>()?;
        plain.push(begin.elapsed().as_secs_f64() / real(SAMPLE));
        if let Some(part) = (0..SAMPLE).find(|part| expected[*part] != found[*part]) {
            return Err(format!(
                "part {part}: the plain way finds {:?}, the domain {:?}",
                expected[part], found[part]
            ));
        }
    }
    let (plain, ours) = (median(plain), median(ours));
    explain(&format!(
        "mixtures: quantiles the plain way {:.1} us a part, the whole of it by the domain {:.1} us a part",
        plain * 1e6,
        ours * 1e6
    ))?;
    Ok(plain / ours)
}

fn uses(ahead: &Ahead, part: usize) -> Result<Mixture, String> {
    let uses = ahead.over_lead_time(part, LEAD);
    uses.map_err(|error| error.to_string())
}

/// A shop of two groups after 200 days: rates in fixed steps, coprime so that few repeat. Invented.
fn shop() -> Result<Shop, domain::review::ReviewError> {
    let assumed = Gamma::new(0.5, 50.0)?;
    let mut shop = Shop::new(&vec![Drivers::First(assumed); PARTS], 2)?;
    for day in 0..HISTORY {
        shop.review(&[vec![3.0, 1.0]])?;
        let hours = f64::from(1 + day % 5);
        let work = [0, 1].map(|group| Work {
            group,
            first: if group == 0 { hours } else { 1.0 },
            second: 0,
        });
        let each = (0..PARTS).filter(|part| used_on(*part, day));
        let uses: Vec<Use> = each
            .map(|part| Use {
                group: part % 2,
                part,
                pieces: 1 + (part % 3) as u64,
            })
            .collect();
        shop.close_day(&work, &uses)?;
    }
    Ok(shop)
}

/// Each part on every 7th to 67th day.
fn used_on(part: usize, day: u32) -> bool {
    (day as usize + part).is_multiple_of(7 + part % 61)
}

/// Four weeks of five days.
fn plan() -> Vec<Vec<f64>> {
    let day = |day: usize| {
        if day % 7 < 5 {
            vec![3.0, 1.0]
        } else {
            vec![0.0; 2]
        }
    };
    (0..PLANNED).map(day).collect()
}

/// The smallest counts whose probabilities add up to each chance.
fn plainly(law: &Mixture) -> Result<Vec<u64>, String> {
    let mut components = Vec::new();
    for (weight, uses) in law.components() {
        let (mean, variance) = (uses.mean(), uses.variance());
        let other = Other::new(mean * mean / (variance - mean), mean / variance);
        let other = other.map_err(|error| error.to_string())?;
        components.push((*weight, other));
    }
    let chance_of = |count: u64| -> f64 {
        let each = components
            .iter()
            .map(|(weight, uses)| weight * uses.pmf(count));
        each.sum()
    };
    let (mut count, mut sum) = (0, chance_of(0));
    let mut found = Vec::new();
    for chance in CHANCES {
        while sum < chance {
            count += 1;
            sum += chance_of(count);
        }
        found.push(count);
    }
    Ok(found)
}

fn real(count: usize) -> f64 {
    u32::try_from(count).map_or(f64::INFINITY, f64::from)
}
