//! The page's own words in every language, for the browser: from the same files as the bot's.

use crate::house::House;
use crate::wording::{Args, HourClock, Language, Reader, key};
use scheduler::quantity::UnitSystem;
use serde_json::{Value, json};

/// What stands for a value that the browser puts in.
const BLANKS: [&str; 4] = ["name", "time", "fault", "text"];

const WORDS: &[&str] = &[
    key("page-title"),
    key("page-banner"),
    key("page-skip"),
    key("page-language"),
    key("page-clock"),
    key("page-hour"),
    key("page-event"),
    key("page-delivery"),
    key("page-date"),
    key("page-go"),
    key("page-run"),
    key("page-moving"),
    key("page-event-at"),
    key("page-delivery-at"),
    key("page-waiting"),
    key("page-trouble"),
    key("page-trouble-explained"),
    key("page-too-many"),
    key("page-server-error"),
    key("page-cut-before"),
    key("page-cut-after"),
    key("page-duplicate"),
    key("page-restart"),
    key("page-thrown"),
    key("page-log"),
    key("page-log-time"),
    key("page-log-to"),
    key("page-log-what"),
    key("page-log-outcome"),
    key("page-sent"),
    key("page-photo"),
    key("page-document"),
    key("page-edited"),
    key("page-arrived"),
    key("page-lost"),
    key("page-people"),
    key("page-add"),
    key("page-add-explained"),
    key("page-name"),
    key("page-their-language"),
    key("page-add-button"),
    key("page-group-add"),
    key("page-group-title"),
    key("page-group"),
    key("page-open-as"),
    key("page-open"),
    key("page-claim"),
    key("page-claim-first"),
    key("page-write"),
    key("page-speaker"),
    key("page-send"),
    key("page-commands"),
    key("page-chat-of"),
    key("page-bot"),
    key("page-reply"),
    key("page-replying"),
    key("page-no-reply"),
    key("page-save"),
    key("page-not-joined"),
    key("page-silent"),
    key("page-new"),
    key("page-ended"),
    key("page-failed"),
    key("page-refused-text"),
    key("page-refused-button"),
    key("page-refused-name"),
    key("page-refused-group"),
    key("page-refused-busy"),
    key("page-refused-nothing"),
    key("page-refused-past"),
    key("page-refused-far"),
    key("page-refused-duplicate"),
    key("language-name"),
    key("role-keeper"),
    key("role-grower"),
    key("role-driver"),
    key("role-buyer"),
    key("role-pantry"),
];

/// Every word by language and key; a value to put in stands as `{name}`.
pub(super) fn all(house: &House) -> Value {
    let args = BLANKS.into_iter().fold(Args::new(), |args, name| args.text(name, format!("{{{name}}}")));
    let of = |language: Language| {
        let reader =
            Reader { language, units: UnitSystem::Metric, hour_clock: HourClock::TwentyFour, zone: house.zone() };
        let voice = house.wording.reader(reader);
        let words = WORDS.iter().map(|key| ((*key).to_owned(), json!(voice.plain(key, &args))));
        (language.tag().to_owned(), Value::Object(words.collect()))
    };
    Value::Object(Language::all().map(of).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{Config, SAMPLE};
    use crate::wording::Wording;

    #[test]
    fn every_language_has_every_word_with_its_blanks() {
        let config = Config::parse(SAMPLE).expect("the sample is good");
        let house = House::new(config, Wording::embedded().expect("the words are good"));
        let words = all(&house);
        for language in Language::all() {
            let words = words[language.tag()].as_object().expect("words by key");
            assert_eq!(words.len(), WORDS.len(), "{language}: a key is listed twice");
            assert!(words["page-write"].as_str().is_some_and(|text| text.contains("{name}")), "{language}");
            assert!(words.values().all(|text| text.as_str().is_some_and(|text| !text.contains('\u{2039}'))));
        }
    }
}
