//! What an answer changes. Everything is written as entries of the ledger, so that what stood before
//! stays readable; the question names what was done.

use chrono::{DateTime, Utc};
use domain::ledger::MovementKind;
use domain::question::Answer as Choice;
use domain::variance::spread;
use domain::warning::WarningKind;
use sea_orm::DatabaseTransaction;
use types::{NewAnswer, NewCount, NewMovement, NewReceipt, NewReversal, NewUsage, What};
use uuid::Uuid;

use super::super::keys::Caller;
use super::super::ledger::{self, Aside, Body, Parcel, Request, Variance, variance};
use super::super::{Error, instant, warnings};
use crate::store;
use crate::store::entity::{entries, questions};

/// A body with the circumstances of an entry that it stands in for.
macro_rules! dressed {
    ($new:ident, $tx:ident, $entry:ident) => {{
        let job = store::jobs::get_many($tx, $entry.job_id).await?.pop();
        let mut new = $new;
        new.at = Some(instant::with_offset(
            $entry.happened_at,
            $entry.offset_minutes,
        ));
        new.site = Some(site($tx, $entry.site_id).await?);
        new.group = Some($entry.operator_group.clone());
        new.job = job.map(|job| job.code);
        new.lot.clone_from(&$entry.lot);
        new.by.clone_from(&$entry.person);
        new.note.clone_from(&$entry.note);
        new
    }};
}

/// An answer that a person gave.
pub(super) struct Told {
    pub(super) caller: Caller,
    pub(super) now: DateTime<Utc>,
    pub(super) question: questions::Model,
    pub(super) choice: Choice,
    pub(super) answer: NewAnswer,
}

impl Told {
    /// Does what the answer says, and tells it in words.
    pub(super) async fn carry_out(self, tx: &DatabaseTransaction) -> Result<String, Error> {
        match self.choice {
            Choice::Same => self.take_back_later(tx).await,
            Choice::Different => Ok("both entries stand".to_owned()),
            Choice::AsDated => self.record_kept(tx, true).await,
            Choice::AsReceived => self.record_kept(tx, false).await,
            Choice::NotRecorded => Ok("not recorded; what was sent stays here".to_owned()),
            Choice::Move => self.move_parcel(tx).await,
            Choice::Keep => self.keep_parcel(tx).await,
            Choice::UnloggedUse => self.explain(tx, true).await,
            Choice::BookingError => self.explain(tx, false).await,
            Choice::Count => self.count(tx).await,
            Choice::Lot => self.name_lot(tx).await,
            Choice::Unknown => Ok("the lot stays unknown".to_owned()),
            Choice::Seen => self.seen(tx).await,
        }
    }

    /// What is said to be seen is a warning that is over.
    async fn seen(&self, tx: &DatabaseTransaction) -> Result<String, Error> {
        let site = self.question.site_id;
        let subject = self.question.subject.as_deref().unwrap_or_default();
        let prefix = format!("barred:{site}:");
        if let Some(name) = subject.strip_prefix(&prefix) {
            let about = (site, WarningKind::BarredUsed, name);
            warnings::withdraw(tx, about, ("seen", self.now)).await?;
        }
        Ok("seen".to_owned())
    }

    /// Records entries as the person who answers would; all of them or none.
    async fn record(&self, tx: &DatabaseTransaction, bodies: Vec<Body>) -> Result<(), Error> {
        let requests = bodies.into_iter().map(|body| Request {
            caller: self.caller,
            // No other entry has such a key, and a question is answered once.
            key: format!("question-{}-{}", self.question.id, Uuid::now_v7()),
            hash: String::new(),
            received_at: self.now,
            history: false,
            trusted: true,
            body,
        });
        for answer in ledger::record(tx, requests.collect()).await? {
            answer?;
        }
        Ok(())
    }

    fn details<T: serde::de::DeserializeOwned>(&self) -> Result<T, Error> {
        serde_json::from_str(&self.question.details)
            .map_err(|error| Error::Internal(error.to_string()))
    }

    fn reversal(&self, entry: Uuid, why: &str) -> Body {
        let why = self.answer.why.clone().unwrap_or_else(|| why.to_owned());
        Body::Reversal(NewReversal {
            entry,
            why: Some(why),
        })
    }

    async fn take_back_later(&self, tx: &DatabaseTransaction) -> Result<String, Error> {
        let entry = named(self.question.entry_id)?;
        self.record(tx, vec![self.reversal(entry, "double entry")])
            .await?;
        Ok(format!("entry {entry} was taken back as a double entry"))
    }

