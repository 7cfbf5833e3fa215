//! The timetable follows the delivery days: whatever day the van leaves, the family is told what to pick the evening before
//! and what to pack that morning.

use pinset::config::{Config, SAMPLE};
use pinset_tests::book::{self, assert_reads, move_to};
use pinset_tests::farm::{HERON, START, joined_at};

/// The sample with its delivery days and its cut-off replaced, as the README says.
fn sample(weekdays: &str, cutoff: &str) -> String {
    let line = |line: &str| match line.split(" = ").next() {
        Some("weekdays") if line.contains("Thu") => format!("weekdays = {weekdays}\n"),
        Some("cutoff") => format!("cutoff = \"{cutoff}\"\n"),
        _ => format!("{line}\n"),
    };
    SAMPLE.lines().map(line).collect()
}

#[tokio::test]
async fn a_farm_that_delivers_on_friday_picks_on_thursday_and_packs_on_friday() -> anyhow::Result<()> {
    let farm = joined_at(Config::parse(&sample("[\"Fri\"]", "0 18 * * WED"))?, START).await?;
    let stage = &farm.stage;
    book::add_lot(&farm, ("shiitake", 4000), "2026-06-01".parse()?).await?;
    book::order(&farm, HERON, ("shiitake", 2268), "2026-06-05".parse()?).await?;
    move_to(&farm, "2026-06-03 18:01:00").await?;
    assert_reads(&stage.last(farm.heron).text, &["Friday, June 5: all confirmed"]);
    move_to(&farm, "2026-06-04 16:59:00").await?;
    assert!(!stage.last(farm.chidi).text.contains("To pick this evening"));
    move_to(&farm, "2026-06-04 17:01:00").await?;
    assert_reads(&stage.last(farm.chidi).text, &["To pick this evening", "Friday, June 5"]);
    move_to(&farm, "2026-06-05 06:01:00").await?;
    assert_reads(&stage.last(farm.chidi).text, &["Packing list, Friday, June 5"]);
    Ok(())
}
