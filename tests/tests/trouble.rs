//! What the service refuses, and what becomes of it: nothing is dropped without a word, and nobody else waits for it.

use bot_api_local::{ButtonAction, ChatMessage, Fault, Pressed};
use pinset::config::SAMPLE;
use pinset::outgoing::{Body, Key, Place};
use pinset::stage::{Actor, Stage};
use pinset_tests::farm::joined;
use scheduler::id::Id;
use scheduler::store::outbox::{self, Depth, Urgency};
use scheduler::store::{buttons, inbox, people};

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
const GROUP: i64 = -500;
const SUPERGROUP: i64 = -1_000_000_000_500;

async fn put(stage: &Stage, chat_id: i64, body: &str) -> anyhow::Result<()> {
    let mut tx = stage.engine.store.begin().await?;
    outbox::put(&mut tx, chat_id, Urgency::Notice, body, stage.now()).await?;
    tx.commit().await?;
    stage.engine.outbox_filled.notify_one();
    Ok(())
}

fn message(html: &str) -> anyhow::Result<String> {
    let (keyboard, card) = (Vec::new(), None);
    Ok(serde_json::to_string(&Body::Message { html: html.into(), keyboard, card, place: Place::AtEnd })?)
}

async fn depth(stage: &Stage) -> anyhow::Result<Depth> {
    Ok(outbox::depth(&mut stage.engine.store.begin_reading().await?).await?)
}

/// How often a chat was told something.
fn times(stage: &Stage, actor: Actor, text: &str) -> usize {
    stage.server.chat(actor.0).iter().filter(|message| message.from_bot() && message.text.contains(text)).count()
}

async fn is_reachable(stage: &Stage, actor: Actor) -> anyhow::Result<bool> {
    let mut tx = stage.engine.store.begin_reading().await?;
    Ok(people::unreachable(&mut tx).await?.iter().all(|(chat_id, ..)| *chat_id != actor.0))
}

