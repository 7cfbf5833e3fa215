//! Whole weeks through the local server, in English, Spanish and Polish: an order changes a promise; a short week is shared to
//! the gram and talked over; what is left ends in a claim and in a drop with its two reminders.

use pinset::config::{Config, SAMPLE};
use pinset::intent::commands;
use pinset::stage::{Actor, Stage};
use pinset_tests::farm::{START, code_in};
use scheduler::clock::LocalDate;
use scheduler::people::Role;
use scheduler::quantity::Grams;
use scheduler::store::deliveries::{self, Award, State, Why};
use scheduler::store::giving;
use scheduler::store::{audit, cold_room, outbox, surplus};
use scheduler::surplus::drop::State as DropState;

/// What people say and press, in one language. Labels with a weight or a name are given by how they begin.
struct Words {
    language: &'static str,
    new_restaurant: &'static str,
    new_bank: &'static str,
    invite_contact: &'static str,
    hours: &'static str,
    oyster: &'static str,
    soaked: &'static str,
    opened: &'static str,
    flush_is_over: &'static str,
    picked: &'static str,
    two_kilograms: &'static str,
    six_kilograms: &'static str,
    yes: &'static str,
    take: &'static str,
    swap: &'static str,
    print: &'static str,
    packed: &'static str,
    all_delivered: &'static str,
    offer_oyster: &'static str,
    half: &'static str,
    collected: &'static str,
    agree: &'static str,
    handed_over: &'static str,
    short_heading: &'static str,
    all_confirmed: &'static str,
}

const ENGLISH: Words = Words {
    language: "en",
    new_restaurant: "New restaurant",
    new_bank: "New food bank",
    invite_contact: "Invite a contact",
    hours: "Sat 10-13",
    oyster: "oyster",
    soaked: "soaked 40 blocks",
    opened: "opened 20 bags",
    flush_is_over: "Flush is over",
    picked: "picked 4 kg shiitake and 12 kg oyster",
    two_kilograms: "2 kg shiitake for Thursday",
    six_kilograms: "6 kg shiitake for Thursday",
    yes: "Yes",
    take: "Take",
    swap: "13 lb 4 oz oyster instead",
    print: "Print it",
    packed: "All packed as listed",
    all_delivered: "All delivered",
    offer_oyster: "Offer oyster",
    half: "Half",
    collected: "Collected",
    agree: "Agreed",
    handed_over: "Handed over as planned",
    short_heading: "we cannot fill all of your order",
    all_confirmed: "all confirmed",
};

const SPANISH: Words = Words {
    language: "es",
    new_restaurant: "Restaurante nuevo",
    new_bank: "Banco de alimentos nuevo",
    invite_contact: "Invitar a un contacto",
    hours: "sáb 10-13",
    oyster: "ostra",
    soaked: "remojé 40 bloques",
    opened: "abrí 20 bolsas",
    flush_is_over: "Terminó la oleada",
    picked: "coseché 4 kg de shiitake y 12 kg de ostra",
    two_kilograms: "2 kg de shiitake para el jueves",
    six_kilograms: "6 kg de shiitake para el jueves",
    yes: "Sí",
    take: "Quiero",
    swap: "Mejor 13 lb 4 oz de ostra",
    print: "Para imprimir",
    packed: "Todo empacado según la lista",
    all_delivered: "Todo entregado",
    offer_oyster: "Ofrecer ostra",
    half: "La mitad",
    collected: "Recogido",
    agree: "De acuerdo",
    handed_over: "Entregado según lo previsto",
    short_heading: "no podemos surtir todo tu pedido",
    all_confirmed: "todo confirmado",
};

const POLISH: Words = Words {
    language: "pl",
    new_restaurant: "Nowa restauracja",
    new_bank: "Nowy bank żywności",
    invite_contact: "Zaproś kontakt",
    hours: "sb 10-13",
    oyster: "boczniak",
    soaked: "namoczyłam 40 bloków",
    opened: "otworzyłam 20 worków",
    flush_is_over: "Koniec rzutu",
    picked: "zebrałam 4 kg shiitake i 12 kg boczniaka",
    two_kilograms: "2 kg shiitake na czwartek",
    six_kilograms: "6 kg shiitake na czwartek",
    yes: "Tak",
    take: "Biorę",
    swap: "Zamiast tego 13 lb 4 oz boczniaka",
    print: "Do druku",
    packed: "Spakowane według listy",
    all_delivered: "Wszystko dostarczone",
    offer_oyster: "Zaoferuj: boczniak",
    half: "Połowa",
    collected: "Odebrane",
    agree: "Zgoda",
    handed_over: "Przekazane zgodnie z planem",
    short_heading: "nie damy rady zrealizować całego zamówienia",
    all_confirmed: "wszystko potwierdzone",
};

