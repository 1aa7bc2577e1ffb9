//! The queries that every resource with a short code shares, written once as a macro: sea-orm gives
//! each table its own types, and no trait says "has a code".

/// Defines `find`, `find_many`, `get_many`, `list`, `insert` and `update` for a table with the
/// columns `id`, `code`, `code_key` and `version`.
macro_rules! coded {
    ($table:ident) => {
        use sea_orm::ActiveValue::Set;
        use sea_orm::{
            ActiveModelTrait, ColumnTrait, ConnectionTrait, EntityTrait, QueryFilter, QueryOrder,
            QuerySelect,
        };

        use super::Error;
        use super::entity::$table::{ActiveModel, Column, Entity, Model};

        /// The row of that code, if there is one. Codes compare without case.
        pub async fn find(db: &impl ConnectionTrait, code: &str) -> Result<Option<Model>, Error> {
            let key = code.trim().to_ascii_lowercase();
            super::only(db, Entity::find().filter(Column::CodeKey.eq(key))).await
        }

        /// The rows of those codes, in no particular order.
        pub async fn find_many(
            db: &impl ConnectionTrait,
            codes: impl IntoIterator<Item = &str>,
        ) -> Result<Vec<Model>, Error> {
            let keys: std::collections::BTreeSet<String> = codes
                .into_iter()
                .map(|code| code.trim().to_ascii_lowercase())
                .collect();
            if keys.is_empty() {
                return Ok(Vec::new());
            }
            Ok(Entity::find()
                .filter(Column::CodeKey.is_in(keys))
                .all(db)
                .await?)
        }

        /// The rows of those ids, in no particular order.
        pub async fn get_many(
            db: &impl ConnectionTrait,
            ids: impl IntoIterator<Item = i64>,
        ) -> Result<Vec<Model>, Error> {
            let ids: std::collections::BTreeSet<i64> = ids.into_iter().collect();
            if ids.is_empty() {
                return Ok(Vec::new());
            }
            Ok(Entity::find().filter(Column::Id.is_in(ids)).all(db).await?)
        }

        /// A page by code, after the given code.
        pub async fn list(
            db: &impl ConnectionTrait,
            after: Option<&str>,
            limit: u64,
        ) -> Result<Vec<Model>, Error> {
            let mut query = Entity::find().order_by_asc(Column::CodeKey).limit(limit);
            if let Some(after) = after {
                query = query.filter(Column::CodeKey.gt(after.to_ascii_lowercase()));
            }
            Ok(query.all(db).await?)
        }

        /// Adds a row.
        pub async fn insert(db: &impl ConnectionTrait, row: ActiveModel) -> Result<Model, Error> {
            Ok(row.insert(db).await?)
        }

        /// Replaces the columns that are set, if the row is still at `version`; whether it was.
        pub async fn update(
            db: &impl ConnectionTrait,
            (id, version): (i64, i64),
            mut row: ActiveModel,
        ) -> Result<bool, Error> {
            row.version = Set(version + 1);
            let done = Entity::update_many()
                .set(row)
                .filter(Column::Id.eq(id))
                .filter(Column::Version.eq(version))
                .exec(db)
                .await?;
            Ok(done.rows_affected == 1)
        }
    };
}
pub(crate) use coded;
