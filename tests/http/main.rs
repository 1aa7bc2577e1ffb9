//! The API as a caller sees it, over a real socket.

mod addresses;
mod bad_input;
mod big_job;
mod concurrency;
mod counts;
mod errors;
mod extremes;
mod forecasts;
mod job_orders;
mod keys;
mod kit_checks;
mod ladder;
mod movements;
mod pages;
mod repeats;
mod resources;
mod reversals;
mod roles;
mod site_rules;
mod stubs;
mod torches;
mod transfers;
mod unreadable;
mod usage;
