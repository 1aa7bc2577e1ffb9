//! The shop's own bands of current.

use domain::advice::{Band, Setting};
use domain::class::ElectrodeClass;
use domain::size::Diameter;
use sea_orm::ActiveValue::Set;
use sea_orm::{ConnectionTrait, NotSet};
use types::{CurrentBand, CurrentBandPage, NewCurrentBand, Page};
use uuid::Uuid;

use super::{Context, Error, codes, keys};
use crate::store::{self, entity::current_bands};

/// How a band for any class is kept, since an absent class would not be equal to another.
const ANY: &str = "any";

/// A band with what it is for, as values.
#[derive(Debug)]
pub(super) struct Own {
    pub(super) diameter: Diameter,
    /// `None` for any class.
    pub(super) class: Option<ElectrodeClass>,
    pub(super) band: Band,
    pub(super) source: String,
}

/// The bands of a setting.
pub(super) async fn of_setting(
    db: &impl ConnectionTrait,
    setting: Setting,
) -> Result<Vec<Own>, Error> {
    let rows = store::current_bands::of_setting(db, setting.as_str()).await?;
    let bands = rows.into_iter().map(|row| {
        let checked = told(&row)?.check()?;
        Ok(Own {
            diameter: checked.diameter,
            class: checked.class,
            band: checked.band,
            source: row.source,
        })
    });
    bands.collect()
}

/// A page of bands.
pub async fn list(context: &Context, page: &Page) -> Result<CurrentBandPage, Error> {
    let after = page.after.as_deref().map(keys::cursor).transpose()?;
    let rows = store::current_bands::list(context.store.read(), after, page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.id.to_string());
    let bands: Result<_, Error> = rows.iter().map(view).collect();
    Ok(CurrentBandPage {
        current_bands: bands?,
        next,
    })
}

/// One band.
pub async fn get(context: &Context, id: &str) -> Result<CurrentBand, Error> {
    view(&find(context.store.read(), id).await?)
}

/// Adds a band.
pub async fn create(context: &Context, new: NewCurrentBand) -> Result<CurrentBand, Error> {
    let row = row(&new)?;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let made = store::current_bands::insert(tx, row).await;
            view(&made.map_err(taken(&new))?)
        })
    });
    write.await
}

/// Replaces a band.
pub async fn replace(
    context: &Context,
    id: &str,
    seen: i64,
    new: NewCurrentBand,
) -> Result<CurrentBand, Error> {
    let row = current_bands::ActiveModel {
        id: NotSet,
        ..row(&new)?
    };
    let id = id.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = find(tx, &id).await?;
            codes::check_version("current band", &id, old.version, seen)?;
            store::current_bands::update(tx, (old.id, old.version), row)
                .await
                .map_err(taken(&new))?;
            view(&find(tx, &id).await?)
        })
    });
    write.await
}

/// Removes a band; advice is by the published tables again.
pub async fn delete(context: &Context, id: &str, seen: i64) -> Result<(), Error> {
    let id = id.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = find(tx, &id).await?;
            codes::check_version("current band", &id, old.version, seen)?;
            Ok(store::current_bands::delete(tx, old.id).await?)
        })
    });
    write.await
}

fn taken(new: &NewCurrentBand) -> impl FnOnce(store::Error) -> Error + use<> {
    let class = new.class.as_deref().unwrap_or("any class");
    let wave = new.wave.as_deref().unwrap_or_default();
    let key = format!("of {class}, {}, {} {wave}", new.diameter, new.polarity);
    codes::taken("current band", key.trim_end())
}

async fn find(db: &impl ConnectionTrait, id: &str) -> Result<current_bands::Model, Error> {
    let missing = || Error::NotFound {
        kind: "current band",
        key: id.to_owned(),
    };
    let uuid: Uuid = id.parse().map_err(|_| missing())?;
    let found = store::current_bands::find(db, uuid).await?;
    found.ok_or_else(missing)
}

fn row(new: &NewCurrentBand) -> Result<current_bands::ActiveModel, Error> {
    let checked = new.check()?;
    let class = checked.class.map_or(ANY, ElectrodeClass::symbol);
    Ok(current_bands::ActiveModel {
        id: Set(Uuid::now_v7()),
        diameter_um: Set(checked.diameter.um()),
        class: Set(class.to_owned()),
        setting: Set(checked.setting.as_str().to_owned()),
        amps_min: Set(checked.band.low()),
        amps_max: Set(checked.band.high()),
        source: Set(new.source.trim().to_owned()),
        version: Set(1),
    })
}

/// A row as somebody would tell it.
fn told(row: &current_bands::Model) -> Result<NewCurrentBand, Error> {
    let fault = |what: &str| Error::Internal(format!("a current band holds no {what}"));
    let setting = Setting::parse(&row.setting).map_err(|_| fault("setting"))?;
    let diameter = Diameter::from_um(row.diameter_um).ok_or_else(|| fault("diameter"))?;
    Ok(NewCurrentBand {
        diameter: diameter.to_string(),
        class: Some(row.class.clone()).filter(|class| class != ANY),
        polarity: setting.polarity().as_str().to_owned(),
        wave: setting.wave().map(|wave| wave.as_str().to_owned()),
        amps_min: row.amps_min,
        amps_max: row.amps_max,
        source: row.source.clone(),
    })
}

fn view(row: &current_bands::Model) -> Result<CurrentBand, Error> {
    Ok(told(row)?.into_view(row.id, row.version))
}
