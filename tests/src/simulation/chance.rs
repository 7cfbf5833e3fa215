//! All chance of a simulation comes from its seed.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// A stream of draws.
#[derive(Clone, Debug)]
pub struct Chance(Pcg64Mcg);

impl Default for Chance {
    fn default() -> Chance {
        Chance::new(0)
    }
}

impl Chance {
    pub fn new(seed: u64) -> Chance {
        Chance(Pcg64Mcg::seed_from_u64(seed))
    }

    /// True once in `count` times.
    pub fn one_in(&mut self, count: u32) -> bool {
        self.0.random_range(0..count) == 0
    }

    /// True in so many of a hundred times.
    pub fn percent(&mut self, percent: u32) -> bool {
        self.0.random_range(0..100) < percent
    }

    /// A number below `end`, which is at least 1.
    pub fn below(&mut self, end: usize) -> usize {
        self.0.random_range(0..end)
    }

    /// Anything from 0 to 1, without 1.
    pub fn share(&mut self) -> f64 {
        self.0.random()
    }

    /// A number of this range.
    pub fn between(&mut self, low: i64, high: i64) -> i64 {
        self.0.random_range(low..=high)
    }

    /// One of these, which are not none.
    pub fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[self.below(from.len())]
    }
}
