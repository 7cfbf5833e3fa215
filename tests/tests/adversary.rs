//! The adversary's matrix: everybody who might want something, those whose place was taken away too, against each thing of
//! value. Each cell is played through the local server, and whatever is refused must leave every row as it was.

use bot_api_local::Pressed;
use pinset::intent::commands::COMMANDS;
use pinset::stage::{Actor, Stage};
use pinset_tests::cold_store::{food_bank, lot};
use pinset_tests::farm::{Farm, HERON, SALTMARSH, code_in};
use pinset_tests::stored::{everything, of_farm, tokens};
use scheduler::people::Role;
use scheduler::store::{ages, people};

const GROUP: i64 = -500;
const FOREIGN: i64 = -501;
const PANTRY: &str = "Merrow Community Pantry";

/// Each thing of value and what somebody would type to get it or to change it. `{claim}` is the farm's used claim code,
/// `{spare}` one that was printed and never used, `{gone}` an invitation whose maker was taken off.
const THINGS: &[(&str, &[&str])] = &[
    ("orders of others", &["/packing", "/went", "/today", "/week"]),
    ("run", &["/run"]),
    ("own order", &["/order", "/orders", "/standing"]),
    ("order", &["5 lb shiitake for Thursday", "skip Thursday", "same as last week", "every Thursday 2 lb oyster"]),
    ("prices", &["/crops"]),
    ("people", &["/people"]),
    ("invitations", &["/start {gone}", "/start 0123456789abcdef0123456789abcdef"]),
    ("claim code", &["/start {claim}", "/start {spare}"]),
    ("cold room", &["/coldroom"]),
    ("warmth", &["cold room 39 F"]),
    ("offers", &["/left"]),
    ("rules", &["/rules"]),
    ("drops", &["/drops"]),
    ("ledger", &["/given"]),
    ("record", &["/record"]),
    ("forecast", &["/forecast"]),
    ("shelves", &["/shelves", "/plan", "/batch", "/pick"]),
    ("pick", &["picked 4 lb shiitake"]),
    ("hand-over", &["handed over 2 lb oyster"]),
    ("settings", &["/foodbanks"]),
    ("backups", &["/backup", "/export", "/check", "/restore", "/admin", "/keeper"]),
];

/// What comes of it:
/// `+` it is theirs: shown or done (played here where it only shows); `n` "not yours to do here"; `?` not understood;
/// `u` no such command; `i` the invitation is refused; `s` the stranger's one line; `-` silence.
const EXPECTED: &str = "
thing            | keeper grower driver buyerA buyerB pantry | stranger | goneK goneG goneD goneB goneP | in group
orders of others |   +      +      +      n      n      n    |    s     |   s     s     s     s     s   |    -
run              |   +      n      +      n      n      n    |    s     |   s     s     s     s     s   |    -
own order        |   n      n      n      +      +      n    |    s     |   s     s     s     s     s   |    -
order            |   ?      ?      ?      +      +      ?    |    s     |   s     s     s     s     s   |    -
prices           |   +      n      n      n      n      n    |    s     |   s     s     s     s     s   |    -
people           |   +      n      n      n      n      n    |    s     |   s     s     s     s     s   |    -
invitations      |   i      i      i      i      i      i    |    i     |   i     i     i     i     i   |    -
claim code       |   i      i      i      i      i      i    |    i     |   i     i     i     i     i   |    -
cold room        |   +      +      +      n      n      n    |    s     |   s     s     s     s     s   |    -
warmth           |   +      +      +      ?      ?      ?    |    s     |   s     s     s     s     s   |    -
offers           |   +      n      n      n      n      n    |    s     |   s     s     s     s     s   |    -
rules            |   +      n      n      n      n      n    |    s     |   s     s     s     s     s   |    -
drops            |   +      n      +      n      n      +    |    s     |   s     s     s     s     s   |    -
ledger           |   +      n      n      n      n      n    |    s     |   s     s     s     s     s   |    -
record           |   +      +      +      n      n      n    |    s     |   s     s     s     s     s   |    -
forecast         |   +      +      +      n      n      n    |    s     |   s     s     s     s     s   |    -
shelves          |   +      +      n      n      n      n    |    s     |   s     s     s     s     s   |    -
pick             |   +      +      n      ?      ?      ?    |    s     |   s     s     s     s     s   |    -
hand-over        |   +      n      +      ?      ?      ?    |    s     |   s     s     s     s     s   |    -
settings         |   +      n      n      n      n      n    |    s     |   s     s     s     s     s   |    -
backups          |   u      u      u      u      u      u    |    s     |   s     s     s     s     s   |    -
";

