//! The store's questions and answers, alike on SQLite and on PostgreSQL (where `PINSET_TEST_POSTGRES` names a server).

use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::id::Id;
use scheduler::people::{HourClock, Person, Place, Role};
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::store::cold_room::{self, Lot, MoveKind, Movement};
use scheduler::store::crops::{self, Said};
use scheduler::store::deliveries::{self, Award, Closed, Expected, Source, State, Why};
use scheduler::store::growing::{self, Batch, Event, EventKind, Flush};
use scheduler::store::occurrences::{self, Outcome, Planned};
use scheduler::store::orders::{self, OneOff, Standing};
use scheduler::store::outbox::{self, Urgency};
use scheduler::store::people::{self, Code, NewInvitation};
use scheduler::store::{Error, Store, audit, buttons, inbox, settings};
use sqlx::Connection;
use std::collections::BTreeMap;
use std::future::Future;

const NOW: UtcSeconds = UtcSeconds::new(1_780_318_800);

fn day(text: &str) -> LocalDate {
    text.parse().expect("a date")
}

/// Runs `check` on a new SQLite database and, where there is a server, on a new PostgreSQL database.
async fn on_each_database<F, C>(name: &str, check: C)
where
    C: Fn(Store) -> F,
    F: Future<Output = ()>,
{
    let folder = tempfile::tempdir().expect("a folder");
    let sqlite = format!("sqlite://{}", folder.path().join("farm.sqlite").display());
    check(Store::open(&sqlite).await.expect("SQLite opens")).await;
    match std::env::var("PINSET_TEST_POSTGRES") {
        Ok(server) => {
            let url = new_postgres_database(&server, name).await;
            check(Store::open(&url).await.expect("PostgreSQL opens")).await;
        }
        Err(_) => eprintln!("skipped on PostgreSQL: PINSET_TEST_POSTGRES is not set"),
    }
}

async fn new_postgres_database(server: &str, name: &str) -> String {
    let mut connection = sqlx::PgConnection::connect(server).await.expect("the server answers");
    let database = format!("pinset_{name}");
    for statement in [format!("DROP DATABASE IF EXISTS {database}"), format!("CREATE DATABASE {database}")] {
        sqlx::query(sqlx::AssertSqlSafe(statement)).execute(&mut connection).await.expect("a new database");
    }
    let (front, _) = server.rsplit_once('/').expect("a URL with a database");
    format!("{front}/{database}")
}

#[tokio::test]
async fn an_update_is_seen_once() {
    on_each_database("inbox", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        assert!(inbox::mark_seen(&mut tx, 7, NOW).await.expect("marks"));
        assert!(!inbox::mark_seen(&mut tx, 7, NOW).await.expect("marks"));
        assert_eq!(inbox::highest_seen(&mut tx).await.expect("reads"), Some(7));
        assert_eq!(inbox::forget_before(&mut tx, NOW.plus_minutes(1)).await.expect("forgets"), 1);
        assert_eq!(inbox::highest_seen(&mut tx).await.expect("reads"), None);
    })
    .await;
}

#[tokio::test]
async fn a_transaction_that_is_dropped_changes_nothing() {
    on_each_database("dropped", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        settings::put(&mut tx, "a", "1").await.expect("puts");
        drop(tx);
        let mut tx = store.begin().await.expect("begins");
        assert_eq!(settings::get(&mut tx, "a").await.expect("reads"), None);
        settings::put(&mut tx, "a", "1").await.expect("puts");
        settings::put(&mut tx, "a", "2").await.expect("puts again");
        tx.commit().await.expect("commits");
        let mut tx = store.begin_reading().await.expect("begins");
        assert_eq!(settings::get(&mut tx, "a").await.expect("reads").as_deref(), Some("2"));
    })
    .await;
}

