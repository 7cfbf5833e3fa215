//! A farm larger than any family runs: whatever is asked is answered within the published limits, which the stage checks
//! of every message (`Stage::settle`), and nothing of a list is left out for being long.

use pinset::stage::Stage;
use pinset_tests::farm::joined;
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::{self, Lot};
use scheduler::store::giving::{self, FoodBank};
use scheduler::store::growing::{self, Batch, Flush};
use scheduler::store::orders::{self, OneOff};
use scheduler::store::people;

const RESTAURANTS: usize = 110;
const BATCHES: usize = 90;
const LOTS: usize = 50;
const BANKS: usize = 60;

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

/// As long as a name may be.
fn name(what: &str, number: usize) -> String {
    format!("{what} {number:03} of the Very Long Name by the Old Harbour Wall & Co.")
}

async fn fill(stage: &Stage) -> anyhow::Result<()> {
    let now = stage.now();
    let mut tx = stage.engine.store.begin().await?;
    for number in 0..RESTAURANTS {
        let buyer_id = people::add_buyer(&mut tx, &name("Inn", number), now).await?;
        for crop in ["shiitake", "oyster"] {
            let line = OneOff { buyer_id, day: day("2026-06-04"), crop: crop.into(), grams: Grams::new(1360) };
            orders::put_one_off(&mut tx, &line, (now, None)).await?;
        }
    }
    for number in 0..BATCHES {
        let crop = if number % 2 == 0 { "shiitake" } else { "oyster" };
        let (id, room) = (tx.new_id(now), format!("room {number:03} behind the mill"));
        let started_on = day("2026-05-01");
        let batch = Batch { id, crop: crop.into(), room, units: 20, dry_per_unit: Grams::new(900), started_on };
        growing::add_batch(&mut tx, &batch).await?;
        let flush = Flush {
            id: tx.new_id(now),
            batch_id: id,
            number: 1,
            initiated_on: (number % 3 > 0).then(|| day("2026-05-24")),
            pins_on: None,
            units_lost: 0,
            closed_on: None,
            picked: Vec::new(),
        };
        growing::put_flush(&mut tx, &flush).await?;
    }
    for number in 0..LOTS {
        let lot = Lot {
            id: tx.new_id(now),
            crop: if number % 2 == 0 { "shiitake" } else { "oyster" }.into(),
            flush_id: None,
            picked_on: day("2026-05-31"),
            ready_on: day(if number % 5 == 0 { "2026-06-02" } else { "2026-06-01" }),
            keeps_until: day("2026-06-07"),
            picked: Grams::new(4000),
            left: Grams::new(4000),
        };
        cold_room::add_lot(&mut tx, &lot, now).await?;
    }
    for number in 0..BANKS {
        let bank = FoodBank {
            id: tx.new_id(now),
            name: name("Pantry", number),
            address: "12 Quay Street, Port Merrow, the green door behind the chapel, ring twice".into(),
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
    }
    Ok(tx.commit().await?)
}

#[tokio::test]
async fn every_view_of_a_large_farm_fits() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    fill(stage).await?;
    let views = [
        "/help",
        "/today",
        "/week",
        "/forecast",
        "/plan",
        "/shelves",
        "/pick",
        "/batch",
        "/packing",
        "/run",
        "/record",
        "/coldroom",
        "/left",
        "/drops",
        "/given",
        "/foodbanks",
        "/people",
        "/settings",
    ];
    for reading in ["2026-06-01 09:00", "2026-06-02 18:10", "2026-06-04 06:30"] {
        stage.move_to(stage.at(reading)).await?;
        for view in views {
            assert!(!stage.say(farm.ada, view).await?.is_empty(), "{view} is answered at {reading}");
        }
    }
    // Every restaurant is on the list, though it takes several messages, and so is every batch.
    let read = stage.read(farm.ada.0);
    for number in 0..RESTAURANTS {
        assert!(read.contains(&name("Inn", number)), "{}", name("Inn", number));
    }
    stage.say(farm.ada, "/today").await?;
    let today = stage.read(farm.ada.0);
    let fruiting = (0..BATCHES).filter(|number| number % 3 > 0);
    for number in fruiting {
        assert!(today.contains(&format!("room {number:03} behind the mill: ")), "room {number}");
    }
    // Later pages of what is paged.
    stage.say(farm.ada, "/coldroom").await?;
    stage.press(farm.ada, "More →").await?;
    assert!(stage.last(farm.ada).text.contains("Page 2 of 5"), "{}", stage.last(farm.ada).text);
    stage.press(farm.ada, "Print it").await?;
    stage.press(farm.ada, "As a table").await?;
    stage.press(farm.ada, "Other weights").await?;
    stage.say(farm.ada, "/packing").await?;
    stage.press(farm.ada, "All packed as listed").await?;
    stage.say(farm.ada, "/run").await?;
    stage.press(farm.ada, "All delivered").await?;
    stage.move_to(stage.at("2026-06-04 13:05")).await?;
    farm.stage.close().await;
    Ok(())
}
