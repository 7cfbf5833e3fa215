//! The group that gets the family's notices: who names it, and when it gets nothing.

use bot_api_local::Fault;
use pinset::stage::Actor;
use pinset_tests::farm::{Farm, code_in, joined};
use scheduler::store::people;

const GROUP: i64 = -700;
const FOREIGN: i64 = -701;

/// A second keeper.
async fn second_keeper(farm: &Farm) -> anyhow::Result<Actor> {
    let stage = &farm.stage;
    stage.say(farm.ada, "/people").await?;
    stage.press(farm.ada, "keeper").await?;
    let code = code_in(&stage.last(farm.ada).text);
    let ben = stage.enter(3001, "Ben", "en");
    stage.start(ben, &code).await?;
    Ok(ben)
}

async fn group(farm: &Farm, chat_id: i64, members: &[Actor]) -> anyhow::Result<()> {
    let members: Vec<i64> = members.iter().map(|actor| actor.0).collect();
    farm.stage.server.add_group(chat_id, "Okoro family", &members)?;
    farm.stage.settle().await
}

async fn groups(farm: &Farm) -> anyhow::Result<Vec<i64>> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    Ok(people::family_groups(&mut tx).await?.into_iter().map(|(chat_id, _)| chat_id).collect())
}

/// Messages of the bot in a chat.
fn written(farm: &Farm, chat_id: i64) -> usize {
    farm.stage.server.chat(chat_id).iter().filter(|message| message.from_bot()).count()
}

/// Lets a week pass, with its notices; how many messages the chat got.
async fn week_of_notices(farm: &Farm, chat_id: i64) -> anyhow::Result<usize> {
    let before = written(farm, chat_id);
    farm.stage.move_to(farm.stage.now().plus_minutes(7 * 24 * 60)).await?;
    Ok(written(farm, chat_id) - before)
}

async fn take_off(farm: &Farm, name: &str) -> anyhow::Result<()> {
    let (stage, ada) = (&farm.stage, farm.ada);
    stage.say(ada, "/people").await?;
    stage.press(ada, "Take somebody off").await?;
    stage.press_first(ada, name).await?;
    stage.press(ada, "Yes").await
}

