//! The `pinset` program.

fn main() {}