#[tokio::test]
async fn who_blocks_the_bot_is_told_of_once_and_welcomed_back() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, tom, ada) = (&farm.stage, farm.saltmarsh, farm.ada);
    let told = "Tom cannot be reached here any more";
    stage.server.block(tom.0)?;
    stage.settle().await?;
    assert_eq!((times(stage, ada, told), is_reachable(stage, tom).await?), (1, false));
    for number in 0..3 {
        put(stage, tom.0, &message(&format!("{number}"))?).await?;
        put(stage, farm.heron.0, &message(&format!("to the others {number}"))?).await?;
    }
    stage.settle().await?;
    assert_eq!(times(stage, ada, told), 1, "once, however many messages fail");
    assert_eq!(times(stage, farm.heron, "to the others"), 3, "other chats go on");
    assert_eq!(depth(stage).await?, Depth { waiting: 0, oldest_at: None, set_aside: 3 });
    stage.server.unblock(tom.0)?;
    stage.settle().await?;
    assert!(is_reachable(stage, tom).await?, "coming back is enough");
    put(stage, tom.0, &message("good to have you back")?).await?;
    stage.settle().await?;
    assert_eq!(times(stage, tom, "good to have you back"), 1);
    // Gone again is news again.
    stage.server.block(tom.0)?;
    stage.settle().await?;
    assert_eq!(times(stage, ada, told), 2);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_chat_that_vanished_is_told_of_once() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    // A person of another life: the service does not know the chat.
    let mut tx = stage.engine.store.begin().await?;
    let mut gone = people::by_chat(&mut tx, farm.saltmarsh.0).await?.expect("Tom");
    (gone.id, gone.chat_id, gone.name) = (tx.new_id(stage.now()), 9_999, "Old Tom".into());
    people::join(&mut tx, &gone, stage.now()).await?;
    tx.commit().await?;
    for _ in 0..2 {
        put(stage, gone.chat_id, &message("hello?")?).await?;
    }
    stage.settle().await?;
    assert_eq!(times(stage, farm.ada, "Old Tom cannot be reached"), 1);
    assert_eq!(depth(stage).await?.set_aside, 2);
    let aside = outbox::set_aside_list(&mut stage.engine.store.begin_reading().await?, 9).await?;
    assert!(
        aside.iter().all(|(chat_id, reason, _)| *chat_id == gone.chat_id && reason.contains("chat not found")),
        "{aside:?}"
    );
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_group_that_becomes_a_supergroup_takes_everything_with_it() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, ada) = (&farm.stage, farm.ada);
    stage.server.add_group(GROUP, "Larkrise kitchen", &[ada.0, farm.chidi.0])?;
    stage.say_in(GROUP, ada, "/group").await?;
    // A message with a button was written, and the group moves before it goes out.
    let mut tx = stage.engine.store.begin().await?;
    let intent = r#"{"views":"today"}"#;
    let token = buttons::put(&mut tx, GROUP, "a card", intent, stage.now()).await?;
    buttons::set_message(&mut tx, (GROUP, "a card"), 1, stage.now()).await?;
    tx.commit().await?;
    let keyboard = vec![vec![Key { label: "Today's list".into(), token }]];
    let body =
        Body::Message { html: "for the family".into(), keyboard, card: Some("a card".into()), place: Place::OverCard };
    stage.server.migrate_group(GROUP, SUPERGROUP)?;
    put(stage, GROUP, &serde_json::to_string(&body)?).await?;
    stage.settle().await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    assert_eq!(people::family_groups(&mut tx).await?, [(SUPERGROUP, "en".to_owned())]);
    drop(tx);
    let read: Vec<ChatMessage> = stage.server.chat(SUPERGROUP).into_iter().filter(ChatMessage::from_bot).collect();
    assert_eq!(read.len(), 1, "{read:?}");
    assert_eq!(read[0].text, "for the family");
    assert_eq!(depth(stage).await?, Depth::default(), "nothing waits and nothing is set aside");
    stage.press_in(SUPERGROUP, ada, "Today's list").await?;
    let last = stage.server.chat(SUPERGROUP).pop().expect("a message");
    assert_ne!(last.text, "for the family", "the button works in the new chat: {last:?}");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_message_nobody_can_send_is_set_aside_and_named() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    put(stage, heron.0, &message("a <b>bold")?).await?;
    put(stage, heron.0, "not a message at all").await?;
    put(stage, heron.0, &message("the next one")?).await?;
    // What the service refuses here is meant to break the published rules, which a stage would not let pass.
    let settled = stage.settle().await;
    assert!(settled.is_err_and(|error| error.to_string().contains("parse entities")), "the first was refused");
    assert_eq!(stage.last(heron).text, "the next one");
    assert_eq!(times(stage, farm.ada, "A message to Mina could not be delivered"), 2, "one for each");
    let folder = tempfile::tempdir()?;
    std::fs::write(folder.path().join("pinset.toml"), SAMPLE)?;
    let mut check = tokio::process::Command::new(PROGRAM);
    check.args(["check", "--database", stage.database()]).current_dir(folder.path()).env_remove("PINSET_CONFIG");
    let output = check.output().await?;
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let notes: Vec<&str> = said.lines().filter(|line| line.contains("was set aside")).collect();
    assert_eq!(notes.len(), 2, "{said}");
    assert!(
        notes.iter().any(|note| note.contains("unreadable"))
            && notes.iter().any(|note| note.contains("parse entities")),
        "{notes:?}"
    );
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_card_that_cannot_be_edited_is_said_anew() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    stage.say(heron, "5 lb shiitake for Thursday").await?;
    let card = stage.last(heron);
    let ButtonAction::Callback(data) = &card.keyboard[0][0].action else { panic!("no button of the bot's: {card:?}") };
    // Pressed, and gone before the bot answers: the service sends the press all the same.
    stage.server.delete(heron.0, card.message_id)?;
    let earlier = stage.server.chat(heron.0)[0].message_id;
    stage.server.press(heron.0, heron.0, earlier, Pressed::Forged(data))?;
    stage.settle().await?;
    let anew = stage.last(heron);
    assert!(anew.message_id > card.message_id && anew.from_bot(), "{anew:?}");
    assert!(anew.text.contains("shiitake"), "{anew:?}");
    assert_eq!(depth(stage).await?, Depth::default());
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_is_done_with_is_forgotten_in_time() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let hello = stage.server.say(farm.heron.0, farm.heron.0, "/orders")?;
    stage.settle().await?;
    let all = |from: i64| async move {
        let mut tx = stage.engine.store.begin_reading().await?;
        anyhow::Ok((outbox::after(&mut tx, Id::new(from)).await?, inbox::is_seen(&mut tx, hello).await?))
    };
    let (written, is_seen) = all(0).await?;
    assert!(is_seen && written.len() > 20, "{} messages", written.len());
    let of_joining = written.last().expect("there are some").id;
    // At 3:30 every night.
    stage.move_to(stage.now().plus_minutes(29 * 24 * 60)).await?;
    let (kept, is_seen) = all(0).await?;
    assert_eq!(
        (&kept[..written.len()], is_seen),
        (&written[..], false),
        "kept a month, the marks of updates two weeks"
    );
    stage.move_to(stage.now().plus_minutes(2 * 24 * 60)).await?;
    let (kept, _) = all(0).await?;
    assert!(kept.iter().all(|message| message.id > of_joining), "{:?}", kept.first());
    assert_eq!(kept, all(of_joining.get()).await?.0);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_storm_at_the_service_is_waited_out() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    stage.server.fault(Fault::CutBefore, Some("sendMessage"), 4);
    stage.server.fault(Fault::TooManyRequests { retry_after_s: 30 }, Some("sendMessage"), 2);
    stage.server.say(heron.0, heron.0, "/orders")?;
    put(stage, farm.kettle.0, &message("meanwhile")?).await?;
    let begun = stage.now();
    // The clock goes on to whenever the next try is due.
    stage.move_to(begun.plus_minutes(10)).await?;
    assert_eq!(times(stage, farm.kettle, "meanwhile"), 1);
    assert!(stage.last(heron).from_bot(), "answered in the end: {:?}", stage.last(heron));
    assert_eq!(depth(stage).await?, Depth::default());
    let calls = stage.server.calls();
    let tried = calls
        .iter()
        .filter(|call| call.method.eq_ignore_ascii_case("sendMessage") && call.at >= begun && !call.is_ok());
    assert_eq!(tried.count(), 6, "each fault was met once");
    farm.stage.close().await;
    Ok(())
}
