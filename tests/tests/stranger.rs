//! Who has not joined, and who presses what is not theirs: nothing changes, one polite line, and soon silence.

use bot_api_local::Pressed;
use pinset::intent::commands::COMMANDS;
use pinset::stage::{Actor, Stage};
use pinset_tests::farm::{Farm, joined};
use pinset_tests::stored::{everything, tokens};
use scheduler::store::backup::file::Value;
use scheduler::store::people;

const GROUP: i64 = -500;
/// A farm in the middle of a week, with a button of every kind that the commands give.
async fn busy() -> anyhow::Result<Farm> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.ada, "/batch").await?;
    stage.press(farm.ada, "shiitake").await?;
    for answer in ["40", "900 g", "cool room"] {
        stage.say(farm.ada, answer).await?;
    }
    stage.say(farm.ada, "soaked 40 blocks").await?;
    for buyer in [farm.heron, farm.saltmarsh] {
        stage.say(buyer, "5 lb shiitake for Thursday").await?;
        stage.press_first(buyer, "Yes").await?;
    }
    for actor in [farm.ada, farm.chidi, farm.ngozi, farm.heron, farm.kettle, farm.saltmarsh] {
        for command in COMMANDS {
            stage.say(actor, &format!("/{}", command.word)).await?;
        }
    }
    Ok(farm)
}

fn said_by_bot(stage: &Stage, chat_id: i64) -> Vec<String> {
    stage.server.chat(chat_id).into_iter().filter(|one| one.from_bot()).map(|one| one.text).collect()
}