struct Week {
    stage: Stage,
    words: &'static Words,
    keeper: Actor,
    buyers: [Actor; 3],
    pantry: Actor,
}

impl Week {
    /// A farm whose people all read this language, with a shiitake and an oyster batch started.
    async fn begin(words: &'static Words) -> anyhow::Result<Week> {
        let stage = Stage::set(Config::parse(SAMPLE)?, START).await?;
        let keeper = stage.enter(1001, "Ada", words.language);
        let code = stage.claim_code().await?;
        stage.start(keeper, &code).await?;
        let buyers = [2001, 2002, 2003].map(|account| stage.enter(account, "Sam", words.language));
        for (buyer, name) in buyers.iter().zip(["Night Heron Noodle Bar", "Copper Kettle Bistro", "Saltmarsh Bakery"]) {
            stage.say(keeper, "/people").await?;
            stage.press(keeper, words.new_restaurant).await?;
            stage.say(keeper, name).await?;
            stage.start(*buyer, &code_in(&stage.last(keeper).text)).await?;
        }
        let pantry = stage.enter(4001, "Lucía", words.language);
        stage.say(keeper, "/foodbanks").await?;
        stage.press(keeper, words.new_bank).await?;
        for answer in ["Merrow Community Pantry", "12 Quay Street", "25", words.hours, "1 kg - 30 kg"] {
            stage.say(keeper, answer).await?;
        }
        stage.press(keeper, words.invite_contact).await?;
        stage.start(pantry, &code_in(&stage.last(keeper).text)).await?;
        for (crop, units, weight, room) in [("shiitake", "40", "900 g", "1"), (words.oyster, "20", "2.7 kg", "2")] {
            stage.say(keeper, "/batch").await?;
            stage.press_first(keeper, crop).await?;
            for answer in [units, weight, room] {
                stage.say(keeper, answer).await?;
            }
        }
        stage.say(keeper, words.soaked).await?;
        stage.say(keeper, words.opened).await?;
        Ok(Week { stage, words, keeper, buyers, pantry })
    }

    async fn until(&self, reading: &str) -> anyhow::Result<()> {
        self.stage.move_to(self.stage.at(reading)).await
    }

    async fn order(&self, buyer: Actor, text: &str) -> anyhow::Result<()> {
        self.stage.say(buyer, text).await?;
        self.stage.press_first(buyer, self.words.yes).await
    }

    /// Tuesday 2026-06-09: both crops are picked and both flushes are over, so that the supply is known to the gram.
    async fn pick(&self) -> anyhow::Result<()> {
        self.until("2026-06-09 07:30").await?;
        self.stage.say(self.keeper, self.words.picked).await?;
        for crop in ["shiitake", self.words.oyster] {
            self.stage.say(self.keeper, "/shelves").await?;
            self.stage.press_first(self.keeper, crop).await?;
            self.stage.press(self.keeper, self.words.flush_is_over).await?;
        }
        Ok(())
    }

    async fn awards(&self) -> anyhow::Result<Vec<Award>> {
        let mut tx = self.stage.engine.store.begin_reading().await?;
        Ok(deliveries::awards_on(&mut tx, thursday()).await?)
    }

    /// What was promised at cut-off, by award.
    async fn at_cutoff(&self) -> anyhow::Result<Vec<i64>> {
        let mut promised = Vec::new();
        let awards = self.awards().await?;
        let mut tx = self.stage.engine.store.begin_reading().await?;
        for award in awards.iter().filter(|award| award.crop == "shiitake") {
            let history = deliveries::history_of(&mut tx, award.id).await?;
            promised.extend(history.iter().filter(|(_, _, why)| *why == Why::Cutoff).map(|(_, grams, _)| grams.get()));
        }
        Ok(promised)
    }

