//! The farm's own rule for what is left, as the keeper sets, sees, changes and stops it.

use super::Ask;
use super::rule_text::{self, Typed};
use crate::conversation::{Button, Desk, Letter};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, DateForm, Voice};
use chrono::{Datelike, NaiveTime, Weekday};
use scheduler::farm::surplus::rules::{self, Wanted};
use scheduler::people::Person;
use scheduler::store;
use scheduler::store::surplus_rules;
use scheduler::surplus::rule::Rule;

/// Hours of the day to choose from by button; any other is typed.
const HOURS: [u16; 5] = [9, 12, 15, 17, 20];
const WEEK: [Weekday; 7] =
    [Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri, Weekday::Sat, Weekday::Sun];

fn button(label: String, ask: Ask) -> Button {
    Button::new(label, Intent::Surplus(ask))
}

/// The rules there are, each with its buttons, under a note of what was just done.
pub(super) async fn show(desk: &mut Desk<'_>, person: &Person, note: Option<String>) -> store::Result<()> {
    let voice = desk.voice(person);
    let house = desk.house;
    let rules = surplus_rules::rules(&mut desk.tx).await?;
    let mut lines: Vec<String> = note.into_iter().collect();
    lines.push(voice.say("rules-heading", &Args::new()));
    let mut letter = Letter::new("");
    for rule in &rules {
        lines.push(line(desk, &voice, rule));
        let args = Args::new().text("crop", about(house, &voice, rule.crop.as_deref()));
        letter = letter.row([button(voice.plain("button-stop-rule", &args), Ask::StopRule { rule: rule.id })]);
    }
    if rules.is_empty() {
        lines.push(voice.say("rules-none", &Args::new()));
    }
    lines.push(voice.say("rules-type", &Args::new()));
    letter.html = lines.join("\n");
    for crop in house.crops.keys().into_iter().map(Some).chain([None]) {
        let args = Args::new().text("crop", about(house, &voice, crop.as_deref()));
        letter = letter.row([button(voice.plain("button-set-rule", &args), Ask::RuleDay { crop })]);
    }
    desk.answer(person, letter).await
}

fn about(house: &House, voice: &Voice, crop: Option<&str>) -> String {
    crop.map_or_else(|| voice.plain("rule-all-crops", &Args::new()), |crop| house.crop_name(crop, voice))
}

fn line(desk: &Desk<'_>, voice: &Voice, rule: &Rule) -> String {
    let args = Args::new().text("crop", about(desk.house, voice, rule.crop.as_deref())).wall_time("time", rule.time());
    voice.say("rule-line", &weekday(desk, args, rule.weekday))
}

fn weekday(desk: &Desk<'_>, args: Args, weekday: Weekday) -> Args {
    let next = desk.today().iter_days().find(|day| day.weekday() == weekday).unwrap_or(desk.today());
    args.date_as("weekday", next, DateForm::Weekday)
}

/// On which day does the offer end?
pub(super) async fn ask_day(desk: &mut Desk<'_>, person: &Person, crop: Option<String>) -> store::Result<()> {
    let voice = desk.voice(person);
    let args = Args::new().text("crop", about(desk.house, &voice, crop.as_deref()));
    let mut letter = Letter::new(voice.say("rule-day-question", &args));
    for days in WEEK.chunks(2) {
        letter = letter.row(days.iter().map(|day| {
            let label = voice.plain("rule-day", &weekday(desk, Args::new(), *day));
            button(label, Ask::RuleTime { crop: crop.clone(), weekday: *day })
        }));
    }
    let back = button(voice.plain("button-back", &Args::new()), Ask::Rules);
    desk.answer(person, letter.row([back])).await
}

/// At what time?
pub(super) async fn ask_time(
    desk: &mut Desk<'_>,
    person: &Person,
    (crop, day): (Option<String>, Weekday),
) -> store::Result<()> {
    let voice = desk.voice(person);
    let args = Args::new().text("crop", about(desk.house, &voice, crop.as_deref()));
    let hour = |hour: &u16| {
        let time = NaiveTime::from_hms_opt(u32::from(*hour), 0, 0).expect("an hour of the day");
        let label = voice.plain("rule-time", &Args::new().wall_time("time", time));
        button(label, Ask::SetRule { crop: crop.clone(), weekday: day, minute: hour * 60 })
    };
    let letter = Letter::new(voice.say("rule-time-question", &weekday(desk, args, day))).row(HOURS.iter().map(hour));
    let back = button(voice.plain("button-back", &Args::new()), Ask::RuleDay { crop: crop.clone() });
    desk.answer(person, letter.row([back])).await
}

/// Sets a rule, in place of the one there is for the same crop.
pub(super) async fn set(desk: &mut Desk<'_>, person: &Person, wanted: Wanted) -> store::Result<()> {
    if !rules::set(&mut desk.farm(), person, wanted).await? {
        let text = desk.voice(person).say("stale-button", &Args::new());
        return desk.answer(person, Letter::new(text)).await;
    }
    let note = desk.voice(person).say("rule-set", &Args::new());
    show(desk, person, Some(note)).await
}

/// Stops a rule; what is on offer stays on offer.
pub(super) async fn stop(desk: &mut Desk<'_>, person: &Person, rule: scheduler::id::Id) -> store::Result<()> {
    let voice = desk.voice(person);
    let has_ended = rules::stop(&mut desk.farm(), rule).await?;
    let note =
        if has_ended { voice.say("rule-stopped", &Args::new()) } else { voice.say("stale-button", &Args::new()) };
    show(desk, person, Some(note)).await
}

/// What a keeper's text means, if it is about a rule.
///
/// # Errors
/// Whatever the store fails with.
pub async fn wish(desk: &mut Desk<'_>, text: &str) -> store::Result<Option<Ask>> {
    let crops: Vec<(String, Vec<String>)> = desk
        .house
        .crops
        .iter()
        .map(|crop| (crop.key.as_str().to_owned(), crop.names.values().cloned().collect()))
        .collect();
    Ok(match rule_text::read(text, &crops) {
        None => None,
        Some(Typed::Set { crop, weekday, minute }) => Some(Ask::SetRule { crop, weekday, minute }),
        Some(Typed::Unread) => Some(Ask::RuleUnread),
        Some(Typed::Stop { crop }) => {
            let rules = surplus_rules::rules(&mut desk.tx).await?;
            match rules.iter().find(|rule| rule.crop == crop) {
                Some(rule) => Some(Ask::StopRule { rule: rule.id }),
                None => Some(Ask::Rules),
            }
        }
    })
}

/// It begins like a rule and could not be read: nothing is changed.
pub(super) async fn unread(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let note = desk.voice(person).say("rule-unread", &Args::new());
    show(desk, person, Some(note)).await
}