#[tokio::test]
async fn a_chat_reads_its_messages_in_order_and_answers_come_first() {
    on_each_database("outbox", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        for (chat_id, urgency, body) in [
            (1, Urgency::Notice, "first of 1"),
            (1, Urgency::Answer, "second of 1"),
            (2, Urgency::Answer, "first of 2"),
        ] {
            outbox::put(&mut tx, chat_id, urgency, body, NOW).await.expect("puts");
        }
        let later = NOW.plus_minutes(5);
        let claimed = outbox::claim(&mut tx, NOW, later, 10).await.expect("claims");
        assert_eq!(claimed.iter().map(|one| one.body.as_str()).collect::<Vec<_>>(), ["first of 2", "first of 1"]);
        assert!(outbox::claim(&mut tx, NOW, later, 10).await.expect("claims").is_empty(), "all are held");
        outbox::mark_sent(&mut tx, claimed[0].id, NOW).await.expect("marks");
        outbox::put_back(&mut tx, claimed[1].id, NOW.plus_seconds(3)).await.expect("puts back");
        assert!(outbox::claim(&mut tx, NOW, later, 10).await.expect("claims").is_empty(), "not before its time");
        let due = outbox::next_due(&mut tx).await.expect("reads");
        assert_eq!(due, Some(NOW.plus_seconds(3)), "the second one waits for the first");
        let claimed = outbox::claim(&mut tx, NOW.plus_seconds(3), later, 10).await.expect("claims");
        assert_eq!((claimed.len(), claimed[0].tries), (1, 1));
        outbox::set_aside(&mut tx, claimed[0].id, "blocked", NOW).await.expect("sets aside");
        let claimed = outbox::claim(&mut tx, NOW.plus_seconds(4), later, 10).await.expect("claims");
        assert_eq!(claimed[0].body, "second of 1");
        assert_eq!(outbox::release_leases(&mut tx).await.expect("releases"), 1);
        outbox::redirect(&mut tx, 1, -100).await.expect("redirects");
        let claimed = outbox::claim(&mut tx, NOW.plus_seconds(5), later, 10).await.expect("claims");
        assert_eq!(claimed[0].chat_id, -100);
        let aside = outbox::set_aside_list(&mut tx, 5).await.expect("lists");
        assert_eq!(aside, [(1, "blocked".to_owned(), NOW)]);
    })
    .await;
}

fn person(id: i64, chat_id: i64, role: Role) -> Person {
    Person {
        id: Id::new(id),
        chat_id,
        name: "Ada".into(),
        role,
        language: "en".into(),
        units: UnitSystem::Metric,
        hour_clock: HourClock::TwentyFour,
        buyer_id: None,
        partner_id: None,
    }
}

#[tokio::test]
async fn people_join_leave_and_come_back() {
    on_each_database("people", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let ada = person(1, 11, Role::Keeper);
        people::join(&mut tx, &ada, NOW).await.expect("joins");
        assert_eq!(people::by_chat(&mut tx, 11).await.expect("reads").as_ref(), Some(&ada));
        assert!(people::leave(&mut tx, ada.id, NOW).await.expect("leaves"));
        assert!(!people::leave(&mut tx, ada.id, NOW).await.expect("leaves"));
        assert_eq!(people::by_chat(&mut tx, 11).await.expect("reads"), None);
        people::join(&mut tx, &person(1, 11, Role::Driver), NOW).await.expect("comes back");
        assert_eq!(people::with_role(&mut tx, Role::Driver).await.expect("reads").len(), 1);
        let buyer = people::add_buyer(&mut tx, "Night Heron Noodle Bar", NOW).await.expect("adds");
        assert_eq!(people::buyer_by_id(&mut tx, buyer).await.expect("reads").expect("there").weight, 1);
        let place = Place { role: Role::Buyer, buyer_id: Some(buyer), partner_id: None };
        let expires_at = NOW.plus_minutes(60);
        let new = NewInvitation { code: "c0de", place, made_by: Some(ada.id), now: NOW, expires_at };
        people::invite(&mut tx, new).await.expect("invites");
        assert_eq!(people::look_up_code(&mut tx, "c0de", expires_at).await.expect("reads"), Code::Expired);
        assert_eq!(people::look_up_code(&mut tx, "other", NOW).await.expect("reads"), Code::Unknown);
        let Code::Good { invitation_id, place: found } =
            people::look_up_code(&mut tx, "c0de", NOW).await.expect("reads")
        else {
            panic!("the code is good")
        };
        assert_eq!(found, place);
        people::use_invitation(&mut tx, invitation_id, ada.id, NOW).await.expect("uses");
        assert_eq!(people::look_up_code(&mut tx, "c0de", NOW).await.expect("reads"), Code::Used);
        people::add_family_group(&mut tx, -5, "es", NOW).await.expect("adds");
        people::move_family_group(&mut tx, -5, -500).await.expect("moves");
        assert_eq!(people::family_groups(&mut tx).await.expect("reads"), [(-500, "es".to_owned())]);
        // A name that is taken is told apart from a fault; on PostgreSQL it ends the transaction, so it comes last.
        let error = people::add_buyer(&mut tx, "Night Heron Noodle Bar", NOW).await.expect_err("taken");
        assert!(error.is_duplicate(), "{error}");
    })
    .await;
}

