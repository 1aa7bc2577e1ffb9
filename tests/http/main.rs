//! The API as a caller sees it, over a real socket.

mod addresses;
mod bad_input;
mod big_job;
mod concurrency;
mod counts;
mod drawers;
mod errors;
mod extremes;
mod forecasts;
mod goods_in;
mod job_orders;
mod keys;
mod ladder;
mod movements;
mod pages;
mod photos;
mod repeats;
mod resources;
mod reversals;
mod roles;
mod stocktake;
mod torches;
mod unreadable;
mod usage;
