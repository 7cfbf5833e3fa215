//! The store's questions and answers, alike on SQLite and on PostgreSQL (where `PINSET_TEST_POSTGRES` names a server).

use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::id::Id;
use scheduler::people::quiet::QuietHours;
use scheduler::people::{HourClock, Person, Place, Role};
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::store::alone::Alone;
use scheduler::store::cold_room::{self, Lot, MoveKind, Movement};
use scheduler::store::cold_room_warmth::{self, Reading};
use scheduler::store::crops::{self, Said};
use scheduler::store::deliveries::{self, Award, Closed, Expected, Source, State, Why};
use scheduler::store::giving::{self, FoodBank};
use scheduler::store::growing::{self, Batch, Event, EventKind, Flush};
use scheduler::store::occurrences::{self, Due, Failed, Outcome};
use scheduler::store::orders::{self, OneOff, Standing};
use scheduler::store::outbox::{self, Begun, Lane, New, PutBack, Urgency, Waiting};
use scheduler::store::people;
use scheduler::store::people::invitations::{self, Code, NewInvitation};
use scheduler::store::standing_giving;
use scheduler::store::surplus;
use scheduler::store::{Error, Store, Tx, ages, audit, buttons, held, inbox, settings, surplus_rules};
use scheduler::surplus::answers::Carried;
use scheduler::surplus::claim::{self, Claim, Taking};
use scheduler::surplus::offer::{self, Offer};
use scheduler::surplus::rule::Rule;
use scheduler::surplus::standing::{self, StandingDrop};
use scheduler::timetable::{Job, Occurrence};
use sqlx::Connection;
use std::collections::BTreeMap;
use std::future::Future;

const NOW: UtcSeconds = UtcSeconds::new(1_780_318_800);

/// What has come of age so many days after [`NOW`] goes.
async fn tidy_after(tx: &mut Tx, days: i64) {
    let now = NOW.plus_minutes(days * 24 * 60);
    assert!(!ages::tidy(tx, (now, chrono_tz::UTC), 100).await.expect("tidies"), "there is little");
}

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
        tidy_after(&mut tx, 15).await;
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

/// Takes everything that may go now.
async fn claim(tx: &mut Tx, now: UtcSeconds, later: UtcSeconds) -> Vec<Waiting> {
    held::release_due(tx, now).await.expect("releases");
    let mut taken = Vec::new();
    for ready in outbox::ready(tx, now, 10).await.expect("looks") {
        match outbox::begin(tx, ready.id, (now, later)).await.expect("begins") {
            Begun::Taken(waiting) => taken.push(waiting),
            Begun::TooLate | Begun::Gone => {}
        }
    }
    taken
}

fn message(chat_id: i64, lane: Lane, body: &str) -> New<'_> {
    New { chat_id, urgency: Urgency::Notice, lane, body, card: None, useful_until: None, not_before: NOW }
}

#[tokio::test]
async fn a_newer_version_takes_the_place_of_what_waits_and_not_of_what_is_on_its_way() {
    on_each_database("replaced", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let of_card = |body| New { card: Some("card"), ..message(1, Lane::Chat, body) };
        outbox::put_new(&mut tx, of_card("first"), NOW).await.expect("puts");
        let first = claim(&mut tx, NOW, NOW.plus_minutes(5)).await;
        for body in ["second", "third"] {
            outbox::put_new(&mut tx, of_card(body), NOW).await.expect("puts");
        }
        let taken = outbox::take_back(&mut tx, 1, "card").await.expect("takes back");
        assert_eq!(taken.iter().map(|one| one.body.as_str()).collect::<Vec<_>>(), ["second", "third"]);
        assert_eq!(outbox::take_back(&mut tx, 2, "card").await.expect("takes back"), []);
        let left: Vec<_> = outbox::after(&mut tx, Id::new(0)).await.expect("reads");
        assert_eq!(left.iter().map(|one| one.id).collect::<Vec<_>>(), [first[0].id], "on its way");
    })
    .await;
}

#[tokio::test]
async fn answers_to_presses_wait_for_nothing_and_menus_for_menus() {
    on_each_database("lanes", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        for (lane, body) in [
            (Lane::Chat, "message"),
            (Lane::Chat, "next message"),
            (Lane::Press, "press"),
            (Lane::Press, "next press"),
            (Lane::Menu, "old menu"),
        ] {
            outbox::put_new(&mut tx, message(1, lane, body), NOW).await.expect("puts");
        }
        outbox::take_back_menus(&mut tx, 1).await.expect("takes back");
        outbox::put_new(&mut tx, message(1, Lane::Menu, "menu"), NOW).await.expect("puts");
        let taken = claim(&mut tx, NOW, NOW.plus_minutes(5)).await;
        let bodies: Vec<&str> = taken.iter().map(|one| one.body.as_str()).collect();
        assert_eq!(bodies, ["message", "press", "next press", "menu"]);
    })
    .await;
}

