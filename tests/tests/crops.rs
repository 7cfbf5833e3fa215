//! Crops beside the two built in: one from the configuration and one the keeper adds by chat, each from its start to what is
//! left of it; and what is refused when a crop is added or changed.

use pinset::config::{Config, SAMPLE};
use pinset::stage::Stage;
use pinset_tests::farm::{Farm, START, joined, joined_at};
use scheduler::farm::catalogue::Crops;
use scheduler::money::Cents;
use scheduler::quantity::Grams;
use scheduler::store::crops::{self, Said};
use scheduler::store::{audit, cold_room, deliveries, orders};

/// The sample with its example of a crop switched on.
fn with_lions_mane() -> anyhow::Result<Config> {
    let (head, crop) = SAMPLE.split_once("# [[crop]]").expect("the sample shows a crop");
    let crop: String = crop.lines().map(|line| line.strip_prefix("# ").unwrap_or(line).to_owned() + "\n").collect();
    Ok(Config::parse(&format!("{head}[[crop]]{crop}"))?)
}

async fn said(stage: &Stage) -> anyhow::Result<Vec<Said>> {
    let mut tx = stage.engine.store.begin_reading().await?;
    Ok(crops::all(&mut tx).await?)
}

async fn crops_now(stage: &Stage) -> anyhow::Result<Crops> {
    let mut tx = stage.engine.store.begin_reading().await?;
    Ok((*stage.engine.house.of(&mut tx).await?.crops).clone())
}

fn has(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "{part:?} in {text:?}");
    }
}

/// A crop as people speak of it.
struct Spoken {
    key: &'static str,
    name: &'static str,
    /// Of an order in Spanish.
    spanish_order: &'static str,
    spanish_name: &'static str,
    units: &'static str,
    begun: &'static str,
}

/// King oyster: bags, like oyster.
const KING: Spoken = Spoken {
    key: "king-oyster",
    name: "king oyster",
    spanish_order: "1 kg de seta de cardo para el 11 de junio",
    spanish_name: "seta de cardo",
    units: "20 bags",
    begun: "Opened today",
};

const LIONS_MANE: Spoken = Spoken {
    key: "lions-mane",
    name: "lion's mane",
    spanish_order: "1 kg de melena de león para el 11 de junio",
    spanish_name: "melena de león",
    units: "20 blocks",
    begun: "Soaked today",
};

/// Adds king oyster in a few taps, all names in one go.
async fn add_king(farm: &Farm) -> anyhow::Result<()> {
    let (stage, ada) = (&farm.stage, farm.ada);
    stage.say(ada, "/crops").await?;
    has(&stage.last(ada).text, &["shiitake", "oyster"]);
    stage.press(ada, "New crop").await?;
    stage.press(ada, "Like oyster: bags, opened").await?;
    stage.say(ada, "king oyster, seta de cardo, boczniak królewski").await?;
    // 250 g, the built-in oyster's step, are 8.8 oz (1 lb = 453.59237 g, NIST SP 811, appendix B).
    has(
        &stage.last(ada).text,
        &["king oyster", "seta de cardo", "Bags", "after 12 days", "48%", "Keeps 5 days", "9 oz"],
    );
    assert_eq!(said(stage).await?, [], "nothing is kept before it is added");
    stage.press(ada, "Days it keeps").await?;
    stage.press(ada, "7 days").await?;
    stage.press(ada, "Price").await?;
    stage.say(ada, "$11.50").await?;
    stage.press(ada, "Add it").await?;
    has(&stage.last(ada).text, &["Added", "king oyster", "Keeps 7 days", "$11.50 for 1 lb"]);
    Ok(())
}

