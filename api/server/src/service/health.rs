//! Whether the service can do its work.

use super::{Context, Error};

/// The database answers, and the writer runs.
///
/// # Errors
/// [`Error::Unavailable`] if either does not.
pub async fn check(context: &Context) -> Result<(), Error> {
    context.store.ping().await.map_err(|_| Error::Unavailable)?;
    if context.writer.is_running() {
        Ok(())
    } else {
        Err(Error::Unavailable)
    }
}
