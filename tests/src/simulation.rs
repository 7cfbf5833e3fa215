//! Weeks of the farm driven by one seed in one process: people, clock, the messaging service and every fault of it and of
//! the database. The engine and the sender are those of production; below the service's calls everything is in memory.
//! After each deed the cheap invariants are checked, at the end of each day all of them: `invariants` names them, [`Mishap`]
//! the faults. One seed plays the same weeks every time.

pub mod chance;
pub mod counts;
pub mod crash;
pub mod disk;
pub mod invariants;
pub mod machine;
pub mod poison;
pub mod run;
pub mod service;
pub mod setting;
pub mod told;
pub mod week;

use chance::Chance;
use counts::{Counts, Mishap};
use crash::Crash;
use disk::Disk;
use invariants::Memories;
use machine::Machine;
use pinset::conversation::ordering::{self, weights};
use pinset::engine::{Arrival, Engine, Queue};
use pinset::incoming::{Account, Incoming, What};
use pinset::intent::Intent;
use pinset::telegram::pace::Pace;
use pinset::telegram::send::{self, Sender};
use pinset::wording::Args;
use scheduler::clock::{CheckedClock, Clock, HandClock, LocalDate, UtcSeconds, instant_at};
use scheduler::quantity::Grams;
use scheduler::store::alone::Alone;
use scheduler::store::{Store, buttons, orders, outbox, people};
use service::{Memory, Standing};
use setting::{Database, GROUP, GROWER, STRANGERS, SUPERGROUP};
use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;
use std::time::Duration;
use week::Deed;

/// Rounds after which the program should have come to rest long ago.
const ROUNDS_MAX: u32 = 3000;

/// The longest wait for the pace alone: a group's full minute.
const PACE_MAX: Duration = Duration::from_secs(61);

/// One farm.
pub struct Simulation {
    chance: Chance,
    clock: Arc<HandClock>,
    machine: Arc<Machine>,
    crash: Crash,
    disk: Arc<Disk>,
    service: Memory,
    engine: Arc<Engine>,
    sender: Sender<Memory>,
    /// The program's hold on the database; the next run takes it over.
    _alone: Alone,
    url: String,
    queue: VecDeque<Incoming>,
    /// Delivered before; the service may deliver them again.
    delivered: Vec<Incoming>,
    /// An update that the next one overtakes.
    overtaken: Option<Incoming>,
    next_update_id: i64,
    has_faults: bool,
    group: i64,
    is_poisoned: bool,
    /// Of a hundred things the family is to press, so many are forgotten.
    forgotten_percent: u32,
    forgetting: Chance,
    memories: Memories,
    pub counts: Counts,
    /// What was done last, for whoever looks into a failure.
    pub trace: VecDeque<String>,
}

/// Why a simulation ended early: the invariant that was broken.
pub type Broken = String;

fn failed(error: impl std::fmt::Display) -> Broken {
    format!("the store failed while nothing was to fail: {error}")
}

