//! Several messages of one person in turn. Where the bot waits for a yes and the next message is neither a yes nor a no nor a
//! "never mind", its button is pressed first, as whoever sees it does; at the end, too. Then the books must be what the
//! dialogue says.

use super::books::{Books, dates_from};
use super::read::{Dialogue, Entry};
use super::world::World;
use scheduler::clock::LocalDate;
use scheduler::store::deliveries::Source;
use scheduler::surplus::drop::State as DropState;
use std::collections::BTreeMap;

/// How messages begin that answer what was just asked, or take it back.
const ANSWERS: &[&str] = &[
    "y",
    "yes",
    "yep",
    "yeah",
    "yup",
    "ok",
    "okay",
    "sure",
    "correct",
    "right",
    "confirm",
    "confirmed",
    "no",
    "nope",
    "nah",
    "never",
    "nevermind",
    "nvm",
    "forget",
    "scratch",
    "cancel",
    "sí",
    "si",
    "sip",
    "dale",
    "vale",
    "claro",
    "correcto",
    "confirmo",
    "olvídalo",
    "olvidalo",
    "déjalo",
    "dejalo",
    "mejor",
    "cancela",
    "nel",
    "tak",
    "ta",
    "jasne",
    "zgadza",
    "dobra",
    "dobrze",
    "potwierdzam",
    "nie",
    "niewazne",
    "nieważne",
    "jednak",
    "anuluj",
    "👍",
    "👌",
    "✅",
];

/// What became of a dialogue.
#[derive(Clone, Debug)]
pub struct Played {
    pub is_right: bool,
    /// All that was said, for a person to read.
    pub told: String,
    pub changed: String,
}

/// Plays a dialogue; the world is then as it was before.
///
/// # Errors
/// When the bot hangs or the store fails.
pub async fn play(world: &mut World, dialogue: &Dialogue) -> anyhow::Result<Played> {
    let (mut told, mut waits, mut books) = (String::new(), None, world.books.clone());
    for (at, text) in dialogue.says.iter().enumerate() {
        let reading = world.say(text).await?;
        told += &format!("> {text}\n{}\n", indented(&reading.text()));
        books = reading.books;
        if reading.yes.is_some() || !reading.answers.is_empty() {
            waits = reading.yes;
        }
        let is_answered_next = dialogue.says.get(at + 1).is_some_and(|next| is_answer(next));
        if let Some(yes) = waits.take_if(|_| !is_answered_next) {
            let pressed = world.press(&yes).await?;
            told += &format!("[{}]\n{}\n", yes.label, indented(&pressed.text()));
            books = pressed.books;
        }
    }
    let is_right = is_right(world, &books, dialogue);
    world.go_home().await?;
    Ok(Played { is_right, told, changed: books.news(&world.books) })
}

fn is_answer(text: &str) -> bool {
    let first =
        text.split(|letter: char| letter.is_whitespace() || ",.!?".contains(letter)).find(|word| !word.is_empty());
    first.is_some_and(|word| ANSWERS.contains(&word.to_lowercase().as_str()))
}

fn indented(text: &str) -> String {
    text.lines().map(|line| format!("    {line}")).collect::<Vec<_>>().join("\n")
}

