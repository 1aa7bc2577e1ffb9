//! Use cases: one function each, over the store and the domain. Nothing here knows HTTP or SQL;
//! transactions open and close in `writer` and nowhere else.

use std::sync::Arc;

use crate::store::Store;

pub mod ahead;
pub mod allocations;
pub mod calendar;
pub mod cautions;
pub mod cells;
pub mod changes;
pub mod clock;
pub mod codes;
pub mod count_links;
pub mod count_list;
pub mod courses;
pub mod current_bands;
pub mod deliveries;
pub mod digests;
pub mod drawers;
pub mod due;
pub mod electrodes;
pub mod equivalences;
pub mod error;
pub mod events;
pub mod fits;
pub mod forecasts;
pub mod health;
pub mod ids;
pub mod instant;
pub mod jobs;
pub mod keys;
pub mod kit_checks;
pub mod kit_counts;
mod kit_layout;
pub mod kits;
pub mod known;
pub mod lead_times;
pub mod learned;
pub mod ledger;
pub mod looks;
pub mod lots;
pub mod lulls;
pub mod mail_addresses;
pub mod needs;
pub mod next_work;
pub mod offers;
pub mod orders;
pub mod parts;
pub mod photos;
pub mod procedure_matches;
pub mod procedures;
pub mod pushed;
pub mod questions;
pub mod rebuild;
pub mod replies;
pub mod run_out;
pub mod run_outs;
pub mod seats;
pub mod set_up;
pub mod silences;
pub mod site_rules;
pub mod sites;
pub mod stock;
pub mod stocktake;
pub mod stubs;
pub mod suppliers;
pub mod templates;
pub mod terms;
pub mod torch_wear;
pub mod torches;
pub mod track_record;
pub mod warnings;
pub mod watches;
pub mod webhooks;
pub mod what_next;
pub mod writer;

pub use clock::Clock;
pub use error::{CannotWrite, Error};

use keys::Keys;
use stock::Kept;
use writer::Writer;

/// What every use case works with.
#[derive(Clone, Debug)]
pub struct Context {
    /// The database.
    pub store: Store,
    /// The only source of the present.
    pub clock: Clock,
    /// Who may call.
    pub keys: Arc<Keys>,
    /// Where writes go.
    pub writer: Writer,
    /// Answers on stock that still stand.
    pub kept_stock: Arc<Kept>,
}

impl Context {
    /// Starts the writer over an open store.
    pub fn start(store: Store, clock: Clock) -> Self {
        let writer = Writer::start(store.clone());
        Self {
            store,
            clock,
            keys: Arc::default(),
            writer,
            kept_stock: Arc::default(),
        }
    }
}
