//! What is left: counted, offered, taken, kept for the market; and the rest given to a food bank, to the gram.

use pinset::stage::Actor;
use pinset_tests::cold_store::{balanced, crowd, drops, food_bank, lot, promise};
use pinset_tests::farm::{Farm, HERON, KETTLE, joined};
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::{self, MoveKind};
use scheduler::store::giving;
use scheduler::store::{people, surplus};
use scheduler::surplus::drop::State;

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

const PANTRY: &str = "Merrow Community Pantry";
const HARBOUR: &str = "Harbour Table";

/// Merrow Community Pantry, whose contact reads Spanish, and Harbour Table.
async fn both_food_banks(farm: &Farm) -> anyhow::Result<(Actor, Actor)> {
    let lucia = farm.stage.enter(4001, "Lucía", "es-MX");
    let ben = farm.stage.enter(4002, "Ben", "en");
    food_bank(farm, (PANTRY, "Fri 9:00-12:00, Sat 10-13"), lucia).await?;
    food_bank(farm, (HARBOUR, "Sat 9am to 1pm"), ben).await?;
    Ok((lucia, ben))
}

/// Thursday 2026-06-04 at 13:00: the count after the delivery run.
async fn after_the_count(farm: &Farm) -> anyhow::Result<()> {
    let stage = &farm.stage;
    stage.move_to(stage.at("2026-06-04 13:00")).await
}

