//! A stage: the bot of production, its database, the local Bot API server and a clock moved by hand, in one process.
//! Tests and the demo speak to the bot through it as people would, and wait for it without sleeping.

use crate::config::Config;
use crate::conversation::joining;
use crate::engine::Engine;
use crate::house::House;
use crate::telegram::pace::Pace;
use crate::telegram::{connect, introduce, poll, send, webhook};
use crate::wording::Wording;
use anyhow::{Context, bail};
use bot_api_local::{ActError, ChatMessage, PaceLimits, Pressed, RehearsalConfig, RehearsalServer};
use scheduler::clock::{Clock, HandClock, LocalDate, UtcSeconds, instant_at};
use scheduler::store::{Store, outbox, settings};
use std::sync::Arc;
use std::time::Duration;
use teloxide::requests::Requester;
use tokio::net::TcpListener;
use tokio::sync::watch;
use tokio::task::JoinHandle;

/// How long the bot may take, in real time, before a stage says that it hangs.
const PATIENCE: Duration = Duration::from_secs(60);

/// How a stage differs from the plainest one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Manner {
    /// The service and the bot keep the published pace, by the stage's clock: [`Stage::settle`] moves it as far as that takes.
    pub has_pace: bool,
    /// Updates are posted instead of asked for.
    pub is_posted_to: bool,
}

/// How long the sender may take, in real time, to say what it waits for.
const LOOK_PATIENCE: Duration = Duration::from_millis(5);

/// Where a bot plays.
pub struct Stage {
    pub server: RehearsalServer,
    pub engine: Arc<Engine>,
    database: String,
    clock: Arc<HandClock>,
    manner: Manner,
    /// `None` while the bot is stopped.
    bot: Option<Running>,
    _folder: Option<tempfile::TempDir>,
}

/// The bot's tasks.
struct Running {
    stopper: watch::Sender<bool>,
    tasks: Vec<JoinHandle<()>>,
}

/// A person on the stage: their account, which is also their private chat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Actor(pub i64);

impl Stage {
    /// Sets up a farm with this configuration in a database of its own, at `start`.
    ///
    /// # Errors
    /// Whatever keeps the database, the server or the bot from starting.
    pub async fn set(config: Config, start: UtcSeconds) -> anyhow::Result<Stage> {
        let folder = tempfile::tempdir()?;
        let url = format!("sqlite://{}", folder.path().join("stage.sqlite").display());
        let mut stage = Stage::set_on(config, start, &url).await?;
        stage._folder = Some(folder);
        Ok(stage)
    }

    /// The same in a manner of its own.
    ///
    /// # Errors
    /// Whatever keeps the database, the server or the bot from starting.
    pub async fn set_in(config: Config, start: UtcSeconds, manner: Manner) -> anyhow::Result<Stage> {
        let folder = tempfile::tempdir()?;
        let url = format!("sqlite://{}", folder.path().join("stage.sqlite").display());
        let mut stage = Stage::build_in(Wording::embedded()?, config, (start, &url), manner).await?;
        stage.run().await?;
        stage._folder = Some(folder);
        Ok(stage)
    }

    /// The same on a database of the caller's.
    ///
    /// # Errors
    /// Whatever keeps the database, the server or the bot from starting.
    pub async fn set_on(config: Config, start: UtcSeconds, database: &str) -> anyhow::Result<Stage> {
        let mut stage = Stage::build(config, start, database).await?;
        stage.run().await?;
        Ok(stage)
    }

    /// The same with the bot still stopped, so that people can be there before it acts; [`Stage::run`] starts it.
    ///
    /// # Errors
    /// Whatever keeps the database or the server from starting.
    pub async fn build(config: Config, start: UtcSeconds, database: &str) -> anyhow::Result<Stage> {
        Stage::build_speaking(Wording::embedded()?, config, start, database).await
    }

    /// The same in other words than those built into the program.
    ///
    /// # Errors
    /// As [`Stage::build`].
    pub async fn build_speaking(
        wording: Wording,
        config: Config,
        start: UtcSeconds,
        database: &str,
    ) -> anyhow::Result<Stage> {
        Stage::build_in(wording, config, (start, database), Manner::default()).await
    }

    async fn build_in(
        wording: Wording,
        config: Config,
        (start, database): (UtcSeconds, &str),
        manner: Manner,
    ) -> anyhow::Result<Stage> {
        let clock = Arc::new(HandClock::at(start));
        let as_clock: Arc<dyn Clock> = Arc::<HandClock>::clone(&clock);
        let pace = manner.has_pace.then_some(PaceLimits::PUBLISHED);
        let server = RehearsalConfig { clock: Arc::clone(&as_clock), pace, ..RehearsalConfig::default() };
        let server = RehearsalServer::start(server).await?;
        let house = House::new(config, wording).at_once();
        let engine = Arc::new(Engine::new(house, Store::open(database).await?, as_clock));
        Ok(Stage { server, engine, database: database.to_owned(), clock, manner, bot: None, _folder: None })
    }

