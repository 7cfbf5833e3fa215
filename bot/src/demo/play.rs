//! What everybody says and presses in the demo, day by day.

use super::story::{Did, Notes};
use crate::config::{Config, SAMPLE};
use crate::stage::{Actor, Stage};
use anyhow::Context;
use scheduler::clock::UtcSeconds;
use std::sync::Mutex;

/// Friday 2026-05-15, 08:00 in America/Chicago.
const START: UtcSeconds = UtcSeconds::new(1_778_850_000);

/// The family's group chat.
const FAMILY: i64 = -1001;
/// The same as one who reads.
const FAMILY_CHAT: Actor = Actor(FAMILY);

/// The people of Larkrise Mushrooms, all made up.
pub struct Play {
    pub stage: Stage,
    notes: Mutex<Notes>,
    ada: Actor,
    chidi: Actor,
    ngozi: Actor,
    /// Night Heron Noodle Bar.
    mina: Actor,
    /// Copper Kettle Bistro, in Spanish.
    rosa: Actor,
    /// Saltmarsh Bakery.
    tom: Actor,
    /// Merrow Community Pantry.
    lucia: Actor,
    /// Harbour Table.
    ben: Actor,
}

impl Play {
    /// The stage before anybody has said anything.
    ///
    /// # Errors
    /// When the stage cannot be set.
    pub async fn begin() -> anyhow::Result<Play> {
        let stage = Stage::set(Config::parse(SAMPLE)?, START).await?;
        Ok(Play {
            ada: stage.enter(1001, "Ada", "en"),
            chidi: stage.enter(1002, "Chidi", "en"),
            ngozi: stage.enter(1003, "Ngozi", "en"),
            mina: stage.enter(2001, "Mina", "en"),
            rosa: stage.enter(2002, "Rosa", "es-MX"),
            tom: stage.enter(2003, "Tom", "en"),
            lucia: stage.enter(4001, "Lucía", "es-MX"),
            ben: stage.enter(4002, "Ben", "en"),
            notes: Mutex::default(),
            stage,
        })
    }

