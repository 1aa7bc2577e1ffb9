//! The command line against a real server, and both programs as a person starts them.
