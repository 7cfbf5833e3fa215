//! The program is killed at random moments, again and again, while orders pour in: no acknowledged order is lost, none is
//! kept twice, nothing is said twice but what was in flight, and in the end everything is told. `PINSET_KILLS` and
//! `PINSET_POSTGRES_KILLS` choose how often.

use anyhow::{Context, ensure};
use bot_api_local::{ChatMessage, Pressed};
use pinset::config::SAMPLE;
use pinset_tests::farm::START;
use pinset_tests::process::{Manner, Serving};
use pinset_tests::simulation::chance::Chance;
use pinset_tests::simulation::run::template_start;
use pinset_tests::simulation::setting::{BUYERS, DRIVER, GROWER, KEEPER, Place};
use pinset_tests::simulation::told;
use scheduler::clock::LocalDate;
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store::{orders, outbox, people};
use std::collections::BTreeMap;
use std::time::{Duration, Instant};

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
/// How long a killed program is let run at most once it has made its first call.
const MOMENT_MAX: Duration = Duration::from_millis(150);
/// Orders take steps; this long without any means that the program hangs.
const PATIENCE: Duration = Duration::from_secs(60);
const CROPS: [&str; 2] = ["shiitake", "oyster"];
/// Deliveries that are ordered for.
const WEEKS: usize = 20;

