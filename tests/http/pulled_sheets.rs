//! Sheets that are pulled: the same figures as the API's in every form, read by a library of others; a figure in a
//! cell; and the key in an address.

use calamine::{Data, DataType, Reader, open_workbook_auto_from_rs};
use client::SheetName;
use tigstock_tests::TestServer;
use tigstock_tests::builders::collet;
use tigstock_tests::demo::{furnished, needs};
use tigstock_tests::watched::WATCHED;
use types::{
    CellFigure, GetBuyList, GetCell, GetForecastsAhead, GetNeeds, ListStock, NewOffer, NewOrder,
    NewOrderLine, NewPart, NewSupplier, ProblemKind, Role, SheetForm,
};

/// The rows of a sheet by column, as a reader of its form sees them.
async fn pulled(
    server: &TestServer,
    name: SheetName<'_>,
    form: SheetForm,
) -> Vec<Vec<(String, Data)>> {
    let file = server.owner.sheet_file(name, form, &()).await;
    let bytes = file.expect("a sheet");
    let rows: Vec<Vec<Data>> = if form == SheetForm::Csv {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .from_reader(&*bytes);
        let rows = reader.records().map(|row| row.expect("a row"));
        rows.map(|row| {
            row.iter()
                .map(|cell| Data::String(cell.to_owned()))
                .collect()
        })
        .collect()
    } else {
        let mut book = open_workbook_auto_from_rs(std::io::Cursor::new(bytes)).expect("a workbook");
        let range = book
            .worksheet_range_at(0)
            .expect("a sheet")
            .expect("its range");
        range.rows().map(<[Data]>::to_vec).collect()
    };
    let names: Vec<String> = rows[0].iter().map(ToString::to_string).collect();
    let under = |row: &Vec<Data>| names.iter().cloned().zip(row.iter().cloned()).collect();
    rows[1..].iter().map(under).collect()
}

fn cell<'r>(row: &'r [(String, Data)], column: &str) -> &'r Data {
    let found = row.iter().find(|(name, _)| name == column);
    &found
        .unwrap_or_else(|| panic!("no column {column} in {row:?}"))
        .1
}

fn number(row: &[(String, Data)], column: &str) -> f64 {
    cell(row, column).to_string().parse().expect("a number")
}

fn close(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-12 * other.abs()
}

