//! Counts that differ from the book: which pair of differences one mis-booked receipt would explain,
//! and how use that nobody logged is spread over those who may have used it.

#[cfg(test)]
mod tests;

/// The largest receipt is this many times larger than the difference that moving it may leave. A
/// fifth: common practice, from memory; it only decides what is asked, never what is booked.
const RESIDUE_PART: i64 = 5;

/// A count beside the book of the same instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Variance<P> {
    /// The part.
    pub part: P,
    /// Counted less book, in the unit of the part; not zero.
    pub amount: i64,
}

/// Goods that came in for a part between the two newest counts of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Receipt<P, R> {
    /// Names the receipt.
    pub receipt: R,
    /// The part it is booked to.
    pub part: P,
    /// How many came.
    pub quantity: i64,
}

/// A receipt that may be booked to the wrong part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MisBooking<P, R> {
    /// The receipt.
    pub receipt: R,
    /// How many came.
    pub quantity: i64,
    /// The part it is booked to, of which fewer were counted.
    pub from: Variance<P>,
    /// The part it may belong to, of which more were counted.
    pub to: Variance<P>,
}

impl<P, R> MisBooking<P, R> {
    /// How much the two counts would still differ from the book, taken together, if the receipt was
    /// moved.
    pub fn residue(&self) -> i64 {
        (self.from.amount + self.quantity).abs() + (self.to.amount - self.quantity).abs()
    }
}

/// The receipts that, moved to another part, would explain two counts at once, the best first; each
/// part is in one of them at most.
///
/// A receipt of `q` booked to a part of which `-a` are missing explains that `b` too many of another
/// were counted, if `|q - a| + |q - b|` is at most one or a fifth of `q`, whichever is more. Less
/// than two pieces explain nothing: a single piece is missing somewhere too often.
///
/// It is a suspicion: two differences may be alike by accident. A person decides.
pub fn mis_bookings<P, R>(
    variances: &[Variance<P>],
    receipts: &[Receipt<P, R>],
) -> Vec<MisBooking<P, R>>
where
    P: Copy + PartialEq,
    R: Copy,
{
    let mut suspected = Vec::new();
    for receipt in receipts.iter().filter(|receipt| receipt.quantity >= 2) {
        let missing = variances
            .iter()
            .filter(|from| from.part == receipt.part && from.amount < 0);
        for from in missing {
            let found = variances
                .iter()
                .filter(|to| to.part != receipt.part && to.amount > 0);
            suspected.extend(found.map(|to| MisBooking {
                receipt: receipt.receipt,
                quantity: receipt.quantity,
                from: *from,
                to: *to,
            }));
        }
    }
    suspected.retain(|suspect| suspect.residue() <= (suspect.quantity / RESIDUE_PART).max(1));
    suspected.sort_by_key(|suspect| (suspect.residue(), -suspect.quantity));
    let mut best: Vec<MisBooking<P, R>> = Vec::new();
    for suspect in suspected {
        let taken = best.iter().any(|other| {
            let others = [other.from.part, other.to.part];
            others.contains(&suspect.from.part) || others.contains(&suspect.to.part)
        });
        if !taken {
            best.push(suspect);
        }
    }
    best
}

/// Splits `pieces` over shares in proportion to their weights, whole pieces each and all of them
/// given out: the largest remainders get what rounding down leaves (Hamilton's method). Weights are
/// not negative; if all are zero, the first share gets everything.
pub fn spread(pieces: u32, weights: &[f64]) -> Vec<u32> {
    let total: f64 = weights.iter().sum();
    if weights.is_empty() {
        return Vec::new();
    }
    if total <= 0.0 || !total.is_finite() {
        let mut all = vec![0; weights.len()];
        all[0] = pieces;
        return all;
    }
    let exact: Vec<f64> = weights
        .iter()
        .map(|weight| f64::from(pieces) * weight / total)
        .collect();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a share is between zero and `pieces`"
    )]
    let mut shares: Vec<u32> = exact.iter().map(|share| share.floor() as u32).collect();
    let left = pieces.saturating_sub(shares.iter().sum());
    let mut order: Vec<usize> = (0..weights.len()).collect();
    order.sort_by(|a, b| {
        let remainder = |index: usize| exact[index] - exact[index].floor();
        remainder(*b).total_cmp(&remainder(*a)).then(a.cmp(b))
    });
    for index in order.into_iter().cycle().take(left as usize) {
        shares[index] += 1;
    }
    shares
}