#[tokio::test]
async fn a_new_account_takes_a_persons_place() {
    on_each_database("takeover", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let (ada, gone) = (person(1, 11, Role::Keeper), person(2, 22, Role::Driver));
        for one in [&ada, &gone] {
            people::join(&mut tx, one, NOW).await.expect("joins");
        }
        people::leave(&mut tx, gone.id, NOW).await.expect("leaves");
        let place = Place { role: Role::Keeper, buyer_id: None, partner_id: None };
        let new =
            NewInvitation { code: "c0de", place, made_by: Some(ada.id), now: NOW, expires_at: NOW.plus_minutes(60) };
        let invitation = people::invite(&mut tx, new).await.expect("invites");
        assert_eq!(people::takeover_of(&mut tx, invitation).await.expect("reads"), None);
        people::mark_takeover(&mut tx, invitation, ada.id).await.expect("marks");
        assert_eq!(people::takeover_of(&mut tx, invitation).await.expect("reads"), Some(ada.id));
        // The new account was once that of somebody who left.
        people::change_account(&mut tx, ada.id, 22).await.expect("changes");
        let now = people::by_chat(&mut tx, 22).await.expect("reads").expect("there");
        assert_eq!((now.id, now.role), (ada.id, Role::Keeper));
        assert_eq!(people::by_chat(&mut tx, 11).await.expect("reads"), None);
        assert_eq!(people::everybody(&mut tx).await.expect("reads").len(), 1);
    })
    .await;
}

#[tokio::test]
async fn a_button_means_something_in_its_own_chat_until_its_card_moves_on() {
    on_each_database("buttons", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let token = buttons::put(&mut tx, 11, "offer:1", "{}", NOW).await.expect("puts");
        assert!((1..=64).contains(&token.len()));
        assert!(buttons::find(&mut tx, 12, &token).await.expect("reads").is_none());
        assert!(!buttons::find(&mut tx, 11, &token).await.expect("reads").expect("there").is_void);
        assert_eq!(buttons::chats_with_live_card(&mut tx, "offer:1").await.expect("reads"), [11]);
        assert_eq!(buttons::void_card(&mut tx, 11, "offer:1", NOW).await.expect("voids"), 1);
        assert!(buttons::find(&mut tx, 11, &token).await.expect("reads").expect("there").is_void);
        buttons::set_message(&mut tx, 11, "offer:1", 4).await.expect("sets");
        buttons::set_message(&mut tx, 11, "offer:1", 9).await.expect("sets");
        assert_eq!(buttons::message_of(&mut tx, 11, "offer:1").await.expect("reads"), Some(9));
        buttons::ask(&mut tx, 11, "\"q\"", (NOW, NOW.plus_minutes(60))).await.expect("asks");
        assert!(buttons::open_question(&mut tx, 11, NOW).await.expect("reads").is_some());
        assert!(buttons::open_question(&mut tx, 11, NOW.plus_minutes(60)).await.expect("reads").is_none());
        buttons::close_question(&mut tx, 11).await.expect("closes");
        assert!(buttons::open_question(&mut tx, 11, NOW).await.expect("reads").is_none());
    })
    .await;
}

#[tokio::test]
async fn an_occurrence_is_planned_once_and_finished_once() {
    on_each_database("occurrences", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let planned = Planned {
            key: "cutoff@2026-06-02".into(),
            job: "cutoff".into(),
            subject: Some(Id::new(5)),
            due_at: NOW,
            useful_until: NOW.plus_minutes(60),
        };
        occurrences::plan(&mut tx, &planned).await.expect("plans");
        occurrences::plan(&mut tx, &planned).await.expect("plans again");
        assert_eq!(occurrences::next_due(&mut tx).await.expect("reads"), Some(NOW));
        assert_eq!(occurrences::first_due(&mut tx, NOW.plus_seconds(-1)).await.expect("reads"), None);
        assert_eq!(occurrences::first_due(&mut tx, NOW).await.expect("reads").as_ref(), Some(&planned));
        assert!(occurrences::finish(&mut tx, &planned.key, Outcome::Done, NOW).await.expect("finishes"));
        assert!(!occurrences::finish(&mut tx, &planned.key, Outcome::Missed, NOW).await.expect("finishes"));
        assert_eq!(occurrences::first_due(&mut tx, NOW).await.expect("reads"), None);
    })
    .await;
}

