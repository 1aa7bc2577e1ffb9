//! A book below zero is impossible: a receipt or a count is missing. Issues are still accepted; a
//! person is asked, and the question answers itself when the book comes back.

use domain::question::QuestionKind;
use sea_orm::ConnectionTrait;

use super::books::{Key, Turned};
use super::page::Page;
use crate::service::Error;
use crate::service::questions::{self, NewQuestion};
use crate::store;

/// Asks where the book went below zero, and closes what was asked where it came back.
pub(super) async fn review(
    db: &impl ConnectionTrait,
    turned: &Turned,
    page: &mut Page,
) -> Result<(), Error> {
    let parts = turned.below.iter().map(|(part, _)| *part);
    let parts = store::parts::get_many(db, parts).await?;
    for key in &turned.below {
        let Some(part) = parts.iter().find(|part| part.id == key.0) else {
            continue;
        };
        let says = format!(
            "{} is below zero by the book, which is impossible. A receipt or a count is missing. How many are there?",
            part.code
        );
        let question = NewQuestion {
            kind: QuestionKind::NegativeBook,
            site: key.1,
            part: Some(key.0),
            entry: None,
            other_entry: None,
            subject: subject(*key),
            details: serde_json::Value::Null,
            says,
        };
        page.ask(db, question).await?;
    }
    for key in &turned.back {
        if let Some(open) = store::questions::about(db, &subject(*key)).await? {
            let why = "the book is not below zero any more".to_owned();
            questions::close(db, open.id, why, page.now()).await?;
        }
    }
    Ok(())
}

fn subject((part, site): Key) -> String {
    format!("negative:{part}:{site}")
}