    /// Starts the bot.
    ///
    /// # Errors
    /// Whatever keeps it from starting.
    pub async fn run(&mut self) -> anyhow::Result<()> {
        let bot = connect::bot(self.server.token(), Some(self.server.api_url().as_str()))?;
        let name = bot.get_me().await?.username().to_owned();
        introduce::introduce(&bot, &self.engine.house).await;
        let mut tx = self.engine.store.begin().await?;
        settings::put(&mut tx, joining::BOT_NAME, &name).await?;
        tx.commit().await?;
        self.engine.do_due().await?;
        let (stopper, stop) = watch::channel(false);
        let pace = if self.manner.has_pace { Pace::published().one_by_one() } else { Pace::off() };
        let sender = tokio::spawn(send::run(bot.clone(), Arc::clone(&self.engine), stop.clone(), pace));
        let taker = Arc::clone(&self.engine);
        let listener = match self.manner.is_posted_to {
            true => Some(TcpListener::bind("127.0.0.1:0").await?),
            false => None,
        };
        let poller = tokio::spawn(async move {
            let ended = match listener {
                Some(listener) => posted(&bot, listener, taker, stop).await,
                None => poll::run(bot, taker, stop).await.map_err(anyhow::Error::from),
            };
            if let Err(error) = ended {
                tracing::error!(%error, "taking updates ended");
            }
        });
        self.bot = Some(Running { stopper, tasks: vec![sender, poller] });
        Ok(())
    }

    /// Stops the bot and closes its database; people and the service go on.
    async fn halt(&mut self) {
        let Some(running) = self.bot.take() else { return };
        running.stopper.send_replace(true);
        for task in running.tasks {
            // A task that panicked has said so already.
            let _ = task.await;
        }
        self.engine.store.close().await;
    }

    /// Stops the bot and starts it again on the same database, as for an update of the program.
    ///
    /// # Errors
    /// Whatever keeps it from starting again.
    pub async fn restart(&mut self) -> anyhow::Result<()> {
        self.restart_at(self.now()).await
    }

    /// Stops the bot and starts it again at `then`: what fell due in between is found late.
    ///
    /// # Errors
    /// Whatever keeps it from starting again.
    pub async fn restart_at(&mut self, then: UtcSeconds) -> anyhow::Result<()> {
        self.halt().await;
        self.clock.set(then);
        let before = &self.engine.house;
        let mut house = House::new(Arc::clone(&before.config), Arc::clone(&before.wording));
        house.gather_seconds = before.gather_seconds;
        house.most_a_minute = before.most_a_minute;
        let clock: Arc<dyn Clock> = Arc::<HandClock>::clone(&self.clock);
        self.engine = Arc::new(Engine::new(house, Store::open(&self.database).await?, clock));
        self.run().await
    }

    /// The database's URL.
    pub fn database(&self) -> &str {
        &self.database
    }

    /// Now, on the stage's clock.
    pub fn now(&self) -> UtcSeconds {
        self.clock.now()
    }

    /// The instant of a wall-clock reading such as "2026-06-04 18:00" in the farm's zone.
    ///
    /// # Panics
    /// When the reading is not one.
    pub fn at(&self, reading: &str) -> UtcSeconds {
        let (day, time) = reading.split_once(' ').expect("a day and a time");
        let day: LocalDate = day.parse().expect("a day");
        instant_at(day, time.parse().expect("a time"), self.engine.house.zone())
    }

    /// Makes a person known to the messaging service.
    pub fn enter(&self, account: i64, first_name: &str, language: &str) -> Actor {
        self.server.add_user(account, first_name, Some(language));
        Actor(account)
    }

    /// A claim code for the keeper.
    ///
    /// # Errors
    /// When there is a keeper already, or the store fails.
    pub async fn claim_code(&self) -> anyhow::Result<String> {
        let mut tx = self.engine.store.begin().await?;
        let code = joining::claim_code(&mut tx, self.now(), 7).await?.context("the farm has a keeper already")?;
        tx.commit().await?;
        Ok(code)
    }

    /// Says something in the person's private chat and waits until the bot has answered; its new messages there.
    ///
    /// # Errors
    /// When the service does not let the person, or the bot hangs.
    pub async fn say(&self, actor: Actor, text: &str) -> anyhow::Result<Vec<ChatMessage>> {
        self.say_in(actor.0, actor, text).await
    }

