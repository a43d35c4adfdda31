//! What must be ordered, how many, from whom, and why?
