//! The API as a caller sees it, over a real socket.
