//! Whole-program checks share this: the seeded, invented catalogue they run on, and how the
//! benches take time and tell figures.

pub mod corpus;
pub mod figures;
pub mod hostile;
pub mod timing;

/// The program's own: the benches measure what it does.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;
