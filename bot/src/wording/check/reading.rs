//! One page with every message in every language side by side, said with arguments as they come in a farm's week: for
//! reading it all through with fresh eyes. The test that checks the wording writes it to `target/wording.html`.

use super::super::args::Args;
use super::super::catalogue::Wording;
use super::super::dates::{DateForm, HourClock};
use super::super::voice::{Reader, Voice};
use super::messages::{Wanted, with_mentions};
use super::source::{Token, calls};
use super::{Source, Spoken};
use scheduler::clock::{LocalDate, UtcSeconds, instant_of};
use scheduler::money::Cents;
use scheduler::quantity::{Grams, UnitSystem};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

const HEAD: &str = "<!doctype html><meta charset=utf-8><title>Every message</title><style>\
body{font:15px/1.4 sans-serif;margin:1em}table{border-collapse:collapse;width:100%}\
td,th{border:1px solid #999;padding:.3em .5em;vertical-align:top;text-align:left;white-space:pre-line}\
td:first-child{font:12px monospace}</style>\n";

/// The page.
pub fn page(languages: &[Spoken], sources: &[Source]) -> String {
    let kinds = Kinds::of(sources);
    let voices: Vec<Voice> = languages.iter().map(voice).collect();
    let mut page = HEAD.to_owned();
    for (file, text) in &languages[0].files {
        let _ = writeln!(page, "<h2>{file}</h2><table>");
        for key in super::messages(text).keys().filter(|key| !key.starts_with('-')) {
            let _ = write!(page, "<tr><td>{key}");
            for (spoken, voice) in languages.iter().zip(&voices) {
                let _ = write!(page, "<td lang={}>{}", spoken.language, said(spoken, key, voice, &kinds).join("<br>"));
            }
            page.push('\n');
        }
        page.push_str("</table>\n");
    }
    page
}

fn voice(spoken: &Spoken) -> Voice {
    let wording = Wording::of_one(spoken.language, &spoken.files).expect("the files are Fluent");
    let is_polish = spoken.language.tag() == "pl";
    wording.reader(Reader {
        language: spoken.language,
        units: if is_polish { UnitSystem::Metric } else { UnitSystem::Avoirdupois },
        hour_clock: if is_polish { HourClock::TwentyFour } else { HourClock::Twelve },
        zone: chrono_tz::America::Chicago,
    })
}

/// How arguments are given in the program: the method of `Args` by name, and by message and name where the call itself
/// builds them.
#[derive(Default)]
struct Kinds {
    anywhere: BTreeMap<String, String>,
    in_message: BTreeMap<(String, String), String>,
}

impl Kinds {
    fn of(sources: &[Source]) -> Kinds {
        let mut kinds = Kinds::default();
        for source in sources {
            for window in source.tokens.windows(4) {
                if let [Token::Mark('.'), Token::Word(method), Token::Mark('('), Token::Text(name)] = window {
                    kinds.anywhere.entry(name.clone()).or_insert_with(|| method.clone());
                }
            }
            for call in calls(&source.path, &source.tokens) {
                for (key, (method, name)) in
                    call.keys.iter().flat_map(|key| call.args.iter().flatten().map(move |arg| (key, arg)))
                {
                    kinds.in_message.insert((key.clone(), name.clone()), method.clone());
                }
            }
        }
        kinds
    }

    fn of_argument(&self, key: &str, name: &str) -> &str {
        let here = self.in_message.get(&(key.to_owned(), name.to_owned()));
        here.or_else(|| self.anywhere.get(name)).map_or("text", String::as_str)
    }
}

