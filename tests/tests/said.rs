//! What the family says in plain words acts at once and is said back with a way to take it back; what may mean several
//! things is asked about, and nothing changes then.

use pinset_tests::farm::{Farm, joined};
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store::giving::{self, FoodBank};
use scheduler::store::growing::{self, Batch, Flush};
use scheduler::store::{cold_room, orders};
use scheduler::surplus::drop::{DropOff, Event, Line, State, apply};
use scheduler::surplus::opening::Window;

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

fn has(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "{part:?} in {text:?}");
    }
}

/// Two shiitake batches of the same size, none begun.
async fn two_batches(farm: &Farm) -> anyhow::Result<()> {
    let mut tx = farm.stage.engine.store.begin().await?;
    for room in ["North room", "South room"] {
        let batch = Batch {
            id: tx.new_id(farm.stage.now()),
            crop: "shiitake".into(),
            room: room.into(),
            units: 40,
            dry_per_unit: Grams::new(900),
            started_on: day("2026-06-01"),
        };
        growing::add_batch(&mut tx, &batch).await?;
    }
    Ok(tx.commit().await?)
}

async fn flushes(farm: &Farm) -> anyhow::Result<Vec<Flush>> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    Ok(growing::all_flushes(&mut tx).await?)
}

#[tokio::test]
async fn a_batch_is_named_by_its_number() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, chidi) = (&farm.stage, farm.chidi);
    two_batches(&farm).await?;
    stage.say(chidi, "/shelves").await?;
    has(&stage.last(chidi).text, &["North room, batch 1", "South room, batch 2"]);
    stage.say(chidi, "soaked 40 shiitake").await?;
    has(&stage.last(chidi).text, &["Which batch"]);
    assert!(flushes(&farm).await?.iter().all(|flush| flush.initiated_on.is_none()), "what may be either is asked");
    stage.say(chidi, "soaked batch 12").await?;
    has(&stage.last(chidi).text, &["I know no batch 12", "Nothing was written down"]);
    stage.say(chidi, "soaked batch 2").await?;
    has(&stage.last(chidi).text, &["Written down: soaked", "South room, batch 2"]);
    let mut tx = stage.engine.store.begin_reading().await?;
    let batches = growing::all_batches(&mut tx).await?;
    drop(tx);
    let begun = flushes(&farm).await?;
    let of = |batch: usize| begun.iter().find(|flush| flush.batch_id == batches[batch].id);
    assert!(of(0).is_none_or(|flush| flush.initiated_on.is_none()));
    assert_eq!(of(1).and_then(|flush| flush.initiated_on), Some(day("2026-06-01")));
    stage.move_to(stage.at("2026-06-10 17:00")).await?;
    stage.say(chidi, "picked 4 lb from batch 2").await?;
    has(&stage.last(chidi).text, &["Picked 4 lb shiitake", "South room"]);
    farm.stage.close().await;
    Ok(())
}

/// Pantries that expect 3 kg oyster each on the Friday, agreed; and the oyster in the cold room.
async fn agreed_drops(farm: &Farm, names: &[&str]) -> anyhow::Result<()> {
    let stage = &farm.stage;
    let mut tx = stage.engine.store.begin().await?;
    let now = stage.now();
    for name in names {
        let bank = FoodBank {
            id: tx.new_id(now),
            name: (*name).into(),
            address: "12 Quay Street, Port Merrow".into(),
            travel_minutes: 25,
            least: Grams::new(500),
            greatest: Grams::new(30_000),
            crops: Vec::new(),
            has_cold_store: true,
            weekly: Vec::new(),
            closed: Vec::new(),
            full: Vec::new(),
            need: 0,
            last_drop_at: None,
        };
        giving::put_food_bank(&mut tx, &bank, now).await?;
        let lot = cold_room::Lot {
            id: tx.new_id(now),
            crop: "oyster".into(),
            flush_id: None,
            picked_on: day("2026-06-01"),
            ready_on: day("2026-06-01"),
            keeps_until: day("2026-06-08"),
            picked: Grams::new(3000),
            left: Grams::new(3000),
        };
        cold_room::add_lot(&mut tx, &lot, now).await?;
        let window = Window { opens_at: stage.at("2026-06-05 09:00"), closes_at: stage.at("2026-06-05 12:00") };
        let mut drop = DropOff::proposed(tx.new_id(now), bank.id, window, now);
        drop.lines = vec![Line { crop: "oyster".into(), grams: Grams::new(3000), handed: None }];
        let drop = apply(&drop, Event::Agree, now).expect("it was proposed");
        giving::put_drop(&mut tx, &drop).await?;
    }
    Ok(tx.commit().await?)
}

