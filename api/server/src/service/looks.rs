//! Looks: everything that is watched at a site is read, and warnings open, speak and close by it. What
//! takes long is found first; then levels and warnings are read, and all that changes is written, in one
//! write transaction. So whoever looks, how often, and after whatever was lost, nothing is told twice and
//! nothing is forgotten: what is open is in the database, and what is low follows from the ledger.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use chrono::{DateTime, NaiveDate, Utc};
use domain::question::QuestionKind;
use domain::watch::Filter;
use sea_orm::{ConnectionTrait, DatabaseTransaction};
use types::{Look, NewLook};

use super::ahead::{Options, Reading};
use super::known::View;
use super::watches::{self, Subject, Watched};
use super::{Context, Error, codes, instant, parts, silences, site_rules};
use crate::store;
use crate::store::entity::{levels, looks, parts as part_rows, sites};

mod background;
mod buying;
mod candidate;
mod source;
mod stock;
mod tell;
mod torches;
mod uses;
mod words;
mod work;

pub use background::keep_looking;
pub use buying::buy_list;

use candidate::Candidate;
use source::Market;
use stock::{Here, LEAD_ASSUMED, StockWatch};
use uses::Pooled;
use work::JobNeed;

/// More sites than this are not looked at in one go.
const SITES_MAX: u64 = 1_000;

/// Looks at once at everything that is watched.
pub async fn look(context: &Context, new: &NewLook) -> Result<Look, Error> {
    let db = context.store.read();
    let sites = match new.site.as_deref() {
        Some(code) => vec![codes::named_site(db, "/site", code).await?],
        None => store::sites::list(db, None, SITES_MAX).await?,
    };
    let mut all = Look {
        as_of: context.clock.now(),
        ..Look::default()
    };
    for site in sites {
        let look = at_site(context, site, None).await?;
        all.opened.extend(look.opened);
        all.told.extend(look.told);
        all.escalated.extend(look.escalated);
        all.closed.extend(look.closed);
        all.cannot_tell.extend(look.cannot_tell);
    }
    Ok(all)
}

/// Looks at a site: at everything, or only at the stock of some parts.
async fn at_site(
    context: &Context,
    site: sites::Model,
    only: Option<&BTreeSet<i64>>,
) -> Result<Look, Error> {
    let plan = Plan::load(context, site, only).await?;
    let write = context
        .writer
        .write(move |tx| Box::pin(async move { plan.settle(tx).await }));
    write.await
}

/// What is watched at a site, with all that does not change with a take.
struct Plan {
    site: sites::Model,
    now: DateTime<Utc>,
    today: NaiveDate,
    market: Market,
    stock: Vec<StockWatch>,
    work: Vec<Candidate>,
    cannot_tell: Vec<String>,
    /// Whether it is about everything, so that what is open beside it is not watched any more.
    is_whole: bool,
}

impl Plan {
    async fn load(
        context: &Context,
        site: sites::Model,
        only: Option<&BTreeSet<i64>>,
    ) -> Result<Self, Error> {
        let db = context.store.read();
        let now = context.clock.now();
        let zone = instant::site_zone(&site.zone);
        let local = now.with_timezone(&zone).naive_local();
        let today = local.date();
        let watched = watches::of_site(db, &site, today).await?;
        let work = work::look(context, (&site, local), &watched).await?;
        let mut candidates = work.candidates;
        candidates.extend(torches::look(db, (&site, now), (&watched, only.is_none())).await?);
        let watched: Vec<Watched> = watched
            .into_iter()
            .filter(|it| !it.is_off() && is_among(it, only))
            .collect();
        let view = View::present(now);
        let parts: Vec<part_rows::Model> = watched.iter().flat_map(parts_of).cloned().collect();
        let ids: Vec<i64> = parts.iter().map(|part| part.id).collect();
        let reading = Reading::load(db, &parts, &site, view).await?;
        let stops = watches::torches_by_part(db, site.id).await?;
        let mut plan = Self {
            now,
            today,
            market: Market::load(db, &ids, (view, zone)).await?,
            stock: Vec::new(),
            work: candidates,
            cannot_tell: Vec::new(),
            is_whole: only.is_none(),
            site,
        };
        if plan.is_whole {
            let silences = silences::of_site(db, &plan.site, now).await?;
            plan.cannot_tell
                .extend(silences.into_iter().map(|it| it.says));
        }
        for watch in &watched {
            plan.weigh(watch, &reading, (&stops, &work.by_part))?;
        }
        Ok(plan)
    }

    /// Weighs what a watch is on, where that is stock.
    fn weigh(
        &mut self,
        watch: &Watched,
        reading: &Reading,
        known: (&HashMap<i64, Vec<String>>, &BTreeMap<String, JobNeed>),
    ) -> Result<(), Error> {
        let Subject::Parts(filter, parts) = &watch.subject else {
            return Ok(());
        };
        let mut parts = parts.clone();
        parts.retain(|part| site_rules::of_part(&self.site, part).is_permitted());
        #[expect(clippy::cast_precision_loss, reason = "a pace, not a quantity")]
        let options = Options {
            week: watch.week_minutes.map(|minutes| minutes as f64),
            ..Options::default()
        };
        let mut laws = Vec::with_capacity(parts.len());
        for part in &parts {
            match reading.part(part, &options)? {
                Ok(law) => laws.push(law),
                Err(why) => self
                    .cannot_tell
                    .push(format!("Cannot say for {}: {why}.", part.code)),
            }
        }
        if let Some(first) = parts.first() {
            let uses = (!laws.is_empty()).then(|| Pooled::of(laws));
            let name = name(first, filter.as_ref())?;
            let stock = self.stock_watch(watch, (parts, name, uses), known)?;
            self.stock.push(stock);
        }
        Ok(())
    }