/// Things in which `+` does something: played by the tests of their task, not here.
const ACTS: [&str; 4] = ["order", "warmth", "pick", "hand-over"];

/// Everybody of the table, in its order.
struct Cast {
    farm: Farm,
    pantry: Actor,
    stranger: Actor,
    gone: [Actor; 5],
    nobody: Actor,
    claim: String,
    spare: String,
    gone_code: String,
    /// The buttons that the people taken off had in their chats on the day before.
    old: Vec<(Actor, Vec<String>)>,
}

impl Cast {
    fn people(&self) -> Vec<Actor> {
        let farm = &self.farm;
        let members = [farm.ada, farm.chidi, farm.ngozi, farm.heron, farm.saltmarsh, self.pantry];
        members.into_iter().chain([self.stranger]).chain(self.gone).collect()
    }

    fn filled(&self, text: &str) -> String {
        text.replace("{claim}", &self.claim).replace("{spare}", &self.spare).replace("{gone}", &self.gone_code)
    }
}

async fn invite(farm: &Farm, keeper: Actor, label: &str) -> anyhow::Result<String> {
    farm.stage.say(keeper, "/people").await?;
    farm.stage.press(keeper, label).await?;
    Ok(code_in(&farm.stage.last(keeper).text))
}

async fn take_off(farm: &Farm, name: &str) -> anyhow::Result<()> {
    farm.stage.say(farm.ada, "/people").await?;
    farm.stage.press(farm.ada, "Take somebody off").await?;
    farm.stage.press_first(farm.ada, name).await?;
    farm.stage.press(farm.ada, "Yes").await
}

