//! The service: `http` over `service` over `store`, each knowing only the ones below it. What the
//! figures mean is computed by the `domain` crate; what goes over the wire is in `types`.

pub mod app;
pub mod channels;
pub mod cli;
pub mod config;
pub mod demo;
pub mod first_start;
pub mod http;
pub mod service;
pub mod sheets;
pub mod store;
pub mod telemetry;
pub mod upkeep;
