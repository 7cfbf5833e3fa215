//! Sentences that were untrue: each says now what the record says.

use pinset_tests::book::{add_lot, every_thursday, move_to};
use pinset_tests::farm::{HERON, KETTLE, joined};
use scheduler::clock::LocalDate;

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

#[tokio::test]
async fn no_chance_is_told_of_keeping_nothing() -> anyhow::Result<()> {
    let farm = joined().await?;
    every_thursday(&farm, HERON, ("shiitake", 2000)).await?;
    move_to(&farm, "2026-06-02 18:00").await?;
    let read = farm.stage.read(farm.ada.0);
    assert!(read.contains("orders are closed") && !read.contains("Chance that we can keep"), "{read}");
    farm.stage.close().await;

    let farm = joined().await?;
    every_thursday(&farm, HERON, ("shiitake", 2000)).await?;
    add_lot(&farm, ("shiitake", 3000), day("2026-06-01")).await?;
    move_to(&farm, "2026-06-02 18:00").await?;
    let read = farm.stage.read(farm.ada.0);
    assert!(read.contains("Chance that we can keep all of it"), "{read}");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn silence_is_no_answer_and_the_driver_has_no_night_to_cool_in() -> anyhow::Result<()> {
    let farm = joined().await?;
    for buyer in [HERON, KETTLE] {
        every_thursday(&farm, buyer, ("shiitake", 2000)).await?;
    }
    add_lot(&farm, ("shiitake", 3000), day("2026-06-01")).await?;
    move_to(&farm, "2026-06-03 12:00").await?;
    let read = farm.stage.read(farm.ada.0);
    assert!(read.contains("the time for answers is over") && !read.contains("every answer is in"), "{read}");
    move_to(&farm, "2026-06-04 09:00").await?;
    farm.stage.say(farm.ngozi, "/run").await?;
    let run = farm.stage.last(farm.ngozi).text;
    assert!(run.contains("on the way") && !run.contains("overnight"), "{run}");
    farm.stage.close().await;
    Ok(())
}
