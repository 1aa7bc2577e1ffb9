//! Figures from outside: each test compares the domain with values that this project did not
//! compute. Where they come from and how close they must be is in the README beside this file.

mod classes;
mod predictive;
mod second_library;
mod sizes;
