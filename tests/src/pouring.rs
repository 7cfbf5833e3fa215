//! Restaurants that order without pause while something happens to the program, and remember what they were answered.

use crate::process::Serving;
use crate::simulation::setting::{BUYERS, DRIVER, GROWER, KEEPER};
use anyhow::{Context, ensure};
use bot_api_local::{ChatMessage, Pressed};
use pinset::config::SAMPLE;
use scheduler::clock::LocalDate;
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store::{Store, orders, people};
use std::collections::BTreeMap;
use std::time::{Duration, Instant};

/// Orders take steps; this long without any means that the program hangs.
const PATIENCE: Duration = Duration::from_secs(60);
/// What a test waits for while they order comes within this, or never.
const LONGEST: Duration = Duration::from_secs(300);
const CROPS: [&str; 2] = ["shiitake", "oyster"];
/// Deliveries that are ordered for.
const WEEKS: usize = 20;

/// The sample configuration, with orders looked at faster than anybody types.
///
/// # Panics
/// When the sample does not say how many are looked at.
pub fn config() -> String {
    let config = SAMPLE.replace("most_a_minute = 60", "most_a_minute = 10000");
    assert_ne!(config, SAMPLE, "the sample says how much is looked at");
    config
}

/// Lets the service know everybody who has joined the farm.
pub fn introduce(serving: &Serving) {
    for account in [KEEPER, GROWER, DRIVER].into_iter().chain(BUYERS) {
        serving.server.add_acquaintance(account, "Sam", None);
    }
}

/// One contact of each restaurant.
pub fn contacts() -> [Contact; 3] {
    [
        Contact::new(BUYERS[0], ("Yes, that's right", "Done."), english),
        Contact::new(BUYERS[2], ("Sí, correcto", "Listo."), spanish),
        Contact::new(BUYERS[3], ("Yes, that's right", "Done."), english),
    ]
}

