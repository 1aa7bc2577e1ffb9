//! The feeds: the calendar, and what was told of warnings.

use reqwest::Method;
use types::{GetCalendar, GetWarningFeed};

use crate::request::text;
use crate::{Client, Error};

impl Client {
    /// What is to be done by when, as a calendar (RFC 5545).
    pub async fn get_calendar(&self, query: &GetCalendar) -> Result<String, Error> {
        let segments = ["v1", "calendar.ics"];
        text(self.request(Method::GET, &segments)?.query(query)).await
    }

    /// What was told of warnings, as a feed (RFC 4287).
    pub async fn get_warning_feed(&self, query: &GetWarningFeed) -> Result<String, Error> {
        let segments = ["v1", "warnings.atom"];
        text(self.request(Method::GET, &segments)?.query(query)).await
    }
}
