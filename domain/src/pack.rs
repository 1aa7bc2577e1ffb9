//! Packs: how many cover a shortage, and which offer costs least for one part bought alone. An
//! order of several parts shares its freight and is planned elsewhere.

/// The packs of `pack_size` pieces that cover `short` pieces, rounded up; none if nothing is
/// short. A pack size below 1 counts as 1.
///
/// ```
/// use tigstock_domain::pack::packs;
/// assert_eq!(packs(6, 10), 1);
/// assert_eq!(packs(16, 10), 2);
/// ```
pub fn packs(short: i64, pack_size: i64) -> i64 {
    if short <= 0 {
        return 0;
    }
    let size = pack_size.max(1);
    (short - 1) / size + 1
}

/// One way to buy a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct PackOffer {
    /// Pieces in a pack, at least 1.
    pub pack_size: i64,
    /// The price of a pack, in minor units of one currency.
    pub price_minor: i64,
    /// The freight of an order, in the same units.
    pub freight_minor: i64,
}

/// The cheapest way to cover a shortage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct PackChoice {
    /// Which of the offers.
    pub index: usize,
    /// How many packs.
    pub packs: i64,
    /// How many pieces they hold.
    pub pieces: i64,
    /// Goods and freight together, in minor units.
    pub cost_minor: i64,
    /// The goods alone, in minor units.
    pub goods_minor: i64,
}

/// The offer that covers `short` pieces of ONE part, bought alone, for the least goods and freight.
///
/// Equal cost is decided by fewer packs, then by less left over, then by the order given. All
/// offers are in one currency. An offer that is not one (a pack size below 1, a negative sum, or a
/// total beyond 64 bits) is passed over. Nothing short, or no offer, gives none.
pub fn cheapest(short: i64, offers: &[PackOffer]) -> Option<PackChoice> {
    if short <= 0 {
        return None;
    }
    offers
        .iter()
        .enumerate()
        .filter_map(|(index, offer)| choice(short, index, offer))
        .min_by_key(|choice| (choice.cost_minor, choice.packs, choice.pieces, choice.index))
}

fn choice(short: i64, index: usize, offer: &PackOffer) -> Option<PackChoice> {
    if offer.pack_size < 1 || offer.price_minor < 0 || offer.freight_minor < 0 {
        return None;
    }
    let packs = packs(short, offer.pack_size);
    let pieces = packs.checked_mul(offer.pack_size)?;
    let goods_minor = packs.checked_mul(offer.price_minor)?;
    let cost_minor = goods_minor.checked_add(offer.freight_minor)?;
    Some(PackChoice {
        index,
        packs,
        pieces,
        cost_minor,
        goods_minor,
    })
}