#[tokio::test]
async fn only_a_keeper_names_the_group_and_the_others_hear_of_it() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let ben = second_keeper(&farm).await?;
    group(&farm, FOREIGN, &[farm.chidi, farm.ngozi]).await?;
    for actor in [farm.chidi, farm.ngozi] {
        let answer = stage.say_in(FOREIGN, actor, "/group").await?;
        assert!(answer[0].text.contains("not yours to do"), "{answer:?}");
        stage.say_in(FOREIGN, actor, "/today").await?;
    }
    assert_eq!(groups(&farm).await?, Vec::<i64>::new());
    assert_eq!(week_of_notices(&farm, FOREIGN).await?, 0);
    assert_eq!(written(&farm, FOREIGN), 2, "the two refusals: {}", stage.read(FOREIGN));

    group(&farm, GROUP, &[farm.ada, farm.chidi]).await?;
    let before = written(&farm, ben.0);
    stage.say_in(GROUP, farm.ada, "/group").await?;
    assert!(stage.last(ben).text.contains("Ada has named a group"), "{}", stage.last(ben).text);
    assert_eq!(groups(&farm).await?, [GROUP]);
    stage.say_in(GROUP, farm.ada, "/group").await?;
    assert_eq!(written(&farm, ben.0), before + 1, "once more is no news");
    assert!(week_of_notices(&farm, GROUP).await? > 0);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_group_gets_nothing_once_no_keeper_is_in_it() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    group(&farm, GROUP, &[farm.ada, farm.chidi, farm.ngozi]).await?;
    stage.say_in(GROUP, farm.ada, "/group").await?;
    stage.server.leave_group(GROUP, farm.ngozi.0)?;
    stage.settle().await?;
    assert_eq!(groups(&farm).await?, [GROUP], "a driver may leave it");
    stage.server.leave_group(GROUP, farm.ada.0)?;
    stage.settle().await?;
    assert_eq!(groups(&farm).await?, Vec::<i64>::new());
    let told = stage.read(farm.ada.0);
    assert_eq!(told.matches("No keeper is in the family's group any more").count(), 1, "{told}");
    let chidi = written(&farm, farm.chidi.0);
    assert_eq!(week_of_notices(&farm, GROUP).await?, 0, "{}", stage.read(GROUP));
    assert!(written(&farm, farm.chidi.0) > chidi, "the notices come to each of the family");
    assert!(stage.say_in(GROUP, farm.chidi, "/today").await?.is_empty(), "nor are questions answered there");

    stage.server.add_member(GROUP, farm.ada.0)?;
    stage.say_in(GROUP, farm.ada, "/group").await?;
    assert!(week_of_notices(&farm, GROUP).await? > 0);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_keeper_who_left_unnoticed_is_found_at_night() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    // As if the bot had missed that everybody but the grower left.
    group(&farm, GROUP, &[farm.chidi]).await?;
    let mut tx = stage.engine.store.begin().await?;
    people::add_family_group(&mut tx, GROUP, "en", (None, stage.now())).await?;
    tx.commit().await?;
    stage.move_to(stage.at("2026-06-02 03:29")).await?;
    assert_eq!(groups(&farm).await?, [GROUP]);
    stage.move_to(stage.at("2026-06-02 09:00")).await?;
    assert_eq!(groups(&farm).await?, Vec::<i64>::new());
    assert!(stage.read(farm.ada.0).contains("No keeper is in the family's group any more"));
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_group_that_does_not_say_who_is_in_it_goes_on_and_nobody_hears_of_it() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    group(&farm, GROUP, &[farm.ada, farm.chidi]).await?;
    stage.say_in(GROUP, farm.ada, "/group").await?;
    stage.server.fault(Fault::EchoRefused, Some("getChatMember"), 20);
    assert!(week_of_notices(&farm, GROUP).await? > 0);
    assert_eq!(groups(&farm).await?, [GROUP]);
    assert!(!stage.read(farm.ada.0).contains("could not be delivered"), "{}", stage.read(farm.ada.0));
    let asked = stage.server.calls().into_iter().filter(|call| call.method.eq_ignore_ascii_case("getChatMember"));
    assert!(asked.filter(|call| !call.is_ok()).count() >= 7, "asked every night");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_group_whose_namer_is_taken_off_waits_for_a_keepers_word() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let ben = second_keeper(&farm).await?;
    group(&farm, GROUP, &[ben, farm.ada, farm.chidi]).await?;
    stage.say_in(GROUP, ben, "/group").await?;
    take_off(&farm, "Ben").await?;
    let told = stage.read(farm.ada.0);
    assert!(told.contains("Ben, who named the family's group, is off the list"), "{told}");
    assert!(told.contains("Ben is off the list but still in the family's group"), "{told}");
    assert_eq!(week_of_notices(&farm, GROUP).await?, 0, "{}", stage.read(GROUP));
    stage.press(farm.ada, "Yes, send them there").await?;
    assert_eq!(groups(&farm).await?, [GROUP]);
    stage.server.leave_group(GROUP, ben.0)?;
    assert!(week_of_notices(&farm, GROUP).await? > 0);
    assert_eq!(stage.read(farm.ada.0).matches("still in the family's group").count(), 1, "told once");

    // Another namer goes, and the answer is no.
    let code = {
        stage.say(farm.ada, "/people").await?;
        stage.press(farm.ada, "keeper").await?;
        code_in(&stage.last(farm.ada).text)
    };
    stage.start(ben, &code).await?;
    stage.server.add_member(GROUP, ben.0)?;
    stage.say_in(GROUP, ben, "/group").await?;
    take_off(&farm, "Ben").await?;
    stage.press(farm.ada, "No").await?;
    assert!(stage.read(farm.ada.0).contains("Nothing is sent to that group any more"), "{}", stage.read(farm.ada.0));
    assert_eq!(week_of_notices(&farm, GROUP).await?, 0);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn somebody_taken_off_the_list_who_stays_in_the_group_is_named() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    group(&farm, GROUP, &[farm.ada, farm.chidi, farm.ngozi]).await?;
    stage.say_in(GROUP, farm.ada, "/group").await?;
    take_off(&farm, "Chidi").await?;
    let told = stage.read(farm.ada.0);
    assert!(told.contains("Chidi is off the list but still in the family's group"), "{told}");
    assert_eq!(groups(&farm).await?, [GROUP], "a keeper is in it");
    assert!(stage.say_in(GROUP, farm.chidi, "/today").await?.is_empty());
    stage.server.leave_group(GROUP, farm.ngozi.0)?;
    take_off(&farm, "Ngozi").await?;
    assert!(!stage.read(farm.ada.0).contains("Ngozi is off the list but"), "she had left the group");
    farm.stage.close().await;
    Ok(())
}
