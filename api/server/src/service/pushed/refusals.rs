//! Why a row is refused, with what was probably meant.

use std::collections::HashMap;

use domain::nearest::nearest;
use domain::size::{Diameter, ParseDiameterError};
use types::{Recorded, Violation};

use crate::service::keys::Caller;
use crate::service::{Context, Error};
use crate::store;

/// More torches than any shop has.
const TORCHES: u64 = 10_000;

/// What refusals are told from: what there is, and what came before under an id.
#[derive(Debug)]
pub(super) struct Refusals {
    torches: Vec<String>,
    parts: Vec<String>,
    before: HashMap<String, String>,
}

impl Refusals {
    pub(super) async fn load(
        context: &Context,
        caller: Caller,
        reused: &[String],
    ) -> Result<Self, Error> {
        let db = context.store.read();
        let torches = store::torches::list(db, None, TORCHES).await?;
        let parts = store::parts::all(db).await?;
        let mut before = HashMap::new();
        if !reused.is_empty() {
            let asked = reused.iter().map(|key| (caller.id(), key.as_str()));
            for ((_, key), kept) in store::replies::find_many(db, asked).await? {
                let said = serde_json::from_str::<Recorded>(&kept.body);
                before.insert(key, said.map(|it| it.says).unwrap_or_default());
            }
        }
        Ok(Self {
            torches: torches.into_iter().map(|row| row.code).collect(),
            parts: parts.into_iter().map(|row| row.code).collect(),
            before,
        })
    }

    /// Why a row is refused.
    pub(super) fn why<'r>(
        &self,
        error: &Error,
        key: &str,
        cell: impl Fn(&str) -> Option<&'r str>,
    ) -> String {
        if let Error::KeyReused(_) = error {
            let before = self.before.get(key).map_or("", String::as_str);
            return format!(
                "row_id {key} came before with other content, which stands. Then: {before} Now: this row. Give it \
                 another row_id if both are true"
            );
        }
        let Error::Invalid(found) = error else {
            return told(error);
        };
        let told = found.iter().map(|it| {
            match &*it.pointer {
                "/torch" => cell("torch").and_then(|told| self.torch(told)),
                "/part" => cell("part").and_then(|told| self.part(told)),
                _ => None,
            }
            .unwrap_or_else(|| field(it))
        });
        told.collect::<Vec<_>>().join("; ")
    }

    /// Of a torch that is not there: which are nearest.
    fn torch(&self, told: &str) -> Option<String> {
        let codes = || self.torches.iter().map(String::as_str);
        if codes().any(|code| code.eq_ignore_ascii_case(told)) {
            return None;
        }
        let near = nearest(told, codes());
        Some(if near.is_empty() {
            format!("No torch {told}.")
        } else {
            format!("No torch {told}. Nearest: {}.", near.join(", "))
        })
    }

    /// Of a part that is not there: a size that became a date, a size next to it, or a code next to it.
    fn part(&self, told: &str) -> Option<String> {
        let codes = || self.parts.iter().map(String::as_str);
        if codes().any(|code| code.eq_ignore_ascii_case(told)) {
            return None;
        }
        if let Some(why) = turned_into_a_date(told) {
            return Some(why);
        }
        if let Some(why) = self.size(told) {
            return Some(why);
        }
        let near = nearest(told, codes());
        (!near.is_empty()).then(|| format!("No part {told}. Nearest: {}.", near.join(", ")))
    }

    /// Of a code that ends with a diameter, where the same is there in others: the one next to it.
    fn size(&self, told: &str) -> Option<String> {
        let (what, size) = told.rsplit_once('-')?;
        let diameter = Diameter::parse(size).ok()?;
        let others = self.parts.iter().filter_map(|code| {
            let (same, size) = code.rsplit_once('-')?;
            let size = Diameter::parse(size).ok()?;
            same.eq_ignore_ascii_case(what).then_some(size)
        });
        let next = others.min_by_key(|it| (it.um() - diameter.um()).abs())?;
        let figure = |it: Diameter| it.to_string().trim_end_matches(" mm").to_owned();
        Some(format!(
            "No {} mm {what} is set up. {} is not {}.",
            figure(diameter),
            figure(diameter),
            figure(next)
        ))
    }
}

/// Of a size that a spreadsheet turned into a date: which fraction it may have been, never more.
pub(super) fn turned_into_a_date(told: &str) -> Option<String> {
    let Err(ParseDiameterError::Date {
        fraction, certain, ..
    }) = Diameter::parse(told)
    else {
        return None;
    };
    let what = if certain {
        "the fraction"
    } else {
        "a fraction such as"
    };
    Some(format!(
        "This looks like {what} {fraction} turned into a date by the spreadsheet. Write {fraction}in or format the \
         column as text."
    ))
}

/// What an error says, by field.
pub(super) fn told(error: &Error) -> String {
    if let Error::Invalid(found) = error {
        return found.iter().map(field).collect::<Vec<_>>().join("; ");
    }
    if matches!(error, Error::Store(_) | Error::Internal(_)) {
        return "a fault of the service, see its log; send the sheet again".to_owned();
    }
    error.to_string()
}

fn field(told: &Violation) -> String {
    let field = told.pointer.trim_start_matches(['/', '?']);
    if field.is_empty() {
        return told.detail.clone();
    }
    format!("{field}: {}", told.detail)
}
