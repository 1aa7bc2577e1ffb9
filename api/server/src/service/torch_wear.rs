//! Whether a torch uses parts faster than the others of its site, for whoever asks and for the weekly check.
//! The mathematics is in `domain::torch_wear`.

use std::collections::HashMap;

use chrono::{DateTime, NaiveDate, Utc};
use domain::advice::{Polarity, Setting};
use domain::part::PartKind;
use domain::safety::{About, Moment, cautions_at};
use domain::size::Diameter;
use sea_orm::ConnectionTrait;
use types::{CannotTell, GetTorchWear, ORingAge, TorchPartWear, TorchWear};

use super::forecasts::flag;
use super::known::View;
use super::{Context, Error, codes, courses, current_bands, instant, torches};
use crate::store;
use crate::store::entity::{parts as part_rows, sites, torches as torch_rows};
use crate::store::past::Facts;

mod changes;
mod judged;
mod o_rings;
mod record;
mod view;
mod words;

use changes::Change;
use judged::{Judge, Judged};
use record::Record;
use view::Found;

/// What is asked, checked.
struct Asked {
    at: DateTime<Utc>,
    since: Option<i64>,
    grey_tip: bool,
    explain: bool,
}

/// A course that was held at the site.
struct Course {
    group: String,
    first: NaiveDate,
    last: NaiveDate,
}

/// What the weekly check finds of one torch and one part.
#[derive(Clone, Debug)]
pub struct TorchReading {
    /// The code of the torch.
    pub torch: String,
    /// The code of the part.
    pub part: String,
    /// Whether an alarm stands: something to tell, or told and not over yet.
    pub alarm: bool,
    /// The same as for whoever asks.
    pub wear: TorchPartWear,
}

/// The torches of a site, with all that is known of them.
struct Shop {
    site: sites::Model,
    torches: Vec<torch_rows::Model>,
    changes: HashMap<i64, Vec<Change>>,
    record: Record,
    courses: Vec<Course>,
    today: i64,
}

/// How a torch wears its parts.
pub async fn get(context: &Context, torch: &str, query: &GetTorchWear) -> Result<TorchWear, Error> {
    let db = context.store.read();
    let torch = codes::torch(db, torch).await?;
    let asked = checked(query, context.clock.now())?;
    let site = torches::site(db, &torch).await?;
    let told = match query.part.as_deref() {
        Some(part) => Some(asked_part(db, &torch, (part, asked.at)).await?),
        None => None,
    };
    let shop = Shop::load(db, site, (asked.at, told.as_ref())).await?;
    let parts = match told {
        Some(part) => vec![part],
        None => shop.fitted(torch.id),
    };
    let factors = shop.record.factors_without(torch.id)?;
    let (mut found, mut cannot_tell) = (Vec::new(), Vec::new());
    for part in &parts {
        let asked = (factors.as_slice(), &asked);
        match shop.judge(db, (&torch, part), asked).await? {
            Ok(told) => found.push(told),
            Err(why) => cannot_tell.push(CannotTell {
                part: part.code.clone(),
                why,
            }),
        }
    }
    let is_looked_at = found.iter().any(|part| !part.checks.is_empty());
    let moments: &[Moment] = if is_looked_at {
        &[Moment::SetUpChange]
    } else {
        &[]
    };
    Ok(TorchWear {
        o_ring: shop.o_ring(db, &torch, asked.at).await?,
        torch: torch.code,
        site: shop.site.code,
        as_of: asked.at,
        parts: found,
        cannot_tell,
        cautions: cautions_at(moments, &About::default()),
    })
}