    async fn record_kept(&self, tx: &DatabaseTransaction, as_dated: bool) -> Result<String, Error> {
        let aside: Aside = self.details()?;
        let told = aside.at();
        if as_dated && told.is_some_and(|at| at.to_utc() > self.now) {
            let why = "its date is still to come; answer as-received, or not-recorded";
            return Err(Error::invalid("/answer", why));
        }
        let site = store::sites::get_many(tx, [self.question.site_id])
            .await?
            .pop();
        let zone = instant::site_zone(site.as_ref().map_or("UTC", |site| &site.zone));
        let received = instant::from_micros(self.question.asked_at);
        let at = (!as_dated).then(|| received.with_timezone(&zone).fixed_offset());
        self.record(tx, vec![aside.body(at)?]).await?;
        Ok(if as_dated {
            "recorded as dated".to_owned()
        } else {
            "recorded as of when it was received".to_owned()
        })
    }

    async fn move_parcel(&self, tx: &DatabaseTransaction) -> Result<String, Error> {
        let parcel: Parcel = self.details()?;
        let receipt = entry(tx, parcel.receipt).await?;
        let (from, to) = (
            counted(tx, parcel.from).await?,
            counted(tx, parcel.to).await?,
        );
        let moved = store::movements::of_entries(tx, [parcel.receipt]).await?;
        let part = part(tx, to.0.count.part_id).await?;
        let back = self.reversal(parcel.receipt, "booked to the wrong part");
        let again = NewReceipt {
            part: part.clone(),
            quantity: parcel.quantity,
            order: moved.first().and_then(|row| row.order_id),
            ..NewReceipt::default()
        };
        let again = Body::Receipt(dressed!(again, tx, receipt));
        self.record(tx, vec![back, again]).await?;
        let mut said = vec![format!(
            "the receipt of {} was moved to {part}",
            parcel.quantity
        )];
        for (found, offset) in [from, to] {
            let found = variance(tx, found.count).await?;
            said.extend(self.settle(tx, &found, offset, found.amount() < 0).await?);
        }
        Ok(said.join("; "))
    }

    async fn keep_parcel(&self, tx: &DatabaseTransaction) -> Result<String, Error> {
        let parcel: Parcel = self.details()?;
        let mut said = vec!["the receipt stays".to_owned()];
        for count in [parcel.from, parcel.to] {
            let (found, offset) = counted(tx, count).await?;
            said.extend(self.settle(tx, &found, offset, false).await?);
        }
        Ok(said.join("; "))
    }

    async fn explain(&self, tx: &DatabaseTransaction, used: bool) -> Result<String, Error> {
        let (found, offset) = counted(tx, named(self.question.entry_id)?).await?;
        if used && found.amount() > 0 {
            let why = format!(
                "{} more were counted than the book says, so nothing was used; answer booking-error",
                found.amount()
            );
            return Err(Error::invalid("/answer", why));
        }
        let said = self.settle(tx, &found, offset, used).await?;
        Ok(said.unwrap_or_else(|| "what came in since explains it".to_owned()))
    }

    /// Books what a count differs by, at the instant of the count, which it does not change; gives
    /// what was booked in words, if there was anything.
    async fn settle(
        &self,
        tx: &DatabaseTransaction,
        found: &Variance,
        offset: i64,
        used: bool,
    ) -> Result<Option<String>, Error> {
        let amount = found.amount();
        if amount == 0 {
            return Ok(None);
        }
        let part = part(tx, found.count.part_id).await?;
        let at = instant::with_offset(found.count.happened_at, offset);
        let day = at.format("%-d %b %Y");
        let shares = if used {
            self.users(tx, found).await?
        } else {
            vec![(None, amount)]
        };
        let (kind, reason) = if used {
            (MovementKind::UnloggedUse, "unlogged use")
        } else {
            (MovementKind::Adjustment, "booking error")
        };
        let note = self
            .answer
            .why
            .as_ref()
            .map_or(String::new(), |why| format!(": {why}"));
        let mut bodies = Vec::new();
        for (group, quantity) in shares {
            let site = site(tx, found.count.site_id).await?;
            let new = NewMovement {
                part: part.clone(),
                kind: kind.as_str().to_owned(),
                quantity,
                why: Some(format!("{reason}, found by the count of {day}{note}")),
                at: Some(at),
                site: Some(site),
                group,
                by: self.answer.by.clone(),
                ..NewMovement::default()
            };
            bodies.push(Body::Movement(new, kind));
        }
        self.record(tx, bodies).await?;
        Ok(Some(if used {
            format!("{part}: {} booked as {reason}", -amount)
        } else {
            format!("{part}: {amount:+} booked as {reason}")
        }))
    }

