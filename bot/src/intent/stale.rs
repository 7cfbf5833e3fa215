//! A button of every kind there is, pressed after its card has moved on. The kinds come from the types themselves, so that
//! none can be added that is not pressed here.

use super::matrix::every_example;
use super::permission::may;
use crate::config::{Config, SAMPLE};
use crate::conversation::{Button, Desk, Letter};
use crate::scenario::{self, START};
use crate::stage::Stage;
use flate2::read::GzDecoder;
use scheduler::people::Role;
use scheduler::store::{backup, buttons, people};
use std::collections::BTreeSet;
use std::io::Read;

/// Everything the farm knows, row by row, but for what came in and went out, which version of a card a chat shows, and how
/// often something was written.
async fn known(stage: &Stage) -> anyhow::Result<BTreeSet<String>> {
    let (packed, _) = backup::write(&stage.engine.store, Vec::new(), START).await?;
    let mut text = String::new();
    GzDecoder::new(packed.as_slice()).read_to_string(&mut text)?;
    let mut is_kept = true;
    let lines = text.lines().filter(|line| {
        if line.starts_with("{\"table\":") {
            is_kept = !["farm_lock", "inbox", "outbox", "card"]
                .iter()
                .any(|table| line.starts_with(&format!("{{\"table\":\"{table}\"")));
        }
        // The last line holds the sum of all of them.
        is_kept && !line.contains("\"sha256\"")
    });
    Ok(lines.map(str::to_owned).collect())
}

#[tokio::test]
async fn a_stale_press_of_any_kind_changes_nothing_says_so_and_takes_the_dead_buttons_off() -> anyhow::Result<()> {
    let stage = Stage::set(Config::parse(SAMPLE)?, START).await?;
    let joined = scenario::join(&stage).await?;
    let examples = every_example();
    for (action, intent) in &examples {
        let presser = [(joined.ada, Role::Keeper), (joined.ngozi, Role::Driver), (joined.heron, Role::Buyer)]
            .into_iter()
            .find(|(_, role)| may(*role, intent));
        // What only a food bank may press is stale for whoever presses it: roles are asked later.
        let (actor, _) = presser.unwrap_or((joined.heron, Role::Buyer));
        let mut tx = stage.engine.store.begin().await?;
        let person = people::by_chat(&mut tx, actor.0).await?.expect("the person has joined");
        let mut desk = Desk::new(tx, stage.now(), &stage.engine.house, Some(actor.0));
        let button = Button::new("Old button", intent.clone());
        desk.answer(&person, Letter::new("An old card").on_card(action).row([button])).await?;
        desk.tx.commit().await?;
        stage.settle().await?;

        let mut tx = stage.engine.store.begin().await?;
        // The next version has come a minute ago, as far as the bot knows.
        let then = stage.now().plus_seconds(-60);
        assert_eq!(buttons::void_card(&mut tx, actor.0, action, then).await?, 1, "{action}");
        let next = tx.new_id(stage.now());
        buttons::set_shown(&mut tx, (actor.0, action), next).await?;
        tx.commit().await?;
        assert_eq!(stage.last(actor).labels(), [["Old button"]], "{action}: somebody looks at it all the same");
        let (before, messages) = (known(&stage).await?, stage.server.chat(actor.0).len());
        stage.press(actor, "Old button").await?;
        let changed: Vec<String> = known(&stage).await?.symmetric_difference(&before).cloned().collect();
        assert_eq!(changed, Vec::<String>::new(), "{action}");
        assert_eq!(stage.server.chat(actor.0).len(), messages, "{action}");
        let toast = stage.server.toasts().pop().expect("an answer over the button");
        assert_eq!(toast.text, "That button is out of date. Please use my newest message.", "{action}");
        assert_eq!(stage.last(actor).labels(), Vec::<Vec<&str>>::new(), "{action}: dead buttons");
    }
    assert!(examples.len() > 100, "{}", examples.len());
    stage.close().await;
    Ok(())
}
