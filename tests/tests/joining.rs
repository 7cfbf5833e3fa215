//! Who gets in, and how.

use pinset::stage::Actor;
use pinset_tests::cold_store::{drops, food_bank, lot};
use pinset_tests::farm::{Farm, HERON, code_in, joined};
use scheduler::people::{HourClock, WhenSilent};
use scheduler::quantity::UnitSystem;
use scheduler::store::people;
use scheduler::surplus::drop::State;

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

/// A second contact of Night Heron Noodle Bar, who reads Spanish.
async fn second_contact(farm: &Farm) -> anyhow::Result<Actor> {
    let stage = &farm.stage;
    stage.say(farm.ada, "/people").await?;
    stage.press(farm.ada, HERON).await?;
    let code = code_in(&stage.last(farm.ada).text);
    let jo = stage.enter(2101, "Jo", "es-MX");
    stage.start(jo, &code).await?;
    Ok(jo)
}

#[tokio::test]
async fn contacts_of_a_restaurant_see_the_same_and_who_did_it() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    let jo = second_contact(&farm).await?;
    assert!(stage.last(heron).text.contains("Jo now writes here for Night Heron Noodle Bar, too"));
    stage.say(heron, "5 lb shiitake for Thursday").await?;
    stage.press(heron, "Yes, that's right").await?;
    let told = stage.last(jo).text;
    assert!(told.contains("Mina") && told.contains("5 lb de shiitake"), "{told}");
    let theirs = stage.say(jo, "mis pedidos").await?;
    assert!(theirs[0].text.contains("5 lb de shiitake"), "{theirs:?}");

    stage.say(jo, "/settings").await?;
    assert!(stage.last(jo).text.contains("reciben lo que haya"), "{}", stage.last(jo).text);
    stage.press(jo, "Sin respuesta: nada de eso").await?;
    assert!(stage.last(jo).text.contains("ese producto no se entrega"), "{}", stage.last(jo).text);
    let told = stage.last(heron).text;
    assert!(told.contains("Jo has changed this") && told.contains("is left out"), "{told}");
    let mut tx = stage.engine.store.begin_reading().await?;
    let buyer = people::buyers(&mut tx).await?.into_iter().find(|buyer| buyer.name == HERON).expect("it has joined");
    assert_eq!(buyer.when_silent, WhenSilent::Drop);
    drop(tx);
    stage.say(farm.chidi, "/settings").await?;
    stage.press(farm.chidi, "No answer: leave it out").await.expect_err("only restaurants have a default");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_contact_leaves_or_is_removed_and_the_order_stays() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    let jo = second_contact(&farm).await?;
    stage.say(jo, "5 libras de shiitake para el jueves").await?;
    stage.press(jo, "Sí, correcto").await?;
    stage.say(jo, "/settings").await?;
    stage.press(jo, "Darme de baja").await?;
    stage.press(jo, "No").await?;
    stage.press(jo, "Darme de baja").await?;
    stage.press(jo, "Sí").await?;
    assert!(stage.read(jo.0).contains("Ya no estás en la lista de Larkrise Mushrooms"), "{}", stage.read(jo.0));
    assert!(stage.read(heron.0).contains("Jo no longer writes here for Night Heron"), "{}", stage.read(heron.0));
    assert!(stage.read(farm.ada.0).contains("Jo has left the list"), "{}", stage.read(farm.ada.0));
    assert!(stage.say(jo, "mis pedidos").await?[0].text.contains("enlace"), "a stranger gets the polite line");
    assert!(stage.say(heron, "my orders").await?[0].text.contains("5 lb shiitake"), "what is ordered stays ordered");

    let kai = second_contact(&farm).await;
    assert!(kai.is_ok(), "who left may come back by a new invitation");
    stage.say(farm.ada, "/people").await?;
    stage.press(farm.ada, "Take somebody off").await?;
    stage.press_first(farm.ada, "Jo").await?;
    stage.press(farm.ada, "Yes").await?;
    assert!(stage.say(jo, "hola").await?[0].text.contains("enlace"));
    let told = stage.read(heron.0);
    assert_eq!(told.matches("Jo no longer writes here").count(), 2, "{told}");

    stage.say(farm.ada, "/settings").await?;
    stage.press(farm.ada, "Leave").await?;
    assert!(stage.last(farm.ada).text.contains("Nobody else keeps the farm"), "{}", stage.last(farm.ada).text);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_new_account_takes_the_place_of_the_old_one() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    let jo = second_contact(&farm).await?;
    stage.say(heron, "5 lb shiitake for Thursday").await?;
    stage.press(heron, "Yes, that's right").await?;
    stage.say(heron, "/settings").await?;
    stage.press(heron, "Move to another account").await?;
    let code = code_in(&stage.last(heron).text);
    stage.start(jo, &code).await?;
    assert!(stage.last(jo).text.contains("ya está en nuestra lista"), "{}", stage.last(jo).text);
    let new = stage.enter(2901, "Mina", "en");
    stage.start(new, &code).await?;
    assert!(stage.read(new.0).contains("You write here from this account from now on"), "{}", stage.read(new.0));
    assert!(stage.read(heron.0).contains("If that was not you, call the farm"), "{}", stage.read(heron.0));
    assert!(stage.last(jo).text.contains("Mina ahora escribe desde otra cuenta"), "{}", stage.last(jo).text);
    assert!(stage.read(farm.ada.0).contains("Mina writes from another account now"));
    assert!(stage.say(new, "my orders").await?[0].text.contains("5 lb shiitake"));
    assert!(stage.say(heron, "my orders").await?[0].text.contains("ask the farm for an invitation"));
    let late = stage.enter(2902, "Lou", "en");
    assert!(stage.start(late, &code).await?[0].text.contains("used already"), "the link works once");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_newcomer_reads_the_farms_weights_and_the_clock_of_their_language() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.ada, "/people").await?;
    stage.press(farm.ada, HERON).await?;
    let code = code_in(&stage.last(farm.ada).text);
    let ola = stage.enter(2102, "Ola", "pl");
    stage.start(ola, &code).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    // Clocks: CLDR 47, supplemental "timeData": US and 419 `h`, PL `H`. The sample farm weighs in pounds.
    for (actor, clock) in
        [(farm.heron, HourClock::Twelve), (farm.kettle, HourClock::Twelve), (ola, HourClock::TwentyFour)]
    {
        let person = people::by_chat(&mut tx, actor.0).await?.expect("the person has joined");
        assert_eq!((person.units, person.hour_clock), (UnitSystem::Avoirdupois, clock), "{}", person.name);
    }
    drop(tx);
    // Whoever chose otherwise keeps it on another telephone.
    stage.say(ola, "/settings").await?;
    stage.press(ola, "2:00 PM").await?;
    stage.say(ola, "/settings").await?;
    stage.press(ola, "Przenieś na inne konto").await?;
    let code = code_in(&stage.last(ola).text);
    let new = stage.enter(2902, "Ola", "pl");
    stage.start(new, &code).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let person = people::by_chat(&mut tx, new.0).await?.expect("the person has moved");
    assert_eq!(person.hour_clock, HourClock::Twelve);
    drop(tx);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn contacts_of_a_food_bank_leave_are_removed_and_change_their_telephone() -> anyhow::Result<()> {
    const PANTRY: &str = "Merrow Community Pantry";
    let farm = joined().await?;
    let stage = &farm.stage;
    let lucia = stage.enter(4001, "Lucía", "es-MX");
    food_bank(&farm, (PANTRY, "Fri 9:00-12:00, Sat 10-13"), lucia).await?;
    let invite = async |actor: Actor| {
        stage.say(farm.ada, "/foodbanks").await?;
        stage.press(farm.ada, PANTRY).await?;
        stage.press(farm.ada, "Invite a contact").await?;
        stage.start(actor, &code_in(&stage.last(farm.ada).text)).await
    };
    let ben = stage.enter(4002, "Ben", "en");
    invite(ben).await?;
    assert!(
        stage.read(lucia.0).contains("Ben también escribe aquí por Merrow Community Pantry"),
        "{}",
        stage.read(lucia.0)
    );

    // Another telephone: the drop is agreed from there, and the old chat is a stranger's.
    stage.say(ben, "/settings").await?;
    stage.press(ben, "Move to another account").await?;
    let code = code_in(&stage.last(ben).text);
    let new = stage.enter(4902, "Ben", "en");
    stage.start(new, &code).await?;
    assert!(stage.read(new.0).contains("You write here from this account from now on"), "{}", stage.read(new.0));
    assert!(stage.read(ben.0).contains("If that was not you, call the farm"), "{}", stage.read(ben.0));
    assert!(stage.say(ben, "/drops").await?[0].text.contains("ask the farm for an invitation"));
    lot(stage, "oyster", 5000, "2026-06-07").await?;
    stage.move_to(stage.at("2026-06-04 13:00")).await?;
    stage.press(farm.ada, "Give oyster").await?;
    assert!(!stage.read(ben.0).contains("has something for"), "{}", stage.read(ben.0));
    stage.press(new, "Agreed").await?;
    assert!(stage.read(new.0).contains("Agreed: "), "{}", stage.read(new.0));

    // Who leaves hears of nothing more; what was agreed stays, and the others see it.
    stage.say(new, "/settings").await?;
    stage.press(new, "Leave").await?;
    stage.press(new, "Yes").await?;
    assert!(
        stage.read(lucia.0).contains("Ben ya no escribe aquí por Merrow Community Pantry"),
        "{}",
        stage.read(lucia.0)
    );
    assert!(stage.read(farm.ada.0).contains("Ben has left the list"), "{}", stage.read(farm.ada.0));
    assert!(stage.say(new, "/drops").await?[0].text.contains("ask the farm for an invitation"));
    assert!(stage.say(lucia, "/drops").await?[0].text.contains("Acordado"), "{}", stage.read(lucia.0));
    assert_eq!(drops(stage).await?.iter().map(|one| one.state()).collect::<Vec<_>>(), [State::Agreed]);

    // Whoever is taken off the list as well: the keeper reads that nobody from there is left.
    stage.say(farm.ada, "/people").await?;
    stage.press(farm.ada, "Take somebody off").await?;
    stage.press_first(farm.ada, "Lucía").await?;
    stage.press(farm.ada, "Yes").await?;
    assert!(stage.say(lucia, "/drops").await?[0].text.contains("enlace de invitación"), "{}", stage.read(lucia.0));
    stage.say(farm.ada, "/foodbanks").await?;
    stage.press(farm.ada, PANTRY).await?;
    assert!(stage.last(farm.ada).text.contains("Nobody from there has joined"), "{}", stage.last(farm.ada).text);
    farm.stage.close().await;
    Ok(())
}