    /// Everybody looks at everything they may look at.
    async fn look_around(&self) -> anyhow::Result<()> {
        let looks = [(self.buyers[0], Role::Buyer), (self.keeper, Role::Keeper), (self.pantry, Role::Pantry)];
        for (actor, role) in looks {
            for command in commands::typed_by(role) {
                let answer = self.stage.say(actor, &command).await?;
                assert!(!answer.is_empty(), "{command} is answered");
            }
        }
        Ok(())
    }

    /// Writes everybody's chats with their files beside the built program, to be read through and looked at.
    fn keep(&self) -> anyhow::Result<()> {
        let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR"));
        let language = self.words.language;
        let mut page = String::new();
        for actor in [self.keeper, self.buyers[0], self.buyers[1], self.buyers[2], self.pantry] {
            page.push_str("\n=====\n");
            for message in self.stage.server.chat(actor.0).iter().filter(|message| !message.is_deleted) {
                let file = message.file.as_ref().map(|file| format!("\n📎 {}", file.file_name)).unwrap_or_default();
                if let Some(file) = &message.file {
                    std::fs::write(folder.join(format!("said-{language}-{}", file.file_name)), &file.bytes)?;
                }
                let who = if message.from_bot() { "" } else { "» " };
                page.push_str(&format!("\n{who}{}{file}\n", message.text));
                for row in message.labels() {
                    page.push_str(&format!("    [{}]\n", row.join("] [")));
                }
            }
        }
        Ok(std::fs::write(folder.join(format!("said-{language}.txt")), page)?)
    }

    /// Every gram picked is in a lot or in one movement, and nothing waits to be sent.
    async fn balances(&self) -> anyhow::Result<()> {
        let mut tx = self.stage.engine.store.begin_reading().await?;
        assert_eq!(audit::unbalanced_lots(&mut tx).await?, []);
        let picked: Grams = cold_room::picked(&mut tx).await?.into_iter().map(|(_, grams)| grams).sum();
        let moved: Grams = cold_room::moved(&mut tx).await?.into_iter().map(|(_, _, grams)| grams).sum();
        let left: Grams = cold_room::lots(&mut tx).await?.into_iter().map(|lot| lot.left).sum();
        assert_eq!(picked, moved + left);
        assert_eq!(outbox::set_aside_list(&mut tx, 9).await?, []);
        Ok(())
    }
}

fn thursday() -> LocalDate {
    "2026-06-11".parse().expect("a date")
}

/// An order of one restaurant changes what another is promised.
async fn an_order_changes_a_promise(words: &'static Words) -> anyhow::Result<()> {
    let mut promised = Vec::new();
    for others_order in [false, true] {
        let week = Week::begin(words).await?;
        week.pick().await?;
        week.order(week.buyers[0], words.two_kilograms).await?;
        if others_order {
            week.order(week.buyers[1], words.six_kilograms).await?;
            week.order(week.buyers[2], words.six_kilograms).await?;
        }
        week.until("2026-06-09 18:05").await?;
        let read = week.stage.last(week.buyers[0]).text;
        let heading = if others_order { words.short_heading } else { words.all_confirmed };
        assert!(read.contains(heading), "{heading:?} in {read:?}");
        promised.push(week.awards().await?[0].promised.get());
        week.stage.close().await;
    }
    assert_eq!(promised[0], 2000, "alone, the order is promised whole");
    assert!(promised[1] < 2000, "with others, {} g are promised", promised[1]);
    Ok(())
}

