//! Buying one part by itself: what comes first, and what another offer would cost.

use domain::pack::packs;

use super::{Bought, Market, Seller, Selling};

impl Market {
    /// What of a part comes first, and of that day is the cheapest: what is bought where nothing comes
    /// in time.
    pub(in crate::service) fn first(&self, part: i64, short: i64) -> Option<Bought> {
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
            let minimum = seller.row.minimum_minor;
            // Nor does a supplier send less than its minimum.
            let filling = (selling.row.price_minor > 0)
                .then(|| packs(minimum, selling.row.price_minor).max(least));
            for count in std::iter::once(least).chain(more).chain(filling) {
                let bought = self.bought(selling, count);
                ways.extend(bought.filter(|it| it.goods_minor >= minimum));
            }
        }
        let currency = ways.first()?.currency.clone();
        ways.retain(|way| way.currency == currency);
        ways.into_iter()
            .min_by_key(|way| (way.alone_minor, way.packs, way.pieces))
    }
}
