//! Torches and their set-ups. A set-up is never changed: fitting adds a new one.

use std::collections::{HashMap, HashSet};

use domain::part::{BodyFamily, PartKind};
use domain::safety::{About, Moment, cautions_at};
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::{NewSetUp, NewTorch, Page, SetUp, Torch, TorchPage, Violation};

use super::{Context, Error, codes, fits, instant};
use crate::store;
use crate::store::entity::{parts, sites, torches};

/// A page of torches.
pub async fn list(context: &Context, page: &Page) -> Result<TorchPage, Error> {
    let db = context.store.read();
    let rows = store::torches::list(db, page.after.as_deref(), page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.code_key.clone());
    Ok(TorchPage {
        torches: views(db, rows).await?,
        next,
    })
}

/// One torch.
pub async fn get(context: &Context, code: &str) -> Result<Torch, Error> {
    let db = context.store.read();
    view(db, codes::torch(db, code).await?).await
}

/// Sets up a torch.
pub async fn create(context: &Context, new: NewTorch) -> Result<Torch, Error> {
    new.check()?;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let row = row(tx, &new).await?;
            let taken = codes::taken("torch", &new.code);
            view(tx, store::torches::insert(tx, row).await.map_err(taken)?).await
        })
    });
    write.await
}

/// Replaces what is known of a torch; what is fitted stays.
pub async fn replace(
    context: &Context,
    code: &str,
    seen: i64,
    new: NewTorch,
) -> Result<Torch, Error> {
    codes::keep_code(code, &new.code)?;
    new.check()?;
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = codes::torch(tx, &code).await?;
            codes::check_version("torch", &old.code, old.version, seen)?;
            let row = torches::ActiveModel {
                code: NotSet,
                code_key: NotSet,
                ..row(tx, &new).await?
            };
            store::torches::update(tx, (old.id, old.version), row).await?;
            view(tx, codes::torch(tx, &code).await?).await
        })
    });
    write.await
}

async fn row(db: &impl ConnectionTrait, new: &NewTorch) -> Result<torches::ActiveModel, Error> {
    let site = codes::site_or_first(db, "/site", new.site.as_deref()).await?;
    Ok(torches::ActiveModel {
        code: Set(new.code.trim().to_owned()),
        code_key: Set(codes::key(&new.code)),
        name: Set(new.name.clone().unwrap_or_else(|| new.code.clone())),
        site_id: Set(site.id),
        family: Set(new.check()?.as_str().to_owned()),
        note: Set(new.note.clone()),
        version: Set(1),
        ..Default::default()
    })
}

/// What is fitted in a torch.
pub async fn get_set_up(context: &Context, code: &str) -> Result<SetUp, Error> {
    let db = context.store.read();
    set_up(db, codes::torch(db, code).await?).await
}

/// Fits parts in a torch from now on.
pub async fn replace_set_up(
    context: &Context,
    code: &str,
    seen: i64,
    new: NewSetUp,
) -> Result<SetUp, Error> {
    let now = context.clock.now().timestamp_micros();
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let torch = codes::torch(tx, &code).await?;
            codes::check_version("torch", &torch.code, torch.version, seen)?;
            let told: Vec<&str> = new.parts.iter().map(String::as_str).collect();
            let mut parts =
                codes::named_parts(tx, &told, |index| format!("/parts/{index}")).await?;
            check_fitted(&parts)?;
            parts.sort_by_key(position);
            let ids: Vec<i64> = parts.iter().map(|part| part.id).collect();
            fits::check_set_up(tx, &torch, &ids).await?;
            let before = fitted_at(tx, &[torch.id], None).await?.remove(&torch.id);
            let before = before.unwrap_or_default();
            let renewed: Vec<i64> = ids
                .iter()
                .copied()
                .filter(|id| !before.contains(id))
                .collect();
            store::torches::insert_set_up(tx, torch.id, now, (&ids, &renewed)).await?;
            touch(tx, &torch).await?;
            set_up(tx, codes::torch(tx, &code).await?).await
        })
    });
    write.await
}

/// The body family of a torch.
pub(super) fn family(torch: &torches::Model) -> Result<BodyFamily, Error> {
    BodyFamily::parse(&torch.family).map_err(|error| Error::Internal(error.to_string()))
}

/// Counts an edit of a torch, whose set-up is another.
pub(super) async fn touch(db: &impl ConnectionTrait, torch: &torches::Model) -> Result<(), Error> {
    let row = torches::ActiveModel::default();
    store::torches::update(db, (torch.id, torch.version), row).await?;
    Ok(())
}

/// The site of a torch.
pub(super) async fn site(
    db: &impl ConnectionTrait,
    torch: &torches::Model,
) -> Result<sites::Model, Error> {
    let site = store::sites::get_many(db, [torch.site_id]).await?.pop();
    site.ok_or_else(|| Error::Internal("a torch lost its site".to_owned()))
}

