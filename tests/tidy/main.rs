//! The shape of the project as tests: who may name whom, how files look, which words stay out, and
//! whether the documents keep up with the code. They read source text only, so they run in a moment.

mod files;
mod layers;
mod problems;
mod settings;
mod source;
mod words;
