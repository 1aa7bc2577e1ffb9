//! Warnings as they are told.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use sea_orm::ConnectionTrait;
use types::{Warning, WarningFigures, WarningMessage};

use super::episode;
use crate::service::{Error, instant};
use crate::store;
use crate::store::entity::{warning_messages, warnings};

/// Those warnings as they are told at an instant, with what was told in them if that is wanted.
pub async fn views(
    db: &impl ConnectionTrait,
    rows: &[warnings::Model],
    (now, with_messages): (DateTime<Utc>, bool),
) -> Result<Vec<Warning>, Error> {
    let sites = store::sites::get_many(db, rows.iter().map(|row| row.site_id)).await?;
    let parts = store::parts::get_many(db, rows.iter().filter_map(|row| row.part_id)).await?;
    let jobs = store::jobs::get_many(db, rows.iter().filter_map(|row| row.job_id)).await?;
    let courses = store::courses::get_many(db, rows.iter().filter_map(|row| row.course_id)).await?;
    let sites: HashMap<i64, String> = sites.into_iter().map(|it| (it.id, it.code)).collect();
    let parts: HashMap<i64, String> = parts.into_iter().map(|it| (it.id, it.code)).collect();
    let jobs: HashMap<i64, String> = jobs.into_iter().map(|it| (it.id, it.code)).collect();
    let courses: HashMap<i64, String> = courses.into_iter().map(|it| (it.id, it.code)).collect();
    let messages = if with_messages {
        store::warnings::messages_of(db, rows.iter().map(|row| row.id)).await?
    } else {
        Vec::new()
    };
    let view = |row: &warnings::Model| {
        let figures = figures(row);
        let on_hand = figures.as_ref().map_or(0, |it| it.on_hand);
        let told = messages.iter().filter(|it| it.warning_id == row.id);
        let at = |micros: Option<i64>| micros.map(instant::from_micros);
        let code = |id: Option<i64>, of: &HashMap<i64, String>| of.get(&id?).cloned();
        Ok(Warning {
            id: row.id,
            site: sites.get(&row.site_id).cloned().unwrap_or_default(),
            kind: row.kind.clone(),
            subject: row.subject.clone(),
            part: code(row.part_id, &parts),
            job: code(row.job_id, &jobs),
            course: code(row.course_id, &courses),
            state: episode::read(row)?.state(now, on_hand).as_str().to_owned(),
            stock: figures.as_ref().map(|it| stock(it).to_owned()),
            says: row.says.clone(),
            figures,
            channels: row.channels.split(',').map(str::to_owned).collect(),
            opened_at: instant::from_micros(row.opened_at),
            told_at: at(row.told_at),
            escalated_at: at(row.escalated_at),
            quiet_until: at(row.quiet_until),
            quiet_on_hand: row.quiet_on_hand,
            held_back_at: at(row.held_back_at),
            acknowledged_at: at(row.acknowledged_at),
            acknowledged_by: row.acknowledged_by.clone(),
            closed_at: at(row.closed_at),
            messages: told.map(message).collect(),
        })
    };
    rows.iter().map(view).collect()
}

/// The figures of a warning about stock, as they were kept.
pub fn figures(row: &warnings::Model) -> Option<WarningFigures> {
    serde_json::from_str(&row.details).ok()
}

/// Where stock stands, in the words of the trade.
fn stock(figures: &WarningFigures) -> &'static str {
    if figures.on_order > 0 {
        "on order"
    } else if figures.available <= 0 {
        "short"
    } else if figures.available <= figures.order_point {
        "order"
    } else {
        "enough"
    }
}

fn message(row: &warning_messages::Model) -> WarningMessage {
    WarningMessage {
        kind: row.kind.clone(),
        at: instant::from_micros(row.at),
        says: row.says.clone(),
    }
}
