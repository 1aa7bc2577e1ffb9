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

#[cfg(test)]
mod tests {
    use super::*;

    fn offer(pack_size: i64, price_minor: i64, freight_minor: i64) -> PackOffer {
        PackOffer {
            pack_size,
            price_minor,
            freight_minor,
        }
    }

    #[test]
    fn packs_round_up_and_nothing_short_needs_none() {
        let rows = [
            (6, 10, 1),
            (10, 10, 1),
            (11, 10, 2),
            (1, 1, 1),
            (0, 10, 0),
            (-4, 10, 0),
        ];
        for (short, size, expected) in rows {
            assert_eq!(packs(short, size), expected, "{short} by {size}");
        }
        assert_eq!(packs(3, 0), 3);
        assert_eq!(packs(i64::MAX, 2), i64::MAX / 2 + 1);
        assert_eq!(packs(i64::MIN, i64::MIN), 0);
    }

    #[test]
    fn the_pack_of_ten_beats_six_singles_with_their_freight() {
        // Scenario S5: 10 for 42.00, or singles at 5.60 and 9.00 freight: 42.60 for six.
        let choice = cheapest(6, &[offer(1, 560, 900), offer(10, 4_200, 0)]);
        let expected = PackChoice {
            index: 1,
            packs: 1,
            pieces: 10,
            cost_minor: 4_200,
            goods_minor: 4_200,
        };
        assert_eq!(choice, Some(expected));
        // Five singles would be the cheaper way: 37.00.
        let choice = cheapest(5, &[offer(1, 560, 900), offer(10, 4_200, 0)]);
        let expected = PackChoice {
            index: 0,
            packs: 5,
            pieces: 5,
            cost_minor: 3_700,
            goods_minor: 2_800,
        };
        assert_eq!(choice, Some(expected));
    }

    #[test]
    fn equal_cost_goes_to_fewer_packs_and_then_to_less_left_over() {
        let index = |offers: &[PackOffer]| cheapest(6, offers).map(|choice| choice.index);
        assert_eq!(index(&[offer(3, 500, 0), offer(6, 1_000, 0)]), Some(1));
        assert_eq!(index(&[offer(10, 1_000, 0), offer(6, 1_000, 0)]), Some(1));
        assert_eq!(index(&[offer(6, 1_000, 0), offer(6, 1_000, 0)]), Some(0));
    }

    #[test]
    fn what_is_no_offer_is_passed_over() {
        let none = [
            offer(0, 1, 0),
            offer(1, -1, 0),
            offer(1, 1, -1),
            offer(1, i64::MAX, 1),
        ];
        assert_eq!(cheapest(6, &none), None);
        assert_eq!(cheapest(6, &[]), None);
        assert_eq!(cheapest(0, &[offer(1, 1, 0)]), None);
    }
}
