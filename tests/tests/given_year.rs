//! The record of what was given: the year's sheets, the cost the family sets, and corrections that are entries.

use anyhow::Context;
use bot_api_local::ChatFile;
use pinset::config::{Config, SAMPLE};
use pinset::stage::Actor;
use pinset_tests::cold_store::{balanced, drops, food_bank, lot};
use pinset_tests::farm::{Farm, START, joined_at};
use scheduler::quantity::Grams;
use scheduler::store::cold_room::{self, MoveKind};
use scheduler::store::giving::{self, Given};

const PANTRY: &str = "Merrow Community Pantry";

fn has(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "{part:?} is not in:\n{text}");
    }
}

/// A farm with the sample's crop of its own, lion's mane at 26.00 a kilogram, which says that it cost 9.00; 3 kg of two lots
/// lie there and are given on Friday.
async fn given() -> anyhow::Result<(Farm, Actor)> {
    let text = SAMPLE.replacen("[giving]", "[giving]\ncost_basis_cents_per_kg = { lions-mane = 900 }", 1);
    let (settings, own_crop) = text.split_once("# [[crop]]\n").context("the sample's crop")?;
    let own_crop: String = own_crop.lines().map(|line| format!("{}\n", line.trim_start_matches("# "))).collect();
    let own_crop: String =
        own_crop.lines().filter(|line| line.contains(['=', ']', '{'])).map(|line| format!("{line}\n")).collect();
    let farm = joined_at(Config::parse(&format!("{settings}[[crop]]\n{own_crop}"))?, START).await?;
    let stage = &farm.stage;
    let lucy = stage.enter(4001, "Lucy", "en");
    food_bank(&farm, (PANTRY, "Fri 9-12"), lucy).await?;
    lot(stage, "lions-mane", 1000, "2026-06-06").await?;
    lot(stage, "lions-mane", 2000, "2026-06-07").await?;
    stage.say(farm.ada, "/left").await?;
    stage.press(farm.ada, "Give lion's mane").await?;
    stage.press(lucy, "Agreed").await?;
    stage.move_to(stage.at("2026-06-05 09:30")).await?;
    stage.press(farm.ngozi, "Handed over as planned").await?;
    Ok((farm, lucy))
}

async fn entries(farm: &Farm) -> anyhow::Result<Vec<Given>> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    Ok(giving::ledger(&mut tx).await?)
}

fn files(farm: &Farm) -> Vec<ChatFile> {
    farm.stage.server.chat(farm.ada.0).into_iter().filter_map(|message| message.file).collect()
}

fn named(farm: &Farm, name: &str) -> anyhow::Result<String> {
    let file = files(farm).into_iter().rev().find(|file| file.file_name == name).context("a file of that name")?;
    Ok(String::from_utf8(file.bytes.to_vec())?)
}

