//! Free text: read by the language's grammar, then given the meaning it has for this role.

use super::{Intent, Origin};
use crate::conversation::{Desk, Letter};
use crate::wording::Args;
use scheduler::people::Person;
use scheduler::store;

/// What a text means for this person; `None` when it was answered here or needs no answer.
///
/// # Errors
/// Whatever the store fails with.
pub async fn read(desk: &mut Desk<'_>, person: &Person, _text: &str, origin: Origin) -> store::Result<Option<Intent>> {
    if origin == Origin::Group {
        return Ok(None);
    }
    let letter = Letter::new(desk.voice(person).say("not-understood", &Args::new()));
    desk.answer(person, letter).await?;
    Ok(None)
}