/// Whether the writer's part of the books is exactly what the dialogue lists.
fn is_right(world: &World, books: &Books, dialogue: &Dialogue) -> bool {
    let mut expected = Books { drops: Vec::new(), ..world.books.clone() };
    let buyer = &world.scene.buyer;
    let is_restaurant = dialogue.role == super::read::Who::Restaurant;
    if is_restaurant {
        expected.asked.retain(|(name, ..), _| name != buyer);
        expected.standing.retain(|(name, _), _| name != buyer);
    }
    let mut skipped = Vec::new();
    let mut once: BTreeMap<(String, LocalDate, String), i64> = BTreeMap::new();
    for entry in &dialogue.after {
        match entry {
            Entry::BuyerOrder { crop, grams, day } => {
                *once.entry((buyer.clone(), *day, crop.clone())).or_default() += grams;
            }
            Entry::Standing { crop, grams, every_weeks } => {
                expected.standing.insert((buyer.clone(), crop.clone()), (*grams, *every_weeks));
            }
            Entry::Skipped { from, to } => skipped.push((*from, *to)),
            Entry::Picked { crop, grams, day } => {
                *expected.picked.entry((crop.clone(), *day)).or_default() += grams;
                *expected.stock.entry(crop.clone()).or_default() += grams;
            }
            Entry::Drop(_) | Entry::Delivered(_) => {}
        }
    }
    if is_restaurant {
        expected.asked.extend(standing_dates(books, &expected, (buyer, &skipped)));
        // An order for a day on which a standing one is due is all of that day.
        expected.asked.extend(once);
    }
    let drop_is = |said: &str| match books.drops.first().map(|drop| drop.state) {
        Some(DropState::Agreed) => said == "agreed",
        Some(DropState::Declined | DropState::Cancelled) => said == "refused",
        Some(DropState::Proposed) => said == "open",
        _ => false,
    };
    let is_handed = |name: &str| {
        let mut lines = books.lines.iter().filter(|(key, _)| key.0 == name).peekable();
        lines.peek().is_some() && lines.all(|(_, line)| line.delivered.is_some())
    };
    let named: Vec<&str> = dialogue.after.iter().filter_map(delivered_to).collect();
    let handed_otherwise =
        books.lines.iter().any(|(key, line)| line.delivered.is_some() && !named.contains(&key.0.as_str()));
    let special = dialogue.after.iter().all(|entry| match entry {
        Entry::Drop(said) => drop_is(said),
        Entry::Delivered(name) => is_handed(name),
        _ => true,
    });
    // A short line's answer leaves its trace in what is asked for later days and in the day's lines.
    if world.scene.is_short {
        return special && short_is_right(world, books, dialogue);
    }
    expected.drops.clone_from(&books.drops);
    expected.batches.clone_from(&books.batches);
    if !named.is_empty() {
        expected.lines.clone_from(&books.lines);
        expected.stock.clone_from(&books.stock);
    }
    special && !handed_otherwise && expected.agrees(books)
}

fn delivered_to(entry: &Entry) -> Option<&str> {
    match entry {
        Entry::Delivered(name) => Some(name),
        _ => None,
    }
}

/// What the expected standing orders ask for, on the dates that are on the books for them: their rhythm was compared, the
/// first date is the bot's to choose, and what is skipped is left out.
fn standing_dates(
    books: &Books,
    expected: &Books,
    (buyer, skipped): (&str, &[(LocalDate, LocalDate)]),
) -> Vec<((String, LocalDate, String), i64)> {
    let mut lines = Vec::new();
    for ((name, crop), (grams, weeks)) in expected.standing.iter().filter(|((name, _), _)| name == buyer) {
        let there: Vec<LocalDate> =
            books.asked.keys().filter(|(of, _, what)| of == name && what == crop).map(|(_, day, _)| *day).collect();
        let Some(first) = there.iter().min().copied() else { continue };
        let first = if skipped.is_empty() { first } else { "2026-06-04".parse().expect("a day") };
        let days = dates_from(first, *weeks);
        let is_skipped = |day: &LocalDate| skipped.iter().any(|(from, to)| (from..=to).contains(&day));
        lines.extend(days.filter(|day| !is_skipped(day)).map(|day| ((name.clone(), day, crop.clone()), *grams)));
    }
    lines
}

/// After a shortage: what comes on each day, whether as a line of a closed day or as an order for a later one.
fn short_is_right(world: &World, books: &Books, dialogue: &Dialogue) -> bool {
    let mut comes: BTreeMap<(LocalDate, String), i64> = BTreeMap::new();
    for ((buyer, day, crop, _), line) in &books.lines {
        if *buyer == world.scene.buyer {
            *comes.entry((*day, crop.clone())).or_default() += line.promised;
        }
    }
    let closed: Vec<LocalDate> = books.lines.keys().map(|(_, day, ..)| *day).collect();
    for ((buyer, day, crop), grams) in &books.asked {
        if *buyer == world.scene.buyer && !closed.contains(day) {
            *comes.entry((*day, crop.clone())).or_default() += grams;
        }
    }
    comes.retain(|_, grams| *grams > 0);
    let mut expected: BTreeMap<(LocalDate, String), i64> = BTreeMap::new();
    for entry in &dialogue.after {
        if let Entry::BuyerOrder { crop, grams, day } = entry {
            *expected.entry((*day, crop.clone())).or_default() += grams;
        }
    }
    let is_answered = books.lines.iter().all(|((_, _, _, source), line)| {
        *source == Source::Swap || line.state != scheduler::store::deliveries::State::Short || dialogue.after.is_empty()
    });
    let is_near = |one: &i64, other: &i64| (one - other).abs() <= 2;
    is_answered
        && comes.len() == expected.len()
        && comes.iter().zip(&expected).all(|((key, grams), (wanted, most))| key == wanted && is_near(grams, most))
}
