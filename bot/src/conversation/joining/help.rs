//! `/help`: what this person can do, with examples in their own units. What is said back before it is done, and what only
//! shows something, has a button that acts as if it had been typed; what writes something down stands as a line that is
//! copied with one tap, so that a wet thumb writes no harvest down.

use crate::conversation::typing::Ask as Typing;
use crate::conversation::{Button, Desk, Letter};
use crate::intent::{Intent, commands};
use crate::wording::{Args, Voice, key};
use scheduler::people::{Person, Role};
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::store;

/// Commands that also get a button: the ones used daily stand first in the table.
const COMMAND_BUTTONS: usize = 4;

/// Answers it.
pub async fn help(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let text_key = match person.role {
        Role::Keeper => key("help-keeper"),
        Role::Grower | Role::Driver => key("help-family"),
        Role::Buyer => key("help-buyer"),
        Role::Pantry => key("help-pantry"),
    };
    let mut lines = vec![voice.say(text_key, &Args::new())];
    let copied = copied(desk, person.role, &voice);
    if !copied.is_empty() {
        lines.push(voice.say("help-copy", &Args::new()));
        lines.extend(copied.iter().map(|line| voice.say("help-copy-line", &Args::new().text("line", line.clone()))));
    }
    lines.push(String::new());
    for command in commands::of_role(person.role) {
        lines.push(format!("/{} – {}", command.word, voice.say(command.key, &Args::new())));
    }
    let mut letter = Letter::new(lines.join("\n"));
    for text in tapped(desk, person.role, &voice) {
        let ask = Typing::Say { text: text.clone() };
        letter = letter.row([Button::new(text, Intent::Typing(ask))]);
    }
    for command in commands::of_role(person.role).take(COMMAND_BUTTONS) {
        letter = letter.row([Button::new(voice.plain(command.key, &Args::new()), (command.read)(""))]);
    }
    desk.answer(person, letter).await
}

/// So much of the farm's first crop and of its second, in round numbers of the reader's units.
fn amounts(desk: &Desk<'_>, voice: &Voice) -> Vec<String> {
    let round = match voice.reader().units {
        UnitSystem::Metric => [2000, 1000],
        // Five and two pounds (NIST SP 811: 453.592 37 g each).
        UnitSystem::Avoirdupois => [2268, 907],
    };
    let crops = desk.house.crops.iter().zip(round);
    crops.map(|(crop, grams)| desk.house.amount(crop.key.as_str(), Grams::new(grams), voice)).collect()
}

/// What a button may say: nothing is done before it is said back.
fn tapped(desk: &Desk<'_>, role: Role, voice: &Voice) -> Vec<String> {
    if role != Role::Buyer {
        return Vec::new();
    }
    let amounts = amounts(desk, voice);
    let what = |text_key, amount: &String| voice.plain(text_key, &Args::new().text("what", amount.clone()));
    let mut examples: Vec<String> =
        amounts.first().map(|first| what(key("example-order"), first)).into_iter().collect();
    examples.extend(amounts.last().map(|last| what(key("example-weekly"), last)));
    examples.push(voice.plain("example-same", &Args::new()));
    examples.push(voice.plain("example-skip", &Args::new()));
    examples
}

/// What is written down at once when it is typed.
fn copied(desk: &Desk<'_>, role: Role, voice: &Voice) -> Vec<String> {
    let amounts = amounts(desk, voice);
    let what = amounts.first().cloned().unwrap_or_default();
    let with_what = |text_key| voice.plain(text_key, &Args::new().text("what", what.clone()));
    match role {
        Role::Keeper | Role::Grower => vec![
            with_what(key("example-picked")),
            voice.plain("example-soaked", &Args::new()),
            voice.plain("example-lost", &Args::new()),
        ],
        Role::Driver => vec![with_what(key("example-handed"))],
        Role::Buyer | Role::Pantry => Vec::new(),
    }
}
