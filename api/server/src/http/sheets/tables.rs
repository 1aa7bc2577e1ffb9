//! Tables that are pushed as a file: counts, use and receipts. What becomes of a row is judged by `service::pushed`.

use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, post, web};
use types::{JudgedRow, Problem, ProblemKind, PushTable, PushedSheet, SheetFile, SheetText};
use utoipa_actix_web::service_config::ServiceConfig;

use crate::app::App;
use crate::http::auth::{Authorized, Keep, Log};
use crate::http::error::{Answer, Error};
use crate::http::problems::{Body, Common};
use crate::service::keys::Caller;
use crate::service::pushed::{self, COME_BACK, Kind, Pushing};
use crate::sheets::csv::harmless;
use crate::sheets::reading::{self, TEXT_MAX, Table, Told, Unread};

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(push_counts_sheet)
        .service(push_usage_sheet)
        .service(push_receipts_sheet);
}

/// Record the counts of a sheet, a row a count. Columns: `drawer`, `part`, `counted`, `counted_at` and `by` must be
/// there, a cell may be empty; `row_id` and `site` may be; others are not looked at. Each row is judged alone, and the
/// same sheet comes back under a line that adds it up, with `result` and `what to do`; or JSON with `Accept:
/// application/json`. A sheet that comes again changes nothing.
#[utoipa::path(tag = "sheets", security(("key" = ["log"])), params(PushTable), request_body(content = SheetFile, content_type = "application/octet-stream"), responses(
    (status = 200, description = "The sheet, with what became of each row", content((SheetText = "text/csv; charset=utf-8"), (PushedSheet = "application/json"))),
    (status = 422, description = "The sheet cannot be taken as a whole", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
))]
#[post("/sheets/counts")]
async fn push_counts_sheet(
    by: Authorized<Log>,
    app: web::Data<App>,
    how: web::Query<PushTable>,
    request: HttpRequest,
    body: web::Payload,
) -> Answer {
    push(
        &app,
        (by.caller, Kind::Counts),
        how.into_inner(),
        (request, body),
    )
    .await
}

/// Record the use that a sheet tells of, a row an entry. Columns: `row_id`, `when`, `torch`, `part`, `qty`, `arc` (with
/// its unit: 75m, 1h20), `grinds`, `job` and `what` must be there, a cell may be empty; `site`, `by`, `group`, `lot`,
/// `cut_backs`, `starts`, `amps`, `polarity` and `note` may be; others are not looked at. The answer is as that to counts.
#[utoipa::path(tag = "sheets", security(("key" = ["log"])), params(PushTable), request_body(content = SheetFile, content_type = "application/octet-stream"), responses(
    (status = 200, description = "The sheet, with what became of each row", content((SheetText = "text/csv; charset=utf-8"), (PushedSheet = "application/json"))),
    (status = 422, description = "The sheet cannot be taken as a whole", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
))]
#[post("/sheets/usage")]
async fn push_usage_sheet(
    by: Authorized<Log>,
    app: web::Data<App>,
    how: web::Query<PushTable>,
    request: HttpRequest,
    body: web::Payload,
) -> Answer {
    push(
        &app,
        (by.caller, Kind::Usage),
        how.into_inner(),
        (request, body),
    )
    .await
}

/// Record the goods that came in, a row a receipt. Columns: `when`, `part` and `qty` must be there; `row_id`, `site`,
/// `order`, `lot`, `by` and `note` may be; others are not looked at. The answer is as that to counts.
#[utoipa::path(tag = "sheets", security(("key" = ["keep"])), params(PushTable), request_body(content = SheetFile, content_type = "application/octet-stream"), responses(
    (status = 200, description = "The sheet, with what became of each row", content((SheetText = "text/csv; charset=utf-8"), (PushedSheet = "application/json"))),
    (status = 422, description = "The sheet cannot be taken as a whole", body = Problem, content_type = "application/problem+json"),
    Body,
    Common,
))]
#[post("/sheets/receipts")]
async fn push_receipts_sheet(
    by: Authorized<Keep>,
    app: web::Data<App>,
    how: web::Query<PushTable>,
    request: HttpRequest,
    body: web::Payload,
) -> Answer {
    push(
        &app,
        (by.caller, Kind::Receipts),
        how.into_inner(),
        (request, body),
    )
    .await
}

