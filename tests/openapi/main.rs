//! The contract: the committed document, its rules, and that every operation is called.

mod contract;
mod golden;
mod reader;
mod rules;
mod schema;
mod structure;
mod walk;
