//! The contract: the committed document, its rules, and that every operation is called.
