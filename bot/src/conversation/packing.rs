//! To be written.

use super::Desk;
use scheduler::people::Person;
use scheduler::store;
use serde::{Deserialize, Serialize};

/// What a person can want here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Ask {}

/// What a chat may answer by typing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Waiting {}

/// Does it.
pub async fn act(_desk: &mut Desk<'_>, _person: &Person, ask: Ask) -> store::Result<()> {
    match ask {}
}

/// Takes a typed answer.
pub async fn answered(_desk: &mut Desk<'_>, _person: &Person, waiting: Waiting, _text: &str) -> store::Result<bool> {
    match waiting {}
}
