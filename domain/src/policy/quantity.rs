//! Economic order quantities, plain and with price breaks, in fractions and in whole packs.

use thiserror::Error;

/// A quantity to order at a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// How many.
    pub quantity: f64,
    /// What it costs per unit of time: orders and holding, and the goods where there are price breaks.
    pub cost: f64,
    /// In which price region, from 0.
    pub region: usize,
}

/// Why there is no economic quantity.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum QuantityError {
    /// A cost or a rate that is not above 0.
    #[error("costs and demand must be numbers above 0, not {0}")]
    Figure(f64),
    /// Breaks that do not rise from 0, or prices that do not fall, or not as many of both.
    #[error("price breaks rise from 0, and the price falls with each: correct them")]
    Breaks,
}

/// Prices that fall with the quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Breaks<'a> {
    /// From which quantity on each price holds; the first is 0.
    pub from: &'a [f64],
    /// The price of a piece.
    pub price: &'a [f64],
    /// What holding costs, as a share of the price per unit of time.
    pub hold_share: f64,
}

/// The quantity that balances orders and holding: sqrt(2 K lambda / h), at sqrt(2 K lambda h) per unit of
/// time (Harris, *Factory* 10, 1913).
///
/// # Errors
/// [`QuantityError::Figure`] for a figure that is not above 0.
pub fn economic(order: f64, hold: f64, rate: f64) -> Result<Quantity, QuantityError> {
    sound(&[order, hold, rate])?;
    Ok(Quantity {
        quantity: (2.0 * order * rate / hold).sqrt(),
        cost: (2.0 * order * rate * hold).sqrt(),
        region: 0,
    })
}

/// The cheapest quantity where all pieces are bought at the price of the region that the quantity is in:
/// c lambda + K lambda / Q + i c Q / 2. With a pack size, in whole packs only.
///
/// # Errors
/// [`QuantityError`] for figures that are not above 0, or breaks that are none.
pub fn with_all_units(
    order: f64,
    rate: f64,
    breaks: &Breaks<'_>,
    pack: Option<f64>,
) -> Result<Quantity, QuantityError> {
    let regions = breaks.regions(order, rate, pack)?;
    let of = |region: usize| {
        let price = breaks.price[region];
        let cost =
            move |q: f64| price * rate + order * rate / q + breaks.hold_share * price * q / 2.0;
        (
            (2.0 * order * rate / (breaks.hold_share * price)).sqrt(),
            cost,
        )
    };
    cheapest(regions, breaks, pack, of)
}

/// The cheapest quantity where only the pieces beyond a break are bought at its price; holding is charged
/// on the mean price paid: lambda C(Q) / Q + K lambda / Q + i C(Q) / 2. With a pack size, in whole packs
/// only.
///
/// # Errors
/// As [`with_all_units`].
pub fn with_increments(
    order: f64,
    rate: f64,
    breaks: &Breaks<'_>,
    pack: Option<f64>,
) -> Result<Quantity, QuantityError> {
    let regions = breaks.regions(order, rate, pack)?;
    let mut paid_before = vec![0.0; breaks.price.len()];
    for region in 1..breaks.price.len() {
        let fall = breaks.price[region - 1] - breaks.price[region];
        paid_before[region] = paid_before[region - 1] + fall * breaks.from[region];
    }
    let of = |region: usize| {
        let (price, before) = (breaks.price[region], paid_before[region]);
        let cost = move |q: f64| {
            let paid = before + price * q;
            rate * paid / q + order * rate / q + breaks.hold_share * paid / 2.0
        };
        let best = 2.0 * (order + before) * rate / (breaks.hold_share * price);
        (best.sqrt(), cost)
    };
    cheapest(regions, breaks, pack, of)
}

impl Breaks<'_> {
    fn regions(&self, order: f64, rate: f64, pack: Option<f64>) -> Result<usize, QuantityError> {
        sound(&[order, rate, self.hold_share, pack.unwrap_or(1.0)])?;
        sound(self.price)?;
        let rises = self.from.windows(2).all(|pair| pair[0] < pair[1]);
        let falls = self.price.windows(2).all(|pair| pair[0] > pair[1]);
        let starts = self
            .from
            .first()
            .is_some_and(|from| from.abs() < f64::MIN_POSITIVE);
        if starts && rises && falls && self.from.len() == self.price.len() {
            Ok(self.price.len())
        } else {
            Err(QuantityError::Breaks)
        }
    }
}

/// The cheapest over all regions; of each, its own best quantity as near as it may be.
fn cheapest<C: Fn(f64) -> f64>(
    regions: usize,
    breaks: &Breaks<'_>,
    pack: Option<f64>,
    of: impl Fn(usize) -> (f64, C),
) -> Result<Quantity, QuantityError> {
    let mut best: Option<Quantity> = None;
    for region in 0..regions {
        let (own, cost) = of(region);
        let low = breaks.from[region];
        let high = breaks
            .from
            .get(region + 1)
            .copied()
            .unwrap_or(f64::INFINITY);
        let tried = match pack {
            None => vec![own.max(low).min(high)],
            Some(pack) => {
                let first = (low / pack).ceil().max(1.0) * pack;
                let last = if high.is_finite() {
                    ((high / pack).ceil() - 1.0) * pack
                } else {
                    high
                };
                let down = (own / pack).floor() * pack;
                [down, down + pack]
                    .iter()
                    .map(|q| q.max(first).min(last))
                    .collect()
            }
        };
        for quantity in tried {
            // A break that is reached exactly belongs to the next region, which is cheaper there.
            if quantity < low || quantity > high || quantity <= 0.0 {
                continue;
            }
            let found = Quantity {
                quantity,
                cost: cost(quantity),
                region,
            };
            if best.is_none_or(|best| found.cost < best.cost) {
                best = Some(found);
            }
        }
    }
    best.ok_or(QuantityError::Breaks)
}

fn sound(figures: &[f64]) -> Result<(), QuantityError> {
    match figures
        .iter()
        .find(|figure| !(**figure > 0.0 && figure.is_finite()))
    {
        Some(figure) => Err(QuantityError::Figure(*figure)),
        None => Ok(()),
    }
}
