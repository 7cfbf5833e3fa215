//! Who gets in, and how.

use pinset_tests::farm::{code_in, joined};

#[tokio::test]
async fn everybody_joins_in_their_own_language() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    assert!(
        stage.read(farm.ada.0).contains("You now keep Larkrise Mushrooms in this chat"),
        "{}",
        stage.read(farm.ada.0)
    );
    assert!(stage.read(farm.kettle.0).contains("Somos Larkrise Mushrooms"), "{}", stage.read(farm.kettle.0));
    stage.say(farm.ada, "/people").await?;
    let people = stage.last(farm.ada).text;
    for line in ["Ada, keeper", "Chidi, grower", "Ngozi, driver", "Copper Kettle Bistro: Rosa"] {
        assert!(people.contains(line), "{line} in {people}");
    }
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn an_invitation_works_once_and_not_for_ever() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.ada, "/people").await?;
    stage.press(farm.ada, "grower").await?;
    let code = code_in(&stage.last(farm.ada).text);
    let zoe = stage.enter(3001, "Zoe", "en");
    let answer = stage.say(zoe, "5 lb shiitake please").await?;
    assert!(answer[0].text.contains("ask the farm for an invitation"), "{answer:?}");
    assert_eq!(answer.len(), 1);
    stage.start(zoe, &code).await?;
    assert!(stage.last(zoe).text.contains("Welcome to Larkrise"), "{:?}", stage.last(zoe));
    let late = stage.enter(3002, "Lou", "es");
    assert!(stage.start(late, &code).await?[0].text.contains("ya se usó"));
    assert!(stage.start(late, "nonsense").await?[0].text.contains("no es nuestra"));
    stage.press(farm.ada, "driver").await.expect_err("the list's buttons went with the invitation");
    stage.say(farm.ada, "/people").await?;
    stage.press(farm.ada, "driver").await?;
    let code = code_in(&stage.last(farm.ada).text);
    stage.move_to(stage.now().plus_minutes(8 * 24 * 60)).await?;
    assert!(stage.start(late, &code).await?[0].text.contains("venció"));
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn codes_of_earlier_starts_work_until_there_is_a_keeper() -> anyhow::Result<()> {
    use pinset::config::{Config, SAMPLE};
    let stage = pinset::stage::Stage::set(Config::parse(SAMPLE)?, pinset_tests::farm::START).await?;
    let (first, second) = (stage.claim_code().await?, stage.claim_code().await?);
    let ada = stage.enter(1001, "Ada", "en");
    stage.start(ada, &first).await?;
    assert!(stage.last(ada).text.contains("You now keep"), "{:?}", stage.last(ada));
    let late = stage.enter(3001, "Lou", "en");
    assert!(stage.start(late, &second).await?[0].text.contains("has run out"), "{:?}", stage.last(late));
    stage.claim_code().await.expect_err("the farm has its keeper");
    stage.close().await;
    Ok(())
}

#[tokio::test]
async fn codes_cannot_be_guessed_at_will() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.ada, "/people").await?;
    stage.press(farm.ada, "grower").await?;
    let code = code_in(&stage.last(farm.ada).text);
    let guesser = stage.enter(3001, "Lou", "es");
    for number in 0..10 {
        assert!(stage.start(guesser, &format!("guess{number}")).await?[0].text.contains("no es nuestra"));
    }
    let told = stage.start(guesser, &code).await?;
    assert!(told.len() == 1 && told[0].text.contains("en una hora"), "{told:?}");
    assert!(stage.start(guesser, &code).await?.is_empty(), "told once, then nothing");
    let zoe = stage.enter(3002, "Zoe", "en");
    assert!(stage.start(zoe, "a-typing-slip").await?[0].text.contains("not one of ours"), "others are not held up");
    stage.move_to(stage.now().plus_minutes(61)).await?;
    stage.start(guesser, &code).await?;
    assert!(stage.last(guesser).text.contains("Larkrise Mushrooms"), "{:?}", stage.last(guesser));
    farm.stage.close().await;
    Ok(())
}
