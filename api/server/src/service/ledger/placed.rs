//! An entry in its place: where, when, by whom, for what. Whether its date can be is in `aside`.

use chrono::{DateTime, FixedOffset};
use types::{Circumstances, DEFAULT_GROUP};
use uuid::Uuid;

use super::Request;
use super::names::{Names, Torch};
use crate::service::{Error, instant};
use crate::store::entity::{entries, sites};

/// Where and when an entry belongs.
#[derive(Clone, Debug)]
pub(super) struct Placed<'n> {
    /// The site.
    pub(super) site: &'n sites::Model,
    /// The torch, if one is named.
    pub(super) torch: Option<Torch<'n>>,
    /// When it happened.
    pub(super) at: DateTime<FixedOffset>,
    /// Operator group.
    pub(super) group: String,
    job: Option<i64>,
}

impl<'n> Placed<'n> {
    /// Finds the place of an entry.
    pub(super) fn find(
        request: &Request,
        told: Circumstances<'_>,
        torch: Option<&str>,
        names: &'n Names,
    ) -> Result<Self, Error> {
        let at = told.at.map_or(request.received_at, |at| at.to_utc());
        let torch = torch
            .map(|code| names.torch(code, at.timestamp_micros()))
            .transpose()?;
        let site = names.site(told.site, torch.map(|torch| torch.row))?;
        let at = told.at.unwrap_or_else(|| {
            at.with_timezone(&instant::site_zone(&site.zone))
                .fixed_offset()
        });
        let group = told.group.unwrap_or(DEFAULT_GROUP).to_owned();
        Ok(Self {
            site,
            torch,
            at,
            group,
            job: names.job(told.job)?,
        })
    }

    /// When it happened, as the database keeps it.
    pub(super) fn micros(&self) -> i64 {
        self.at.timestamp_micros()
    }

    /// The row of the entry, with nothing worn yet.
    pub(super) fn entry(
        &self,
        request: &Request,
        kind: &str,
        told: Circumstances<'_>,
    ) -> entries::Model {
        let own = |text: Option<&str>| text.map(str::to_owned);
        entries::Model {
            id: Uuid::now_v7(),
            kind: kind.to_owned(),
            site_id: self.site.id,
            operator_group: self.group.clone(),
            torch_id: self.torch.map(|torch| torch.row.id),
            set_up_id: self.torch.and_then(|torch| torch.set_up),
            job_id: self.job,
            lot: own(told.lot),
            what: None,
            why: None,
            polarity: None,
            amps: None,
            arc_seconds: 0,
            grinds: 0,
            cut_backs: 0,
            starts: 0,
            person: own(told.by),
            note: own(told.note),
            key_id: request.caller.key,
            reverses: None,
            history: request.history,
            happened_at: self.micros(),
            offset_minutes: instant::offset_minutes(&self.at),
            device_at: told.device_at.map(|at| at.timestamp_micros()),
            received_at: request.received_at.timestamp_micros(),
            exposed_part_id: None,
            clock_ahead_seconds: told.clock_ahead_seconds,
            day: instant::day_number(self.at.to_utc(), instant::site_zone(&self.site.zone)),
            arc_from: None,
            student_days: 0,
            arc_timer_minutes: None,
            course_id: None,
        }
    }
}