impl Simulation {
    /// A farm on this database, at `start`.
    ///
    /// # Errors
    /// When the database cannot be opened.
    pub async fn begin(seed: u64, database: &Database, start: UtcSeconds) -> Result<Simulation, Broken> {
        let clock = Arc::new(HandClock::at(start));
        let crash = Crash::default();
        let mut chance = Chance::new(seed);
        let disk = Arc::new(Disk::new(crash.clone(), seed ^ 0x5151));
        let service = Memory::new(Arc::clone(&clock), crash.clone(), seed ^ 0xa1a1);
        let has_faults = !chance.one_in(5);
        // A stream of its own: what else happens on a farm does not hang on what its people forget.
        let mut forgetting = Chance::new(seed ^ 0xf0f0);
        let forgotten_percent = setting::forgetfulness(&mut forgetting);
        let machine = Arc::new(Machine::of(Arc::clone(&clock)));
        let mut counts = Counts::default();
        if has_faults && chance.one_in(4) {
            counts.mishaps.note(Mishap::PlannedAhead);
            machine::plan_ahead(&database.url, start).await?;
        }
        let engine = open(&database.url, &machine, &disk).await?;
        let alone = Alone::take(&database.url).await.map_err(failed)?;
        let (second, url, its_clock) = (service.clone(), database.url.clone(), Arc::clone(&clock));
        service.on_second_start(Some(Arc::new(move || {
            Box::pin(start_once_more(second.clone(), url.clone(), Arc::clone(&its_clock)))
        })));
        if chance.one_in(2) {
            let mut tx = engine.store.begin().await.map_err(failed)?;
            people::add_family_group(&mut tx, GROUP, "en", (None, start)).await.map_err(failed)?;
            tx.commit().await.map_err(failed)?;
        }
        Ok(Simulation {
            chance,
            clock,
            machine,
            crash,
            disk,
            sender: sender_of(&service, &engine),
            service,
            engine,
            _alone: alone,
            url: database.url.clone(),
            queue: VecDeque::new(),
            delivered: Vec::new(),
            overtaken: None,
            next_update_id: 1,
            has_faults,
            group: GROUP,
            is_poisoned: false,
            forgotten_percent,
            forgetting,
            memories: Memories::at(start),
            counts,
            trace: VecDeque::new(),
        })
    }

    /// The service, for a planted fault that goes past the outbox.
    pub fn service(&self) -> Memory {
        self.service.clone()
    }

    /// Plays one week from this Monday on.
    ///
    /// # Errors
    /// The invariant that was broken.
    pub async fn week(&mut self, number: u32, monday: LocalDate) -> Result<(), Broken> {
        let mut plan = week::plan(number, &mut self.chance);
        let forgotten = week::forget(&mut plan, &mut self.forgetting, self.forgotten_percent);
        self.counts.forgotten += forgotten;
        let zone = self.engine.house.zone();
        let midnight = |day: LocalDate| instant_at(day, chrono::NaiveTime::MIN, zone);
        let mut plan = plan.into_iter().peekable();
        for day in 0..7_u64 {
            let date = monday + chrono::Days::new(day);
            let minutes_until = i64::try_from(day + 1).unwrap_or(7) * 24 * 60;
            while let Some((minute, deed)) = plan.next_if(|(minute, _)| *minute < minutes_until) {
                let minute_of_day = u32::try_from(minute % (24 * 60)).unwrap_or_default();
                let time = chrono::NaiveTime::from_hms_opt(minute_of_day / 60, minute_of_day % 60, 0);
                let when = instant_at(date, time.expect("a time of day"), zone);
                self.wait_until(when).await?;
                self.note(format!("{deed:?}"));
                self.do_deed(deed).await?;
                self.memories.after_deed(&self.engine, &self.service).await?;
            }
            self.wait_until(midnight(date.succ_opt().unwrap_or(date)).plus_seconds(-1)).await?;
            self.rest().await?;
            self.mend().await?;
            self.memories.after_day(&self.engine, &self.service, (self.group, &mut self.counts)).await?;
        }
        self.memories.after_week(&self.engine).await?;
        self.counts.weeks += 1;
        Ok(())
    }

    /// Ends the simulation.
    pub async fn end(&mut self) {
        let (calls, mishaps) = self.service.calls();
        self.counts.messages = calls;
        self.counts.mishaps.add(&mishaps);
        self.counts.mishaps.add(&self.disk.happened());
        self.counts.store_calls = self.disk.asked();
        self.service.on_second_start(None);
        self.engine.store.close().await;
    }

    fn note(&mut self, what: String) {
        if self.trace.len() == 40 {
            self.trace.pop_front();
        }
        self.trace.push_back(format!("{} {what}", self.clock.now()));
    }

    fn allow_faults(&mut self) {
        if self.has_faults && self.chance.percent(15) {
            let (database, service) = (self.chance.below(3), self.chance.below(4));
            self.disk.allow_faults(u32::try_from(database).unwrap_or_default());
            self.service.allow_faults(u32::try_from(service).unwrap_or_default());
        }
        if self.has_faults && self.chance.one_in(40) {
            let points = self.chance.between(1, 120);
            self.note(format!("the database does not answer {points} times"));
            self.disk.go_out(u32::try_from(points).unwrap_or_default());
        }
    }

