//! A yes counts once, for what was just asked; thanks, ok, thumbs and hearts after something finished change nothing.

use pinset::conversation::Desk;
use pinset_tests::book::{add_lot, awards, every_thursday, move_to, order};
use pinset_tests::farm::{Farm, HERON, KETTLE, SALTMARSH, joined};
use pinset_tests::simulation::chance::Chance;
use pinset_tests::tasks::{self, Courtesies, LANGUAGES, STICKER};
use scheduler::clock::LocalDate;
use scheduler::store::deliveries::State;

const TEXTS: &[&str] = &[
    "ok",
    "Ok!",
    "OK 👍",
    "okay",
    "k",
    "👍",
    "👍🏼",
    "👌",
    "✅",
    "🙏",
    "❤️",
    "😀",
    "🎉",
    STICKER,
    "thanks",
    "Thank you so much!",
    "thx 🙏",
    "cheers",
    "great",
    "perfect",
    "sounds good",
    "all good",
    "fine",
    "got it",
    "hi",
    "good morning",
    "yes",
    "yep",
    "sure",
    "exactly",
    "yes please",
    "gracias",
    "¡Muchas gracias!",
    "vale",
    "perfecto",
    "genial",
    "de acuerdo",
    "sí",
    "claro",
    "hola",
    "buenos días",
    "dziękuję",
    "Dzięki!",
    "super",
    "spoko",
    "dobrze",
    "tak",
    "jasne",
    "zgadza się",
    "cześć",
    "dzień dobry",
];

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

/// What all restaurants have asked for.
async fn asked(farm: &Farm) -> anyhow::Result<String> {
    let engine = &farm.stage.engine;
    let mut desk = Desk::new(engine.store.begin_reading().await?, farm.stage.now(), &engine.house, None);
    let asked = scheduler::farm::asked::between(&mut desk.farm(), day("2026-06-01"), day("2026-06-30")).await?;
    Ok(format!("{asked:?}"))
}

#[tokio::test]
async fn after_any_finished_task_no_courtesy_changes_anything() -> anyhow::Result<()> {
    let mut tasks = 0;
    for (words, seed) in LANGUAGES.iter().zip([7, 11, 13]) {
        let courtesies = Courtesies { texts: TEXTS, count: 8, chance: Chance::new(seed) };
        let play = tasks::play(words, Some(courtesies)).await?;
        tasks += play.counted.len();
        play.farm.stage.close().await;
    }
    assert!(tasks >= 3 * 30, "only {tasks} tasks");
    Ok(())
}

#[tokio::test]
async fn a_second_yes_does_nothing() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    for (actor, order, yes) in
        [(farm.heron, "5 lb shiitake for Thursday", "yes"), (farm.kettle, "5 libras de shiitake para el jueves", "sí")]
    {
        stage.say(actor, order).await?;
        let before = asked(&farm).await?;
        stage.say(actor, yes).await?;
        let placed = asked(&farm).await?;
        assert_ne!(placed, before, "the first yes orders");
        for word in [yes, "ok", yes, "👍", "no"] {
            stage.say(actor, word).await?;
            assert_eq!(asked(&farm).await?, placed, "{word}: {}", stage.read(actor.0));
        }
    }
    assert!(stage.say(farm.heron, "ok").await?.is_empty(), "silence");
    assert!(stage.say(farm.heron, "👍").await?.is_empty(), "silence");
    assert_eq!(stage.say(farm.heron, "Thanks!").await?[0].text, "You're welcome.");
    assert_eq!(stage.say(farm.kettle, "gracias 🙏").await?[0].text, "¡Con gusto!");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn after_a_skip_and_over_a_standing_orders_card_ok_does_nothing() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    every_thursday(&farm, HERON, ("oyster", 2000)).await?;
    stage.say(farm.heron, "skip this week").await?;
    stage.say(farm.heron, "ok").await?;
    let skipped = asked(&farm).await?;
    for word in ["ok", "👍", "ok", "yes", "perfect"] {
        stage.say(farm.heron, word).await?;
        assert_eq!(asked(&farm).await?, skipped, "{word}: {}", stage.read(farm.heron.0));
    }
    stage.say(farm.heron, "/standing").await?;
    let card = stage.last(farm.heron).labels().concat().first().map(|label| (*label).to_owned());
    stage.press(farm.heron, &card.expect("a button for the one standing order")).await?;
    assert!(stage.last(farm.heron).labels().concat().len() > 3, "its card: {:?}", stage.last(farm.heron).labels());
    for word in ["ok", "👍", "yes", "sure"] {
        stage.say(farm.heron, word).await?;
        assert_eq!(asked(&farm).await?, skipped, "{word}: {}", stage.read(farm.heron.0));
    }
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_was_said_back_waits_for_its_yes_while_it_is_the_last_thing_asked() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let before = asked(&farm).await?;
    stage.say(farm.heron, "5 lb shiitake for Thursday").await?;
    // Neither an hour nor a word that is not understood takes the question away.
    stage.move_to(stage.now().plus_minutes(3 * 60)).await?;
    stage.say(farm.heron, "hmmm brrr").await?;
    assert_eq!(asked(&farm).await?, before);
    stage.say(farm.heron, "👍").await?;
    assert_ne!(asked(&farm).await?, before, "{}", stage.read(farm.heron.0));
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_yes_answers_a_shortfall_only_while_nothing_was_said_since() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let thursday = day("2026-06-04");
    add_lot(&farm, ("shiitake", 6000), day("2026-06-01")).await?;
    for buyer in [HERON, KETTLE, SALTMARSH] {
        order(&farm, buyer, ("shiitake", 6000), thursday).await?;
    }
    move_to(&farm, "2026-06-02 18:00").await?;
    let open = async || -> anyhow::Result<usize> {
        let awards = awards(&farm, thursday).await?;
        Ok(awards.iter().filter(|award| !matches!(award.state, State::Taken | State::Full)).count())
    };
    let before = open().await?;
    stage.say(farm.heron, "/orders").await?;
    for word in ["ok", "👍", "thanks", "great"] {
        stage.say(farm.heron, word).await?;
        assert_eq!(open().await?, before, "{word}");
    }
    stage.say(farm.heron, "yes").await?;
    assert!(stage.last(farm.heron).text.contains("Do you mean this?"), "{}", stage.last(farm.heron).text);
    assert_eq!(open().await?, before, "asked, not done");
    stage.press_first(farm.heron, "Short: shiitake").await?;
    assert_eq!(open().await?, before - 1);
    // The other restaurant has heard nothing since its card.
    stage.say(farm.saltmarsh, "ok").await?;
    assert_eq!(open().await?, before - 2, "{}", stage.read(farm.saltmarsh.0));
    farm.stage.close().await;
    Ok(())
}
