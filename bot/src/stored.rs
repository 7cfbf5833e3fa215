//! Whether this program reads what the store keeps for it as text.

use crate::intent::{Asked, Intent};
use crate::outgoing::Body;
use scheduler::store::audit::Form;
use serde::de::DeserializeOwned;

/// Whether a text of this form is read.
pub fn reads(form: Form, text: &str) -> bool {
    fn is<T: DeserializeOwned>(text: &str) -> bool {
        serde_json::from_str::<T>(text).is_ok()
    }
    match form {
        Form::Message => is::<Body>(text),
        Form::Intent => is::<Intent>(text),
        Form::Question => is::<Asked>(text),
    }
}
