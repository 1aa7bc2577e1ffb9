//! Queries on torches and their set-ups.

use super::coded::coded;
use super::entity::{parts, set_up_parts, set_ups, sites};

coded!(torches);

/// The torches of those codes, each with its site.
pub async fn find_many_placed(
    db: &impl ConnectionTrait,
    codes: impl IntoIterator<Item = &str>,
) -> Result<Vec<(Model, sites::Model)>, Error> {
    let keys: std::collections::BTreeSet<String> = codes
        .into_iter()
        .map(|code| code.trim().to_ascii_lowercase())
        .collect();
    if keys.is_empty() {
        return Ok(Vec::new());
    }
    Ok(Entity::find()
        .find_both_related(sites::Entity)
        .filter(Column::CodeKey.is_in(keys))
        .all(db)
        .await?)
}

/// The torches of a site, by code.
pub async fn at_site(db: &impl ConnectionTrait, site: i64) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::SiteId.eq(site))
        .order_by_asc(Column::CodeKey)
        .all(db)
        .await?)
}

/// The set-ups that those torches ever had, oldest first.
pub async fn set_ups(
    db: &impl ConnectionTrait,
    torches: impl IntoIterator<Item = i64>,
) -> Result<Vec<set_ups::Model>, Error> {
    let torches: Vec<i64> = torches.into_iter().collect();
    if torches.is_empty() {
        return Ok(Vec::new());
    }
    Ok(set_ups::Entity::find()
        .filter(set_ups::Column::TorchId.is_in(torches))
        .order_by_asc(set_ups::Column::FittedAt)
        .order_by_asc(set_ups::Column::Id)
        .all(db)
        .await?)
}

/// The parts of those set-ups, rear to tip.
pub async fn fitted(
    db: &impl ConnectionTrait,
    set_ups: impl IntoIterator<Item = i64>,
) -> Result<Vec<set_up_parts::Model>, Error> {
    let set_ups: Vec<i64> = set_ups.into_iter().collect();
    if set_ups.is_empty() {
        return Ok(Vec::new());
    }
    Ok(set_up_parts::Entity::find()
        .filter(set_up_parts::Column::SetUpId.is_in(set_ups))
        .order_by_asc(set_up_parts::Column::Position)
        .all(db)
        .await?)
}

/// The same with the parts themselves.
pub async fn fitted_parts(
    db: &impl ConnectionTrait,
    set_ups: impl IntoIterator<Item = i64>,
) -> Result<Vec<(set_up_parts::Model, parts::Model)>, Error> {
    let set_ups: Vec<i64> = set_ups.into_iter().collect();
    if set_ups.is_empty() {
        return Ok(Vec::new());
    }
    Ok(set_up_parts::Entity::find()
        .find_both_related(parts::Entity)
        .filter(set_up_parts::Column::SetUpId.is_in(set_ups))
        .order_by_asc(set_up_parts::Column::Position)
        .all(db)
        .await?)
}

/// Adds a set-up of those parts, of which some are new ones, and gives its id.
pub async fn insert_set_up(
    db: &impl ConnectionTrait,
    torch: i64,
    fitted_at: i64,
    (parts, renewed): (&[i64], &[i64]),
) -> Result<i64, Error> {
    let set_up = set_ups::ActiveModel {
        torch_id: Set(torch),
        fitted_at: Set(fitted_at),
        ..Default::default()
    };
    let set_up = set_up.insert(db).await?.id;
    let rows = parts
        .iter()
        .zip(0..)
        .map(|(part, position)| set_up_parts::ActiveModel {
            set_up_id: Set(set_up),
            part_id: Set(*part),
            position: Set(position),
            renewed: Set(renewed.contains(part)),
        });
    if !parts.is_empty() {
        set_up_parts::Entity::insert_many(rows)
            .exec_without_returning(db)
            .await?;
    }
    Ok(set_up)
}
