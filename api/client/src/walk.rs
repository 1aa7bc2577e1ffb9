//! Walking a list page by page, the same for every list.

use types::page::Page;
use types::{
    Allocation, AllocationPage, Count, CountPage, Equivalence, EquivalencePage, Job, JobPage, Key,
    KeyPage, Kit, KitPage, ListAllocations, ListCounts, ListLulls, ListMovements, ListQuestions,
    ListStock, ListStubs, ListUsage, ListWarnings, ListWatches, Lull, LullPage, Movement,
    MovementPage, Offer, OfferPage, Order, OrderPage, Part, PartPage, Procedure, ProcedurePage,
    Question, QuestionPage, Revision, RevisionPage, Site, SitePage, Stock, StockPage, StubGroup,
    StubPage, Supplier, SupplierPage, Torch, TorchPage, Usage, UsagePage, Warning, WarningPage,
    Watch, WatchPage,
};

use crate::Error;

/// A page of a list.
pub trait Paged {
    /// What the list holds.
    type Row;

    /// The rows, and what to give as `after` for the next page; `None` on the last.
    fn into_rows(self) -> (Vec<Self::Row>, Option<String>);
}

/// A query that says which page of a list is wanted.
pub trait Cursor: Clone {
    /// The same query, for the page that follows `after`.
    #[must_use]
    fn after(self, after: String) -> Self;
}

/// Every row of a list: asks for page after page, beginning with `query`.
///
/// # Errors
/// The first error of `list`.
pub async fn every<Q: Cursor, P: Paged>(
    mut query: Q,
    list: impl AsyncFn(Q) -> Result<P, Error>,
) -> Result<Vec<P::Row>, Error> {
    let mut every = Vec::new();
    loop {
        let (rows, next) = list(query.clone()).await?.into_rows();
        every.extend(rows);
        let Some(next) = next else { return Ok(every) };
        query = query.after(next);
    }
}

macro_rules! pages {
    ($($Page:ident { $rows:ident: $Row:ident })*) => {
        $(impl Paged for $Page {
            type Row = $Row;

            fn into_rows(self) -> (Vec<$Row>, Option<String>) {
                (self.$rows, self.next)
            }
        })*
    };
}

pages! {
    CountPage { counts: Count }
    AllocationPage { allocations: Allocation }
    EquivalencePage { equivalences: Equivalence }
    JobPage { jobs: Job }
    KeyPage { keys: Key }
    KitPage { kits: Kit }
    LullPage { lulls: Lull }
    MovementPage { movements: Movement }
    OfferPage { offers: Offer }
    OrderPage { orders: Order }
    PartPage { parts: Part }
    ProcedurePage { procedures: Procedure }
    QuestionPage { questions: Question }
    RevisionPage { revisions: Revision }
    SitePage { sites: Site }
    StockPage { stock: Stock }
    StubPage { stubs: StubGroup }
    SupplierPage { suppliers: Supplier }
    TorchPage { torches: Torch }
    UsagePage { usage: Usage }
    WarningPage { warnings: Warning }
    WatchPage { watches: Watch }
}

macro_rules! cursors {
    ($($Query:ident)*) => {
        $(impl Cursor for $Query {
            fn after(self, after: String) -> Self {
                Self { after: Some(after), ..self }
            }
        })*
    };
}

cursors! {
    ListAllocations ListCounts ListLulls ListMovements ListQuestions ListStock ListStubs ListUsage ListWarnings ListWatches Page
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;

    use super::*;

    fn key(name: &str) -> Key {
        serde_json::from_value(serde_json::json!({
            "id": "01890a5d-ac96-774b-bcce-b302099a8057", "name": name, "role": "read",
            "prefix": "tig_", "created_at": "2026-06-15T08:00:00Z",
        }))
        .expect("it is a key")
    }

    #[tokio::test]
    async fn a_list_is_walked_to_its_last_page() {
        let asked = RefCell::new(Vec::new());
        let first = Page {
            limit: Some(2),
            after: None,
        };
        let keys = every(first, async |page: Page| {
            asked.borrow_mut().push((page.limit, page.after.clone()));
            Ok(match page.after.as_deref() {
                None => KeyPage {
                    keys: vec![key("a"), key("b")],
                    next: Some("b".to_owned()),
                },
                Some(_) => KeyPage {
                    keys: vec![key("c")],
                    next: None,
                },
            })
        })
        .await
        .expect("nothing fails");
        assert_eq!(
            keys.iter().map(|key| &*key.name).collect::<Vec<_>>(),
            ["a", "b", "c"]
        );
        assert_eq!(
            asked.into_inner(),
            [(Some(2), None), (Some(2), Some("b".to_owned()))]
        );
    }
}
