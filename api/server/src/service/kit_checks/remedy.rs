//! What mends a part that is missing: the drawer where to look, a torch that can lend it, the purchase
//! that comes first.

use chrono::{DateTime, Days, Utc};
use sea_orm::ConnectionTrait;
use types::KitPurchase;

use super::{Bench, Checked};
use crate::service::drawers::places::{Places, listed};
use crate::service::known::View;
use crate::service::needs::Market;
use crate::service::{Error, instant, torches};
use crate::store;
use crate::store::entity::torches as torch_rows;

/// A torch on which nothing was logged for so many days is idle: a rule of our own.
pub(super) const IDLE_DAYS: u64 = 7;

/// What mends one missing part.
#[derive(Clone, Debug, Default)]
pub(super) struct Remedy {
    /// Where it should lie.
    pub(super) drawers: Option<String>,
    /// The idle torches in which one is fitted, and when each was used last.
    pub(super) lenders: Vec<(String, Option<DateTime<Utc>>)>,
    /// The purchase that comes first.
    pub(super) next: Option<KitPurchase>,
}

impl Remedy {
    /// The codes of the torches that can lend it.
    pub(super) fn borrow_from(&self) -> Vec<String> {
        self.lenders
            .iter()
            .map(|(torch, _)| torch.clone())
            .collect()
    }
}

/// Finds what mends each part that is missing and permitted.
pub(super) async fn find(
    db: &impl ConnectionTrait,
    bench: &Bench,
    checked: &mut [Checked],
    now: DateTime<Utc>,
) -> Result<(), Error> {
    let wanted = |slot: &&mut Checked| slot.missing() > 0 && slot.held_because.is_none();
    let missing: Vec<&mut Checked> = checked.iter_mut().filter(wanted).collect();
    if missing.is_empty() {
        return Ok(());
    }
    let parts = &bench.shelf.parts;
    let ids: Vec<i64> = missing.iter().map(|slot| parts[slot.part].row.id).collect();
    let places = Places::load(db, &bench.site, ids.iter().copied()).await?;
    let lenders = lenders(db, bench, now).await?;
    let zone = instant::site_zone(&bench.site.zone);
    let today = now.with_timezone(&zone).date_naive();
    let market = Market::load(db, &ids, (&bench.site, View::present(now), today)).await?;
    for slot in missing {
        let id = parts[slot.part].row.id;
        let lies = places.of(id);
        let drawers = listed(lies);
        let lending = lenders.iter().filter(|lender| lender.fitted.contains(&id));
        slot.remedy = Remedy {
            drawers: (!lies.is_empty()).then_some(drawers),
            lenders: lending
                .map(|lender| (lender.code.clone(), lender.used_at))
                .collect(),
            next: market.first(id, slot.missing()).map(|bought| KitPurchase {
                supplier: bought.from,
                packs: bought.packs,
                pack_size: bought.pack_size,
                cost_minor: bought.alone_minor,
                currency: bought.currency,
                arrives: bought.arrives,
            }),
        };
    }
    Ok(())
}

struct Lender {
    code: String,
    fitted: Vec<i64>,
    used_at: Option<DateTime<Utc>>,
}

/// The other torches of the site on which nothing was logged lately.
async fn lenders(
    db: &impl ConnectionTrait,
    bench: &Bench,
    now: DateTime<Utc>,
) -> Result<Vec<Lender>, Error> {
    let others = store::torches::at_site(db, bench.site.id).await?;
    let others: Vec<_> = others
        .into_iter()
        .filter(|torch| torch.id != bench.torch.id)
        .collect();
    let ids: Vec<i64> = others.iter().map(|torch| torch.id).collect();
    let mut fitted = torches::fitted_at(db, &ids, None).await?;
    let used = store::entries::last_used(db, &ids).await?;
    let since = now.checked_sub_days(Days::new(IDLE_DAYS)).unwrap_or(now);
    let lender = |torch: torch_rows::Model| {
        let used_at = used.get(&torch.id).copied().map(instant::from_micros);
        used_at
            .is_none_or(|used_at| used_at < since)
            .then(|| Lender {
                fitted: fitted.remove(&torch.id).unwrap_or_default(),
                code: torch.code,
                used_at,
            })
    };
    Ok(others.into_iter().filter_map(lender).collect())
}
