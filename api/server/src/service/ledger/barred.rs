//! Use of what a site bars. It is recorded like any other, since a fact that is refused is a fact that
//! nobody hears of; and the person responsible is asked, once until it is acknowledged or taken back.

use domain::question::QuestionKind;
use domain::safety::Moment;
use domain::site_rule::Verdict;
use domain::warning::WarningKind;
use sea_orm::ConnectionTrait;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::page::Page;
use super::{cautions, words};
use crate::service::questions::{self, NewQuestion};
use crate::service::warnings::{self, Raised};
use crate::service::{Error, instant, site_rules};
use crate::store;
use crate::store::entity::{entries, parts, sites};

/// Something barred that was used: a part of the drawer, or a stub of the jar.
#[derive(Clone, Debug)]
pub(super) struct Used {
    name: String,
    part: Option<i64>,
    verdict: Verdict,
    cautions: Vec<String>,
}

impl Used {
    /// A part, if the site bars it.
    pub(super) fn part(part: &parts::Model, site: &sites::Model) -> Option<Self> {
        let used = Self {
            name: part.code.clone(),
            part: Some(part.id),
            verdict: site_rules::of_part(site, part),
            cautions: cautions::of_parts(&[Moment::Receiving], &[part]),
        };
        (!used.verdict.is_permitted()).then_some(used)
    }

    /// A stub of a class, if the site bars it.
    pub(super) fn stub(name: &str, class: &str, site: &sites::Model) -> Option<Self> {
        let used = Self {
            name: format!("A stub of {name}"),
            part: None,
            verdict: site_rules::of_class(site, class),
            cautions: Vec::new(),
        };
        (!used.verdict.is_permitted()).then_some(used)
    }
}

/// What is told of barred use: the numbers of the questions, and the sentence for the answer.
#[derive(Clone, Debug, Default)]
pub(super) struct Told {
    pub(super) questions: Vec<i64>,
    pub(super) says: String,
}

/// What a question about barred use remembers.
#[derive(Debug, Serialize, Deserialize)]
struct Barred {
    /// What was used.
    name: String,
    /// Why it was not to be used.
    because: String,
    /// The entries that used it and stand, the first one first.
    entries: Vec<Uuid>,
}

impl Barred {
    fn says(&self, entry: &entries::Model, site: &sites::Model) -> String {
        let by = entry.person.as_deref();
        let by = by.map_or_else(String::new, |by| format!(" by {by}"));
        let at = words::dated(&instant::with_offset(
            entry.happened_at,
            entry.offset_minutes,
        ));
        format!(
            "{} is {}, and was used: {}{by}, {at}. For: {}. Seen?",
            self.name,
            self.because,
            words::entry(entry),
            whom(site)
        )
    }

    /// The warning about it, which is told at once.
    fn raised(&self, entry: &entries::Model, (site, used): (&sites::Model, &Used)) -> Raised {
        let by = entry.person.as_deref();
        let by = by.map_or_else(String::new, |by| format!(" by {by}"));
        let says = format!(
            "{} is {}, and was used: {}{by}. Next: {} says that it was seen.",
            self.name,
            self.because,
            words::entry(entry),
            whom(site)
        );
        Raised {
            kind: WarningKind::BarredUsed,
            subject: self.name.clone(),
            part: used.part,
            says: with_cautions(says, &used.cautions),
        }
    }

    fn json(&self) -> Result<serde_json::Value, Error> {
        serde_json::to_value(self).map_err(|error| Error::Internal(error.to_string()))
    }
}

fn whom(site: &sites::Model) -> &str {
    let whom = site.responsible.as_deref();
    whom.unwrap_or("the person responsible for the site")
}

fn with_cautions(says: String, cautions: &[String]) -> String {
    let told = std::iter::once(says).chain(cautions.iter().cloned());
    told.collect::<Vec<String>>().join(" ")
}

