//! What is to come: jobs, courses, stock, forecasts, orders, and how work ended.

use client::Client;
use types::page::Page;
use types::{
    ArrivedLine, CellFigure, DraftOrders, GetBuyList, GetCalendar, GetCell, GetChanges,
    GetForecasts, GetForecastsAhead, GetNeeds, GetRunOuts, GetStock, GetTemplate, GetTrackRecord,
    GetWarningFeed, ListStock, NewArrival, NewClosing, NewCourse, NewJob, NewOrder, NewOrderLine,
    PushDrawerList, PushSheet, SheetForm, SheetTable, SheetTemplate, WorkbookForm,
};

use super::{COLLET, Done, ELECTRODE};

pub(super) async fn jobs(client: &Client) -> Done {
    let mut new = NewJob {
        code: "R-118".to_owned(),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(600),
        start: "2026-06-26".parse().expect("a day"),
        left_out: vec![COLLET.to_owned()],
        ..NewJob::default()
    };
    let made = client.create_job(&new).await?;
    new.arc_minutes = Some(34 * 60);
    client.replace_job("R-118", &new, made.version).await?;
    let code = "typo".to_owned();
    let wrong = client.create_job(&NewJob { code, ..new }).await?;
    client.delete_job("typo", wrong.version).await?;
    let under = NewJob {
        code: "R-131".to_owned(),
        torch: Some("T1".to_owned()),
        arc_minutes: Some(6_000),
        start: "2026-06-26".parse().expect("a day"),
        procedure: Some("PROC-07".to_owned()),
        ..NewJob::default()
    };
    client.create_job(&under).await?;
    client.get_job("R-118").await?;
    client.list_jobs(&Page::default()).await?;
    Ok(())
}

pub(super) async fn courses(client: &Client) -> Done {
    let mut new = NewCourse {
        code: "course-0912".to_owned(),
        site: Some("school".to_owned()),
        kit: "K-whole".to_owned(),
        starts: "2026-09-12".parse().expect("a day"),
        heads: 12,
        stations: 6,
        exercises: vec!["beads on steel".to_owned()],
        ..NewCourse::default()
    };
    let made = client.create_course(&new).await?;
    new.days = Some(2);
    client
        .replace_course("course-0912", &new, made.version)
        .await?;
    let code = "typo".to_owned();
    let wrong = client.create_course(&NewCourse { code, ..new }).await?;
    client.delete_course("typo", wrong.version).await?;
    client.get_course("course-0912").await?;
    client.list_courses(&Page::default()).await?;
    let query = GetNeeds::default();
    client.get_course_needs("course-0912", &query).await?;
    client.get_course_stations("course-0912").await?;
    client.get_course_station_cards("course-0912").await?;
    pushed_sheets(client).await?;
    client.get_course_needs_sheet("course-0912", &query).await?;
    client.get_job_needs_sheet("R-118", &query).await?;
    sheets(client).await?;
    client.get_calendar(&GetCalendar::default()).await?;
    client.get_warning_feed(&GetWarningFeed::default()).await?;
    client.get_changes(&GetChanges::default()).await?;
    client
        .list_run_outs(ELECTRODE, &GetRunOuts::default())
        .await?;
    Ok(())
}

/// Every sheet in every form, and a figure for a cell.
async fn sheets(client: &Client) -> Done {
    use client::SheetName as S;
    let names = [
        S::Stock,
        S::BuyList,
        S::Movements,
        S::Usage,
        S::Counts,
        S::Receipts,
        S::Parts,
        S::Kits,
        S::Offers,
        S::Warnings,
        S::JobNeeds("R-118"),
        S::CourseNeeds("course-0912"),
    ];
    for form in SheetForm::ALL {
        for name in names {
            client.sheet_file(name, form, &()).await?;
        }
        client.sheet_file(S::Wear, form, &[("arc", "34h")]).await?;
    }
    client.get_buy_list(&GetBuyList::default()).await?;
    let cell = GetCell {
        part: Some(ELECTRODE.to_owned()),
        ..GetCell::default()
    };
    client.get_cell(CellFigure::Available, &cell).await?;
    Ok(())
}

pub(super) async fn stock(client: &Client) -> Done {
    client.list_stock(&ListStock::default()).await?;
    client.get_stock(ELECTRODE, &GetStock::default()).await?;
    client
        .explain_stock(ELECTRODE, &GetStock::default())
        .await?;
    let text = |text: &str| Some(text.to_owned());
    let query = GetForecasts {
        part: text(&format!("{ELECTRODE},{COLLET}")),
        arc: text("34h"),
        pace: text("6h"),
        cover_days: Some(14),
        amps: Some(150),
        polarity: text("DCEN"),
        explain: text("1"),
        ..GetForecasts::default()
    };
    client.get_forecasts(&query).await?;
    for week in [None, text("6h")] {
        let query = GetForecastsAhead {
            week,
            explain: text("1"),
            ..GetForecastsAhead::default()
        };
        client.get_forecasts_ahead(&query).await?;
    }
    track_record(client).await
}

