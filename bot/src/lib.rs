//! Chat in, chat out: the shell around the scheduler.

pub mod phrase;
