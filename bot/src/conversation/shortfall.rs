//! Talking a shortage over with the buyer: take it, swap, move to the next delivery, or drop the line.

pub mod card;

use super::{Desk, Letter};
use crate::wording::Args;
use scheduler::farm::answering::{self, Answer};
pub use scheduler::farm::closed_day::SwapPart;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use serde::{Deserialize, Serialize};

/// What a person can want here. Each is about one line that is short.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ask {
    /// Take what is promised.
    Take { award: Id },
    /// Take so much of another crop of which there is unpromised stock.
    Swap { award: Id, crop: String, grams: Grams, part: SwapPart },
    /// Nothing of it now, the whole line with the next delivery still open.
    Move { award: Id },
    /// Nothing of it.
    Drop { award: Id },
}

/// Does it. The answer takes the place of the pressed card; to anything else it stands at the end, where it is seen.
///
/// # Errors
/// Whatever the store fails with.
pub async fn act(desk: &mut Desk<'_>, person: &Person, ask: Ask) -> store::Result<()> {
    let answer = match ask {
        Ask::Take { award } => (award, Answer::Take),
        Ask::Swap { award, crop, grams, part } => (award, Answer::Swap { crop, grams, part }),
        Ask::Move { award } => (award, Answer::Move),
        Ask::Drop { award } => (award, Answer::Drop),
    };
    let voice = desk.voice(person);
    let Some(answered) = answering::answer(&mut desk.farm(), person, answer).await? else {
        let text = voice.say("stale-button", &Args::new());
        return desk.answer(person, Letter::new(text)).await;
    };
    let mut letter = card::write(desk.house, &voice, (&answered.day, &answered.occasion)).at_end();
    if desk.is_press() {
        letter.card = None;
    }
    desk.answer(person, letter).await?;
    desk.happened(answered.events);
    Ok(())
}