#[tokio::test]
async fn orders_are_kept_whole() {
    on_each_database("orders", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let buyer_id = people::add_buyer(&mut tx, "Copper Kettle Bistro", NOW).await.expect("adds");
        let mut standing = Standing {
            id: Id::new(1),
            buyer_id,
            crop: "oyster".into(),
            usual: Grams::new(2268),
            recurrence: "DTSTART;TZID=America/Chicago:20260604T000000\nRRULE:FREQ=WEEKLY;BYDAY=TH".into(),
            changed: BTreeMap::from([(day("2026-06-11"), Grams::new(1134))]),
            paused: Some((day("2026-07-02"), day("2026-07-16"))),
        };
        orders::put_standing(&mut tx, &standing, (NOW, None)).await.expect("puts");
        assert_eq!(orders::all_standing(&mut tx).await.expect("reads"), [standing.clone()]);
        standing.changed.clear();
        standing.paused = None;
        standing.usual = Grams::new(3000);
        orders::put_standing(&mut tx, &standing, (NOW, None)).await.expect("puts");
        assert_eq!(orders::standing_of_buyer(&mut tx, buyer_id).await.expect("reads"), [standing.clone()]);
        orders::end_standing(&mut tx, standing.id, NOW).await.expect("ends");
        assert!(orders::all_standing(&mut tx).await.expect("reads").is_empty());
        let mut line = OneOff { buyer_id, day: day("2026-06-04"), crop: "shiitake".into(), grams: Grams::new(500) };
        orders::put_one_off(&mut tx, &line, (NOW, None)).await.expect("puts");
        line.grams = Grams::new(700);
        orders::put_one_off(&mut tx, &line, (NOW, None)).await.expect("puts");
        let read = orders::one_off_between(&mut tx, line.day, line.day).await.expect("reads");
        assert_eq!(read, [line.clone()]);
        line.grams = Grams::ZERO;
        orders::put_one_off(&mut tx, &line, (NOW, None)).await.expect("takes away");
        assert!(orders::one_off_between(&mut tx, line.day, line.day).await.expect("reads").is_empty());
        orders::put_undo(&mut tx, buyer_id, "[]", NOW).await.expect("keeps");
        assert_eq!(orders::take_undo(&mut tx, buyer_id).await.expect("takes"), Some(("[]".to_owned(), NOW)));
        assert_eq!(orders::take_undo(&mut tx, buyer_id).await.expect("takes"), None);
    })
    .await;
}

#[tokio::test]
async fn every_gram_of_a_lot_is_accounted_for() {
    on_each_database("cold_room", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let batch = Batch {
            id: Id::new(1),
            crop: "oyster".into(),
            room: "warm".into(),
            units: 10,
            dry_per_unit: Grams::new(2000),
            started_on: day("2026-05-01"),
        };
        growing::add_batch(&mut tx, &batch).await.expect("adds");
        let mut flush = Flush {
            id: Id::new(2),
            batch_id: batch.id,
            number: 1,
            initiated_on: None,
            pins_on: None,
            units_lost: 0,
            closed_on: None,
            picked: Vec::new(),
        };
        growing::put_flush(&mut tx, &flush).await.expect("puts");
        flush.initiated_on = Some(day("2026-05-20"));
        growing::put_flush(&mut tx, &flush).await.expect("puts");
        for grams in [700, 300] {
            let event = Event {
                batch_id: batch.id,
                flush_id: Some(flush.id),
                kind: EventKind::Picked,
                on_day: day("2026-06-01"),
                units: 0,
                grams: Grams::new(grams),
                person_id: None,
            };
            growing::record(&mut tx, &event, NOW).await.expect("records");
        }
        flush.picked = vec![(day("2026-06-01"), Grams::new(1000))];
        assert_eq!(growing::all_flushes(&mut tx).await.expect("reads"), [flush.clone()]);
        assert_eq!(growing::all_batches(&mut tx).await.expect("reads"), std::slice::from_ref(&batch));
        for (id, keeps_until, grams) in [(3, "2026-06-08", 600), (4, "2026-06-06", 400)] {
            let lot = Lot {
                id: Id::new(id),
                crop: "oyster".into(),
                flush_id: Some(flush.id),
                picked_on: day("2026-06-01"),
                ready_on: day("2026-06-02"),
                keeps_until: day(keeps_until),
                picked: Grams::new(grams),
                left: Grams::new(grams),
            };
            cold_room::add_lot(&mut tx, &lot, NOW).await.expect("adds");
        }
        let award = Some(Id::new(77));
        let movement = Movement { kind: MoveKind::Delivered, subject: award, person_id: None, now: NOW };
        let wanted = (Grams::new(500), day("2026-06-04"));
        assert_eq!(cold_room::take(&mut tx, "oyster", wanted, &movement).await.expect("takes"), Grams::new(500));
        let lots = cold_room::lots(&mut tx).await.expect("reads");
        assert_eq!(lots.iter().map(|lot| (lot.id.get(), lot.left.get())).collect::<Vec<_>>(), [(3, 500)]);
        assert_eq!(
            cold_room::moved(&mut tx).await.expect("reads"),
            [("oyster".to_owned(), MoveKind::Delivered, Grams::new(500))]
        );
        assert_eq!(cold_room::picked(&mut tx).await.expect("reads"), [("oyster".to_owned(), Grams::new(1000))]);
        for (back, expected) in [(200, 200), (400, 300), (1, 0)] {
            let back = cold_room::put_back(&mut tx, Grams::new(back), &movement).await.expect("puts back");
            assert_eq!(back, Grams::new(expected), "no more comes back than went out");
        }
        let left: Grams = cold_room::lots(&mut tx).await.expect("reads").iter().map(|lot| lot.left).sum();
        assert_eq!(left, Grams::new(1000));
        let beyond = cold_room::take_from_lot(&mut tx, Id::new(3), Grams::new(1001), &movement).await;
        assert!(matches!(beyond, Err(Error::Database(_))), "the database refuses to go below zero");
    })
    .await;
}

