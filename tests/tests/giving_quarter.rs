//! A quarter of surplus, played in chat: offers every Thursday, the market every Saturday, three food banks of which one
//! never answers and one has a regular drop, holidays, a warm spell, and a driver who forgets every third drop. After every step of every day each gram that was
//! picked is in exactly one place, and what is promised still lies there.

use pinset::stage::{Actor, Stage};
use pinset_tests::cold_store::{balanced, drops, food_bank, lot, promise};
use pinset_tests::farm::{Farm, HERON, joined};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::{self, MoveKind, Movement};
use scheduler::store::deliveries::{self, Why};
use scheduler::store::giving;
use scheduler::surplus::drop::State;

const WEEKS: u64 = 13;
const PANTRY: &str = "Merrow Community Pantry";
const HARBOUR: &str = "Harbour Table";
/// Asked like the others; nobody there ever answers.
const SILENT: &str = "Quayside Kitchen";
const HOLIDAY: &str = "2026-07-03";
/// Saturdays of the regular drop: closed, full, and left out by the family.
const NO_DROP_ON: [&str; 3] = ["2026-07-04", "2026-07-18", "2026-08-01"];
/// The week whose cold room is warm from Thursday afternoon until Friday evening.
const WARM_WEEK: usize = 3;

/// The van takes every promise, whole: nothing promised was given, sold or dried.
async fn deliver(stage: &Stage) -> anyhow::Result<()> {
    let now = stage.now();
    let today = now.local_date(stage.engine.house.zone());
    let mut tx = stage.engine.store.begin().await?;
    for mut award in deliveries::awards_owed(&mut tx).await? {
        let movement = Movement { kind: MoveKind::Delivered, subject: Some(award.id), person_id: None, now };
        let taken = cold_room::take(&mut tx, &award.crop, (award.promised, today), &movement).await?;
        assert_eq!(taken, award.promised, "promised {} for {}", award.crop, award.day);
        award.delivered = Some(taken);
        deliveries::put_award(&mut tx, &award, (Why::Delivered, None), now).await?;
    }
    Ok(tx.commit().await?)
}

/// What is promised lies in the cold room, good on its day.
async fn promises_are_covered(stage: &Stage) -> anyhow::Result<()> {
    let mut tx = stage.engine.store.begin_reading().await?;
    let owed = deliveries::awards_owed(&mut tx).await?;
    let lots = cold_room::lots(&mut tx).await?;
    for award in owed {
        let good = lots.iter().filter(|lot| lot.crop == award.crop && lot.keeps_until >= award.day);
        let there: Grams = good.map(|lot| lot.left).sum();
        assert!(there >= award.promised, "{there} of {} promised for {}", award.promised, award.day);
    }
    Ok(())
}

/// The driver enters what was handed over, except that every third drop is forgotten until after closing.
async fn drive(farm: &Farm) -> anyhow::Result<()> {
    let stage = &farm.stage;
    let all = drops(stage).await?;
    for (place, drop) in all.iter().enumerate().filter(|(_, drop)| drop.state() == State::Agreed) {
        let is_forgotten = place % 3 == 2;
        let since = if is_forgotten { drop.window.closes_at } else { drop.window.opens_at };
        if stage.now() < since {
            continue;
        }
        let mut tx = stage.engine.store.begin_reading().await?;
        let bank = giving::food_bank(&mut tx, drop.partner_id).await?.expect("it is on the list");
        std::mem::drop(tx);
        if is_forgotten {
            assert!(stage.read(farm.ngozi.0).contains("Was it handed over?"), "{}", stage.read(farm.ngozi.0));
        }
        stage.say(farm.ngozi, "/drops").await?;
        stage.press_first(farm.ngozi, &bank.name).await?;
        stage.press(farm.ngozi, "Handed over as planned").await?;
    }
    Ok(())
}

/// Everybody who answers answers, the driver drives, and the balance is drawn.
async fn step(farm: &Farm, contacts: &[Actor], reading: &str) -> anyhow::Result<()> {
    let stage = &farm.stage;
    stage.move_to(stage.at(reading)).await?;
    for contact in contacts {
        // No button: nothing is being asked.
        let _ = stage.press(*contact, "Agreed").await;
    }
    drive(farm).await?;
    balanced(stage).await?;
    promises_are_covered(stage).await
}

