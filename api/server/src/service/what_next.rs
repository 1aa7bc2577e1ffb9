//! What is next at a site, for its first page: what is to be done, in the order of time, in few lines. Each
//! line was decided elsewhere: by `changes`, by the warnings that stand, by the count list.

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use domain::warning::WarningKind;
use sea_orm::ConnectionTrait;
use types::{GetCountList, NextStep, Warning};
use uuid::Uuid;

use super::silences::{self, Silence};
use super::warnings::view;
use super::{Context, Error, changes, codes, count_list, instant};
use crate::store;
use crate::store::entity::sites;

/// So many lines are read at one look.
const STEPS_MAX: usize = 7;
/// More sites than any shop has.
const SITES_MAX: u64 = 1_000;

/// Where a line leads.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Leads {
    /// Nowhere: it says all there is.
    Nowhere,
    /// To a warning.
    Warning(Uuid),
    /// To what a job or a course needs, by its code.
    Work(String),
}

/// One line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// What is to be done, about what, by when, and why.
    pub step: NextStep,
    /// Where there is more about it.
    pub leads: Leads,
}

/// What is next at a site.
#[derive(Clone, Debug)]
pub struct WhatNext {
    /// The site.
    pub site: String,
    /// All sites.
    pub sites: Vec<String>,
    /// The zone of the site.
    pub zone: Tz,
    /// When this was read.
    pub as_of: DateTime<Utc>,
    /// The first lines, in the order of time.
    pub lines: Vec<Line>,
    /// How many lines more there would be.
    pub more: usize,
    /// How many warnings stand.
    pub standing: usize,
}

/// What is next at a site, or at the first one.
///
/// # Errors
/// There is no such site, or a failure of the store.
pub async fn get(context: &Context, site: Option<&str>) -> Result<WhatNext, Error> {
    let (db, now) = (context.store.read(), context.clock.now());
    let site = codes::site_or_first(db, "?site", site).await?;
    let zone = instant::site_zone(&site.zone);
    let standing = standing(db, &site, now).await?;
    let mut lines: Vec<Line> = standing.iter().filter_map(|it| warned(it, zone)).collect();
    let told: BTreeSet<String> = lines.iter().map(|it| it.step.subject.clone()).collect();
    let steps = changes::steps(db, &site, now).await?;
    // A part that a warning is about has its line, with what to do about it and by when.
    let steps = steps
        .into_iter()
        .filter(|step| step.kind != "none-left" || !told.contains(&step.subject));
    lines.extend(steps.map(line));
    lines.extend(to_count(context, &site, now).await?);
    let silences = silences::of_site(db, &site, now).await?;
    lines.extend(silences.into_iter().map(|it| untold(it, now)));
    lines.sort_by_key(|line| line.step.at);
    let more = lines.len().saturating_sub(STEPS_MAX);
    lines.truncate(STEPS_MAX);
    let sites = store::sites::list(db, None, SITES_MAX).await?;
    Ok(WhatNext {
        site: site.code,
        sites: sites.into_iter().map(|row| row.code).collect(),
        zone,
        as_of: now,
        lines,
        more,
        standing: standing.len(),
    })
}

async fn standing(
    db: &impl ConnectionTrait,
    site: &sites::Model,
    now: DateTime<Utc>,
) -> Result<Vec<Warning>, Error> {
    let rows = store::warnings::open_at(db, site.id).await?;
    view::views(db, &rows, (now, false)).await
}

fn line(step: NextStep) -> Line {
    let leads = match step.kind.as_str() {
        "order-by" | "blocked" => Leads::Work(step.subject.clone()),
        _ => Leads::Nowhere,
    };
    Line { step, leads }
}

/// The line of a warning. What is silent has none, and neither has a deadline of work, which has one among
/// the steps.
fn warned(warning: &Warning, zone: Tz) -> Option<Line> {
    let kind = WarningKind::parse(&warning.kind).ok()?;
    if kind == WarningKind::OrderBy || warning.state == "quiet-until" {
        return None;
    }
    let by = warning.figures.as_ref().and_then(|it| it.order_by);
    let at = by.map_or(warning.opened_at, |by| instant::of_local(by, zone));
    Some(Line {
        step: NextStep {
            kind: kind.as_str().to_owned(),
            at,
            subject: warning.subject.clone(),
            says: warning.says.clone(),
        },
        leads: Leads::Warning(warning.id),
    })
}

fn untold(silence: Silence, now: DateTime<Utc>) -> Line {
    line(NextStep {
        kind: "cannot-say".to_owned(),
        at: now,
        subject: silence.part,
        says: silence.says,
    })
}

/// All drawers that are to be counted, in one line.
async fn to_count(
    context: &Context,
    site: &sites::Model,
    now: DateTime<Utc>,
) -> Result<Option<Line>, Error> {
    let query = GetCountList {
        site: Some(site.code.clone()),
        ..GetCountList::default()
    };
    let list = count_list::get(context, &query).await?;
    if list.lines.is_empty() {
        return Ok(None);
    }
    let each: Vec<String> = list
        .lines
        .iter()
        .map(|it| match &it.drawer {
            Some(drawer) => format!("drawer {drawer}: {} ({})", it.part, it.why),
            None => format!("{} ({})", it.part, it.why),
        })
        .collect();
    let mut places: Vec<&str> = list
        .lines
        .iter()
        .map(|it| it.drawer.as_deref().unwrap_or(&it.part))
        .collect();
    places.dedup();
    Ok(Some(line(NextStep {
        kind: "count".to_owned(),
        at: now,
        subject: places.join(", "),
        says: format!("Count {}.", each.join("; ")),
    })))
}
