//! Wishes as people write them: so much more, one crop in another's place, two in one text, a stray word, a question that only
//! looks like a wish. What is read is held against what is stored.

use pinset::stage::{Actor, Stage};
use pinset_tests::book;
use pinset_tests::farm::{Farm, HERON, joined};
use scheduler::clock::LocalDate;
use scheduler::store::{cold_room_warmth, growing, orders, people};

/// 1 lb = 453.59237 g (NIST SP 811, appendix B).
const POUND: f64 = 453.59237;

fn pounds(count: f64) -> i64 {
    (count * POUND).round() as i64
}

fn day(text: &str) -> LocalDate {
    text.parse().expect("a date")
}

/// One-off lines of Night Heron as stored: "06-04 oyster 2722".
async fn once(farm: &Farm) -> anyhow::Result<Vec<String>> {
    let stage = &farm.stage;
    let mut tx = stage.engine.store.begin_reading().await?;
    let person = people::by_chat(&mut tx, farm.heron.0).await?.expect("joined");
    let lines = orders::one_off_of_buyer(&mut tx, person.buyer_id.expect("a buyer"), day("2026-01-01")).await?;
    Ok(lines.iter().map(|line| format!("{} {} {}", line.day.format("%m-%d"), line.crop, line.grams.get())).collect())
}

async fn say(stage: &Stage, actor: Actor, text: &str) -> anyhow::Result<String> {
    stage.say(actor, text).await?;
    Ok(stage.last(actor).text)
}

/// Says it and presses the yes of what is said back.
async fn want(farm: &Farm, text: &str) -> anyhow::Result<()> {
    say(&farm.stage, farm.heron, text).await?;
    farm.stage.press(farm.heron, "Yes, that's right").await?;
    Ok(())
}

fn oyster(count: f64) -> String {
    format!("06-04 oyster {}", pounds(count))
}

fn shiitake(count: f64) -> String {
    format!("06-04 shiitake {}", pounds(count))
}

#[tokio::test]
async fn more_less_swapped_and_dropped_are_one_change_each() -> anyhow::Result<()> {
    let farm = joined().await?;
    book::order(&farm, HERON, ("oyster", pounds(6.0)), day("2026-06-04")).await?;
    book::order(&farm, HERON, ("shiitake", pounds(4.0)), day("2026-06-04")).await?;
    let steps: [(&str, &[String]); 8] = [
        ("add 2 lb oyster", &[oyster(8.0), shiitake(4.0)]),
        // 1814 g less 454 g: each weight is rounded to a gram by itself.
        ("1 lb less shiitake please", &[oyster(8.0), "06-04 shiitake 1360".to_owned()]),
        ("make the oyster 6 lb", &[oyster(6.0), "06-04 shiitake 1360".to_owned()]),
        ("swap the oyster for shiitake", &[shiitake(9.0)]),
        ("no shiitake this week, 5 lb oyster", &[oyster(5.0)]),
        ("make it 4 lb", &[oyster(4.0)]),
        ("cancel the oyster", &[]),
        ("3 lb oyster and .75 lb shiitake", &[oyster(3.0), shiitake(0.75)]),
    ];
    for (text, expected) in steps {
        want(&farm, text).await?;
        assert_eq!(once(&farm).await?, expected, "{text}");
    }
    // Taken back as one change.
    farm.stage.press(farm.heron, "Undo").await?;
    assert_eq!(once(&farm).await?, Vec::<String>::new());
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn cancel_that_is_of_the_last_order_and_a_text_without_a_day_of_the_day_just_spoken_of() -> anyhow::Result<()> {
    let farm = joined().await?;
    want(&farm, "6 lb oyster for Thursday").await?;
    want(&farm, "4 lb shiitake for June 11").await?;
    let answer = say(&farm.stage, farm.heron, "cancel that").await?;
    assert!(answer.contains("June 11") && answer.contains("shiitake") && !answer.contains("oyster"), "{answer}");
    let answer = say(&farm.stage, farm.heron, "2 lb oyster too please").await?;
    assert!(answer.contains("June 11"), "{answer}");
    assert_eq!(once(&farm).await?.len(), 2);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_stray_word_is_quoted_and_its_wish_done_by_the_button_only() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    let answer = say(stage, heron, "6 lb oyster zorply Thursday").await?;
    assert!(answer.contains("zorply") && answer.contains("6 lb oyster"), "{answer}");
    // A typed yes may be of something else.
    say(stage, heron, "yes").await?;
    assert_eq!(once(&farm).await?, Vec::<String>::new());
    say(stage, heron, "6 lb oyster zorply Thursday").await?;
    stage.press(heron, "Yes, that's right").await?;
    assert_eq!(once(&farm).await?, [oyster(6.0)]);
    // Words that turn a meaning are never left out.
    for text in ["not 6 lb oyster", "maybe 6 lb oyster", "6 lb oyster if you have it", "6 lb oyster unless it rains"] {
        say(stage, heron, text).await?;
        assert_eq!(
            stage.last(heron).labels().concat().iter().filter(|label| label.contains("Yes")).count(),
            0,
            "{text}"
        );
    }
    // Their own name is no stray word.
    let answer = say(stage, heron, "Night Heron here, 3 lb shiitake").await?;
    assert!(!answer.contains("did not use"), "{answer}");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_range_has_a_button_for_each_weight() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    say(stage, heron, "5-6 lb oyster for Thursday").await?;
    assert_eq!(stage.last(heron).labels(), [["5 lb oyster"], ["6 lb oyster"]]);
    assert_eq!(once(&farm).await?, Vec::<String>::new());
    stage.press(heron, "6 lb oyster").await?;
    stage.press(heron, "Yes, that's right").await?;
    assert_eq!(once(&farm).await?, [oyster(6.0)]);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_is_picked_for_thursday_is_picked_today_and_a_question_about_the_cold_room_measures_nothing()
-> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    for text in ["is the cold room at 4 C?", "cold room 4 C?", "is the cold room 4 C"] {
        say(stage, farm.ada, text).await?;
    }
    let mut tx = stage.engine.store.begin_reading().await?;
    assert!(cold_room_warmth::latest(&mut tx).await?.is_none());
    drop(tx);
    say(stage, farm.ada, "cold room 4 C").await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    assert!(cold_room_warmth::latest(&mut tx).await?.is_some());
    assert!(growing::all_batches(&mut tx).await?.is_empty());
    drop(tx);
    farm.stage.close().await;
    Ok(())
}