/// The last day of every lot, in the order they were picked.
async fn last_days(stage: &Stage) -> anyhow::Result<Vec<LocalDate>> {
    let mut tx = stage.engine.store.begin_reading().await?;
    let mut lots = cold_room::lots(&mut tx).await?;
    lots.sort_by_key(|lot| lot.id);
    Ok(lots.into_iter().map(|lot| lot.keeps_until).collect())
}

/// Presses a button where it is there at all: how much is left differs by week.
async fn press_if_there(stage: &Stage, actor: Actor, label: &str) -> anyhow::Result<bool> {
    let is_there = stage.last(actor).labels().concat().contains(&label);
    if is_there {
        stage.press(actor, label).await?;
    }
    Ok(is_there)
}

#[tokio::test]
async fn every_gram_of_a_quarter_ends_in_one_place() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let [lucy, ben, sam] =
        [(4001, "Lucy"), (4002, "Ben"), (4003, "Sam")].map(|(account, name)| stage.enter(account, name, "en"));
    food_bank(&farm, (PANTRY, "Fri 13:00-16:00, Sat 17-19"), lucy).await?;
    food_bank(&farm, (HARBOUR, "Sat 15:30-19, Mon 9-12"), ben).await?;
    food_bank(&farm, (SILENT, "Tue 10-13, Sun 9-12"), sam).await?;
    stage.say(farm.ada, "/foodbanks").await?;
    stage.press(farm.ada, PANTRY).await?;
    stage.press(farm.ada, "Closed dates").await?;
    stage.say(farm.ada, HOLIDAY).await?;
    stage.press(farm.ada, "Closed dates").await?;
    stage.say(farm.ada, NO_DROP_ON[0]).await?;
    stage.say(farm.ada, "every Saturday 17:00 to Merrow Community Pantry").await?;
    stage.press(lucy, "Agreed").await?;
    let mut random = Pcg64Mcg::seed_from_u64(6);
    let thursdays = "2026-06-04".parse::<LocalDate>()?.iter_weeks().take(WEEKS as usize);
    for (week, thursday) in thursdays.enumerate() {
        let on = |days: u64, time: &str| format!("{} {time}", thursday + chrono::Days::new(days));
        let keeps = |days: u64| (thursday + chrono::Days::new(days)).to_string();
        step(&farm, &[lucy, ben], &on(0, "12:30")).await?;
        let saturday = on(2, "").trim().to_owned();
        if saturday == NO_DROP_ON[1] {
            stage.say(lucy, "/drops").await?;
            stage.press(lucy, "We are full on a day").await?;
            stage.press(lucy, "Full Sat, Jul 18").await?;
        }
        if saturday == NO_DROP_ON[2] {
            stage.say(farm.ada, "/drops").await?;
            stage.press(farm.ada, "Merrow Community Pantry: not on Sat, Aug 1").await?;
        }
        lot(stage, "oyster", random.random_range(3000..9000), &keeps(random.random_range(2..=5))).await?;
        lot(stage, "shiitake", random.random_range(2000..6000), &keeps(8)).await?;
        promise(stage, HERON, ("oyster", random.random_range(500..2500)), thursday + chrono::Days::new(1)).await?;
        step(&farm, &[lucy, ben], &on(0, "13:00")).await?;
        if week == WARM_WEEK {
            let before = last_days(stage).await?;
            stage.say(farm.ada, "cold room 12 °C").await?;
            let after = last_days(stage).await?;
            assert!(before != after && before.iter().zip(&after).all(|(before, after)| after <= before), "{after:?}");
        }
        press_if_there(stage, farm.ada, "Offer oyster").await?;
        for (place, buyer) in [farm.heron, farm.saltmarsh].into_iter().enumerate() {
            if (week + place) % 3 == 0 {
                let _ = stage.press_first(buyer, "One pack").await;
            }
        }
        stage.say(farm.ada, "/left").await?;
        if press_if_there(stage, farm.ada, "Market: shiitake").await? {
            stage.press_first(farm.ada, "Half").await?;
        }
        step(&farm, &[lucy, ben], &on(1, "07:30")).await?;
        deliver(stage).await?;
        for time in ["09:05", "13:10", "16:05"] {
            step(&farm, &[lucy, ben], &on(1, time)).await?;
        }
        let _ = stage.press(farm.ada, "Collected").await;
        if week == WARM_WEEK {
            step(&farm, &[lucy, ben], &on(1, "20:00")).await?;
            stage.say(farm.ada, "cold room 4 °C").await?;
        }
        step(&farm, &[lucy, ben], &on(2, "15:00")).await?;
        stage.say(farm.ada, "/left").await?;
        stage.press(farm.ada, "Back from the market").await?;
        stage.say(farm.ada, &format!("{} g shiitake", random.random_range(1..800))).await?;
        stage.say(farm.ada, "/left").await?;
        press_if_there(stage, farm.ada, "Give shiitake").await?;
        for time in ["15:40", "17:10", "19:05"] {
            step(&farm, &[lucy, ben], &on(2, time)).await?;
        }
        for (days, time) in [(3, "12:05"), (4, "09:10"), (4, "12:05"), (5, "13:05"), (6, "08:00")] {
            step(&farm, &[lucy, ben], &on(days, time)).await?;
        }
        stage.say(farm.ada, "/left").await?;
        for label in ["Throw away oyster", "Throw away shiitake"] {
            press_if_there(stage, farm.ada, label).await?;
        }
        balanced(stage).await?;
    }

    let all = drops(stage).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let banks = giving::food_banks(&mut tx).await?;
    let holiday: LocalDate = HOLIDAY.parse()?;
    let zone = stage.engine.house.zone();
    for drop in &all {
        let bank = banks.iter().find(|bank| bank.id == drop.partner_id).expect("it is on the list");
        assert!(bank.hours().is_open(drop.window.opens_at, zone), "{drop:?}");
        assert!(bank.hours().is_open(drop.window.closes_at.plus_seconds(-1), zone), "{drop:?}");
        assert!(bank.name != PANTRY || drop.window.opens_at.local_date(zone) != holiday, "{drop:?}");
        assert!(bank.name != SILENT || drop.state() != State::HandedOver, "{drop:?}");
        if drop.agreed_at.is_some() && drop.window.opens_at <= stage.now() {
            assert!(drop.eve_reminded_at.is_some() && drop.leave_reminded_at.is_some(), "{drop:?}");
        }
    }
    let regular: Vec<_> = all.iter().filter(|drop| drop.standing_id.is_some()).collect();
    for drop in &regular {
        let opens = drop.window.opens_at.local(zone);
        assert!(opens.format("%a %H:%M").to_string() == "Sat 17:00" && drop.state() == State::HandedOver, "{drop:?}");
        assert!(!NO_DROP_ON.contains(&opens.date().to_string().as_str()), "{drop:?}");
        let bank = banks.iter().find(|bank| bank.id == drop.partner_id).expect("it is on the list");
        assert!(bank.least <= drop.weight() && drop.weight() <= bank.greatest, "{drop:?}");
    }
    // Every Saturday is accounted for: brought, skipped with a word, or one of the three.
    let told = stage.read(farm.ada.0);
    let skipped = told.matches("the regular drop of Saturday").count();
    assert_eq!(regular.len() + skipped + NO_DROP_ON.len(), WEEKS as usize, "{skipped} skipped");
    for why in ["Saturday, July 4: it is closed then", "Saturday, July 18: it is full"] {
        assert!(stage.read(farm.chidi.0).contains(why), "{why}");
    }
    let handed: Grams = all.iter().map(|drop| drop.handed()).sum();
    let entered: Grams = giving::ledger(&mut tx).await?.iter().map(|entry| entry.grams).sum();
    assert_eq!(handed, entered);
    std::mem::drop(tx);
    let moved = balanced(stage).await?;
    let of = |kind: MoveKind| -> i64 { moved.iter().filter(|((_, of), _)| *of == kind).map(|(_, grams)| grams).sum() };
    assert_eq!(of(MoveKind::Given), handed.get());
    let count = |state: State| all.iter().filter(|drop| drop.state() == state).count();
    println!(
        "{WEEKS} weeks: {} drops handed over ({} regular, {skipped} skipped), {} unanswered; grams given {}, to market {}, back {}, collected {}, \
         delivered {}, thrown away {}",
        count(State::HandedOver),
        regular.len(),
        count(State::Unanswered),
        of(MoveKind::Given),
        of(MoveKind::Market),
        -of(MoveKind::Returned),
        of(MoveKind::Collected),
        of(MoveKind::Delivered),
        of(MoveKind::Discarded)
    );
    // The quarter had something of everything, or it would show little.
    assert!(count(State::HandedOver) >= 6 && count(State::Unanswered) >= 1 && regular.len() >= 5);
    for kind in [MoveKind::Given, MoveKind::Market, MoveKind::Collected, MoveKind::Delivered] {
        assert!(of(kind) > 0, "{kind:?}");
    }
    farm.stage.close().await;
    Ok(())
}
