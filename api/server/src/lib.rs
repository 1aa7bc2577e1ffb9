//! The service.
pub mod store;