async fn drops(farm: &Farm) -> anyhow::Result<Vec<DropOff>> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    Ok(giving::drops(&mut tx).await?)
}

#[tokio::test]
async fn a_drop_is_handed_over_in_words() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, ngozi) = (&farm.stage, farm.ngozi);
    agreed_drops(&farm, &["Merrow Community Pantry"]).await?;
    stage.say(ngozi, "handed over 6 lb oyster").await?;
    assert_eq!(drops(&farm).await?[0].state(), State::Agreed, "its day has not come");
    stage.move_to(stage.at("2026-06-05 09:30")).await?;
    stage.say(ngozi, "handed over 60 lb oyster").await?;
    has(&stage.last(ngozi).text, &["more than was agreed"]);
    stage.say(ngozi, "handed over 6 lb oyster at 38 F").await?;
    let done = drops(&farm).await?.remove(0);
    // 6 lb are 2,722 g and 38 °F are 3.3 °C (NIST SP 811, appendix B).
    assert_eq!((done.state(), done.handed(), done.temperature_dc), (State::HandedOver, Grams::new(2722), Some(33)));
    let mut tx = stage.engine.store.begin_reading().await?;
    assert_eq!(cold_room::lots(&mut tx).await?.iter().map(|lot| lot.left).sum::<Grams>(), Grams::new(278));
    drop(tx);
    stage.press(ngozi, "Undo").await?;
    assert_eq!(drops(&farm).await?[0].state(), State::Agreed);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn which_drop_is_asked_when_two_may_be_meant() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, ngozi) = (&farm.stage, farm.ngozi);
    agreed_drops(&farm, &["Merrow Community Pantry", "Harbour Table"]).await?;
    stage.move_to(stage.at("2026-06-05 09:30")).await?;
    stage.say(ngozi, "handed over 5 lb oyster").await?;
    has(&stage.last(ngozi).text, &["What was handed over?", "Nothing has been written down yet"]);
    assert!(drops(&farm).await?.iter().all(|drop| drop.state() == State::Agreed));
    stage.press(ngozi, "Harbour Table").await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let harbour = giving::food_banks(&mut tx).await?.into_iter().find(|bank| bank.name == "Harbour Table");
    drop(tx);
    let harbour = harbour.expect("it was added").id;
    for drop in drops(&farm).await? {
        let expected = if drop.partner_id == harbour { State::HandedOver } else { State::Agreed };
        assert_eq!(drop.state(), expected);
    }
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_typed_yes_confirms_what_was_just_said_back_and_nothing_else() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    let thursday = day("2026-06-04");
    let kept = async || -> anyhow::Result<Vec<i64>> {
        let mut tx = stage.engine.store.begin_reading().await?;
        let lines = orders::one_off_between(&mut tx, thursday, thursday).await?;
        Ok(lines.iter().map(|line| line.grams.get()).collect())
    };
    stage.say(heron, "yes").await?;
    has(&stage.last(heron).text, &["Nothing waits for a yes or no"]);
    stage.say(heron, "5 lb shiitake for Thursday").await?;
    stage.say(heron, "no").await?;
    has(&stage.last(heron).text, &["Nothing was changed"]);
    assert!(kept().await?.is_empty());
    stage.say(heron, "5 lb shiitake for Thursday").await?;
    stage.say(heron, "yes").await?;
    // 5 lb = 2,268 g (NIST SP 811, appendix B).
    assert_eq!(kept().await?, [2268]);
    stage.press(heron, "Undo").await?;
    stage.say(heron, "yes").await?;
    assert!(kept().await?.is_empty(), "a yes counts once");
    stage.say(heron, "5 lb shiitake for Thursday").await?;
    stage.say(heron, "my orders").await?;
    stage.say(heron, "yes").await?;
    assert!(kept().await?.is_empty(), "another wish came between");
    farm.stage.close().await;
    Ok(())
}
