//! `undo`: takes an entry back. It stays on record, and a new one undoes its effect.

use clap::Args;
use types::NewReversal;
use uuid::Uuid;

use crate::entry::show_recorded;
use crate::failure::{Failure, exit};
use crate::last::Last;
use crate::queue::Queue;
use crate::shop::Shop;

const EXAMPLES: &str = "\
An entry can be taken back for ten minutes; with a key that may keep stock, at any time.

Examples:
  tigstock undo                                        the last entry made on this computer
  tigstock undo 0197a3c2-5f7e-7cc1-9d6e-2b9a7e0c4d11   a certain one";

/// Take back the last entry made on this computer, or a certain one
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct Undo {
    /// The entry, as named in the answer to it; the last one unless told
    entry: Option<Uuid>,
}

impl Undo {
    pub(crate) async fn run(self, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
        let sent = shop.send_waiting().await;
        if let Some(entry) = self.entry {
            sent?;
            return reverse(entry, shop).await;
        }
        let folder = shop.folder()?;
        match Last::load(&folder)? {
            None => Err(Failure::CommandLine(
                "no entry of this computer to take back; name one: tigstock undo ENTRY".into(),
            )),
            Some(Last::Recorded { entry, .. }) => {
                sent?;
                let code = reverse(entry, shop).await?;
                Last::forget(&folder)?;
                Ok(code)
            }
            Some(Last::Kept { key, what }) => forget_kept(&key, &what, sent, shop),
            Some(Last::Aside { question, .. }) => Err(Failure::CommandLine(format!(
                "it was kept aside and is not recorded: tigstock answer {question} not-recorded"
            ))),
            Some(Last::Arrival { order, .. }) => Err(Failure::CommandLine(format!(
                "order {order} was received as an entry for each part; name the one to take back: \
                 tigstock undo ENTRY"
            ))),
        }
    }
}

async fn reverse(entry: Uuid, shop: &mut Shop<'_, '_>) -> Result<u8, Failure> {
    // The key follows from the entry, so that asking again after a lost answer is harmless.
    let key = format!("undo-{entry}");
    let reversal = NewReversal { entry, why: None };
    let recorded = shop.client.record_reversal(&reversal, &key).await?;
    show_recorded(&recorded, shop.output);
    Ok(exit::DONE)
}

/// Takes back an entry that was never sent: it is simply not kept any more.
fn forget_kept(
    key: &str,
    what: &str,
    sent: Result<(), Failure>,
    shop: &mut Shop<'_, '_>,
) -> Result<u8, Failure> {
    let folder = shop.folder()?;
    let mut queue = Queue::new(folder.clone()).lock()?;
    let Some(waiting) = queue.waiting().iter().find(|waiting| waiting.key == key) else {
        // It was refused, and told so, when it was sent.
        Last::forget(&folder)?;
        return Err(Failure::CommandLine(format!(
            "nothing to take back: {what} was not recorded"
        )));
    };
    if waiting.maybe_sent {
        // Dropping it here would leave it on record there, if it arrived.
        sent?;
        return Err(Failure::CommandLine(format!(
            "{what} may be on record already, and still waits for an answer; try again later"
        )));
    }
    queue.remove(key)?;
    Last::forget(&folder)?;
    let says = format!("Taken back before it was sent: {what}.");
    let answer = serde_json::json!({ "taken_back": true, "idempotency_key": key, "says": says });
    let mut sheet = crate::sheet::Sheet::new([("taken_back", ""), ("idempotency_key", "")]);
    sheet.push(["true".into(), key.into()]);
    shop.output.show_said(&answer, &says, &sheet);
    Ok(exit::DONE)
}
