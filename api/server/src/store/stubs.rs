//! Queries on the stub jar. Rows are only ever added; what is in the jar is their sum.

use sea_orm::{
    ColumnTrait, ConnectionTrait, EntityTrait, ExprTrait, FromQueryResult, QueryFilter, QueryOrder,
    QuerySelect,
};
use uuid::Uuid;

use super::entity::stubs::{ActiveModel, Column, Entity, Model};
use super::{Error, ROWS_PER_INSERT};

/// Stubs of one class, diameter, length and lot, and how many there are.
#[derive(Clone, Debug, PartialEq, Eq, FromQueryResult)]
pub struct Group {
    /// The electrode class.
    pub class: String,
    /// The diameter.
    pub diameter_um: i64,
    /// The length, if it was measured.
    pub length_um: Option<i64>,
    /// The lot, if it is known.
    pub lot: Option<String>,
    /// How many.
    pub quantity: i64,
}

impl Group {
    /// Whether it is of that lot, or of none. Case is of no account, as with every lot.
    pub fn is_of_lot(&self, lot: Option<&str>) -> bool {
        match (self.lot.as_deref(), lot) {
            (Some(own), Some(lot)) => own.trim().eq_ignore_ascii_case(lot.trim()),
            (None, None) => true,
            (Some(_), None) | (None, Some(_)) => false,
        }
    }

    fn is_like(&self, other: &Self) -> bool {
        (&self.class, self.diameter_um, self.length_um)
            == (&other.class, other.diameter_um, other.length_um)
            && self.is_of_lot(other.lot.as_deref())
    }
}

/// Which stubs of a jar.
#[derive(Clone, Copy, Debug, Default)]
pub struct Which<'a> {
    /// Only of this class.
    pub class: Option<&'a str>,
    /// Only of this diameter.
    pub diameter_um: Option<i64>,
}

/// What is in the jar of a site, by class, diameter, length and lot; groups that are used up are
/// left out. A lot that was written in more than one way is one group, under the first of them.
pub async fn jar(
    db: &impl ConnectionTrait,
    site: i64,
    which: Which<'_>,
) -> Result<Vec<Group>, Error> {
    let mut query = Entity::find()
        .select_only()
        .columns([
            Column::Class,
            Column::DiameterUm,
            Column::LengthUm,
            Column::Lot,
        ])
        .column_as(Column::Quantity.sum().cast_as("bigint"), "quantity")
        .filter(Column::SiteId.eq(site));
    for column in [
        Column::Class,
        Column::DiameterUm,
        Column::LengthUm,
        Column::Lot,
    ] {
        query = query.group_by(column).order_by_asc(column);
    }
    if let Some(class) = which.class {
        query = query.filter(Column::Class.eq(class));
    }
    if let Some(diameter) = which.diameter_um {
        query = query.filter(Column::DiameterUm.eq(diameter));
    }
    let mut groups: Vec<Group> = Vec::new();
    for group in query.into_model::<Group>().all(db).await? {
        match groups.iter_mut().find(|other| other.is_like(&group)) {
            Some(other) => other.quantity += group.quantity,
            None => groups.push(group),
        }
    }
    groups.retain(|group| group.quantity != 0);
    Ok(groups)
}

/// The rows of an entry.
pub async fn of_entry(db: &impl ConnectionTrait, entry: Uuid) -> Result<Vec<Model>, Error> {
    Ok(Entity::find()
        .filter(Column::EntryId.eq(entry))
        .order_by_asc(Column::Id)
        .all(db)
        .await?)
}

/// Adds rows.
pub async fn insert_many(db: &impl ConnectionTrait, rows: Vec<ActiveModel>) -> Result<(), Error> {
    for chunk in rows.chunks(ROWS_PER_INSERT) {
        Entity::insert_many(chunk.iter().cloned())
            .exec_without_returning(db)
            .await?;
    }
    Ok(())
}
