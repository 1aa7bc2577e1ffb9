//! Operations on webhooks.

use types::{NewWebhook, Page, Webhook, WebhookPage, WebhookSecret, WebhookTest};
use uuid::Uuid;

use crate::{Client, Error};

impl Client {
    /// A page of webhooks.
    pub async fn list_webhooks(&self, page: &Page) -> Result<WebhookPage, Error> {
        self.get_with(&["v1", "webhooks"], page).await
    }

    /// Adds a webhook; its secret is in the answer and nowhere else.
    pub async fn create_webhook(&self, new: &NewWebhook) -> Result<WebhookSecret, Error> {
        self.create(&["v1", "webhooks"], new).await
    }

    /// One webhook.
    pub async fn get_webhook(&self, webhook: Uuid) -> Result<Webhook, Error> {
        self.get(&["v1", "webhooks", &webhook.to_string()]).await
    }

    /// Replaces the webhook that had this version.
    pub async fn replace_webhook(
        &self,
        webhook: Uuid,
        new: &NewWebhook,
        version: i64,
    ) -> Result<Webhook, Error> {
        self.replace(&["v1", "webhooks", &webhook.to_string()], new, version)
            .await
    }

    /// Deletes the webhook that had this version.
    pub async fn delete_webhook(&self, webhook: Uuid, version: i64) -> Result<(), Error> {
        self.delete(&["v1", "webhooks", &webhook.to_string()], version)
            .await
    }

    /// Sends a test to a webhook and tells what came back.
    pub async fn try_webhook(&self, webhook: Uuid) -> Result<WebhookTest, Error> {
        self.act(&["v1", "webhooks", &webhook.to_string(), "test"])
            .await
    }

    /// Sends to a disabled webhook again.
    pub async fn enable_webhook(&self, webhook: Uuid) -> Result<Webhook, Error> {
        self.act(&["v1", "webhooks", &webhook.to_string(), "enable"])
            .await
    }

    /// Makes a new secret; it is in the answer and nowhere else.
    pub async fn rotate_webhook_secret(&self, webhook: Uuid) -> Result<WebhookSecret, Error> {
        self.act(&["v1", "webhooks", &webhook.to_string(), "secret"])
            .await
    }
}