    /// Says something in a group.
    ///
    /// # Errors
    /// As [`Stage::say`].
    pub async fn say_in(&self, chat_id: i64, actor: Actor, text: &str) -> anyhow::Result<Vec<ChatMessage>> {
        let before = self.last_message_id(chat_id);
        self.server.say(chat_id, actor.0, text)?;
        self.settle().await?;
        Ok(self.after(chat_id, before))
    }

    /// Opens the bot by an invitation link.
    ///
    /// # Errors
    /// As [`Stage::say`].
    pub async fn start(&self, actor: Actor, code: &str) -> anyhow::Result<Vec<ChatMessage>> {
        let before = self.last_message_id(actor.0);
        self.server.send_start(actor.0, code)?;
        self.settle().await?;
        Ok(self.after(actor.0, before))
    }

    /// Presses the newest button with this label in the person's private chat and waits until the bot has answered.
    ///
    /// # Errors
    /// When there is no such button, or the bot hangs.
    pub async fn press(&self, actor: Actor, label: &str) -> anyhow::Result<()> {
        self.press_in(actor.0, actor, label).await
    }

    /// Presses the newest button whose label begins so: for labels that hold a weight or a day.
    ///
    /// # Errors
    /// As [`Stage::press`].
    pub async fn press_first(&self, actor: Actor, beginning: &str) -> anyhow::Result<()> {
        let label = self.label(actor, beginning)?;
        self.press(actor, &label).await
    }

    /// The newest button in somebody's chat whose label begins so.
    ///
    /// # Errors
    /// When there is none.
    pub fn label(&self, actor: Actor, beginning: &str) -> anyhow::Result<String> {
        let messages = self.server.chat(actor.0);
        let buttons = messages.iter().rev().flat_map(|message| message.keyboard.iter().flatten());
        let label = buttons.map(|button| &button.text).find(|label| label.starts_with(beginning));
        label.cloned().with_context(|| {
            let seen: Vec<_> = messages.iter().map(|message| (&message.text, message.labels())).collect();
            format!("no button begins with {beginning:?} in {seen:?}")
        })
    }

    /// Presses a button in a group.
    ///
    /// # Errors
    /// As [`Stage::press`].
    pub async fn press_in(&self, chat_id: i64, actor: Actor, label: &str) -> anyhow::Result<()> {
        self.press_now(chat_id, actor, label)?;
        self.settle().await
    }

    /// Presses without waiting for the bot.
    ///
    /// # Errors
    /// When there is no such button.
    pub fn press_now(&self, chat_id: i64, actor: Actor, label: &str) -> anyhow::Result<()> {
        let messages = self.server.chat(chat_id);
        for message in messages.iter().rev().filter(|message| !message.is_deleted) {
            match self.server.press(chat_id, actor.0, message.message_id, Pressed::Label(label)) {
                Ok(_) => return Ok(()),
                Err(ActError::NoButton(..)) => {}
                Err(error) => return Err(error.into()),
            }
        }
        let seen: Vec<Vec<Vec<&str>>> = messages.iter().map(ChatMessage::labels).collect();
        bail!("no button {label:?} in chat {chat_id}; there are {seen:?}")
    }

    /// The last message of the person's private chat.
    pub fn last(&self, actor: Actor) -> ChatMessage {
        self.server.chat(actor.0).pop().expect("somebody has written in this chat")
    }

    /// Everything that stands in a chat now, as one text.
    pub fn read(&self, chat_id: i64) -> String {
        self.server.chat(chat_id).iter().map(|message| message.text.clone() + "\n").collect()
    }

    fn last_message_id(&self, chat_id: i64) -> i64 {
        self.server.chat(chat_id).last().map_or(0, |message| message.message_id)
    }

    fn after(&self, chat_id: i64, before: i64) -> Vec<ChatMessage> {
        let messages = self.server.chat(chat_id).into_iter();
        messages.filter(|message| message.message_id > before && message.from_bot()).collect()
    }

    /// Waits until every update is acted on, nothing is due, and every message that may go out has gone.
    ///
    /// # Errors
    /// When the bot hangs, or has sent something beyond the published limits (Bot API reference): whatever plays on a
    /// stage checks that of every message it provokes.
    pub async fn settle(&self) -> anyhow::Result<()> {
        tokio::time::timeout(PATIENCE, self.settled()).await.context("the bot hangs")??;
        match self.server.broken_limit() {
            Some(call) => bail!("{} was refused: {:?} for {}", call.method, call.answer, call.params),
            None => Ok(()),
        }
    }