    fn stop_faults(&self) {
        self.disk.go_on((0, 0));
        self.service.allow_faults(0);
        self.service.come_back();
    }

    /// Lets time pass, stopping at what falls due; sometimes the program does not run meanwhile, and sometimes somebody
    /// sets the clock.
    async fn wait_until(&mut self, then: UtcSeconds) -> Result<(), Broken> {
        if self.has_faults && self.chance.one_in(60) {
            let seconds = self.chance.between(-120, 300);
            self.note(format!("the clock is set by {seconds} seconds"));
            self.counts.mishaps.note(Mishap::ClockSet);
            self.clock.set(self.clock.now().plus_seconds(seconds));
        }
        if self.has_faults && self.chance.one_in(60) {
            let is_ahead = self.machine.turn_ahead();
            self.note(format!("the machine's clock stands a month ahead: {is_ahead}"));
            self.counts.mishaps.note(Mishap::ClockMonthAhead);
        }
        if then <= self.clock.now() {
            return Ok(());
        }
        if self.has_faults && self.chance.one_in(40) {
            self.note(format!("nothing runs until {then}"));
            self.counts.mishaps.note(Mishap::Asleep);
            self.clock.set(then);
            return self.pump().await;
        }
        let now = self.clock.now();
        if self.has_faults && self.chance.one_in(120) && self.hour() < 18 {
            let hours = self.chance.between(2, 6);
            self.note(format!("the service is gone for {hours} hours"));
            self.service.go_down(now.plus_minutes(hours * 60));
        }
        self.allow_faults();
        for _ in 0..ROUNDS_MAX {
            self.pump().await?;
            let Some(next) = self.next_event().await?.filter(|next| *next <= then) else { break };
            // What is due and did not go is held by a sender that was stopped.
            let now = self.clock.now();
            self.clock.set(if next > now { next } else { now.plus_seconds(20).min(then) });
            if self.clock.now() == then {
                break;
            }
        }
        if self.clock.now() < then {
            self.clock.set(then);
        }
        self.pump().await
    }

    fn hour(&self) -> u32 {
        chrono::Timelike::hour(&self.clock.now().local(self.engine.house.zone()))
    }

    async fn next_event(&mut self) -> Result<Option<UtcSeconds>, Broken> {
        let left = self.disk.pause();
        let due = self.engine.next_due().await.map_err(failed)?;
        self.disk.go_on(left);
        let mut tx = self.engine.store.without_faults().begin_reading().await.map_err(failed)?;
        let sent = outbox::next_due(&mut tx).await.map_err(failed)?;
        drop(tx);
        Ok(due.into_iter().chain(sent).min())
    }

    /// Writes a row that makes one job fail from now on.
    async fn poison(&mut self) -> Result<(), Broken> {
        if !std::mem::replace(&mut self.is_poisoned, true) {
            self.counts.mishaps.note(Mishap::PoisonedRow);
            poison::put(&self.url, self.clock.now(), self.engine.house.zone()).await?;
        }
        Ok(())
    }

    /// Somebody takes the row away again.
    async fn mend(&mut self) -> Result<(), Broken> {
        match std::mem::take(&mut self.is_poisoned) {
            true => poison::take_away(&self.url).await,
            false => Ok(()),
        }
    }

    /// No more faults: everything that waits goes out within an hour, or never will.
    async fn rest(&mut self) -> Result<(), Broken> {
        self.stop_faults();
        let until = self.clock.now().plus_minutes(60);
        loop {
            self.pump().await?;
            let mut tx = self.engine.store.begin_reading().await.map_err(failed)?;
            // What is held for the morning is not late.
            let Some(next) = outbox::waiting_due(&mut tx).await.map_err(failed)? else { return Ok(()) };
            drop(tx);
            if next > until {
                return Err(format!("the outbox does not drain: a message waits until {next}"));
            }
            let now = self.clock.now();
            self.clock.set(if next > now { next } else { now.plus_seconds(20) });
        }
    }

