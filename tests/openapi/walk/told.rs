//! The walk through what is told: webhooks, mail addresses, the stream of events.

use client::Client;
use types::{EventKind, FollowEvents, NewMailAddress, NewWebhook, Page};

use super::Done;

pub(super) async fn webhooks(client: &Client) -> Done {
    let mut new = NewWebhook {
        // Nothing listens there: what came of it is told.
        url: "http://127.0.0.1:9/hook".to_owned(),
        kinds: vec![EventKind::WarningTold],
        ..NewWebhook::default()
    };
    let made = client.create_webhook(&new).await?.webhook;
    new.note = Some("the lamp over the bench".to_owned());
    client.replace_webhook(made.id, &new, made.version).await?;
    client.try_webhook(made.id).await?;
    client.rotate_webhook_secret(made.id).await?;
    let made = client.enable_webhook(made.id).await?;
    client.get_webhook(made.id).await?;
    client.list_webhooks(&Page::default()).await?;
    client.delete_webhook(made.id, made.version).await
}

pub(super) async fn mail_addresses(client: &Client) -> Done {
    let mut new = NewMailAddress {
        address: "owner@shop.example".to_owned(),
        ..NewMailAddress::default()
    };
    let made = client.create_mail_address(&new).await?;
    new.kinds = vec![EventKind::DigestReady];
    let made = client
        .replace_mail_address(made.id, &new, made.version)
        .await?;
    client.get_mail_address(made.id).await?;
    client.list_mail_addresses(&Page::default()).await?;
    client.delete_mail_address(made.id, made.version).await
}

pub(super) async fn events(client: &Client) -> Done {
    let query = FollowEvents {
        after: Some(0),
        once: Some(true),
    };
    let mut events = client.follow_events(&query).await?;
    while events.next().await?.is_some() {}
    Ok(())
}
