//! How long everything is kept. What only helps the conversation has an age at which it goes ([`AGES`]); what the family or
//! the law may ask about later stays for ever ([`KEPT`]). A test holds that every table is in one of the two.
//!
//! [`tidy`] takes away at most so many rows of each kind at a time: the farm's write lock is held for a moment, and whoever
//! orders meanwhile waits no longer than behind another order.

use super::row::Columns;
use super::{Result, Tx};
use crate::clock::UtcSeconds;
use chrono_tz::Tz;

/// What a kind's age is counted from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Since {
    /// A column of UTC seconds.
    Instant,
    /// A column with a local date.
    Day,
}

/// One kind of rows that go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Age {
    pub what: &'static str,
    pub table: &'static str,
    /// Days after which they go.
    pub days: i64,
    /// Why no later, and why no earlier.
    pub why: &'static str,
    /// The columns of the table's primary key.
    key: &'static str,
    since: Since,
    /// Which rows; `$1` is the instant or the day before which they go.
    rows: &'static str,
}

/// Everything that goes.
pub const AGES: &[Age] = &[
    Age {
        what: "counts of how fast somebody writes",
        table: "knock",
        days: 1,
        why: "they are counted by the minute and by the hour",
        key: "chat_id",
        since: Since::Instant,
        rows: "first_at < $1",
    },
    Age {
        what: "marks of updates that were taken",
        table: "inbox",
        days: 14,
        why: "the service keeps an update for a day, and gives no number again within a week (Bot API reference)",
        key: "update_id",
        since: Since::Instant,
        rows: "received_at < $1",
    },
    Age {
        what: "messages that were sent",
        table: "outbox",
        days: 30,
        why: "for a month the log's lines can be followed to what was said; the newest stays, as identifiers go on after it",
        key: "id",
        since: Since::Instant,
        rows: "sent_at < $1 AND id < (SELECT MAX(newest.id) FROM outbox AS newest)",
    },
    Age {
        what: "messages that were set aside",
        table: "outbox",
        days: 365,
        why: "whoever looks into why somebody was not told may do so a season later",
        key: "id",
        since: Since::Instant,
        rows: "failed_at < $1 AND id < (SELECT MAX(newest.id) FROM outbox AS newest)",
    },
    Age {
        what: "held messages that were never worth sending",
        table: "held",
        days: 7,
        why: "what is held goes within a night; only a clock that was wrong leaves one behind",
        key: "id",
        since: Since::Instant,
        rows: "useful_until < $1",
    },
    Age {
        what: "buttons whose card has moved on",
        table: "button",
        days: 30,
        why: "for a month a press on an old card also takes its dead buttons off; later it is only told to be old",
        key: "token",
        since: Since::Instant,
        rows: "void_at < $1",
    },
    Age {
        what: "buttons that still work",
        table: "button",
        days: 90,
        why: "no delivery, offer or drop that a card is about is still open after a quarter; the same card comes by command",
        key: "token",
        since: Since::Instant,
        rows: "made_at < $1 AND void_at IS NULL",
    },
    Age {
        what: "which message a card is",
        table: "card",
        days: 90,
        why: "as its buttons: a card that old is written anew, not edited far up in the chat",
        key: "chat_id, name",
        since: Since::Instant,
        rows: "changed_at < $1",
    },
    Age {
        what: "questions that nobody answered",
        table: "question",
        days: 1,
        why: "they are over after an hour",
        key: "chat_id",
        since: Since::Instant,
        rows: "expires_at < $1",
    },
    Age {
        what: "changes of account that did not happen",
        table: "takeover",
        days: 30,
        why: "as the invitation they belong to",
        key: "invitation_id",
        since: Since::Instant,
        rows: "invitation_id IN (SELECT id FROM invitation WHERE used_at IS NULL AND expires_at < $1)",
    },
    Age {
        what: "invitations that nobody used",
        table: "invitation",
        days: 30,
        why: "for a month whoever comes late is told that it is over; who let whom in stays",
        key: "id",
        since: Since::Instant,
        rows: "used_at IS NULL AND expires_at < $1
            AND NOT EXISTS (SELECT 1 FROM takeover WHERE takeover.invitation_id = invitation.id)",
    },
    Age {
        what: "what the timetable has done",
        table: "occurrence",
        days: 90,
        why: "a key must not come twice while it can be planned again; whoever looks for a missed job has a season",
        key: "key",
        since: Since::Instant,
        rows: "outcome IS NOT NULL AND acted_at < $1",
    },
    Age {
        what: "what an order was before its last change",
        table: "order_undo",
        days: 14,
        why: "it can be undone until the cut-off",
        key: "buyer_id",
        since: Since::Instant,
        rows: "made_at < $1",
    },
    Age {
        what: "other weights of a standing order on days that are over",
        table: "standing_change",
        days: 60,
        why: "the day's own lines say what was asked; until then it may be explained",
        key: "standing_id, day",
        since: Since::Day,
        rows: "day < $1",
    },
    Age {
        what: "what was kept for a market that is over",
        table: "market_hold",
        days: 60,
        why: "the cold room's moves say what went there",
        key: "day, crop",
        since: Since::Day,
        rows: "day < $1",
    },
    Age {
        what: "dates on which a food bank was closed",
        table: "partner_closed",
        days: 60,
        why: "no drop is planned for a day that is over",
        key: "partner_id, day",
        since: Since::Day,
        rows: "day < $1",
    },
    Age {
        what: "dates on which a food bank was full",
        table: "partner_full",
        days: 60,
        why: "as those on which it was closed",
        key: "partner_id, day",
        since: Since::Day,
        rows: "day < $1",
    },
];