#[tokio::test]
async fn the_count_leaves_out_what_is_spoken_for() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.ada, "/left").await?;
    assert!(stage.last(farm.ada).text.contains("Nothing lies in the cold room"));
    lot(stage, "oyster", 5000, "2026-06-07").await?;
    lot(stage, "shiitake", 4000, "2026-06-12").await?;
    promise(stage, HERON, ("oyster", 2000), day("2026-06-05")).await?;
    after_the_count(&farm).await?;
    let card = stage.last(farm.ada).text;
    // 3,000 g and 4,000 g free; 1 lb = 453.59237 g.
    for part in ["oyster: 6 lb 10 oz free, of 11 lb", "promised: 4 lb 7 oz", "shiitake: 8 lb 13 oz free"] {
        assert!(card.contains(part), "{part} in {card}");
    }
    assert!(card.contains("3 more days") && card.contains("dried it would be about 14 oz"), "{card}");
    let refused = stage.say(farm.heron, "/left").await?;
    assert!(refused[0].text.contains("not yours to do"), "{refused:?}");
    stage.press(farm.ada, "Dry oyster").await?;
    // Nine grams of fresh oyster for one of dried: the middle of 8 to 10 in consumer references.
    assert!(stage.last(farm.ada).text.contains("about 12 oz dried"), "{}", stage.last(farm.ada).text);
    assert_eq!(balanced(stage).await?[&("oyster".to_owned(), MoveKind::Dried)], 3000);
    stage.press(farm.ada, "Undo").await?;
    assert_eq!(balanced(stage).await?[&("oyster".to_owned(), MoveKind::Dried)], 0);
    stage.press(farm.ada, "Leave it").await?;
    assert!(stage.last(farm.ada).text.contains("Left as it is"));
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn two_buyers_at_once_get_no_more_than_there_is() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    lot(stage, "oyster", 5000, "2026-06-08").await?;
    promise(stage, HERON, ("oyster", 2000), day("2026-06-05")).await?;
    after_the_count(&farm).await?;
    stage.press(farm.ada, "Offer oyster").await?;
    assert!(stage.last(farm.ada).text.contains("to 3 restaurants"), "{}", stage.last(farm.ada).text);
    assert!(
        stage.last(farm.kettle).text.contains("Nos quedan 6 lb 10 oz de ostra"),
        "{}",
        stage.last(farm.kettle).text
    );
    stage.press_now(farm.heron.0, farm.heron, "All 6 lb 10 oz")?;
    stage.press_now(farm.kettle.0, farm.kettle, "Todo 6 lb 10 oz")?;
    stage.press_now(farm.saltmarsh.0, farm.saltmarsh, "All 6 lb 10 oz")?;
    stage.settle().await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let claims = surplus::claims_waiting(&mut tx).await?;
    assert_eq!(claims.len(), 1);
    assert_eq!(claims[0].grams, Grams::new(3000));
    drop(tx);
    let texts = [farm.heron, farm.kettle, farm.saltmarsh].map(|actor| stage.last(actor).text);
    let yours = texts.iter().filter(|text| text.contains("is yours") || text.contains("es para ti")).count();
    let gone = texts.iter().filter(|text| text.contains("all taken") || text.contains("ya no queda nada")).count();
    assert_eq!((yours, gone), (1, 3), "{texts:?}");
    assert!(stage.read(farm.ada.0).contains("takes 6 lb 10 oz oyster"), "{}", stage.read(farm.ada.0));
    stage.press(farm.ada, "Collected").await?;
    assert_eq!(balanced(stage).await?[&("oyster".to_owned(), MoveKind::Collected)], 3000);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn partial_takes_and_giving_back() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    lot(stage, "shiitake", 3000, "2026-06-10").await?;
    after_the_count(&farm).await?;
    stage.press(farm.ada, "Offer shiitake").await?;
    stage.press(farm.heron, "Half 3 lb 5 oz").await?;
    assert!(stage.last(farm.kettle).text.contains("Nos quedan 3 lb 5 oz"), "{}", stage.last(farm.kettle).text);
    stage.press(farm.kettle, "Otra cantidad").await?;
    for bad in ["0 lb", "mucho", "-2 lb", "烏龍茶", "2 lb de ostra"] {
        stage.say(farm.kettle, bad).await?;
        let mut tx = stage.engine.store.begin_reading().await?;
        assert_eq!(surplus::claims_waiting(&mut tx).await?.len(), 1, "{bad}");
    }
    stage.press(farm.kettle, "Otra cantidad").await?;
    stage.say(farm.kettle, "10 libras").await?;
    assert!(stage.last(farm.kettle).text.contains("Solo quedaban 3 lb 5 oz"), "{}", stage.last(farm.kettle).text);
    assert!(stage.last(farm.saltmarsh).text.contains("all taken"), "{}", stage.last(farm.saltmarsh).text);
    stage.press(farm.kettle, "Devolver 3 lb 5 oz").await?;
    assert!(stage.last(farm.saltmarsh).text.contains("We have 3 lb 5 oz"), "{}", stage.last(farm.saltmarsh).text);
    assert!(stage.read(farm.ada.0).contains(&format!("{KETTLE} gave back")), "{}", stage.read(farm.ada.0));
    stage.press(farm.saltmarsh, "No thanks").await?;
    assert!(stage.last(farm.saltmarsh).text.contains("not this time"));
    stage.press(farm.saltmarsh, "Let me see it again").await?;
    assert!(stage.last(farm.saltmarsh).text.contains("We have 3 lb 5 oz"));
    // Nobody fetched it.
    stage.move_to(stage.at("2026-06-05 17:01")).await?;
    stage.press(farm.ada, "Not collected, free again").await?;
    assert!(stage.read(farm.heron.0).contains("was not collected"), "{}", stage.read(farm.heron.0));
    assert_eq!(balanced(stage).await?.len(), 0);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn the_rest_of_an_offer_reaches_a_food_bank() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let (lucia, ben) = both_food_banks(&farm).await?;
    lot(stage, "oyster", 6000, "2026-06-09").await?;
    promise(stage, HERON, ("oyster", 1000), day("2026-06-08")).await?;
    after_the_count(&farm).await?;
    stage.press(farm.ada, "Offer oyster").await?;
    stage.press(farm.kettle, "Un paquete 9 oz").await?;
    // The offer ends on Friday at 9:00; Friday's hours end at 12:00.
    stage.move_to(stage.at("2026-06-05 09:00")).await?;
    assert!(stage.last(farm.saltmarsh).text.contains("this offer is over"), "{}", stage.last(farm.saltmarsh).text);
    let card = stage.last(lucia).text;
    assert!(card.contains("Larkrise Mushrooms tiene algo para Merrow Community Pantry"), "{card}");
    assert!(card.contains("10 lb 8 oz de ostra") && card.contains("41 °F"), "{card}");
    stage.press(lucia, "Otra hora").await?;
    let times = stage.last(lucia);
    let saturday = times.labels().concat().into_iter().find(|label| label.contains("sábado"));
    let saturday = saturday.expect("Saturday is another time").to_owned();
    stage.press(lucia, &saturday).await?;
    assert!(stage.last(lucia).text.contains("De acuerdo"), "{}", stage.last(lucia).text);
    assert!(stage.read(farm.ada.0).contains("Merrow Community Pantry agreed"), "{}", stage.read(farm.ada.0));
    assert!(stage.read(farm.ngozi.0).contains("A drop for you"), "{}", stage.read(farm.ngozi.0));
    // The driver is reminded at 19:00 the evening before, and 25 + 10 minutes before 10:00.
    stage.move_to(stage.at("2026-06-05 18:59")).await?;
    assert!(!stage.read(farm.ngozi.0).contains("Food-bank drop"));
    stage.move_to(stage.at("2026-06-05 19:00")).await?;
    let card = stage.last(farm.ngozi).text;
    assert!(card.contains("Food-bank drop") && card.contains("12 Quay Street") && card.contains("9:35 AM"), "{card}");
    stage.move_to(stage.at("2026-06-06 09:25")).await?;
    assert!(stage.last(farm.ngozi).text.contains("Time to get ready"), "{}", stage.last(farm.ngozi).text);
    let one = drops(stage).await?.pop().expect("a drop");
    assert_eq!(one.eve_reminded_at, Some(stage.at("2026-06-05 19:00")));
    assert_eq!(one.leave_reminded_at, Some(stage.at("2026-06-06 09:25")));
    stage.move_to(stage.at("2026-06-06 10:20")).await?;
    stage.press(farm.ngozi, "Other weight").await?;
    let before = (drops(stage).await?, balanced(stage).await?);
    for (bad, why) in [("50 lb", "more than was agreed"), ("0 lb", "Nothing was entered"), ("some", "as a weight")] {
        stage.say(farm.ngozi, bad).await?;
        assert!(stage.last(farm.ngozi).text.contains(why), "{bad}: {}", stage.last(farm.ngozi).text);
        assert_eq!((drops(stage).await?, balanced(stage).await?), before, "{bad}");
    }
    stage.press(farm.ngozi, "Handed over as planned").await?;
    stage.press(farm.ngozi, "Undo").await?;
    assert!(stage.read(farm.ngozi.0).contains("Taken back"), "{}", stage.read(farm.ngozi.0));
    assert_eq!(balanced(stage).await?[&("oyster".to_owned(), MoveKind::Given)], 0);
    stage.press(farm.ngozi, "Handed over as planned").await?;
    // 4,750 g are 8.7 meals of 1.2 lb (Feeding America, citing USDA).
    assert!(stage.read(farm.ngozi.0).contains("about 8 meals"), "{}", stage.read(farm.ngozi.0));
    assert!(stage.last(lucia).text.contains("unas 8 comidas"), "{}", stage.last(lucia).text);
    stage.say(farm.ngozi, "38 F").await?;
    assert!(stage.last(farm.ngozi).text.contains("cold enough"));
    let one = drops(stage).await?.pop().expect("a drop");
    assert_eq!((one.state(), one.handed(), one.temperature_dc), (State::HandedOver, Grams::new(4750), Some(33)));
    // Fetched late, but fetched; what was promised is still there.
    stage.press(farm.ada, "Collected").await?;
    let moved = balanced(stage).await?;
    assert_eq!(moved[&("oyster".to_owned(), MoveKind::Given)], 4750);
    assert_eq!(moved[&("oyster".to_owned(), MoveKind::Collected)], 250);
    let mut tx = stage.engine.store.begin_reading().await?;
    let entered: Grams = giving::ledger(&mut tx).await?.iter().map(|entry| entry.grams).sum();
    assert_eq!(entered, Grams::new(4750));
    assert_eq!(cold_room::lots(&mut tx).await?[0].left, Grams::new(1000));
    drop(tx);
    assert!(!stage.read(ben.0).contains("has something"), "only one food bank was asked");
    let said = stage.say(farm.ada, "/given").await?;
    assert!(said[0].text.contains("Merrow Community Pantry, June 2026: 10 lb 8 oz, 8 meals"), "{said:?}");
    assert!(said[1].text.contains("ask a tax adviser"), "{said:?}");
    stage.say(farm.ngozi, "/drops").await?;
    assert!(stage.last(farm.ngozi).text.contains("Given: 10 lb 8 oz"), "{}", stage.last(farm.ngozi).text);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn declined_then_silent_then_nobody() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let (lucia, ben) = both_food_banks(&farm).await?;
    lot(stage, "oyster", 3000, "2026-06-07").await?;
    after_the_count(&farm).await?;
    stage.press(farm.ada, "Give oyster").await?;
    stage.press(lucia, "Esta vez no").await?;
    assert!(stage.read(farm.ada.0).contains("Merrow Community Pantry cannot take"), "{}", stage.read(farm.ada.0));
    assert!(stage.last(ben).text.contains("has something for Harbour Table"), "{}", stage.last(ben).text);
    // Twelve hours to answer; the keeper reads in the morning what became of it at one.
    stage.move_to(stage.at("2026-06-05 01:00")).await?;
    stage.press(ben, "Agreed").await.expect_err("the card has no buttons any more");
    stage.move_to(stage.at("2026-06-05 07:00")).await?;
    assert!(stage.read(farm.ada.0).contains("Harbour Table did not answer"), "{}", stage.read(farm.ada.0));
    let told = stage.read(farm.ada.0);
    assert!(told.contains("No food bank can take 6 lb 10 oz oyster"), "{told}");
    assert!(told.contains("Harbour Table: was asked"), "{told}");
    let states: Vec<State> = drops(stage).await?.iter().map(|one| one.state()).collect();
    assert_eq!(states, [State::Declined, State::Unanswered]);
    assert_eq!(balanced(stage).await?.len(), 0);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_drop_called_off_or_forgotten() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let (lucia, _) = both_food_banks(&farm).await?;
    lot(stage, "oyster", 3000, "2026-06-09").await?;
    after_the_count(&farm).await?;
    stage.press(farm.ada, "Give oyster").await?;
    stage.press(farm.ada, "Call it off").await?;
    assert!(stage.last(lucia).text.contains("Lo sentimos"), "{}", stage.last(lucia).text);
    stage.press(farm.ada, "Propose it again").await?;
    stage.press(lucia, "De acuerdo").await?;
    // Nobody says that it was handed over: after closing the family is asked.
    stage.move_to(stage.at("2026-06-05 12:00")).await?;
    assert!(stage.last(farm.ngozi).text.contains("Was it handed over?"), "{}", stage.last(farm.ngozi).text);
    stage.press(farm.ngozi, "Could not").await?;
    assert!(stage.read(farm.ada.0).contains("Called off:"), "{}", stage.read(farm.ada.0));
    assert_eq!(drops(stage).await?.last().expect("a drop").state(), State::Cancelled);
    assert_eq!(balanced(stage).await?.len(), 0);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn nobody_is_open_before_it_spoils() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    lot(stage, "oyster", 3000, "2026-06-04").await?;
    after_the_count(&farm).await?;
    stage.press(farm.ada, "Give oyster").await?;
    assert!(stage.last(farm.ada).text.contains("No food bank yet"), "{}", stage.last(farm.ada).text);
    both_food_banks(&farm).await?;
    stage.say(farm.ada, "/left").await?;
    stage.press(farm.ada, "Give oyster").await?;
    let told = stage.last(farm.ada).text;
    assert!(told.contains("Merrow Community Pantry: is not open before it spoils"), "{told}");
    assert!(drops(stage).await?.is_empty());
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn no_more_comes_back_from_the_market_than_went() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    lot(stage, "oyster", 4000, "2026-06-07").await?;
    after_the_count(&farm).await?;
    stage.press(farm.ada, "Market: oyster").await?;
    stage.say(farm.ada, "50 lb").await?;
    assert!(stage.last(farm.ada).text.contains("more oyster than is free"), "{}", stage.last(farm.ada).text);
    stage.say(farm.ada, "4 lb").await?;
    assert!(stage.last(farm.ada).text.contains("4 lb oyster is kept for the market on Saturday"));
    stage.move_to(stage.at("2026-06-06 15:00")).await?;
    stage.say(farm.ada, "/left").await?;
    stage.press(farm.ada, "Back from the market").await?;
    stage.say(farm.ada, "5 lb oyster").await?;
    let refused = stage.last(farm.ada).text;
    assert!(refused.contains("5 lb oyster cannot come back: 4 lb went"), "{refused}");
    assert!(balanced(stage).await?.is_empty());
    stage.say(farm.ada, "/left").await?;
    stage.say(farm.ada, "back with 1 lb oyster yesterday").await?;
    let told = stage.last(farm.ada).text;
    assert!(told.contains("Back in the cold room: 1 lb oyster"), "{told}");
    assert!(told.contains("entered for today, not for Friday, June 5"), "{told}");
    let moved = balanced(stage).await?;
    assert_eq!(moved[&("oyster".to_owned(), MoveKind::Market)], 1814);
    assert_eq!(moved[&("oyster".to_owned(), MoveKind::Returned)], -454);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_a_promise_needed_does_not_go_to_the_market() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    lot(stage, "oyster", 4000, "2026-06-07").await?;
    after_the_count(&farm).await?;
    stage.press(farm.ada, "Market: oyster").await?;
    stage.say(farm.ada, "4 lb").await?;
    // A restaurant is promised a kilogram more than is free.
    let saturday: LocalDate = "2026-06-06".parse()?;
    promise(stage, HERON, ("oyster", 4000 - 1814 + 1000), saturday).await?;
    stage.move_to(stage.at("2026-06-06 08:00")).await?;
    stage.say(farm.ada, "/left").await?;
    stage.press(farm.ada, "Off to the market").await?;
    let told = stage.last(farm.ada).text;
    assert!(
        told.contains("Off to the market: 1 lb 13 oz oyster. 2 lb 3 oz oyster that was kept is not there"),
        "{told}"
    );
    assert_eq!(balanced(stage).await?[&("oyster".to_owned(), MoveKind::Market)], 814);
    let mut tx = stage.engine.store.begin_reading().await?;
    assert!(surplus::market_holds(&mut tx).await?.is_empty(), "nothing is kept for a day that has come");
    drop(tx);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_food_bank_is_added_with_care() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.ada, "/foodbanks").await?;
    stage.press(farm.ada, "New food bank").await?;
    stage.say(farm.ada, PANTRY).await?;
    stage.say(farm.ada, "12 Quay Street").await?;
    stage.say(farm.ada, "soon").await?;
    assert!(stage.last(farm.ada).text.contains("from 0 to 600"), "{}", stage.last(farm.ada).text);
    stage.say(farm.ada, "25").await?;
    let banks = async || -> anyhow::Result<String> {
        let mut tx = stage.engine.store.begin_reading().await?;
        Ok(format!("{:?}", giving::food_banks(&mut tx).await?))
    };
    let before = banks().await?;
    for (bad, why) in [
        ("Fri 22-2", "goes over midnight"),
        ("Fri 9-9", "close as they open"),
        ("Fri 9-12, Fri 11-13", "overlap"),
        ("whenever", "could not read those hours"),
    ] {
        stage.say(farm.ada, bad).await?;
        assert!(stage.last(farm.ada).text.contains(why), "{bad}: {}", stage.last(farm.ada).text);
        assert_eq!(banks().await?, before, "{bad}");
    }
    stage.say(farm.ada, "Fri 9-12").await?;
    stage.say(farm.ada, "60 lb to 5 lb").await?;
    assert!(stage.last(farm.ada).text.contains("the lesser first"));
    stage.say(farm.ada, "5 lb to 60 lb").await?;
    let card = stage.last(farm.ada).text;
    assert!(card.contains("Friday: 9:00 AM to 12:00 PM") && card.contains("25 minutes"), "{card}");
    stage.press(farm.ada, "No shiitake").await?;
    stage.press(farm.ada, "Closed dates").await?;
    stage.say(farm.ada, "2026-06-05").await?;
    let card = stage.last(farm.ada).text;
    assert!(card.contains("Takes: oyster") && card.contains("Closed on: Fri, Jun 5"), "{card}");
    stage.say(farm.ada, "/foodbanks").await?;
    stage.press(farm.ada, "New food bank").await?;
    stage.say(farm.ada, "merrow community pantry").await?;
    assert!(stage.last(farm.ada).text.contains("on the list already"));
    farm.stage.close().await;
    Ok(())
}

