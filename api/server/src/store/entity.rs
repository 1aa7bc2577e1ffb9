//! The tables, one file each, as sea-orm sees them: primitives only. The schema itself is laid down
//! by the migrations; a test keeps the two equal.

#![expect(
    missing_docs,
    reason = "a column means what the field of the contract of that name means"
)]

pub mod borrowings;
pub mod counts;
pub mod course_exercises;
pub mod course_left_out;
pub mod courses;
pub mod current_bands;
pub mod deliveries;
pub mod digests;
pub mod drawer_parts;
pub mod drawer_photos;
pub mod drawers;
pub mod entries;
pub mod equivalence_withdrawals;
pub mod equivalences;
pub mod events;
pub mod job_gas;
pub mod job_left_out;
pub mod job_welds;
pub mod jobs;
pub mod keys;
pub mod kit_alternatives;
pub mod kit_lines;
pub mod kits;
pub mod levels;
pub mod link_keys;
pub mod looks;
pub mod lulls;
pub mod mail_addresses;
pub mod movements;
pub mod offer_breaks;
pub mod offers;
pub mod order_lines;
pub mod orders;
pub mod parts;
pub mod procedure_revisions;
pub mod procedures;
pub mod questions;
pub mod replies;
pub mod seats;
pub mod set_up_parts;
pub mod set_ups;
pub mod sites;
pub mod starting_assumptions;
pub mod stubs;
pub mod supplier_closures;
pub mod suppliers;
pub mod term_changes;
pub mod torches;
pub mod warning_messages;
pub mod warnings;
pub mod watches;
pub mod wear;
pub mod wear_currents;
pub mod wear_days;
pub mod webhooks;
