//! Many hands on one offer: 200 presses by 20 buyers that all wait when the bot looks, in an order drawn anew for each
//! seed.

use bot_api_local::Pressed;
use pinset::stage::{Actor, Stage};
use pinset_tests::cold_store::{balanced, crowd, lot};
use pinset_tests::farm::joined;
use rand::seq::{IndexedRandom, SliceRandom};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store::surplus;
use scheduler::store::{cold_room, people};
use scheduler::surplus::claim::Claim;

/// Offers raced for; `PINSET_RACE_SEEDS=100` takes minutes.
const SEEDS: u64 = 25;
const BUYERS: i64 = 20;
const PRESSES_EACH: usize = 10;

/// The newest message with a button to take some, and its labels for that.
fn takes(stage: &Stage, actor: Actor) -> Option<(i64, Vec<String>)> {
    stage.server.chat(actor.0).into_iter().rev().filter(|message| !message.is_deleted).find_map(|message| {
        let labels = message.labels().concat();
        let takes =
            labels.iter().filter(|label| ["All ", "Half ", "One pack "].iter().any(|say| label.starts_with(say)));
        let takes: Vec<String> = takes.map(|label| (*label).to_owned()).collect();
        (!takes.is_empty()).then_some((message.message_id, takes))
    })
}

/// Every text the bot showed in a chat since a call's number, the oldest first.
fn shown_since(stage: &Stage, actor: Actor, call: u64) -> Vec<String> {
    let calls = stage.server.calls_after(call).into_iter();
    calls
        .filter(|call| call.params["chat_id"].to_string().trim_matches('"') == actor.0.to_string())
        .filter_map(|call| call.params["text"].as_str().map(str::to_owned))
        .collect()
}

async fn claims_of(stage: &Stage, offer: Id) -> anyhow::Result<Vec<Claim>> {
    let mut tx = stage.engine.store.begin_reading().await?;
    Ok(surplus::claims_of(&mut tx, offer).await?)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_hundred_presses_at_once_share_what_there_is() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let crowd = crowd(&farm, BUYERS - 2).await?;
    let (mut granted, mut refused) = (0, 0);
    let seeds = std::env::var("PINSET_RACE_SEEDS").ok().map_or(Ok(SEEDS), |seeds| seeds.parse())?;
    for seed in 0..seeds {
        let mut rng = Pcg64::seed_from_u64(seed);
        lot(stage, "oyster", rng.random_range(500..15_000), "2026-06-12").await?;
        stage.say(farm.ada, "/left").await?;
        stage.press(farm.ada, "Offer oyster").await?;
        let mut tx = stage.engine.store.begin_reading().await?;
        let offer = surplus::open_offers(&mut tx).await?.pop().expect("the offer is open");
        drop(tx);
        let before = stage.server.call_count();
        let mut presses: Vec<Actor> = crowd.iter().flat_map(|actor| [*actor; PRESSES_EACH]).collect();
        presses.shuffle(&mut rng);
        // The bot may take the first while the last are pressed; a card edited meanwhile may have lost its buttons.
        for actor in presses {
            let Some((message, labels)) = takes(stage, actor) else { continue };
            let label = labels.choose(&mut rng).expect("not empty");
            let _ = stage.server.press(actor.0, actor.0, message, Pressed::Label(label));
        }
        stage.settle().await?;
        let claims = claims_of(stage, offer.id).await?;
        let taken: Grams = claims.iter().map(|claim| claim.grams).sum();
        let mut tx = stage.engine.store.begin_reading().await?;
        let offer = surplus::offer_by_id(&mut tx, offer.id).await?.expect("it was made");
        assert_eq!(taken + offer.left, offer.offered, "seed {seed}");
        assert!(claims.iter().all(|claim| claim.grams.is_positive() && !claim.is_given_back()), "seed {seed}");
        let there: Grams = cold_room::lots(&mut tx).await?.iter().map(|lot| lot.left).sum();
        let waiting: Grams = surplus::claims_waiting(&mut tx).await?.iter().map(|claim| claim.grams).sum();
        assert!(waiting <= there, "seed {seed}: {waiting:?} is claimed of {there:?}");
        for actor in &crowd {
            let person = people::by_chat(&mut tx, actor.0).await?.expect("joined");
            let theirs = claims.iter().filter(|claim| Some(claim.buyer_id) == person.buyer_id).count();
            // Who was told "yours" is told so to the end.
            let told: Vec<usize> =
                shown_since(stage, *actor, before).iter().map(|text| text.matches("Yours:").count()).collect();
            assert!(told.is_sorted(), "seed {seed}: {told:?}");
            let last = stage.last(*actor).text;
            assert_eq!(last.matches("Yours:").count(), theirs, "seed {seed}: {last}");
            let ends_edited = if offer.left.is_positive() { "left. First come" } else { "all taken" };
            assert!(last.contains(ends_edited), "seed {seed}: {last}");
            if !offer.left.is_positive() {
                assert!(takes(stage, *actor).is_none(), "seed {seed}: a card still has buttons to take");
            }
        }
        drop(tx);
        granted += claims.len();
        refused += crowd.len() * PRESSES_EACH - claims.len();
        // What was taken is fetched, what was not goes into the next offer.
        stage.press(farm.ada, "Undo").await?;
        let mut tx = stage.engine.store.begin_reading().await?;
        assert!(surplus::open_offers(&mut tx).await?.is_empty(), "seed {seed}");
        drop(tx);
        for _ in &claims {
            stage.press(farm.ada, "Collected").await?;
        }
        balanced(stage).await?;
    }
    // Of presses that are all there before the bot looks, those on a card that another take has changed are shown the new one.
    let offers = usize::try_from(seeds)?;
    assert!(granted >= offers && refused > offers, "{granted} granted, {refused} not: nobody had to fight");
    assert_eq!(stage.server.unanswered_presses(), 0);
    farm.stage.close().await;
    Ok(())
}
