//! Sites.

use chrono::{NaiveTime, Timelike};
use domain::class::ElectrodeClass;
use domain::safety::{About, Moment, cautions_at};
use domain::size::RodLength;
use domain::warning::QuietHours;
use sea_orm::ActiveValue::Set;
use types::{NewSite, Page, Site, SiteDigest, SitePage, SiteQuietHours};

use super::instant::Zones;
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

/// More sites than anybody has.
const SITES_MAX: u64 = 10_000;

/// The zones of all sites; where none is named holds that of the site that is told, or of the first.
pub async fn zones(context: &Context, told: Option<&str>) -> Result<Zones, Error> {
    let db = context.store.read();
    let first = codes::site_or_first(db, "?site", told).await?;
    let mut zones = Zones::new(instant::site_zone(&first.zone));
    for site in store::sites::list(db, None, SITES_MAX).await? {
        zones.add(&site.code, instant::site_zone(&site.zone));
    }
    Ok(zones)
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
    let (quiet, digest) = (new.quiet_hours.as_ref(), new.digest.as_ref());
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
        quiet_from_minute: Set(quiet.and_then(|it| minute(&it.from))),
        quiet_to_minute: Set(quiet.and_then(|it| minute(&it.to))),
        quiet_weekdays: Set(quiet
            .filter(|it| !it.weekdays.is_empty())
            .map(|it| it.weekdays.join(",").to_lowercase())),
        weekly_limit: Set(new.weekly_limit),
        digest_weekday: Set(digest.map(|it| it.weekday.trim().to_lowercase())),
        digest_minute: Set(digest.and_then(|it| minute(&it.time))),
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
    let (quiet_hours, digest) = (told_quiet_hours(&row), told_digest(&row));
    let new = NewSite {
        code: row.code,
        name: Some(row.name),
        zone: row.zone,
        barred,
        responsible: row.responsible,
        discard_length: discard.map(|length| length.to_string()),
        quiet_hours,
        weekly_limit: row.weekly_limit,
        digest,
    };
    new.into_view(Vec::new(), row.version)
}

/// The minute of the day of a time that was checked.
fn minute(time: &str) -> Option<i64> {
    let time = NaiveTime::parse_from_str(time.trim(), "%H:%M").ok()?;
    Some(i64::from(time.num_seconds_from_midnight() / 60))
}

fn time(minute: i64) -> String {
    format!("{:02}:{:02}", minute / 60, minute % 60)
}

fn told_quiet_hours(row: &sites::Model) -> Option<SiteQuietHours> {
    let weekdays = row.quiet_weekdays.as_deref().unwrap_or_default();
    Some(SiteQuietHours {
        from: time(row.quiet_from_minute?),
        to: time(row.quiet_to_minute?),
        weekdays: weekdays
            .split(',')
            .filter(|day| !day.is_empty())
            .map(str::to_owned)
            .collect(),
    })
}

fn told_digest(row: &sites::Model) -> Option<SiteDigest> {
    Some(SiteDigest {
        weekday: row.digest_weekday.clone()?,
        time: time(row.digest_minute?),
    })
}

/// The quiet hours of a site; none where it has none.
pub(super) fn quiet_hours(row: &sites::Model) -> Option<QuietHours> {
    // What is kept was checked when it came in.
    told_quiet_hours(row)?.check().ok()
}
