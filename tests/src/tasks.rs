//! The tasks people do in two weeks on the farm, played in each language: everything from an order to a hand-over at the food
//! bank's door. What is done after each of them is up to whoever plays.

use crate::cold_store::lot;
use crate::farm::{Farm, code_in, joined};
use crate::simulation::chance::Chance;
use anyhow::{Context, bail};
use bot_api_local::{ButtonAction, Pressed};
use chrono::Weekday;
use pinset::conversation::Desk;
use pinset::stage::Actor;
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store::cold_room;
use scheduler::store::giving::FoodBank;
use scheduler::store::{buttons, crops, deliveries, giving, growing, orders, people, surplus};
use scheduler::surplus::opening::Span;

/// What people type, in one language. Buttons are found by what they mean, so labels may change.
pub struct Words {
    pub language: &'static str,
    order: &'static str,
    change: &'static str,
    standing: &'static str,
    skip: &'static str,
    pause: &'static str,
    resume: &'static str,
    usual: &'static str,
    orders: &'static str,
    blocks: &'static str,
    dry: &'static str,
    soaked: &'static str,
    pins: &'static str,
    picked: &'static str,
    lost: &'static str,
    back: &'static str,
}

pub const LANGUAGES: [Words; 3] = [
    Words {
        language: "en",
        order: "5 lb shiitake for Thursday",
        change: "make it 6 lb shiitake",
        standing: "every Thursday 2 lb oyster",
        skip: "skip next week",
        pause: "pause until July 1",
        resume: "resume",
        usual: "same as last week",
        orders: "my orders",
        blocks: "40 blocks",
        dry: "2 lb",
        soaked: "soaked 40 shiitake",
        pins: "pins on shiitake",
        picked: "picked 4 lb shiitake",
        lost: "lost 3 blocks of shiitake",
        back: "back with 1 lb oyster",
    },
    Words {
        language: "es",
        order: "5 libras de shiitake para el jueves",
        change: "que sean 6 libras de shiitake",
        standing: "cada jueves 2 lb de ostra",
        skip: "salta la próxima semana",
        pause: "pausa hasta el 1 de julio",
        resume: "reanuda",
        usual: "lo mismo que la semana pasada",
        orders: "mis pedidos",
        blocks: "40 bloques",
        dry: "2 lb",
        soaked: "remojamos 40 shiitake",
        pins: "veo primordios en shiitake",
        picked: "cosechamos 4 lb de shiitake",
        lost: "perdimos 3 bloques de shiitake",
        back: "volvimos con 1 lb de ostra",
    },
    Words {
        language: "pl",
        order: "2,5 kg shiitake na czwartek",
        change: "zmień na 3 kg shiitake",
        standing: "co czwartek 1 kg boczniaka",
        skip: "pomiń przyszły tydzień",
        pause: "wstrzymaj do 1 lipca",
        resume: "wznów",
        usual: "to samo co w zeszłym tygodniu",
        orders: "moje zamówienia",
        blocks: "40 bloków",
        dry: "1 kg",
        soaked: "namoczyliśmy 40 shiitake",
        pins: "widać zawiązki na shiitake",
        picked: "zebraliśmy 2 kg shiitake",
        lost: "straciliśmy 3 bloki shiitake",
        back: "wróciliśmy z 0,5 kg boczniaka",
    },
];

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

/// One action of a person.
#[derive(Clone, Copy)]
enum Action<'a> {
    Say(&'a str),
    /// Presses the newest button that means this: a part of the stored wish.
    Press(&'a str),
}
use Action::{Press, Say};

/// Whether a task changes what is stored or only shows it.
#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Does,
    Shows,
}
use Kind::{Does, Shows};

/// Stands for a picture without words among the texts.
pub const STICKER: &str = "(sticker)";

/// A farm on which tasks are played.
pub struct Play {
    pub farm: Farm,
    pantry: Actor,
    /// Who did which task in how many actions.
    pub counted: Vec<(&'static str, &'static str, usize)>,
    courtesies: Option<Courtesies>,
}

