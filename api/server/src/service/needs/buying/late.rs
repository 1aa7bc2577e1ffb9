//! Buying one part by itself: what comes too late, for afterwards, and what another offer would cost.

use domain::pack::packs;

use super::{Bought, Market, Seller, Selling};

impl Market {
    /// What of a part is bought for later, where nothing comes in time: from whoever delivers first,
    /// and of that day the cheapest.
    pub(in crate::service::needs) fn for_later(&self, part: i64, short: i64) -> Option<Bought> {
        let first = self.earliest(part)?;
        let offers = self.of_part(part).filter(|(it, _)| it.arrives == first);
        self.cheapest_alone(offers, short)
    }

    /// The cheapest way to buy what is short of a part by itself, from another offer than the one that
    /// is bought, among those that come in time.
    pub(in crate::service::needs) fn instead(
        &self,
        part: i64,
        short: i64,
        bought: &Bought,
    ) -> Option<Bought> {
        let offers = self.of_part(part).filter(|(it, seller)| {
            it.row.id != bought.offer
                && it.in_time == bought.in_time
                && seller.row.currency == bought.currency
        });
        self.cheapest_alone(offers, short)
    }

    /// The least of goods and freight; of equals the fewest packs, then what leaves least over.
    fn cheapest_alone<'a>(
        &'a self,
        offers: impl Iterator<Item = (&'a Selling, &'a Seller)>,
        short: i64,
    ) -> Option<Bought> {
        if short <= 0 {
            return None;
        }
        let mut ways = Vec::new();
        for (selling, seller) in offers {
            let least = packs(short, selling.row.pack_size);
            // A break may be worth more packs than are short.
            let more = selling.breaks.iter().map(|it| it.packs_min.max(least));
            for count in std::iter::once(least).chain(more) {
                let bought = self.bought(selling, count);
                ways.extend(bought.filter(|it| it.goods_minor >= seller.row.minimum_minor));
            }
        }
        let currency = ways.first()?.currency.clone();
        ways.retain(|way| way.currency == currency);
        ways.into_iter()
            .min_by_key(|way| (way.alone_minor, way.packs, way.pieces))
    }
}
