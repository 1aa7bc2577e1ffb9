//! Entries that are dated too far ahead or back to be taken at their word: they are kept aside, and a
//! person is asked. Nothing is dropped, and nothing is recorded until then.

use std::fmt;

use chrono::{DateTime, FixedOffset, TimeDelta};
use domain::part::PartKind;
use domain::question::QuestionKind;
use sea_orm::ConnectionTrait;
use serde::{Deserialize, Serialize};
use types::{KeptAside, NewCount, NewMovement, NewReceipt, NewStub, NewTransfer, NewUsage, What};

use super::names::Names;
use super::page::Page;
use super::placed::Placed;
use super::{Answer, Body, Request, words};
use crate::service::Error;
use crate::service::questions::NewQuestion;

/// A clock may be off by so much before it is a mistake.
const AHEAD: TimeDelta = TimeDelta::minutes(10);
/// What is older was most likely dated wrong; history taken over at set-up is exempt.
const BACK: TimeDelta = TimeDelta::days(90);

/// The status of an entry that was kept aside: 202 Accepted.
pub const ACCEPTED: u16 = 202;

/// What was sent, as a question keeps it.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[serde(tag = "entry", content = "sent", rename_all = "kebab-case")]
pub enum Aside {
    /// Use at the bench.
    Usage(Box<NewUsage>),
    /// A movement.
    Movement(NewMovement),
    /// Goods that came in.
    Receipt(NewReceipt),
    /// A count.
    Count(NewCount),
    /// Pieces moved to another site.
    Transfer(NewTransfer),
    /// Stubs without a torch.
    Stubs(NewStub),
}

/// On which side of the bounds a date lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum OutOfBounds {
    /// More than ten minutes ahead of the clock of the service.
    Ahead,
    /// More than ninety days back.
    Back,
}

impl fmt::Display for OutOfBounds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Ahead => "more than 10 minutes ahead of the clock here",
            Self::Back => "more than 90 days back",
        })
    }
}

/// Whether the date of an entry has to be asked about.
pub(super) fn out_of_bounds(request: &Request) -> Option<OutOfBounds> {
    let at = request.circumstances()?.at?.to_utc();
    if request.trusted {
        None
    } else if at > request.received_at + AHEAD {
        Some(OutOfBounds::Ahead)
    } else {
        (at < request.received_at - BACK && !request.history).then_some(OutOfBounds::Back)
    }
}

/// Keeps an entry aside and asks about it. What it names must be there, since nobody could put it
/// right later.
pub(super) async fn keep(
    db: &impl ConnectionTrait,
    (request, why): (&Request, OutOfBounds),
    names: &Names,
    page: &mut Page,
) -> Result<Answer, Error> {
    let told = request.circumstances().unwrap_or_default();
    let placed = Placed::find(request, told, request.torch(), names)?;
    let fitted = match &request.body {
        Body::Usage(_, Some(what)) if *what != What::Ground => Some(PartKind::Electrode.as_str()),
        Body::Usage(..)
        | Body::Movement(..)
        | Body::Receipt(_)
        | Body::Count(_)
        | Body::Transfer(_)
        | Body::Stubs(..)
        | Body::Allocation(_)
        | Body::Reversal(_) => None,
    };
    let part = request
        .part()
        .or(fitted)
        .map(|word| names.part_or_fitted(word, placed.torch))
        .transpose()?;
    let Some(aside) = Aside::of(&request.body) else {
        return Err(Error::Internal(
            "an entry without a date was kept aside".to_owned(),
        ));
    };
    let what = words::kept(&aside, part.map(|part| part.code.as_str()));
    let by = told.by.map_or(String::new(), |by| format!(" by {by}"));
    let date = words::dated(&placed.at);
    let says = format!("{what}{by}, dated {date}: {why}. Is the date right?");
    let question = NewQuestion {
        kind: QuestionKind::LateEntry,
        site: placed.site.id,
        part: part.map(|part| part.id),
        entry: None,
        other_entry: None,
        subject: format!("late:{}:{}", request.caller.id(), request.key),
        details: serde_json::to_value(&aside)
            .map_err(|error| Error::Internal(error.to_string()))?,
        says,
    };
    let number = page.ask(db, question).await?;
    let body = KeptAside {
        question: number,
        says: format!(
            "Kept aside, not recorded yet: {what}, dated {date}, is {why}. Answer question {number}."
        ),
    };
    page.answer_as(ACCEPTED, request, &body)
}

impl Aside {
    /// The part of a body that is kept; an allocation and a reversal
    /// have no date of their own.
    fn of(body: &Body) -> Option<Self> {
        match body {
            Body::Usage(usage, _) => Some(Self::Usage(usage.clone())),
            Body::Movement(movement, _) => Some(Self::Movement(movement.clone())),
            Body::Receipt(receipt) => Some(Self::Receipt(receipt.clone())),
            Body::Count(count) => Some(Self::Count(count.clone())),
            Body::Transfer(transfer) => Some(Self::Transfer(transfer.clone())),
            Body::Stubs(stubs, ..) => Some(Self::Stubs(stubs.clone())),
            Body::Allocation(_) | Body::Reversal(_) => None,
        }
    }

    /// The body again, checked; dated `at`, if a date is given, with the date that was told as the
    /// device's.
    ///
    /// # Errors
    /// [`Error::Invalid`] if the rules have changed since.
    pub fn body(self, at: Option<DateTime<FixedOffset>>) -> Result<Body, Error> {
        macro_rules! dated {
            ($new:ident) => {{
                let mut new = $new;
                if at.is_some() {
                    new.device_at = new.device_at.or(new.at);
                    new.at = at;
                }
                new
            }};
        }
        Ok(match self {
            Self::Usage(new) => {
                let new = dated!(new);
                let what = new.check()?;
                Body::Usage(new, what)
            }
            Self::Movement(new) => {
                let new = dated!(new);
                let kind = new.check()?;
                Body::Movement(new, kind)
            }
            Self::Receipt(new) => {
                let new = dated!(new);
                new.check()?;
                Body::Receipt(new)
            }
            Self::Count(new) => {
                let new = dated!(new);
                new.check()?;
                Body::Count(new)
            }
            Self::Transfer(new) => {
                let new = dated!(new);
                new.check()?;
                Body::Transfer(new)
            }
            Self::Stubs(new) => {
                let new = dated!(new);
                let (what, kind) = new.check()?;
                Body::Stubs(new, what, kind)
            }
        })
    }

    /// When it happened, as told.
    pub fn at(&self) -> Option<DateTime<FixedOffset>> {
        match self {
            Self::Usage(new) => new.at,
            Self::Movement(new) => new.at,
            Self::Receipt(new) => new.at,
            Self::Count(new) => new.at,
            Self::Transfer(new) => new.at,
            Self::Stubs(new) => new.at,
        }
    }
}
