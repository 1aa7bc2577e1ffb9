//! Questions: what the ledger asks a person. How each comes up is with the ledger, in the place
//! where it does; what an answer changes is in `answers`.

use domain::question::{Answer as Choice, QuestionKind};
use sea_orm::ConnectionTrait;
use types::{ListQuestions, NewAnswer, Page, PossibleAnswer, Question, QuestionPage, Violation};
use uuid::Uuid;

use super::keys::Caller;
use super::ledger::{Answer, check_idempotency_key, hash};
use super::replies::Asked;
use super::{Context, Error, codes, instant};
use crate::store;
use crate::store::entity::questions;
use crate::store::questions::{ANSWERED, CLOSED, End, OPEN, Which};

mod answers;

/// Something to ask.
#[derive(Clone, Debug)]
pub struct NewQuestion {
    /// Its kind.
    pub kind: QuestionKind,
    /// The site.
    pub site: i64,
    /// The part it is about.
    pub part: Option<i64>,
    /// The entry it is about.
    pub entry: Option<Uuid>,
    /// The other entry it is about.
    pub other_entry: Option<Uuid>,
    /// What it is about, in a word that no other open question has: asking twice asks once.
    pub subject: String,
    /// What the answer will need.
    pub details: serde_json::Value,
    /// The question in words.
    pub says: String,
}

impl NewQuestion {
    /// The row of it.
    ///
    /// # Errors
    /// A fault of ours: the details cannot be written.
    pub fn row(self, number: i64, now: i64) -> Result<questions::Model, Error> {
        let details = serde_json::to_string(&self.details)
            .map_err(|error| Error::Internal(error.to_string()))?;
        Ok(questions::Model {
            id: number,
            kind: self.kind.as_str().to_owned(),
            state: OPEN.to_owned(),
            subject: Some(self.subject),
            site_id: self.site,
            part_id: self.part,
            entry_id: self.entry,
            other_entry_id: self.other_entry,
            details,
            says: self.says,
            asked_at: now,
            answer: None,
            outcome: None,
            answered_by: None,
            key_id: None,
            answered_at: None,
        })
    }
}

/// Closes a question that answered itself.
pub async fn close(
    db: &impl ConnectionTrait,
    number: i64,
    outcome: String,
    at: i64,
) -> Result<(), Error> {
    let end = End {
        state: CLOSED,
        answer: None,
        outcome,
        by: None,
        key: None,
        at,
    };
    store::questions::end(db, number, end).await?;
    Ok(())
}

/// Closes what is asked about an entry that is taken back. A receipt that may be booked to the wrong
/// part is looked at again with the counts that it was to explain, in `ledger`.
pub async fn close_about(db: &impl ConnectionTrait, entry: Uuid, at: i64) -> Result<(), Error> {
    let open = store::questions::open_about(db, entry).await?;
    let mis_booking = QuestionKind::MisBooking.as_str();
    for open in open.into_iter().filter(|open| open.kind != mis_booking) {
        close(db, open.id, format!("entry {entry} was taken back"), at).await?;
    }
    Ok(())
}

/// A page of questions.
pub async fn list(context: &Context, query: &ListQuestions) -> Result<QuestionPage, Error> {
    let db = context.store.read();
    let limit = Page {
        limit: query.limit,
        after: None,
    }
    .limit();
    let states = [OPEN, ANSWERED, CLOSED];
    if let Some(state) = query
        .state
        .as_deref()
        .filter(|state| !states.contains(state))
    {
        let why = format!("\"{state}\" is unknown; give {}", states.join(", "));
        return Err(Error::invalid("?state", why));
    }
    let site = match query.site.as_deref() {
        Some(code) => Some(codes::named_site(db, "?site", code).await?.id),
        None => None,
    };
    let part = match query.part.as_deref() {
        Some(code) => Some(codes::named_part(db, "?part", code).await?.id),
        None => None,
    };
    let before = query
        .after
        .as_deref()
        .map(number)
        .transpose()
        .map_err(|_| Error::invalid("?after", "is not the next of a page; start without it"))?;
    let which = Which {
        state: query.state.clone(),
        site,
        part,
        before,
    };
    let rows = store::questions::list(db, which, limit).await?;
    let next = codes::next(&rows, limit, |row| row.id.to_string());
    Ok(QuestionPage {
        questions: views(db, rows).await?,
        next,
    })
}

/// One question.
pub async fn get(context: &Context, number: &str) -> Result<Question, Error> {
    let db = context.store.read();
    view(db, find(db, number).await?).await
}

