//! What is wrong with this unit, and which roles does it call for?