#[tokio::test]
async fn a_message_waits_as_long_as_it_is_of_use() {
    on_each_database("useful", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let noon = NOW.plus_minutes(60);
        let until_noon = |chat_id, lane| New { useful_until: Some(noon), ..message(chat_id, lane, "until noon") };
        for chat_id in [1, 2] {
            outbox::put_new(&mut tx, until_noon(chat_id, Lane::Chat), NOW).await.expect("puts");
        }
        outbox::put_new(&mut tx, until_noon(1, Lane::Press), NOW).await.expect("puts");
        outbox::put(&mut tx, 3, Urgency::Notice, "for ever", NOW).await.expect("puts");
        for waiting in claim(&mut tx, NOW, NOW.plus_minutes(5)).await {
            outbox::put_back(&mut tx, waiting.id, PutBack::Line, noon.plus_minutes(-1)).await.expect("puts back");
        }
        // One is met at its turn, the other is looked for when the line is back.
        let ready = outbox::ready(&mut tx, noon, 10).await.expect("looks");
        let mine: Vec<_> = ready.iter().filter(|one| one.chat_id == 1).collect();
        assert_eq!(mine.len(), 2);
        for one in mine {
            let begun = outbox::begin(&mut tx, one.id, (noon, noon)).await.expect("begins");
            assert!(matches!(begun, Begun::TooLate), "{begun:?}");
        }
        let kept_back = outbox::kept_back(&mut tx, NOW, noon).await.expect("counts");
        assert_eq!((kept_back.waiting, kept_back.left_out), (1, BTreeMap::from([(1, 1), (2, 1)])));
        let year = noon.plus_minutes(365 * 24 * 60);
        outbox::hurry(&mut tx, noon.plus_minutes(-30)).await.expect("hurries");
        assert_eq!(outbox::next_due(&mut tx).await.expect("reads"), Some(noon.plus_minutes(-30)));
        let taken = claim(&mut tx, year, year.plus_minutes(5)).await;
        assert_eq!(taken.iter().map(|one| one.body.as_str()).collect::<Vec<_>>(), ["for ever"]);
    })
    .await;
}

#[tokio::test]
async fn a_void_button_may_still_show_until_the_next_version_has_come() {
    on_each_database("still_shown", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let old = buttons::put(&mut tx, 1, "card", "{}", NOW).await.expect("puts");
        buttons::set_message(&mut tx, (1, "card"), 4, NOW).await.expect("sets");
        let first = buttons::number_of(&old).expect("a number");
        buttons::set_shown(&mut tx, (1, "card"), first).await.expect("sets");
        buttons::void_card(&mut tx, 1, "card", NOW).await.expect("voids");
        let new = buttons::put(&mut tx, 1, "card", "[]", NOW).await.expect("puts");
        let later = NOW.plus_minutes(60);
        let shows =
            async |tx: &mut Tx, now: UtcSeconds| buttons::may_still_show(tx, (1, &old), now).await.expect("looks");
        assert!(shows(&mut tx, later).await, "the next version is still on its way");
        assert_eq!(buttons::live_on(&mut tx, 1, "card").await.expect("reads"), ["[]"]);
        let newest = buttons::number_of(&new).expect("a number");
        buttons::set_shown(&mut tx, (1, "card"), newest).await.expect("sets");
        assert!(!shows(&mut tx, later).await, "everybody sees the next version");
        assert!(shows(&mut tx, NOW.plus_seconds(9)).await, "a press may be on its way");
        assert!(!buttons::may_still_show(&mut tx, (2, &old), NOW).await.expect("looks"), "another chat");
    })
    .await;
}

