//! The demo as a story: scene by scene in the order of time, what people do and what the bot writes to whom.

use super::paper::{without_codes, wrap};
use crate::stage::Actor;
use bot_api_local::Call;
use chrono_tz::Tz;
use scheduler::clock::UtcSeconds;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Most lines of one message; the chats have the rest.
const LINES_MAX: usize = 5;
/// Width of a line of a message, characters.
const WIDTH: usize = 92;
/// How a message of the bot is set off.
const MARGIN: &str = "           ";

/// What somebody did.
#[derive(Clone, Debug)]
pub enum Did {
    Wrote(String),
    Pressed(String),
}

/// When something was, by the calls the bot had made until then.
type Moment = (u64, UtcSeconds);

#[derive(Clone, Debug)]
struct Scene {
    title: &'static str,
    readers: Vec<i64>,
    from: Moment,
    acts: Vec<(i64, Did, Moment)>,
}

/// What is noted while the play goes on.
#[derive(Clone, Debug, Default)]
pub struct Notes {
    scenes: Vec<Scene>,
}

/// A line of the story.
struct Told {
    at: UtcSeconds,
    chat_ids: Vec<i64>,
    said: Said,
}

enum Said {
    Did(Did),
    Bot { message_id: i64, text: String, labels: Vec<String> },
}

impl Notes {
    pub fn begin(&mut self, title: &'static str, of: &[Actor], from: Moment) {
        let readers = of.iter().map(|actor| actor.0).collect();
        self.scenes.push(Scene { title, readers, from, acts: Vec::new() });
    }

    pub fn did(&mut self, actor: Actor, did: Did, at: Moment) {
        if let Some(scene) = self.scenes.last_mut() {
            scene.acts.push((actor.0, did, at));
        }
    }

    /// The story on paper; `names` are the people's, by chat.
    pub fn write(&self, calls: &[Call], names: &BTreeMap<i64, &str>, zone: Tz) -> String {
        let mut page = String::new();
        for (index, scene) in self.scenes.iter().enumerate() {
            let until = self.scenes.get(index + 1).map_or(u64::MAX, |next| next.from.0);
            let told = scene.told(calls, until);
            let Some(first) = told.first() else { continue };
            let date = first.at.local(zone).date();
            let _ = writeln!(page, "\n── {}: {} ──", date.format("%A, %B %-d"), scene.title);
            let mut last_at = None;
            for one in &told {
                let at = one.at.local(zone);
                let clock = if last_at.replace(at) == Some(at) { String::new() } else { stamp(at, date) };
                one.write(&mut page, &clock, names);
            }
        }
        page
    }
}

/// The time, with the weekday when it is another than the scene's.
fn stamp(at: chrono::NaiveDateTime, day: chrono::NaiveDate) -> String {
    let pattern = if at.date() == day { "%H:%M" } else { "%a %H:%M" };
    at.format(pattern).to_string()
}

impl Scene {
    /// What its people did and read before the call `until`, as it was.
    fn told(&self, calls: &[Call], until: u64) -> Vec<Told> {
        let mut told: Vec<Told> = Vec::new();
        let mut acts = self.acts.iter().peekable();
        let is_in = |call: &&Call| call.number > self.from.0 && call.number <= until;
        let mut act_before = |number: u64, told: &mut Vec<Told>| {
            while let Some((chat_id, did, at)) = acts.next_if(|(_, _, at)| at.0 < number) {
                if self.readers.contains(chat_id) || self.readers.iter().any(|reader| *reader < 0) {
                    told.push(Told { at: at.1, chat_ids: vec![*chat_id], said: Said::Did(did.clone()) });
                }
            }
        };
        for call in calls.iter().filter(is_in) {
            act_before(call.number, &mut told);
            let Some((chat_id, said)) = read(call) else { continue };
            if self.readers.contains(&chat_id) {
                add(&mut told, call.at, chat_id, said);
            }
        }
        act_before(until, &mut told);
        told
    }
}

/// What a call wrote into which chat; `None` where nobody reads anything new.
fn read(call: &Call) -> Option<(i64, Said)> {
    if !call.is_ok() || call.method.eq_ignore_ascii_case("editMessageReplyMarkup") {
        return None;
    }
    // Pictures, sheets and calendar files are seen in the chats.
    let result = call.answer.as_ref().map(|answer| &answer["result"])?;
    let text = result["text"].as_str()?;
    let rows = result["reply_markup"]["inline_keyboard"].as_array();
    let keys = rows.into_iter().flatten().filter_map(Value::as_array).flatten();
    let labels = keys.filter_map(|key| key["text"].as_str().map(str::to_owned)).collect();
    let message_id = result["message_id"].as_i64()?;
    Some((result["chat"]["id"].as_i64()?, Said::Bot { message_id, text: without_codes(text), labels }))
}

/// The same words to several people are told once; of a message that changes at once, the last.
fn add(told: &mut Vec<Told>, at: UtcSeconds, chat_id: i64, said: Said) {
    let Said::Bot { message_id, text, labels } = &said else { return };
    let since_act = told.iter().rposition(|one| matches!(one.said, Said::Did(_))).map_or(0, |act| act + 1);
    for index in since_act..told.len() {
        let one = &mut told[index];
        let Said::Bot { message_id: other_id, text: other, labels: other_labels } = &mut one.said else { continue };
        if one.chat_ids == [chat_id] && other_id == message_id {
            told.remove(index);
            break;
        }
        if one.at == at && other == text && other_labels == labels {
            one.chat_ids.push(chat_id);
            return;
        }
    }
    told.push(Told { at, chat_ids: vec![chat_id], said });
}

impl Told {
    fn write(&self, page: &mut String, clock: &str, names: &BTreeMap<i64, &str>) {
        let name = |chat_id: &i64| names.get(chat_id).copied().unwrap_or("somebody");
        let who = self.chat_ids.iter().map(name).collect::<Vec<_>>().join(", ");
        match &self.said {
            Said::Did(Did::Wrote(text)) => drop(writeln!(page, "{clock:>9}  {who}: “{text}”")),
            Said::Did(Did::Pressed(label)) => drop(writeln!(page, "{clock:>9}  {who} presses [{label}]")),
            Said::Bot { text, labels, .. } => {
                let text = format!("→ {who}: {text}");
                let lines: Vec<String> =
                    text.lines().filter(|line| !line.is_empty()).flat_map(|line| wrap(line, WIDTH)).collect();
                for (index, line) in lines.iter().take(LINES_MAX).enumerate() {
                    let _ = match index {
                        0 => writeln!(page, "{clock:>9}  {line}"),
                        _ => writeln!(page, "{MARGIN}  {line}"),
                    };
                }
                if lines.len() > LINES_MAX {
                    let _ = writeln!(page, "{MARGIN}  …");
                }
                let keys = labels.iter().map(|label| format!("[{label}]")).collect::<Vec<_>>().join(" ");
                let mut rows = wrap(&keys, WIDTH).into_iter();
                if let Some(row) = rows.next().filter(|row| !row.is_empty()) {
                    let more = if rows.next().is_some() { " …" } else { "" };
                    let _ = writeln!(page, "{MARGIN}  {row}{more}");
                }
            }
        }
    }
}