#[tokio::test]
async fn a_correction_is_an_entry_and_the_gram_finds_its_place() -> anyhow::Result<()> {
    let (farm, lucy) = given().await?;
    let stage = &farm.stage;
    stage.say(farm.ada, "/given").await?;
    stage.press(farm.ada, "Correct an entry").await?;
    stage.press_first(farm.ada, PANTRY).await?;
    has(
        &stage.read(farm.ada.0),
        &["How much did Merrow Community Pantry really get", "Entered: 6 lb 10 oz lion's mane"],
    );
    for bad in ["a lot", "0 lb", "4 lb shiitake", "90 lb"] {
        stage.say(farm.ada, bad).await?;
        assert_eq!(entries(&farm).await?.len(), 2, "{bad}: {}", stage.last(farm.ada).text);
    }
    stage.say(farm.ada, "500 g").await?;
    has(&stage.last(farm.ada).text, &["Corrected: Merrow Community Pantry got 1 lb 2 oz lion's mane"]);
    has(&stage.last(lucy).text, &["A correction: on Friday, June 5 you got 1 lb 2 oz lion's mane"]);
    // 2,000 g of the later lot and 500 g of the earlier are taken back, each by an entry that names what it corrects.
    let all = entries(&farm).await?;
    assert_eq!(all.iter().map(|entry| entry.grams.get()).collect::<Vec<_>>(), [1000, 2000, -2000, -500]);
    assert_eq!([all[2].corrects, all[3].corrects], [Some(all[1].id), Some(all[0].id)]);
    assert!(all.iter().all(|entry| entry.day == all[0].day), "the month it belongs to is put right");
    assert_eq!(balanced(stage).await?[&("lions-mane".to_owned(), MoveKind::Given)], 500);
    // More than was entered: taken out of what lies there.
    stage.say(farm.ada, "/given").await?;
    stage.press(farm.ada, "Correct an entry").await?;
    stage.press_first(farm.ada, PANTRY).await?;
    stage.say(farm.ada, "1200 g").await?;
    assert_eq!(balanced(stage).await?[&("lions-mane".to_owned(), MoveKind::Given)], 1200);
    assert_eq!(drops(stage).await?[0].handed(), Grams::new(1200));
    let sum: Grams = entries(&farm).await?.iter().map(|entry| entry.grams).sum();
    assert_eq!(sum, Grams::new(1200));
    // The driver takes the whole hand-over back: everything lies in the cold room again, and nothing stands.
    stage.press(farm.ngozi, "Undo").await?;
    assert_eq!(balanced(stage).await?[&("lions-mane".to_owned(), MoveKind::Given)], 0);
    let sum: Grams = entries(&farm).await?.iter().map(|entry| entry.grams).sum();
    assert_eq!(sum, Grams::ZERO);
    let mut tx = stage.engine.store.begin_reading().await?;
    let left: Grams = cold_room::lots(&mut tx).await?.iter().map(|lot| lot.left).sum();
    assert_eq!(left, Grams::new(3000));
    drop(tx);
    farm.stage.close().await;
    Ok(())
}

/// 3 kg at 26.00 a kilogram and a cost of 9.00, reckoned here by hand; 1,000 g are 2.205 lb of 453.59237 g (NIST SP 811, appendix B) and 3,000 g are 5
/// whole meals of 1.2 lb (Feeding America, citing USDA).
#[tokio::test]
async fn the_year_is_tabled_and_printed() -> anyhow::Result<()> {
    let (farm, _) = given().await?;
    let stage = &farm.stage;
    stage.say(farm.ada, "/given").await?;
    stage.press(farm.ada, "2026 as tables").await?;
    let months = named(&farm, "given-2026.csv")?;
    has(&months, &["food bank,2026-01 kg,", "2026-12 kg,year kg,meals\r\n"]);
    has(&months, &["Merrow Community Pantry,0.000,0.000,0.000,0.000,0.000,3.000,0.000,"]);
    has(&months, &["Total,0.000,0.000,0.000,0.000,0.000,3.000,0.000,0.000,0.000,0.000,0.000,0.000,3.000,5\r\n"]);
    let all = named(&farm, "given-2026-entries.csv")?;
    has(&all, &["date,food bank,crop,kg,lb,value at the farm's price,cost,correction,assumed\r\n"]);
    has(&all, &["2026-06-05,Merrow Community Pantry,lion's mane,1.000,2.205,26.00,9.00,,\r\n"]);
    has(&all, &["2026-06-05,Merrow Community Pantry,lion's mane,2.000,4.409,52.00,18.00,,\r\n"]);
    has(&stage.last(farm.ada).text, &["ask a tax adviser"]);
    stage.press(farm.ada, "2026 to print").await?;
    let sheet = files(&farm).into_iter().rev().find(|file| file.file_name == "given-2026.pdf").context("a sheet")?;
    assert!(sheet.bytes.starts_with(b"%PDF-"), "a PDF");
    farm.stage.close().await;
    Ok(())
}
