//! A shop whose electrodes of 1.6 mm are watched: its record comes to 26 pieces in 220 arc hours at 51
//! minutes a day, as in the worked example of a low-stock warning. Places and suppliers are invented.

use chrono::TimeDelta;
use server::service::codes;
use server::service::warnings::digest::{self, OfWarnings};
use types::{
    ListWarnings, Look, NewLook, NewOffer, NewOrder, NewOrderLine, NewSupplier, NewUsage,
    NewUsageBatch, Warning,
};

use crate::builders::{assuming, electrode};
use crate::{TestServer, instant};

/// The part that is watched.
pub const WATCHED: &str = "WLa20-1.6";
/// Days of work on record.
const DAYS: i64 = 231;
/// Pieces used in them, the last one a month ago.
const USED: i64 = 22;

impl TestServer {
    /// The shop on a Monday at midnight, with five left and none of them on order.
    pub async fn watched_shop() -> Self {
        let server = Self::at("2026-06-15T00:00:00-03:00").await;
        server.zone("America/Halifax").await;
        // With 22 pieces in 231 days of 51 minutes, which are 196.35 hours: 26 in 220 hours.
        let part = assuming(electrode(WATCHED, "1.6 mm"), "arc-hour", 4.0, 23.65);
        server.stocked(part, 5).await;
        server.torch("T2", &[WATCHED]).await;
        let history = NewUsageBatch {
            entries: (1..=DAYS)
                .map(|ago| day(ago, ago % 10 == 5 && ago / 10 < USED))
                .collect(),
            history: true,
            ..NewUsageBatch::default()
        };
        let told = server.owner.record_usage_batch(&history).await;
        assert_eq!(told.expect("a batch").recorded, DAYS.unsigned_abs());
        assert_eq!(server.on_hand(WATCHED).await, 5);
        server.quayhead(WATCHED).await;
        server
    }

    /// Quayhead, which sells the part in packs of ten and takes five open days.
    pub async fn quayhead(&self, part: &str) {
        let supplier = NewSupplier {
            code: "quayhead".to_owned(),
            name: Some("Quayhead".to_owned()),
            currency: "CAD".to_owned(),
            lead_time_days: 5,
            ..NewSupplier::default()
        };
        self.owner
            .create_supplier(&supplier)
            .await
            .expect("a supplier");
        let offer = NewOffer {
            supplier: "quayhead".to_owned(),
            part: part.to_owned(),
            pack_size: 10,
            price_minor: 4_200,
            ..NewOffer::default()
        };
        self.owner.create_offer(&offer).await.expect("an offer");
    }

    /// Works 51 minutes at the torch, and does something with the part, such as `took`.
    pub async fn works(&self, what: Option<&str>) {
        let usage = NewUsage {
            torch: Some("T2".to_owned()),
            arc_minutes: Some(51),
            what: what.map(str::to_owned),
            part: what.map(|_| WATCHED.to_owned()),
            ..NewUsage::default()
        };
        let key = format!("{}", uuid::Uuid::now_v7());
        self.owner
            .record_usage(&usage, &key)
            .await
            .expect("it is recorded");
    }

    /// Orders a pack of ten at Quayhead; the number of the order.
    pub async fn orders_ten(&self, part: &str) -> i64 {
        let order = NewOrder {
            course: None,
            supplier: "quayhead".to_owned(),
            job: None,
            site: None,
            lines: vec![NewOrderLine {
                part: part.to_owned(),
                pack_size: 10,
                packs: 1,
            }],
        };
        let key = format!("{}", uuid::Uuid::now_v7());
        let order = self
            .owner
            .create_order(&order, &key)
            .await
            .expect("a draft");
        self.owner
            .place_order(order.number)
            .await
            .expect("placed")
            .number
    }

    /// Looks at everything.
    pub async fn looks(&self) -> Look {
        self.owner
            .look_at_stock(&NewLook::default())
            .await
            .expect("a look")
    }

    /// What was told, word for word, by every event so far: the kind and the words.
    pub async fn told(&self) -> Vec<(String, String)> {
        let query = ListWarnings {
            state: Some("all".to_owned()),
            ..ListWarnings::default()
        };
        let page = self.owner.list_warnings(&query).await.expect("warnings");
        let mut told = Vec::new();
        for warning in page.warnings {
            let warning = self.owner.get_warning(warning.id).await.expect("a warning");
            told.extend(
                warning
                    .messages
                    .into_iter()
                    .map(|it| (it.at, it.kind, it.says)),
            );
        }
        // What happened at one instant stays in the order in which it happened.
        told.sort_by_key(|(at, ..)| *at);
        told.into_iter()
            .map(|(_, kind, says)| (kind, says))
            .collect()
    }

    /// What a digest of now says of the warnings of the first site.
    pub async fn digest_of_warnings(&self, since: &str) -> OfWarnings {
        let (since, now) = (instant(since), self.clock.now());
        let write = self.context.writer.write(move |tx| {
            Box::pin(async move {
                let site = codes::site(tx, types::DEFAULT_SITE).await?;
                digest::of_warnings(tx, &site, (since, now)).await
            })
        });
        write.await.expect("a digest")
    }

    /// The one warning that stands.
    pub async fn warning(&self) -> Warning {
        let page = self.owner.list_warnings(&ListWarnings::default()).await;
        let mut warnings = page.expect("warnings").warnings;
        assert_eq!(warnings.len(), 1, "{warnings:?}");
        warnings.remove(0)
    }
}

fn day(ago: i64, took: bool) -> NewUsage {
    let noon = instant("2026-06-15T12:00:00-03:00") - TimeDelta::days(ago);
    NewUsage {
        id: Some(format!("day-{ago}")),
        torch: Some("T2".to_owned()),
        arc_minutes: Some(51),
        what: took.then(|| "took".to_owned()),
        part: took.then(|| WATCHED.to_owned()),
        at: Some(noon.fixed_offset()),
        ..NewUsage::default()
    }
}
