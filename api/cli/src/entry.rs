//! An entry of the ledger that can be kept until the server is reachable, how it is sent, and the
//! options that every entry takes.

use chrono::{DateTime, FixedOffset};
use clap::Args;
use client::{Client, Error};
use serde::{Deserialize, Serialize};
use types::{
    Counted, KeptAside, NewArrival, NewCount, NewMovement, NewReceipt, NewStub, NewTransfer,
    NewUsage, Order, Recorded, StubMove, Violation,
};

use crate::failure::Failure;
use crate::instant::parse_at;
use crate::output::Output;
use crate::sheet::{Cell, Sheet};
use crate::shop::Shop;

/// Where, when and by whom something was done.
#[derive(Debug, Args)]
#[command(next_help_heading = "Where, when and by whom")]
pub(crate) struct EntryOptions {
    /// The job it was for
    #[arg(long, value_name = "JOB")]
    pub job: Option<String>,
    /// Operator group: own, helper, beginner or visitor; own unless told
    #[arg(long, value_name = "GROUP")]
    pub group: Option<String>,
    /// Who did it, as the shop calls them
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// When: a time of day such as 14:02, or an instant with its offset; now unless told
    #[arg(long, value_name = "TIME")]
    pub at: Option<String>,
    /// The lot
    #[arg(long, value_name = "LOT")]
    pub lot: Option<String>,
    /// A note
    #[arg(long, value_name = "TEXT")]
    pub note: Option<String>,
}

impl EntryOptions {
    /// Refuses the options that an entry of this kind has no place for.
    pub(crate) fn refuse(&self, options: &[&str], why: &str) -> Result<(), Failure> {
        let given = [
            ("--lot", &self.lot),
            ("--job", &self.job),
            ("--group", &self.group),
            ("--note", &self.note),
        ];
        let refused = given
            .into_iter()
            .find(|(option, value)| options.contains(option) && value.is_some());
        match refused {
            Some((option, _)) => Err(Failure::CommandLine(format!("{option} {why}"))),
            None => Ok(()),
        }
    }

    /// When it happened. It is always given, so that an entry that is sent later is still right.
    pub(crate) fn at(&self, shop: &Shop<'_, '_>) -> Result<DateTime<FixedOffset>, Failure> {
        let text = self.at.as_deref();
        text.map_or(Ok(shop.env.now), |text| {
            parse_at(text, shop.env.now, shop.env.zone)
        })
        .map_err(Failure::CommandLine)
    }

    /// An entry of use with nothing but the circumstances.
    pub(crate) fn usage(self, shop: &Shop<'_, '_>) -> Result<NewUsage, Failure> {
        Ok(NewUsage {
            at: Some(self.at(shop)?),
            site: shop.site.clone(),
            group: self.group,
            job: self.job,
            lot: self.lot,
            by: self.by,
            note: self.note,
            ..NewUsage::default()
        })
    }
}

/// An entry of the ledger.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "body", rename_all = "kebab-case")]
pub(crate) enum Entry {
    Usage(Box<NewUsage>),
    Receipt(NewReceipt),
    Count(NewCount),
    Movement(NewMovement),
    Transfer(NewTransfer),
    Stubs(NewStub),
    Arrival { order: i64, arrival: NewArrival },
}

/// The service's answer to an entry.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Answer {
    Recorded(Recorded),
    Counted(Counted),
    Arrived(Order),
    /// Its date is out of bounds; a person is asked.
    KeptAside(KeptAside),
}

/// Whoever takes an entry to the service.
pub(crate) trait Sender {
    /// Sends an entry under its idempotency key.
    async fn send(&self, entry: &Entry, key: &str) -> Result<Answer, Error>;
}

impl Sender for Client {
    async fn send(&self, entry: &Entry, key: &str) -> Result<Answer, Error> {
        let answer = match entry {
            Entry::Usage(usage) => self.record_usage(usage, key).await.map(Answer::Recorded),
            Entry::Receipt(receipt) => self
                .record_receipt(receipt, key)
                .await
                .map(Answer::Recorded),
            Entry::Count(count) => self.record_count(count, key).await.map(Answer::Counted),
            Entry::Movement(movement) => self
                .record_movement(movement, key)
                .await
                .map(Answer::Recorded),
            Entry::Transfer(transfer) => self
                .record_transfer(transfer, key)
                .await
                .map(Answer::Recorded),
            Entry::Stubs(stubs) => self.record_stubs(stubs, key).await.map(Answer::Recorded),
            Entry::Arrival { order, arrival } => self
                .receive_order(*order, arrival, key)
                .await
                .map(Answer::Arrived),
        };
        match answer {
            Err(Error::KeptAside(aside)) => Ok(Answer::KeptAside(*aside)),
            other => other,
        }
    }
}

