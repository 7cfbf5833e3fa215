//! A weight typed in answer to a question.

use super::{Draft, Waiting, draft, limits, read_book, refuse, reply, standing};
use crate::conversation::{Desk, Letter};
use crate::intent::Waiting as Question;
use crate::intent::answer::{self, Answer};
use crate::wording::Args;
use scheduler::people::Person;
use scheduler::store;

/// Asks for a weight.
///
/// # Errors
/// Whatever the store fails with.
pub async fn ask(desk: &mut Desk<'_>, person: &Person, waiting: Waiting) -> store::Result<()> {
    desk.ask(person, &Question::Ordering(waiting)).await?;
    let html = desk.voice(person).say("order-type-weight", &Args::new());
    reply(desk, person, Letter::new(html)).await
}

/// Takes a typed weight; `false` for a wish of its own.
///
/// # Errors
/// Whatever the store fails with.
pub async fn answered(desk: &mut Desk<'_>, person: &Person, waiting: Waiting, text: &str) -> store::Result<bool> {
    let (voice, house) = (desk.voice(person), desk.house);
    let Some(book) = read_book(desk, person).await? else { return Ok(true) };
    let crop = match &waiting {
        Waiting::Usual { id } => {
            book.standing.iter().find(|kept| kept.stored.id == *id).map(|kept| kept.stored.crop.clone())
        }
        Waiting::Draft(draft) => draft.crop.clone(),
    };
    let known = crop.and_then(|crop| house.crops.get(&crop));
    let Some(known) = known else {
        desk.close_question(person).await?;
        standing::show(desk, person).await?;
        return Ok(true);
    };
    let grams = match answer::weight(desk, person, text, known.key.as_str()) {
        Answer::Read(grams) => grams,
        Answer::Wish => return Ok(false),
        Answer::Unread(question) => {
            let otherwise = voice.say("order-weight-unread", &Args::new());
            let html = answer::unread(desk, &voice, question.as_ref(), otherwise);
            refuse(desk, person, html).await?;
            return Ok(true);
        }
    };
    match limits::weight(house, &voice, known.key.as_str(), grams) {
        Err(refusal) => refuse(desk, person, refusal).await?,
        Ok(grams) => {
            desk.close_question(person).await?;
            match waiting {
                Waiting::Usual { id } => standing::set_usual(desk, person, (id, grams)).await?,
                Waiting::Draft(draft) => {
                    draft::go_on(desk, person, Draft { grams: Some(grams), ..draft }).await?;
                }
            }
        }
    }
    Ok(true)
}