/// The warning about a part that came in though the site bars it; nothing where it may be there.
pub(super) fn received(
    (part, site): (&parts::Model, &sites::Model),
    quantity: i64,
) -> Option<Raised> {
    let because = site_rules::held_because(site, site_rules::of_part(site, part))?;
    let says = format!(
        "{quantity} {} came in, and is on hold: {because}. Next: return it to the supplier, or move it to a \
         site that permits it; {} says that it was seen.",
        part.code,
        whom(site)
    );
    Some(Raised {
        kind: WarningKind::BarredReceived,
        subject: part.code.clone(),
        part: Some(part.id),
        says: with_cautions(says, &cautions::of_parts(&[Moment::Receiving], &[part])),
    })
}

/// Asks the person responsible to take note of what was used. History is taken as it was.
pub(super) async fn tell(
    db: &impl ConnectionTrait,
    (entry, site): (&entries::Model, &sites::Model),
    used: &[Used],
    page: &mut Page,
) -> Result<Told, Error> {
    let mut told = Told::default();
    for used in used.iter().filter(|_| !entry.history) {
        let barred = Barred {
            name: used.name.clone(),
            because: site_rules::held_because(site, used.verdict).unwrap_or_default(),
            entries: vec![entry.id],
        };
        page.raise(entry, barred.raised(entry, (site, used)));
        let question = NewQuestion {
            kind: QuestionKind::BarredUse,
            site: site.id,
            part: used.part,
            // Not tied to the entry: the question stands for later use too, and does not close while
            // one of them stands.
            entry: None,
            other_entry: None,
            subject: format!("barred:{}:{}", site.id, used.name),
            details: barred.json()?,
            says: barred.says(entry, site),
        };
        let number = match again(db, &question.subject, entry.id, page).await? {
            Some(number) => number,
            None => page.ask(db, question).await?,
        };
        told.questions.push(number);
        let says = format!(
            " {} is {}. Told: {} (question {number}).",
            barred.name,
            barred.because,
            whom(site)
        );
        told.says.push_str(&says);
    }
    Ok(told)
}

/// The open question about it, if there is one: from now on it is about this entry too.
async fn again(
    db: &impl ConnectionTrait,
    subject: &str,
    entry: Uuid,
    page: &mut Page,
) -> Result<Option<i64>, Error> {
    if let Some(row) = page.asked(subject) {
        row.details = with(&row.details, entry)?;
        return Ok(Some(row.id));
    }
    let Some(row) = store::questions::about(db, subject).await? else {
        return Ok(None);
    };
    let details = with(&row.details, entry)?;
    store::questions::reword(db, row.id, row.says, details).await?;
    Ok(Some(row.id))
}

fn with(details: &str, entry: Uuid) -> Result<String, Error> {
    let Some(mut barred) = read(details) else {
        return Ok(details.to_owned());
    };
    barred.entries.push(entry);
    Ok(barred.json()?.to_string())
}

/// What a question remembers; one that was asked before entries were kept has nothing to read, and
/// waits for its answer.
fn read(details: &str) -> Option<Barred> {
    serde_json::from_str(details).ok()
}

/// An entry is taken back: what is asked about it is about the others alone, and closes after the
/// last of them.
pub(super) async fn untell(
    db: &impl ConnectionTrait,
    entry: &entries::Model,
    now: i64,
) -> Result<(), Error> {
    let kind = QuestionKind::BarredUse.as_str();
    for open in store::questions::open_at(db, kind, entry.site_id).await? {
        let barred = read(&open.details);
        let Some(mut barred) = barred.filter(|barred| barred.entries.contains(&entry.id)) else {
            continue;
        };
        barred.entries.retain(|other| *other != entry.id);
        let Some(first) = barred.entries.first() else {
            let why = format!("entry {} was taken back", entry.id);
            let about = (entry.site_id, WarningKind::BarredUsed, barred.name.as_str());
            warnings::withdraw(db, about, (&why, instant::from_micros(now))).await?;
            questions::close(db, open.id, why, now).await?;
            continue;
        };
        let first = store::entries::find(db, *first).await?;
        let site = store::sites::get_many(db, [entry.site_id]).await?.pop();
        let says = first
            .zip(site)
            .map_or(open.says, |(first, site)| barred.says(&first, &site));
        store::questions::reword(db, open.id, says, barred.json()?.to_string()).await?;
    }
    Ok(())
}
