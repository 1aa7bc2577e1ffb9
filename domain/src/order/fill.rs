//! Spending up to a least sum at one supplier, with as little over it as can be: to reach a minimum
//! order, or the value from which freight is saved.

use super::Market;

/// Beyond this many of the dearest pack, the rest is filled without weighing.
const WEIGHED: i64 = 6;

/// A wider sum than this is not weighed, in minor units.
const SUM_MAX: usize = 2_000_000;

/// More packs of one offer that could be bought.
struct Room {
    offer: usize,
    price: i64,
    /// The first of them come together: the least number of packs of an offer not used yet.
    first: i64,
    /// All of them at the most.
    limit: i64,
}

/// Adds packs of a supplier until its goods are worth at least `least`; false if it cannot.
pub(super) fn fill(market: &Market, packs: &mut [i64], supplier: usize, least: i64) -> bool {
    let mut wanting = least - goods(market, packs, supplier);
    if wanting <= 0 {
        return true;
    }
    let mut room = room(market, packs, supplier);
    let Some(dearest) = room
        .iter()
        .map(|it| it.price.saturating_mul(it.first))
        .max()
    else {
        return false;
    };
    // Far below the sum any packs will do; only the last few decide how well it is met.
    let near = WEIGHED.saturating_mul(dearest);
    for more in &mut room {
        let take = ((wanting - near).max(0) / more.price).min(more.limit);
        if take >= more.first {
            packs[more.offer] += take;
            more.limit -= take;
            more.first = 1;
            wanting -= take * more.price;
        }
    }
    weigh(&room, wanting, packs)
}

/// The offers of a supplier of which more packs can be bought.
fn room(market: &Market, packs: &[i64], supplier: usize) -> Vec<Room> {
    let offers = market.offers.iter().enumerate();
    let of_supplier = offers.filter(|(_, it)| it.supplier == supplier && it.price_minor > 0);
    let more = of_supplier.map(|(index, offer)| {
        let is_used = packs[index] > 0;
        Room {
            offer: index,
            price: offer.price_minor,
            first: if is_used { 1 } else { offer.packs_min.max(1) },
            limit: offer.most_packs() - packs[index],
        }
    });
    more.filter(|more| more.limit >= more.first).collect()
}

/// The smallest reachable sum at or above what is wanting, by bounded knapsack.
fn weigh(room: &[Room], wanting: i64, packs: &mut [i64]) -> bool {
    let dearest = room
        .iter()
        .map(|it| it.price.saturating_mul(it.first))
        .max();
    let wanting = usize::try_from(wanting.max(0)).unwrap_or(usize::MAX);
    let end =
        usize::try_from(dearest.unwrap_or(0)).map_or(usize::MAX, |it| it.saturating_add(wanting));
    if end > SUM_MAX {
        return false;
    }
    let mut sums = Sums {
        by: vec![None; end + 1],
    };
    for (place, more) in room.iter().enumerate() {
        if more.limit >= more.first {
            sums.add(place, more);
        }
        if sums.is_reached(wanting) {
            break;
        }
    }
    let Some(mut sum) = (wanting..=end).find(|sum| sums.is_reached(*sum)) else {
        return false;
    };
    while let Some((place, count)) = sums.by[sum] {
        let more = &room[place];
        packs[more.offer] += count;
        sum -= usize::try_from(more.price.saturating_mul(count)).unwrap_or(sum);
    }
    true
}

/// The sums that can be spent, each with the offer and the packs by which it was first reached.
struct Sums {
    by: Vec<Option<(usize, i64)>>,
}

impl Sums {
    fn is_reached(&self, sum: usize) -> bool {
        sum == 0 || self.by[sum].is_some()
    }

    fn add(&mut self, place: usize, more: &Room) {
        let first = more.price.saturating_mul(more.first);
        let (Ok(price), Ok(first)) = (usize::try_from(more.price), usize::try_from(first)) else {
            return;
        };
        // How many packs of this offer a sum holds.
        let mut taken = vec![0_i64; self.by.len()];
        for sum in first..self.by.len() {
            if self.is_reached(sum) {
                continue;
            }
            let (one, begun) = (sum - price, sum - first);
            if taken[one] >= more.first && taken[one] < more.limit {
                self.by[sum] = Some((place, 1));
                taken[sum] = taken[one] + 1;
            } else if self.is_reached(begun) && taken[begun] == 0 {
                self.by[sum] = Some((place, more.first));
                taken[sum] = more.first;
            }
        }
    }
}

/// What the packs of a supplier are worth.
pub(super) fn goods(market: &Market, packs: &[i64], supplier: usize) -> i64 {
    let offers = market.offers.iter().zip(packs);
    let values = offers
        .filter(|(offer, _)| offer.supplier == supplier)
        .map(|(offer, packs)| offer.price_minor.saturating_mul(*packs));
    values.fold(0, i64::saturating_add)
}
