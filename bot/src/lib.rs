//! Chat in, chat out: the shell around the scheduler.
//!
//! An update becomes an [`incoming::Incoming`], a typed [`intent::Intent`], and one transaction in [`conversation`] that
//! holds the new state, the messages and the mark of the update. The sender then sends. The timetable enters at the same
//! door. Start at [`engine`] for the flow and at [`conversation`] for what is said.

#![forbid(unsafe_code)]

pub mod backups;
pub mod cli;
pub mod config;
pub mod conversation;
pub mod demo;
pub mod engine;
pub mod house;
pub mod incoming;
pub mod intent;
pub mod line;
pub mod outgoing;
pub mod pictures;
pub mod scenario;
pub mod stage;
pub mod stored;
pub mod telegram;
pub mod watch;

pub mod wording;

pub mod rehearsal;

pub mod phrase;