#[tokio::test]
async fn one_program_serves_from_a_database() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut urls = vec![format!("sqlite://{}", folder.path().join("farm.sqlite").display())];
    match std::env::var("PINSET_TEST_POSTGRES") {
        Ok(server) => {
            for name in ["alone", "alone_beside"] {
                urls.push(new_postgres_database(&server, name).await);
            }
        }
        Err(_) => eprintln!("skipped on PostgreSQL: PINSET_TEST_POSTGRES is not set"),
    }
    let mut held = Vec::new();
    for url in &urls {
        let mut alone = Alone::take(url).await.expect("nobody has it");
        alone.keep(url).await.expect("it is still held");
        held.push(alone);
        let again = Alone::take(url).await;
        assert!(matches!(again, Err(Error::HeldByAnother)), "{url}: {again:?}");
    }
    drop(held);
    for url in &urls {
        let began = std::time::Instant::now();
        while let Err(error) = Alone::take(url).await {
            assert!(began.elapsed() < Alone::patience(url), "{url} is not let go: {error}");
            tokio::task::yield_now().await;
        }
    }
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
        let claimed = claim(&mut tx, NOW, later).await;
        assert_eq!(claimed.iter().map(|one| one.body.as_str()).collect::<Vec<_>>(), ["first of 2", "first of 1"]);
        assert!(claim(&mut tx, NOW, later).await.is_empty(), "all are held");
        outbox::mark_sent(&mut tx, claimed[0].id, NOW).await.expect("marks");
        outbox::put_back(&mut tx, claimed[1].id, PutBack::Wish, NOW.plus_seconds(3)).await.expect("puts back");
        assert!(claim(&mut tx, NOW, later).await.is_empty(), "not before its time");
        let due = outbox::next_due(&mut tx).await.expect("reads");
        assert_eq!(due, Some(NOW.plus_seconds(3)), "the second one waits for the first");
        let claimed = claim(&mut tx, NOW.plus_seconds(3), later).await;
        assert_eq!((claimed.len(), claimed[0].tries), (1, 1));
        outbox::set_aside(&mut tx, claimed[0].id, "blocked", NOW).await.expect("sets aside");
        let claimed = claim(&mut tx, NOW.plus_seconds(4), later).await;
        assert_eq!(claimed[0].body, "second of 1");
        assert_eq!(outbox::release_leases(&mut tx).await.expect("releases"), 1);
        outbox::redirect(&mut tx, 1, -100).await.expect("redirects");
        let claimed = claim(&mut tx, NOW.plus_seconds(5), later).await;
        assert_eq!(claimed[0].chat_id, -100);
        let aside = outbox::set_aside_list(&mut tx, 5).await.expect("lists");
        assert_eq!(aside, [(1, "blocked".to_owned(), NOW)]);
    })
    .await;
}

#[tokio::test]
async fn old_messages_are_forgotten_and_those_that_wait_are_not() {
    on_each_database("outbox_tidied", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        tx.caused_by("u7");
        let mut ids = Vec::new();
        for chat_id in 1..=5 {
            ids.push(outbox::put(&mut tx, chat_id, Urgency::Notice, "text", NOW).await.expect("puts"));
        }
        outbox::mark_sent(&mut tx, ids[0], NOW).await.expect("marks");
        outbox::mark_sent(&mut tx, ids[1], NOW.plus_minutes(60)).await.expect("marks");
        outbox::set_aside(&mut tx, ids[2], "blocked", NOW).await.expect("sets aside");
        outbox::mark_sent(&mut tx, ids[4], NOW).await.expect("marks");
        let depth = outbox::depth(&mut tx).await.expect("reads");
        assert_eq!((depth.waiting, depth.oldest_at, depth.set_aside), (1, Some(NOW), 1));
        let of_cause = outbox::of_cause(&mut tx, "u7").await.expect("reads");
        assert_eq!(of_cause.iter().map(|(_, is_sent)| *is_sent).collect::<Vec<_>>(), [true, true, false, false, true]);
        let left = async |tx: &mut Tx| -> Vec<Id> {
            outbox::after(tx, Id::new(0)).await.expect("reads").iter().map(|one| one.id).collect()
        };
        // The newest stays though it was sent long ago: identifiers go on after it.
        tidy_after(&mut tx, 31).await;
        assert_eq!(left(&mut tx).await, ids[2..].to_vec());
        tidy_after(&mut tx, 366).await;
        assert_eq!(left(&mut tx).await, ids[3..].to_vec());
        assert_eq!(outbox::set_waiting_aside(&mut tx, "old", NOW).await.expect("sets aside"), 1);
        assert_eq!(outbox::set_aside_list(&mut tx, 9).await.expect("lists"), [(4, "old".to_owned(), NOW)]);
    })
    .await;
}

