//! Drops and their reminders keep local time on the Sundays on which clocks change.

use pinset::config::{Config, SAMPLE};
use pinset_tests::cold_store::{drops, food_bank, lot};
use pinset_tests::farm::joined_at;
use scheduler::clock::UtcSeconds;

fn instant(rfc3339: &str) -> UtcSeconds {
    UtcSeconds::new(chrono::DateTime::parse_from_rfc3339(rfc3339).expect("an RFC 3339 instant").timestamp())
}

/// A drop on a Sunday at nine, 25 minutes away: reminders at 19:00 the evening before and at 8:25, written here as the
/// IANA tz database (2026) has them: Chicago changes on 8 March and 1 November at 2:00, Lisbon on 29 March and
/// 25 October at 1:00 UTC.
#[tokio::test]
async fn reminders_keep_local_time_when_the_clocks_change() -> anyhow::Result<()> {
    for (zone, thursday, keeps_until, eve, leave, opens) in [
        (
            "America/Chicago",
            "2026-03-05T10:00:00-06:00",
            "2026-03-09",
            "2026-03-07T19:00:00-06:00",
            "2026-03-08T08:25:00-05:00",
            "2026-03-08T09:00:00-05:00",
        ),
        (
            "America/Chicago",
            "2026-10-29T10:00:00-05:00",
            "2026-11-02",
            "2026-10-31T19:00:00-05:00",
            "2026-11-01T08:25:00-06:00",
            "2026-11-01T09:00:00-06:00",
        ),
        (
            "Europe/Lisbon",
            "2026-03-26T10:00:00+00:00",
            "2026-03-30",
            "2026-03-28T19:00:00+00:00",
            "2026-03-29T08:25:00+01:00",
            "2026-03-29T09:00:00+01:00",
        ),
        (
            "Europe/Lisbon",
            "2026-10-22T10:00:00+01:00",
            "2026-10-26",
            "2026-10-24T19:00:00+01:00",
            "2026-10-25T08:25:00+00:00",
            "2026-10-25T09:00:00+00:00",
        ),
    ] {
        let config = Config::parse(&SAMPLE.replace("America/Chicago", zone))?;
        let farm = joined_at(config, instant(thursday)).await?;
        let stage = &farm.stage;
        let ben = stage.enter(4002, "Ben", "en");
        food_bank(&farm, ("Harbour Table", "Sun 9-12"), ben).await?;
        lot(stage, "oyster", 3000, keeps_until).await?;
        stage.say(farm.ada, "/left").await?;
        stage.press(farm.ada, "Give oyster").await?;
        stage.press(ben, "Agreed").await?;
        stage.move_to(instant(opens)).await?;
        let one = drops(stage).await?.remove(0);
        assert_eq!(one.eve_reminded_at, Some(instant(eve)), "{zone} {eve}");
        assert_eq!(one.leave_reminded_at, Some(instant(leave)), "{zone} {leave}");
        assert_eq!(one.window.opens_at, instant(opens), "{zone}: the drop is at the hour the food bank opens");
        assert!(stage.last(farm.ngozi).text.contains("Leave at 8:35 AM"), "{}", stage.last(farm.ngozi).text);
        farm.stage.close().await;
    }
    Ok(())
}