/// A short week and a surplus of the other crop, to the end.
async fn a_short_week_with_a_surplus(words: &'static Words) -> anyhow::Result<()> {
    let week = Week::begin(words).await?;
    let Week { stage, keeper, buyers: [taker, swapper, silent], pantry, .. } = &week;
    week.pick().await?;
    week.order(*taker, words.two_kilograms).await?;
    week.order(*swapper, words.six_kilograms).await?;
    week.order(*silent, words.six_kilograms).await?;
    week.until("2026-06-09 18:05").await?;
    for buyer in week.buyers {
        assert!(stage.last(buyer).text.contains(words.short_heading), "{:?}", stage.last(buyer));
    }
    let at_cutoff = week.at_cutoff().await?;
    assert_eq!((at_cutoff.len(), at_cutoff.iter().sum::<i64>()), (3, 4000), "awards sum to what was picked");
    // One takes, one swaps, one stays silent until the deadline.
    stage.press_first(*taker, words.take).await?;
    stage.press(*swapper, words.swap).await?;
    week.until("2026-06-10 09:05").await?;
    let awards = week.awards().await?;
    let of =
        |crop: &str| awards.iter().filter(|award| award.crop == crop).map(|award| award.promised.get()).sum::<i64>();
    assert_eq!((of("shiitake"), of("oyster")), (4000, 6000), "what was swapped away tops up the others");
    assert!(awards.iter().all(|award| award.state != State::Short), "everybody has answered or has a default");
    week.look_around().await?;
    week.until("2026-06-11 06:30").await?;
    stage.press(*keeper, words.print).await?;
    stage.press(*keeper, words.packed).await?;
    stage.say(*keeper, "/run").await?;
    week.until("2026-06-11 09:30").await?;
    stage.press(*keeper, words.all_delivered).await?;
    week.balances().await?;
    let delivered: i64 = week.awards().await?.iter().filter_map(|award| award.delivered).map(Grams::get).sum();
    assert_eq!(delivered, 10_000);

    // Six kilograms of oysters are left: half is claimed, the rest is given.
    week.until("2026-06-11 13:05").await?;
    stage.press(*keeper, words.offer_oyster).await?;
    stage.press_first(*taker, words.half).await?;
    stage.press(*keeper, words.collected).await?;
    week.until("2026-06-12 10:00").await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let offers = surplus::offers(&mut tx).await?;
    let claims = surplus::claims_of(&mut tx, offers[0].id).await?;
    drop(tx);
    assert_eq!((offers[0].offered.get(), claims.len(), claims[0].grams.get()), (6000, 1, 3000));
    stage.press(*pantry, words.agree).await?;
    week.until("2026-06-13 10:30").await?;
    stage.press(*keeper, words.handed_over).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let drops = giving::drops(&mut tx).await?;
    let given: i64 = giving::ledger(&mut tx).await?.iter().map(|entry| entry.grams.get()).sum();
    drop(tx);
    assert_eq!((drops.len(), drops[0].state(), drops[0].weight().get()), (1, DropState::HandedOver, 3000));
    assert_eq!(given, 3000);
    // The evening before at 19:00, and 25 minutes of road with 10 to spare before the doors open at 10:00.
    assert_eq!(drops[0].eve_reminded_at, Some(stage.at("2026-06-12 19:00")));
    assert_eq!(drops[0].leave_reminded_at, Some(stage.at("2026-06-13 09:25")));
    week.balances().await?;
    stage.say(*keeper, "/given").await?;
    week.keep()?;
    week.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn an_order_changes_a_promise_in_english() -> anyhow::Result<()> {
    an_order_changes_a_promise(&ENGLISH).await
}

#[tokio::test]
async fn an_order_changes_a_promise_in_spanish() -> anyhow::Result<()> {
    an_order_changes_a_promise(&SPANISH).await
}

#[tokio::test]
async fn an_order_changes_a_promise_in_polish() -> anyhow::Result<()> {
    an_order_changes_a_promise(&POLISH).await
}

#[tokio::test]
async fn a_short_week_with_a_surplus_in_polish() -> anyhow::Result<()> {
    a_short_week_with_a_surplus(&POLISH).await
}

#[tokio::test]
async fn a_short_week_with_a_surplus_in_english() -> anyhow::Result<()> {
    a_short_week_with_a_surplus(&ENGLISH).await
}

#[tokio::test]
async fn a_short_week_with_a_surplus_in_spanish() -> anyhow::Result<()> {
    a_short_week_with_a_surplus(&SPANISH).await
}

/// What is kept for a market is not promised to a restaurant as well.
#[tokio::test]
async fn stock_that_is_spoken_for_is_not_promised_again() -> anyhow::Result<()> {
    let week = Week::begin(&ENGLISH).await?;
    week.pick().await?;
    week.stage.say(week.keeper, "/left").await?;
    week.stage.press(week.keeper, "Market: shiitake").await?;
    week.stage.say(week.keeper, "3 kg").await?;
    week.order(week.buyers[0], ENGLISH.six_kilograms).await?;
    week.until("2026-06-09 18:05").await?;
    assert_eq!(week.at_cutoff().await?, [1000], "4 kg were picked and 3 kg are kept for the market");
    week.stage.close().await;
    Ok(())
}