    /// Updates in, what is due, messages out, until all is quiet; whatever stops the program, it is started again.
    async fn pump(&mut self) -> Result<(), Broken> {
        for _ in 0..ROUNDS_MAX {
            let (is_quiet, waits_until) = self.turn().await?;
            // The pace is a matter of seconds; what waits longer waits for its time.
            let wait = waits_until.map(|at| at.saturating_sub(self.clock.elapsed()));
            match wait.filter(|wait| !wait.is_zero() && *wait <= PACE_MAX) {
                Some(wait) => self.clock.advance(wait),
                None if is_quiet => return Ok(()),
                None => {}
            }
        }
        Err("the program does not come to rest".into())
    }

    /// Updates in, what is due, messages out as far as they may go now: whether there was nothing to do, and until when the
    /// pace keeps the next message back.
    async fn turn(&mut self) -> Result<(bool, Option<Duration>), Broken> {
        let (mut is_quiet, mut waits_until) = (true, None);
        self.engine.service_said(Some(self.clock.now()));
        while !self.queue.is_empty() {
            is_quiet = false;
            // What came together is confirmed together.
            let mut queue = Queue::of(self.queue.iter().cloned().map(Arrival::from).collect());
            match self.crash.run(self.engine.take_all(&mut queue)).await {
                None => self.start_again().await?,
                Some(Err(_)) => self.clock.set(self.clock.now().plus_seconds(1)),
                Some(Ok(())) => {
                    for incoming in std::mem::take(&mut self.queue) {
                        self.memories.taken(incoming.update_id);
                        self.delivered.push(incoming);
                        self.counts.updates += 1;
                        self.redeliver();
                    }
                    self.memories.after_step(&self.engine, &mut self.counts).await?;
                }
            }
        }
        let before = self.newest().await?;
        match self.crash.run(self.engine.do_due()).await {
            None => {
                is_quiet = false;
                self.start_again().await?;
            }
            Some(Err(_)) => {
                is_quiet = false;
                self.clock.set(self.clock.now().plus_seconds(1));
            }
            Some(Ok(done)) => is_quiet &= done == 0,
        }
        if self.newest().await? > before {
            self.memories.after_timetable(&self.engine, before).await?;
            self.memories.after_step(&self.engine, &mut self.counts).await?;
        }
        match self.crash.run(self.sender.round()).await {
            None => {
                is_quiet = false;
                self.start_again().await?;
            }
            Some(Err(_)) => {
                is_quiet = false;
                self.sender_stopped().await?;
                self.clock.set(self.clock.now().plus_seconds(1));
            }
            Some(Ok(round)) => {
                self.service.round_ended();
                is_quiet &= round.tried == 0;
                waits_until = round.waits_until;
            }
        }
        Ok((is_quiet, waits_until))
    }

    async fn newest(&mut self) -> Result<scheduler::id::Id, Broken> {
        let mut tx = self.engine.store.without_faults().begin_reading().await.map_err(failed)?;
        let newest = outbox::last(&mut tx).await.map_err(failed)?;
        drop(tx);
        Ok(newest.unwrap_or(scheduler::id::Id::new(0)))
    }

    /// The service sends some updates again.
    fn redeliver(&mut self) {
        if !self.has_faults || self.delivered.is_empty() {
            return;
        }
        if self.chance.one_in(25) {
            let first = self.delivered.len().saturating_sub(8);
            let place = first + self.chance.below(self.delivered.len() - first);
            self.queue.push_back(self.delivered[place].clone());
            self.counts.mishaps.note(Mishap::UpdateRepeated);
        }
    }

    async fn start_again(&mut self) -> Result<(), Broken> {
        self.note("the program is stopped and started again".into());
        let left = self.disk.pause();
        self.engine.store.close().await;
        self.engine = open(&self.url, &self.machine, &self.disk).await?;
        self.sender = sender_of(&self.service, &self.engine);
        // The service is asked who we are before anything is planned.
        self.engine.service_said(Some(self.clock.now()));
        self.sender_stopped().await?;
        self.engine.recall_outage().await.map_err(failed)?;
        send::release(&self.engine).await.map_err(failed)?;
        self.disk.go_on(left);
        Ok(())
    }