/// Tables of which nothing goes, and why.
pub const KEPT: &[(&str, &str)] = &[
    ("farm_lock", "one row"),
    ("setting", "one row a setting"),
    ("buyer", "who bought stays with what they bought"),
    ("partner", "who was given to stays with what was given"),
    ("partner_hours", "a few rows a food bank"),
    ("person", "who did something stays with what they did"),
    ("family_group", "a row a group"),
    ("batch", "the record that the forecast learns from, and where a lot came from"),
    ("flush", "as its batch"),
    ("growing_event", "as its batch"),
    ("room_temperature", "as the batches that grew in it"),
    ("cold_room_temperature", "how food was kept, for whoever asks later"),
    ("lot", "food is traced back to its batch and on to whoever got it"),
    ("lot_move", "as its lot"),
    ("standing", "what a restaurant had asked for"),
    ("order_line", "what a restaurant had asked for"),
    ("delivery", "what was promised and brought, a row a delivery day"),
    ("award", "what was promised and brought"),
    ("award_event", "why a promise became what it is"),
    ("forecast_record", "how honest the forecast was"),
    ("offer", "from which the farm learns who takes what"),
    ("offer_buyer", "as its offer"),
    ("offer_claim", "food is traced on to whoever got it"),
    ("drop_off", "what was given, for the yearly sheet"),
    ("drop_line", "as its drop"),
    ("giving_ledger", "what was given, for the yearly sheet"),
    ("standing_drop", "as the drops that were filled for it"),
    ("surplus_rule", "a few rows a year, made by hand"),
    ("crop", "a row a crop"),
];

/// Takes away what has come of age, at most `most` rows of each kind; whether there may be more.
///
/// # Errors
/// Whatever the store fails with.
pub async fn tidy(tx: &mut Tx, (now, zone): (UtcSeconds, Tz), most: i64) -> Result<bool> {
    // Cards from before it was kept when they changed: their time begins now.
    let query = sqlx::query("UPDATE card SET changed_at = $1 WHERE changed_at IS NULL");
    tx.execute(query.bind(now.get())).await?;
    let mut is_more = false;
    for age in AGES {
        let before = now.plus_minutes(-age.days * 24 * 60);
        let text = format!(
            "DELETE FROM {} WHERE ({}) IN (SELECT {} FROM {} WHERE {} LIMIT $2)",
            age.table, age.key, age.key, age.table, age.rows
        );
        let query = sqlx::query(sqlx::AssertSqlSafe(text));
        let query = match age.since {
            Since::Instant => query.bind(before.get()),
            Since::Day => query.bind(before.local_date(zone).to_string()),
        };
        let gone = tx.execute(query.bind(most)).await?;
        is_more |= i64::try_from(gone).is_ok_and(|gone| gone >= most);
    }
    Ok(is_more)
}

/// How many rows each table has, in the order of [`AGES`] and [`KEPT`].
///
/// # Errors
/// Whatever the store fails with.
pub async fn rows(tx: &mut Tx) -> Result<Vec<(&'static str, i64)>> {
    let mut names: Vec<&'static str> = AGES.iter().map(|age| age.table).collect();
    names.extend(KEPT.iter().map(|(table, _)| *table));
    names.dedup();
    let mut counts = Vec::with_capacity(names.len());
    for name in names {
        let text = format!("SELECT COUNT(*) AS number FROM {name}");
        counts.push((name, tx.one(sqlx::query(sqlx::AssertSqlSafe(text))).await?.integer("number")?));
    }
    Ok(counts)
}

#[cfg(test)]
mod tests {
    use super::super::{Store, schema};
    use super::{AGES, KEPT};
    use std::collections::BTreeSet;

    /// A table that a migration adds says here when its rows go, or why they stay.
    #[tokio::test]
    async fn every_table_has_an_age_or_a_reason_to_stay() {
        let folder = tempfile::tempdir().expect("a folder");
        let url = format!("sqlite://{}", folder.path().join("farm.sqlite").display());
        let store = Store::open(&url).await.expect("opens");
        let mut tx = store.begin_reading().await.expect("begins");
        let there: BTreeSet<String> =
            schema::tables(&mut tx).await.expect("reads").into_iter().map(|table| table.name).collect();
        let aged: BTreeSet<String> = AGES.iter().map(|age| age.table.to_owned()).collect();
        let kept: BTreeSet<String> = KEPT.iter().map(|(table, _)| (*table).to_owned()).collect();
        assert_eq!(aged.union(&kept).cloned().collect::<BTreeSet<_>>(), there);
        assert_eq!(aged.intersection(&kept).next(), None, "in both");
    }
}
