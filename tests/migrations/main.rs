//! The schema: up, down and up again, equal to the entities, and the settings of every connection.

mod connections;
mod entities;
mod first_site;
mod schema;
mod steps;
