//! Standing orders that are often skipped or topped up are counted on as their own record lets expect.

use pinset::conversation::{Desk, telling};
use pinset_tests::farm::{Farm, HERON, joined};
use scheduler::clock::LocalDate;
use scheduler::farm::{asked, warning};
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::{self, Lot};
use scheduler::store::orders::{self, OneOff, Standing};
use scheduler::store::people;

/// The first Thursday after the farm's first Monday.
const THURSDAY: &str = "2026-06-04";

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

async fn heron_id(farm: &Farm) -> anyhow::Result<Id> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    Ok(people::buyers(&mut tx).await?.into_iter().find(|buyer| buyer.name == HERON).expect("Heron").id)
}

/// A standing order of 2 kg shiitake every Thursday since ten weeks, these days of them left out.
async fn standing(farm: &Farm, skipped: &[&str]) -> anyhow::Result<Standing> {
    let buyer_id = heron_id(farm).await?;
    let mut tx = farm.stage.engine.store.begin().await?;
    let mut recurrence = "DTSTART;TZID=America/Chicago:20260326T120000\nRRULE:FREQ=WEEKLY;BYDAY=TH".to_owned();
    for date in skipped {
        recurrence += &format!("\nEXDATE;TZID=America/Chicago:{}T120000", date.replace('-', ""));
    }
    let order = Standing {
        id: tx.new_id(farm.stage.now()),
        buyer_id,
        crop: "shiitake".into(),
        usual: Grams::new(2000),
        recurrence,
        changed: Default::default(),
        paused: None,
    };
    orders::put_standing(&mut tx, &order, (farm.stage.now(), None)).await?;
    tx.commit().await?;
    Ok(order)
}

async fn likely(farm: &Farm) -> anyhow::Result<i64> {
    let tx = farm.stage.engine.store.begin_reading().await?;
    let mut desk = Desk::new(tx, farm.stage.now(), &farm.stage.engine.house, None);
    let lines = asked::likely_between(&mut desk.farm(), day(THURSDAY), day(THURSDAY)).await?;
    Ok(lines.iter().map(|line| line.grams.get()).sum())
}

/// Whether the keeper is warned of that Thursday when the cold room holds 1.5 kg.
async fn is_warned(farm: &Farm) -> anyhow::Result<bool> {
    let stage = &farm.stage;
    let mut tx = stage.engine.store.begin().await?;
    let lot = Lot {
        id: tx.new_id(stage.now()),
        crop: "shiitake".into(),
        flush_id: None,
        picked_on: day("2026-06-01"),
        ready_on: day("2026-06-02"),
        keeps_until: day("2026-06-11"),
        picked: Grams::new(1500),
        left: Grams::new(1500),
    };
    cold_room::add_lot(&mut tx, &lot, stage.now()).await?;
    tx.commit().await?;
    let before = stage.read(farm.ada.0);
    let tx = stage.engine.store.begin().await?;
    let mut desk = Desk::new(tx, stage.now(), &stage.engine.house, None);
    let events = warning::warn_early(&mut desk.farm()).await?;
    desk.happened(events);
    telling::tell(&mut desk).await?;
    desk.tx.commit().await?;
    stage.settle().await?;
    let told = stage.read(farm.ada.0);
    Ok(told[before.len()..].contains("June 4"))
}

const EVERY_OTHER: [&str; 5] = ["2026-04-02", "2026-04-16", "2026-04-30", "2026-05-14", "2026-05-28"];

#[tokio::test]
async fn a_steady_order_counts_whole() -> anyhow::Result<()> {
    let farm = joined().await?;
    standing(&farm, &[]).await?;
    assert_eq!(likely(&farm).await?, 2000);
    assert!(is_warned(&farm).await?);
    farm.stage.close().await;
    Ok(())
}

/// Beta(1 + 5, 9 + 5): 0.3 that it is skipped; the amount by Student t with 11 degrees. Mean over 200 outcomes with SciPy
/// 1.17 (`stats.t.ppf`): 1403 g.
#[tokio::test]
async fn an_order_skipped_every_other_week_does_not_alarm() -> anyhow::Result<()> {
    let farm = joined().await?;
    let order = standing(&farm, &EVERY_OTHER).await?;
    assert_eq!(likely(&farm).await?, 1403);
    assert!(!is_warned(&farm).await?);
    // What the buyer says of that very day is believed.
    let mut tx = farm.stage.engine.store.begin().await?;
    let changed = Standing { changed: [(day(THURSDAY), Grams::new(2500))].into(), ..order };
    orders::put_standing(&mut tx, &changed, (farm.stage.now(), None)).await?;
    tx.commit().await?;
    assert_eq!(likely(&farm).await?, 2500);
    farm.stage.close().await;
    Ok(())
}

/// Twice of ten skipped, twice a kilogram added as a one-off line. Mean over 200 outcomes with SciPy 1.17: 1844 g.
#[tokio::test]
async fn what_is_added_beside_counts_as_a_change() -> anyhow::Result<()> {
    let farm = joined().await?;
    standing(&farm, &EVERY_OTHER[..2]).await?;
    let buyer_id = heron_id(&farm).await?;
    let mut tx = farm.stage.engine.store.begin().await?;
    for date in ["2026-05-07", "2026-05-21"] {
        let line = OneOff { buyer_id, day: day(date), crop: "shiitake".into(), grams: Grams::new(1000) };
        orders::put_one_off(&mut tx, &line, (farm.stage.now(), None)).await?;
    }
    tx.commit().await?;
    assert_eq!(likely(&farm).await?, 1844);
    farm.stage.close().await;
    Ok(())
}
