//! The program in a process of its own, which a test may kill at any call it makes.

use anyhow::{Context, bail};
use bot_api_local::{ActError, ChatMessage, Fault, Phase, Pressed, RehearsalConfig, RehearsalServer};
use pinset::config::{Config, SAMPLE};
use scheduler::clock::{Clock, HandClock, UtcSeconds};
use scheduler::store::{Store, occurrences, outbox};
use scheduler::timetable::due_between;
use std::path::PathBuf;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

/// How long the program may take, in real time, before a test says that it hangs.
const PATIENCE: Duration = Duration::from_secs(60);

/// When the program is killed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kills {
    Never,
    /// Once at every call it makes, before the service has acted.
    BeforeEachCall,
    /// Once at every call it makes, after the service has acted and before it has answered.
    AfterEachCall,
}

/// What the hook inside the server and the test share.
struct Victim {
    child: Option<Child>,
    kills: u32,
    kills_at_sends: u32,
    /// Somebody has said something: the poll that brings it is killed once its answer is made.
    is_poll_due: bool,
    /// The call that was killed comes again after the restart and is let through once.
    is_spared: bool,
}

/// How the program is started.
#[derive(Clone, Copy, Debug)]
pub struct Manner<'a> {
    pub kills: Kills,
    /// The text of its configuration file.
    pub config: &'a str,
    /// How much it logs, as in `RUST_LOG`.
    pub log: &'static str,
    /// URL of a database that is there already, in place of a new one.
    pub database: Option<&'a str>,
    /// Whether a write beyond the limit of a file's size fails, in place of ending the program.
    pub survives_file_limit: bool,
}

impl Default for Manner<'_> {
    fn default() -> Self {
        Manner { kills: Kills::Never, config: SAMPLE, log: "warn", database: None, survives_file_limit: false }
    }
}

/// The program, its database, the local server and a clock in a file.
pub struct Serving {
    pub server: RehearsalServer,
    program: PathBuf,
    folder: tempfile::TempDir,
    /// URL of its database.
    database: String,
    clock: Arc<HandClock>,
    victim: Arc<Mutex<Victim>>,
    /// Calls it has begun.
    calls: Arc<AtomicU64>,
    store: Store,
    log: &'static str,
    survives_file_limit: bool,
}

fn lock(victim: &Mutex<Victim>) -> std::sync::MutexGuard<'_, Victim> {
    victim.lock().expect("no test thread panics while it holds this")
}

impl Serving {
    /// Starts `program` at `start` on the sample configuration.
    ///
    /// # Errors
    /// When something cannot be started.
    pub async fn start(program: &str, start: UtcSeconds, kills: Kills) -> anyhow::Result<Serving> {
        Serving::start_in(program, start, Manner { kills, ..Manner::default() }).await
    }

    /// Starts it in another manner; the timetable and the farm must be those of the sample.
    ///
    /// # Errors
    /// When something cannot be started.
    pub async fn start_in(program: &str, start: UtcSeconds, manner: Manner<'_>) -> anyhow::Result<Serving> {
        let Manner { kills, config, log, database, survives_file_limit } = manner;
        let folder = tempfile::tempdir()?;
        let own = format!("sqlite://{}", folder.path().join("farm.sqlite").display());
        let database = database.map_or(own, str::to_owned);
        std::fs::write(folder.path().join("pinset.toml"), config)?;
        let clock = Arc::new(HandClock::at(start));
        let victim = Arc::new(Mutex::new(Victim {
            child: None,
            kills: 0,
            kills_at_sends: 0,
            is_poll_due: false,
            is_spared: false,
        }));
        let hooked = Arc::clone(&victim);
        let calls = Arc::new(AtomicU64::new(0));
        let counted = Arc::clone(&calls);
        let as_clock: Arc<dyn Clock> = Arc::<HandClock>::clone(&clock);
        let config = RehearsalConfig {
            clock: as_clock,
            on_call: Some(Arc::new(move |_, method, phase| {
                counted.fetch_add(1, Ordering::SeqCst);
                strike(&hooked, kills, method, phase)
            })),
            ..RehearsalConfig::default()
        };
        let server = RehearsalServer::start(config).await?;
        let store = Store::open(&database).await?;
        let program = program.into();
        let serving =
            Serving { server, program, folder, database, clock, victim, calls, store, log, survives_file_limit };
        serving.write_clock()?;
        serving.spawn()?;
        Ok(serving)
    }

