//! The database does not answer for a while: updates wait for it, in order, and nothing is given up on. An update that fails
//! although the database works is set aside with an apology, in a group too.

use pinset::config::{Config, SAMPLE};
use pinset::engine::{Engine, Queue};
use pinset::house::House;
use pinset::incoming::{Account, Incoming, What};
use pinset::watch::health;
use pinset::wording::Wording;
use pinset_tests::cold_store::lot;
use pinset_tests::farm::joined;
use pinset_tests::poison;
use scheduler::clock::HandClock;
use scheduler::store::fault::{Faults, Point, Verdict};
use scheduler::store::{Error, Store, inbox, outbox};
use sqlx::{AnyConnection, AssertSqlSafe, Connection};
use std::io::ErrorKind;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// A database that is cut off for as long as this is set.
#[derive(Debug, Default)]
struct CutOff(AtomicBool);

impl Faults for CutOff {
    fn at(&self, point: Point) -> Verdict {
        match self.0.load(Ordering::SeqCst) && point != Point::Committed {
            true => Verdict::Fail(ErrorKind::ResourceBusy),
            false => Verdict::GoOn,
        }
    }
}

fn said(update_id: i64, chat_id: i64, text: &str) -> Incoming {
    let account = Account { chat_id, first_name: "Mina".into(), language_code: Some("en".into()) };
    Incoming { update_id, chat_id, account, what: What::Said(text.into()) }
}

#[tokio::test]
async fn updates_wait_for_the_database_in_order_and_health_says_so() -> anyhow::Result<()> {
    let farm = joined().await?;
    let cut_off = Arc::new(CutOff::default());
    let store =
        Store::open(farm.stage.database()).await?.with_faults(Arc::<CutOff>::clone(&cut_off) as Arc<dyn Faults>);
    let house = House::new(Config::parse(SAMPLE)?, Wording::embedded()?).at_once();
    let engine = Engine::new(house, store, Arc::new(HandClock::at(farm.stage.now())));
    let mut queue = Queue::of(vec![
        said(1, farm.heron.0, "5 lb shiitake for Thursday").into(),
        said(2, farm.heron.0, "/help").into(),
        said(3, farm.kettle.0, "/orders").into(),
    ]);
    cut_off.0.store(true, Ordering::SeqCst);
    for _ in 0..200 {
        assert!(engine.take_all(&mut queue).await.is_err_and(|error| error.is_outage()));
    }
    let faults = health::faults(&engine).await;
    assert!(faults.iter().any(|fault| fault.contains("updates wait for it")), "{faults:?}");
    cut_off.0.store(false, Ordering::SeqCst);
    engine.take_all(&mut queue).await?;
    let faults = health::faults(&engine).await;
    assert!(!faults.iter().any(|fault| fault.contains("updates wait for it")), "{faults:?}");

    let mut tx = engine.store.begin_reading().await?;
    let mut first_of = Vec::new();
    for update_id in 1..=3 {
        assert!(inbox::is_seen(&mut tx, update_id).await?);
        let messages = outbox::of_cause(&mut tx, &format!("u{update_id}")).await?;
        first_of.push(messages.first().map(|(id, _)| *id));
    }
    drop(tx);
    assert!(first_of[0] < first_of[1] && first_of.iter().all(Option::is_some), "answered in order: {first_of:?}");
    farm.stage.settle().await?;
    let read = farm.stage.read(farm.heron.0);
    assert!(read.contains("shiitake") && !read.contains("Something went wrong"), "{read}");
    engine.store.close().await;
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_fails_by_its_own_fault_is_apologised_for_in_a_group_too_and_holds_up_nobody() -> anyhow::Result<()> {
    const GROUP: i64 = -500;
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.server.add_group(GROUP, "Larkrise kitchen", &[farm.ada.0, farm.chidi.0])?;
    stage.say_in(GROUP, farm.ada, "/group").await?;
    lot(stage, "shiitake", 4000, "2026-06-08").await?;
    poison::write(stage.database(), "UPDATE lot SET keeps_until = 'soon'").await?;
    let answer = stage.say_in(GROUP, farm.ada, "/left").await?;
    let told: String = answer.iter().map(|message| message.text.as_str()).collect();
    assert!(told.contains("Something went wrong on our side"), "{told}");
    assert!(!stage.say(farm.heron, "/help").await?.is_empty(), "the next one is served");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_locked_file_is_an_outage_and_a_mistake_is_none() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    let url = format!("sqlite://{}", folder.path().join("farm.sqlite").display());
    let store = Store::open(&url).await?;
    let held = store.begin().await?;
    let mut other = AnyConnection::connect(&url).await?;
    sqlx::query("PRAGMA busy_timeout = 0").execute(&mut other).await?;
    let busy = sqlx::query("UPDATE farm_lock SET turn = turn + 1").execute(&mut other).await;
    let busy = Error::from(busy.expect_err("somebody else holds the lock"));
    assert!(busy.is_outage(), "{busy}");
    drop(held);
    let mistake = sqlx::query("SELECT mushroom FROM farm_lock").fetch_one(&mut other).await;
    let mistake = Error::from(mistake.err().expect("there is no such column"));
    assert!(!mistake.is_outage(), "{mistake}");
    other.close().await?;
    store.close().await;
    Ok(())
}

#[tokio::test]
async fn a_server_that_ends_its_connections_is_an_outage() -> anyhow::Result<()> {
    let Ok(server) = std::env::var("PINSET_TEST_POSTGRES") else {
        eprintln!("skipped on PostgreSQL: PINSET_TEST_POSTGRES is not set");
        return Ok(());
    };
    sqlx::any::install_default_drivers();
    let (mut one, mut other) = (AnyConnection::connect(&server).await?, AnyConnection::connect(&server).await?);
    let row = sqlx::query("SELECT CAST(pg_backend_pid() AS BIGINT) AS pid").fetch_one(&mut one).await?;
    let pid: i64 = sqlx::Row::try_get(&row, "pid")?;
    let end = format!("SELECT pg_terminate_backend({pid})::text AS ended");
    sqlx::query(AssertSqlSafe(end)).fetch_one(&mut other).await?;
    let ended = sqlx::query("SELECT 1").execute(&mut one).await;
    let ended = Error::from(ended.expect_err("its connection was ended"));
    assert!(ended.is_outage(), "{ended}");
    other.close().await?;
    Ok(())
}
