//! Kits, as lists of parts.

use std::collections::HashMap;

use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::{Kit, KitLine, KitPage, NewKit, Page};

use super::{Context, Error, codes};
use crate::store::kits::Slot;
use crate::store::{self, entity::kits};

/// A page of kits.
pub async fn list(context: &Context, page: &Page) -> Result<KitPage, Error> {
    let db = context.store.read();
    let rows = store::kits::list(db, page.after.as_deref(), page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.code_key.clone());
    Ok(KitPage {
        kits: views(db, rows).await?,
        next,
    })
}

/// One kit.
pub async fn get(context: &Context, code: &str) -> Result<Kit, Error> {
    let db = context.store.read();
    view(db, codes::kit(db, code).await?).await
}

/// Sets up a kit.
pub async fn create(context: &Context, new: NewKit) -> Result<Kit, Error> {
    let row = checked(&new)?;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let taken = codes::taken("kit", &new.code);
            let row = store::kits::insert(tx, row).await.map_err(taken)?;
            replace_lines(tx, row.id, &new).await?;
            view(tx, row).await
        })
    });
    write.await
}

/// Replaces a kit.
pub async fn replace(context: &Context, code: &str, seen: i64, new: NewKit) -> Result<Kit, Error> {
    codes::keep_code(code, &new.code)?;
    let row = kits::ActiveModel {
        code: NotSet,
        code_key: NotSet,
        ..checked(&new)?
    };
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = codes::kit(tx, &code).await?;
            codes::check_version("kit", &old.code, old.version, seen)?;
            store::kits::update(tx, (old.id, old.version), row).await?;
            replace_lines(tx, old.id, &new).await?;
            view(tx, codes::kit(tx, &code).await?).await
        })
    });
    write.await
}

/// Removes a kit that no job needs.
pub async fn delete(context: &Context, code: &str, seen: i64) -> Result<(), Error> {
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = codes::kit(tx, &code).await?;
            codes::check_version("kit", &old.code, old.version, seen)?;
            let remedy = "give the jobs that need it another kit first";
            store::kits::delete(tx, old.id)
                .await
                .map_err(codes::in_use("kit", &old.code, remedy))
        })
    });
    write.await
}

fn checked(new: &NewKit) -> Result<kits::ActiveModel, Error> {
    new.check()?;
    Ok(kits::ActiveModel {
        code: Set(new.code.trim().to_owned()),
        code_key: Set(codes::key(&new.code)),
        name: Set(new.name.clone().unwrap_or_else(|| new.code.clone())),
        version: Set(1),
        ..Default::default()
    })
}

async fn replace_lines(db: &impl ConnectionTrait, kit: i64, new: &NewKit) -> Result<(), Error> {
    let told: Vec<&str> = new.parts.iter().map(|line| line.part.as_str()).collect();
    let parts = codes::named_parts(db, &told, |index| format!("/parts/{index}/part")).await?;
    let mut slots = Vec::with_capacity(parts.len());
    for (index, (part, line)) in parts.iter().zip(&new.parts).enumerate() {
        let others: Vec<&str> = line.or.iter().map(String::as_str).collect();
        let pointer = |other| format!("/parts/{index}/or/{other}");
        let others = codes::named_parts(db, &others, pointer).await?;
        slots.push(Slot {
            part: part.id,
            quantity: line.quantity,
            alternatives: others.iter().map(|other| other.id).collect(),
        });
    }
    Ok(store::kits::replace_lines(db, kit, &slots).await?)
}

async fn views(db: &impl ConnectionTrait, rows: Vec<kits::Model>) -> Result<Vec<Kit>, Error> {
    let ids: Vec<i64> = rows.iter().map(|row| row.id).collect();
    let lines = store::kits::lines(db, ids.iter().copied()).await?;
    let others = store::kits::alternatives(db, ids).await?;
    let named = lines.iter().map(|line| line.part_id);
    let named = named.chain(others.iter().map(|other| other.alternative_id));
    let parts = store::parts::get_many(db, named).await?;
    let parts: HashMap<i64, String> = parts.into_iter().map(|part| (part.id, part.code)).collect();
    let view = |row: kits::Model| {
        let lines = lines.iter().filter(|line| line.kit_id == row.id);
        let lines = lines.filter_map(|line| {
            let of_slot = others
                .iter()
                .filter(|other| (other.kit_id, other.part_id) == (line.kit_id, line.part_id));
            Some(KitLine {
                part: parts.get(&line.part_id)?.clone(),
                quantity: line.quantity,
                or: of_slot
                    .filter_map(|other| parts.get(&other.alternative_id).cloned())
                    .collect(),
            })
        });
        let new = NewKit {
            code: row.code,
            name: Some(row.name),
            parts: lines.collect(),
        };
        new.into_view(row.version)
    };
    Ok(rows.into_iter().map(view).collect())
}

async fn view(db: &impl ConnectionTrait, row: kits::Model) -> Result<Kit, Error> {
    let lost = || Error::Internal("a kit was lost while it was shown".to_owned());
    views(db, vec![row]).await?.pop().ok_or_else(lost)
}
