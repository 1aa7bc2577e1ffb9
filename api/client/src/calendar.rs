//! The calendar feed.

use reqwest::Method;
use types::GetCalendar;

use crate::request::text;
use crate::{Client, Error};

impl Client {
    /// What is to be done by when, as a calendar (RFC 5545).
    pub async fn get_calendar(&self, query: &GetCalendar) -> Result<String, Error> {
        let segments = ["v1", "calendar.ics"];
        text(self.request(Method::GET, &segments)?.query(query)).await
    }
}
