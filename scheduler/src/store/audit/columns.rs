//! What every column holds, table by table. `readable` reads each value by it; a test holds that no column of the migrations
//! is left out.

use super::super::row::from_word;
use super::super::{cold_room, deliveries, growing};
use super::Form;
use crate::crop::CropKey;
use crate::harvest::crop_changes::Changes;
use crate::people::{HourClock, Role, WhenSilent};
use crate::quantity::UnitSystem;
use crate::surplus::{drop, standing};
use serde::de::DeserializeOwned;

/// What a column holds.
#[derive(Clone, Copy)]
pub(super) enum Holds {
    /// An identifier, a chat's number, a weight that may be negative: any whole number.
    Number,
    /// A whole number from the first to the last.
    Between(i64, i64),
    /// An instant that has been.
    Past,
    /// An instant that has been or comes within so many days.
    Within(i64),
    /// An ISO date.
    Day,
    /// A text that is not empty.
    Text,
    /// Any text.
    Anything,
    /// A text for which this holds.
    Read(fn(&str) -> bool),
    /// What others than the store read, while the row matters.
    Form(Form),
    /// RFC 5545 lines, while the row matters.
    Recurrence,
}

/// What becomes of a value that cannot be read.
#[derive(Clone, Copy)]
pub(super) enum Cure {
    /// A person has to say what is right.
    Ask,
    /// The present instant.
    Now,
    /// No value.
    Empty,
    /// The row is taken away: it only helped.
    Delete,
    /// The message is set aside, so that those behind it go.
    SetAside,
}

/// One column.
pub(super) struct Column {
    pub name: &'static str,
    pub holds: Holds,
    pub cure: Cure,
}

/// One table. A row matters while none of the columns in `over_when` has a value.
pub(super) struct Kept {
    pub table: &'static str,
    pub columns: &'static [Column],
    pub over_when: &'static [&'static str],
}

const fn asks(name: &'static str, holds: Holds) -> Column {
    Column { name, holds, cure: Cure::Ask }
}

const fn cured(name: &'static str, holds: Holds, cure: Cure) -> Column {
    Column { name, holds, cure }
}

const fn kept(table: &'static str, columns: &'static [Column]) -> Kept {
    Kept { table, columns, over_when: &[] }
}

const fn while_none(over_when: &'static [&'static str], kept: Kept) -> Kept {
    Kept { over_when, ..kept }
}

fn word<T: DeserializeOwned>(text: &str) -> bool {
    from_word::<T>(text).is_some()
}

fn json<T: DeserializeOwned>(text: &str) -> bool {
    serde_json::from_str::<T>(text).is_ok()
}

fn is_outcome(text: &str) -> bool {
    ["done", "missed", "called_off"].contains(&text)
}

fn is_hash(text: &str) -> bool {
    text.len() == 64 && text.bytes().all(|byte| byte.is_ascii_hexdigit())
}

fn is_crop_key(text: &str) -> bool {
    text.parse::<CropKey>().is_ok()
}

const MOST: i64 = i64::MAX;
const WEIGHT: Holds = Holds::Between(0, MOST);
const SOME_WEIGHT: Holds = Holds::Between(1, MOST);
const MINUTE: Holds = Holds::Between(0, 24 * 60 - 1);
const WEEKDAY: Holds = Holds::Between(0, 6);
const FLAG: Holds = Holds::Between(0, 1);
/// Tenths of a degree Celsius of a place with people in it.
const WARMTH: Holds = Holds::Between(-600, 700);
/// The farm plans no further ahead than a year of food banks' dates.
const PLANNED: Holds = Holds::Within(400);
/// Longest wait of a message: quiet hours and the service's own wish are hours.
const WAIT: Holds = Holds::Within(8);

