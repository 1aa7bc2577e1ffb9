//! Photos of the labels of drawers. They are kept in the database, so that one file is the whole
//! shop.

use data_encoding::HEXLOWER;
use sea_orm::ActiveValue::Set;
use sha2::{Digest, Sha256};
use types::{DRAWER_PHOTOS_MAX, ListPhotos, Page, Photo, PhotoPage, PictureKind};
use uuid::Uuid;

use super::{Context, Error, codes, drawers, instant, keys};
use crate::store;
use crate::store::entity::{drawer_photos, drawers as drawer_rows, sites};
use crate::store::photos::Label;

/// A picture as it is handed out.
#[derive(Clone, Debug)]
pub struct Shown {
    /// Its media type.
    pub media_type: String,
    /// Names exactly these bytes.
    pub digest: String,
    /// The bytes.
    pub content: Vec<u8>,
}

/// A page of the photos of a drawer.
pub async fn list(context: &Context, drawer: &str, query: &ListPhotos) -> Result<PhotoPage, Error> {
    let db = context.store.read();
    let (site, drawer) = drawers::find(db, drawer, query.site.as_deref()).await?;
    let limit = Page {
        limit: query.limit,
        after: None,
    }
    .limit();
    let after = query.after.as_deref().map(keys::cursor).transpose()?;
    let rows = store::photos::list(db, drawer.id, after, limit).await?;
    let next = codes::next(&rows, limit, |row| row.id.to_string());
    let photos = rows.into_iter().map(|row| view(row, &drawer, &site));
    Ok(PhotoPage {
        photos: photos.collect(),
        next,
    })
}

/// Adds a photo to a drawer; the same picture again is the photo that is there already.
pub async fn create(
    context: &Context,
    (drawer, site): (&str, Option<&str>),
    kind: PictureKind,
    content: Vec<u8>,
) -> Result<Photo, Error> {
    let now = context.clock.now().timestamp_micros();
    let (drawer, site) = (drawer.to_owned(), site.map(str::to_owned));
    let digest = HEXLOWER.encode(&Sha256::digest(&content));
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let (site, drawer) = drawers::find(tx, &drawer, site.as_deref()).await?;
            if let Some(same) = store::photos::same(tx, drawer.id, &digest).await? {
                return Ok(view(same, &drawer, &site));
            }
            let there = store::photos::number(tx, drawer.id).await?;
            if there >= DRAWER_PHOTOS_MAX as u64 {
                return Err(Error::WrongState(format!(
                    "drawer {} has {there} photos, and no drawer has more; delete one first",
                    drawer.code
                )));
            }
            let label = Label {
                id: Uuid::now_v7(),
                media_type: kind.media_type().to_owned(),
                bytes: i64::try_from(content.len()).unwrap_or(i64::MAX),
                added_at: now,
            };
            let row = drawer_photos::ActiveModel {
                id: Set(label.id),
                drawer_id: Set(drawer.id),
                media_type: Set(label.media_type.clone()),
                bytes: Set(label.bytes),
                digest: Set(digest),
                content: Set(content),
                added_at: Set(now),
            };
            store::photos::insert(tx, row).await?;
            Ok(view(label, &drawer, &site))
        })
    });
    write.await
}

/// The picture of a photo.
pub async fn get(
    context: &Context,
    (drawer, photo): (&str, &str),
    site: Option<&str>,
) -> Result<Shown, Error> {
    let db = context.store.read();
    let (_, drawer) = drawers::find(db, drawer, site).await?;
    let found = store::photos::find(db, drawer.id, id(photo)?).await?;
    let row = found.ok_or_else(|| missing(photo))?;
    Ok(Shown {
        media_type: row.media_type,
        digest: row.digest,
        content: row.content,
    })
}

/// Removes a photo of a drawer.
pub async fn delete(
    context: &Context,
    (drawer, photo): (&str, &str),
    site: Option<&str>,
) -> Result<(), Error> {
    let (drawer, photo) = (drawer.to_owned(), photo.to_owned());
    let site = site.map(str::to_owned);
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let (_, drawer) = drawers::find(tx, &drawer, site.as_deref()).await?;
            if store::photos::delete(tx, drawer.id, id(&photo)?).await? {
                Ok(())
            } else {
                Err(missing(&photo))
            }
        })
    });
    write.await
}

fn id(photo: &str) -> Result<Uuid, Error> {
    photo.parse().map_err(|_| missing(photo))
}

fn missing(photo: &str) -> Error {
    Error::NotFound {
        kind: "photo",
        key: photo.to_owned(),
    }
}

fn view(label: Label, drawer: &drawer_rows::Model, site: &sites::Model) -> Photo {
    Photo {
        id: label.id,
        drawer: drawer.code.clone(),
        site: site.code.clone(),
        media_type: label.media_type,
        bytes: label.bytes,
        added_at: instant::from_micros(label.added_at),
    }
}
