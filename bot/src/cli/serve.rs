//! `pinset serve`: the bot itself, until a signal stops it.

use super::place::Place;
use super::{FarmOptions, ServeOptions, read_token, start_logging};
use crate::backups;
use crate::config::Config;
use crate::conversation::joining;
use crate::engine::Engine;
use crate::house::House;
use crate::telegram::pace::Pace;
use crate::telegram::{connect, fault, poll, send, webhook};
use crate::watch::{door, manager};
use crate::wording::Wording;
use anyhow::Context;
use scheduler::clock::{CheckedClock, Clock, SystemClock, UtcSeconds};
use scheduler::store::alone::Alone;
use scheduler::store::{self, Store, settings};
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};
use teloxide::requests::Requester;
use teloxide::{ApiError, Bot, RequestError};
use tokio::net::TcpListener;
use tokio::sync::watch;

/// How often a clock that somebody else moves is looked at.
const FILE_CLOCK_LOOKS: Duration = Duration::from_millis(50);

/// How often a database that another program holds is tried again.
const HOLD_TRIES: Duration = Duration::from_millis(200);
/// How often a server is asked whether it still holds its database for this program.
const HOLD_LOOKS: Duration = Duration::from_secs(10);

/// The time a file says it is; a file that cannot be read leaves the last reading.
struct FileClock {
    path: PathBuf,
    last: std::sync::atomic::AtomicI64,
}

impl Clock for FileClock {
    fn now(&self) -> UtcSeconds {
        use std::sync::atomic::Ordering;
        if let Some(read) = std::fs::read_to_string(&self.path).ok().and_then(|text| text.trim().parse().ok()) {
            self.last.store(read, Ordering::SeqCst);
        }
        UtcSeconds::new(self.last.load(Ordering::SeqCst))
    }
}

pub(super) async fn run(options: ServeOptions) -> anyhow::Result<()> {
    start_logging("info");
    let token = read_token(options.token_file.as_ref())?;
    let (config, wording) = read(&options.farm)?;
    let place = Place::of(&options.farm);
    let database = options.farm.database.clone();
    // Before a database that is there is opened: a newer program must not change it under an older one that serves.
    let held = if Alone::has_database(&database) { Some(hold(&database).await?) } else { None };
    let store = place.open_to_serve(&database, options.begins_new, &config).await?;
    let mut alone = match held {
        Some(alone) => alone,
        None => hold(&database).await?,
    };
    let house = House::new(config, wording);
    let bot = connect::bot(&token, options.api_url.as_deref())?;
    let is_rehearsal = options.clock_file.is_some();
    let clock: Arc<dyn Clock> = match options.clock_file {
        Some(path) => Arc::new(FileClock { path, last: Default::default() }),
        None => Arc::new(CheckedClock::new(Arc::new(SystemClock))),
    };
    let door = match house.config.watch.listen {
        Some(address) => Some(listen_on(address).await?),
        None => None,
    };
    let name = introduce(&bot).await?;
    crate::telegram::introduce::introduce(&bot, &house).await;
    let mut engine = Engine::new(house, store, clock);
    if is_rehearsal {
        engine.look_every = FILE_CLOCK_LOOKS;
    }
    let engine = Arc::new(engine);
    // Nothing is planned before the service has been asked what time it is.
    if let Ok(reply) = connect::call(&bot, "GetMe", &serde_json::json!({})).await {
        engine.service_said(reply.date);
    }
    engine.recall_outage().await?;
    greet(&engine, &name).await?;
    place.leave_mark(&engine.store).await?;
    engine.try_failed_again().await?;
    let (stopper, stop) = watch::channel(false);
    // With a clock of its own the service's minutes are not the machine's.
    let pace = if is_rehearsal { Pace::off() } else { Pace::published() };
    let sender = tokio::spawn(send::run(bot.clone(), Arc::clone(&engine), stop.clone(), pace));
    let timetable = tokio::spawn(keep_timetable(Arc::clone(&engine), stop.clone()));
    let backups = tokio::spawn(backups::keep(Arc::clone(&engine), stop.clone()));
    if let Some(listener) = door {
        println!("It is watched at http://{}/health and /metrics.", listener.local_addr()?);
        tokio::spawn(door::serve(listener, Arc::clone(&engine), stop.clone()));
    }
    let taker = Arc::clone(&engine);
    let webhook = match (options.webhook_url, options.webhook_listen) {
        (Some(url), Some(address)) => Some((url, listen_on(address).await?)),
        _ => None,
    };
    let poller = tokio::spawn(async move {
        match webhook {
            Some((url, listener)) => webhook::run(&bot, url, listener, taker, stop).await,
            None => poll::run(bot, taker, stop).await.map_err(anyhow::Error::from),
        }
    });
    manager::ready(&name);
    let feeder = tokio::spawn(manager::feed(Arc::clone(&engine), stopper.subscribe()));
    let ended = tokio::select! {
        ended = poller => ended.context("the update taker broke down")?,
        why = engine.store.lost() => Err(lost(&why)),
        lost = keep_alone(&mut alone, &database) => lost,
        () = asked_to_stop() => Ok(()),
    };
    // What was taken is committed; the sender finishes the message it has in hand.
    manager::stopping();
    stopper.send_replace(true);
    let _ = tokio::time::timeout(Duration::from_secs(10), async {
        let _ = sender.await;
        let _ = timetable.await;
        let _ = backups.await;
        let _ = feeder.await;
    })
    .await;
    engine.store.close().await;
    ended
}