impl Play {
    /// Everybody joined and reading this language, with a food bank whose contact has joined.
    async fn begin(words: &Words) -> anyhow::Result<Play> {
        let farm = joined().await?;
        let stage = &farm.stage;
        let pantry = stage.enter(4001, "Lucía", words.language);
        let mut tx = stage.engine.store.begin().await?;
        let open = Span::new(9 * 60, 13 * 60).expect("hours of one day");
        let bank = FoodBank {
            id: tx.new_id(stage.now()),
            name: "Merrow Community Pantry".into(),
            address: "12 Quay Street, Port Merrow".into(),
            travel_minutes: 25,
            least: Grams::new(500),
            greatest: Grams::new(30_000),
            crops: Vec::new(),
            has_cold_store: true,
            weekly: [Weekday::Fri, Weekday::Sat].map(|weekday| (weekday, open)).to_vec(),
            closed: Vec::new(),
            full: Vec::new(),
            need: 0,
            last_drop_at: None,
        };
        giving::put_food_bank(&mut tx, &bank, stage.now()).await?;
        tx.commit().await?;
        let mut play = Play { farm, pantry, counted: Vec::new(), courtesies: None };
        play.invite_pantry().await?;
        for actor in [play.farm.ada, play.farm.chidi, play.farm.ngozi, play.farm.kettle, play.farm.saltmarsh] {
            play.read_in(actor, words.language).await?;
        }
        Ok(play)
    }

    async fn invite_pantry(&mut self) -> anyhow::Result<()> {
        let stage = &self.farm.stage;
        stage.say(self.farm.ada, "/foodbanks").await?;
        stage.press(self.farm.ada, "Merrow Community Pantry").await?;
        stage.press(self.farm.ada, "Invite a contact").await?;
        let code = code_in(&stage.last(self.farm.ada).text);
        stage.start(self.pantry, &code).await?;
        Ok(())
    }

