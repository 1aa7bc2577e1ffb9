//! The contract: the committed document, its rules, and that every operation is called.

mod contract;
mod docs_page;
mod golden;
mod keys;
mod rules;
mod schema;
mod structure;
mod walk;
