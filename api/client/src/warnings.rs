//! Operations on warnings, and looking at what is watched.

use types::{
    GetWarningSelfCheck, ListWarnings, Look, NewAcknowledgement, NewLook, NewQuiet,
    NewWarningCount, Warning, WarningCounted, WarningPage, WarningSelfCheck,
};
use uuid::Uuid;

use crate::{Client, Error};

impl Client {
    /// A page of warnings.
    pub async fn list_warnings(&self, query: &ListWarnings) -> Result<WarningPage, Error> {
        self.get_with(&["v1", "warnings"], query).await
    }

    /// One warning, with what was told in it.
    pub async fn get_warning(&self, warning: Uuid) -> Result<Warning, Error> {
        self.get(&["v1", "warnings", &warning.to_string()]).await
    }

    /// Silences a warning until an end.
    pub async fn quiet_warning(&self, warning: Uuid, new: &NewQuiet) -> Result<Warning, Error> {
        let path = ["v1", "warnings", &warning.to_string(), "quiet"];
        self.create(&path, new).await
    }

    /// Says that a warning was seen.
    pub async fn acknowledge_warning(
        &self,
        warning: Uuid,
        new: &NewAcknowledgement,
    ) -> Result<Warning, Error> {
        let path = ["v1", "warnings", &warning.to_string(), "acknowledgement"];
        self.create(&path, new).await
    }

    /// Answers a wrong warning with a count of its part.
    pub async fn count_for_warning(
        &self,
        warning: Uuid,
        new: &NewWarningCount,
        idempotency_key: &str,
    ) -> Result<WarningCounted, Error> {
        let path = ["v1", "warnings", &warning.to_string(), "count"];
        self.record(&path, new, idempotency_key).await
    }

    /// How many warnings of the last weeks were acted on.
    pub async fn get_warning_self_check(
        &self,
        query: &GetWarningSelfCheck,
    ) -> Result<WarningSelfCheck, Error> {
        self.get_with(&["v1", "warnings", "self-check"], query)
            .await
    }

    /// Looks at everything that is watched, now.
    pub async fn look_at_stock(&self, new: &NewLook) -> Result<Look, Error> {
        self.create(&["v1", "looks"], new).await
    }
}