#[tokio::test]
async fn awards_keep_why_they_are_so() {
    on_each_database("deliveries", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let buyer_id = people::add_buyer(&mut tx, "Saltmarsh Bakery", NOW).await.expect("adds");
        let thursday = day("2026-06-04");
        let closed = Closed {
            day: thursday,
            closed_at: NOW,
            seed: 42,
            answers_by: NOW.plus_minutes(900),
            settled_at: None,
            packed_at: None,
            delivered_at: None,
        };
        deliveries::close(&mut tx, &closed).await.expect("closes");
        assert_eq!(deliveries::on(&mut tx, thursday).await.expect("reads"), Some(closed));
        assert_eq!(deliveries::chance_on(&mut tx, thursday).await.expect("reads"), None);
        for (chance, kept) in [(0.8434, 0.843), (1.0, 1.0), (f64::NAN, 0.0)] {
            deliveries::record_chance(&mut tx, thursday, chance).await.expect("records");
            assert_eq!(deliveries::chance_on(&mut tx, thursday).await.expect("reads"), Some(kept));
        }
        assert_eq!(deliveries::chance_on(&mut tx, day("2026-06-05")).await.expect("reads"), None);
        let mut award = Award {
            id: Id::new(1),
            buyer_id,
            day: thursday,
            crop: "shiitake".into(),
            source: Source::Standing,
            asked: Grams::new(2268),
            promised: Grams::new(1500),
            delivered: None,
            state: State::Short,
        };
        deliveries::put_award(&mut tx, &award, (Why::Cutoff, None), NOW).await.expect("puts");
        award.promised = Grams::new(2268);
        award.state = State::Full;
        deliveries::put_award(&mut tx, &award, (Why::ToppedUp, None), NOW).await.expect("puts");
        assert_eq!(deliveries::awards_on(&mut tx, thursday).await.expect("reads"), [award.clone()]);
        assert_eq!(deliveries::awards_owed(&mut tx).await.expect("reads"), [award.clone()]);
        for (from, to, count) in
            [("2026-06-04", "2026-06-04", 1), ("2026-05-01", "2026-06-03", 0), ("2026-06-05", "2027-01-01", 0)]
        {
            let between = deliveries::awards_between(&mut tx, day(from), day(to)).await.expect("reads");
            assert_eq!(between.len(), count, "{from} to {to}");
        }
        assert_eq!(
            deliveries::history_of(&mut tx, award.id).await.expect("reads"),
            [(NOW, Grams::new(1500), Why::Cutoff), (NOW, Grams::new(2268), Why::ToppedUp)]
        );
        award.delivered = Some(Grams::new(2268));
        deliveries::put_award(&mut tx, &award, (Why::Weighed, None), NOW).await.expect("puts");
        assert!(deliveries::awards_owed(&mut tx).await.expect("reads").is_empty());
        let expected = Expected {
            day: thursday,
            crop: "shiitake".into(),
            p10: Grams::new(1000),
            p50: Grams::new(2000),
            p90: Grams::new(3000),
            promise: Grams::new(1500),
        };
        deliveries::record_expected(&mut tx, &expected, NOW).await.expect("records");
        assert_eq!(deliveries::expected_on(&mut tx, thursday).await.expect("reads"), [expected]);
    })
    .await;
}

