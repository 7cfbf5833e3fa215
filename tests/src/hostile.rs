//! Bytes from outside, put where the program takes them in: what the fuzz targets of `tests/fuzz` call, and what the tests
//! call with the inputs kept there. Each function panics on a finding and returns quietly otherwise.

mod files;
mod ground;
mod talk;

pub use files::{backup, configuration};
pub use ground::Ground;
pub use talk::{callback, conversation, phrase, update};

use std::cell::OnceCell;

/// Calls `with` on this thread's farm, which is made at the first call: no input leaves anything behind in it.
pub fn on_ground<T>(with: impl FnOnce(&Ground) -> T) -> T {
    thread_local! {
        static GROUND: OnceCell<Ground> = const { OnceCell::new() };
    }
    GROUND.with(|ground| with(ground.get_or_init(|| Ground::new().expect("a farm for the inputs"))))
}