    async fn sender_stopped(&mut self) -> Result<(), Broken> {
        let mut tx = self.engine.store.without_faults().begin_reading().await.map_err(failed)?;
        let rows = outbox::after(&mut tx, self.memories.watermark).await.map_err(failed)?;
        drop(tx);
        self.service.stopped(told::sent(&rows));
        Ok(())
    }

    /// Hands an update to the service, which sometimes keeps it until the next one has gone: `false` then.
    fn put(&mut self, (chat_id, account): (i64, i64), what: What) -> bool {
        let language_code = Some(if account % 3 == 0 { "pl".to_owned() } else { "en".to_owned() });
        let account = Account { chat_id: account, first_name: "Sam".into(), language_code };
        let incoming = Incoming { update_id: self.next_update_id, chat_id, account, what };
        self.next_update_id += 1;
        if self.has_faults && self.overtaken.is_none() && self.chance.one_in(30) {
            self.overtaken = Some(incoming);
            return false;
        }
        self.queue.push_back(incoming);
        if let Some(overtaken) = self.overtaken.take() {
            self.note(format!("update {} comes late", overtaken.update_id));
            self.counts.mishaps.note(Mishap::UpdatesReordered);
            self.queue.push_back(overtaken);
        }
        true
    }

    /// Says something and waits; `false` when it has not arrived yet.
    async fn say(&mut self, who: i64, text: &str) -> Result<bool, Broken> {
        let has_arrived = self.put((who, who), What::Said(text.to_owned()));
        self.allow_faults();
        self.pump().await?;
        Ok(has_arrived)
    }

    /// Presses this button of a chat and waits; `false` when it has not arrived yet.
    async fn press(&mut self, (chat_id, who): (i64, i64), token: &str) -> Result<bool, Broken> {
        let callback_id = self.next_update_id.to_string();
        let has_arrived = self.put((chat_id, who), What::Pressed { callback_id, token: token.to_owned() });
        self.allow_faults();
        self.pump().await?;
        Ok(has_arrived)
    }

    /// One of the last messages that have buttons.
    fn with_buttons(&mut self, chat_id: i64) -> Option<Standing> {
        let messages = self.service.chat(chat_id);
        let live: Vec<&Standing> =
            messages.iter().rev().take(8).filter(|one| !one.is_deleted && !one.keyboard.is_empty()).take(3).collect();
        let place = if live.len() > 1 && self.chance.one_in(3) { 1 + self.chance.below(live.len() - 1) } else { 0 };
        live.get(place).map(|one| (*one).clone())
    }

    async fn press_something(&mut self, (chat_id, who): (i64, i64), first_percent: u32) -> Result<(), Broken> {
        let Some(message) = self.with_buttons(chat_id) else { return Ok(()) };
        self.memories.forget_orders_of(who);
        let keys: Vec<_> = message.keyboard.iter().flatten().cloned().collect();
        let place = if self.chance.percent(first_percent) { 0 } else { self.chance.below(keys.len()) };
        self.note(format!("{who} presses {:?}", keys[place].label));
        self.press((chat_id, who), &keys[place].token).await?;
        Ok(())
    }

    /// Presses the newest button whose label begins so, if there is one.
    async fn press_named(&mut self, who: i64, beginning: &str) -> Result<(), Broken> {
        let messages = self.service.chat(who);
        let standing = messages.iter().rev().take(8).filter(|one| !one.is_deleted);
        let key = standing.flat_map(|one| one.keyboard.iter().flatten()).find(|key| key.label.starts_with(beginning));
        let Some(key) = key else { return Ok(()) };
        self.note(format!("{who} presses {:?}", key.label));
        self.press((who, who), &key.token).await?;
        Ok(())
    }