/// What the weekly check finds at a site: the electrodes of every torch. Every further part would add its own
/// false alarms to a budget that is fitted for one reading a torch, so the others are told only to whoever
/// asks.
pub async fn readings(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    view: View,
) -> Result<Vec<TorchReading>, Error> {
    let asked = Asked {
        at: view.at,
        since: None,
        grey_tip: false,
        explain: false,
    };
    let shop = Shop::load(db, site.clone(), (view.at, None)).await?;
    let mut readings = Vec::new();
    for torch in &shop.torches {
        let factors = shop.record.factors_without(torch.id)?;
        let fitted = shop.fitted(torch.id);
        let electrode = |part: &&part_rows::Model| part.kind == PartKind::Electrode.as_str();
        for part in fitted.iter().filter(electrode) {
            if let Ok(wear) = shop.judge(db, (torch, part), (&factors, &asked)).await? {
                readings.push(TorchReading {
                    torch: torch.code.clone(),
                    part: part.code.clone(),
                    alarm: ["alarm", "repaired"].contains(&wear.state.as_str()),
                    wear,
                });
            }
        }
    }
    Ok(readings)
}

/// The age of the O-rings in the torches of a site.
pub async fn o_rings(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    view: View,
) -> Result<Vec<ORingAge>, Error> {
    let torches = store::torches::at_site(db, site.id).await?;
    let until = (instant::site_zone(&site.zone), view.at.timestamp_micros());
    let changes = changes::of_torches(db, &torches, until).await?;
    let mut ages = Vec::new();
    for torch in &torches {
        let changes = changes.get(&torch.id).map_or(&[][..], Vec::as_slice);
        ages.extend(o_rings::age(db, (torch, site), changes, view.at).await?);
    }
    Ok(ages)
}

fn checked(query: &GetTorchWear, present: DateTime<Utc>) -> Result<Asked, Error> {
    let at = instant::asked(query.now.as_deref(), present)?;
    let since = query
        .since
        .map(|day| (day - NaiveDate::default()).num_days());
    let explain = flag(query.explain.as_deref()).map_err(|why| Error::invalid("?explain", why))?;
    let grey_tip = match query.seen.as_deref() {
        None => false,
        Some("grey-tip") => true,
        Some(other) => {
            let why = format!("\"{other}\" is unknown; give grey-tip, or leave it out");
            return Err(Error::invalid("?seen", why));
        }
    };
    Ok(Asked {
        at,
        since,
        grey_tip,
        explain,
    })
}

/// The part of that code, or the fitted one of that kind.
async fn asked_part(
    db: &impl ConnectionTrait,
    torch: &torch_rows::Model,
    (told, at): (&str, DateTime<Utc>),
) -> Result<part_rows::Model, Error> {
    let is_code = store::parts::find(db, told).await?;
    if let Some(part) = is_code {
        return Ok(part);
    }
    if let Ok(kind) = PartKind::parse(told) {
        let fitted = torches::fitted_at(db, &[torch.id], Some(at.timestamp_micros())).await?;
        let ids = fitted.into_values().flatten();
        let fitted = store::parts::get_many(db, ids).await?;
        let part = fitted.into_iter().find(|part| part.kind == kind.as_str());
        return part.ok_or_else(|| {
            let (noun, torch) = (kind.noun(), &torch.code);
            let why = format!("{torch} has no {noun} fitted; give the code of a part");
            Error::invalid("?part", why)
        });
    }
    let mut named = codes::named_parts(db, &[told], |_| "?part".to_owned()).await?;
    named
        .pop()
        .ok_or_else(|| Error::invalid("?part", "is missing"))
}

impl Shop {
    async fn load(
        db: &impl ConnectionTrait,
        site: sites::Model,
        (at, also): (DateTime<Utc>, Option<&part_rows::Model>),
    ) -> Result<Self, Error> {
        let zone = instant::site_zone(&site.zone);
        let today = instant::day_number(at, zone);
        let torches = store::torches::at_site(db, site.id).await?;
        let until = (zone, at.timestamp_micros());
        let changes = changes::of_torches(db, &torches, until).await?;
        let mut parts: HashMap<i64, part_rows::Model> = HashMap::new();
        let fitted = changes.values().filter_map(|of_torch| of_torch.last());
        let fitted = fitted.flat_map(|change| &change.fitted);
        for part in fitted.chain(also) {
            parts.insert(part.id, part.clone());
        }
        let mut parts: Vec<part_rows::Model> = parts.into_values().collect();
        parts.sort_by_key(|part| part.id);
        let ids: Vec<i64> = torches.iter().map(|torch| torch.id).collect();
        let facts = Facts::HappenedBy(at.timestamp_micros());
        let record = Record::load(db, (&ids, parts), (zone, today, facts)).await?;
        Ok(Self {
            courses: held(db, &site, today).await?,
            site,
            torches,
            changes,
            record,
            today,
        })
    }

