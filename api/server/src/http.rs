//! The routing table, and the order in which a request passes: nothing else.

use utoipa_actix_web::scope;
use utoipa_actix_web::service_config::ServiceConfig;

pub mod auth;
pub mod error;
mod extract;
mod fallback;
pub mod openapi;
mod problems;

mod allocations;
mod buy_list;
mod cautions;
mod cells;
mod changes;
mod closings;
mod count_list;
mod counts;
mod courses;
mod current_bands;
mod drawers;
mod electrodes;
mod entries;
mod equivalences;
mod events;
mod feeds;
mod fits;
mod forecasts;
mod health;
mod jobs;
mod keys;
mod kit_checks;
mod kit_counts;
mod kits;
mod looks;
mod lots;
mod lulls;
mod mail_addresses;
mod movements;
mod offers;
mod orders;
pub mod pages;
mod parts;
mod photos;
mod procedure_matches;
mod procedures;
mod qr;
mod questions;
mod receipts;
mod reversals;
mod run_outs;
mod seats;
pub mod sheets;
mod sites;
mod stock;
mod stubs;
mod suppliers;
mod torch_wear;
mod torches;
mod track_record;
mod transfers;
mod usage;
mod warnings;
mod watches;
mod webhooks;

pub use extract::{json, path, query};
pub use fallback::Fallback;

/// Every operation of the service. The contract is derived from this same table.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.configure(health::routes).service(
        scope("/v1")
            .configure(allocations::routes)
            .configure(buy_list::routes)
            .configure(cautions::routes)
            .configure(cells::routes)
            .configure(changes::routes)
            .configure(count_list::routes)
            .configure(counts::routes)
            .configure(closings::routes)
            .configure(courses::routes)
            .configure(current_bands::routes)
            .configure(drawers::routes)
            .configure(electrodes::routes)
            .configure(entries::routes)
            .configure(equivalences::routes)
            .configure(events::routes)
            .configure(feeds::routes)
            .configure(fits::routes)
            .configure(forecasts::routes)
            .configure(jobs::routes)
            .configure(keys::routes)
            .configure(kit_checks::routes)
            .configure(kit_counts::routes)
            .configure(kits::routes)
            .configure(looks::routes)
            .configure(lots::routes)
            .configure(lulls::routes)
            .configure(mail_addresses::routes)
            .configure(movements::routes)
            .configure(offers::routes)
            .configure(orders::routes)
            .configure(parts::routes)
            .configure(photos::routes)
            .configure(procedure_matches::routes)
            .configure(procedures::routes)
            .configure(questions::routes)
            .configure(receipts::routes)
            .configure(reversals::routes)
            .configure(run_outs::routes)
            .configure(seats::routes)
            .configure(sheets::routes)
            .configure(sites::routes)
            .configure(stock::routes)
            .configure(stubs::routes)
            .configure(suppliers::routes)
            .configure(torch_wear::routes)
            .configure(torches::routes)
            .configure(track_record::routes)
            .configure(transfers::routes)
            .configure(usage::routes)
            .configure(warnings::routes)
            .configure(watches::routes)
            .configure(webhooks::routes),
    );
}
