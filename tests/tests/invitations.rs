//! Who may still get in: invitations die with their maker, are listed and withdrawn, and keepers hear of newcomers.

use pinset::stage::Actor;
use pinset_tests::farm::{Farm, HERON, code_in, joined};
use scheduler::people::Role;
use scheduler::store::people;

/// The family's group in these tests.
const GROUP: i64 = -700;

/// A code for one of the family, made by this keeper.
async fn invited(farm: &Farm, keeper: Actor, role: &str) -> anyhow::Result<String> {
    farm.stage.say(keeper, "/people").await?;
    farm.stage.press(keeper, role).await?;
    Ok(code_in(&farm.stage.last(keeper).text))
}

async fn take_off(farm: &Farm, keeper: Actor, name: &str) -> anyhow::Result<()> {
    farm.stage.say(keeper, "/people").await?;
    farm.stage.press(keeper, "Take somebody off").await?;
    farm.stage.press_first(keeper, name).await?;
    farm.stage.press(keeper, "Yes").await
}

async fn role_of(farm: &Farm, actor: Actor) -> anyhow::Result<Option<Role>> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    Ok(people::by_chat(&mut tx, actor.0).await?.map(|person| person.role))
}

#[tokio::test]
async fn a_removed_keeper_cannot_walk_back_in() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let ben = stage.enter(3001, "Ben", "en");
    stage.start(ben, &invited(&farm, farm.ada, "keeper").await?).await?;
    assert!(stage.last(farm.ada).text.contains("Ben has joined: keeper. Ada made the invitation"));
    let as_keeper = invited(&farm, ben, "keeper").await?;
    let as_buyer = invited(&farm, ben, HERON).await?;
    stage.say(ben, "/settings").await?;
    stage.press(ben, "Move to another account").await?;
    let as_account = code_in(&stage.last(ben).text);
    take_off(&farm, farm.ada, "Ben").await?;

    let again = stage.enter(3002, "Ben", "en");
    for (actor, code) in [(ben, &as_keeper), (ben, &as_buyer), (again, &as_keeper), (again, &as_account)] {
        let answer = stage.start(actor, code).await?;
        assert!(answer[0].text.contains("has run out"), "{answer:?}");
        assert_eq!(role_of(&farm, actor).await?, None);
    }
    // An honest way back stays open, and does not revive what he made before.
    stage.start(ben, &invited(&farm, farm.ada, "keeper").await?).await?;
    assert_eq!(role_of(&farm, ben).await?, Some(Role::Keeper));
    assert!(stage.start(again, &as_keeper).await?[0].text.contains("has run out"));
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn open_invitations_are_listed_and_can_be_withdrawn() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.ada, "/people").await?;
    assert!(!stage.last(farm.ada).text.contains("Open invitations"), "all were used");
    let as_driver = invited(&farm, farm.ada, "driver").await?;
    let as_buyer = invited(&farm, farm.ada, HERON).await?;
    stage.say(farm.heron, "/settings").await?;
    stage.press(farm.heron, "Move to another account").await?;
    let as_account = code_in(&stage.last(farm.heron).text);
    stage.say(farm.ada, "/people").await?;
    let listed = stage.last(farm.ada).text;
    for line in ["driver, from Ada, until", "Night Heron Noodle Bar, from Ada, until", "Mina: move to another account"]
    {
        assert!(listed.contains(line), "{line} in {listed}");
    }
    stage.press(farm.ada, "Open invitations").await?;
    stage.press_first(farm.ada, "Withdraw driver").await?;
    assert!(stage.last(farm.ada).text.contains("Withdrawn: driver"), "{}", stage.last(farm.ada).text);
    stage.press_first(farm.ada, "Withdraw Mina").await?;
    let zoe = stage.enter(3001, "Zoe", "en");
    for code in [&as_driver, &as_account] {
        assert!(stage.start(zoe, code).await?[0].text.contains("has run out"));
    }
    stage.start(zoe, &as_buyer).await?;
    assert_eq!(role_of(&farm, zoe).await?, Some(Role::Buyer), "only what was withdrawn is dead");
    // The list that still stands offers what was used meanwhile.
    stage.press_first(farm.ada, "Withdraw Night Heron").await?;
    let left = stage.last(farm.ada).text;
    assert!(left.contains("was used or has run out") && left.contains("No invitation is open"), "{left}");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn every_keeper_hears_of_a_newcomer_in_the_family_and_of_who_was_taken_off() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let ben = stage.enter(3001, "Ben", "es");
    stage.start(ben, &invited(&farm, farm.ada, "keeper").await?).await?;
    let zoe = stage.enter(3002, "Zoe", "en");
    stage.start(zoe, &invited(&farm, farm.ada, "grower").await?).await?;
    assert!(stage.last(farm.ada).text.contains("Zoe has joined: grower. Ada made the invitation"));
    assert!(stage.last(ben).text.contains("Zoe entró en la lista: cultivo. La invitación es de Ada"));
    assert!(!stage.read(zoe.0).contains("has joined"), "{}", stage.read(zoe.0));
    let before = stage.server.chat(ben.0).len();
    let jo = stage.enter(3003, "Jo", "en");
    stage.start(jo, &invited(&farm, farm.ada, HERON).await?).await?;
    assert_eq!(stage.server.chat(ben.0).len(), before, "a restaurant's contact is no news for the keepers");
    take_off(&farm, farm.ada, "Zoe").await?;
    assert!(stage.last(ben).text.contains("Ada quitó a Zoe de la lista"), "{}", stage.last(ben).text);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_link_asked_for_in_a_group_comes_in_private() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.server.add_group(GROUP, "Okoro family", &[farm.ada.0, farm.chidi.0])?;
    stage.settle().await?;
    stage.say_in(GROUP, farm.ada, "/group").await?;
    stage.say_in(GROUP, farm.ada, "/people").await?;
    stage.press_in(GROUP, farm.ada, "keeper").await?;
    assert!(!stage.read(GROUP).contains("?start="), "{}", stage.read(GROUP));
    assert!(stage.read(GROUP).contains("sent you the link in our private chat"), "{}", stage.read(GROUP));
    let zoe = stage.enter(3001, "Zoe", "en");
    stage.start(zoe, &code_in(&stage.last(farm.ada).text)).await?;
    assert_eq!(role_of(&farm, zoe).await?, Some(Role::Keeper));
    // The link to another account is everybody's own.
    stage.say_in(GROUP, farm.chidi, "/settings").await?;
    stage.press_in(GROUP, farm.chidi, "Move to another account").await?;
    assert!(!stage.read(GROUP).contains("?start="), "{}", stage.read(GROUP));
    assert!(stage.last(farm.chidi).text.contains("?start="), "{}", stage.last(farm.chidi).text);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_question_asked_in_a_group_is_answered_by_whoever_was_asked() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.server.add_group(GROUP, "Okoro family", &[farm.ada.0, farm.chidi.0])?;
    stage.settle().await?;
    stage.say_in(GROUP, farm.ada, "/group").await?;
    stage.say_in(GROUP, farm.ada, "/people").await?;
    stage.press_in(GROUP, farm.ada, "New restaurant").await?;
    let names = async || -> anyhow::Result<Vec<String>> {
        let mut tx = stage.engine.store.begin_reading().await?;
        Ok(people::buyers(&mut tx).await?.into_iter().map(|buyer| buyer.name).collect())
    };
    let before = names().await?;
    stage.say_in(GROUP, farm.chidi, "Chidi's own").await?;
    assert_eq!(names().await?, before, "a grower names no restaurant");
    assert!(!stage.read(farm.chidi.0).contains("?start="), "{}", stage.read(farm.chidi.0));
    stage.say_in(GROUP, farm.ada, "Harbour Grill").await?;
    assert_eq!(names().await?.len(), before.len() + 1);
    farm.stage.close().await;
    Ok(())
}
