//! The situations, each on the made-up farm on its own stage: Larkrise Mushrooms on Monday 2026-06-01 at 10:00, or when the
//! situation is.

use super::outcomes::Scene;
use super::read::{Situation, Who};
use super::world::World;
use crate::book;
use crate::cold_store;
use crate::farm::{Farm, HERON, KETTLE, SALTMARSH, START, code_in};
use anyhow::{Context, ensure};
use bot_api_local::Pressed;
use chrono::Weekday;
use pinset::config::{Config, SAMPLE};
use pinset::conversation::{giving, packing, surplus};
use pinset::intent::Intent;
use pinset::scenario::{self, People};
use pinset::stage::{Actor, Stage};
use scheduler::clock::LocalDate;
use scheduler::people::HourClock;
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::store::giving::FoodBank;
use scheduler::store::growing::{self, Batch, Event, EventKind, Flush};
use scheduler::store::{buttons, cold_room, giving as gifts, people};
use scheduler::surplus::opening::Span;
use std::path::Path;

/// The account of the food bank's contact.
const PANTRY: i64 = 4001;
/// What the food bank is called, and where it is.
const BANK: (&str, &str) = ("Merrow Community Pantry", "12 Quay Street, Port Merrow");

/// What a kilogram costs, cents: 10.00 and 12.00 a pound. Made up.
const PRICES: [(&str, i64); 2] = [("oyster", 2205), ("shiitake", 2646)];

/// A pound and what Spanish and Polish kitchens write in its place: their situations have round kilograms.
fn weight(language: &str, (pounds, kilograms): (i64, f64)) -> i64 {
    match language {
        "en" => (pounds as f64 * 453.592_37).round() as i64,
        _ => (kilograms * 1000.0).round() as i64,
    }
}

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

/// Brings the farm to the situation, with whoever writes reading this language.
///
/// # Errors
/// When the stage cannot be set, or the bot does not take what the situation needs.
pub async fn set(language: &'static str, who: Who, situation: Situation) -> anyhow::Result<World> {
    // In memory where the system has such a folder.
    let memory = Path::new("/dev/shm");
    let folder = if memory.is_dir() { tempfile::tempdir_in(memory)? } else { tempfile::tempdir()? };
    let mut config = SAMPLE.to_owned();
    for (from, to) in [("discount_percent = 0", "discount_percent = 20"), ("open_hours = 20", "open_hours = 3")] {
        ensure!(config.contains(from), "the sample has no {from}");
        config = config.replacen(from, to, 1);
    }
    let url = format!("sqlite://{}", folder.path().join("farm").display());
    let stage = Stage::set_on(Config::parse(&config)?, START, &url).await?;
    let People { ada, chidi, ngozi, heron, kettle, saltmarsh } = scenario::join(&stage).await?;
    let farm = Farm { stage, ada, chidi, ngozi, heron, kettle, saltmarsh };
    let pantry = food_bank(&farm).await?;
    for (crop, cents) in PRICES {
        let price = serde_json::json!({"crops": {"set": {"of": {"known": crop}, "value": "price", "number": cents}}});
        wish(&farm, ada, serde_json::from_value(price)?).await?;
    }
    let writer = match who {
        Who::Restaurant => heron,
        Who::FoodBank => pantry,
        Who::Driver => ngozi,
        Who::Grower => chidi,
        Who::Keeper => ada,
    };
    reads(&farm.stage, writer, language).await?;
    let mut scene = Scene::of_monday(farm.stage.engine.house.zone());
    to_situation(&farm, (language, writer, pantry), situation, &mut scene)
        .await
        .with_context(|| format!("{language} {situation:?}: {}", farm.stage.read(writer.0)))?;
    let chats = [ada, chidi, ngozi, heron, kettle, saltmarsh, pantry].map(|actor| actor.0).to_vec();
    World::of((farm.stage, folder), (language, writer, ada), chats, scene).await
}

