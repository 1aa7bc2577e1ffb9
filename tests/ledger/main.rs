//! What must hold for the ledger whatever is told, in whatever order, and whatever breaks meanwhile.
//! The histories are made up by proptest; the figures to compare with come from a small model that
//! is written here and shares nothing with the code under test. What an answer looks like on the
//! wire is the business of the suite `http`.

mod asked;
mod checks;
mod history;
mod made_up;
mod model;
mod sent;
mod shop;
mod told;

mod arrival;
mod durability;
mod failures;
mod groups;
mod histories;
mod holds;
mod moved;
mod past;
mod processes;
mod repeats;
