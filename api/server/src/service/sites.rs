//! Sites.

use domain::class::ElectrodeClass;
use domain::safety::{About, Moment, cautions_at};
use domain::size::RodLength;
use sea_orm::ActiveValue::Set;
use types::{NewSite, Page, Site, SitePage};

use super::{Context, Error, codes, instant, site_rules};
use crate::store::{self, entity::sites};

/// A page of sites.
pub async fn list(context: &Context, page: &Page) -> Result<SitePage, Error> {
    let rows =
        store::sites::list(context.store.read(), page.after.as_deref(), page.limit()).await?;
    let next = codes::next(&rows, page.limit(), |row| row.code_key.clone());
    Ok(SitePage {
        sites: rows.into_iter().map(view).collect(),
        next,
    })
}

/// One site.
pub async fn get(context: &Context, code: &str) -> Result<Site, Error> {
    Ok(view(codes::site(context.store.read(), code).await?))
}

/// Sets up a site.
pub async fn create(context: &Context, new: NewSite) -> Result<Site, Error> {
    let row = checked(&new)?;
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let taken = codes::taken("site", &new.code);
            Ok(set(store::sites::insert(tx, row).await.map_err(taken)?))
        })
    });
    write.await
}

/// Replaces a site.
pub async fn replace(
    context: &Context,
    code: &str,
    seen: i64,
    new: NewSite,
) -> Result<Site, Error> {
    codes::keep_code(code, &new.code)?;
    let row = sites::ActiveModel {
        code: sea_orm::NotSet,
        code_key: sea_orm::NotSet,
        ..checked(&new)?
    };
    let code = code.to_owned();
    let write = context.writer.write(move |tx| {
        Box::pin(async move {
            let old = codes::site(tx, &code).await?;
            codes::check_version("site", &old.code, old.version, seen)?;
            store::sites::update(tx, (old.id, old.version), row).await?;
            Ok(set(codes::site(tx, &code).await?))
        })
    });
    write.await
}

fn checked(new: &NewSite) -> Result<sites::ActiveModel, Error> {
    let (rule, discard) = new.check()?;
    let barred = rule.to_string();
    instant::zone(&new.zone).map_err(|why| Error::invalid("/zone", why))?;
    Ok(sites::ActiveModel {
        code: Set(new.code.trim().to_owned()),
        code_key: Set(codes::key(&new.code)),
        name: Set(new.name.clone().unwrap_or_else(|| new.code.clone())),
        zone: Set(new.zone.clone()),
        version: Set(1),
        barred: Set((!barred.is_empty()).then_some(barred)),
        responsible: Set(new.responsible.clone()),
        discard_um: Set(discard.map(RodLength::um)),
        ..Default::default()
    })
}

/// A site whose rule was just set, with the cautions that go with that.
fn set(row: sites::Model) -> Site {
    let rule = site_rules::rule(&row);
    let classes = ElectrodeClass::ALL.into_iter();
    let barred = classes.filter(|class| !rule.verdict(*class).is_permitted());
    let cautions = cautions_at(&[Moment::SiteRule], &About::classes(barred));
    Site {
        cautions,
        ..view(row)
    }
}

fn view(row: sites::Model) -> Site {
    let barred = site_rules::rule(&row);
    let barred = barred.barred().iter().map(ToString::to_string).collect();
    let discard = row.discard_um.and_then(|um| RodLength::from_um(um).ok());
    let new = NewSite {
        code: row.code,
        name: Some(row.name),
        zone: row.zone,
        barred,
        responsible: row.responsible,
        discard_length: discard.map(|length| length.to_string()),
    };
    new.into_view(Vec::new(), row.version)
}
