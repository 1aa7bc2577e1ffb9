//! The API as a caller sees it, over a real socket.

mod big_job;
mod errors;
mod forecasts;
mod job_orders;
mod keys;
mod ladder;
mod repeats;
mod roles;
