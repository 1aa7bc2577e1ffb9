//! Looking things up by code, and the checks that every resource with a code shares.

use std::collections::HashMap;

use sea_orm::ConnectionTrait;

use super::Error;
use crate::store;
use crate::store::entity::{
    courses, jobs, kits, parts, procedures, seats, sites, suppliers, torches,
};

macro_rules! lookup {
    ($(#[doc = $doc:literal])* $one:ident, $table:ident, $noun:literal, $path:ident) => {
        $(#[doc = $doc])*
        ///
        /// # Errors
        /// [`Error::NotFound`] if there is none.
        pub async fn $path(db: &impl ConnectionTrait, code: &str) -> Result<$table::Model, Error> {
            store::$table::find(db, code)
                .await?
                .ok_or_else(|| Error::NotFound { kind: $noun, key: code.to_owned() })
        }

        /// The same for a code in a field of a body or query, named by `pointer`.
        ///
        /// # Errors
        /// [`Error::Invalid`] if there is none.
        pub async fn $one(
            db: &impl ConnectionTrait,
            pointer: &str,
            code: &str,
        ) -> Result<$table::Model, Error> {
            store::$table::find(db, code).await?.ok_or_else(|| {
                Error::invalid(pointer, format!(concat!("there is no ", $noun, " {}; see the list, or set it up first"), code))
            })
        }
    };
}

lookup!(/// The site of that code.
    named_site, sites, "site", site);
lookup!(/// The part of that code.
    named_part, parts, "part", part);
lookup!(/// The torch of that code.
    named_torch, torches, "torch", torch);
lookup!(/// The kit of that code.
    named_kit, kits, "kit", kit);
lookup!(/// The supplier of that code.
    named_supplier, suppliers, "supplier", supplier);
lookup!(/// The job of that code.
    named_job, jobs, "job", job);
lookup!(/// The course of that code.
    named_course, courses, "course", course);
lookup!(/// The procedure of that code.
    named_procedure, procedures, "procedure", procedure);

/// The seats of that code.
///
/// # Errors
/// [`Error::NotFound`] if there are none.
pub async fn seats(db: &impl ConnectionTrait, code: &str) -> Result<seats::Model, Error> {
    let found = store::seats::find(db, code).await?;
    found.ok_or_else(|| Error::NotFound {
        kind: "entry of seats",
        key: code.to_owned(),
    })
}

/// The site that is named at `pointer`, or the first.
pub async fn site_or_first(
    db: &impl ConnectionTrait,
    pointer: &str,
    code: Option<&str>,
) -> Result<sites::Model, Error> {
    named_site(db, pointer, code.unwrap_or(types::DEFAULT_SITE)).await
}

/// The parts of those codes, in their order; `pointer` names the field of each.
pub async fn named_parts(
    db: &impl ConnectionTrait,
    codes: &[&str],
    pointer: impl Fn(usize) -> String,
) -> Result<Vec<parts::Model>, Error> {
    let rows = store::parts::find_many(db, codes.iter().copied()).await?;
    let rows: HashMap<String, parts::Model> = rows
        .into_iter()
        .map(|row| (row.code_key.clone(), row))
        .collect();
    let mut found = Vec::with_capacity(codes.len());
    let mut missing = Vec::new();
    for (index, code) in codes.iter().enumerate() {
        match rows.get(&code.trim().to_ascii_lowercase()) {
            Some(part) => found.push(part.clone()),
            None => missing.push(types::Violation::new(
                pointer(index),
                format!("there is no part {code}; set it up first, or see the list of parts"),
            )),
        }
    }
    if missing.is_empty() {
        Ok(found)
    } else {
        Err(Error::Invalid(missing))
    }
}

/// A replacement must keep the code.
///
/// # Errors
/// [`Error::Invalid`] if it does not.
pub fn keep_code(path: &str, body: &str) -> Result<(), Error> {
    if path.trim().eq_ignore_ascii_case(body.trim()) {
        return Ok(());
    }
    let why =
        format!("\"{body}\" is not the code in the address, \"{path}\"; a code is never changed");
    Err(Error::invalid("/code", why))
}

/// An edit must come from the current version.
///
/// # Errors
/// [`Error::Stale`] if it does not.
pub fn check_version(kind: &'static str, key: &str, now: i64, seen: i64) -> Result<(), Error> {
    if now == seen {
        return Ok(());
    }
    Err(Error::Stale {
        kind,
        key: key.to_owned(),
        version: now,
    })
}

/// A unique rule that was broken means that the code is taken.
pub fn taken(kind: &'static str, key: &str) -> impl FnOnce(store::Error) -> Error + use<> {
    let key = key.to_owned();
    move |error| {
        if matches!(error, store::Error::Conflict) {
            Error::AlreadyExists {
                kind,
                key,
                remedy: "choose another code",
            }
        } else {
            error.into()
        }
    }
}

/// A reference that was broken means that something refers to it.
pub fn in_use(
    kind: &'static str,
    key: &str,
    remedy: &'static str,
) -> impl FnOnce(store::Error) -> Error + use<> {
    let key = key.to_owned();
    move |error| {
        if matches!(error, store::Error::Reference) {
            Error::InUse { kind, key, remedy }
        } else {
            error.into()
        }
    }
}

/// The lower-case form under which a code is looked up.
pub fn key(code: &str) -> String {
    code.trim().to_ascii_lowercase()
}

/// The `next` of a page: the key of its last row, if there may be more.
pub fn next<T>(rows: &[T], limit: u64, key: impl Fn(&T) -> String) -> Option<String> {
    (rows.len() as u64 >= limit)
        .then(|| rows.last().map(key))
        .flatten()
}