    async fn settled(&self) -> anyhow::Result<()> {
        let mut changed = self.server.changed();
        loop {
            changed.mark_unchanged();
            self.server.wait_confirmed().await;
            if self.engine.do_due().await? > 0 {
                continue;
            }
            let mut tx = self.engine.store.begin_reading().await?;
            let waits = outbox::next_due(&mut tx).await?.is_some_and(|due| due <= self.now());
            drop(tx);
            if !waits && self.server.is_confirmed() {
                return Ok(());
            }
            self.engine.outbox_filled.notify_one();
            if self.server.is_confirmed() {
                self.wait_for_pace().await;
            }
            // Every call of the bot is a change; the last mark after the last call is not, hence the short limit.
            let _ = tokio::time::timeout(Duration::from_millis(2), changed.changed()).await;
        }
    }

    /// Moves the clock as far as the pace keeps everything back, if it does.
    async fn wait_for_pace(&self) {
        if let Some(at) = self.paced_until().await {
            self.clock.advance(at.saturating_sub(self.clock.elapsed()));
        }
    }

    /// Until when everything that waits to be sent waits for the pace; `None` where something is on its way, or nothing waits.
    async fn paced_until(&self) -> Option<Duration> {
        if !self.manner.has_pace {
            return None;
        }
        let mut looks = self.engine.paced_until.subscribe();
        let mut until = None;
        // What the sender said while it was told may be older than what it was told of.
        for _ in 0..2 {
            looks.mark_unchanged();
            self.engine.outbox_filled.notify_one();
            let _ = tokio::time::timeout(LOOK_PATIENCE, looks.changed()).await;
            until = *looks.borrow_and_update();
        }
        until.filter(|at| *at > self.clock.elapsed())
    }

    /// Lets time pass, with the bot acting meanwhile as far as the pace lets it; what waits for its turn then goes on waiting.
    ///
    /// # Errors
    /// When the bot hangs or the store fails.
    pub async fn pass(&self, by: Duration) -> anyhow::Result<()> {
        let until = self.clock.elapsed() + by;
        loop {
            let paced_until = tokio::time::timeout(PATIENCE, self.calm()).await.context("the bot hangs")??;
            match paced_until.filter(|at| *at < until) {
                Some(at) => self.clock.advance(at.saturating_sub(self.clock.elapsed())),
                None => break,
            }
        }
        self.clock.advance(until.saturating_sub(self.clock.elapsed()));
        tokio::time::timeout(PATIENCE, self.calm()).await.context("the bot hangs")??;
        Ok(())
    }

    /// Waits until the bot can do nothing before the clock moves; until when the pace keeps it back.
    async fn calm(&self) -> anyhow::Result<Option<Duration>> {
        loop {
            self.server.wait_confirmed().await;
            if self.engine.do_due().await? > 0 {
                continue;
            }
            let mut tx = self.engine.store.begin_reading().await?;
            let waits = outbox::next_due(&mut tx).await?.is_some_and(|due| due <= self.now());
            drop(tx);
            if !waits {
                return Ok(None);
            }
            let paced_until = self.paced_until().await;
            if paced_until.is_some() && self.server.is_confirmed() {
                return Ok(paced_until);
            }
            tokio::time::sleep(LOOK_PATIENCE).await;
        }
    }

    /// Moves the clock on to `then`, stopping at everything that falls due on the way.
    ///
    /// # Errors
    /// When the bot hangs or the store fails.
    pub async fn move_to(&self, then: UtcSeconds) -> anyhow::Result<()> {
        self.settle().await?;
        while let Some(next) = self.next_event().await?.filter(|next| *next <= then) {
            self.clock.set(next.max(self.now()));
            self.settle().await?;
        }
        // The pace may have moved it further.
        self.clock.set(if self.manner.has_pace { then.max(self.now()) } else { then });
        self.settle().await
    }

    /// When the next thing happens by itself.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn next_event(&self) -> anyhow::Result<Option<UtcSeconds>> {
        let due = self.engine.next_due().await?;
        let mut tx = self.engine.store.begin_reading().await?;
        let sent = outbox::next_due(&mut tx).await?;
        Ok(due.into_iter().chain(sent).min())
    }

    /// Ends the play.
    pub async fn close(mut self) {
        self.halt().await;
        self.server.shutdown().await;
    }
}

/// Takes updates that the server posts.
async fn posted(
    bot: &teloxide::Bot,
    listener: TcpListener,
    engine: Arc<Engine>,
    stop: watch::Receiver<bool>,
) -> anyhow::Result<()> {
    let url = format!("http://{}/updates", listener.local_addr()?).parse()?;
    webhook::run(bot, url, listener, engine, stop).await
}