#[tokio::test]
async fn a_stranger_gets_one_line_for_anything_and_changes_nothing() -> anyhow::Result<()> {
    let farm = busy().await?;
    let stage = &farm.stage;
    let family = [farm.ada, farm.chidi, farm.ngozi, farm.heron, farm.kettle, farm.saltmarsh];
    let before = everything(stage).await?;
    let mut said: Vec<String> = COMMANDS.iter().map(|command| format!("/{}", command.word)).collect();
    said.extend(COMMANDS.iter().map(|command| format!("/{}@rehearsal_bot 1", command.word)));
    let texts = [
        "/start",
        "/start 0123456789abcdef",
        "/start ' OR 1=1 --",
        "5 lb shiitake for Thursday",
        "yes",
        "no",
        "undo",
        "picked 4 kg shiitake",
        "soaked 40 blocks",
        "brought back 2 kg oyster",
        "skip this Thursday",
        "<b>bold",
        "\u{0}",
        "5 libras de shiitake para el jueves",
        "sí",
        "5 kg boczniaka na czwartek",
        "tak",
        "📦",
        "{{ $name }}",
    ];
    said.extend(texts.map(str::to_owned));
    let mut stranger = 3000;
    for text in &said {
        stranger += 1;
        let zoe = stage.enter(stranger, "Zoe", "en");
        let answer = stage.say(zoe, text).await?;
        assert_eq!(answer.len(), 1, "{text:?}: {answer:?}");
        let is_of_invitations = ["ask the farm for an invitation", "This invitation is not one of ours"]
            .iter()
            .any(|line| answer[0].text.contains(line));
        assert!(is_of_invitations && answer[0].keyboard.is_empty(), "{text:?}: {answer:?}");
    }
    // Every button of everybody, pressed by accounts that were answered once.
    let all: Vec<String> = family.iter().flat_map(|actor| tokens(stage, actor.0)).collect();
    assert!(all.len() > 100, "{} buttons", all.len());
    for some in all.chunks(9) {
        stranger += 1;
        let zoe = stage.enter(stranger, "Zoe", "es");
        let hello = stage.say(zoe, "hola").await?.pop().expect("an answer");
        let toasts = stage.server.toasts().len();
        for token in some {
            stage.server.press(zoe.0, zoe.0, hello.message_id, Pressed::Forged(token))?;
        }
        stage.settle().await?;
        let toasts = stage.server.toasts().split_off(toasts);
        assert_eq!(toasts.len(), some.len());
        assert!(toasts.iter().all(|toast| toast.text.contains("botón")), "{toasts:?}");
        assert_eq!(said_by_bot(stage, zoe.0).len(), 1);
    }
    assert_eq!(everything(stage).await?, before);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_flood_is_answered_ten_times_and_once_more() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let before = everything(stage).await?;
    let token = tokens(stage, farm.ada.0).pop_first().expect("a button");
    let (writer, presser) = (stage.enter(3001, "Zoe", "en"), stage.enter(3002, "Max", "en"));
    let hello = stage.say(presser, "hello").await?.pop().expect("an answer");
    for _ in 0..40 {
        stage.server.say(writer.0, writer.0, "let me in")?;
        stage.server.press(presser.0, presser.0, hello.message_id, Pressed::Forged(&token))?;
    }
    stage.settle().await?;
    let written = said_by_bot(stage, writer.0);
    assert_eq!(written.len(), 11, "{written:?}");
    assert!(written[10].contains("too often"), "{written:?}");
    // The hello was the first of ten.
    assert_eq!(stage.server.toasts().iter().filter(|toast| toast.user_id == presser.0).count(), 9);
    assert_eq!(said_by_bot(stage, presser.0).len(), 2);
    assert_eq!(everything(stage).await?, before);
    // The farm's own people are served meanwhile, and an hour later the stranger is, too.
    assert!(!stage.say(farm.heron, "/orders").await?.is_empty());
    stage.move_to(stage.now().plus_minutes(61)).await?;
    assert!(stage.say(writer, "hello again").await?[0].text.contains("ask the farm for an invitation"));
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn nobody_can_use_anybody_elses_button() -> anyhow::Result<()> {
    let farm = busy().await?;
    let stage = &farm.stage;
    let people = [farm.ada, farm.chidi, farm.ngozi, farm.heron, farm.kettle, farm.saltmarsh];
    let before = everything(stage).await?;
    for presser in people {
        let own = tokens(stage, presser.0);
        let message_id = stage.last(presser).message_id;
        let toasts = stage.server.toasts().len();
        let mut pressed = 0;
        for owner in people.iter().filter(|owner| **owner != presser) {
            for token in tokens(stage, owner.0).difference(&own) {
                stage.server.press(presser.0, presser.0, message_id, Pressed::Forged(token))?;
                pressed += 1;
            }
        }
        stage.settle().await?;
        let toasts = stage.server.toasts().split_off(toasts);
        assert!(pressed > 50 && toasts.len() == pressed, "{pressed} presses, {} notes", toasts.len());
        assert!(toasts.iter().all(|toast| !toast.text.is_empty()), "each is told so");
        assert_eq!(everything(stage).await?, before, "{presser:?}");
    }
    farm.stage.close().await;
    Ok(())
}

/// In the family's group everybody sees the same buttons: there the role decides, and the card stays for those it is for.
#[tokio::test]
async fn a_button_in_the_group_is_for_those_whose_task_it_is() -> anyhow::Result<()> {
    let farm = busy().await?;
    let stage = &farm.stage;
    let zoe = stage.enter(3001, "Zoe", "en");
    stage.say(zoe, "hello").await?;
    stage.server.add_group(GROUP, "Larkrise kitchen", &[farm.ada.0, farm.ngozi.0, farm.heron.0, zoe.0])?;
    stage.say_in(GROUP, farm.ada, "/group").await?;
    stage.say_in(GROUP, farm.ada, "/shelves").await?;
    let card = stage.server.chat(GROUP).pop().expect("the shelves");
    let count = card.keyboard.iter().flatten().count();
    assert!(count > 0, "{card:?}");
    let before = (everything(stage).await?, stage.server.chat(GROUP));
    // A driver does not grow, a restaurant is no family, and a stranger is nobody.
    for presser in [farm.ngozi, farm.heron, zoe] {
        let toasts = stage.server.toasts().len();
        for token in tokens(stage, GROUP) {
            stage.server.press(GROUP, presser.0, card.message_id, Pressed::Data(&token))?;
        }
        stage.settle().await?;
        let toasts = stage.server.toasts().split_off(toasts);
        assert!(toasts.len() == count && toasts.iter().all(|toast| !toast.text.is_empty()), "{presser:?}: {toasts:?}");
        assert_eq!((everything(stage).await?, stage.server.chat(GROUP)), before, "{presser:?}");
    }
    farm.stage.close().await;
    Ok(())
}

/// Bot API reference, "Message": a text has at most 4096 characters.
#[tokio::test]
async fn the_longest_text_is_answered_whatever_was_asked_and_changes_nothing() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let everyone: [(Actor, &str); 4] =
        [(farm.ada, "9"), (farm.chidi, "shiitake "), (farm.ngozi, "5 lb "), (farm.heron, "żółć ")];
    for (actor, piece) in everyone {
        for command in COMMANDS {
            stage.say(actor, &format!("/{}", command.word)).await?;
            let before = everything(stage).await?;
            let long: String = piece.chars().cycle().take(4096).collect();
            assert!(!stage.say(actor, &long).await?.is_empty(), "{} and then {piece:?}", command.word);
            let after = everything(stage).await?;
            let is_kept = |table: &str| !["button", "card", "question"].contains(&table);
            let of_farm = |rows: &[(String, Vec<Value>)]| {
                rows.iter().filter(|(table, _)| is_kept(table)).cloned().collect::<Vec<_>>()
            };
            assert_eq!(of_farm(&before), of_farm(&after), "{} and then {piece:?}", command.word);
        }
    }
    let mut tx = stage.engine.store.begin_reading().await?;
    assert_eq!(people::everybody(&mut tx).await?.len(), 6);
    drop(tx);
    farm.stage.close().await;
    Ok(())
}
