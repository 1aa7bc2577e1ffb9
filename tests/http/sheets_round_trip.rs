//! Sheets go round: what one shop exports is pushed into an empty one, whose own export is then the same, in every form.

use std::collections::BTreeMap;

use client::SheetName;
use tigstock_tests::TestServer;
use tigstock_tests::demo::furnished;
use types::page::Page;
use types::{ListStock, NewReceipt, NewReversal, NewUsage, PushSheet, SheetForm, SheetTable};

/// Columns that name rows or tell of the moment: no two shops have the same, or of a row they are new.
const OWN: [&str; 6] = [
    "row_id",
    "offer",
    "received_at",
    "as_of",
    "book",
    "variance",
];
/// Tables by what they need of each other: entries need parts, and counts come last.
const TABLES: [(SheetName<'_>, SheetTable); 5] = [
    (SheetName::Parts, SheetTable::Parts),
    (SheetName::Offers, SheetTable::Offers),
    (SheetName::Receipts, SheetTable::Receipts),
    (SheetName::Usage, SheetTable::Usage),
    (SheetName::Counts, SheetTable::Counts),
];

/// The rows of a sheet, each by its columns, in an order of their own.
async fn exported(server: &TestServer, name: SheetName<'_>) -> Vec<BTreeMap<String, String>> {
    let file = server.owner.sheet_file(name, SheetForm::Csv, &()).await;
    let bytes = file.expect("a sheet");
    let mut reader = csv::Reader::from_reader(&*bytes);
    let columns = reader.headers().expect("a header").clone();
    let mut rows: Vec<BTreeMap<String, String>> = reader
        .records()
        .map(|row| {
            let row = row.expect("a row");
            let cells = columns.iter().zip(row.iter());
            let cells = cells.filter(|(column, _)| !OWN.contains(column));
            cells
                .map(|(column, cell)| (column.to_owned(), cell.to_owned()))
                .collect()
        })
        .collect();
    // What was taken back, and what took it back, does not go along.
    let stands = |row: &BTreeMap<String, String>| {
        let is = |column: &str, text: &str| row.get(column).is_none_or(|it| it == text);
        is("reversed", "no") && is("reverses", "")
    };
    rows.retain(stands);
    rows.sort();
    rows
}

/// An empty shop with the suppliers and torches of another, which no sheet sets up.
async fn empty_beside(server: &TestServer) -> TestServer {
    let empty = TestServer::at("2026-06-15T12:30:00Z").await;
    let sites = server.owner.list_sites(&Page::default()).await;
    let [site] = &sites.expect("sites").sites[..] else {
        panic!("one site");
    };
    empty.zone(&site.zone).await;
    let suppliers = server.owner.list_suppliers(&Page::default()).await;
    for supplier in suppliers.expect("suppliers").suppliers {
        let made = empty.owner.create_supplier(&supplier.into_new()).await;
        made.expect("a supplier");
    }
    let torches = server.owner.list_torches(&Page::default()).await;
    for torch in torches.expect("torches").torches {
        let made = empty.owner.create_torch(&torch.into_new()).await;
        made.expect("a torch");
    }
    empty
}

/// Some of each kind, one of which is taken back.
async fn entries(server: &TestServer) {
    let receipt = NewReceipt {
        part: "collet-2.4".to_owned(),
        quantity: 5,
        lot: Some("L-7".to_owned()),
        by: Some("helper".to_owned()),
        ..NewReceipt::default()
    };
    let made = server.owner.record_receipt(&receipt, "came").await;
    made.expect("a receipt");
    let wrong = server.owner.record_receipt(&receipt, "came-twice").await;
    let wrong = wrong.expect("a receipt").entry;
    let back = NewReversal {
        entry: wrong,
        why: None,
    };
    let back = server.owner.record_reversal(&back, "back").await;
    back.expect("it is taken back");
    for (key, what, part, grinds) in [
        ("took", Some("took"), Some("WLa20-2.4"), None),
        ("broke", Some("broke"), Some("cup"), None),
        ("ground", Some("ground"), None, None),
        ("worked", None, None, Some(3)),
    ] {
        let usage = NewUsage {
            torch: Some("T1".to_owned()),
            what: what.map(str::to_owned),
            part: part.map(str::to_owned),
            grinds,
            arc_minutes: grinds.map(|_| 75),
            amps: grinds.map(|_| 90),
            note: Some("after lunch, \"quickly\"".to_owned()),
            ..NewUsage::default()
        };
        let made = server.owner.record_usage(&usage, key).await;
        made.expect("an entry");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_one_shop_exports_another_has_after_it_is_pushed() {
    let server = furnished().await;
    entries(&server).await;
    for form in SheetForm::ALL {
        let empty = empty_beside(&server).await;
        for (name, table) in TABLES {
            let file = server.owner.sheet_file(name, form, &()).await;
            let how = PushSheet {
                history: true,
                ..PushSheet::default()
            };
            let file = (file.expect("a sheet"), form.media_type());
            let told = empty.owner.push_sheet(table, file, &how).await;
            let told = told.expect("it is judged");
            let wrong = told.rows.iter().find(|row| row.result == "refused");
            assert_eq!(wrong, None, "{}", told.says);
            assert!(!told.says.contains("Not looked at"), "{}", told.says);
        }
        for (name, table) in TABLES {
            let (here, there) = (exported(&server, name).await, exported(&empty, name).await);
            assert_eq!(here, there, "{table:?} as {form:?}");
        }
        let stock = async |server: &TestServer| {
            let page = server.owner.list_stock(&ListStock::default()).await;
            let rows = page.expect("stock").stock.into_iter();
            rows.map(|row| (row.part, row.on_hand)).collect::<Vec<_>>()
        };
        assert_eq!(stock(&server).await, stock(&empty).await, "{form:?}");
    }
}
