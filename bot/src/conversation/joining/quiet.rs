//! Quiet hours by chat: buttons under the settings, or typed as "quiet from 22 to 6", "silencio de 22 a 6", "cisza od 22 do
//! 6". Rule: what is read is shown back, and a text that is not understood whole is none of ours.

use super::{Ask, Waiting, reading};
use crate::conversation::giving::hours;
use crate::conversation::{Button, Desk, Letter};
use crate::intent::{Intent, Waiting as Question};
use crate::phrase::folded;
use crate::wording::{Args, Voice, key};
use scheduler::people::Person;
use scheduler::people::quiet::QuietHours;
use scheduler::store::{self, held, people};

/// What is offered as a button: minutes of the day.
const OFFERED: [(u32, u32); 3] = [(21 * 60, 7 * 60), (22 * 60, 6 * 60), (20 * 60, 8 * 60)];
/// Longer nights than this are half a clock misread, where nobody said "am" or "pm".
const LONGEST_MINUTES: u32 = 14 * 60;
const NOON: u32 = 12 * 60;

/// Words that begin a wish for quiet hours, in every language: whoever writes may mix them.
const QUIET: [&str; 7] = ["quiet", "silence", "silencio", "cisza", "cicho", "ciszy", "silent"];
const HOURS: [&str; 4] = ["hours", "time", "horas", "nocna"];
/// What says that there shall be none.
const NONE: [&str; 8] = ["no", "off", "without", "sin", "bez", "none", "nunca", "brak"];

/// What a text says of quiet hours; `None` where it is about something else, `Some(None)` for none at all.
pub fn read(text: &str) -> Option<Option<QuietHours>> {
    let folded = folded(text).replace(['–', '—'], "-");
    let words: Vec<&str> = folded.split_whitespace().map(|word| word.trim_end_matches(['.', '!', ',', ':'])).collect();
    let is_any_of = |words: &[&[&str]], word: &str| words.iter().any(|words| words.contains(&word));
    if words.iter().all(|word| is_any_of(&[&QUIET, &HOURS, &NONE], word)) {
        let is_none = words.iter().any(|word| QUIET.contains(word)) && words.iter().any(|word| NONE.contains(word));
        return is_none.then_some(None);
    }
    let rest = words.iter().skip(1).skip_while(|word| HOURS.contains(word)).copied().collect::<Vec<_>>().join(" ");
    if !QUIET.contains(words.first()?) {
        return None;
    }
    read_hours(&rest).map(Some)
}

/// The hours alone, as in "22 to 6", "from 10 pm to 6 am".
fn read_hours(text: &str) -> Option<QuietHours> {
    let (from, to, is_said) = hours::stretch(text)?;
    let (mut from, to) = (u32::from(from) % (2 * NOON), u32::from(to) % (2 * NOON));
    let long = (to + 2 * NOON - from) % (2 * NOON);
    if !is_said && from < NOON && long > LONGEST_MINUTES {
        // "From 10 to 6": in the evening, as nobody is left alone for twenty hours.
        from += NOON;
    }
    QuietHours::between(from, to)
}

/// When the person is left alone, as a sentence.
pub fn sentence(voice: &Voice, quiet: Option<QuietHours>) -> String {
    match quiet {
        Some(quiet) => voice.say("quiet-hours", &Args::new().wall_time("from", quiet.from).wall_time("to", quiet.to)),
        None => voice.say("quiet-none", &Args::new()),
    }
}

/// The button under the settings.
pub fn button(voice: &Voice) -> Button {
    Button::new(voice.plain(key("button-quiet"), &Args::new()), Intent::Joining(Ask::QuietHours))
}

/// Asks for the hours.
pub async fn ask(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    desk.ask(person, &Question::Joining(Waiting::QuietHours)).await?;
    let text = [sentence(&voice, person.quiet), voice.say("quiet-question", &Args::new())].join("\n");
    let offered = OFFERED.into_iter().filter_map(|(from, to)| {
        let quiet = QuietHours::between(from, to)?;
        let args = Args::new().wall_time("from", quiet.from).wall_time("to", quiet.to);
        let label = voice.plain("quiet-between", &args);
        Some(Button::new(label, Intent::Joining(Ask::Quiet { minutes: Some((from, to)) })))
    });
    let none =
        Button::new(voice.plain("button-quiet-none", &Args::new()), Intent::Joining(Ask::Quiet { minutes: None }));
    let back = Button::new(voice.plain("button-settings", &Args::new()), Intent::Joining(Ask::Settings));
    let letter = offered.fold(Letter::new(text), |letter, button| letter.row([button])).row([none]).row([back]);
    desk.answer(person, letter).await
}

/// Takes typed hours as the answer; `false` when they are none.
pub async fn answered(desk: &mut Desk<'_>, person: &Person, text: &str) -> store::Result<bool> {
    let quiet = read(text).or_else(|| read_hours(&folded(text).replace(['–', '—'], "-")).map(Some));
    let Some(quiet) = quiet else { return Ok(false) };
    set(desk, person, quiet.map(QuietHours::minutes)).await?;
    Ok(true)
}

/// Sets the hours; what is held for longer than they last now is sent when they end.
pub async fn set(desk: &mut Desk<'_>, person: &Person, minutes: Option<(u32, u32)>) -> store::Result<()> {
    let quiet = minutes.and_then(|(from, to)| QuietHours::between(from, to));
    let (now, zone) = (desk.now, desk.house.zone());
    desk.close_question(person).await?;
    people::set_quiet(&mut desk.tx, person.id, quiet).await?;
    let awake_at = quiet.map_or(now, |quiet| quiet.awake_at(now, zone));
    held::set_due(&mut desk.tx, person.chat_id, awake_at).await?;
    reading(desk, &Person { quiet, ..person.clone() }).await
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn typed_quiet_hours_are_read() {
        let of = |from: u32, to: u32| Some(QuietHours::between(from * 60, to * 60));
        for (text, expected) in [
            ("quiet from 22 to 6", of(22, 6)),
            ("Quiet hours 10 pm to 6 am", of(22, 6)),
            ("quiet 9-7", of(21, 7)),
            ("quiet from 13 to 15", of(13, 15)),
            ("silencio de 22 a 6", of(22, 6)),
            ("Silencio de las 21:00 a las 7:00", of(21, 7)),
            ("cisza od 22 do 6", of(22, 6)),
            ("cisza nocna 22:00–6:00", of(22, 6)),
            ("no quiet hours", Some(None)),
            ("quiet off", Some(None)),
            ("sin silencio", Some(None)),
            ("bez ciszy", Some(None)),
            ("quiet from 25 to 6", None),
            ("quiet from 22 to 22", None),
            ("quiet", None),
            ("22 to 6", None),
            ("quiet from 22 to 6 on Fridays", None),
            ("5 lb shiitake", None),
        ] {
            assert_eq!(read(text), expected, "{text}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_read_without_panic(text in any::<String>()) {
            let _ = read(&format!("quiet {text}"));
        }
    }
}