#[tokio::test]
async fn a_database_of_a_newer_program_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let url = format!("sqlite://{}", folder.path().join("farm.sqlite").display());
    Store::open(&url).await.expect("opens").close().await;
    let mut connection = sqlx::SqliteConnection::connect(&url).await.expect("connects");
    sqlx::query(
        "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time)
         VALUES (9999, 'from the future', 1, x'00', 0)",
    )
    .execute(&mut connection)
    .await
    .expect("inserts");
    connection.close().await.expect("closes");
    let error = Store::open(&url).await.expect_err("newer");
    assert!(matches!(error, Error::NewerDatabase { version: 9999 }), "{error}");
}

#[tokio::test]
async fn a_database_that_cannot_be_opened_says_so() {
    let error = Store::open("sqlite:///nowhere/at/all/farm.sqlite").await.expect_err("no such folder");
    assert!(matches!(error, Error::Unopened { .. }), "{error}");
    let error = Store::open("sqlite::memory:").await.expect_err("in memory");
    assert!(error.to_string().contains("lose every order"), "{error}");
}

#[tokio::test]
async fn a_lot_that_does_not_balance_is_found() {
    on_each_database("audit", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let lot = Lot {
            id: Id::new(3),
            crop: "oyster".into(),
            flush_id: None,
            picked_on: day("2026-06-01"),
            ready_on: day("2026-06-02"),
            keeps_until: day("2026-06-06"),
            picked: Grams::new(600),
            left: Grams::new(600),
        };
        cold_room::add_lot(&mut tx, &lot, NOW).await.expect("adds");
        let movement = Movement { kind: MoveKind::Dried, subject: None, person_id: None, now: NOW };
        cold_room::take_from_lot(&mut tx, lot.id, Grams::new(100), &movement).await.expect("takes");
        assert!(audit::unbalanced_lots(&mut tx).await.expect("reads").is_empty());
        let wrong = Lot { id: Id::new(4), left: Grams::new(590), ..lot };
        cold_room::add_lot(&mut tx, &wrong, NOW).await.expect("adds");
        let found = audit::unbalanced_lots(&mut tx).await.expect("reads");
        assert_eq!(found.iter().map(|lot| (lot.lot_id.get(), lot.reckoned.get())).collect::<Vec<_>>(), [(4, 600)]);
        assert_eq!(audit::crops_spoken_of(&mut tx).await.expect("reads"), ["oyster"]);
        assert!(audit::missed_occurrences(&mut tx, 5).await.expect("reads").is_empty());
    })
    .await;
}

#[tokio::test]
async fn what_is_said_of_a_crop_takes_the_place_of_what_was_said_before() {
    on_each_database("crops", |store| async move {
        let key = |text: &str| text.parse().expect("a key");
        let changes = |text: &str| serde_json::from_str(text).expect("changes");
        let mut king = Said {
            key: key("king-oyster"),
            grows_like: Some(key("oyster")),
            changes: changes(r#"{"names":{"en":"king oyster"},"price":2400}"#),
            resting_since: None,
        };
        let shiitake = Said {
            key: key("shiitake"),
            grows_like: None,
            changes: changes(r#"{"keeps_days":9}"#),
            resting_since: Some(NOW),
        };
        let mut tx = store.begin().await.expect("begins");
        crops::put(&mut tx, &king, NOW).await.expect("puts");
        crops::put(&mut tx, &shiitake, NOW.plus_minutes(1)).await.expect("puts");
        king.changes = changes(r#"{"names":{"en":"king oyster"},"price":2600,"first_pick_days":14}"#);
        crops::put(&mut tx, &king, NOW.plus_minutes(2)).await.expect("puts again");
        assert_eq!(crops::all(&mut tx).await.expect("reads"), [king, shiitake]);
    })
    .await;
}
