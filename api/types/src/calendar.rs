//! The calendar feed: what is to be done by when, for a calendar program to subscribe to (RFC 5545).

use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

/// The media type of a calendar.
pub const CALENDAR_MEDIA_TYPE: &str = "text/calendar; charset=utf-8";

/// Which calendar to read.
#[derive(Clone, Default, Serialize, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct GetCalendar {
    /// The site; all sites unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// The instant to look from; the present unless told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[param(example = "2026-06-15T08:00:00-03:00")]
    pub now: Option<String>,
    /// A key, for calendar programs, which cannot send one in a header. Only a key of the role `read` is
    /// taken here, since addresses are kept in many places.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key: Option<String>,
}

// Written out, since a debug print must not show a key.
impl std::fmt::Debug for GetCalendar {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("GetCalendar")
            .field("site", &self.site)
            .field("now", &self.now)
            .finish_non_exhaustive()
    }
}

/// A calendar (RFC 5545) in UTF-8: from 30 days back to 400 days ahead, the hours by which short jobs and
/// courses are to be ordered for, deliveries, starts of jobs, days of courses and of their preparation, the
/// days on which suppliers are shut, and the warnings that stand, of watches that tell them here. Hours are in UTC.
#[derive(Clone, Debug, PartialEq, Eq, ToSchema)]
#[schema(value_type = String)]
pub struct CalendarText(pub String);