pub(super) const ALL: &[Kept] = &[
    kept("farm_lock", &[asks("id", Holds::Number), asks("turn", Holds::Between(0, MOST))]),
    kept("setting", &[asks("name", Holds::Text), asks("value", Holds::Anything)]),
    kept(
        "buyer",
        &[
            asks("id", Holds::Number),
            asks("name", Holds::Text),
            asks("when_silent", Holds::Read(word::<WhenSilent>)),
            asks("weight", Holds::Between(1, MOST)),
            asks("joined_at", Holds::Past),
            asks("left_at", Holds::Past),
        ],
    ),
    kept(
        "partner",
        &[
            asks("id", Holds::Number),
            asks("name", Holds::Text),
            asks("address", Holds::Anything),
            asks("travel_minutes", Holds::Between(0, 24 * 60)),
            asks("least_g", WEIGHT),
            asks("greatest_g", WEIGHT),
            asks("crops", Holds::Read(json::<Vec<String>>)),
            asks("has_cold_store", FLAG),
            asks("joined_at", Holds::Past),
            asks("left_at", Holds::Past),
            asks("need", Holds::Between(0, 255)),
        ],
    ),
    kept(
        "partner_hours",
        &[
            asks("partner_id", Holds::Number),
            asks("weekday", WEEKDAY),
            asks("opens_minute", MINUTE),
            asks("closes_minute", Holds::Between(1, 24 * 60)),
        ],
    ),
    kept("partner_closed", &[asks("partner_id", Holds::Number), cured("day", Holds::Day, Cure::Ask)]),
    kept("partner_full", &[asks("partner_id", Holds::Number), cured("day", Holds::Day, Cure::Ask)]),
    kept(
        "person",
        &[
            asks("id", Holds::Number),
            asks("chat_id", Holds::Number),
            asks("name", Holds::Text),
            asks("role", Holds::Read(word::<Role>)),
            asks("language", Holds::Text),
            asks("units", Holds::Read(word::<UnitSystem>)),
            asks("hour_clock", Holds::Read(word::<HourClock>)),
            asks("buyer_id", Holds::Number),
            asks("partner_id", Holds::Number),
            asks("joined_at", Holds::Past),
            asks("left_at", Holds::Past),
            asks("unreachable_at", Holds::Past),
            asks("quiet_from", MINUTE),
            asks("quiet_to", MINUTE),
        ],
    ),
    kept(
        "family_group",
        &[
            asks("chat_id", Holds::Number),
            asks("language", Holds::Text),
            asks("joined_at", Holds::Past),
            asks("named_by", Holds::Number),
            asks("paused_at", Holds::Past),
        ],
    ),
    kept(
        "invitation",
        &[
            asks("id", Holds::Number),
            asks("code_hash", Holds::Read(is_hash)),
            asks("role", Holds::Read(word::<Role>)),
            asks("buyer_id", Holds::Number),
            asks("partner_id", Holds::Number),
            asks("made_by", Holds::Number),
            asks("made_at", Holds::Past),
            cured("expires_at", Holds::Within(400), Cure::Now),
            asks("used_at", Holds::Past),
            asks("used_by", Holds::Number),
        ],
    ),
    kept("takeover", &[asks("invitation_id", Holds::Number), asks("person_id", Holds::Number)]),
    kept("inbox", &[asks("update_id", Holds::Number), cured("received_at", Holds::Past, Cure::Now)]),
    while_none(
        &["sent_at", "failed_at"],
        kept(
            "outbox",
            &[
                asks("id", Holds::Number),
                asks("chat_id", Holds::Number),
                asks("urgency", Holds::Between(0, 2)),
                cured("body", Holds::Form(Form::Message), Cure::SetAside),
                cured("made_at", Holds::Past, Cure::Now),
                cured("not_before", WAIT, Cure::Now),
                asks("tries", Holds::Between(0, MOST)),
                cured("leased_until", Holds::Within(1), Cure::Empty),
                cured("sent_at", Holds::Past, Cure::Now),
                cured("failed_at", Holds::Past, Cure::Now),
                asks("reason", Holds::Anything),
                asks("cause", Holds::Anything),
                asks("card", Holds::Anything),
                asks("lane", Holds::Between(0, 2)),
                asks("useful_until", PLANNED),
                asks("put_back_for", Holds::Anything),
            ],
        ),
    ),
    kept(
        "held",
        &[
            asks("id", Holds::Number),
            asks("chat_id", Holds::Number),
            asks("card", Holds::Anything),
            cured("body", Holds::Form(Form::Message), Cure::Delete),
            cured("due_at", WAIT, Cure::Now),
            asks("useful_until", PLANNED),
            asks("cause", Holds::Anything),
        ],
    ),
    kept(
        "card",
        &[
            asks("chat_id", Holds::Number),
            cured("name", Holds::Text, Cure::Delete),
            cured("message_id", Holds::Between(1, MOST), Cure::Delete),
            cured("changed_at", Holds::Past, Cure::Now),
            asks("shown_from", Holds::Number),
        ],
    ),
    while_none(
        &["void_at"],
        kept(
            "button",
            &[
                asks("token", Holds::Text),
                asks("chat_id", Holds::Number),
                asks("card", Holds::Anything),
                cured("intent", Holds::Form(Form::Intent), Cure::Delete),
                cured("made_at", Holds::Past, Cure::Now),
                cured("void_at", Holds::Past, Cure::Now),
            ],
        ),
    ),
    kept(
        "question",
        &[
            asks("chat_id", Holds::Number),
            cured("waiting", Holds::Form(Form::Question), Cure::Delete),
            cured("asked_at", Holds::Past, Cure::Delete),
            cured("expires_at", Holds::Within(60), Cure::Delete),
        ],
    ),
    kept(
        "knock",
        &[
            asks("chat_id", Holds::Number),
            cured("first_at", Holds::Past, Cure::Delete),
            cured("times", Holds::Between(0, MOST), Cure::Delete),
        ],
    ),
    kept(
        "occurrence",
        &[
            asks("key", Holds::Text),
            asks("job", Holds::Text),
            asks("subject", Holds::Number),
            asks("day", Holds::Day),
            asks("due_at", PLANNED),
            asks("useful_until", Holds::Within(800)),
            asks("acted_at", Holds::Past),
            asks("outcome", Holds::Read(is_outcome)),
            asks("tries", Holds::Between(0, MOST)),
            cured("try_at", Holds::Within(1), Cure::Empty),
            asks("fault", Holds::Anything),
            asks("aside_at", Holds::Past),
        ],
    ),
    kept(
        "batch",
        &[
            asks("id", Holds::Number),
            asks("crop", Holds::Text),
            asks("room", Holds::Text),
            asks("units", Holds::Between(1, MOST)),
            asks("dry_g_per_unit", SOME_WEIGHT),
            asks("started_on", Holds::Day),
            asks("closed_on", Holds::Day),
        ],
    ),
    kept(
        "flush",
        &[
            asks("id", Holds::Number),
            asks("batch_id", Holds::Number),
            asks("number", Holds::Between(1, MOST)),
            asks("initiated_on", Holds::Day),
            asks("pins_on", Holds::Day),
            asks("units_lost", Holds::Between(0, MOST)),
            asks("closed_on", Holds::Day),
        ],
    ),
    kept(
        "growing_event",
        &[
            asks("id", Holds::Number),
            asks("batch_id", Holds::Number),
            asks("flush_id", Holds::Number),
            asks("kind", Holds::Read(word::<growing::EventKind>)),
            asks("on_day", Holds::Day),
            asks("units", Holds::Number),
            asks("grams", Holds::Number),
            asks("at", Holds::Past),
            asks("person_id", Holds::Number),
        ],
    ),
    kept(
        "lot",
        &[
            asks("id", Holds::Number),
            asks("crop", Holds::Text),
            asks("flush_id", Holds::Number),
            asks("picked_on", Holds::Day),
            asks("ready_on", Holds::Day),
            asks("keeps_until", Holds::Day),
            asks("picked_g", SOME_WEIGHT),
            asks("left_g", WEIGHT),
            asks("made_at", Holds::Past),
            asks("keeps_cold", Holds::Day),
        ],
    ),
    kept(
        "lot_move",
        &[
            asks("id", Holds::Number),
            asks("lot_id", Holds::Number),
            asks("kind", Holds::Read(word::<cold_room::MoveKind>)),
            asks("grams", Holds::Number),
            asks("subject", Holds::Number),
            asks("at", Holds::Past),
            asks("person_id", Holds::Number),
        ],
    ),
    while_none(
        &["ended_at"],
        kept(
            "standing",
            &[
                asks("id", Holds::Number),
                asks("buyer_id", Holds::Number),
                asks("crop", Holds::Text),
                asks("grams", SOME_WEIGHT),
                asks("recurrence", Holds::Recurrence),
                asks("paused_from", Holds::Day),
                asks("resumes_on", Holds::Day),
                asks("made_at", Holds::Past),
                asks("made_by", Holds::Number),
                asks("ended_at", Holds::Past),
            ],
        ),
    ),
    kept("standing_change", &[asks("standing_id", Holds::Number), asks("day", Holds::Day), asks("grams", SOME_WEIGHT)]),
    kept(
        "order_line",
        &[
            asks("buyer_id", Holds::Number),
            asks("day", Holds::Day),
            asks("crop", Holds::Text),
            asks("grams", SOME_WEIGHT),
            asks("made_at", Holds::Past),
            asks("made_by", Holds::Number),
        ],
    ),
    kept(
        "order_undo",
        &[
            asks("buyer_id", Holds::Number),
            cured("made_at", Holds::Past, Cure::Delete),
            cured("before", Holds::Read(json::<serde_json::Value>), Cure::Delete),
        ],
    ),
    kept(
        "delivery",
        &[
            asks("day", Holds::Day),
            asks("closed_at", Holds::Past),
            asks("seed", Holds::Number),
            asks("answers_by", Holds::Within(60)),
            asks("settled_at", Holds::Past),
            asks("packed_at", Holds::Past),
            asks("delivered_at", Holds::Past),
            asks("holds_permille", Holds::Between(0, 1000)),
            asks("shared_at", Holds::Past),
            asks("packed_assumed", Holds::Between(0, 1)),
        ],
    ),
    kept(
        "award",
        &[
            asks("id", Holds::Number),
            asks("buyer_id", Holds::Number),
            asks("day", Holds::Day),
            asks("crop", Holds::Text),
            asks("source", Holds::Read(word::<deliveries::Source>)),
            asks("asked_g", WEIGHT),
            asks("promised_g", WEIGHT),
            asks("delivered_g", WEIGHT),
            asks("state", Holds::Read(word::<deliveries::State>)),
            asks("assumed", Holds::Between(0, 1)),
        ],
    ),
    kept(
        "award_event",
        &[
            asks("id", Holds::Number),
            asks("award_id", Holds::Number),
            asks("at", Holds::Past),
            asks("promised_g", WEIGHT),
            asks("why", Holds::Read(word::<deliveries::Why>)),
            asks("person_id", Holds::Number),
        ],
    ),
    kept(
        "forecast_record",
        &[
            asks("day", Holds::Day),
            asks("crop", Holds::Text),
            asks("made_at", Holds::Past),
            asks("p10_g", WEIGHT),
            asks("p50_g", WEIGHT),
            asks("p90_g", WEIGHT),
            asks("promise_g", WEIGHT),
        ],
    ),
    kept("market_hold", &[asks("day", Holds::Day), asks("crop", Holds::Text), asks("grams", WEIGHT)]),
    kept(
        "offer",
        &[
            asks("id", Holds::Number),
            asks("crop", Holds::Text),
            asks("grams", SOME_WEIGHT),
            asks("left_g", WEIGHT),
            asks("least_g", WEIGHT),
            asks("price_cents_per_kg", Holds::Between(0, MOST)),
            asks("made_at", Holds::Past),
            asks("deadline", Holds::Within(60)),
            asks("collect_until", Holds::Within(90)),
            asks("closed_at", Holds::Past),
        ],
    ),
    kept(
        "offer_buyer",
        &[
            asks("offer_id", Holds::Number),
            asks("buyer_id", Holds::Number),
            asks("asked_at", Holds::Past),
            asks("declined_at", Holds::Past),
        ],
    ),
    kept(
        "offer_claim",
        &[
            asks("id", Holds::Number),
            asks("offer_id", Holds::Number),
            asks("buyer_id", Holds::Number),
            asks("grams", SOME_WEIGHT),
            asks("at", Holds::Past),
            asks("person_id", Holds::Number),
            asks("collected_at", Holds::Past),
            asks("given_back_at", Holds::Past),
            asks("goes_on", Holds::Day),
            asks("award_id", Holds::Number),
            asks("assumed", Holds::Between(0, 1)),
        ],
    ),
    kept(
        "drop_off",
        &[
            asks("id", Holds::Number),
            asks("chain", Holds::Number),
            asks("partner_id", Holds::Number),
            asks("state", Holds::Read(word::<drop::State>)),
            asks("opens_at", PLANNED),
            asks("closes_at", PLANNED),
            asks("proposed_at", Holds::Past),
            asks("answer_by", PLANNED),
            asks("agreed_at", Holds::Past),
            asks("eve_reminded_at", Holds::Past),
            asks("leave_reminded_at", Holds::Past),
            asks("handed_over_at", Holds::Past),
            asks("temperature_dc", WARMTH),
            asks("standing_id", Holds::Number),
            asks("assumed", Holds::Between(0, 1)),
        ],
    ),
    kept(
        "drop_line",
        &[
            asks("drop_id", Holds::Number),
            asks("crop", Holds::Text),
            asks("grams", SOME_WEIGHT),
            asks("handed_g", WEIGHT),
        ],
    ),
    kept(
        "giving_ledger",
        &[
            asks("id", Holds::Number),
            asks("at", Holds::Past),
            asks("day", Holds::Day),
            asks("partner_id", Holds::Number),
            asks("drop_id", Holds::Number),
            asks("lot_id", Holds::Number),
            asks("crop", Holds::Text),
            asks("grams", Holds::Number),
            asks("value_cents", Holds::Number),
            asks("person_id", Holds::Number),
            asks("corrects", Holds::Number),
        ],
    ),
    kept(
        "standing_drop",
        &[
            asks("id", Holds::Number),
            asks("partner_id", Holds::Number),
            asks("recurrence", Holds::Recurrence),
            asks("opens_minute", MINUTE),
            asks("state", Holds::Read(word::<standing::State>)),
            asks("proposed_at", Holds::Past),
            asks("agreed_at", Holds::Past),
            asks("ended_at", Holds::Past),
        ],
    ),
    kept(
        "surplus_rule",
        &[
            asks("id", Holds::Number),
            asks("crop", Holds::Text),
            asks("weekday", WEEKDAY),
            asks("minute", MINUTE),
            asks("made_at", Holds::Past),
            asks("made_by", Holds::Number),
            asks("ended_at", Holds::Past),
        ],
    ),
    kept(
        "room_temperature",
        &[
            asks("id", Holds::Number),
            asks("room", Holds::Text),
            asks("on_day", Holds::Day),
            asks("temperature_dc", WARMTH),
            asks("at", Holds::Past),
            asks("person_id", Holds::Number),
        ],
    ),
    kept(
        "cold_room_temperature",
        &[
            asks("id", Holds::Number),
            asks("temperature_dc", WARMTH),
            asks("at", Holds::Past),
            asks("person_id", Holds::Number),
        ],
    ),
    kept(
        "crop",
        &[
            asks("key", Holds::Read(is_crop_key)),
            asks("grows_like", Holds::Read(is_crop_key)),
            asks("changes", Holds::Read(json::<Changes>)),
            asks("resting_since", Holds::Past),
            asks("added_at", Holds::Past),
        ],
    ),
];

#[cfg(test)]
mod tests {
    use super::super::shape;
    use super::ALL;

    /// A column that a migration adds says here what it holds, or is never read by the check.
    #[tokio::test]
    async fn every_column_of_the_migrations_says_what_it_holds() {
        let expected = shape::expected().await.expect("the migrations run");
        for table in &expected.tables {
            let kept = ALL.iter().find(|kept| kept.table == table.name);
            let kept = kept.unwrap_or_else(|| panic!("{} is not listed", table.name));
            let mut listed: Vec<&str> = kept.columns.iter().map(|column| column.name).collect();
            let mut there: Vec<&str> = table.columns.iter().map(|column| column.name.as_str()).collect();
            listed.sort_unstable();
            there.sort_unstable();
            assert_eq!(listed, there, "{}", table.name);
        }
        assert_eq!(ALL.len(), expected.tables.len());
    }
}
