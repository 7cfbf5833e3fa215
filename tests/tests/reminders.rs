//! Every reminder the timetable sends comes once for one thing: in time, with the timetable asked again and the bot
//! restarted after each step, and late, after the bot stood still while it fell due.

use pinset::stage::Actor;
use pinset_tests::cold_store::{food_bank, lot};
use pinset_tests::farm::{Farm, joined};

/// How the week is played.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Played {
    InTime,
    /// After everything that falls due, the timetable is asked again, and once more by a bot that has just started.
    Again,
    /// The bot stands still over each reminder.
    Late,
}

/// Stretches without the bot: one over the early warning of Tuesday's close, the evening's picking, the packing list, the
/// count, the eve of the drop, its departure and its end.
const DOWN: [(&str, &str); 7] = [
    ("2026-06-02 17:30", "2026-06-02 18:40"),
    ("2026-06-03 16:30", "2026-06-03 19:30"),
    ("2026-06-04 04:30", "2026-06-04 07:30"),
    ("2026-06-04 12:30", "2026-06-04 13:10"),
    ("2026-06-05 15:30", "2026-06-05 20:30"),
    ("2026-06-06 07:00", "2026-06-06 08:20"),
    ("2026-06-06 12:30", "2026-06-06 16:30"),
];

async fn until(farm: &mut Farm, reading: &str, played: Played) -> anyhow::Result<()> {
    let then = farm.stage.at(reading);
    match played {
        Played::InTime => farm.stage.move_to(then).await,
        Played::Again => {
            while let Some(next) = farm.stage.next_event().await?.filter(|next| *next <= then) {
                farm.stage.move_to(next.max(farm.stage.now())).await?;
                farm.stage.engine.do_due().await?;
                farm.stage.restart().await?;
                farm.stage.settle().await?;
            }
            farm.stage.move_to(then).await
        }
        Played::Late => {
            for (from, to) in DOWN.map(|(from, to)| (farm.stage.at(from), farm.stage.at(to))) {
                if from < farm.stage.now() || to > then {
                    continue;
                }
                farm.stage.move_to(from).await?;
                farm.stage.restart_at(to).await?;
                farm.stage.settle().await?;
            }
            farm.stage.move_to(then).await
        }
    }
}

/// How many messages of a chat say this.
fn count(farm: &Farm, actor: Actor, words: &str) -> usize {
    farm.stage.server.chat(actor.0).iter().filter(|message| message.text.contains(words)).count()
}

#[tokio::test]
async fn each_reminder_comes_once_in_time_asked_again_and_late() -> anyhow::Result<()> {
    for played in [Played::InTime, Played::Again, Played::Late] {
        let mut farm = joined().await?;
        let ben = farm.stage.enter(4002, "Ben", "en");
        food_bank(&farm, ("Harbour Table", "Sat 9am to 1pm"), ben).await?;
        lot(&farm.stage, "shiitake", 1000, "2026-06-12").await?;
        lot(&farm.stage, "oyster", 5000, "2026-06-08").await?;
        for actor in [farm.heron, farm.saltmarsh] {
            farm.stage.say(actor, "2 lb shiitake for Thursday").await?;
            farm.stage.press(actor, "Yes, that's right").await?;
        }
        until(&mut farm, "2026-06-04 13:20", played).await?;
        farm.stage.press(farm.ada, "Give oyster").await?;
        farm.stage.press(ben, "Agreed").await?;
        until(&mut farm, "2026-06-07 08:00", played).await?;
        let told = [
            (farm.ada, "more is asked for than will likely be ready"),
            (farm.ada, "To pick this evening"),
            (farm.chidi, "To pick this evening"),
            (farm.ngozi, "To pick this evening"),
            (farm.ada, "Packing list"),
            (farm.chidi, "Packing list"),
            (farm.heron, "Thursday, June 4: we cannot fill all of your order"),
            (ben, "Agreed: 11 lb oyster on Saturday"),
            (farm.ngozi, "Food-bank drop on"),
            (farm.ngozi, "Time to get ready"),
        ];
        // When the food bank closed, and once more on the morning after.
        for (actor, words) in [(farm.ngozi, "Was it handed over?"), (farm.ada, "Nobody has said yet whether")] {
            assert_eq!(count(&farm, actor, words), 2, "{played:?}: {words:?} in {}", farm.stage.read(actor.0));
        }
        for (actor, words) in told {
            assert_eq!(count(&farm, actor, words), 1, "{played:?}: {words:?} in {}", farm.stage.read(actor.0));
        }
        assert_eq!(count(&farm, farm.ada, "I was not running"), 0, "{}", farm.stage.read(farm.ada.0));
        farm.stage.close().await;
    }
    Ok(())
}