/// From the first day of a batch to what is left after the delivery, all by chat.
async fn play(farm: &Farm, crop: &Spoken) -> anyhow::Result<()> {
    let (stage, chidi, heron, kettle, ada) = (&farm.stage, farm.chidi, farm.heron, farm.kettle, farm.ada);
    stage.say(chidi, "/batch").await?;
    stage.press(chidi, crop.name).await?;
    stage.say(chidi, crop.units).await?;
    stage.say(chidi, "2 lb").await?;
    stage.say(chidi, "warm room").await?;
    has(&stage.last(chidi).text, &[crop.name, crop.units, "flush 1 of"]);
    stage.press(chidi, crop.begun).await?;
    stage.say(ada, "/forecast").await?;
    has(&stage.read(ada.0), &[crop.name]);

    stage.move_to(stage.at("2026-06-07 09:00")).await?;
    stage.say(chidi, &format!("pins on the {}", crop.name)).await?;
    has(&stage.last(chidi).text, &["Written down: pins", crop.name]);

    stage.say(heron, &format!("5 lb {} for June 11", crop.name)).await?;
    stage.press_first(heron, "Yes").await?;
    stage.say(kettle, crop.spanish_order).await?;
    stage.press_first(kettle, "Sí").await?;
    has(&stage.read(kettle.0), &[crop.spanish_name]);
    let day = "2026-06-11".parse()?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let lines = orders::one_off_between(&mut tx, day, day).await?;
    drop(tx);
    // 5 lb are 2267.96 g.
    let asked: Vec<(&str, i64)> = lines.iter().map(|line| (line.crop.as_str(), line.grams.get())).collect();
    assert_eq!(asked, [(crop.key, 2268), (crop.key, 1000)]);

    stage.move_to(stage.at("2026-06-09 10:00")).await?;
    stage.say(chidi, &format!("picked 10 lb {}", crop.name)).await?;
    has(&stage.last(chidi).text, &["Picked 10 lb", crop.name]);
    stage.move_to(stage.at("2026-06-09 18:01")).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let awards = deliveries::awards_on(&mut tx, day).await?;
    drop(tx);
    // 10 lb lie there for 7 lb 3 oz asked, so everything is promised.
    let promised: Vec<(&str, Grams)> = awards.iter().map(|award| (award.crop.as_str(), award.promised)).collect();
    assert_eq!(promised, [(crop.key, Grams::new(2268)), (crop.key, Grams::new(1000))]);

    stage.move_to(stage.at("2026-06-11 06:01")).await?;
    has(&stage.read(ada.0), &["Night Heron Noodle Bar", "5 lb"]);
    stage.press(ada, "All packed as listed").await?;
    stage.say(farm.ngozi, "/run").await?;
    stage.press_first(farm.ngozi, "All delivered").await?;
    stage.move_to(stage.at("2026-06-11 13:01")).await?;
    // 4,536 g picked, 3,268 g gone: 1,268 g are left, 2 lb 13 oz.
    has(&stage.last(ada).text, &[&format!("{}: 2 lb 13 oz free", crop.name)]);
    stage.press_first(ada, &format!("Offer {}", crop.name)).await?;
    has(&stage.last(farm.saltmarsh).text, &[crop.name, "2 lb 13 oz"]);
    let mut tx = stage.engine.store.begin_reading().await?;
    assert_eq!(audit::unbalanced_lots(&mut tx).await?, []);
    let left: i64 = cold_room::lots(&mut tx).await?.iter().map(|lot| lot.left.get()).sum();
    assert_eq!(left, 1268);
    Ok(())
}