#[tokio::test]
async fn what_is_held_neither_goes_nor_stands_in_the_way_until_it_is_due() {
    on_each_database("held", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let (morning, later) = (NOW.plus_minutes(60), NOW.plus_minutes(65));
        let hold = |card, body, useful_until| held::New { chat_id: 1, card, body, due_at: morning, useful_until };
        held::put(&mut tx, hold(Some("offer-1"), "an offer", None), NOW).await.expect("holds");
        held::put(&mut tx, hold(Some("offer-2"), "over by then", Some(morning)), NOW).await.expect("holds");
        held::put(&mut tx, hold(None, "a notice", None), NOW).await.expect("holds");
        let (plain, body) = held::last_plain(&mut tx, 1, morning).await.expect("reads").expect("a plain one is last");
        assert_eq!(body, "a notice");
        assert_eq!(held::last_plain(&mut tx, 1, NOW).await.expect("reads"), None, "it is due later than that");
        held::rewrite(&mut tx, plain, "two notices", None).await.expect("rewrites");
        assert_eq!(outbox::next_due(&mut tx).await.expect("reads"), Some(morning));
        assert_eq!(outbox::waiting_due(&mut tx).await.expect("reads"), None);
        assert!(held::holds(&mut tx, 1, "offer-1").await.expect("looks"));
        outbox::put(&mut tx, 1, Urgency::Answer, "an answer", NOW).await.expect("puts");
        let claimed = claim(&mut tx, NOW, later).await;
        assert_eq!(claimed.iter().map(|one| one.body.as_str()).collect::<Vec<_>>(), ["an answer"]);
        outbox::mark_sent(&mut tx, claimed[0].id, NOW).await.expect("marks");
        assert_eq!(held::take_back(&mut tx, 1, "offer-9").await.expect("looks"), None);
        buttons::put(&mut tx, 1, "offer-1", "{}", NOW).await.expect("puts");
        held::redirect(&mut tx, 1, 5).await.expect("redirects");
        assert_eq!(buttons::chats_with_live_card(&mut tx, "offer-1").await.expect("reads"), [5]);
        let mut read = Vec::new();
        for _ in 0..3 {
            for one in claim(&mut tx, morning, later).await {
                outbox::mark_sent(&mut tx, one.id, morning).await.expect("marks");
                read.push((one.chat_id, one.body));
            }
        }
        assert_eq!(read, [(5, "an offer".to_owned()), (5, "two notices".to_owned())]);
        held::put(&mut tx, hold(Some("offer-1"), "an offer", None), NOW).await.expect("holds");
        held::set_due(&mut tx, 1, NOW.plus_minutes(5)).await.expect("sets");
        let taken = held::take_back(&mut tx, 1, "offer-1").await.expect("takes back");
        assert_eq!(taken, Some(NOW.plus_minutes(5)));
        assert_eq!(outbox::next_due(&mut tx).await.expect("reads"), None);
    })
    .await;
}

#[tokio::test]
async fn a_group_moves_with_its_buttons_and_leaves_its_messages() {
    on_each_database("group_moved", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let token = buttons::put(&mut tx, -5, "card", "{}", NOW).await.expect("puts");
        buttons::set_message(&mut tx, (-5, "card"), 4, NOW).await.expect("sets");
        for (from, to) in [(-5, -500), (-5, -500)] {
            people::add_family_group(&mut tx, from, "es", (None, NOW)).await.expect("adds");
            people::move_family_group(&mut tx, from, to).await.expect("moves, also where it is already");
            buttons::move_chat(&mut tx, from, to).await.expect("moves");
        }
        assert_eq!(people::family_groups(&mut tx).await.expect("reads"), [(-500, "es".to_owned())]);
        assert!(buttons::find(&mut tx, -500, &token).await.expect("reads").is_some());
        for chat_id in [-5, -500] {
            assert_eq!(buttons::message_of(&mut tx, chat_id, "card").await.expect("reads"), None);
        }
    })
    .await;
}

#[tokio::test]
async fn quiet_hours_are_kept_and_can_be_none() {
    on_each_database("quiet", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        people::join(&mut tx, &person(1, 100, Role::Keeper), NOW).await.expect("joins");
        for quiet in [QuietHours::between(90, 615), None, Some(QuietHours::USUAL)] {
            people::set_quiet(&mut tx, Id::new(1), quiet).await.expect("sets");
            let kept = people::by_chat(&mut tx, 100).await.expect("reads").expect("is there");
            assert_eq!(kept.quiet, quiet);
        }
    })
    .await;
}