    fn last_with_buttons(&self, chat_id: i64) -> Option<Standing> {
        self.service.chat(chat_id).into_iter().next_back().filter(|last| !last.keyboard.is_empty())
    }

    async fn order(&mut self, who: i64, crop: &'static str, grams: i64) -> Result<(), Broken> {
        let kilograms = format!("{}.{}", grams / 1000, grams % 1000 / 100);
        let is_oyster = crop == "oyster";
        let text = match who {
            2011 | 2002 => format!("{kilograms} kg de {} para el jueves", if is_oyster { "ostra" } else { crop }),
            2013 => format!("{kilograms} kg {} na czwartek", if is_oyster { "boczniaka" } else { crop }),
            _ => format!("{kilograms} kg {crop} for Thursday"),
        };
        self.memories.forget_orders_of(who);
        if !self.say(who, &text).await? {
            return Ok(());
        }
        let Some(asked) = self.last_with_buttons(who) else { return Ok(()) };
        let mut tx = self.engine.store.without_faults().begin_reading().await.map_err(failed)?;
        let person = people::by_chat(&mut tx, who).await.map_err(failed)?;
        drop(tx);
        let Some((person, buyer_id)) = person.and_then(|person| Some((person.clone(), person.buyer_id?))) else {
            return Ok(());
        };
        let desk = invariants::desk(&self.engine).await?;
        let voice = desk.voice(&person);
        drop(desk);
        let first = asked.keyboard.first().and_then(|row| row.first()).cloned();
        let Some(yes) = first else { return Ok(()) };
        // Two texts may have arrived in the other order; whoever reads the card sees what it says back.
        let mut tx = self.engine.store.without_faults().begin_reading().await.map_err(failed)?;
        let button = buttons::find(&mut tx, who, &yes.token).await.map_err(failed)?;
        drop(tx);
        let intent: serde_json::Value =
            button.and_then(|button| serde_json::from_str(&button.intent).ok()).unwrap_or_default();
        let is_read_back = intent["ordering"]["place"]["lines"] == serde_json::json!([[crop, grams]]);
        let is_plain = is_read_back && yes.label == voice.plain("order-button-right", &Args::new());
        if !self.press((who, who), &yes.token).await? {
            return Ok(());
        }
        let answer = self.service.text(who, i64::from(asked.message_id)).unwrap_or_default();
        if is_plain && answer.starts_with(&voice.say("order-done", &Args::new())) {
            let mut tx = self.engine.store.without_faults().begin_reading().await.map_err(failed)?;
            let today = self.clock.now().local_date(self.engine.house.zone());
            let lines = orders::one_off_of_buyer(&mut tx, buyer_id, today).await.map_err(failed)?;
            let line = lines.iter().find(|line| line.crop == crop && line.grams == Grams::new(grams));
            let Some(line) = line else {
                return Err(format!(
                    "{who} was told {answer:?}, but {grams} g of {crop} are not in the store: {lines:?}"
                ));
            };
            self.counts.orders += 1;
            self.memories.acknowledged(who, line.clone());
        }
        Ok(())
    }

    /// So many strangers write, and then somebody who has joined, who reads the answer before they do.
    async fn strangers(&mut self, count: i64, who: i64) -> Result<(), Broken> {
        self.counts.mishaps.note(Mishap::Strangers);
        self.stop_faults();
        self.pump().await?;
        let mut tx = self.engine.store.without_faults().begin_reading().await.map_err(failed)?;
        let is_free = outbox::waiting_due(&mut tx).await.map_err(failed)?.is_none();
        drop(tx);
        self.service.take_tried();
        for _ in 0..count {
            let account = STRANGERS + self.next_update_id;
            let account = Account { chat_id: account, first_name: "Kim".into(), language_code: None };
            let what = What::Said("hello".into());
            self.queue.push_back(Incoming { update_id: self.next_update_id, chat_id: account.chat_id, account, what });
            self.next_update_id += 1;
        }
        let account = Account { chat_id: who, first_name: "Sam".into(), language_code: None };
        let what = What::Said("/help".into());
        self.queue.push_back(Incoming { update_id: self.next_update_id, chat_id: who, account, what });
        self.next_update_id += 1;
        self.pump().await?;
        let tried = self.service.take_tried();
        let place = tried.iter().position(|chat_id| *chat_id == who);
        let before = tried.iter().take(place.unwrap_or_default()).filter(|chat_id| **chat_id >= STRANGERS).count();
        if is_free && before > 0 {
            return Err(format!("{before} strangers were answered before {who}, who has joined"));
        }
        Ok(())
    }

