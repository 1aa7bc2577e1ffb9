//! The API as a caller sees it, over a real socket.

mod addresses;
mod bad_input;
mod big_job;
mod errors;
mod forecasts;
mod job_orders;
mod keys;
mod ladder;
mod repeats;
mod roles;
mod unreadable;
