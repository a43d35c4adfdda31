//! Which part is this: what do the measures and the layout of a removed part say?
