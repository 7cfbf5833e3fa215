//! The messaging service, at the edge: updates in, messages out. No other module knows its types.

pub mod connect;
pub mod fault;
pub mod intake;
pub mod introduce;
pub mod pace;
pub mod poll;
pub mod send;
pub mod service;
pub mod update;
pub mod webhook;
pub mod wire;
