//! The API as a caller sees it, over a real socket.

mod addresses;
mod bad_input;
mod big_job;
mod concurrency;
mod counts;
mod double_entry;
mod errors;
mod extremes;
mod forecasts;
mod job_orders;
mod kept_aside;
mod keys;
mod ladder;
mod movements;
mod offline;
mod pages;
mod repeats;
mod resources;
mod reversals;
mod roles;
mod stocktake;
mod torches;
mod unreadable;
mod usage;