impl Entry {
    /// What is wrong with it that needs no server to be seen.
    pub(crate) fn check(&self) -> Result<(), Vec<Violation>> {
        match self {
            Self::Usage(usage) => usage.check().map(drop),
            Self::Receipt(receipt) => receipt.check(),
            Self::Count(count) => count.check(),
            Self::Movement(movement) => movement.check().map(drop),
            Self::Transfer(transfer) => transfer.check(),
            Self::Stubs(stubs) => stubs.check().map(drop),
            Self::Arrival { arrival, .. } => arrival.check(),
        }
    }

    /// The entry in a few words, so that a person knows which one is meant.
    pub(crate) fn describe(&self) -> String {
        match self {
            Self::Usage(usage) => describe_usage(usage),
            Self::Receipt(it) => format!("received {} x {}", it.quantity, it.part),
            Self::Count(it) => format!("counted {} x {}", it.counted, it.part),
            Self::Movement(it) => format!("{} {} x {}", it.kind, it.quantity, it.part),
            Self::Transfer(it) => format!(
                "moved {} x {} from {} to {}",
                it.quantity, it.part, it.from, it.to
            ),
            Self::Stubs(it) => {
                let what = it.what.as_deref().unwrap_or(StubMove::Add.as_str());
                let quantity = it.quantity.unwrap_or(1);
                format!("{what} {quantity} x stub {} {}", it.class, it.diameter)
            }
            Self::Arrival { order, .. } => format!("received order {order}"),
        }
    }
}

fn describe_usage(usage: &NewUsage) -> String {
    let mut done = Vec::new();
    if let Some(what) = &usage.what {
        let part = usage.part.as_deref().unwrap_or("electrode");
        done.push(format!("{what} {} x {part}", usage.qty.unwrap_or(1)));
    }
    for (amount, unit) in [
        (usage.arc_minutes, "min of arc time"),
        (usage.grinds, "grinds"),
        (usage.cut_backs, "cut-backs"),
        (usage.starts, "starts"),
        (usage.arc_timer_minutes, "min on the arc timer"),
        (
            usage.cylinder.as_ref().map(|swap| swap.litres),
            "L in the cylinder that was swapped",
        ),
    ] {
        done.extend(amount.map(|amount| format!("{amount} {unit}")));
    }
    match &usage.torch {
        Some(torch) => format!("{torch}: {}", done.join(", ")),
        None => done.join(", "),
    }
}

impl Answer {
    /// Prints the answer: its sentence, then its cautions.
    pub(crate) fn show(&self, output: &mut Output<'_>) {
        match self {
            Self::Recorded(recorded) => show_recorded(recorded, output),
            Self::Counted(counted) => show_counted(counted, output),
            Self::KeptAside(aside) => {
                let mut sheet = Sheet::new([("question", "")]);
                sheet.push([Cell::Whole(aside.question)]);
                output.show_said(aside, &aside.says, &sheet);
            }
            Self::Arrived(order) => {
                let state = || {
                    let (number, supplier) = (order.number, &order.supplier);
                    format!("Order {number}, {supplier}: {}.", order.state)
                };
                let says = order.says.clone().unwrap_or_else(state);
                output.show_said(
                    order,
                    &says,
                    &crate::order::sheet(std::slice::from_ref(order)),
                );
                for difference in &order.differences {
                    output.beside_csv(&difference.says);
                }
            }
        }
    }
}

/// Prints the answer to an entry that was recorded.
pub(crate) fn show_recorded(recorded: &Recorded, output: &mut Output<'_>) {
    let columns = [
        ("entry", ""),
        ("part", ""),
        ("on_hand", ""),
        ("available", ""),
        ("site", ""),
    ];
    let mut sheet = Sheet::new(columns);
    let entry = recorded.entry.to_string();
    for stock in &recorded.stock {
        let figures = [Cell::Whole(stock.on_hand), Cell::Whole(stock.available)];
        let [on_hand, available] = figures;
        sheet.push([
            Cell::from(&entry),
            Cell::from(&stock.part),
            on_hand,
            available,
            stock.site.as_ref().map_or(Cell::Nothing, Cell::from),
        ]);
    }
    if recorded.stock.is_empty() {
        sheet.push([
            Cell::from(&entry),
            Cell::Nothing,
            Cell::Nothing,
            Cell::Nothing,
            Cell::Nothing,
        ]);
    }
    output.show_said(recorded, &recorded.says, &sheet);
    for difference in &recorded.differences {
        output.beside_csv(&difference.says);
    }
    for caution in &recorded.cautions {
        output.caution(caution);
    }
}

fn show_counted(counted: &Counted, output: &mut Output<'_>) {
    let mut sheet = Sheet::new([
        ("entry", ""),
        ("part", ""),
        ("site", ""),
        ("counted", ""),
        ("book", ""),
        ("variance", ""),
        ("on_hand", ""),
    ]);
    sheet.push([
        Cell::Text(counted.entry.to_string()),
        Cell::from(&counted.part),
        Cell::from(&counted.site),
        Cell::Whole(counted.counted),
        Cell::Whole(counted.book),
        Cell::Whole(counted.variance),
        Cell::Whole(counted.on_hand),
    ]);
    output.show_said(counted, &counted.says, &sheet);
}