    fn write_clock(&self) -> anyhow::Result<()> {
        // Renamed into place, so that the program never reads half a number.
        let (new, file) = (self.folder.path().join("clock.new"), self.folder.path().join("clock"));
        std::fs::write(&new, self.clock.now().get().to_string())?;
        Ok(std::fs::rename(new, file)?)
    }

    /// The URL of its database.
    pub fn database(&self) -> &str {
        &self.database
    }

    /// Starts the program; it must not be running.
    ///
    /// # Errors
    /// When it cannot be started.
    pub fn spawn(&self) -> anyhow::Result<()> {
        let at = |name: &str| self.folder.path().join(name);
        let log = std::fs::File::options().create(true).append(true).open(at("log"))?;
        let mut command = match self.survives_file_limit {
            // A signal that is ignored stays so in what takes the shell's place.
            true => {
                let mut shell = Command::new("sh");
                shell.args(["-c", "trap '' XFSZ; exec \"$0\" \"$@\""]).arg(&self.program);
                shell
            }
            false => Command::new(&self.program),
        };
        let child = command
            .args(["serve", "--api-url", self.server.api_url().as_str(), "--database", &self.database])
            .arg("--config")
            .arg(at("pinset.toml"))
            .arg("--clock-file")
            .arg(at("clock"))
            .env("PINSET_TOKEN", self.server.token())
            .env("RUST_LOG", self.log)
            .stdin(Stdio::null())
            .stdout(log.try_clone()?)
            .stderr(log)
            .spawn()
            .context("the program does not start")?;
        lock(&self.victim).child = Some(child);
        Ok(())
    }

    /// Kills the program at this very moment.
    ///
    /// # Errors
    /// When it has ended by itself.
    pub fn kill(&self) -> anyhow::Result<()> {
        let mut victim = lock(&self.victim);
        let child = victim.child.as_mut().context("it is running")?;
        if let Some(status) = child.try_wait()? {
            bail!("the program has ended by itself: {status}; it printed:\n{}", self.log());
        }
        kill(child);
        victim.kills += 1;
        Ok(())
    }

    /// Waits until the program ends by itself; with what.
    ///
    /// # Errors
    /// When it does not.
    pub async fn ends(&self) -> anyhow::Result<ExitStatus> {
        let ended = async {
            loop {
                if let Some(status) = lock(&self.victim).child.as_mut().context("it is running")?.try_wait()? {
                    return anyhow::Ok(status);
                }
                // The program is another process: only looking again tells.
                tokio::time::sleep(Duration::from_millis(3)).await;
            }
        };
        let ended = tokio::time::timeout(PATIENCE, ended).await;
        ended.with_context(|| format!("the program does not end; it printed:\n{}", self.log()))?
    }

    /// Asks the program to stop, as whoever keeps it running does, and waits until it has.
    ///
    /// # Errors
    /// When it does not, or not well.
    pub async fn stop_cleanly(&self) -> anyhow::Result<()> {
        rustix::process::kill_process(self.process()?, rustix::process::Signal::TERM)?;
        let status = self.ends().await?;
        anyhow::ensure!(status.success(), "it ended with {status}; it printed:\n{}", self.log());
        Ok(())
    }

    /// The running program's number.
    ///
    /// # Errors
    /// When it does not run.
    pub fn process(&self) -> anyhow::Result<rustix::process::Pid> {
        let victim = lock(&self.victim);
        Ok(rustix::process::Pid::from_child(victim.child.as_ref().context("it is running")?))
    }

    /// The database's file.
    pub fn file(&self) -> PathBuf {
        self.folder.path().join("farm.sqlite")
    }

    /// Begun and ended calls since the start.
    pub fn calls(&self) -> u64 {
        self.calls.load(Ordering::SeqCst)
    }