#[tokio::test]
async fn failures_are_counted_and_a_name_that_is_taken_is_none() {
    on_each_database("failures", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        people::add_buyer(&mut tx, "Saltmarsh Bakery", NOW).await.expect("adds");
        assert!(people::add_buyer(&mut tx, "Saltmarsh Bakery", NOW).await.expect_err("taken").is_duplicate());
        drop(tx);
        assert_eq!(store.failures(), 0);
        store.look().await.expect("answers");
        store.close().await;
        store.look().await.expect_err("closed");
        assert_eq!(store.failures(), 1);
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
        quiet: Some(QuietHours::USUAL),
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
        let keeper = person(2, 22, Role::Keeper);
        people::join(&mut tx, &keeper, NOW).await.expect("joins");
        let new = NewInvitation { code: "c0de", place, made_by: Some(keeper.id), now: NOW, expires_at };
        invitations::invite(&mut tx, new).await.expect("invites");
        assert_eq!(invitations::look_up_code(&mut tx, "c0de", expires_at).await.expect("reads"), Code::Expired);
        assert_eq!(invitations::look_up_code(&mut tx, "other", NOW).await.expect("reads"), Code::Unknown);
        let Code::Good { invitation_id, place: found, made_by } =
            invitations::look_up_code(&mut tx, "c0de", NOW).await.expect("reads")
        else {
            panic!("the code is good")
        };
        assert_eq!((found, made_by), (place, Some(keeper.id)));
        invitations::mark_used(&mut tx, invitation_id, ada.id, NOW).await.expect("uses");
        assert_eq!(invitations::look_up_code(&mut tx, "c0de", NOW).await.expect("reads"), Code::Used);
        people::add_family_group(&mut tx, -5, "es", (Some(keeper.id), NOW)).await.expect("adds");
        people::move_family_group(&mut tx, -5, -500).await.expect("moves");
        assert_eq!(people::family_groups(&mut tx).await.expect("reads"), [(-500, "es".to_owned())]);
        assert_eq!(people::family_group_named_by(&mut tx, -500).await.expect("reads"), Some(Some(keeper.id)));
        assert!(people::pause_family_group(&mut tx, -500, NOW).await.expect("pauses"));
        assert!(!people::pause_family_group(&mut tx, -500, NOW).await.expect("pauses"), "once");
        assert_eq!(people::family_groups(&mut tx).await.expect("reads"), []);
        assert_eq!(people::family_group_named_by(&mut tx, -500).await.expect("reads"), None);
        assert_eq!(people::paused_family_group(&mut tx, -500).await.expect("reads").as_deref(), Some("es"));
        people::add_family_group(&mut tx, -500, "en", (None, NOW)).await.expect("adds");
        assert_eq!(people::family_groups(&mut tx).await.expect("reads"), [(-500, "en".to_owned())]);
        people::leave(&mut tx, keeper.id, NOW).await.expect("leaves");
        assert_eq!(people::name_of_account(&mut tx, 22).await.expect("reads"), Some(keeper.name));
        // A name that is taken is told apart from a fault; on PostgreSQL it ends the transaction, so it comes last.
        let error = people::add_buyer(&mut tx, "Night Heron Noodle Bar", NOW).await.expect_err("taken");
        assert!(error.is_duplicate(), "{error}");
    })
    .await;
}

