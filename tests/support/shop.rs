//! A small shop to test in: one torch with a front end, each part with what was counted of it, and
//! short ways to do what most tests do. All names and figures are invented.

use types::{
    GetStock, ListMovements, NewCount, NewPart, NewSetUp, NewSite, NewUsage, Page, Recorded, Stock,
};

use crate::{TestServer, builders};

impl TestServer {
    /// Sets up a part.
    pub async fn part(&self, part: NewPart) {
        self.owner.create_part(&part).await.expect("a part");
    }

    /// Sets up a part and counts it.
    pub async fn stocked(&self, part: NewPart, counted: i64) {
        let count = NewCount {
            part: part.code.clone(),
            counted,
            ..NewCount::default()
        };
        self.part(part).await;
        let key = format!("first-count-{}", count.part);
        self.owner
            .record_count(&count, &key)
            .await
            .expect("a count");
    }

    /// Sets up a large-body torch with these parts fitted.
    pub async fn torch(&self, code: &str, fitted: &[&str]) {
        let torch = builders::torch(code);
        let torch = self.owner.create_torch(&torch).await.expect("a torch");
        if !fitted.is_empty() {
            self.fit(code, fitted, torch.version).await;
        }
    }

    /// Fits these parts in the torch that has that version.
    pub async fn fit(&self, torch: &str, parts: &[&str], version: i64) {
        let set_up = NewSetUp {
            parts: parts.iter().map(|part| (*part).to_owned()).collect(),
        };
        self.owner
            .replace_set_up(torch, &set_up, version)
            .await
            .expect("a set-up");
    }

    /// Puts the first site into a time zone.
    pub async fn zone(&self, zone: &str) {
        let site = self.owner.get_site("shop").await.expect("the first site");
        let version = site.version;
        let moved = NewSite {
            zone: zone.to_owned(),
            ..site.into_new()
        };
        self.owner
            .replace_site("shop", &moved, version)
            .await
            .expect("the zone is known");
    }

    /// The stock of a part at the first site.
    pub async fn stock(&self, part: &str) -> Stock {
        let query = GetStock::default();
        self.owner.get_stock(part, &query).await.expect("stock")
    }

    /// What is on hand of a part at the first site.
    pub async fn on_hand(&self, part: &str) -> i64 {
        self.stock(part).await.on_hand
    }

    /// Takes one piece of a part.
    pub async fn take(&self, part: &str, key: &str) -> Recorded {
        self.owner
            .record_usage(&taken(part), key)
            .await
            .expect("it is recorded")
    }

    /// How many rows the ledger has.
    pub async fn rows(&self) -> usize {
        let query = ListMovements {
            limit: Some(500),
            ..ListMovements::default()
        };
        let page = self.owner.list_movements(&query).await;
        page.expect("the ledger").movements.len()
    }
}

/// One piece of a part, taken.
pub fn taken(part: &str) -> NewUsage {
    NewUsage {
        what: Some("took".to_owned()),
        part: Some(part.to_owned()),
        ..NewUsage::default()
    }
}

/// A page of so many rows.
pub fn page(limit: u64) -> Page {
    Page {
        limit: Some(limit),
        after: None,
    }
}
