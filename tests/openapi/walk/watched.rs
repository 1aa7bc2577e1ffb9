//! What is watched, what is low, and what people answer to it.

use client::Client;
use types::{
    GetWarningSelfCheck, ListWarnings, ListWatches, NewAcknowledgement, NewLook, NewQuiet,
    NewWarningCount, NewWatch,
};

use super::{COLLET, Done};

/// A part is watched and low, and the warning is silenced, seen and answered by a count.
pub(super) async fn warnings(client: &Client) -> Done {
    let new = NewWatch {
        part: Some(COLLET.to_owned()),
        limit: Some("1000".to_owned()),
        ..NewWatch::default()
    };
    let made = client.create_watch(&new).await?;
    client.list_watches(&ListWatches::default()).await?;
    let id = made.id.expect("it was set");
    let watch = client.get_watch(id).await?;
    let new = watch.clone().into_new();
    let watch = client.replace_watch(id, &new, watch.version).await?;
    let look = client.look_at_stock(&NewLook::default()).await?;
    let low = look
        .told
        .iter()
        .find(|it| it.part.as_deref() == Some(COLLET));
    let low = low.expect("there are fewer than a thousand").id;
    let query = ListWarnings::default();
    client.list_warnings(&query).await?;
    client.get_warnings_sheet(&query).await?;
    client.get_warning(low).await?;
    let quiet = NewQuiet {
        until: "tomorrow".to_owned(),
        on_hand: Some(2),
    };
    client.quiet_warning(low, &quiet).await?;
    let seen = NewAcknowledgement::default();
    client.acknowledge_warning(low, &seen).await?;
    let stock = client
        .get_stock(COLLET, &types::GetStock::default())
        .await?;
    let count = NewWarningCount {
        counted: stock.on_hand,
        by: None,
    };
    client.count_for_warning(low, &count, "count-low").await?;
    let query = GetWarningSelfCheck::default();
    client.get_warning_self_check(&query).await?;
    client.delete_watch(id, watch.version).await
}