#[tokio::test]
async fn an_invitation_dies_with_its_makers_place() {
    on_each_database("invitations", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let (ada, ben, chidi) = (person(1, 11, Role::Keeper), person(2, 22, Role::Keeper), person(3, 33, Role::Grower));
        for one in [&ada, &ben, &chidi] {
            people::join(&mut tx, one, NOW).await.expect("joins");
        }
        let place = Place { role: Role::Keeper, buyer_id: None, partner_id: None };
        let expires_at = NOW.plus_minutes(60);
        let mut made = Vec::new();
        for (code, maker) in [("ada", &ada), ("ben", &ben), ("ben's account", &ben), ("chidi's account", &chidi)] {
            let new = NewInvitation { code, place, made_by: Some(maker.id), now: NOW, expires_at };
            made.push(invitations::invite(&mut tx, new).await.expect("invites"));
        }
        invitations::mark_takeover(&mut tx, made[2], ben.id).await.expect("marks");
        invitations::mark_takeover(&mut tx, made[3], chidi.id).await.expect("marks");
        let open = invitations::open(&mut tx, NOW).await.expect("reads");
        assert_eq!(open.iter().map(|one| one.id).collect::<Vec<_>>(), made);
        assert_eq!((open[1].made_by, open[1].takeover_of, open[3].takeover_of), (Some(ben.id), None, Some(chidi.id)));
        people::leave(&mut tx, ben.id, NOW).await.expect("leaves");
        people::join(&mut tx, &ben, NOW).await.expect("comes back");
        for (code, is_good) in [("ada", true), ("ben", false), ("ben's account", false), ("chidi's account", true)] {
            let found = invitations::look_up_code(&mut tx, code, NOW).await.expect("reads");
            assert_eq!(matches!(found, Code::Good { .. }), is_good, "{code}: {found:?}");
            assert!(is_good || found == Code::Expired, "{code}: {found:?}");
        }
        // A maker who has another role by now: whatever made the change, the invitation is dead.
        people::join(&mut tx, &person(1, 11, Role::Driver), NOW).await.expect("changes");
        assert_eq!(invitations::look_up_code(&mut tx, "ada", NOW).await.expect("reads"), Code::Expired);
        assert!(invitations::withdraw(&mut tx, made[3], NOW).await.expect("withdraws"));
        assert!(!invitations::withdraw(&mut tx, made[3], NOW).await.expect("withdraws"), "once");
        assert_eq!(invitations::look_up_code(&mut tx, "chidi's account", NOW).await.expect("reads"), Code::Expired);
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
        let invitation = invitations::invite(&mut tx, new).await.expect("invites");
        assert_eq!(invitations::takeover_of(&mut tx, invitation).await.expect("reads"), None);
        invitations::mark_takeover(&mut tx, invitation, ada.id).await.expect("marks");
        assert_eq!(invitations::takeover_of(&mut tx, invitation).await.expect("reads"), Some(ada.id));
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
        buttons::set_message(&mut tx, (11, "offer:1"), 4, NOW).await.expect("sets");
        buttons::set_message(&mut tx, (11, "offer:1"), 9, NOW).await.expect("sets");
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
async fn an_occurrence_that_failed_waits_and_the_next_one_goes_first() {
    on_each_database("occurrences_aside", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let useful_until = NOW.plus_minutes(600);
        let (one, other) = (Job::OfferEnd(Id::new(5)), Job::AnswersEnd("2026-06-04".parse().expect("a day")));
        for job in [one, other] {
            occurrences::plan(&mut tx, &Occurrence { job, due_at: NOW, useful_until }).await.expect("plans");
        }
        let key = one.key(NOW);
        let try_at = NOW.plus_minutes(15);
        let failed = Failed { fault: "a date", tries: 5, try_at, aside_at: Some(NOW) };
        occurrences::put_off(&mut tx, &key, failed).await.expect("puts off");
        let first = |due: Option<Due>| due.and_then(|due| due.occurrence).map(|due| due.job);
        assert_eq!(first(occurrences::first_due(&mut tx, NOW).await.expect("reads")), Some(other));
        occurrences::finish(&mut tx, &other.key(NOW), Outcome::Done, NOW).await.expect("finishes");
        assert_eq!(occurrences::first_due(&mut tx, NOW).await.expect("reads"), None);
        assert_eq!(occurrences::next_due(&mut tx).await.expect("reads"), Some(try_at));
        let aside = occurrences::aside(&mut tx).await.expect("reads");
        assert_eq!(
            aside.iter().map(|one| (one.key.as_str(), one.fault.as_str())).collect::<Vec<_>>(),
            [("offer_end 5", "a date")]
        );
        assert_eq!(occurrences::try_again(&mut tx).await.expect("writes"), 1);
        assert_eq!(first(occurrences::first_due(&mut tx, NOW).await.expect("reads")), Some(one));
        occurrences::finish(&mut tx, &key, Outcome::Done, NOW).await.expect("finishes");
        assert_eq!(occurrences::aside(&mut tx).await.expect("reads"), []);
    })
    .await;
}

#[tokio::test]
async fn an_occurrence_is_planned_once_and_finished_once() {
    on_each_database("occurrences", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let planned = Occurrence { job: Job::OfferEnd(Id::new(5)), due_at: NOW, useful_until: NOW.plus_minutes(60) };
        let due = Due { key: "offer_end 5".into(), occurrence: Some(planned), tries: 0 };
        occurrences::plan(&mut tx, &planned).await.expect("plans");
        occurrences::plan(&mut tx, &planned).await.expect("plans again");
        assert_eq!(occurrences::next_due(&mut tx).await.expect("reads"), Some(NOW));
        assert_eq!(occurrences::first_due(&mut tx, NOW.plus_seconds(-1)).await.expect("reads"), None);
        assert_eq!(occurrences::first_due(&mut tx, NOW).await.expect("reads").as_ref(), Some(&due));
        assert!(occurrences::finish(&mut tx, &due.key, Outcome::Done, NOW).await.expect("finishes"));
        assert!(!occurrences::finish(&mut tx, &due.key, Outcome::Missed, NOW).await.expect("finishes"));
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
        assert_eq!(orders::undo_kept(&mut tx, buyer_id).await.expect("reads"), Some(("[]".to_owned(), NOW)));
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

/// What was said of the cold room and the days of its lots: the last word before an instant counts from it on.
#[tokio::test]
async fn the_cold_room_keeps_what_was_said_of_it() {
    on_each_database("warmth", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let lot = Lot {
            id: Id::new(3),
            crop: "oyster".into(),
            flush_id: None,
            picked_on: day("2026-06-01"),
            ready_on: day("2026-06-02"),
            keeps_until: day("2026-06-06"),
            picked: Grams::new(600),
            left: Grams::new(0),
        };
        cold_room::add_lot(&mut tx, &lot, NOW).await.expect("adds");
        assert_eq!(cold_room_warmth::latest(&mut tx).await.expect("reads"), None);
        for (minutes, tenths_c) in [(0, 40), (60, 80), (120, 50)] {
            let reading = Reading { at: NOW.plus_minutes(minutes), tenths_c };
            cold_room_warmth::record(&mut tx, &reading, None).await.expect("records");
        }
        for (minutes, expected) in [(-1, vec![40, 80, 50]), (30, vec![40, 80, 50]), (61, vec![80, 50]), (500, vec![50])]
        {
            let readings = cold_room_warmth::readings_since(&mut tx, NOW.plus_minutes(minutes)).await.expect("reads");
            assert_eq!(readings.iter().map(|one| one.tenths_c).collect::<Vec<_>>(), expected, "{minutes}");
        }
        assert_eq!(cold_room_warmth::latest(&mut tx).await.expect("reads").map(|one| one.tenths_c), Some(50));
        // Its last day moves; the one of a cold room stays, and an empty lot has both.
        cold_room_warmth::put_keeps_until(&mut tx, lot.id, day("2026-06-03")).await.expect("puts");
        let lots = cold_room_warmth::lots_kept_from(&mut tx, day("2026-06-06")).await.expect("reads");
        let kept = lots.iter().map(|one| (one.kept_cold, one.keeps_until)).collect::<Vec<_>>();
        assert_eq!(kept, [(day("2026-06-06"), day("2026-06-03"))]);
        assert!(cold_room_warmth::lots_kept_from(&mut tx, day("2026-06-07")).await.expect("reads").is_empty());
    })
    .await;
}

#[tokio::test]
async fn food_banks_and_regular_drops_are_read_as_they_were_written() {
    on_each_database("standing_giving", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let bank = FoodBank {
            id: Id::new(5),
            name: "Harbour Table".into(),
            address: "12 Quay Street".into(),
            travel_minutes: 25,
            least: Grams::new(900),
            greatest: Grams::new(27_000),
            crops: vec!["oyster".into()],
            has_cold_store: true,
            need: 1,
            weekly: Vec::new(),
            closed: vec![day("2026-07-03")],
            full: vec![day("2026-06-06"), day("2026-06-13")],
            last_drop_at: None,
        };
        giving::put_food_bank(&mut tx, &bank, NOW).await.expect("puts");
        assert_eq!(giving::food_bank(&mut tx, bank.id).await.expect("reads").as_ref(), Some(&bank));
        let mut regular = StandingDrop::proposed(Id::new(6), bank.id, NOW);
        regular.recurrence = "DTSTART;TZID=America/Chicago:20260606T120000\nRRULE:FREQ=WEEKLY;BYDAY=SA".into();
        regular.opens_minute = 840;
        standing_giving::put(&mut tx, &regular).await.expect("puts");
        regular = standing::apply(&regular, standing::Event::Agree, NOW.plus_minutes(1)).expect("agrees");
        regular.recurrence.push_str("\nEXDATE:20260613T170000Z");
        standing_giving::put(&mut tx, &regular).await.expect("puts again");
        assert_eq!(standing_giving::running(&mut tx).await.expect("reads"), std::slice::from_ref(&regular));
        regular = standing::apply(&regular, standing::Event::Stop, NOW.plus_minutes(2)).expect("stops");
        standing_giving::put(&mut tx, &regular).await.expect("puts once more");
        assert!(standing_giving::running(&mut tx).await.expect("reads").is_empty());
        assert_eq!(standing_giving::by_id(&mut tx, regular.id).await.expect("reads"), Some(regular));
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
            shared_at: None,
            packed_at: None,
            is_packing_assumed: false,
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
            is_assumed: false,
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
async fn rules_answers_and_market_trips_are_kept() {
    on_each_database("surplus_record", |store| async move {
        let mut tx = store.begin().await.expect("begins");
        let keeper = person(1, 11, Role::Keeper);
        people::join(&mut tx, &keeper, NOW).await.expect("joins");
        let rule = |id, crop: Option<&str>, minute| Rule {
            id: Id::new(id),
            crop: crop.map(str::to_owned),
            weekday: chrono::Weekday::Fri,
            minute,
        };
        for one in [rule(1, None, 720), rule(2, Some("oyster"), 600), rule(3, None, 900)] {
            surplus_rules::put_rule(&mut tx, &one, (NOW, keeper.id)).await.expect("puts");
        }
        // The later rule for all crops is in the earlier one's place.
        let rules = surplus_rules::rules(&mut tx).await.expect("reads");
        assert_eq!(rules, [rule(2, Some("oyster"), 600), rule(3, None, 900)]);
        assert!(surplus_rules::end_rule(&mut tx, Id::new(3), NOW).await.expect("ends"));
        assert!(!surplus_rules::end_rule(&mut tx, Id::new(3), NOW).await.expect("ends"));

        let heron = people::add_buyer(&mut tx, "Night Heron Noodle Bar", NOW).await.expect("adds");
        let kettle = people::add_buyer(&mut tx, "Copper Kettle Bistro", NOW).await.expect("adds");
        let (offered, taken) = (Grams::new(3000), Grams::new(500));
        let mut offer = Offer::open(Id::new(5), "oyster", offered, NOW);
        offer.least = Grams::new(250);
        offer.deadline = NOW.plus_minutes(60);
        offer.collect_until = NOW.plus_minutes(90);
        surplus::put_offer(&mut tx, &offer).await.expect("adds");
        assert_eq!(surplus::offer_by_id(&mut tx, offer.id).await.expect("reads").as_ref(), Some(&offer));
        let goes_on = Some(day("2026-06-04"));
        let claim = |id| Claim::of(&offer, Taking { id: Id::new(id), buyer_id: heron, grams: taken, goes_on }, NOW);
        let (first, second) = (claim(6), claim(7));
        for buyer in [heron, kettle] {
            surplus::ask_buyer(&mut tx, offer.id, buyer, NOW).await.expect("asks");
        }
        for claim in [&first, &second] {
            surplus::add_claim(&mut tx, claim, None).await.expect("claims");
            offer = offer::apply(&offer, offer::Event::Take(taken), NOW).expect("takes");
        }
        let second = claim::apply(&second, claim::Event::GiveBack, NOW).expect("gives back");
        surplus::put_state(&mut tx, &second).await.expect("gives back");
        offer = offer::apply(&offer, offer::Event::Return(taken), NOW).expect("returns");
        surplus::put_offer(&mut tx, &offer).await.expect("puts");
        assert_eq!(surplus::claims_waiting(&mut tx).await.expect("reads"), std::slice::from_ref(&first));
        let in_line = claim::apply(&first, claim::Event::JoinLine(Id::new(99)), NOW).expect("becomes a line");
        surplus::put_state(&mut tx, &in_line).await.expect("becomes a line");
        assert_eq!(surplus::claim_by_id(&mut tx, first.id).await.expect("reads").as_ref(), Some(&in_line));
        assert!(surplus::claims_waiting(&mut tx).await.expect("reads").is_empty(), "it is the line's stock now");
        assert_eq!(surplus::claims_of(&mut tx, offer.id).await.expect("reads"), [in_line, second]);
        surplus::set_declined(&mut tx, offer.id, kettle, Some(NOW)).await.expect("declines");
        offer = offer::apply(&offer, offer::Event::Yield(Grams::new(1000)), NOW).expect("yields");
        surplus::put_offer(&mut tx, &offer).await.expect("puts");
        assert!(surplus::answered(&mut tx, NOW).await.expect("reads").is_empty(), "it is not over");
        offer = offer::apply(&offer, offer::Event::Close, NOW.plus_minutes(60)).expect("closes");
        surplus::put_offer(&mut tx, &offer).await.expect("puts");
        assert_eq!(surplus::offers(&mut tx).await.expect("reads"), std::slice::from_ref(&offer));
        let answers = surplus::answered(&mut tx, NOW).await.expect("reads");
        let told: Vec<_> = answers.iter().map(|one| (one.buyer_id, one.taken, one.has_declined, one.left)).collect();
        let left = Grams::new(1500);
        assert_eq!(told, [(heron, taken, false, left), (kettle, Grams::ZERO, true, left)]);
        assert!(surplus::answered(&mut tx, NOW.plus_minutes(1)).await.expect("reads").is_empty());

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
        for (kind, grams) in [(MoveKind::Market, 400), (MoveKind::Dried, 50), (MoveKind::Returned, -100)] {
            let movement = Movement { kind, subject: None, person_id: None, now: NOW };
            cold_room::take_from_lot(&mut tx, lot.id, Grams::new(grams), &movement).await.expect("takes");
        }
        let carried = |grams| Carried { crop: "oyster".into(), at: NOW, grams: Grams::new(grams) };
        assert_eq!(cold_room::carried(&mut tx, NOW).await.expect("reads"), [carried(400), carried(-100)]);
        tx.commit().await.expect("commits");
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