async fn to_situation(
    farm: &Farm,
    (language, writer, pantry): (&str, Actor, Actor),
    situation: Situation,
    scene: &mut Scene,
) -> anyhow::Result<()> {
    let of = |pounds, kilograms| weight(language, (pounds, kilograms));
    let stage = &farm.stage;
    let monday = day("2026-06-01");
    let thursday = day("2026-06-04");
    match situation {
        Situation::Plain | Situation::Standing | Situation::Ordered => {
            shelves(farm).await?;
            lots(farm, language).await?;
            if situation == Situation::Standing {
                for (crop, grams) in [("shiitake", of(5, 2.5)), ("oyster", of(3, 1.5))] {
                    book::every_thursday(farm, HERON, (crop, grams)).await?;
                }
            }
            book::move_to(farm, "2026-06-01 10:00").await?;
            if situation == Situation::Ordered {
                let texts = match language {
                    "en" => ["6 lb oyster for Thursday", "4 lb shiitake for Thursday"],
                    "es" => ["3 kg de ostra para el jueves", "2 kg de shiitake para el jueves"],
                    _ => ["3 kg boczniaka na czwartek", "2 kg shiitake na czwartek"],
                };
                for text in texts {
                    stage.say(writer, text).await?;
                    let yes = match language {
                        "en" => "Yes",
                        "es" => "Sí",
                        _ => "Tak",
                    };
                    stage.press_first(writer, yes).await?;
                }
            }
        }
        Situation::Short => {
            book::add_lot(farm, ("oyster", of(6, 3.0)), monday).await?;
            book::add_lot(farm, ("shiitake", of(20, 10.0)), monday).await?;
            book::order(farm, HERON, ("oyster", of(10, 5.0)), thursday).await?;
            book::move_to(farm, "2026-06-02 19:00").await?;
            (scene.today, scene.next, scene.is_short) = (day("2026-06-02"), day("2026-06-11"), true);
        }
        Situation::Offer => {
            book::move_to(farm, "2026-06-04 15:00").await?;
            book::add_lot(farm, ("oyster", of(8, 4.0)), day("2026-06-03")).await?;
            wish(farm, farm.ada, Intent::Surplus(surplus::Ask::Offer { crop: "oyster".into() })).await?;
            (scene.today, scene.next, scene.is_offered) = (day("2026-06-04"), day("2026-06-11"), true);
        }
        Situation::NothingOpen | Situation::DropAsked | Situation::DropAgreed => {
            book::move_to(farm, "2026-06-01 10:00").await?;
            if situation != Situation::NothingOpen {
                book::add_lot(farm, ("oyster", of(12, 5.5)), day("2026-05-31")).await?;
                wish(farm, farm.ada, Intent::Giving(giving::Ask::Give { crop: "oyster".into() })).await?;
                let mut tx = stage.engine.store.begin_reading().await?;
                let drop = gifts::drops(&mut tx).await?.pop().context("a drop")?;
                drop_tx(tx);
                ensure!(drop.window.opens_at == stage.at("2026-06-02 10:00"), "{drop:?}");
                if situation == Situation::DropAgreed {
                    wish(farm, pantry, Intent::Giving(giving::Ask::Agree { drop: drop.id })).await?;
                }
            }
        }
        Situation::BeforeRun | Situation::OnRun => {
            book::add_lot(farm, ("oyster", of(20, 10.0)), monday).await?;
            book::add_lot(farm, ("shiitake", of(20, 10.0)), monday).await?;
            for (buyer, crop, grams) in [
                (HERON, "oyster", of(6, 3.0)),
                (HERON, "shiitake", of(2, 1.0)),
                (KETTLE, "shiitake", of(4, 2.0)),
                (KETTLE, "oyster", of(4, 2.0)),
                (SALTMARSH, "oyster", of(3, 1.5)),
                (SALTMARSH, "shiitake", of(3, 1.5)),
            ] {
                book::order(farm, buyer, (crop, grams), thursday).await?;
            }
            book::move_to(farm, "2026-06-04 06:30").await?;
            wish(farm, farm.ada, Intent::Packing(packing::Ask::Packed { day: thursday })).await?;
            let until = if situation == Situation::OnRun { "2026-06-04 09:20" } else { "2026-06-04 07:15" };
            book::move_to(farm, until).await?;
            (scene.today, scene.next) = (thursday, day("2026-06-11"));
        }
        Situation::Growing | Situation::Week => {
            shelves(farm).await?;
            lots(farm, language).await?;
            if situation == Situation::Week {
                for (buyer, crop, grams) in [
                    (HERON, "shiitake", of(5, 2.5)),
                    (HERON, "oyster", of(3, 1.5)),
                    (KETTLE, "oyster", of(4, 2.0)),
                    (SALTMARSH, "shiitake", of(3, 1.5)),
                ] {
                    book::every_thursday(farm, buyer, (crop, grams)).await?;
                }
            }
            book::move_to(farm, "2026-06-01 10:00").await?;
        }
    }
    Ok(())
}

fn drop_tx(tx: scheduler::store::Tx) {
    drop(tx);
}

/// Presses a button that means this, as if it stood under the last message.
async fn wish(farm: &Farm, actor: Actor, intent: Intent) -> anyhow::Result<()> {
    let stage = &farm.stage;
    let mut tx = stage.engine.store.begin().await?;
    let token = buttons::put(&mut tx, actor.0, "staged", &serde_json::to_string(&intent)?, stage.now()).await?;
    tx.commit().await?;
    let message = stage.last(actor).message_id;
    stage.server.press(actor.0, actor.0, message, Pressed::Forged(&token))?;
    stage.settle().await
}

