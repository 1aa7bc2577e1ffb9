//! The sheet of the advice on electrodes.

use actix_web::{get, web};
use types::{ElectrodeAdvice, ElectrodeVerdict, GetElectrodeAdvice, SheetPath};
use utoipa_actix_web::service_config::ServiceConfig;

use super::{Answered, Cell, Sheet, SheetAnswer};
use crate::app::App;
use crate::http::auth::{Authorized, Read};
use crate::http::error::Answer;
use crate::http::problems::{Common, Missing, Rules};
use crate::service;

const COLUMNS: [&str; 14] = [
    "diameter",
    "column",
    "recommended",
    "verdict",
    "source",
    "amps_low",
    "amps_high",
    "position",
    "note",
    "amps",
    "polarity",
    "wave",
    "class",
    "says",
];

/// What stands as the source of the shop's own band.
const OWN: &str = "the shop's own band";

pub(super) fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get_electrode_advice_sheet);
}

/// Advise which electrode suits a current: one row a diameter, column and source of a range.
#[utoipa::path(tag = "sheets", security(("key" = ["read"])), params(GetElectrodeAdvice, SheetPath), responses(
    SheetAnswer,
    Common,
    Missing,
    Rules,
))]
#[get("/sheets/electrodes/advice.{form}")]
async fn get_electrode_advice_sheet(
    _: Authorized<Read>,
    app: web::Data<App>,
    form: web::Path<SheetPath>,
    query: web::Query<GetElectrodeAdvice>,
) -> Answer {
    let advice = service::electrodes::advise(&app.context, &query).await?;
    sheet(&advice).answer(form.form)
}

/// One range that a current is held against: its source, its ends, where the current lies, a note.
type Held<'a> = (&'a str, Cell, Cell, &'a str, Cell);

fn sheet(advice: &ElectrodeAdvice) -> Sheet<14> {
    let mut sheet = Sheet::new("advice", COLUMNS, advice.as_of);
    for verdict in &advice.verdicts {
        let held = held(verdict);
        let nothing = ("", Cell::Nothing, Cell::Nothing, "", Cell::Nothing);
        let rows = if held.is_empty() { vec![nothing] } else { held };
        for (source, low, high, position, note) in rows {
            sheet.push([
                (&verdict.diameter).into(),
                (&verdict.column).into(),
                if verdict.recommended { "yes" } else { "no" }.into(),
                (&verdict.verdict).into(),
                source.into(),
                low,
                high,
                position.into(),
                note,
                advice.amps.into(),
                (&advice.polarity).into(),
                (&advice.wave).into(),
                (&advice.class).into(),
                (&verdict.says).into(),
            ]);
        }
    }
    sheet
}

fn held(verdict: &ElectrodeVerdict) -> Vec<Held<'_>> {
    let own = verdict.shop_band.iter().map(|band| {
        let ends = (band.amps_min.into(), band.amps_max.into());
        (OWN, ends.0, ends.1, &*band.position, (&band.source).into())
    });
    let tables = verdict.tables.iter().map(|told| {
        let ends = ((&told.amps_low).into(), (&told.amps_high).into());
        (
            &*told.table,
            ends.0,
            ends.1,
            &*told.position,
            (&told.note).into(),
        )
    });
    own.chain(tables).collect()
}