#[tokio::test]
async fn a_crop_added_by_chat_goes_from_its_start_to_what_is_left() -> anyhow::Result<()> {
    let farm = joined().await?;
    add_king(&farm).await?;
    play(&farm, &KING).await?;
    // The price of the offer is the crop's own.
    has(&farm.stage.last(farm.saltmarsh).text, &["$11.50 for 1 lb"]);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_crop_of_the_configuration_goes_from_its_start_to_what_is_left() -> anyhow::Result<()> {
    let farm = joined_at(with_lions_mane()?, START).await?;
    play(&farm, &LIONS_MANE).await?;
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn names_that_would_be_misread_and_values_that_cannot_be_are_refused() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, ada) = (&farm.stage, farm.ada);
    stage.say(ada, "/crops").await?;
    stage.press(ada, "New crop").await?;
    stage.press(ada, "Like shiitake: blocks, soaked").await?;
    for (name, words) in [
        ("Shiitake", "is read as shiitake"),
        ("boczniaki", "is read as oyster"),
        ("oystor", "is read as oyster"),
        ("seven", "would not be read as a crop"),
        ("Thursday", "would not be read as a crop"),
        ("enoki 2", "no digits"),
        ("e", "2 to 30 letters"),
        ("a name far longer than anybody would ever say", "2 to 30 letters"),
        ("enoki, enoki", "3 names"),
    ] {
        has(&stage.say(ada, name).await?[0].text, &[words]);
    }
    stage.say(ada, "enoki").await?;
    stage.press(ada, "enoki, too").await?;
    stage.press(ada, "enoki, too").await?;
    has(&stage.last(ada).text, &["Not added yet", "enoki"]);
    for (button, refused, offered) in [
        ("Days to first pick", &[("0", "from 2 to 90"), ("2 weeks", "from 2 to 90")][..], "7 days"),
        ("First flush", &[("900", "from 2 to 150"), ("40 lb", "from 2 to 150")], "20%"),
        ("Days it keeps", &[("0", "from 1 to 60"), ("-4", "from 1 to 60")], "5 days"),
        ("Hours to cool", &[("5 days", "from 0 to 72"), ("100", "from 0 to 72")], "4 hours"),
        ("Pack", &[("200 lb", "Please write a weight"), ("250", "lb, oz, kg or g")], "8 oz"),
        ("Price", &[("-2", "the price of"), ("12 per oz", "the price of"), ("99999999", "the price of")], "No price"),
    ] {
        stage.press(ada, button).await?;
        for (typed, words) in refused {
            has(&stage.say(ada, typed).await?[0].text, &[words]);
        }
        // The usual ones are still on their buttons.
        stage.press(ada, offered).await?;
        has(&stage.read(ada.0), &["Not added yet"]);
        assert_eq!(said(stage).await?, [], "{button}");
    }
    has(&stage.read(ada.0), &["after 7 days", "20% of the dry weight", "Keeps 5 days", "steps of 8 oz", "4 hours"]);
    // Nobody but the keeper.
    for outsider in [farm.chidi, farm.ngozi, farm.heron] {
        has(&stage.say(outsider, "/crops").await?[0].text, &["not yours to do"]);
    }
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_crop_is_changed_rests_and_is_taken_up_again() -> anyhow::Result<()> {
    let farm = joined_at(with_lions_mane()?, START).await?;
    let (stage, ada, heron) = (&farm.stage, farm.ada, farm.heron);
    // A built-in crop gets a price; another one's name stays refused.
    stage.say(ada, "/crops").await?;
    stage.press(ada, "shiitake").await?;
    stage.press(ada, "Price").await?;
    stage.say(ada, "8").await?;
    has(&stage.last(ada).text, &["Written down", "$8.00 for 1 lb"]);
    // 8.00 for 454 g is 17.62 a kilogram.
    let price = |crops: &Crops| crops.get("shiitake").and_then(|crop| crop.price_per_kilogram);
    assert_eq!(price(&crops_now(stage).await?), Some(Cents::new(1762)));
    stage.press(ada, "Name: English").await?;
    has(&stage.say(ada, "oysters").await?[0].text, &["is read as oyster"]);
    stage.say(ada, "black oak").await?;
    has(&stage.last(ada).text, &["black oak"]);
    stage.say(heron, "5 lb black oak for Thursday").await?;
    has(&stage.last(heron).text, &["5 lb black oak"]);
    stage.press_first(heron, "Yes").await?;

    // It rests: what was ordered stays, nothing new is taken.
    stage.say(ada, "/crops").await?;
    stage.press(ada, "black oak").await?;
    stage.press(ada, "Let it rest").await?;
    has(&stage.last(ada).text, &["Resting", "What was ordered stays"]);
    has(&stage.say(heron, "2 lb shiitake for June 11").await?[0].text, &["not growing black oak", "lion's mane"]);
    let (from, to) = ("2026-06-01".parse()?, "2026-06-30".parse()?);
    let mut tx = stage.engine.store.begin_reading().await?;
    let kept = orders::one_off_between(&mut tx, from, to).await?;
    drop(tx);
    assert_eq!(kept.iter().map(|line| line.grams).collect::<Vec<_>>(), [Grams::new(2268)]);
    stage.say(farm.chidi, "/batch").await?;
    assert!(!stage.last(farm.chidi).labels().concat().contains(&"black oak"));
    stage.say(ada, "/crops").await?;
    has(&stage.last(ada).text, &["black oak, resting"]);
    stage.press(ada, "black oak").await?;
    stage.press(ada, "Take orders again").await?;
    stage.say(heron, "2 lb shiitake for June 11").await?;
    has(&stage.last(heron).text, &["2 lb black oak"]);

    // What the configuration says of a crop, chat does not change.
    stage.say(ada, "/crops").await?;
    stage.press(ada, "lion's mane").await?;
    has(&stage.last(ada).text, &["configuration file"]);
    assert!(!stage.last(ada).labels().concat().contains(&"Price"));
    farm.stage.close().await;
    Ok(())
}

/// Said by chat of a key that the configuration brings: the configuration's values hold, resting is chat's.
#[test]
fn the_configuration_wins_where_both_speak_of_a_crop() -> anyhow::Result<()> {
    let base = Crops::configured(&with_lions_mane()?.crops).map_err(anyhow::Error::msg)?;
    let changes = serde_json::from_str(r#"{"names":{"en":"pom pom"},"keeps_days":9,"price":100}"#)?;
    let key = "lions-mane".parse()?;
    let resting_since = Some(START);
    let crops = base.with(&[Said { key, grows_like: Some("oyster".parse()?), changes, resting_since }]);
    assert_eq!(crops.iter().count(), 3);
    assert_eq!(crops.get("lions-mane"), base.get("lions-mane"));
    assert!(crops.is_resting("lions-mane") && !crops.is_bagged("lions-mane"));
    Ok(())
}
