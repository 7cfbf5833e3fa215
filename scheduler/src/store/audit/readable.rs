//! Every value of every row, read as what its column holds (`columns`). A value that cannot be read stops whatever needs its
//! row, often long after it was written.

use super::super::backup::file::Value;
use super::super::schema::Kind;
use super::super::{Error, Result, Store, Tx};
use super::columns::{self, Column, Cure, Holds, Kept};
use super::shape::Expected;
use super::{Deed, Fault, Ground, NAMED_MAX, first_of, or_unasked};
use crate::clock::{LocalDate, UtcSeconds};
use crate::orders::recurrence::Recurrence;
use futures_util::TryStreamExt;
use sqlx::Row;
use sqlx::any::AnyRow;
use std::collections::BTreeMap;

/// 2000-01-01T00:00:00Z: nothing of the farm's is older.
const FIRST: UtcSeconds = UtcSeconds::new(946_684_800);
/// A clock may have been set back by so much since a row was written.
const CLOCK_MINUTES: i64 = 24 * 60;

/// A row as a person finds it: its table and the columns of its primary key.
pub(super) fn named(table: &str, key: &[(String, String)]) -> String {
    let key: Vec<String> = key.iter().map(|(column, value)| format!("{column} {value}")).collect();
    format!("{table} ({})", key.join(", "))
}

pub(super) async fn faults(store: &Store, expected: &Expected, ground: &Ground<'_>) -> Result<Vec<Fault>> {
    let mut faults = Vec::new();
    for kept in columns::ALL {
        let mut tx = store.begin_reading().await?;
        // A table that is missing was told of.
        let read = of_table(&mut tx, (kept, expected), ground).await;
        faults.extend(or_unasked(read, &faults)?);
    }
    Ok(faults)
}

async fn of_table(tx: &mut Tx, (kept, expected): (&Kept, &Expected), ground: &Ground<'_>) -> Result<Vec<Fault>> {
    let Some(table) = expected.tables.iter().find(|table| table.name == kept.table) else {
        return Err(Error::malformed("the list of columns", kept.table));
    };
    let names: Vec<&str> = kept.columns.iter().map(|column| column.name).collect();
    let text = format!("SELECT {} FROM {}", names.join(", "), kept.table);
    let keys = expected.keys.get(kept.table).cloned().unwrap_or_default();
    let mut found: BTreeMap<&str, Vec<Fault>> = BTreeMap::new();
    let mut rows = sqlx::query(sqlx::AssertSqlSafe(text)).fetch(&mut *tx.inner);
    while let Some(row) = rows.try_next().await? {
        let is_over = kept.over_when.iter().any(|column| !matches!(plain(&row, column), Some(Value::Null)));
        for column in kept.columns {
            let kind = table.columns.iter().find(|one| one.name == column.name).map(|one| one.kind);
            let Some(problem) = problem(&row, column, (kind, is_over), ground) else { continue };
            let faults = found.entry(column.name).or_default();
            let key: Vec<(String, Value)> =
                keys.iter().map(|key| (key.clone(), plain(&row, key).unwrap_or(Value::Null))).collect();
            faults.push(fault((kept.table, column), &key, &problem, ground.now));
            if faults.len() > 100 * NAMED_MAX {
                break;
            }
        }
    }
    Ok(found.into_values().flat_map(first_of).collect())
}

/// A value whatever its column should hold; `None` when it is neither a number nor a text.
fn plain(row: &AnyRow, column: &str) -> Option<Value> {
    if let Ok(number) = row.try_get::<Option<i64>, _>(column) {
        return Some(number.map_or(Value::Null, Value::Integer));
    }
    row.try_get::<Option<String>, _>(column).ok().map(|text| text.map_or(Value::Null, Value::Text))
}

fn shown(value: &Value) -> String {
    match value {
        Value::Null => "nothing".into(),
        Value::Integer(number) => number.to_string(),
        Value::Double(number) => number.to_string(),
        Value::Text(text) => text.clone(),
    }
}

/// Why a value is not what its column holds. What people wrote is not repeated.
fn problem(
    row: &AnyRow,
    column: &Column,
    (kind, is_over): (Option<Kind>, bool),
    ground: &Ground<'_>,
) -> Option<String> {
    let name = column.name;
    match kind {
        Some(Kind::Integer) => match row.try_get::<Option<i64>, _>(name) {
            Err(_) => Some(format!("{name} is no whole number")),
            Ok(number) => of_number(number?, column.holds, ground.now)
                .map(|why| format!("{name} is {}, {why}", number.unwrap_or_default())),
        },
        _ => match row.try_get::<Option<String>, _>(name) {
            Err(_) => Some(format!("{name} is no text")),
            Ok(text) => of_text(&text?, (column, is_over), ground),
        },
    }
}

