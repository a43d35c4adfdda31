//! What does a person see and press?
