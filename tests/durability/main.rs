//! Nothing is lost: the real server killed, starved of disk and locked out of its file; backups,
//! exports, and one server a file.

mod backup;
mod crash;
mod export;
mod import;
mod lock;
mod schema;
mod shop;
mod told;