    /// Who used the missing pieces: the groups, in proportion to what the part was exposed to since
    /// the count before.
    async fn users(
        &self,
        tx: &DatabaseTransaction,
        found: &Variance,
    ) -> Result<Vec<(Option<String>, i64)>, Error> {
        let key = (found.count.part_id, found.count.site_id);
        let span = (found.before, found.count.happened_at);
        let exposed = store::entries::exposure_by_group(tx, key, span).await?;
        let arc = exposed.iter().any(|sum| sum.arc_seconds > 0);
        #[expect(clippy::cast_precision_loss, reason = "a weight, not a quantity")]
        let weights: Vec<f64> = exposed
            .iter()
            .map(|sum| if arc { sum.arc_seconds } else { sum.grinds }.max(0) as f64)
            .collect();
        let pieces = u32::try_from(-found.amount()).map_err(|_| Error::Overflow)?;
        if exposed.is_empty() {
            return Ok(vec![(None, i64::from(pieces))]);
        }
        let shares = spread(pieces, &weights).into_iter().map(i64::from);
        let groups = exposed.into_iter().map(|sum| Some(sum.operator_group));
        Ok(groups.zip(shares).filter(|(_, share)| *share > 0).collect())
    }

    async fn count(&self, tx: &DatabaseTransaction) -> Result<String, Error> {
        let counted = self.answer.counted.unwrap_or_default();
        let part = part(tx, self.question.part_id.unwrap_or_default()).await?;
        let new = NewCount {
            part: part.clone(),
            counted,
            site: Some(site(tx, self.question.site_id).await?),
            by: self.answer.by.clone(),
            note: self.answer.why.clone(),
            ..NewCount::default()
        };
        self.record(tx, vec![Body::Count(new)]).await?;
        Ok(format!("{counted} of {part} counted"))
    }

    /// Enters a use again with its lot, and takes back the one without.
    async fn name_lot(&self, tx: &DatabaseTransaction) -> Result<String, Error> {
        let entry = entry(tx, named(self.question.entry_id)?).await?;
        let moved = store::movements::of_entries(tx, [entry.id]).await?;
        let moved = moved
            .first()
            .ok_or_else(|| Error::Internal("a use without a movement".to_owned()))?;
        let torch = store::torches::get_many(tx, entry.torch_id).await?.pop();
        let new = NewUsage {
            torch: torch.map(|torch| torch.code),
            what: entry.what.clone(),
            part: Some(part(tx, moved.part_id).await?),
            qty: Some(moved.quantity),
            arc_minutes: positive(entry.arc_seconds / 60),
            grinds: positive(entry.grinds),
            cut_backs: positive(entry.cut_backs),
            starts: positive(entry.starts),
            student_days: positive(entry.student_days),
            arc_from: entry.arc_from.clone(),
            amps: entry.amps,
            polarity: entry.polarity.clone(),
            why: entry.why.clone(),
            ..NewUsage::default()
        };
        let mut new = dressed!(new, tx, entry);
        new.lot.clone_from(&self.answer.lot);
        let what = new.what.as_deref().and_then(What::parse);
        let back = self.reversal(entry.id, "entered again with its lot");
        self.record(tx, vec![back, Body::Usage(Box::new(new), what)])
            .await?;
        let lot = self.answer.lot.as_deref().unwrap_or_default();
        Ok(format!("entered again with lot {lot}"))
    }
}

fn positive(number: i64) -> Option<i64> {
    (number > 0).then_some(number)
}

fn named(entry: Option<Uuid>) -> Result<Uuid, Error> {
    entry.ok_or_else(|| Error::Internal("a question lost its entry".to_owned()))
}

async fn entry(tx: &DatabaseTransaction, id: Uuid) -> Result<entries::Model, Error> {
    store::entries::find(tx, id)
        .await?
        .ok_or_else(|| Error::Internal("an entry is gone".to_owned()))
}

/// A count beside its book, with the offset it was told with.
async fn counted(tx: &DatabaseTransaction, id: Uuid) -> Result<(Variance, i64), Error> {
    let offset = entry(tx, id).await?.offset_minutes;
    let count = store::counts::of_entries(tx, [id]).await?.pop();
    let count = count.ok_or_else(|| Error::Internal("a count is gone".to_owned()))?;
    Ok((variance(tx, count).await?, offset))
}

async fn part(tx: &DatabaseTransaction, id: i64) -> Result<String, Error> {
    let part = store::parts::get_many(tx, [id]).await?.pop();
    part.map(|part| part.code)
        .ok_or_else(|| Error::Internal("a part is gone".to_owned()))
}

async fn site(tx: &DatabaseTransaction, id: i64) -> Result<String, Error> {
    let site = store::sites::get_many(tx, [id]).await?.pop();
    site.map(|site| site.code)
        .ok_or_else(|| Error::Internal("a site is gone".to_owned()))
}
