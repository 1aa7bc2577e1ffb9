//! The schema: up, down and up again, and equal to the entities.