/// One text for each number its forms turn on, and for each word a choice is by.
fn said(spoken: &Spoken, key: &str, voice: &Voice, kinds: &Kinds) -> Vec<String> {
    let message = with_mentions(key, &spoken.messages);
    let mut all = vec![Args::new()];
    for (name, wanted) in &message.arguments {
        let leaked: &'static str = Box::leak(name.clone().into_boxed_str());
        all = match wanted {
            Wanted::Number(exact) => {
                let firsts = spoken.sample_numbers().into_values().filter_map(|of_form| of_form.last().copied());
                let numbers: BTreeSet<i64> = firsts.chain(exact.clone()).collect();
                numbers.iter().flat_map(|n| all.iter().map(move |args| args.clone().count(leaked, *n))).collect()
            }
            Wanted::Text(choices) if !choices.is_empty() => choices
                .iter()
                .flat_map(|choice| all.iter().map(move |args| args.clone().text(leaked, choice)))
                .collect(),
            Wanted::Text(_) => {
                let kind = kinds.of_argument(key, name);
                all.into_iter().map(|args| sample(args, leaked, kind, voice)).collect()
            }
        };
    }
    let texts: BTreeSet<String> = all.iter().map(|args| voice.say(key, args)).collect();
    texts.into_iter().collect()
}

fn day(text: &str) -> LocalDate {
    text.parse().expect("a date")
}

fn at(text: &str) -> UtcSeconds {
    instant_of(text.parse().expect("a moment"), chrono_tz::America::Chicago)
}

/// An argument as a week on the farm would give it.
fn sample(args: Args, name: &'static str, kind: &str, voice: &Voice) -> Args {
    let weight = Grams::new(match name {
        "low" | "least" | "promised" | "free" | "left" => 1_814,
        "high" | "greatest" | "asked" | "there" | "all" => 3_629,
        _ => 2_722,
    });
    match kind {
        "weight" => args.weight(name, weight),
        "between" => args.between(name, Grams::new(1_814), Grams::new(3_629)),
        "date" | "day" => args.date(name, day("2026-06-04")),
        "date_as" => args.date_as(name, day("2026-06-04"), DateForm::Short),
        "time" | "wall_time" => args.time(name, at("2026-06-05T09:00:00")),
        "day_time" => args.day_time(name, at("2026-06-02T18:00:00")),
        "percent" => args.percent(name, 0.85),
        "money" => args.money(name, Cents::new(1_450), "USD"),
        "count" => args.count(name, 22),
        "word" => args.text(name, voice.plain("day-today", &Args::new())),
        "list" if matches!(name, "names" | "buyers" | "contacts") => {
            args.list(name, vec!["Mina".to_owned(), "Rosa".to_owned()])
        }
        "said" => args.said(name, text(name, voice)),
        "list" if name == "crops" => args.list(name, vec![crop(voice, 0), crop(voice, 1)]),
        "list" if name == "days" => {
            let words = |text| voice.date(day(text), DateForm::Words);
            args.list(name, vec![words("2026-06-04"), words("2026-06-11")])
        }
        "list" => args.list(name, vec![amount(voice, 0), amount(voice, 1)]),
        _ => args.text(name, text(name, voice)),
    }
}

fn text(name: &str, voice: &Voice) -> String {
    match name {
        "crop" => crop(voice, 1),
        "amount" | "what" | "kept" | "agreed" => amount(voice, 1),
        "buyer" => "Night Heron Noodle Bar".to_owned(),
        "bank" | "partner" => "Merrow Community Pantry".to_owned(),
        "farm" => "Larkrise Mushrooms".to_owned(),
        "name" => "Mina".to_owned(),
        "address" => "12 Quay Street".to_owned(),
        "units" => voice.plain("count-blocks", &Args::new().count("number", 48)),
        "batch" => format!("{}, {}, cool room", crop(voice, 0), text("units", voice)),
        "room" => "cool room".to_owned(),
        other => format!("‹{other}›"),
    }
}

fn crop(voice: &Voice, number: usize) -> String {
    let crops = scheduler::harvest::prior::built_in();
    let names = &crops[number].crop.names;
    names.get(voice.reader().language.tag()).cloned().unwrap_or_default()
}

fn amount(voice: &Voice, number: usize) -> String {
    voice.plain("amount-of", &Args::new().weight("weight", Grams::new(2_268)).text("crop", crop(voice, number)))
}

/// Keeps the page where the program is built.
pub fn keep(page: &str) {
    let program = std::env::current_exe().expect("a test is a program");
    let target = program.ancestors().nth(3).expect("it lies in target/debug/deps");
    std::fs::write(target.join("wording.html"), page).expect("the target folder can be written to");
}
