//! The command line against a real server.
