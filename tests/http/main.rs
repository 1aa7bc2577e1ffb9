//! The API as a caller sees it, over a real socket.

mod big_job;
mod job_orders;
mod forecasts;
mod ladder;
mod repeats;
