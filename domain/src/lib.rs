//! The TIG torch consumables of a small shop as pure computation. No clock, no database, no
//! network: whatever changes is passed in.
#![doc = include_str!("../README.md")]
#![warn(missing_docs, clippy::missing_errors_doc)]

// In reading order: what things are, what is there, how it wears, what follows.
pub mod named;
pub mod nearest;

pub mod class;
pub mod code;
pub mod drawer_label;
pub mod part;
pub mod quantity;
pub mod size;

pub mod exposure;
pub mod ledger;
pub mod question;
pub mod variance;

mod special;

#[cfg(test)]
mod dice;

pub mod assumption;
pub mod kept_plan;
pub mod pace;
pub mod predictive;
pub mod shared_factor;
pub mod wear;

pub mod calendar;
pub mod counting;
pub mod course;
pub mod forecast;
pub mod goods_in;
pub mod intermittent;
pub mod job;
pub mod lead_time;
pub mod lull;
pub mod o_ring;
pub mod order;
pub mod pack;
pub mod policy;
pub mod review;
pub mod run_out_blame;
pub mod silence;
pub mod torch_wear;
pub mod track_record;
pub mod warning;
pub mod watch;

pub mod fit;
pub mod kit;
pub mod procedure;
pub mod seat;
pub mod site_rule;

pub mod advice;
pub mod amount;
pub mod gas;
pub mod weld;

pub mod safety;
