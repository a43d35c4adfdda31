//! Does the command do what its help says? The real program on the made-up shop.

mod bench;
mod counter;
mod crash;
mod files;
mod manners;