/// What is said when nothing can be kept any more.
fn lost(why: &str) -> anyhow::Error {
    anyhow::anyhow!(
        "the database is lost: {why}. Nothing is answered any more, as it could not be kept. Look at the disk and at the \
         file, put a backup back where it is needed (`pinset restore`), and start again"
    )
}

/// Takes hold of the database, also from a program that is just ending.
async fn hold(database: &str) -> store::Result<Alone> {
    let began = Instant::now();
    loop {
        match Alone::take(database).await {
            Err(store::Error::HeldByAnother) if began.elapsed() < Alone::patience(database) => {
                tokio::time::sleep(HOLD_TRIES).await;
            }
            other => return other,
        }
    }
}

/// Holds the database; ends when another program has it.
async fn keep_alone(alone: &mut Alone, database: &str) -> anyhow::Result<()> {
    loop {
        tokio::time::sleep(HOLD_LOOKS).await;
        match alone.keep(database).await {
            Ok(()) => {}
            Err(error @ store::Error::HeldByAnother) => return Err(error.into()),
            Err(error) => tracing::warn!(%error, "whether the database is still held cannot be asked"),
        }
    }
}

async fn listen_on(address: SocketAddr) -> anyhow::Result<TcpListener> {
    TcpListener::bind(address).await.with_context(|| format!("cannot listen on {address}"))
}

/// The configuration, the words and the database that is there, each with a readable error.
pub(super) async fn open(options: &FarmOptions) -> anyhow::Result<(House, Store)> {
    let (config, wording) = read(options)?;
    let store = Place::of(options).open_existing(&options.database).await?;
    Ok((House::new(config, wording), store))
}

fn read(options: &FarmOptions) -> anyhow::Result<(Config, Wording)> {
    let config = Config::read(&options.config)?;
    Ok((config, Wording::embedded().context("the embedded words are broken")?))
}

/// Asks the service who we are; a refused token is final, an unreachable service is waited for.
async fn introduce(bot: &Bot) -> anyhow::Result<String> {
    let mut wait_seconds = 1;
    loop {
        match bot.get_me().await {
            Ok(me) => return Ok(me.username().to_owned()),
            Err(RequestError::Api(ApiError::InvalidToken)) => anyhow::bail!(
                "the messaging service does not accept the token; copy it again from the service's bot maker"
            ),
            Err(error) => {
                let error = fault::describe(&error);
                tracing::warn!(error, wait_seconds, "the messaging service does not answer; trying again");
                tokio::select! {
                    () = tokio::time::sleep(Duration::from_secs(wait_seconds)) => {}
                    () = asked_to_stop() => anyhow::bail!("stopped before the messaging service answered"),
                }
                wait_seconds = (wait_seconds * 2).min(60);
            }
        }
    }
}

async fn greet(engine: &Engine, name: &str) -> anyhow::Result<()> {
    let mut tx = engine.store.begin().await?;
    settings::put(&mut tx, joining::BOT_NAME, name).await?;
    let valid_days = engine.house.config.rules.orders.invitation_days;
    let code = joining::claim_code(&mut tx, engine.clock.now(), valid_days).await?;
    tx.commit().await?;
    println!("{} is listening as @{name}.", engine.house.config.farm.name);
    if let Some(code) = code {
        println!("Nobody keeps this farm yet. Open https://t.me/{name}?start={code}");
        println!("or write to @{name}:  /start {code}");
        println!("Whoever does so first becomes its keeper; the code works once.");
    }
    Ok(())
}

async fn keep_timetable(engine: Arc<Engine>, mut stop: watch::Receiver<bool>) {
    let mut failures = 0_u32;
    loop {
        match engine.do_due().await {
            Ok(_) => failures = 0,
            Err(error) => {
                failures += 1;
                tracing::error!(error = error.in_brief(), failures, "the timetable waits for the database");
            }
        }
        let wait = match engine.next_due().await {
            _ if failures > 0 => Duration::from_millis(100 << failures.min(9)).min(engine.look_every),
            Ok(Some(due)) => {
                let seconds = due.since(engine.clock.now()).max(0).unsigned_abs();
                Duration::from_secs(seconds).clamp(Duration::from_millis(10), engine.look_every)
            }
            _ => engine.look_every,
        };
        tokio::select! {
            () = tokio::time::sleep(wait) => {}
            () = engine.timetable_moved.notified() => {}
            _ = stop.wait_for(|stopping| *stopping) => return,
        }
    }
}

pub(super) async fn asked_to_stop() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminate) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = terminate.recv() => return,
                _ = tokio::signal::ctrl_c() => return,
            }
        }
    }
    let _ = tokio::signal::ctrl_c().await;
}
