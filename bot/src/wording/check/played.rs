//! A week of the farm in the made-up language of [`super::pseudo`], through the production bot and the local server. Whatever
//! people read is written in it, but for what they typed themselves, weights, dates and links: a text that did not go
//! through Fluent is found here, wherever in the program it was written.

#[cfg(test)]
mod tests {
    use super::super::super::catalogue::Wording;
    use super::super::super::languages::Language;
    use super::super::pseudo;
    use crate::config::{Config, SAMPLE};
    use crate::intent::commands;
    use crate::scenario::{HERON, KETTLE, START, code_in};
    use crate::stage::{Actor, Stage};
    use scheduler::people::Role;

    /// Words that are the same in every language: names people gave, units, the calendar of the farm's locale.
    const KNOWN: &str = "Larkrise Mushrooms Ada Mina Rosa Lucía Night Heron Noodle Bar Copper Kettle Bistro Merrow \
        Community Pantry Quay Street Port cool room warm shiitake oyster English Español Polski Monday Tuesday Wednesday \
        Thursday Friday Saturday Sunday Mon Tue Wed Thu Fri Sat Sun January June July Jun Jul May and oz AM chanterelle";

    /// Words of a text that were not taken from the language's files. The made-up language accents every one of the letters
    /// a c e i n o s u y z.
    fn strange_words(text: &str) -> Vec<String> {
        let is_part = |c: char| !(c.is_alphanumeric() || "/_@'".contains(c));
        // Links are made of codes.
        let pieces = text.split_whitespace().filter(|piece| !piece.contains("://"));
        let words = pieces.flat_map(|piece| piece.split(is_part)).map(|word| word.trim_matches('\''));
        let is_plain = |word: &&str| word.chars().any(|c| "aceinosuyzACEINOSUYZ".contains(c));
        let is_known = |word: &str| {
            word.starts_with(['/', '@']) || word.len() < 2 || KNOWN.split_whitespace().any(|known| known == word)
        };
        words.filter(is_plain).filter(|word| !is_known(word)).map(str::to_owned).collect()
    }

    #[test]
    fn a_strange_word_is_seen() {
        assert_eq!(strange_words(&pseudo::words("5 lb oyster are ready, see /today.")), Vec::<String>::new());
        assert_eq!(strange_words("Hello, Ñîghht Heron: Thursday at 6:00 PM, 5 lb oyster"), ["Hello", "at"]);
    }

    struct Play {
        stage: Stage,
        keeper: Actor,
    }

    impl Play {
        async fn say(&self, actor: Actor, text: &str) -> anyhow::Result<()> {
            self.stage.say(actor, text).await.map(|_| ())
        }

        /// Presses the newest button whose English label begins so.
        async fn press(&self, actor: Actor, label: &str) -> anyhow::Result<()> {
            self.stage.press_first(actor, &pseudo::words(label)).await
        }

        async fn until(&self, reading: &str) -> anyhow::Result<()> {
            self.stage.move_to(self.stage.at(reading)).await
        }

        async fn invited(&self, account: i64, name: &str) -> anyhow::Result<Actor> {
            let actor = self.stage.enter(account, name, "en");
            let code = code_in(&self.stage.last(self.keeper).text).expect("an invitation");
            self.stage.start(actor, &code).await?;
            Ok(actor)
        }

        async fn restaurant(&self, account: i64, (name, contact): (&str, &str)) -> anyhow::Result<Actor> {
            self.say(self.keeper, "/people").await?;
            self.press(self.keeper, "New restaurant").await?;
            self.say(self.keeper, name).await?;
            self.invited(account, contact).await
        }
    }

