//! Sheets of long lists, which are read a page at a time: as CSV they are sent while they are read, however long they
//! are; a workbook is made in memory, so it has a limit.

use std::future::Future;

use actix_web::web::Bytes;
use chrono::{DateTime, Utc};
use futures_util::stream;
use types::{PAGE_MAX, SheetForm, Violation};

use super::{Answered, Cell, Sheet, heading};
use crate::http::error::Answer;
use crate::service;
use crate::sheets::WORKBOOK_ROWS_MAX;

/// How many rows are read at a time.
pub(super) const PAGE: Option<u64> = Some(PAGE_MAX);

/// Some rows, and what to ask for the next ones.
pub(super) type Rows<const N: usize> = Result<(Vec<[Cell; N]>, Option<String>), service::Error>;

/// A sheet whose rows come in pages.
#[derive(Clone, Copy, Debug)]
pub(super) struct Listed<const N: usize> {
    pub(super) title: &'static str,
    pub(super) columns: [&'static str; N],
    pub(super) as_of: DateTime<Utc>,
}

impl<const N: usize> Listed<N> {
    /// The sheet in a form; `page` reads the rows after those that were read.
    pub(super) async fn answer<R, F>(self, form: SheetForm, page: R) -> Answer
    where
        R: Fn(Option<String>) -> F + 'static,
        F: Future<Output = Rows<N>> + 'static,
    {
        let (rows, next) = page(None).await?;
        if form == SheetForm::Csv {
            return self.stream((rows, next), page);
        }
        self.workbook((rows, next), form, page).await
    }

    fn sheet(&self, rows: Vec<[Cell; N]>) -> Sheet<N> {
        let mut sheet = Sheet::new(self.title, self.columns, self.as_of);
        for row in rows {
            sheet.push(row);
        }
        sheet
    }

    fn stream<R, F>(self, (rows, next): (Vec<[Cell; N]>, Option<String>), page: R) -> Answer
    where
        R: Fn(Option<String>) -> F + 'static,
        F: Future<Output = Rows<N>> + 'static,
    {
        let written = self.sheet(rows).write(SheetForm::Csv);
        let first = written.map_err(|why| service::Error::Internal(why.to_string()))?;
        let mut answer = heading(SheetForm::Csv, "");
        let Some(next) = next else {
            return Ok(answer.body(first));
        };
        let later = stream::try_unfold((Some(next), page), move |(next, page)| async move {
            let Some(after) = next else {
                return Ok::<_, service::Error>(None);
            };
            let (rows, next) = page(Some(after)).await?;
            let text = Bytes::from(self.sheet(rows).csv_rows());
            Ok(Some((text, (next, page))))
        });
        let first = stream::once(std::future::ready(Ok(Bytes::from(first))));
        Ok(answer.streaming(futures_util::StreamExt::chain(first, later)))
    }

    async fn workbook<R, F>(
        self,
        (mut rows, mut next): (Vec<[Cell; N]>, Option<String>),
        form: SheetForm,
        page: R,
    ) -> Answer
    where
        R: Fn(Option<String>) -> F,
        F: Future<Output = Rows<N>>,
    {
        while let Some(after) = next {
            let (more, then) = page(Some(after)).await?;
            rows.extend(more);
            next = then;
            if rows.len() > WORKBOOK_ROWS_MAX {
                return Err(too_long(self.title).into());
            }
        }
        self.sheet(rows).answer(form)
    }
}

fn too_long(title: &str) -> service::Error {
    let why = format!(
        "over {WORKBOOK_ROWS_MAX} rows do not go into a workbook; take {title}.csv, which has no limit, or ask for \
         one part or torch"
    );
    service::Error::Invalid(vec![Violation::new("?", why)])
}