/// Months from now, so that there is a record of what little was used, and now, when there is none.
pub(super) async fn track_record(client: &Client) -> Done {
    for now in [None, Some("2027-06-15T08:00:00-03:00".to_owned())] {
        let query = GetTrackRecord {
            part: Some(ELECTRODE.to_owned()),
            explain: Some("1".to_owned()),
            now,
            ..GetTrackRecord::default()
        };
        client.get_track_record(&query).await?;
        client.get_track_record_chart(&query).await?;
        client.get_track_record_sheet(&query).await?;
    }
    Ok(())
}

/// What is done is closed, looked at, and opened again.
pub(super) async fn closings(client: &Client) -> Done {
    let closing = NewClosing {
        arc_minutes: Some(2_280),
        ..NewClosing::default()
    };
    client.close_job("R-118", &closing, "close-job").await?;
    client.get_job_closing("R-118").await?;
    client.reopen_job("R-118").await?;
    let closing = NewClosing::default();
    client
        .close_course("course-0912", &closing, "close-course")
        .await?;
    client.get_course_closing("course-0912").await?;
    client.reopen_course("course-0912").await?;
    Ok(())
}

pub(super) async fn orders(client: &Client) -> Done {
    let query = GetNeeds::default();
    client.get_job_needs("R-118", &query).await?;
    let plan = DraftOrders::default();
    let drafted = client.draft_job_orders("R-118", &plan, "draft").await?;
    let first = drafted.orders.first().expect("electrodes are short");
    client.place_order(first.number).await?;
    let plan = DraftOrders::default();
    client
        .draft_course_orders("course-0912", &plan, "draft-course")
        .await?;
    let arrival = NewArrival {
        lines: vec![ArrivedLine {
            part: ELECTRODE.to_owned(),
            quantity: 4,
        }],
        ..NewArrival::default()
    };
    client
        .receive_order(first.number, &arrival, "arrival")
        .await?;
    let new = NewOrder {
        supplier: "quayhead".to_owned(),
        lines: vec![NewOrderLine {
            part: ELECTRODE.to_owned(),
            pack_size: 10,
            packs: 2,
        }],
        ..NewOrder::default()
    };
    let second = client.create_order(&new, "order").await?;
    client.cancel_order(second.number).await?;
    client.get_order(first.number).await?;
    for form in SheetForm::ALL {
        let number = first.number.to_string();
        client
            .sheet_file(client::SheetName::Order(&number), form, &())
            .await?;
    }
    client.list_orders(&Page::default()).await?;
    Ok(())
}

pub(super) fn instant_day(day: &str) -> chrono::NaiveDate {
    day.parse().expect("a day")
}

/// Sheets that are pushed, of which nothing stays.
async fn pushed_sheets(client: &Client) -> Done {
    let how = PushSheet {
        only_try: true,
        at: Some("2026-06-15 08:00".to_owned()),
        ..PushSheet::default()
    };
    for (table, sheet) in [
        (
            SheetTable::Counts,
            "drawer,part,counted,counted_at,by\n,collet-9,1,,\n",
        ),
        (
            SheetTable::Usage,
            "row_id,when,torch,part,qty,arc,grinds,job,what\n,,T1,,,75m,,,\n",
        ),
        (SheetTable::Receipts, "when,part,qty\n,collet-9,1\n"),
        (
            SheetTable::Courses,
            "date,heads,stations,kit\n2027-10-03,10,5,K-404\n",
        ),
        (SheetTable::Parts, "part,kind\ncollet-9,collet\n"),
        (
            SheetTable::Offers,
            "supplier,part,pack_size,price\nnobody,collet-9,1,2.00\n",
        ),
    ] {
        let file = (sheet.as_bytes().to_vec(), "text/csv");
        client.push_sheet(table, file.clone(), &how).await?;
        client
            .push_sheet_for_file(table, file.clone(), &how)
            .await?;
        client.push_sheet_by_its_columns(file, &how).await?;
    }
    let list = (b"drawer,what,qty\n2,collet 2.4,3\n".to_vec(), "text/csv");
    let how = PushDrawerList {
        only_try: true,
        ..PushDrawerList::default()
    };
    let template = SheetTemplate::BigJob;
    let query = GetTemplate::default();
    client
        .get_template(template, WorkbookForm::Ods, &query)
        .await?;
    client.push_drawer_list(list.clone(), &how).await?;
    client.push_drawer_list_for_file(list, &how).await?;
    Ok(())
}
