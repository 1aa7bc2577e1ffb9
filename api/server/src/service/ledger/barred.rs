//! Use of what a site bars. It is recorded like any other, since a fact that is refused is a fact that
//! nobody hears of; and the person responsible is asked, once until it is acknowledged.

use domain::question::QuestionKind;
use domain::site_rule::Verdict;
use sea_orm::ConnectionTrait;

use super::page::Page;
use super::words;
use crate::service::questions::NewQuestion;
use crate::service::{Error, instant, site_rules};
use crate::store::entity::{entries, parts, sites};

/// Something barred that was used: a part of the drawer, or a stub of the jar.
#[derive(Clone, Debug)]
pub(super) struct Used {
    name: String,
    part: Option<i64>,
    verdict: Verdict,
}

impl Used {
    /// A part, if the site bars it.
    pub(super) fn part(part: &parts::Model, site: &sites::Model) -> Option<Self> {
        let used = Self {
            name: part.code.clone(),
            part: Some(part.id),
            verdict: site_rules::of_part(site, part),
        };
        (!used.verdict.is_permitted()).then_some(used)
    }

    /// A stub of a class, if the site bars it.
    pub(super) fn stub(name: &str, class: &str, site: &sites::Model) -> Option<Self> {
        let used = Self {
            name: format!("A stub of {name}"),
            part: None,
            verdict: site_rules::of_class(site, class),
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

/// Asks the person responsible to take note of what was used. History is taken as it was.
pub(super) async fn tell(
    db: &impl ConnectionTrait,
    (entry, site): (&entries::Model, &sites::Model),
    used: &[Used],
    page: &mut Page,
) -> Result<Told, Error> {
    let mut told = Told::default();
    let whom = site.responsible.as_deref();
    let whom = whom.unwrap_or("the person responsible for the site");
    for used in used.iter().filter(|_| !entry.history) {
        let because = site_rules::held_because(site, used.verdict).unwrap_or_default();
        let by = entry.person.as_deref();
        let by = by.map_or_else(String::new, |by| format!(" by {by}"));
        let at = words::dated(&instant::with_offset(
            entry.happened_at,
            entry.offset_minutes,
        ));
        let question = NewQuestion {
            kind: QuestionKind::BarredUse,
            site: site.id,
            part: used.part,
            // Not tied to the entry: the question stands for later use too, and must not close when
            // the first entry is taken back.
            entry: None,
            other_entry: None,
            subject: format!("barred:{}:{}", site.id, used.name),
            details: serde_json::json!({ "entry": entry.id }),
            says: format!(
                "{} is {because}, and was used: {}{by}, {at}. For: {whom}. Seen?",
                used.name,
                words::entry(entry)
            ),
        };
        let number = page.ask(db, question).await?;
        told.questions.push(number);
        let says = format!(
            " {} is {because}. Told: {whom} (question {number}).",
            used.name
        );
        told.says.push_str(&says);
    }
    Ok(told)
}
