//! To be written.

use super::Desk;
use scheduler::people::Person;
use scheduler::store;
use serde::{Deserialize, Serialize};

/// What a person can want here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Ask {}

/// Does it.
pub async fn act(_desk: &mut Desk<'_>, _person: &Person, ask: Ask) -> store::Result<()> {
    match ask {}
}