    /// What people are called in the story.
    pub fn names(&self) -> [(Actor, &'static str); 9] {
        [
            (FAMILY_CHAT, "the family's group"),
            (self.ada, "Ada"),
            (self.chidi, "Chidi"),
            (self.ngozi, "Ngozi"),
            (self.mina, "Mina"),
            (self.rosa, "Rosa"),
            (self.tom, "Tom"),
            (self.lucia, "Lucía"),
            (self.ben, "Ben"),
        ]
    }

    /// The chats with their titles, in the order they are told.
    pub fn chats(&self) -> [(String, i64); 9] {
        [
            (FAMILY_CHAT, "Okoro family, the group"),
            (self.ada, "Ada Okoro, keeper"),
            (self.chidi, "Chidi Okoro, grower"),
            (self.ngozi, "Ngozi Okoro, driver"),
            (self.mina, "Mina, Night Heron Noodle Bar"),
            (self.rosa, "Rosa, Copper Kettle Bistro"),
            (self.tom, "Tom, Saltmarsh Bakery"),
            (self.lucia, "Lucía, Merrow Community Pantry"),
            (self.ben, "Ben, Harbour Table"),
        ]
        .map(|(actor, title)| (title.to_owned(), actor.0))
    }

    /// Everything, from the first start to the second week's drop.
    ///
    /// # Errors
    /// When the bot does not do what the play asks of it.
    pub async fn whole(&self) -> anyhow::Result<()> {
        self.everybody_joins().await?;
        self.shelves_are_filled().await?;
        self.good_week().await?;
        self.short_week().await
    }

    /// What the story is told from.
    pub fn notes(&self) -> Notes {
        self.notes.lock().expect("one task plays").clone()
    }

    /// A scene of the story begins: what these people do and read from now on is told.
    fn scene(&self, title: &'static str, of: &[Actor]) {
        let (calls, at) = (self.stage.server.call_count(), self.stage.now());
        self.notes.lock().expect("one task plays").begin(title, of, (calls, at));
    }

    /// What follows is left to the chats.
    fn pause(&self) {
        self.scene("", &[]);
    }

    fn note(&self, actor: Actor, did: Did) {
        let (calls, at) = (self.stage.server.call_count(), self.stage.now());
        self.notes.lock().expect("one task plays").did(actor, did, (calls, at));
    }

    async fn say(&self, actor: Actor, text: &str) -> anyhow::Result<()> {
        self.note(actor, Did::Wrote(text.to_owned()));
        self.stage.say(actor, text).await.map(|_| ())
    }

    async fn press(&self, actor: Actor, label: &str) -> anyhow::Result<()> {
        self.note(actor, Did::Pressed(label.to_owned()));
        self.stage.press(actor, label).await
    }

    async fn press_first(&self, actor: Actor, beginning: &str) -> anyhow::Result<()> {
        let label = self.stage.label(actor, beginning)?;
        self.press(actor, &label).await
    }

    async fn press_in_group(&self, actor: Actor, label: &str) -> anyhow::Result<()> {
        self.note(actor, Did::Pressed(label.to_owned()));
        self.stage.press_in(FAMILY, actor, label).await
    }

    async fn until(&self, reading: &str) -> anyhow::Result<()> {
        self.stage.move_to(self.stage.at(reading)).await
    }

    async fn invited(&self, actor: Actor) -> anyhow::Result<()> {
        let text = self.stage.last(self.ada).text;
        let (_, code) = text.split_once("?start=").with_context(|| format!("no invitation in {text:?}"))?;
        self.stage.start(actor, code.trim()).await.map(|_| ())
    }

    async fn everybody_joins(&self) -> anyhow::Result<()> {
        self.scene("The keeper comes in by the code that `serve` prints", &[self.ada]);
        let code = self.stage.claim_code().await?;
        self.note(self.ada, Did::Pressed("START".into()));
        self.stage.start(self.ada, &code).await?;
        self.scene("Everybody else by an invitation: family, restaurants, food banks", &[self.mina]);
        for (actor, role) in [(self.chidi, "grower"), (self.ngozi, "driver")] {
            self.say(self.ada, "/people").await?;
            self.press(self.ada, role).await?;
            self.invited(actor).await?;
        }
        self.stage.server.add_group(FAMILY, "Okoro family", &[self.ada.0, self.chidi.0, self.ngozi.0])?;
        self.stage.say_in(FAMILY, self.ada, "/group").await?;
        let restaurants = [
            (self.mina, "Night Heron Noodle Bar"),
            (self.rosa, "Copper Kettle Bistro"),
            (self.tom, "Saltmarsh Bakery"),
        ];
        for (actor, name) in restaurants {
            self.say(self.ada, "/people").await?;
            self.press(self.ada, "New restaurant").await?;
            self.say(self.ada, name).await?;
            self.invited(actor).await?;
        }
        let banks = [
            (self.lucia, "Merrow Community Pantry", "12 Quay Street, Port Merrow", "25", "Fri 9:00-12:00, Sat 10-13"),
            (self.ben, "Harbour Table", "3 Lantern Row, Port Merrow", "15", "Sat 9am to 1pm"),
        ];
        for (actor, name, address, minutes, hours) in banks {
            self.say(self.ada, "/foodbanks").await?;
            self.press(self.ada, "New food bank").await?;
            for answer in [name, address, minutes, hours, "2 lb to 60 lb"] {
                self.say(self.ada, answer).await?;
            }
            self.press(self.ada, "Invite a contact").await?;
            self.invited(actor).await?;
        }
        Ok(())
    }

    /// Starts a batch by the questions of /batch.
    async fn batch(&self, crop: &str, units: &str, weight: &str, room: &str) -> anyhow::Result<()> {
        self.say(self.chidi, "/batch").await?;
        self.press_first(self.chidi, crop).await?;
        for answer in [units, weight, room] {
            self.say(self.chidi, answer).await?;
        }
        Ok(())
    }

    async fn shelves_are_filled(&self) -> anyhow::Result<()> {
        self.pause();
        self.batch("oyster", "24", "6 lb", "warm room").await?;
        self.batch("shiitake", "70", "2 lb", "cool room").await?;
        self.until("2026-05-21 09:00").await?;
        self.say(self.chidi, "opened 24 bags").await?;
        self.until("2026-05-23 09:00").await?;
        self.say(self.chidi, "soaked 70 blocks").await?;
        self.until("2026-05-26 10:00").await?;
        self.scene("The shelves are filled; the first standing orders come", &[self.mina, self.rosa]);
        self.say(self.mina, "every Thursday 5 lb shiitake from June 4").await?;
        self.press_first(self.mina, "Yes").await?;
        self.say(self.rosa, "cada jueves 8 libras de ostra desde el 4 de junio").await?;
        self.press_first(self.rosa, "Sí").await?;
        self.until("2026-05-27 09:00").await?;
        self.batch("oyster", "30", "6 lb", "warm room").await?;
        self.press(self.chidi, "Opened today").await?;
        self.until("2026-05-29 09:00").await?;
        self.scene("Pins are seen", &[self.chidi]);
        self.say(self.chidi, "pins on the shiitake").await
    }

    async fn good_week(&self) -> anyhow::Result<()> {
        self.pause();
        self.until("2026-06-01 06:59").await?;
        self.scene("The morning's list for the family", &[FAMILY_CHAT]);
        self.until("2026-06-01 09:00").await?;
        self.scene("What will be ready", &[self.ada]);
        self.say(self.ada, "/forecast").await?;
        self.say(self.tom, "5 lb shiitake and 3 lb oyster for Thursday").await?;
        self.press_first(self.tom, "Yes").await?;
        self.scene("Picking is logged in a sentence", &[self.chidi]);
        self.until("2026-06-02 07:30").await?;
        self.pick("14 lb shiitake").await?;
        self.pause();
        self.pick_oyster("12 lb oyster", "24 bags").await?;
        self.scene("Tuesday at six orders close: there is enough", &[FAMILY_CHAT, self.mina, self.rosa]);
        self.until("2026-06-02 18:30").await?;
        self.pause();
        self.until("2026-06-03 16:59").await?;
        self.scene("The evening before: what to pick", &[FAMILY_CHAT]);
        self.until("2026-06-03 18:30").await?;
        self.pause();
        self.pick("9 lb shiitake").await?;
        self.scene("Thursday: packed, carried, brought", &[FAMILY_CHAT]);
        self.until("2026-06-04 06:00").await?;
        self.scene("and on the way", &[self.ngozi]);
        self.until("2026-06-04 06:30").await?;
        self.press_in_group(self.chidi, "All packed as listed").await?;
        self.pause();
        self.say(self.ngozi, "/run").await?;
        self.until("2026-06-04 09:30").await?;
        self.scene("The restaurants hear of it", &[self.ngozi, self.mina, self.rosa]);
        self.press(self.ngozi, "All delivered").await?;
        self.scene("What is left goes to the market", &[self.ada]);
        self.until("2026-06-04 13:05").await?;
        self.press(self.ada, "Market: shiitake").await?;
        self.pause();
        self.press_first(self.ada, "All").await?;
        self.until("2026-06-06 07:15").await?;
        self.say(self.ada, "/left").await?;
        self.press(self.ada, "Off to the market").await?;
        self.until("2026-06-06 14:00").await?;
        self.scene("and some of it comes back", &[self.ada]);
        self.say(self.ada, "back with 7 lb shiitake").await
    }

    async fn pick(&self, what: &str) -> anyhow::Result<()> {
        self.say(self.chidi, &format!("picked {what}")).await
    }

    /// Two batches of oysters stand on the shelves, so the bot asks which.
    async fn pick_oyster(&self, what: &str, batch: &str) -> anyhow::Result<()> {
        self.pick(what).await?;
        self.press_first(self.chidi, &format!("oyster, {batch}")).await
    }

    async fn short_week(&self) -> anyhow::Result<()> {
        self.pause();
        self.until("2026-06-08 08:00").await?;
        self.pick_oyster("20 lb oyster", "30 bags").await?;
        self.say(self.chidi, "/shelves").await?;
        self.press_first(self.chidi, "shiitake, 70 blocks").await?;
        self.scene("The second week: the shiitake flush is over, the orders grow", &[self.mina]);
        self.press(self.chidi, "Flush is over").await?;
        self.say(self.tom, "6 lb shiitake for Thursday").await?;
        self.press_first(self.tom, "Yes").await?;
        self.say(self.rosa, "5 libras de shiitake para el jueves").await?;
        self.press_first(self.rosa, "Sí").await?;
        self.say(self.mina, "3 lb shiitake for Thursday").await?;
        self.press(self.mina, "On top of it").await?;
        self.pause();
        self.until("2026-06-09 17:59").await?;
        let buyers_and_family = [FAMILY_CHAT, self.mina, self.rosa];
        self.scene("Orders close, there is not enough: everybody hears at once, and chooses", &buyers_and_family);
        self.until("2026-06-09 18:10").await?;
        self.press_first(self.tom, "Take").await?;
        self.until("2026-06-09 20:40").await?;
        self.press_first(self.rosa, "Mejor").await?;
        self.scene("Who has not answered gets what was promised", &[self.mina]);
        self.until("2026-06-10 18:00").await?;
        self.pause();
        self.pick_oyster("14 lb oyster", "30 bags").await?;
        self.until("2026-06-11 06:20").await?;
        self.press_in_group(self.chidi, "All packed as listed").await?;
        self.say(self.ngozi, "/run").await?;
        self.until("2026-06-11 09:45").await?;
        self.press(self.ngozi, "All delivered").await?;
        self.until("2026-06-11 12:59").await?;
        self.scene("Oysters are left: offered to the restaurants first", &[self.ada, self.mina]);
        self.until("2026-06-11 13:10").await?;
        self.press(self.ada, "Offer oyster").await?;
        self.scene("One takes half of them", &[self.ada, self.mina]);
        self.until("2026-06-11 14:00").await?;
        self.press_first(self.mina, "Half").await?;
        self.pause();
        self.press(self.tom, "No thanks").await?;
        self.until("2026-06-11 17:30").await?;
        self.press(self.ada, "Collected").await?;
        self.scene("The rest to a food bank: the first one cannot, the next one takes it", &[self.ben, self.lucia]);
        self.until("2026-06-12 10:00").await?;
        self.press(self.ben, "Not this time").await?;
        self.until("2026-06-12 12:30").await?;
        self.press(self.lucia, "De acuerdo").await?;
        self.scene("The driver is reminded, the evening before and again before leaving", &[self.ngozi]);
        self.until("2026-06-13 10:25").await?;
        self.press(self.ngozi, "Handed over as planned").await?;
        self.scene("What was given", &[self.ada]);
        self.until("2026-06-13 14:00").await?;
        self.say(self.ada, "/given").await
    }
}
