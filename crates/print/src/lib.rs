//! How does it come out on paper, at true scale?