    fn stock_watch(
        &self,
        watch: &Watched,
        (parts, name, uses): (Vec<part_rows::Model>, String, Option<Pooled>),
        (stops, needs): (&HashMap<i64, Vec<String>>, &BTreeMap<String, JobNeed>),
    ) -> Result<StockWatch, Error> {
        let sources = parts
            .iter()
            .filter_map(|part| Some((part.id, self.market.source(part.id)?)));
        let source = sources.min_by_key(|(_, source)| source.arrives);
        let lead = source.map_or_else(|| LEAD_ASSUMED.to_vec(), |(_, it)| it.days.clone());
        let point = point(watch, uses.as_ref(), &lead)?;
        let mut torches: Vec<String> = parts
            .iter()
            .filter_map(|part| stops.get(&part.id))
            .flatten()
            .cloned()
            .collect();
        torches.sort();
        torches.dedup();
        let unit = match parts.first() {
            Some(part) => parts::spec(part)?.kind().unit(),
            None => domain::part::Unit::Piece,
        };
        Ok(StockWatch {
            key: format!("{}:order-point:{}", self.site.id, watch.key()),
            subject: watch.subject.to_string(),
            name,
            unit,
            channels: watch.channels.clone(),
            uses,
            from: source.map(|(part, _)| part),
            lead,
            point,
            stops: torches,
            job: parts.iter().find_map(|part| needs.get(&part.code).cloned()),
            parts,
        })
    }

    /// Reads levels and warnings, and writes what has become of them.
    async fn settle(self, tx: &DatabaseTransaction) -> Result<Look, Error> {
        let ids: Vec<i64> = self.stock.iter().flat_map(StockWatch::ids).collect();
        let keys = ids.iter().map(|part| (*part, self.site.id));
        let rows = store::levels::find_many(tx, keys).await?;
        let levels: HashMap<i64, levels::Model> = rows
            .into_iter()
            .filter(|row| row.site_id == self.site.id)
            .map(|row| (row.part_id, row))
            .collect();
        let here = Here {
            site: &self.site,
            now: self.now,
            today: self.today,
            market: &self.market,
            levels: &levels,
            coming: &self.market.coming(tx, self.site.id).await?,
            doubtful: &doubtful(tx, &ids, self.site.id).await?,
        };
        let mut candidates = Vec::with_capacity(self.stock.len() + self.work.len());
        for watch in &self.stock {
            candidates.extend(watch.read(&here)?);
        }
        candidates.extend(self.work);
        let mut look = tell::settle(tx, (&self.site, self.now), candidates, self.is_whole).await?;
        look.cannot_tell = self.cannot_tell;
        let at = self.now.timestamp_micros();
        let row = looks::Model {
            site_id: self.site.id,
            looked_at: at,
            received_by: at,
        };
        store::warnings::keep_look(tx, row).await?;
        Ok(look)
    }
}

/// Whether a watch is on one of some parts.
fn is_among(watch: &Watched, only: Option<&BTreeSet<i64>>) -> bool {
    only.is_none_or(|only| parts_of(watch).any(|part| only.contains(&part.id)))
}

fn parts_of(watch: &Watched) -> impl Iterator<Item = &part_rows::Model> {
    let parts = match &watch.subject {
        Subject::Parts(_, parts) => parts.as_slice(),
        Subject::Kit(_) | Subject::Job(..) | Subject::Course(..) | Subject::Torch(_) => &[],
    };
    parts.iter()
}

/// What parts are called that are watched together.
fn name(first: &part_rows::Model, filter: Option<&Filter>) -> Result<String, Error> {
    match filter {
        Some(filter) => Ok(filter.describe()),
        None => Ok(parts::spec(first)?.describe()),
    }
}

/// The order point in pieces that the limit of a watch comes to. Where nothing of the use is known, only
/// what is gone is low.
fn point(watch: &Watched, uses: Option<&Pooled>, lead: &[(u32, f64)]) -> Result<i64, Error> {
    let Some(uses) = uses else {
        return Ok(watch.limit.point(Some(0), |_, _| Some(0)).unwrap_or(0));
    };
    let until: Vec<(u32, f64)> = lead
        .iter()
        .map(|(days, chance)| (days.saturating_add(watch.review_days), *chance))
        .collect();
    let order_point = uses.need(&until, watch.target)?;
    let use_at = |days: Option<u32>, chance: f64| match days {
        None => uses.need(lead, chance).ok(),
        Some(days) => uses.need(&[(days, 1.0)], chance).ok(),
    };
    let point = watch.limit.point(Some(order_point), use_at);
    point.ok_or_else(|| Error::Internal("a limit came to no order point".to_owned()))
}

/// Pieces of each part that were taken by an entry which may be a double, with the question about it.
async fn doubtful(
    db: &impl ConnectionTrait,
    parts: &[i64],
    site: i64,
) -> Result<HashMap<i64, (i64, String)>, Error> {
    let kind = QuestionKind::DoubleEntry.as_str();
    let parts = parts.iter().copied();
    let mut doubtful: HashMap<i64, (i64, String)> = HashMap::new();
    for question in store::questions::open_of(db, kind, (parts, site)).await? {
        let details: serde_json::Value =
            serde_json::from_str(&question.details).unwrap_or_default();
        let (Some(part), Some(pieces)) = (question.part_id, details["quantity"].as_i64()) else {
            continue;
        };
        doubtful.entry(part).or_insert((0, question.says)).0 += pieces;
    }
    Ok(doubtful)
}