    async fn read_in(&self, actor: Actor, language: &str) -> anyhow::Result<()> {
        self.act(actor, Say("/settings")).await?;
        self.act(actor, Press(&format!(r#"{{"language":"{language}"}}"#))).await
    }

    async fn act(&self, actor: Actor, action: Action<'_>) -> anyhow::Result<()> {
        let stage = &self.farm.stage;
        match action {
            Say(text) => {
                stage.say(actor, text).await?;
            }
            Press(meaning) => self.press(actor, meaning).await.with_context(|| stage.read(actor.0))?,
        }
        Ok(())
    }

    async fn press(&self, actor: Actor, meaning: &str) -> anyhow::Result<()> {
        let stage = &self.farm.stage;
        let mut tx = stage.engine.store.begin_reading().await?;
        let mut seen = Vec::new();
        for message in stage.server.chat(actor.0).iter().rev() {
            for button in message.keyboard.iter().flatten() {
                let ButtonAction::Callback(token) = &button.action else { continue };
                let Some(stored) = buttons::find(&mut tx, actor.0, token).await? else { continue };
                if stored.intent.contains(meaning) {
                    drop(tx);
                    stage.server.press(actor.0, actor.0, message.message_id, Pressed::Data(token))?;
                    return stage.settle().await;
                }
                seen.push(stored.intent);
            }
        }
        bail!("no button means {meaning:?}; there are {seen:#?}")
    }

    /// Performs a task and counts its actions; what is stored must have changed by it, or not.
    async fn task(
        &mut self,
        (who, name, kind): (&'static str, &'static str, Kind),
        actor: Actor,
        actions: &[Action<'_>],
    ) -> anyhow::Result<()> {
        let before = self.stored().await?;
        let messages = self.farm.stage.read(actor.0);
        for action in actions {
            self.act(actor, *action).await.with_context(|| format!("to {name}"))?;
        }
        let read = self.farm.stage.read(actor.0);
        assert_ne!(read, messages, "{name}: nothing was answered");
        let is_changed = self.stored().await? != before;
        assert_eq!(is_changed, kind == Does, "{name}: {read}");
        self.counted.push((who, name, actions.len()));
        self.be_courteous(name, actor).await
    }

    /// Says a few courtesies in a row: nothing that is stored may change.
    async fn be_courteous(&mut self, name: &str, actor: Actor) -> anyhow::Result<()> {
        let Some(mut courtesies) = self.courtesies.take() else { return Ok(()) };
        let before = self.stored().await?;
        let mut said = Vec::new();
        for _ in 0..courtesies.count {
            let text = *courtesies.chance.pick(courtesies.texts);
            said.push(text);
            if text == STICKER {
                self.farm.stage.server.send_file(actor.0, actor.0, "sticker.webp", b"RIFF".to_vec())?;
                self.farm.stage.settle().await?;
            } else {
                self.farm.stage.say(actor, text).await?;
            }
            let read = self.farm.stage.read(actor.0);
            assert_eq!(self.stored().await?, before, "after {name}: {said:?}\n{read}");
        }
        self.courtesies = Some(courtesies);
        Ok(())
    }

    /// All that a task may change.
    async fn stored(&self) -> anyhow::Result<String> {
        let engine = &self.farm.stage.engine;
        let mut desk = Desk::new(engine.store.begin_reading().await?, self.farm.stage.now(), &engine.house, None);
        let (from, to) = (day("2026-06-01"), day("2026-07-31"));
        let asked = scheduler::farm::asked::between(&mut desk.farm(), from, to).await?;
        let tx = &mut desk.tx;
        let mut parts = vec![
            format!("{asked:?}"),
            format!("{:?}", orders::all_standing(tx).await?),
            format!("{:?}", deliveries::all_awards(tx).await?),
            format!("{:?}", deliveries::from(tx, from).await?),
            format!("{:?}", surplus::market_holds(tx).await?),
            format!("{:?}", surplus::offers(tx).await?),
            format!("{:?} {:?}", surplus::claims_waiting(tx).await?, crops::all(tx).await?),
            format!("{:?}", giving::drops(tx).await?),
            format!("{:?}", cold_room::lots(tx).await?),
            format!("{:?}", growing::all_batches(tx).await?),
            format!("{:?}", growing::all_flushes(tx).await?),
            format!("{:?}", people::everybody(tx).await?),
            format!("{:?}", people::buyers(tx).await?),
        ];
        for offer in surplus::offers(tx).await? {
            parts.push(format!("{:?}", surplus::asked_buyers(tx, offer.id).await?));
        }
        Ok(parts.join("\n"))
    }

    async fn move_to(&self, reading: &str) -> anyhow::Result<()> {
        self.farm.stage.move_to(self.farm.stage.at(reading)).await
    }
}

const YES: Action<'static> = Press(r#""sure":true"#);

/// Monday and Tuesday: orders, and the shelves.
async fn before_the_cutoff(play: &mut Play, words: &Words) -> anyhow::Result<()> {
    let Farm { ada, chidi, heron, kettle, .. } = play.farm;
    let (buyer, grower) = ("restaurant", "grower");
    let language = format!(r#"{{"language":"{}"}}"#, words.language);
    if words.language == "en" {
        // Everybody's language is English already: there and back.
        play.read_in(heron, "es").await?;
    }
    play.task((buyer, "choose a language", Does), heron, &[Say("/settings"), Press(&language)]).await?;
    play.task((buyer, "order for a day", Does), heron, &[Say(words.order), YES]).await?;
    play.task((buyer, "change one line", Does), heron, &[Say(words.change), YES]).await?;
    play.task((buyer, "undo a change", Does), heron, &[Press(r#"{"undo":"#)]).await?;
    play.task((buyer, "start a standing order", Does), heron, &[Say(words.standing), YES]).await?;
    play.task((buyer, "skip a week", Does), heron, &[Say(words.skip), YES]).await?;
    play.task((buyer, "rest standing orders", Does), heron, &[Say(words.pause), YES]).await?;
    play.task((buyer, "take them up again", Does), heron, &[Say(words.resume)]).await?;
    play.task((buyer, "see my orders", Shows), heron, &[Say(words.orders)]).await?;
    play.task((buyer, "get the calendar file", Shows), heron, &[Say("/standing"), Press("calendar_file")]).await?;
    play.task((buyer, "order by buttons", Does), kettle, &[Say("/order"), Press(r#"{"step":"#)]).await?;
    play.act(kettle, Say(words.order)).await?;
    play.act(kettle, YES).await?;
    let batch = [Say("/batch"), Press(r#"{"crop":"shiitake"}"#), Say(words.blocks), Say(words.dry), Say("North room")];
    play.task((grower, "take in a batch", Does), chidi, &batch).await?;
    play.task((grower, "log a soak", Does), chidi, &[Say(words.soaked)]).await?;
    play.task((grower, "log a loss", Does), chidi, &[Say(words.lost)]).await?;
    let names = Say("king oyster, seta de cardo, boczniak królewski");
    let crop =
        [Say("/crops"), Press(r#"{"crops":"new"}"#), Press(r#"{"grows_like":"oyster"}"#), names, Press(r#"{"add":"#)];
    play.task(("keeper", "add a crop", Does), ada, &crop).await?;
    play.task(("family", "see today", Shows), chidi, &[Say("/today")]).await?;
    play.task(("keeper", "see what is coming", Shows), ada, &[Say("/forecast")]).await?;
    play.task(("keeper", "see the shelves", Shows), ada, &[Say("/shelves")]).await
}

/// From the cut-off to the food bank's door.
async fn a_short_week(play: &mut Play, words: &Words) -> anyhow::Result<()> {
    let Farm { ada, ngozi, heron, kettle, saltmarsh, .. } = play.farm;
    let pantry = play.pantry;
    lot(&play.farm.stage, "shiitake", 2_500, "2026-06-12").await?;
    lot(&play.farm.stage, "oyster", 9_000, "2026-06-08").await?;
    play.move_to("2026-06-02 18:01").await?;
    play.task(("restaurant", "answer a shortfall", Does), heron, &[Press(r#"{"shortfall":{"take""#)]).await?;
    play.act(kettle, Press(r#"{"shortfall":{"drop""#)).await?;
    play.move_to("2026-06-04 06:01").await?;
    play.task(("family", "say that all is packed", Does), ada, &[Press(r#"{"packed":"#)]).await?;
    play.task(("driver", "say that a stop is done", Does), ngozi, &[Press(r#"{"delivered_on":"#)]).await?;
    play.move_to("2026-06-04 13:01").await?;
    play.task(
        ("keeper", "keep some for the market", Does),
        ada,
        &[Press(r#"{"keep":{"crop":"oyster""#), Press("keep_weight")],
    )
    .await?;
    lot(&play.farm.stage, "oyster", 6_000, "2026-06-08").await?;
    play.task(("keeper", "offer what is left", Does), ada, &[Say("/left"), Press(r#"{"best":{"crop":"oyster""#)])
        .await?;
    play.task(("restaurant", "take an offer", Does), saltmarsh, &[Press(r#"{"take":{"offer""#)]).await?;
    lot(&play.farm.stage, "oyster", 4_000, "2026-06-08").await?;
    play.task(("keeper", "propose a drop", Does), ada, &[Say("/left"), Press(r#"{"best":{"crop":"oyster""#)]).await?;
    play.task(("food bank", "see coming drops", Shows), pantry, &[Say("/drops")]).await?;
    play.task(("food bank", "agree a drop", Does), pantry, &[Press(r#"{"agree":"#)]).await?;
    play.move_to("2026-06-05 09:30").await?;
    play.task(("driver", "say that a drop is done", Does), ngozi, &[Press(r#"{"handed_over":"#)]).await?;
    play.move_to("2026-06-06 15:00").await?;
    play.task(("keeper", "log what came back from the market", Does), ada, &[Say(words.back)]).await
}

/// The week after: pins, a pick, and the usual order.
async fn the_week_after(play: &mut Play, words: &Words) -> anyhow::Result<()> {
    let Farm { ada, chidi, kettle, heron, .. } = play.farm;
    play.move_to("2026-06-08 09:00").await?;
    play.task(("grower", "log pins", Does), chidi, &[Say(words.pins)]).await?;
    play.task(("restaurant", "place the usual order", Does), kettle, &[Say(words.usual), YES]).await?;
    let buttons = [Say("/standing"), Press(r#"{"one":"#), Press(r#"{"usual":"#)];
    play.task(("restaurant", "change a standing order", Does), heron, &buttons).await?;
    play.move_to("2026-06-12 18:00").await?;
    play.task(("grower", "log a pick", Does), chidi, &[Say(words.picked)]).await?;
    // An invitation is stored, not who may come: only the link is seen.
    play.task(("keeper", "invite a driver", Shows), ada, &[Say("/people"), Press(r#"{"invite":"driver"}"#)]).await
}

/// Plays all the tasks in one language.
///
/// # Errors
/// When a task cannot be done.
pub async fn play(words: &Words, courtesies: Option<Courtesies>) -> anyhow::Result<Play> {
    let mut play = Play::begin(words).await?;
    play.courtesies = courtesies;
    before_the_cutoff(&mut play, words).await.context(words.language)?;
    a_short_week(&mut play, words).await.context(words.language)?;
    the_week_after(&mut play, words).await.context(words.language)?;
    Ok(play)
}

/// What is said after each task, and must change nothing.
#[derive(Debug)]
pub struct Courtesies {
    /// Texts to choose from.
    pub texts: &'static [&'static str],
    /// So many after each task.
    pub count: usize,
    pub chance: Chance,
}
