//! The program is killed at every call it makes and started again: nothing is lost, and no message is repeated but the
//! one in flight.

use pinset_tests::farm::START;
use pinset_tests::process::{Kills, Serving};

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
const ADA: i64 = 1001;
const MINA: i64 = 2001;

/// How a day ended.
struct Day {
    /// Everybody's chats.
    chats: Vec<Vec<String>>,
    /// How often the program was killed, and how often with a new message in flight.
    kills: u32,
    kills_at_sends: u32,
    /// How many new messages the service took.
    sends: u32,
}

/// A day of the farm, from the first start.
async fn a_day(kills: Kills) -> anyhow::Result<Day> {
    let serving = Serving::start(PROGRAM, START, kills).await?;
    serving.settle().await?;
    serving.server.add_user(ADA, "Ada", Some("en"));
    serving.server.add_user(MINA, "Mina", Some("es"));
    let log = serving.log();
    let (_, code) = log.rsplit_once("/start ").expect("the claim code is printed");
    let code = code.split_whitespace().next().expect("a code");
    serving.say(ADA, &format!("/start {code}")).await?;
    serving.say(ADA, "/people").await?;
    serving.press(ADA, "New restaurant").await?;
    serving.say(ADA, "Night Heron Noodle Bar").await?;
    let link = serving.server.chat(ADA).pop().expect("an invitation").text;
    serving.say(MINA, &format!("/start {}", pinset_tests::farm::code_in(&link))).await?;
    serving.say(MINA, "/settings").await?;
    serving.press(MINA, "kg y g").await?;
    let day = Day {
        chats: vec![serving.read(ADA), serving.read(MINA)],
        kills: serving.kills(),
        kills_at_sends: serving.kills_at_sends(),
        sends: serving.sends(),
    };
    serving.stop().await?;
    Ok(day)
}

#[tokio::test]
async fn killed_before_each_call_nothing_is_lost_or_repeated() -> anyhow::Result<()> {
    let undisturbed = a_day(Kills::Never).await?;
    let killed = a_day(Kills::BeforeEachCall).await?;
    assert!(killed.kills >= undisturbed.sends, "the program was killed {} times only", killed.kills);
    assert_eq!(killed.chats, undisturbed.chats);
    assert_eq!(killed.sends, undisturbed.sends);
    Ok(())
}

#[tokio::test]
async fn killed_after_each_call_only_the_message_in_flight_is_repeated() -> anyhow::Result<()> {
    let undisturbed = a_day(Kills::Never).await?;
    let killed = a_day(Kills::AfterEachCall).await?;
    assert!(killed.kills_at_sends >= undisturbed.sends, "killed at {} messages only", killed.kills_at_sends);
    assert_eq!(killed.sends, undisturbed.sends + killed.kills_at_sends, "each message in flight comes once more");
    for (killed, undisturbed) in killed.chats.iter().zip(&undisturbed.chats) {
        let mut rest = killed.iter();
        // `any` goes on behind what it found: everything is there, in the same order.
        let missing = undisturbed.iter().find(|line| !rest.any(|one| one == *line));
        assert_eq!(missing, None, "missing from {killed:#?}");
    }
    Ok(())
}
