//! The cheapest order for 200 parts over 5 suppliers with freight, minimum orders, saved freight and price
//! breaks, that lifts the chance of the whole to its target. The baseline orders each part alone at its own
//! target, from the cheapest offer, freight and minimums left out: what a shop does by hand, and proves
//! nothing. The ratio is the time of the baseline over that of the proven order.

use std::time::Instant;

use domain::forecast::Target;
use domain::job::JobLine;
use domain::order::{Goal, Market, Offer, Supplier};
use domain::pack::{PackOffer, cheapest};
use domain::predictive::NegativeBinomial;
use domain::quantity::Currency;

use crate::{ROUNDS, explain, median};

const PARTS: usize = 200;
const SUPPLIERS: usize = 5;
/// How many orders are solved.
const ORDERS: u64 = 6;

/// The ratio.
pub(crate) fn ratio() -> Result<f64, String> {
    let shops: Vec<(Market, Vec<JobLine>)> = (1..=ORDERS).map(shop).collect::<Result<_, _>>()?;
    let (mut alone, mut ours) = (Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        let begin = Instant::now();
        let mut bought = 0;
        for (market, lines) in &shops {
            bought += by_part(market, lines);
        }
        alone.push(begin.elapsed().as_secs_f64());
        if bought == 0 {
            return Err("nothing is short in any of the shops".to_owned());
        }
        let begin = Instant::now();
        for (market, lines) in &shops {
            let goal = Goal::chance(lines.clone(), Target::DEFAULT);
            let plan = market.cheapest(&goal).map_err(|error| error.to_string())?;
            if !plan.is_proven() {
                return Err(format!(
                    "an order is open by {} minor units",
                    plan.gap_minor()
                ));
            }
        }
        ours.push(begin.elapsed().as_secs_f64());
    }
    let (alone, ours) = (median(alone), median(ours));
    #[expect(clippy::cast_precision_loss, reason = "six")]
    let each = 1e3 / ORDERS as f64;
    explain(&format!(
        "orders: each part alone {:.2} ms, proven over {SUPPLIERS} suppliers {:.1} ms",
        alone * each,
        ours * each
    ))?;
    Ok(alone / ours)
}

/// The cheapest packs of each part alone; how many parts were bought.
fn by_part(market: &Market, lines: &[JobLine]) -> usize {
    let of_part = |(part, line): (usize, &JobLine)| {
        let need = line.predictive.quantile(0.95);
        let short = i64::try_from(need).unwrap_or(i64::MAX) - line.available;
        let offers = market.offers().iter().filter(|offer| offer.part == part);
        let offers: Vec<PackOffer> = offers
            .map(|offer| PackOffer {
                pack_size: offer.pack_size,
                price_minor: offer.price_minor,
                freight_minor: 0,
            })
            .collect();
        cheapest(short, &offers)
    };
    lines.iter().enumerate().filter_map(of_part).count()
}

/// A market and a job; invented, and the same for the same seed.
fn shop(seed: u64) -> Result<(Market, Vec<JobLine>), String> {
    let mut draw = Draws(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    let (mut lines, mut offers) = (Vec::new(), Vec::new());
    for part in 0..PARTS {
        let shape = 1.0 + f64::from(draw.below(3_000)) / 100.0;
        let mean = 0.2 + f64::from(draw.below(1_000)) / 100.0;
        let predictive = NegativeBinomial::new(shape, shape, mean);
        lines.push(JobLine {
            predictive: predictive.map_err(|error| error.to_string())?,
            available: i64::from(draw.below(8)),
        });
        let piece = 100 + i64::from(draw.below(4_000));
        for supplier in 0..SUPPLIERS {
            if supplier == part % SUPPLIERS || draw.below(10) < 6 {
                offers.extend(price_list((part, supplier), piece, &mut draw));
            }
        }
    }
    let currency = Currency::parse("CAD").map_err(|error| error.to_string())?;
    let suppliers = (0..SUPPLIERS).map(|_| Supplier {
        freight_minor: 500 + i64::from(draw.below(40_000)),
        free_over_minor: (draw.below(2) == 0).then(|| 266_000 + i64::from(draw.below(400_000))),
        minimum_minor: i64::from(draw.below(266_000)),
        currency,
    });
    let market = Market::new(suppliers.collect(), offers).map_err(|error| error.to_string())?;
    Ok((market, lines))
}

/// Singles, and perhaps packs of 5 and 10, some with a price break from 3 packs on.
fn price_list((part, supplier): (usize, usize), piece: i64, draw: &mut Draws) -> Vec<Offer> {
    let mut offers = Vec::new();
    for (pack_size, percent) in [(1, 100), (5, 92), (10, 92)] {
        if pack_size > 1 && draw.below(2) == 0 {
            continue;
        }
        let level = 90 + i64::from(draw.below(25));
        let price_minor = piece * pack_size * level / 100 * percent / 100;
        let plain = Offer {
            part,
            supplier,
            pack_size,
            price_minor,
            packs_min: 1,
            packs_max: None,
        };
        offers.push(plain);
        if draw.below(10) < 3 {
            offers.push(Offer {
                price_minor: price_minor * 9 / 10,
                packs_min: 3,
                ..plain
            });
        }
    }
    offers
}

/// Random numbers: xorshift64*, S. Vigna, *ACM Transactions on Mathematical Software* 42, 2016.
struct Draws(u64);

impl Draws {
    fn below(&mut self, bound: u32) -> u32 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        let high = self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33;
        u32::try_from(high % u64::from(bound)).unwrap_or_default()
    }
}