/// A restaurant's contact who orders without pause, each time another weight, and what was answered.
pub struct Contact {
    account: i64,
    yes: &'static str,
    done: &'static str,
    say: fn(&str, &str, LocalDate) -> String,
    /// Orders begun so far.
    pub made: usize,
    at: Step,
    /// What the last answer for this day and crop acknowledged.
    acknowledged: BTreeMap<(LocalDate, &'static str), Grams>,
    /// How many answers acknowledged one.
    pub answers: usize,
}

type Line = (LocalDate, &'static str, Grams);

#[derive(Clone, Copy, Debug)]
enum Step {
    Idle,
    /// Ordered by this message.
    Said(Line, i64),
    /// The question was answered with yes; behind this message.
    Agreed(Line, i64),
}

fn english(kilograms: &str, crop: &str, day: LocalDate) -> String {
    format!("{kilograms} kg {crop} for {}", day.format("%B %-d"))
}

fn spanish(kilograms: &str, crop: &str, day: LocalDate) -> String {
    let month = ["junio", "julio", "agosto", "septiembre", "octubre"][chrono::Datelike::month0(&day) as usize - 5];
    let crop = if crop == "oyster" { "ostra" } else { crop };
    format!("{kilograms} kg de {crop} para el {} de {month}", day.format("%-d"))
}

/// Messages of the bot behind this one.
fn behind(chat: &[ChatMessage], message_id: i64) -> impl Iterator<Item = &ChatMessage> {
    chat.iter().filter(move |one| one.message_id > message_id && one.from_bot())
}

impl Contact {
    fn new(
        account: i64,
        (yes, done): (&'static str, &'static str),
        say: fn(&str, &str, LocalDate) -> String,
    ) -> Contact {
        Contact { account, yes, done, say, made: 0, at: Step::Idle, acknowledged: BTreeMap::new(), answers: 0 }
    }

    /// The next order: every day and crop in turn, 0.5 kg more in each round.
    fn next(&mut self) -> Line {
        let first: LocalDate = "2026-06-11".parse().expect("a Thursday");
        let day = first.iter_weeks().nth(self.made / CROPS.len() % WEEKS).expect("a day");
        let crop = CROPS[self.made % CROPS.len()];
        let round = i64::try_from(self.made / CROPS.len() / WEEKS).expect("few orders");
        self.made += 1;
        (day, crop, Grams::new(1000 + 500 * (round % 40)))
    }

    /// Does what the chat asks for; whether anything was done.
    fn act(&mut self, serving: &Serving, may_order: bool) -> anyhow::Result<bool> {
        let chat = serving.server.chat(self.account);
        match self.at {
            Step::Idle if may_order => {
                let line = self.next();
                let kilograms = format!("{}.{}", line.2.get() / 1000, line.2.get() % 1000 / 100);
                serving.server.say(self.account, self.account, &(self.say)(&kilograms, line.1, line.0))?;
                let last = serving.server.chat(self.account).last().context("just said")?.message_id;
                self.at = Step::Said(line, last);
            }
            Step::Idle => return Ok(false),
            Step::Said(line, said) => {
                let asked = behind(&chat, said).find(|one| one.labels().concat().contains(&self.yes));
                let Some(asked) = asked else { return Ok(false) };
                serving.server.press(self.account, self.account, asked.message_id, Pressed::Label(self.yes))?;
                self.at = Step::Agreed(line, said);
            }
            Step::Agreed((day, crop, grams), said) => {
                if !behind(&chat, said).any(|one| one.text.starts_with(self.done)) {
                    return Ok(false);
                }
                self.acknowledged.insert((day, crop), grams);
                self.answers += 1;
                self.at = Step::Idle;
            }
        }
        Ok(true)
    }

    async fn buyer_id(&self, store: &Store) -> anyhow::Result<Id> {
        let mut tx = store.begin_reading().await?;
        let person = people::by_chat(&mut tx, self.account).await?.context("a contact")?;
        person.buyer_id.context("of a restaurant")
    }

    /// Everything acknowledged is stored, once, and nothing else but what is under way.
    ///
    /// # Errors
    /// When it is not.
    pub async fn compare(&self, store: &Store) -> anyhow::Result<()> {
        let buyer_id = self.buyer_id(store).await?;
        let mut tx = store.begin_reading().await?;
        let kept = orders::one_off_of_buyer(&mut tx, buyer_id, "2026-01-01".parse()?).await?;
        let under_way = match self.at {
            Step::Idle => None,
            Step::Said(line, _) | Step::Agreed(line, _) => Some(line),
        };
        for (&(day, crop), &grams) in &self.acknowledged {
            let line = kept.iter().find(|line| line.day == day && line.crop == crop);
            let is_kept = line.is_some_and(|line| line.grams == grams || under_way == Some((day, crop, line.grams)));
            ensure!(
                is_kept,
                "{} was told that {grams:?} of {crop} are kept for {day}; stored is {line:?}",
                self.account
            );
        }
        let more =
            kept.iter().filter(|line| !self.acknowledged.keys().any(|key| (line.day, line.crop.as_str()) == *key));
        for line in more {
            ensure!(
                under_way.is_some_and(|(day, crop, grams)| (day, crop, grams) == (line.day, &line.crop, line.grams)),
                "nobody has ordered {line:?}"
            );
        }
        Ok(())
    }
}

/// Lets the contacts order while `more` says so.
///
/// # Errors
/// When the service does not let them, or the program hangs.
///
/// # Panics
/// When no more days are left to order for.
pub async fn pour_while(
    serving: &Serving,
    contacts: &mut [Contact],
    mut more: impl FnMut(&[Contact]) -> bool,
) -> anyhow::Result<()> {
    act_while(serving, contacts, true, &mut more).await
}

/// Lets the contacts end what they have begun.
///
/// # Errors
/// As [`pour_while`].
pub async fn pour_out(serving: &Serving, contacts: &mut [Contact]) -> anyhow::Result<()> {
    let mut busy = |contacts: &[Contact]| !contacts.iter().all(|contact| matches!(contact.at, Step::Idle));
    act_while(serving, contacts, false, &mut busy).await
}

async fn act_while(
    serving: &Serving,
    contacts: &mut [Contact],
    may_order: bool,
    more: &mut impl FnMut(&[Contact]) -> bool,
) -> anyhow::Result<()> {
    let begun = Instant::now();
    let mut acted_at = begun;
    loop {
        for contact in contacts.iter_mut() {
            if contact.act(serving, may_order)? {
                acted_at = Instant::now();
            }
        }
        if !more(contacts) {
            return Ok(());
        }
        let steps: Vec<Step> = contacts.iter().map(|contact| contact.at).collect();
        ensure!(acted_at.elapsed() < PATIENCE, "the program hangs at {steps:?}; it printed:\n{}", serving.log());
        ensure!(begun.elapsed() < LONGEST, "they order for ever; the program printed:\n{}", serving.log());
        // The program is another process: only looking again tells what it has said.
        tokio::time::sleep(Duration::from_millis(1)).await;
    }
}