/// Answers a question: what the answer changes is written in the same transaction.
pub async fn answer(
    context: &Context,
    (caller, key): (Caller, &str),
    number: &str,
    new: NewAnswer,
) -> Result<Answer, Error> {
    check_idempotency_key(key)?;
    let now = context.clock.now();
    let asked = Asked {
        caller,
        key: key.to_owned(),
        hash: hash(("answer", &(number, &new)))?,
        now: now.timestamp_micros(),
    };
    let number = number.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            if let Some(before) = asked.answer_before(tx).await? {
                return Ok(before);
            }
            let row = find(tx, &number).await?;
            let choice = checked(&row, &new)?;
            let end = End {
                state: ANSWERED,
                answer: Some(choice.as_str().to_owned()),
                outcome: String::new(),
                by: new.by.clone(),
                key: caller.key,
                at: asked.now,
            };
            store::questions::end(tx, row.id, end).await?;
            let id = row.id;
            let told = answers::Told {
                caller,
                now,
                question: row,
                choice,
                answer: new,
            };
            let outcome = told.carry_out(tx).await?;
            store::questions::tell_outcome(tx, id, &outcome).await?;
            let row = find(tx, &id.to_string()).await?;
            asked.answer(tx, 200, &view(tx, row).await?).await
        })
    });
    write.await
}

fn checked(row: &questions::Model, new: &NewAnswer) -> Result<Choice, Error> {
    let choice = new.check(kind(row)?)?;
    if row.state != OPEN {
        let how = row.outcome.as_deref().unwrap_or_default();
        return Err(Error::WrongState(format!(
            "question {} is {} already: {how}",
            row.id, row.state
        )));
    }
    Ok(choice)
}

fn kind(row: &questions::Model) -> Result<QuestionKind, Error> {
    QuestionKind::parse(&row.kind).map_err(|error| Error::Internal(error.to_string()))
}

fn number(text: &str) -> Result<i64, Vec<Violation>> {
    text.parse().map_err(|_| {
        vec![Violation::new(
            "question",
            format!("\"{text}\" is not a number"),
        )]
    })
}

async fn find(db: &impl ConnectionTrait, text: &str) -> Result<questions::Model, Error> {
    let missing = || Error::NotFound {
        kind: "question",
        key: text.to_owned(),
    };
    let number = number(text).map_err(|_| missing())?;
    store::questions::find(db, number)
        .await?
        .ok_or_else(missing)
}

async fn view(db: &impl ConnectionTrait, row: questions::Model) -> Result<Question, Error> {
    let mut views = views(db, vec![row]).await?;
    views
        .pop()
        .ok_or_else(|| Error::Internal("a question lost its view".to_owned()))
}

async fn views(
    db: &impl ConnectionTrait,
    rows: Vec<questions::Model>,
) -> Result<Vec<Question>, Error> {
    let sites = store::sites::get_many(db, rows.iter().map(|row| row.site_id)).await?;
    let parts = store::parts::get_many(db, rows.iter().filter_map(|row| row.part_id)).await?;
    let mut views = Vec::with_capacity(rows.len());
    for row in rows {
        let kind = kind(&row)?;
        let site = sites.iter().find(|site| site.id == row.site_id);
        let part = parts.iter().find(|part| Some(part.id) == row.part_id);
        let possible = kind.answers().iter().map(|answer| PossibleAnswer {
            answer: answer.as_str().to_owned(),
            changes: answer.changes().to_owned(),
        });
        let sent = match kind {
            QuestionKind::LateEntry => serde_json::from_str(&row.details).ok(),
            QuestionKind::DoubleEntry
            | QuestionKind::MisBooking
            | QuestionKind::Variance
            | QuestionKind::NegativeBook
            | QuestionKind::MissingLot
            | QuestionKind::BarredUse => None,
        };
        views.push(Question {
            number: row.id,
            kind: row.kind,
            site: site.map_or_else(String::new, |site| site.code.clone()),
            part: part.map(|part| part.code.clone()),
            entry: row.entry_id,
            other_entry: row.other_entry_id,
            says: row.says,
            answers: if row.state == OPEN {
                possible.collect()
            } else {
                Vec::new()
            },
            state: row.state,
            sent,
            asked_at: instant::from_micros(row.asked_at),
            answer: row.answer,
            outcome: row.outcome,
            answered_by: row.answered_by,
            answered_at: row.answered_at.map(instant::from_micros),
        });
    }
    Ok(views)
}