/// A farm in the middle of a week, with five people who had every place there is and were taken off.
async fn cast() -> anyhow::Result<Cast> {
    use pinset::config::{Config, SAMPLE};
    use pinset_tests::farm::START;
    let stage = Stage::set(Config::parse(SAMPLE)?, START).await?;
    let spare = stage.claim_code().await?;
    let pinset::scenario::People { ada, chidi, ngozi, heron, kettle, saltmarsh } =
        pinset::scenario::join(&stage).await?;
    let farm = Farm { stage, ada, chidi, ngozi, heron, kettle, saltmarsh };
    let stage = &farm.stage;
    // Whoever used it is on the chat's record.
    let first =
        stage.server.chat(ada.0).into_iter().find_map(|one| one.text.strip_prefix("/start ").map(str::to_owned));
    let claim = first.expect("Ada came by the claim code");
    let pantry = stage.enter(4001, "Lucy", "en");
    food_bank(&farm, (PANTRY, "Fri 9:00-12:00, Sat 10-13"), pantry).await?;
    stage.say(ada, "/batch").await?;
    stage.press(ada, "shiitake").await?;
    for answer in ["40", "900 g", "cool room"] {
        stage.say(ada, answer).await?;
    }
    stage.say(ada, "soaked 40 blocks").await?;
    lot(stage, "oyster", 9_000, "2026-06-12").await?;
    for buyer in [heron, saltmarsh] {
        stage.say(buyer, "5 lb shiitake for Thursday").await?;
        stage.press_first(buyer, "Yes").await?;
    }
    let gone = [(5001, "Ben"), (5002, "Gil"), (5003, "Dot"), (5004, "Jo"), (5005, "Pam")]
        .map(|(account, name)| (stage.enter(account, name, "en"), name));
    for ((actor, _), label) in gone.iter().zip(["keeper", "grower", "driver", HERON]) {
        let code = invite(&farm, ada, label).await?;
        stage.start(*actor, &code).await?;
    }
    stage.say(ada, "/foodbanks").await?;
    stage.press(ada, PANTRY).await?;
    stage.press(ada, "Invite a contact").await?;
    stage.start(gone[4].0, &code_in(&stage.last(ada).text)).await?;
    let gone_code = invite(&farm, gone[0].0, "keeper").await?;
    // Everything that their place shows, with its buttons; a drop and an offer, too.
    stage.press_first(ada, "Offer oyster").await.ok();
    let mut old = Vec::new();
    for (actor, _) in &gone {
        for command in COMMANDS {
            stage.say(*actor, &format!("/{}", command.word)).await?;
        }
    }
    for (actor, _) in &gone {
        old.push((*actor, tokens(stage, actor.0).into_iter().collect()));
    }
    for (_, name) in &gone {
        take_off(&farm, name).await?;
    }
    let stranger = stage.enter(6001, "Zoe", "en");
    let nobody = stage.enter(6002, "Lou", "en");
    stage.server.add_group(GROUP, "Okoro family", &[ada.0, chidi.0, nobody.0, heron.0])?;
    stage.settle().await?;
    stage.say_in(GROUP, ada, "/group").await?;
    let gone = gone.map(|(actor, _)| actor);
    Ok(Cast { farm, pantry, stranger, gone, nobody, claim, spare, gone_code, old })
}

/// What a letter of the table means, told from the answer.
fn letter(said: &[String]) -> char {
    let all = said.join("\n");
    let has = |parts: &[&str]| parts.iter().any(|part| all.contains(part));
    match () {
        () if said.is_empty() => '-',
        () if has(&["To join, ask the farm for an invitation link"]) => 's',
        () if has(&["has been used already", "has run out", "not one of ours"]) => 'i',
        () if has(&["not yours to do here"]) => 'n',
        () if has(&["I don't know that command"]) => 'u',
        () if has(&["I did not understand", "did not understand that", "Those are two things at once"]) => '?',
        () => '+',
    }
}