/// A restaurant's contact who orders without pause, each time another weight, and what was answered.
struct Contact {
    account: i64,
    yes: &'static str,
    done: &'static str,
    say: fn(&str, &str, LocalDate) -> String,
    made: usize,
    at: Step,
    /// What the last answer for this day and crop acknowledged.
    acknowledged: BTreeMap<(LocalDate, &'static str), Grams>,
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
        Contact { account, yes, done, say, made: 0, at: Step::Idle, acknowledged: BTreeMap::new() }
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
                self.at = Step::Idle;
            }
        }
        Ok(true)
    }

    async fn buyer_id(&self, serving: &Serving) -> anyhow::Result<Id> {
        let mut tx = serving.store().begin_reading().await?;
        let person = people::by_chat(&mut tx, self.account).await?.context("a contact")?;
        person.buyer_id.context("of a restaurant")
    }

    /// Everything acknowledged is stored, once, and nothing else but what is under way.
    async fn compare(&self, serving: &Serving) -> anyhow::Result<()> {
        let buyer_id = self.buyer_id(serving).await?;
        let mut tx = serving.store().begin_reading().await?;
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

fn number(name: &str) -> anyhow::Result<Option<u32>> {
    Ok(std::env::var(name).ok().map(|text| text.parse()).transpose()?)
}

/// Lets the contacts act until `until`, or until all of them are idle.
async fn pour(serving: &Serving, contacts: &mut [Contact], until: Option<Instant>) -> anyhow::Result<()> {
    let mut acted_at = Instant::now();
    loop {
        for contact in contacts.iter_mut() {
            if contact.act(serving, until.is_some())? {
                acted_at = Instant::now();
            }
        }
        let is_over = match until {
            Some(until) => Instant::now() >= until,
            None => contacts.iter().all(|contact| matches!(contact.at, Step::Idle)),
        };
        if is_over {
            return Ok(());
        }
        ensure!(acted_at.elapsed() < PATIENCE, "the program hangs; it printed:\n{}", serving.log());
        // The program is another process: only looking again tells what it has said.
        tokio::time::sleep(Duration::from_millis(1)).await;
    }
}

/// Each message that the outbox calls sent was seen; how many were seen more often than that.
async fn seen_again(serving: &Serving) -> anyhow::Result<usize> {
    let mut tx = serving.store().begin_reading().await?;
    let rows = outbox::after(&mut tx, Id::new(0)).await?;
    drop(tx);
    // Taken, and taken again: an edit that changes nothing is refused as "not modified".
    let mut seen: BTreeMap<(i64, String), (usize, usize)> = BTreeMap::new();
    for call in serving.server.calls() {
        let (Some(chat_id), Some(text)) = (call.params["chat_id"].as_i64(), call.params["text"].as_str()) else {
            continue;
        };
        let is_same = call.answer.as_ref().is_some_and(|answer| answer.to_string().contains("not modified"));
        let (taken, same) = seen.entry((chat_id, format!("message {text}"))).or_default();
        *taken += usize::from(call.is_ok());
        *same += usize::from(is_same);
    }
    let sent = told::sent(&rows);
    ensure!(rows.iter().all(|row| row.sent_at.is_some()), "the outbox has not drained");
    for (key, recorded) in sent.iter().filter(|((_, content), _)| content.starts_with("message ")) {
        let (taken, same) = seen.get(key).copied().unwrap_or_default();
        ensure!(taken + same >= *recorded, "{key:?} is recorded as sent {recorded} times and was seen {taken}");
    }
    let again = |(key, (taken, _)): (&(i64, String), &(usize, usize))| {
        taken.saturating_sub(sent.get(key).copied().unwrap_or_default())
    };
    Ok(seen.iter().map(again).sum())
}

async fn storm(place: &Place, (kills, seed): (u32, u64)) -> anyhow::Result<()> {
    let begun = Instant::now();
    let database = place.farm(seed).await?;
    // The clock stands still meanwhile, and orders pour in faster than anybody types.
    let config = SAMPLE.replace("most_a_minute = 60", "most_a_minute = 10000");
    ensure!(config != SAMPLE, "the sample says how much is looked at");
    let serving = Serving::start_in(
        PROGRAM,
        START,
        Manner { config: &config, database: Some(&database.url), ..Manner::default() },
    )
    .await?;
    for account in [KEEPER, GROWER, DRIVER].into_iter().chain(BUYERS) {
        serving.server.add_acquaintance(account, "Sam", None);
    }
    let mut chance = Chance::new(seed);
    let mut contacts = [
        Contact::new(BUYERS[0], ("Yes, that's right", "Done."), english),
        Contact::new(BUYERS[2], ("Sí, correcto", "Listo."), spanish),
        Contact::new(BUYERS[3], ("Yes, that's right", "Done."), english),
    ];
    serving.settle().await?;
    for _ in 0..kills {
        if chance.one_in(5) {
            // At its start, before it has said or asked anything.
            pour(&serving, &mut contacts, Some(Instant::now() + MOMENT_MAX.mul_f64(chance.share()))).await?;
        } else {
            let (calls, spawned) = (serving.calls(), Instant::now());
            while serving.calls() == calls {
                ensure!(spawned.elapsed() < PATIENCE, "the program does not come up:\n{}", serving.log());
                pour(&serving, &mut contacts, Some(Instant::now())).await?;
                tokio::time::sleep(Duration::from_millis(1)).await;
            }
            pour(&serving, &mut contacts, Some(Instant::now() + MOMENT_MAX.mul_f64(chance.share()))).await?;
        }
        serving.kill()?;
        for contact in &contacts {
            contact.compare(&serving).await?;
        }
        serving.spawn()?;
    }
    pour(&serving, &mut contacts, None).await?;
    serving.settle().await?;
    for contact in &contacts {
        contact.compare(&serving).await?;
    }
    let again = seen_again(&serving).await?;
    let orders: usize = contacts.iter().map(|contact| contact.made).sum();
    println!(
        "{} kills, {orders} orders acknowledged, {} messages, {again} of them again, {:.1} s",
        serving.kills(),
        serving.sends(),
        begun.elapsed().as_secs_f64()
    );
    ensure!(serving.kills() == kills && orders >= contacts.len(), "too little happened");
    // A kill finds at most one message of each chat in flight: three contacts, their colleagues, nobody else.
    ensure!(again <= kills as usize * BUYERS.len(), "{again} messages came again after {kills} kills");
    serving.stop().await?;
    database.close().await
}

#[tokio::test]
async fn killed_at_random_no_order_is_lost_or_doubled_on_sqlite() -> anyhow::Result<()> {
    let place = Place::sqlite(template_start()).await?;
    storm(&place, (number("PINSET_KILLS")?.unwrap_or(20), 11)).await?;
    place.close().await
}

#[tokio::test]
async fn killed_at_random_no_order_is_lost_or_doubled_on_postgresql() -> anyhow::Result<()> {
    let Ok(server) = std::env::var("PINSET_TEST_POSTGRES") else {
        eprintln!("skipped on PostgreSQL: PINSET_TEST_POSTGRES is not set");
        return Ok(());
    };
    let place = Place::postgres(&server, template_start()).await?;
    storm(&place, (number("PINSET_POSTGRES_KILLS")?.unwrap_or(5), 12)).await?;
    place.close().await
}