// Expected use, need and stock are those of scenario S5, worked out outside this project.
#[tokio::test(flavor = "multi_thread")]
async fn what_a_job_needs_is_the_same_in_every_form_and_in_the_api() {
    let server = furnished().await;
    let told = needs(&server).await;
    for form in SheetForm::ALL {
        let rows = pulled(&server, SheetName::JobNeeds("R-118"), form).await;
        assert_eq!(rows.len(), told.lines.len(), "{form:?}");
        for (row, line) in rows.iter().zip(&told.lines) {
            assert_eq!(cell(row, "part").to_string(), line.part, "{form:?}");
            assert!(
                close(number(row, "expected"), line.expected),
                "{form:?}: {row:?}"
            );
            assert!(
                close(number(row, "chance_now"), line.chance_now),
                "{form:?}: {row:?}"
            );
        }
        let need: Vec<f64> = rows.iter().map(|row| number(row, "need")).collect();
        assert_eq!(need, [9.0, 2.0, 4.0, 1.0, 1.0], "{form:?}");
        let available: Vec<f64> = rows.iter().map(|row| number(row, "available")).collect();
        assert_eq!(available, [3.0, 1.0, 5.0, 2.0, 1.0], "{form:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn stock_is_the_same_in_every_form_and_each_row_has_its_instant() {
    let server = furnished().await;
    let told = server.owner.list_stock(&ListStock::default()).await;
    let told = told.expect("stock").stock;
    for form in SheetForm::ALL {
        let rows = pulled(&server, SheetName::Stock, form).await;
        assert_eq!(rows.len(), told.len());
        for (row, stock) in rows.iter().zip(&told) {
            assert_eq!(cell(row, "part").to_string(), stock.part);
            for (column, figure) in [
                ("on_hand", stock.on_hand),
                ("allocated", stock.allocated),
                ("available", stock.available),
                ("on_order", stock.on_order),
                ("position", stock.position),
            ] {
                assert_eq!(
                    cell(row, column).to_string(),
                    figure.to_string(),
                    "{column}"
                );
            }
            assert_eq!(row.last().expect("a column").0, "as_of");
            let is_instant = cell(row, "as_of").as_datetime().is_some();
            assert_eq!(is_instant, form != SheetForm::Csv, "{row:?}");
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_note_that_would_run_as_a_formula_is_text() {
    let server = TestServer::start().await;
    let note = "=HYPERLINK(\"http://127.0.0.1\")";
    let part = NewPart {
        note: Some(note.to_owned()),
        ..collet("collet-2.4")
    };
    server.part(part).await;
    for form in SheetForm::ALL {
        let rows = pulled(&server, SheetName::Parts, form).await;
        let kept = cell(&rows[0], "note").to_string();
        let expected = if form == SheetForm::Csv {
            format!("'{note}")
        } else {
            note.to_owned()
        };
        assert_eq!(kept, expected, "{form:?}");
    }
}

/// A list of more than one page of 500.
#[tokio::test(flavor = "multi_thread")]
async fn a_long_sheet_is_whole_in_every_form() {
    let server = TestServer::start().await;
    for number in 0..501 {
        server.part(collet(&format!("collet-{number:04}"))).await;
    }
    for form in SheetForm::ALL {
        let rows = pulled(&server, SheetName::Parts, form).await;
        let codes: Vec<String> = rows
            .iter()
            .map(|row| cell(row, "part").to_string())
            .collect();
        let expected: Vec<String> = (0..501)
            .map(|number| format!("collet-{number:04}"))
            .collect();
        assert_eq!(codes, expected, "{form:?}");
    }
}

// The shop of the worked example: order point 4, five left, 26 pieces in 220 hours.
#[tokio::test(flavor = "multi_thread")]
async fn the_buy_list_has_what_is_at_its_order_point() {
    let server = TestServer::watched_shop().await;
    let none = server
        .owner
        .get_buy_list(&GetBuyList::default())
        .await
        .expect("a list");
    assert_eq!(none.lines, []);
    server.set_clock("2026-06-17T08:00:00-03:00");
    server.take(WATCHED, "k-1").await;
    let list = server
        .owner
        .get_buy_list(&GetBuyList::default())
        .await
        .expect("a list");
    let [line] = &list.lines[..] else {
        let all = GetBuyList {
            all: true,
            ..GetBuyList::default()
        };
        panic!("{:?}", server.owner.get_buy_list(&all).await)
    };
    assert_eq!(
        (line.available, line.order_point, &*line.state),
        (4, 4, "order")
    );
    let bought = line.purchase.as_ref().expect("a purchase");
    assert_eq!(
        (bought.packs, bought.pack_size, &*bought.supplier),
        (1, 10, "Quayhead")
    );
    let by = bought.order_by.expect("an hour");
    assert_eq!(by.date().to_string(), "2026-06-22");
    for form in SheetForm::ALL {
        let rows = pulled(&server, SheetName::BuyList, form).await;
        assert_eq!(number(&rows[0], "packs").to_string(), "1");
        let (price, cost) = (number(&rows[0], "price"), number(&rows[0], "cost"));
        assert!(close(price * 100.0, real(bought.price_minor)), "{price}");
        assert!(close(cost, price), "{form:?}: {cost}");
    }
}

fn real(minor: i64) -> f64 {
    f64::from(i32::try_from(minor).expect("a small price"))
}

// 3 packs of 12.50 and freight of 9.00: 46.50.
#[tokio::test(flavor = "multi_thread")]
async fn an_order_is_ready_for_its_supplier_with_the_sum_below() {
    let server = TestServer::start().await;
    server.part(collet("collet-2.4")).await;
    let supplier = NewSupplier {
        code: "millrace".to_owned(),
        currency: "CAD".to_owned(),
        lead_time_days: 5,
        freight_minor: 900,
        ..NewSupplier::default()
    };
    server
        .owner
        .create_supplier(&supplier)
        .await
        .expect("a supplier");
    let offer = NewOffer {
        supplier: "millrace".to_owned(),
        part: "collet-2.4".to_owned(),
        pack_size: 5,
        price_minor: 1_250,
        ..NewOffer::default()
    };
    server.owner.create_offer(&offer).await.expect("an offer");
    let order = NewOrder {
        supplier: "millrace".to_owned(),
        lines: vec![NewOrderLine {
            part: "collet-2.4".to_owned(),
            packs: 3,
            pack_size: 5,
        }],
        ..NewOrder::default()
    };
    let order = server
        .owner
        .create_order(&order, "order-1")
        .await
        .expect("an order")
        .number
        .to_string();
    for form in SheetForm::ALL {
        let rows = pulled(&server, SheetName::Order(&order), form).await;
        let costs: Vec<f64> = rows.iter().map(|row| number_or_none(row, "cost")).collect();
        let expected = if form == SheetForm::Csv {
            vec![37.5, 9.0]
        } else {
            vec![37.5, 9.0, 46.5]
        };
        assert_eq!(costs, expected, "{form:?}");
        assert_eq!(number(&rows[0].clone(), "pieces").to_string(), "15");
    }
}

fn number_or_none(row: &[(String, Data)], column: &str) -> f64 {
    cell(row, column).to_string().parse().unwrap_or(f64::NAN)
}

async fn asked(server: &TestServer, figure: CellFigure, of: &GetCell) -> String {
    server.owner.get_cell(figure, of).await.expect("a figure")
}

// Figures of scenario S5 and of the worked example of a low-stock warning.
#[tokio::test(flavor = "multi_thread")]
async fn a_cell_has_one_figure_and_nothing_else() {
    let server = furnished().await;
    let part = |part: &str| GetCell {
        part: Some(part.to_owned()),
        ..GetCell::default()
    };
    let job = GetCell {
        job: Some("R-118".to_owned()),
        ..GetCell::default()
    };
    assert_eq!(
        asked(&server, CellFigure::Available, &part("WLa20-2.4")).await,
        "3"
    );
    assert_eq!(
        asked(&server, CellFigure::OnHand, &part("WLa20-2.4")).await,
        "3"
    );
    assert_eq!(
        asked(&server, CellFigure::OnOrder, &part("WLa20-2.4")).await,
        "0"
    );
    let chance: f64 = asked(&server, CellFigure::Chance, &job)
        .await
        .parse()
        .expect("a number");
    assert_eq!(format!("{chance:.4}"), "0.2705");
    assert_eq!(
        asked(&server, CellFigure::OrderBy, &job).await,
        "2026-06-24 12:00"
    );
    let server = TestServer::watched_shop().await;
    let watched = part(WATCHED);
    assert_eq!(asked(&server, CellFigure::OrderPoint, &watched).await, "4");
    // The worked example tells 3 July to 22 September at 6 hours a week; this shop's record comes to 5.95.
    let query = GetForecastsAhead {
        part: Some(WATCHED.to_owned()),
        ..GetForecastsAhead::default()
    };
    let ahead = server.owner.get_forecasts_ahead(&query).await;
    let told = ahead.expect("a forecast").forecasts[0].run_out.clone();
    let day = |day: Option<chrono::NaiveDate>| day.expect("a day").to_string();
    let range = format!("{} to {}", day(told.early), day(told.late));
    assert_eq!(asked(&server, CellFigure::RunOut, &watched).await, range);
    assert_eq!(day(told.early), "2026-07-03");
    assert_eq!(
        asked(&server, CellFigure::OrderBy, &watched).await,
        "nothing to order"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_cell_says_what_it_cannot_tell() {
    let server = TestServer::start().await;
    server.part(collet("collet-2.4")).await;
    let ask = async |path: &str| server.ask("GET", path).send().await;
    for (path, kind) in [
        ("/v1/cell/available", ProblemKind::Invalid),
        (
            "/v1/cell/available?part=collet-2.4&job=R-1",
            ProblemKind::Invalid,
        ),
        ("/v1/cell/available?job=R-1", ProblemKind::Invalid),
        ("/v1/cell/available?part=none", ProblemKind::NotFound),
        ("/v1/cell/weight?part=collet-2.4", ProblemKind::NotFound),
        (
            "/v1/cell/order-point?part=collet-2.4",
            ProblemKind::WrongState,
        ),
        ("/v1/sheets/stock.pdf", ProblemKind::NotFound),
        (
            "/v1/sheets/stock.csv?colour=red",
            ProblemKind::MalformedRequest,
        ),
    ] {
        ask(path).await.problem(kind);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn only_a_key_that_reads_stands_in_an_address_and_only_to_read() {
    let server = furnished().await;
    let ask = async |method: &str, path: &str, role: Role| {
        let join = if path.contains('?') { '&' } else { '?' };
        let path = format!("{path}{join}key={}", server.key(role));
        server.ask_without_key(method, &path).send().await
    };
    for path in [
        "/v1/sheets/stock.csv",
        "/v1/sheets/jobs/R-118/needs.xlsx",
        "/v1/cell/available?part=WLa20-2.4",
    ] {
        assert_eq!(ask("GET", path, Role::Read).await.status, 200, "{path}");
        assert_eq!(ask("HEAD", path, Role::Read).await.status, 200, "{path}");
        for role in [Role::Log, Role::Keep, Role::Own] {
            ask("GET", path, role)
                .await
                .problem(ProblemKind::Unauthenticated);
        }
    }
    let elsewhere = ask("GET", "/v1/stock", Role::Read).await;
    assert_eq!(elsewhere.status, 401, "a key in another address is none");
    let push = ask("POST", "/v1/sheets/counts", Role::Read).await;
    assert_eq!(
        push.status, 401,
        "nothing is written with a key in an address"
    );
    // A key that was revoked opens nothing.
    let told = server
        .ask_without_key("GET", "/v1/sheets/stock.csv?key=tig_none")
        .send()
        .await;
    told.problem(ProblemKind::Unauthenticated);
    let query = GetNeeds::default();
    let sheet = server
        .client(Role::Read)
        .get_job_needs_sheet("R-118", &query)
        .await;
    assert!(sheet.is_ok(), "a key in the header is as good");
}
