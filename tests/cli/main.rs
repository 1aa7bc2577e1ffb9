//! The command line against a real server, and both programs as a person starts them.

mod cautions;
mod changes;
mod computer;
mod courses;
mod demo;
mod explain;
mod import;
mod kit;
mod log;
mod lulls;
mod matching;
mod order;
mod plan;
mod questions;
mod queue;
mod serve;
mod site_rules;
mod stock;
mod suppliers;
mod torch_wear;
mod track_record;
mod undo;
mod upkeep;
mod warn;
mod welds;
mod why_out;