/// At most one of each kind, of kinds that are fitted, and a collet body or a gas lens, not both.
fn check_fitted(parts: &[parts::Model]) -> Result<(), Error> {
    let mut wrong = Vec::new();
    for (index, part) in parts.iter().enumerate() {
        let pointer = format!("/parts/{index}");
        let Ok(kind) = PartKind::parse(&part.kind) else {
            continue;
        };
        if !kind.is_fitted() {
            let why = format!(
                "{} is a {}, which is not fitted in a torch; leave it out",
                part.code,
                kind.noun()
            );
            wrong.push(Violation::new(&pointer, why));
        }
        if let Some(other) = parts[..index]
            .iter()
            .find(|other| position(other) == position(part))
        {
            let why = format!(
                "{} sits where {} does; a torch takes one of them",
                part.code, other.code
            );
            wrong.push(Violation::new(&pointer, why));
        }
    }
    if wrong.is_empty() {
        Ok(())
    } else {
        Err(Error::Invalid(wrong))
    }
}

/// Where a part sits, counted from the rear to the tip. A collet body and a gas lens share a place.
pub(super) fn position(part: &parts::Model) -> usize {
    match PartKind::parse(&part.kind) {
        Ok(PartKind::BackCap) => 0,
        Ok(PartKind::ORing) => 1,
        Ok(PartKind::Electrode) => 2,
        Ok(PartKind::Collet) => 3,
        Ok(PartKind::ColletBody | PartKind::GasLens) => 4,
        Ok(PartKind::Insulator) => 5,
        Ok(PartKind::Cup) => 6,
        Ok(PartKind::ShieldingGas) => 7,
        Ok(PartKind::FillerRod) => 8,
        Ok(PartKind::TungstenWheel) | Err(_) => 9,
    }
}

async fn set_up(db: &impl ConnectionTrait, torch: torches::Model) -> Result<SetUp, Error> {
    let newest = store::torches::set_ups(db, [torch.id]).await?.pop();
    let version = torch.version;
    let torch = view(db, torch).await?;
    Ok(SetUp {
        torch: torch.code,
        parts: torch.fitted,
        fitted_at: newest.map(|set_up| instant::from_micros(set_up.fitted_at)),
        cautions: cautions_at(&[Moment::SetUpChange], &About::default()),
        version,
    })
}

/// The ids of what is fitted in those torches, rear to tip: now, or at an instant. Before a torch was
/// first fitted, it has what it was fitted with first, as for what it has worn.
pub async fn fitted_at(
    db: &impl ConnectionTrait,
    torches: &[i64],
    at: Option<i64>,
) -> Result<HashMap<i64, Vec<i64>>, Error> {
    let mut set_ups = store::torches::set_ups(db, torches.iter().copied()).await?;
    let mut first = HashSet::new();
    set_ups.retain(|row| {
        let is_first = first.insert(row.torch_id);
        is_first || at.is_none_or(|at| row.fitted_at <= at)
    });
    let newest: HashMap<i64, i64> = set_ups.iter().map(|row| (row.torch_id, row.id)).collect();
    let torch_of: HashMap<i64, i64> = newest
        .iter()
        .map(|(torch, set_up)| (*set_up, *torch))
        .collect();
    let mut fitted: HashMap<i64, Vec<i64>> = HashMap::new();
    for row in store::torches::fitted(db, newest.into_values()).await? {
        if let Some(torch) = torch_of.get(&row.set_up_id) {
            fitted.entry(*torch).or_default().push(row.part_id);
        }
    }
    Ok(fitted)
}

async fn views(db: &impl ConnectionTrait, rows: Vec<torches::Model>) -> Result<Vec<Torch>, Error> {
    let ids: Vec<i64> = rows.iter().map(|row| row.id).collect();
    let fitted = fitted_at(db, &ids, None).await?;
    let lent = store::borrowings::open_from(db, ids).await?;
    let named = fitted.values().flatten().copied();
    let named = named.chain(lent.iter().map(|row| row.part_id));
    let parts = store::parts::get_many(db, named).await?;
    let parts: HashMap<i64, String> = parts.into_iter().map(|part| (part.id, part.code)).collect();
    let sites = store::sites::get_many(db, rows.iter().map(|row| row.site_id)).await?;
    let sites: HashMap<i64, String> = sites.into_iter().map(|site| (site.id, site.code)).collect();
    let view = |row: torches::Model| {
        let ids = fitted.get(&row.id).map_or(&[][..], Vec::as_slice);
        let fitted = ids.iter().filter_map(|id| parts.get(id).cloned()).collect();
        let new = NewTorch {
            code: row.code,
            name: Some(row.name),
            family: row.family,
            site: sites.get(&row.site_id).cloned(),
            note: row.note,
        };
        let lent = lent.iter().filter(|lent| lent.from_torch_id == row.id);
        let lent = lent.filter_map(|lent| parts.get(&lent.part_id).cloned());
        new.into_view(fitted, lent.collect(), row.version)
    };
    Ok(rows.into_iter().map(view).collect())
}

async fn view(db: &impl ConnectionTrait, row: torches::Model) -> Result<Torch, Error> {
    let lost = || Error::Internal("a torch was lost while it was shown".to_owned());
    views(db, vec![row]).await?.pop().ok_or_else(lost)
}
