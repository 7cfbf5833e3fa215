//! What will be ready by each day, from the batches on the shelves, and how sure that is.
//!
//! Beliefs about a crop start from a table ([`prior`]), move with the farm's closed flushes ([`learn`]), and become joint
//! draws of the coming days ([`forecast`]) conditioned on what is known of each open flush ([`batch`]). [`supply`] turns
//! the draws and the cold room into what a delivery can count on; [`score`] says how honest it all was, [`backtest`] on the
//! farm's own record beside a [`naive`] forecast; [`buyers`] does
//! for standing orders what the rest does for flushes. Pure: seeded, no clock, no store.

pub mod backtest;
pub mod batch;
pub mod buyers;
pub mod conjugate;
pub mod crop_changes;
mod curve;
mod draw;
mod evidence;
pub mod forecast;
pub mod learn;
pub mod naive;
pub mod outlook;
mod pick_curve;
pub mod prior;
mod ready;
pub mod room;
pub mod score;
pub mod supply;
pub mod warmth;