/// Rounds of presses by nine buyers at once: never more than there is, and who was told "yours" has it.
#[tokio::test]
async fn a_crowd_of_buyers_presses_at_once() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let crowd = crowd(&farm, 7).await?;
    lot(stage, "oyster", 2100, "2026-06-09").await?;
    after_the_count(&farm).await?;
    stage.press(farm.ada, "Offer oyster").await?;
    for round in 0..12 {
        for (place, actor) in crowd.iter().enumerate() {
            let labels = stage.last(*actor).labels().concat().join("|");
            let wanted = if (place + round) % 4 == 0 { "Half " } else { "One pack " };
            let label = labels.split('|').find(|label| label.starts_with(wanted));
            let label = label.or_else(|| labels.split('|').find(|label| label.starts_with("All ")));
            if let Some(label) = label {
                stage.press_now(actor.0, *actor, label)?;
            }
        }
        stage.settle().await?;
        let mut tx = stage.engine.store.begin_reading().await?;
        let claimed: Grams = surplus::claims_waiting(&mut tx).await?.iter().map(|claim| claim.grams).sum();
        let offer = surplus::open_offers(&mut tx).await?.pop().expect("the offer is open");
        assert_eq!(claimed + offer.left, Grams::new(2100), "round {round}");
    }
    let mut tx = stage.engine.store.begin_reading().await?;
    let offer = surplus::open_offers(&mut tx).await?.pop().expect("the offer is open");
    assert_eq!(offer.left, Grams::ZERO);
    let claims = surplus::claims_waiting(&mut tx).await?;
    for actor in &crowd {
        let person = people::by_chat(&mut tx, actor.0).await?.expect("joined");
        let theirs = claims.iter().filter(|claim| Some(claim.buyer_id) == person.buyer_id).count();
        let text = stage.last(*actor).text;
        assert_eq!(text.matches("Yours:").count(), theirs, "{text}");
        assert!(text.contains("all taken"), "{text}");
    }
    drop(tx);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_one_food_bank_cannot_take_goes_to_the_next() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let (_, ben) = both_food_banks(&farm).await?;
    stage.say(farm.ada, "/foodbanks").await?;
    stage.press(farm.ada, PANTRY).await?;
    stage.press(farm.ada, "Weights").await?;
    stage.say(farm.ada, "1 kg to 2 kg").await?;
    lot(stage, "oyster", 5000, "2026-06-09").await?;
    after_the_count(&farm).await?;
    stage.press(farm.ada, "Give oyster").await?;
    let asked: Vec<i64> = drops(stage).await?.iter().map(|one| one.weight().get()).collect();
    assert_eq!(asked, [2000, 3000]);
    // The keeper was called by Merrow Community Pantry on Friday morning, when the evening before is past.
    stage.press(ben, "Agreed").await?;
    stage.move_to(stage.at("2026-06-05 00:30")).await?;
    stage.press(farm.ada, "They agreed by phone").await?;
    let first = drops(stage).await?.remove(0);
    assert_eq!((first.state(), first.eve_reminded_at), (State::Agreed, Some(stage.now())));
    stage.move_to(stage.at("2026-06-05 08:25")).await?;
    let first = drops(stage).await?.remove(0);
    assert_eq!(first.leave_reminded_at, Some(stage.at("2026-06-05 08:25")));
    stage.say(ben, "/drops").await?;
    let seen = stage.last(ben).text;
    assert!(seen.contains(HARBOUR) && !seen.contains(PANTRY), "{seen}");
    // A food bank with a drop to come stays on the list.
    stage.say(farm.ada, "/foodbanks").await?;
    stage.press(farm.ada, HARBOUR).await?;
    stage.press(farm.ada, "Take off the list").await?;
    assert!(stage.last(farm.ada).text.contains("still coming"), "{}", stage.last(farm.ada).text);
    farm.stage.close().await;
    Ok(())
}
