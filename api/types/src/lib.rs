//! The wire contract of tigstock: every body, query and path of the API, and the checks that turn
//! them into values of `domain`. Server and client share it, so they cannot drift apart. What lives
//! here is a promise to users: change it with care, and never add a rule of business.

pub mod circumstances;
pub mod counts;
pub mod forecasts;
pub mod health;
pub mod jobs;
pub mod keys;
pub mod kit_checks;
pub mod kits;
pub mod movements;
pub mod needs;
pub mod offers;
pub mod orders;
pub mod page;
pub mod parts;
pub mod problem;
pub mod receipts;
pub mod reversals;
mod shape;
pub mod sites;
pub mod stock;
pub mod stubs;
pub mod suppliers;
pub mod torches;
pub mod transfers;
pub mod usage;
pub mod violation;

pub use circumstances::*;
pub use counts::*;
pub use forecasts::*;
pub use health::*;
pub use jobs::*;
pub use keys::*;
pub use kit_checks::*;
pub use kits::*;
pub use movements::*;
pub use needs::*;
pub use offers::*;
pub use orders::*;
pub use page::*;
pub use parts::*;
pub use problem::*;
pub use receipts::*;
pub use reversals::*;
pub use sites::*;
pub use stock::*;
pub use stubs::*;
pub use suppliers::*;
pub use torches::*;
pub use transfers::*;
pub use usage::*;
pub use violation::*;