    /// Presses "+" of the order card again and again, faster than the card can follow: each press counts.
    async fn press_quickly(&mut self, who: i64, times: u32, gap_ms: u64) -> Result<(), Broken> {
        self.memories.forget_orders_of(who);
        if !self.say(who, "/order").await? {
            return Ok(());
        }
        let Some(card) = self.last_with_buttons(who) else { return Ok(()) };
        let is_more = |label: &str| label.starts_with("+ ");
        let Some(first) = card.keyboard.iter().flatten().find(|key| is_more(&key.label)).cloned() else {
            return Ok(());
        };
        let Some((crop, before, _)) = self.step_of(who, &first.token).await? else { return Ok(()) };
        let mut pressed = Vec::new();
        for _ in 0..times {
            let shown = self.service.chat(who).into_iter().find(|one| one.message_id == card.message_id);
            let keys = shown.iter().filter(|one| !one.is_deleted).flat_map(|one| one.keyboard.iter().flatten());
            let Some(key) = keys.into_iter().find(|key| key.label == first.label).cloned() else { break };
            self.note(format!("{who} quickly presses {:?}", key.label));
            let callback_id = self.next_update_id.to_string();
            self.put((who, who), What::Pressed { callback_id, token: key.token.clone() });
            pressed.push(key.token);
            self.turn().await?;
            self.clock.advance(Duration::from_millis(gap_ms));
        }
        self.queue.extend(self.overtaken.take());
        self.pump().await?;
        let mut tx = self.engine.store.without_faults().begin_reading().await.map_err(failed)?;
        let person = people::by_chat(&mut tx, who).await.map_err(failed)?;
        drop(tx);
        let Some(person) = person else { return Ok(()) };
        let pack = self.engine.house.crops.get(&crop).map_or(Grams::new(1), |crop| crop.pack_step);
        let expected = pressed.iter().fold(before, |weight, _| weights::more(weight, person.units, pack));
        // The card shows what is stored, once everything has gone out.
        let Some(shown) = self.service.chat(who).into_iter().find(|one| one.message_id == card.message_id) else {
            return Ok(());
        };
        let Some(last) = shown.keyboard.iter().flatten().find(|key| key.label == first.label).cloned() else {
            return Ok(());
        };
        let Some((_, after, is_live)) = self.step_of(who, &last.token).await? else { return Ok(()) };
        if !is_live || shown.is_deleted {
            return Ok(());
        }
        self.counts.quick_presses += 1;
        if after != expected {
            let count = pressed.len();
            return Err(format!(
                "{who} pressed \"+\" {count} times {gap_ms} ms apart from {before:?}: {after:?} are ordered, not {expected:?}"
            ));
        }
        Ok(())
    }

    /// What a button of the order card steps from, of which crop, and whether it still works.
    async fn step_of(&mut self, who: i64, token: &str) -> Result<Option<(String, Grams, bool)>, Broken> {
        let mut tx = self.engine.store.without_faults().begin_reading().await.map_err(failed)?;
        let button = buttons::find(&mut tx, who, token).await.map_err(failed)?;
        drop(tx);
        let Some(button) = button else { return Ok(None) };
        Ok(match serde_json::from_str(&button.intent) {
            Ok(Intent::Ordering(ordering::Ask::Step { crop, seen, .. })) => Some((crop, seen, !button.is_void)),
            _ => None,
        })
    }