fn of_number(number: i64, holds: Holds, now: UtcSeconds) -> Option<String> {
    let instant = |last: UtcSeconds, why: &str| {
        let at = UtcSeconds::new(number);
        if at < FIRST {
            Some("an instant before the year 2000".to_owned())
        } else {
            (at > last).then(|| format!("{at}, {why}"))
        }
    };
    match holds {
        Holds::Between(least, most) if !(least..=most).contains(&number) => Some(match most {
            i64::MAX => format!("and must be at least {least}"),
            _ => format!("and must lie between {least} and {most}"),
        }),
        Holds::Past => instant(now.plus_minutes(CLOCK_MINUTES), "which is still to come"),
        Holds::Within(days) => instant(now.plus_minutes(days * 24 * 60), "which is too far ahead"),
        _ => None,
    }
}

fn of_text(text: &str, (column, is_over): (&Column, bool), ground: &Ground<'_>) -> Option<String> {
    let name = column.name;
    let is_read = match column.holds {
        Holds::Day => text.parse::<LocalDate>().is_ok_and(|day| day.to_string() == text),
        Holds::Text => !text.trim().is_empty(),
        Holds::Read(reads) => reads(text),
        Holds::Form(form) => is_over || (ground.reads)(form, text),
        Holds::Recurrence => is_over || Recurrence::parse(text, ground.zone).is_ok(),
        _ => true,
    };
    if is_read {
        return None;
    }
    Some(match column.holds {
        Holds::Day => format!("{name} is {text:?}, which is no date"),
        Holds::Text => format!("{name} is empty"),
        Holds::Form(_) | Holds::Recurrence => format!("{name} cannot be read by this program"),
        _ if text.len() > 60 => format!("{name} cannot be read"),
        _ => format!("{name} is {text:?}, which the program does not know"),
    })
}

fn fault((table, column): (&str, &Column), key: &[(String, Value)], problem: &str, now: UtcSeconds) -> Fault {
    let name = column.name;
    let shown_key: Vec<(String, String)> = key.iter().map(|(column, value)| (column.clone(), shown(value))).collect();
    let row = named(table, &shown_key);
    let what = format!("{row}: {problem}");
    let conditions = |first: usize| {
        let conditions: Vec<String> =
            (first..).zip(key).map(|(place, (column, _))| format!("{column} = ${place}")).collect();
        conditions.join(" AND ")
    };
    let values = |before: Vec<Value>| before.into_iter().chain(key.iter().map(|(_, value)| value.clone())).collect();
    let at = Value::Integer(now.get());
    let deed = match column.cure {
        Cure::Ask => None,
        Cure::Now => Some(Deed::new(
            format!("UPDATE {table} SET {name} = $1 WHERE {}", conditions(2)),
            values(vec![at]),
            format!("set {name} of {row} to the present"),
        )),
        Cure::Empty => Some(Deed::new(
            format!("UPDATE {table} SET {name} = NULL WHERE {}", conditions(1)),
            values(Vec::new()),
            format!("emptied {name} of {row}"),
        )),
        Cure::Delete => Some(Deed::new(
            format!("DELETE FROM {table} WHERE {}", conditions(1)),
            values(Vec::new()),
            format!("deleted {row}"),
        )),
        Cure::SetAside => Some(Deed::new(
            format!("UPDATE {table} SET failed_at = $1, reason = $2, leased_until = NULL WHERE {}", conditions(3)),
            values(vec![at, Value::Text("it cannot be read".into())]),
            format!("set {row} aside, so that those behind it go"),
        )),
    };
    let mend = match (column.cure, column.holds) {
        (Cure::Now, _) => format!("`pinset check --mend` sets {name} to the present"),
        (Cure::Empty, _) => format!("`pinset check --mend` empties {name}"),
        (Cure::Delete, _) => "`pinset check --mend` deletes the row; nothing a person entered is lost".into(),
        (Cure::SetAside, _) => "`pinset check --mend` sets the message aside, so that those behind it go".into(),
        (Cure::Ask, Holds::Day) => format!("set {name} of that row to the right date, written as 2026-06-04"),
        (Cure::Ask, Holds::Recurrence) if table == "standing" => {
            "end that standing order and let the restaurant place it again".into()
        }
        (Cure::Ask, Holds::Recurrence) => "stop that regular drop and propose it again (/regular)".into(),
        (Cure::Ask, Holds::Past | Holds::Within(_)) => {
            format!("set {name} of that row to the right instant, in seconds since 1970")
        }
        (Cure::Ask, _) => format!("set {name} of that row to what it was in the newest backup"),
    };
    Fault { what, mend, by_itself: deed }
}
