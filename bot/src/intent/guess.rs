//! What was read but for some words, or may be one of several things: asked with what would be done on a button.

use super::Intent;
use crate::conversation::{Button, Desk, Letter, ordering, typing};
use crate::phrase::folded;
use crate::wording::{Args, Voice};
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;

/// Asks whether the guess is right, with the words quoted that were left out. A wish that is said back anyway is said back
/// with them; it is given on then.
///
/// # Errors
/// Whatever the store fails with.
pub async fn ask(
    desk: &mut Desk<'_>,
    person: &Person,
    (intent, left): (Intent, &[String]),
    text: &str,
) -> store::Result<Option<Intent>> {
    let voice = desk.voice(person);
    let words = Args::new().text("words", left.join(", "));
    if let Intent::Ordering(ask) = &intent
        && ask.is_said_back()
    {
        desk.preface(voice.say("unclear-left-out", &words));
        return Ok(Some(intent));
    }
    let html = voice.say("unclear-guess", &words.text("text", without(text, left)));
    let label = voice.plain("unclear-button-guess", &Args::new());
    let meant = typing::Ask::Meant { intent: Box::new(intent) };
    let letter = Letter::new(html).row([Button::new(label, Intent::Typing(meant))]);
    desk.answer(person, letter.on_card("guess").at_end()).await?;
    Ok(None)
}

/// Asks which of these is meant, a button each.
///
/// # Errors
/// Whatever the store fails with.
pub async fn which(desk: &mut Desk<'_>, person: &Person, intents: Vec<Intent>) -> store::Result<()> {
    let voice = desk.voice(person);
    let mut letter = Letter::new(voice.say("unclear-which-of", &Args::new()));
    for intent in intents {
        let Some(label) = label(desk, &voice, &intent) else { continue };
        let meant = typing::Ask::Meant { intent: Box::new(intent) };
        letter = letter.row([Button::new(label, Intent::Typing(meant))]);
    }
    desk.answer(person, letter.on_card("guess").at_end()).await
}

/// A wish in the words of its button: its weights.
fn label(desk: &Desk<'_>, voice: &Voice, intent: &Intent) -> Option<String> {
    use crate::conversation::growing::Ask as Growing;
    use ordering::{Ask, How};
    let weight = |how: &How| match how {
        How::Set(grams) | How::More(grams) | How::Less(grams) => Some(*grams),
        How::Nothing => None,
    };
    let lines: Vec<(String, Grams)> = match intent {
        Intent::Ordering(Ask::Place { lines, .. } | Ask::Change { lines, .. } | Ask::Standing { lines, .. })
        | Intent::Growing(Growing::Picked { lines, .. }) => lines.clone(),
        Intent::Ordering(Ask::Edit { edits, .. }) => {
            edits.iter().filter_map(|edit| Some((edit.crop.clone()?, weight(&edit.how)?))).collect()
        }
        Intent::Ordering(Ask::StandingEdit { edits, .. } | Ask::UsualWith { edits, .. }) => {
            edits.iter().filter_map(|(crop, how)| Some((crop.clone(), weight(how)?))).collect()
        }
        Intent::Ordering(Ask::MakeIt { grams, .. }) => return Some(voice.weight(*grams)),
        _ => return None,
    };
    let amounts: Vec<String> = lines.iter().map(|(crop, grams)| desk.house.amount(crop, *grams, voice)).collect();
    (!amounts.is_empty()).then(|| amounts.join(", "))
}

/// The text without the words that were left out.
fn without(text: &str, left: &[String]) -> String {
    let is_left = |word: &str| {
        let bare: String = folded(word).chars().filter(|letter| letter.is_alphanumeric()).collect();
        left.iter().any(|one| folded(one) == bare)
    };
    text.split_whitespace().filter(|word| !is_left(word)).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_left_out_are_left_out_of_the_text() {
        let left = ["zorp".to_owned()];
        assert_eq!(without("5 lb Zorp, oyster", &left), "5 lb oyster");
        assert_eq!(without("5 lb oyster", &left), "5 lb oyster");
    }
}