    async fn do_deed(&mut self, deed: Deed) -> Result<(), Broken> {
        match deed {
            Deed::Say(who, text) => {
                self.memories.forget_orders_of(who);
                self.say(who, &text).await?;
                Ok(())
            }
            Deed::SayAndAgree(who, text) => {
                self.memories.forget_orders_of(who);
                self.say(who, &text).await?;
                match self.last_with_buttons(who) {
                    Some(_) => self.press_something((who, who), 90).await,
                    None => Ok(()),
                }
            }
            Deed::Order(who, crop, grams) => self.order(who, crop, grams).await,
            Deed::PressNamed(who, beginning) => self.press_named(who, beginning).await,
            Deed::PressQuickly(who, times, gap_ms) => self.press_quickly(who, times, gap_ms).await,
            Deed::Press(who, percent) => self.press_something((who, who), percent).await,
            Deed::PressInGroup(who, percent) => self.press_something((self.group, who), percent).await,
            Deed::Batch(crop) => {
                self.say(GROWER, "/batch").await?;
                let asked = self.last_with_buttons(GROWER);
                let keys = asked.iter().flat_map(|asked| asked.keyboard.iter().flatten());
                let key = keys.clone().find(|key| key.label.contains(crop)).cloned();
                let Some(key) = key else { return Ok(()) };
                self.press((GROWER, GROWER), &key.token).await?;
                let (units, weight) = if crop == "shiitake" { ("40", "900 g") } else { ("20", "2.7 kg") };
                for answer in [units, weight, "cool room"] {
                    self.say(GROWER, answer).await?;
                }
                Ok(())
            }
            Deed::Block(who) => {
                self.service.block(who, true);
                self.memories.blocked(who);
                if self.chance.one_in(2) {
                    self.put((who, who), What::Unreachable);
                }
                self.pump().await
            }
            Deed::Return(who) => {
                self.service.block(who, false);
                self.say(who, "/help").await?;
                Ok(())
            }
            Deed::DeleteMessage(who) => {
                self.service.delete_one(who, &mut self.chance);
                Ok(())
            }
            Deed::Strangers(count, who) => self.strangers(count, who).await,
            Deed::Poison => {
                if self.has_faults {
                    self.poison().await?;
                }
                self.pump().await
            }
            Deed::MigrateGroup => {
                if self.group == GROUP {
                    self.service.migrate(GROUP, SUPERGROUP);
                    self.group = SUPERGROUP;
                    if self.chance.one_in(2) {
                        self.put((GROUP, GROWER), What::GroupMoved { to: SUPERGROUP });
                    }
                }
                self.pump().await
            }
        }
    }
}

async fn open(url: &str, machine: &Arc<Machine>, disk: &Arc<Disk>) -> Result<Arc<Engine>, Broken> {
    let disk: Arc<dyn scheduler::store::fault::Faults> = Arc::<Disk>::clone(disk);
    let store = Store::open(url).await.map_err(failed)?.as_copy(setting::COPY).with_faults(disk);
    let machine: Arc<dyn Clock> = Arc::<Machine>::clone(machine);
    let clock: Arc<dyn Clock> = Arc::new(CheckedClock::new(machine));
    Ok(Arc::new(Engine::new(setting::house(), store, clock)))
}

fn sender_of(service: &Memory, engine: &Arc<Engine>) -> Sender<Memory> {
    Sender::new(service.clone(), Arc::clone(engine), Pace::published().one_by_one())
}

/// Somebody starts the program although it runs: it must not be let in.
async fn start_once_more(service: Memory, url: String, clock: Arc<HandClock>) -> Result<(), Broken> {
    let Ok(_alone) = Alone::take(&url).await else { return Ok(()) };
    service.allow_faults(0);
    let store = Store::open(&url).await.map_err(failed)?.as_copy(setting::COPY + 1);
    let engine = Arc::new(Engine::new(setting::house(), store, clock));
    send::release(&engine).await.map_err(failed)?;
    sender_of(&service, &engine).round().await.map_err(failed)?;
    engine.store.close().await;
    Ok(())
}

/// Chats that became others.
pub(crate) fn moved() -> BTreeMap<i64, i64> {
    BTreeMap::from([(GROUP, SUPERGROUP)])
}