    /// How often the program was killed.
    pub fn kills(&self) -> u32 {
        lock(&self.victim).kills
    }

    /// How often it was killed while a new message was in flight.
    pub fn kills_at_sends(&self) -> u32 {
        lock(&self.victim).kills_at_sends
    }

    /// How many new messages the service took from it.
    pub fn sends(&self) -> u32 {
        let calls = self.server.calls();
        let sent = calls.iter().filter(|call| call.method.eq_ignore_ascii_case("sendMessage") && call.is_ok());
        u32::try_from(sent.count()).expect("a test sends few messages")
    }

    /// What the program printed, all runs together.
    pub fn log(&self) -> String {
        std::fs::read_to_string(self.folder.path().join("log")).unwrap_or_default()
    }

    /// Lets the first keeper in by the code that the program printed.
    ///
    /// # Errors
    /// As [`Serving::say`].
    ///
    /// # Panics
    /// When it printed none.
    pub async fn claim(&self, account: i64, first_name: &str) -> anyhow::Result<()> {
        self.settle().await?;
        self.server.add_user(account, first_name, Some("en"));
        let log = self.log();
        let (_, code) = log.rsplit_once("/start ").expect("the claim code is printed");
        let code = code.split_whitespace().next().expect("a code");
        self.say(account, &format!("/start {code}")).await
    }

    /// The store, read beside the running program.
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// Says something and waits until all is quiet again, however often the program has to be started.
    ///
    /// # Errors
    /// When the service does not let the person, or the program hangs.
    pub async fn say(&self, account: i64, text: &str) -> anyhow::Result<()> {
        lock(&self.victim).is_poll_due = true;
        self.server.say(account, account, text)?;
        self.settle().await
    }

    /// Presses the newest button with this label.
    ///
    /// # Errors
    /// When there is none, or the program hangs.
    pub async fn press(&self, account: i64, label: &str) -> anyhow::Result<()> {
        lock(&self.victim).is_poll_due = true;
        for message in self.server.chat(account).iter().rev() {
            match self.server.press(account, account, message.message_id, Pressed::Label(label)) {
                Ok(_) => return self.settle().await,
                Err(ActError::NoButton(..)) => {}
                Err(error) => return Err(error.into()),
            }
        }
        bail!("no button {label:?} for {account}: {:#?}", self.server.chat(account).last())
    }

    /// Presses the newest button whose label begins so.
    ///
    /// # Errors
    /// As [`Serving::press`].
    pub async fn press_first(&self, account: i64, beginning: &str) -> anyhow::Result<()> {
        let messages = self.server.chat(account);
        let buttons = messages.iter().rev().flat_map(|message| message.keyboard.iter().flatten());
        let label = buttons.map(|button| &button.text).find(|label| label.starts_with(beginning));
        let label = label.with_context(|| format!("no button begins with {beginning:?}"))?;
        self.press(account, label).await
    }

    /// Moves the clock on to `then`, stopping at everything that falls due on the way.
    ///
    /// # Errors
    /// When the program hangs.
    pub async fn move_to(&self, then: UtcSeconds) -> anyhow::Result<()> {
        let config = Config::parse(SAMPLE)?;
        let jobs = scheduler::farm::jobs::recurring(&config.rules, config.farm.zone);
        loop {
            let now = self.clock.now();
            let mut tx = self.store.begin_reading().await?;
            let planned = occurrences::next_due(&mut tx).await?;
            let sent = outbox::next_due(&mut tx).await?;
            drop(tx);
            let by_cron = jobs.iter().filter_map(|one| one.rhythm.next_after(now, config.farm.zone)).min();
            let next = planned.into_iter().chain(sent).chain(by_cron).min().filter(|next| *next < then);
            self.clock.set(next.unwrap_or(then).max(now));
            self.write_clock()?;
            self.settle().await?;
            if next.is_none() {
                return Ok(());
            }
        }
    }