async fn push(
    app: &App,
    (caller, kind): (Caller, Kind),
    how: PushTable,
    (request, body): (HttpRequest, web::Payload),
) -> Answer {
    let bytes = bytes(body).await?;
    let media_type = told(&request, header::CONTENT_TYPE).to_owned();
    let (name, wanted) = (how.name.clone(), how);
    let read = web::block(move || {
        let told = Told {
            media_type: &media_type,
            name: name.as_deref(),
        };
        reading::read(&bytes, told, kind.must())
    });
    let table = read
        .await
        .map_err(|_| unread(Unread::Invalid("the sheet cannot be read".to_owned())))?;
    let table = table.map_err(unread)?;
    let how = pushing(&wanted)?;
    let pushed = pushed::push(&app.context, (caller, kind), &table, &how).await?;
    let told_as = told(&request, header::ACCEPT);
    let sheet = sheet(table, pushed, how.only_try);
    if told_as.contains("application/json") {
        return Ok(HttpResponse::Ok().json(sheet));
    }
    Ok(HttpResponse::Ok()
        .insert_header((header::CONTENT_TYPE, "text/csv; charset=utf-8"))
        .body(csv(&sheet)))
}

async fn bytes(body: web::Payload) -> Result<web::Bytes, Error> {
    let read = body.to_bytes_limited(TEXT_MAX).await.map_err(|_| {
        let why = format!("the file is over {TEXT_MAX} bytes; cut it into several");
        Error::Request(ProblemKind::TooLarge, why)
    })?;
    read.map_err(|error| {
        let why = format!("the file cannot be read: {error}");
        Error::Request(ProblemKind::MalformedRequest, why)
    })
}

fn told(request: &HttpRequest, name: header::HeaderName) -> &str {
    let value = request.headers().get(name);
    value.and_then(|it| it.to_str().ok()).unwrap_or_default()
}

fn unread(why: Unread) -> Error {
    let (kind, why) = match why {
        Unread::Form(why) => (ProblemKind::UnsupportedMediaType, why),
        Unread::TooLarge(why) => (ProblemKind::TooLarge, why),
        Unread::Invalid(why) => (ProblemKind::Invalid, why),
    };
    Error::Request(kind, why)
}

fn pushing(how: &PushTable) -> Result<Pushing, Error> {
    let has_decimal_commas = match how.decimal.as_deref() {
        None | Some("." | "") => false,
        Some(",") => true,
        Some(other) => {
            let why = format!("decimal: \"{other}\" is no decimal mark; give , or a full stop");
            return Err(Error::Request(ProblemKind::Invalid, why));
        }
    };
    Ok(Pushing {
        only_try: how.only_try,
        all_or_none: how.all_or_none,
        history: how.history,
        at: how.at.clone(),
        by: how.by.clone(),
        site: how.site.clone(),
        has_decimal_commas,
    })
}

/// The sheet with what became of each row; what came back before is left out.
fn sheet(table: Table, pushed: pushed::Pushed, only_tried: bool) -> PushedSheet {
    let is_own = |name: &String| !COME_BACK.iter().any(|it| it.eq_ignore_ascii_case(name));
    let kept: Vec<usize> = (0..table.columns.len())
        .filter(|place| is_own(&table.columns[*place]))
        .collect();
    let rows = table
        .rows
        .into_iter()
        .zip(pushed.rows)
        .map(|(mut row, judged)| JudgedRow {
            line: row.line,
            cells: kept
                .iter()
                .map(|place| {
                    row.cells
                        .get_mut(*place)
                        .map(std::mem::take)
                        .unwrap_or_default()
                })
                .collect(),
            result: judged.outcome.as_str().to_owned(),
            what_to_do: judged.what_to_do,
        });
    PushedSheet {
        says: pushed.says,
        only_tried,
        rows: rows.collect(),
        columns: kept
            .iter()
            .map(|place| table.columns[*place].clone())
            .collect(),
    }
}

/// The sheet as CSV under its sum, which is skipped as a title when the sheet comes again.
fn csv(sheet: &PushedSheet) -> Vec<u8> {
    // RFC 4180 ends a line with both characters.
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .flexible(true)
        .from_writer(Vec::new());
    let header = sheet.columns.iter().map(|it| harmless(it));
    let header: Vec<String> = header.chain(COME_BACK.map(str::to_owned)).collect();
    // Memory takes what is written.
    let mut is_good =
        writer.write_record([&sheet.says]).is_ok() && writer.write_record(header).is_ok();
    for row in &sheet.rows {
        let cells = row.cells.iter().chain([&row.result, &row.what_to_do]);
        is_good = is_good
            && writer
                .write_record(cells.map(|cell| harmless(cell)))
                .is_ok();
    }
    writer.into_inner().unwrap_or_default()
}
