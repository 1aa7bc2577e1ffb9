//! Operations on the track record.

use reqwest::Method;
use types::{GetTrackRecord, TrackRecords};

use crate::request::text;
use crate::{Client, Error};

impl Client {
    /// How often forecasts held on the shop's own history.
    pub async fn get_track_record(&self, query: &GetTrackRecord) -> Result<TrackRecords, Error> {
        self.get_with(&["v1", "track-record"], query).await
    }

    /// The same of one part as a chart, in SVG.
    pub async fn get_track_record_chart(&self, query: &GetTrackRecord) -> Result<String, Error> {
        let segments = ["v1", "track-record", "chart.svg"];
        text(self.request(Method::GET, &segments)?.query(query)).await
    }
}
