//! The wire contract of tigstock: every body, query and path of the API, and the checks that turn
//! them into values of `domain`. Server and client share it, so they cannot drift apart. What lives
//! here is a promise to users: change it with care, and never add a rule of business.

pub mod circumstances;
pub mod counts;
pub mod drawers;
pub mod entries;
pub mod forecasts;
pub mod health;
pub mod jobs;
pub mod keys;
pub mod kits;
pub mod movements;
pub mod needs;
pub mod offers;
pub mod orders;
pub mod page;
pub mod parts;
pub mod photos;
pub mod problem;
pub mod questions;
pub mod receipts;
pub mod reversals;
mod shape;
pub mod sites;
pub mod stock;
pub mod suppliers;
pub mod torches;
pub mod usage;
pub mod violation;

pub use circumstances::*;
pub use counts::*;
pub use drawers::*;
pub use entries::*;
pub use forecasts::*;
pub use health::*;
pub use jobs::*;
pub use keys::*;
pub use kits::*;
pub use movements::*;
pub use needs::*;
pub use offers::*;
pub use orders::*;
pub use page::*;
pub use parts::*;
pub use photos::*;
pub use problem::*;
pub use questions::*;
pub use receipts::*;
pub use reversals::*;
pub use sites::*;
pub use stock::*;
pub use suppliers::*;
pub use torches::*;
pub use usage::*;
pub use violation::*;