    /// Waits until every update is acted on, nothing is due and nothing waits to be sent; restarts a killed program.
    ///
    /// # Errors
    /// When the program hangs.
    pub async fn settle(&self) -> anyhow::Result<()> {
        let quiet = async {
            loop {
                let is_dead = match lock(&self.victim).child.as_mut() {
                    Some(child) => child.try_wait()?.is_some(),
                    None => true,
                };
                if is_dead {
                    self.spawn()?;
                } else if self.server.is_confirmed() && self.is_store_quiet().await? {
                    return anyhow::Ok(());
                }
                // The program is another process: only looking again tells what it has committed.
                tokio::time::sleep(Duration::from_millis(3)).await;
            }
        };
        match tokio::time::timeout(PATIENCE, quiet).await {
            Ok(done) => done,
            Err(_) => bail!(
                "the program hangs after {} kills; its last calls were {:#?}; it printed:\n{}",
                self.kills(),
                self.server.calls().iter().rev().take(5).collect::<Vec<_>>(),
                self.log()
            ),
        }
    }

    async fn is_store_quiet(&self) -> anyhow::Result<bool> {
        let now = self.clock.now();
        let mut tx = self.store.begin_reading().await?;
        let config = Config::parse(SAMPLE)?;
        let jobs = scheduler::farm::jobs::recurring(&config.rules, config.farm.zone);
        let planned_until = pinset::engine::planned_until(&mut tx).await?;
        let is_planned = planned_until.is_some_and(|then| due_between(&jobs, then, now, config.farm.zone).is_empty());
        let occurs = occurrences::next_due(&mut tx).await?.is_some_and(|due| due <= now);
        let waits = outbox::next_due(&mut tx).await?.is_some_and(|due| due <= now);
        Ok(is_planned && !occurs && !waits)
    }

    /// What stands in a chat now: texts with their button labels.
    pub fn read(&self, account: i64) -> Vec<String> {
        self.server.chat(account).iter().map(transcript_line).collect()
    }

    /// Stops the program.
    ///
    /// # Errors
    /// When it cannot be stopped.
    pub async fn stop(self) -> anyhow::Result<()> {
        if let Some(mut child) = lock(&self.victim).child.take() {
            child.kill()?;
            child.wait()?;
        }
        self.store.close().await;
        self.server.shutdown().await;
        Ok(())
    }
}

fn kill(child: &mut Child) {
    // SIGKILL on Unix: nothing is finished, nothing is flushed.
    child.kill().expect("a child can be killed");
    child.wait().expect("a killed child ends");
}

fn transcript_line(message: &ChatMessage) -> String {
    let who = if message.from_bot() { "bot" } else { "person" };
    // Invitation codes are random; everything else must read the same in every run.
    let text = match message.text.split_once("?start=") {
        Some((before, _)) => format!("{before}?start=…"),
        None if message.text.starts_with("/start ") => "/start …".to_owned(),
        None => message.text.clone(),
    };
    format!("{who}: {text} {:?}", message.labels())
}

fn strike(victim: &Mutex<Victim>, kills: Kills, method: &str, phase: Phase) -> Option<Fault> {
    let strikes = match kills {
        Kills::Never => false,
        Kills::BeforeEachCall => phase == Phase::Before,
        Kills::AfterEachCall => phase == Phase::After,
    };
    let is = |name: &str| method.eq_ignore_ascii_case(name);
    // How the program introduces itself; it says all of it again at every start, and saying it twice changes nothing.
    let is_profile = ["Name", "Description", "ShortDescription", "Commands"]
        .iter()
        .any(|text| is(&format!("getMy{text}")) || is(&format!("setMy{text}")));
    if !strikes || is("getMe") || is_profile {
        return None;
    }
    let mut victim = lock(victim);
    if is("getUpdates") {
        // Most polls bring nothing; the one that brings something must be made again.
        if phase == Phase::Before || !std::mem::take(&mut victim.is_poll_due) {
            return None;
        }
    } else if std::mem::take(&mut victim.is_spared) {
        return None;
    } else {
        victim.is_spared = true;
        victim.kills_at_sends += u32::from(is("sendMessage"));
    }
    victim.kills += 1;
    if let Some(child) = victim.child.as_mut() {
        kill(child);
    }
    (kills == Kills::BeforeEachCall).then_some(Fault::CutBefore)
}
