//! The few column types that the schema uses. They are the same on SQLite and PostgreSQL, and exact:
//! whole numbers are 64 bits wide, instants are microseconds since 1970 in UTC, and floating point
//! is only for distributions, never for quantities or money.

use sea_orm_migration::prelude::*;

/// The numbered primary key.
pub(crate) fn id() -> ColumnDef {
    int("id").primary_key().auto_increment().take()
}

/// A whole number.
pub(crate) fn int(name: &'static str) -> ColumnDef {
    ColumnDef::new(name).big_integer().not_null().take()
}

/// A floating-point number.
pub(crate) fn real(name: &'static str) -> ColumnDef {
    ColumnDef::new(name).double().not_null().take()
}

/// Text of any length.
pub(crate) fn text(name: &'static str) -> ColumnDef {
    ColumnDef::new(name).text().not_null().take()
}

/// A UUID.
pub(crate) fn uuid(name: &'static str) -> ColumnDef {
    ColumnDef::new(name).uuid().not_null().take()
}

/// True or false.
pub(crate) fn bool(name: &'static str) -> ColumnDef {
    ColumnDef::new(name).boolean().not_null().take()
}

/// Bytes.
pub(crate) fn blob(name: &'static str) -> ColumnDef {
    ColumnDef::new(name).blob().not_null().take()
}
