//! Which sets of parts repair this unit, and what does each cost?