/// Whoever writes reads this language, with the units and the clock of its kitchens.
async fn reads(stage: &Stage, writer: Actor, language: &str) -> anyhow::Result<()> {
    let mut tx = stage.engine.store.begin().await?;
    let mut person = people::by_chat(&mut tx, writer.0).await?.context("has joined")?;
    person.language = language.to_owned();
    (person.units, person.hour_clock) = match language {
        "en" => (UnitSystem::Avoirdupois, HourClock::Twelve),
        _ => (UnitSystem::Metric, HourClock::TwentyFour),
    };
    people::set_reading(&mut tx, &person).await?;
    Ok(tx.commit().await?)
}

/// The food bank, open when a drop is to be brought on Tuesday at 10:00 and on every day after; its contact joins.
async fn food_bank(farm: &Farm) -> anyhow::Result<Actor> {
    let stage = &farm.stage;
    let mut tx = stage.engine.store.begin().await?;
    let span = |opens: u16| Span::new(opens * 60, 18 * 60).expect("hours of one day");
    let mut weekly = vec![(Weekday::Tue, span(10))];
    weekly.extend([Weekday::Wed, Weekday::Thu, Weekday::Fri, Weekday::Sat].map(|weekday| (weekday, span(8))));
    let bank = FoodBank {
        id: tx.new_id(stage.now()),
        name: BANK.0.into(),
        address: BANK.1.into(),
        travel_minutes: 25,
        least: Grams::new(500),
        greatest: Grams::new(30_000),
        crops: Vec::new(),
        has_cold_store: true,
        weekly,
        closed: Vec::new(),
        full: Vec::new(),
        need: 0,
        last_drop_at: None,
    };
    gifts::put_food_bank(&mut tx, &bank, stage.now()).await?;
    tx.commit().await?;
    let pantry = stage.enter(PANTRY, "Lucía", "en");
    stage.say(farm.ada, "/foodbanks").await?;
    stage.press(farm.ada, BANK.0).await?;
    stage.press(farm.ada, "Invite a contact").await?;
    stage.start(pantry, &code_in(&stage.last(farm.ada).text)).await?;
    Ok(pantry)
}

/// 12 lb (5.5 kg) oyster and 6 lb (2.7 kg) shiitake lie in the cold room; the oyster was picked of the batch that is being
/// picked.
async fn lots(farm: &Farm, language: &str) -> anyhow::Result<()> {
    let stage = &farm.stage;
    let (oyster, shiitake) = (weight(language, (12, 5.5)), weight(language, (6, 2.7)));
    let sunday = day("2026-05-31");
    cold_store::lot_of(stage, ("shiitake", shiitake), [sunday, day("2026-06-01"), day("2026-06-08")]).await?;
    let mut tx = stage.engine.store.begin().await?;
    let batch = growing::all_batches(&mut tx).await?.into_iter().find(|batch| batch.crop == "oyster");
    let batch = batch.context("an oyster batch")?;
    let flush = growing::all_flushes(&mut tx).await?.into_iter().find(|flush| flush.batch_id == batch.id);
    let flush_id = Some(flush.context("its flush")?.id);
    let grams = Grams::new(oyster);
    let pick = Event {
        batch_id: batch.id,
        flush_id,
        kind: EventKind::Picked,
        on_day: sunday,
        units: 0,
        grams,
        person_id: None,
    };
    growing::record(&mut tx, &pick, stage.now()).await?;
    let lot = cold_room::Lot {
        id: tx.new_id(stage.now()),
        crop: "oyster".into(),
        flush_id,
        picked_on: sunday,
        ready_on: day("2026-06-01"),
        keeps_until: day("2026-06-06"),
        picked: grams,
        left: grams,
    };
    cold_room::add_lot(&mut tx, &lot, stage.now()).await?;
    Ok(tx.commit().await?)
}

/// 40 shiitake blocks soaked on May 20 and 60 oyster bags opened on May 16, both in their first flush.
async fn shelves(farm: &Farm) -> anyhow::Result<()> {
    let stage = &farm.stage;
    let mut tx = stage.engine.store.begin().await?;
    for (crop, room, units, dry, begun, pins) in [
        ("shiitake", "North room", 40, 900, "2026-05-20", None),
        ("oyster", "South room", 60, 2700, "2026-05-16", Some("2026-05-26")),
    ] {
        let batch = Batch {
            id: tx.new_id(stage.now()),
            crop: crop.into(),
            room: room.into(),
            units,
            dry_per_unit: Grams::new(dry),
            started_on: day(begun),
        };
        growing::add_batch(&mut tx, &batch).await?;
        let flush = Flush {
            id: tx.new_id(stage.now()),
            batch_id: batch.id,
            number: 1,
            initiated_on: Some(day(begun)),
            pins_on: pins.map(day),
            units_lost: 0,
            closed_on: None,
            picked: Vec::new(),
        };
        growing::put_flush(&mut tx, &flush).await?;
    }
    Ok(tx.commit().await?)
}