    fn changes(&self, torch: i64) -> &[Change] {
        self.changes.get(&torch).map_or(&[], Vec::as_slice)
    }

    /// What is fitted in a torch, rear to tip.
    fn fitted(&self, torch: i64) -> Vec<part_rows::Model> {
        let newest = self.changes(torch).last();
        newest.map_or_else(Vec::new, |change| change.fitted.clone())
    }

    async fn judge(
        &self,
        db: &impl ConnectionTrait,
        (torch, part): (&torch_rows::Model, &part_rows::Model),
        (factors, asked): (&[Option<f64>], &Asked),
    ) -> Result<Result<TorchPartWear, String>, Error> {
        let judge = Judge {
            record: &self.record,
            torch: torch.id,
            changes: self.changes(torch.id),
            today: self.today,
            factors,
        };
        let judged = match judge.part(part, asked.since)? {
            Ok(judged) => judged,
            Err(why) => return Ok(Err(why)),
        };
        let found = Found {
            torch: &torch.code,
            part,
            record: &self.record,
            factors,
            changes: judge.changes,
            above_band: above_band(db, part, &judged).await?,
            judged: &judged,
            courses: &self.courses,
        };
        Ok(Ok(found.view(asked)?))
    }

    async fn o_ring(
        &self,
        db: &impl ConnectionTrait,
        torch: &torch_rows::Model,
        at: DateTime<Utc>,
    ) -> Result<Option<ORingAge>, Error> {
        o_rings::age(db, (torch, &self.site), self.changes(torch.id), at).await
    }
}

/// The courses that were held at a site in the last half year.
async fn held(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    today: i64,
) -> Result<Vec<Course>, Error> {
    let days = [today - 26 * 7, today].map(|day| instant::day_of(day).to_string());
    let rows = store::courses::held(db, site.id, (&days[0], &days[1])).await?;
    let course = |row: store::entity::courses::Model| {
        Ok(Course {
            first: courses::day(&row.starts, &row.code)?,
            last: courses::day(&row.ends, &row.code)?,
            group: row.operator_group,
        })
    };
    rows.into_iter().map(course).collect()
}

/// Whether work in the window was logged above the band that the shop set for such an electrode.
async fn above_band(
    db: &impl ConnectionTrait,
    part: &part_rows::Model,
    judged: &Judged<'_>,
) -> Result<bool, Error> {
    let Some(diameter) = part.diameter_um.and_then(Diameter::from_um) else {
        return Ok(false);
    };
    for polarity in Polarity::ALL {
        let rows = judged
            .rows
            .iter()
            .filter(|row| row.polarity == Some(*polarity));
        let amps = rows.map(|row| row.amps).max().unwrap_or(0);
        if amps == 0 {
            continue;
        }
        let settings = Setting::ALL.iter().filter(|it| it.polarity() == *polarity);
        let mut highest = None;
        for setting in settings {
            for own in current_bands::of_setting(db, *setting).await? {
                let is_of_class = own
                    .class
                    .is_none_or(|class| part.class.as_deref() == Some(class.symbol()));
                if own.diameter == diameter && is_of_class {
                    highest = highest.max(Some(own.band.high()));
                }
            }
        }
        if highest.is_some_and(|highest| amps > highest) {
            return Ok(true);
        }
    }
    Ok(false)
}