    #[tokio::test]
    async fn everything_people_read_goes_through_the_files() -> anyhow::Result<()> {
        let files: Vec<(&str, String)> =
            Language::ENGLISH.files().iter().map(|(file, text)| (*file, pseudo::file(text))).collect();
        let files: Vec<(&str, &str)> = files.iter().map(|(file, text)| (*file, text.as_str())).collect();
        let wording = Wording::of_one(Language::ENGLISH, &files).expect("the made-up language is Fluent");
        let folder = tempfile::tempdir()?;
        let database = format!("sqlite://{}", folder.path().join("stage.sqlite").display());
        let mut stage = Stage::build_speaking(wording, Config::parse(SAMPLE)?, START, &database).await?;
        stage.run().await?;
        let keeper = stage.enter(1001, "Ada", "en");
        let play = Play { stage, keeper };
        play.say(keeper, "hello").await?;
        play.stage.start(keeper, "no-such-code").await?;
        play.stage.start(keeper, &play.stage.claim_code().await?).await?;
        let mina = play.restaurant(2001, (HERON, "Mina")).await?;
        let rosa = play.restaurant(2002, (KETTLE, "Rosa")).await?;
        play.say(keeper, "/foodbanks").await?;
        play.press(keeper, "New food bank").await?;
        for answer in ["Merrow Community Pantry", "12 Quay Street", "soon", "25", "Sat 10-13", "2 lb to 60 lb"] {
            play.say(keeper, answer).await?;
        }
        play.press(keeper, "Invite a contact").await?;
        let lucia = play.invited(4001, "Lucía").await?;
        for (crop, units, weight, room) in
            [("shiitake", "40", "2 lb", "cool room"), ("oyster", "20", "6 lb", "warm room")]
        {
            play.say(keeper, "/batch").await?;
            play.stage.press_first(keeper, crop).await?;
            for answer in [units, weight, room] {
                play.say(keeper, answer).await?;
            }
        }
        for text in ["soaked 40 blocks", "opened 20 bags", "pins on the shiitake", "picked 900 lb oyster"] {
            play.say(keeper, text).await?;
        }
        play.say(mina, "every Thursday 4 lb shiitake").await?;
        play.press(mina, "Yes").await?;
        play.say(rosa, "20 lb shiitake for June 11").await?;
        play.press(rosa, "Yes").await?;
        for text in ["5 lb chanterelle", "5 oyster", "/nonsense", "what is this", "same as last week", "0.1 oz oyster"]
        {
            play.say(mina, text).await?;
        }
        play.until("2026-06-09 07:30").await?;
        play.say(keeper, "picked 8 lb shiitake and 26 lb oyster").await?;
        play.until("2026-06-09 18:05").await?;
        play.press(rosa, "Take").await?;
        for command in commands::typed_by(Role::Keeper) {
            play.say(keeper, &command).await?;
        }
        for command in commands::typed_by(Role::Buyer).iter().map(String::as_str).chain(["/people"]) {
            play.say(mina, command).await?;
        }
        play.until("2026-06-11 06:30").await?;
        play.press(keeper, "All packed").await?;
        play.say(keeper, "/run").await?;
        play.until("2026-06-11 09:30").await?;
        play.press(keeper, "All delivered").await?;
        play.until("2026-06-11 13:05").await?;
        play.press(keeper, "Offer ").await?;
        play.press(mina, "One pack").await?;
        play.press(rosa, "No thanks").await?;
        play.until("2026-06-12 10:00").await?;
        play.press(lucia, "Agreed").await?;
        play.until("2026-06-13 10:30").await?;
        play.press(keeper, "Handed over").await?;
        play.say(keeper, "/given").await?;
        play.say(lucia, "/drops").await?;
        play.say(lucia, "/help").await?;
        play.until("2026-06-16 18:05").await?;

        let mut strange = Vec::new();
        let mut read = 0;
        for chat in [keeper, mina, rosa, lucia] {
            for message in play.stage.server.chat(chat.0).iter().filter(|message| message.from_bot()) {
                read += 1;
                let labels = message.labels().concat().join(" | ");
                for text in [message.text.as_str(), labels.as_str()] {
                    let words = strange_words(text);
                    if !words.is_empty() {
                        strange.push(format!("{words:?} in {text:?}"));
                    }
                }
            }
        }
        assert!(strange.is_empty(), "\n{}\n", strange.join("\n"));
        assert!(read > 80, "only {read} messages were read");
        play.stage.close().await;
        Ok(())
    }
}