#[tokio::test]
async fn each_thing_of_value_is_for_those_it_is_for_and_for_nobody_else() -> anyhow::Result<()> {
    let cast = cast().await?;
    let stage = &cast.farm.stage;
    let rows: Vec<(&str, Vec<char>)> = EXPECTED
        .lines()
        .filter(|line| line.contains('|') && !line.starts_with("thing"))
        .map(|line| {
            let (thing, cells) = line.split_once('|').expect("a column of things");
            (thing.trim(), cells.chars().filter(|cell| !cell.is_whitespace() && *cell != '|').collect())
        })
        .collect();
    assert_eq!(rows.len(), THINGS.len(), "a row for each thing");
    let mut wrong = Vec::new();
    let everybody: Vec<(Actor, i64)> =
        cast.people().into_iter().map(|actor| (actor, actor.0)).chain([(cast.nobody, GROUP)]).collect();
    for (column, (actor, chat)) in everybody.iter().enumerate() {
        let cells: Vec<char> = THINGS
            .iter()
            .map(|(thing, _)| {
                let (_, expected) = rows.iter().find(|(name, _)| name == thing).expect("a row of that name");
                assert_eq!(expected.len(), everybody.len(), "{thing}");
                expected[column]
            })
            .collect();
        // Whoever is on no list leaves no button and no question behind either.
        let is_nobody = cells.iter().all(|cell| "si-".contains(*cell));
        let rows_of = async || if is_nobody { everything(stage).await } else { of_farm(stage).await };
        let before = rows_of().await?;
        for ((thing, texts), expected) in THINGS.iter().zip(cells) {
            if expected == '+' && ACTS.contains(thing) {
                continue;
            }
            for text in *texts {
                forget_knocks(stage).await?;
                let text = cast.filled(text);
                let said: Vec<String> =
                    stage.say_in(*chat, *actor, &text).await?.into_iter().map(|message| message.text).collect();
                let got = letter(&said);
                if got != expected {
                    wrong.push(format!("{thing}, column {column}, {text:?}: {got} and not {expected}: {said:?}"));
                }
            }
        }
        let after = rows_of().await?;
        if after != before {
            let new: Vec<_> = after.iter().filter(|row| !before.contains(row)).collect();
            wrong.push(format!("column {column}: rows have changed: {new:?}"));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert_eq!(everybody.len(), 13);
    cast.farm.stage.close().await;
    Ok(())
}

/// How many messages of a stranger are answered in an hour is another test's subject.
async fn forget_knocks(stage: &Stage) -> anyhow::Result<()> {
    let mut tx = stage.engine.store.begin().await?;
    let in_a_day = stage.now().plus_minutes(24 * 60 + 1);
    ages::tidy(&mut tx, (in_a_day, chrono_tz::UTC), 1000).await?;
    Ok(tx.commit().await?)
}

/// Presses data as a changed or forwarded client could send it; the notes over the buttons.
async fn press_all(cast: &Cast, (actor, chat): (Actor, i64), data: &[String]) -> anyhow::Result<Vec<String>> {
    let stage = &cast.farm.stage;
    let message = stage.server.chat(chat).last().expect("a message there").message_id;
    let mut notes = Vec::new();
    for token in data {
        // A stranger's presses count as messages.
        forget_knocks(stage).await?;
        let before = stage.server.toasts().len();
        stage.server.press(chat, actor.0, message, Pressed::Forged(token))?;
        stage.settle().await?;
        notes.extend(stage.server.toasts().split_off(before).into_iter().map(|toast| toast.text));
    }
    Ok(notes)
}

#[tokio::test]
async fn old_and_forwarded_buttons_do_nothing() -> anyhow::Result<()> {
    let cast = cast().await?;
    let stage = &cast.farm.stage;
    let before = of_farm(stage).await?;
    // A removed person's own old buttons.
    for (actor, old) in &cast.old {
        assert!(old.len() > 5, "{actor:?} had {} buttons", old.len());
        let notes = press_all(&cast, (*actor, actor.0), old).await?;
        assert_eq!(notes.len(), old.len(), "{actor:?}");
        assert!(notes.iter().all(|note| note.contains("out of date")), "{actor:?}: {notes:?}");
    }
    // Everybody with everybody else's, forwarded.
    let owners = [cast.farm.ada, cast.farm.ngozi, cast.farm.heron, cast.pantry];
    for actor in cast.people() {
        for owner in owners.iter().filter(|owner| **owner != actor) {
            let some: Vec<String> = tokens(stage, owner.0).into_iter().rev().take(6).collect();
            if stage.server.chat(actor.0).is_empty() {
                stage.say(actor, "hello").await?;
            }
            let notes = press_all(&cast, (actor, actor.0), &some).await?;
            assert!(notes.len() == some.len() && notes.iter().all(|note| note.contains("out of date")), "{notes:?}");
        }
    }
    assert_eq!(of_farm(stage).await?, before);
    // The group's buttons, by somebody in it who is nobody and by a restaurant's contact.
    stage.say_in(GROUP, cast.farm.ada, "/people").await?;
    let in_group: Vec<String> = tokens(stage, GROUP).into_iter().collect();
    assert!(in_group.len() > 3, "{in_group:?}");
    for (actor, part) in [(cast.nobody, "out of date"), (cast.farm.heron, "not yours"), (cast.farm.chidi, "not yours")]
    {
        let before = (everything(stage).await?, stage.server.chat(GROUP));
        let notes = press_all(&cast, (actor, GROUP), &in_group).await?;
        assert!(notes.len() == in_group.len() && notes.iter().all(|note| note.contains(part)), "{notes:?}");
        assert_eq!((everything(stage).await?, stage.server.chat(GROUP)), before);
    }
    cast.farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_button_dies_with_the_place_it_was_given_to() -> anyhow::Result<()> {
    let cast = cast().await?;
    let (farm, stage) = (&cast.farm, &cast.farm.stage);
    let role = async |actor: Actor| -> anyhow::Result<Option<Role>> {
        let mut tx = stage.engine.store.begin_reading().await?;
        Ok(people::by_chat(&mut tx, actor.0).await?.map(|person| person.role))
    };
    // Gil, who grew, comes back to drive; Jo, who ordered for one restaurant, comes back for another; Chidi changes while
    // on the list.
    let [_, gil, _, jo, _] = cast.gone;
    for command in ["/shelves", "/today"] {
        stage.say(farm.chidi, command).await?;
    }
    let chidi_had: Vec<String> = tokens(stage, farm.chidi.0).into_iter().collect();
    for (actor, label, had) in [
        (gil, "driver", cast.old[1].1.clone()),
        (jo, SALTMARSH, cast.old[3].1.clone()),
        (farm.chidi, "driver", chidi_had),
    ] {
        let code = invite(farm, farm.ada, label).await?;
        stage.start(actor, &code).await?;
        let expected = if label == "driver" { Role::Driver } else { Role::Buyer };
        assert_eq!(role(actor).await?, Some(expected));
        let before = of_farm(stage).await?;
        let notes = press_all(&cast, (actor, actor.0), &had).await?;
        assert!(notes.len() == had.len() && notes.iter().all(|note| note.contains("out of date")), "{notes:?}");
        assert_eq!(of_farm(stage).await?, before, "{label}");
    }
    // What Jo sees now is the other restaurant's.
    stage.say(jo, "/orders").await?;
    assert!(!stage.last(jo).text.contains(HERON));
    cast.farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_group_of_ones_own_shows_nothing() -> anyhow::Result<()> {
    let cast = cast().await?;
    let (farm, stage) = (&cast.farm, &cast.farm.stage);
    let members = [farm.chidi, farm.ngozi, farm.heron, cast.pantry, cast.gone[0], cast.nobody];
    let accounts: Vec<i64> = members.iter().map(|actor| actor.0).collect();
    stage.server.add_group(FOREIGN, "Nobody's", &accounts)?;
    stage.settle().await?;
    let before = of_farm(stage).await?;
    for actor in members {
        let is_member = ![cast.gone[0], cast.nobody].contains(&actor);
        for command in COMMANDS {
            let said = stage.say_in(FOREIGN, actor, &format!("/{}", command.word)).await?;
            // A member of the list who tries to name it is told that this is not theirs; all else is silence.
            let expected = if command.word == "group" && is_member { 'n' } else { '-' };
            let said: Vec<String> = said.into_iter().map(|message| message.text).collect();
            assert_eq!(letter(&said), expected, "{actor:?} {}: {said:?}", command.word);
        }
        for text in ["picked 4 lb shiitake", "5 lb shiitake for Thursday", "yes", "cold room 39 F"] {
            assert!(stage.say_in(FOREIGN, actor, text).await?.is_empty(), "{actor:?} {text}");
        }
    }
    assert_eq!(of_farm(stage).await?, before);
    stage.move_to(stage.at("2026-06-08 12:00")).await?;
    let said = stage.server.chat(FOREIGN).iter().filter(|message| message.from_bot()).count();
    assert_eq!(said, 4, "no notice goes there: {}", stage.read(FOREIGN));
    cast.farm.stage.close().await;
    Ok(())
}
