//! The sheet of the track record of forecasts.

use actix_web::{get, web};
use types::{GetTrackRecord, MethodScore, SheetPath, TrackRecord, TrackRecords};
use utoipa_actix_web::service_config::ServiceConfig;

use super::{Answered, Cell, Sheet, SheetAnswer};
use crate::app::App;
use crate::http::auth::{Authorized, Read};
use crate::http::error::Answer;
use crate::http::problems::{Common, Missing, Rules};
use crate::service;

const COLUMNS: [&str; 22] = [
    "part",
    "method",
    "driver",
    "period",
    "ahead",
    "from",
    "to",
    "periods",
    "forecasts",
    "held_50",
    "held_80",
    "held_90",
    "held_90_error",
    "whole_pieces_50",
    "whole_pieces_80",
    "whole_pieces_90",
    "loss_50",
    "loss_90",
    "loss_95",
    "best_95",
    "verdict",
    "says",
];

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_track_record_sheet);
}

/// Tell how often forecasts held: one row a part and method. A part of which nothing can be told has
/// one row without a method, which says why.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(GetTrackRecord, SheetPath), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/track-record.{form}")]
async fn get_track_record_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    query: web::Query<GetTrackRecord>,
) -> Answer {
    let records = service::track_record::get(&app.context, &query).await?;
    sheet(&records).answer(form.form)
}

fn sheet(records: &TrackRecords) -> Sheet<22> {
    let mut sheet = Sheet::new("track-record", COLUMNS, records.as_of);
    for record in &records.records {
        for score in [&record.own].into_iter().chain(&record.methods) {
            sheet.push(row(records, record, score));
        }
    }
    for part in &records.cannot_tell {
        let mut row = [const { Cell::Nothing }; 22];
        row[0] = (&part.part).into();
        row[3] = (&records.period).into();
        row[4] = i64::from(records.ahead).into();
        row[21] = (&part.why).into();
        sheet.push(row);
    }
    sheet
}

fn row(records: &TrackRecords, record: &TrackRecord, score: &MethodScore) -> [Cell; 22] {
    let range = |place: usize| score.ranges.get(place);
    let held = |place| Cell::from(&range(place).map(|it| it.held));
    let whole = |place| Cell::from(&range(place).map(|it| it.in_whole_pieces));
    let loss = |place: usize| Cell::from(&score.losses.get(place).map(|it| it.loss));
    let best = record
        .best
        .last()
        .is_some_and(|best| best.method == score.method);
    let own = score.method == record.own.method;
    let of_own = |text: &String| if own { text.into() } else { Cell::Nothing };
    [
        (&record.part).into(),
        (&score.method).into(),
        (&record.driver).into(),
        (&records.period).into(),
        i64::from(records.ahead).into(),
        record.from.into(),
        record.to.into(),
        i64::from(record.periods).into(),
        i64::from(record.forecasts).into(),
        held(0),
        held(1),
        held(2),
        (&range(2).map(|it| it.error)).into(),
        whole(0),
        whole(1),
        whole(2),
        loss(0),
        loss(1),
        loss(2),
        if best { "yes" } else { "no" }.into(),
        of_own(&record.verdict),
        of_own(&record.says),
    ]
}
