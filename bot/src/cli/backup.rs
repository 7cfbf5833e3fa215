//! `pinset backup`, `pinset restore`, `pinset export`: everything out, and back in.

use super::place::Place;
use super::{ExportOptions, FarmOptions, RestoreOptions};
use crate::backups;
use crate::config::Config;
use crate::conversation::table;
use anyhow::Context;
use chrono_tz::Tz;
use scheduler::clock::{Clock, SystemClock, UtcSeconds};
use scheduler::store::backup::file::{Line, Reader, Value};
use scheduler::store::backup::{self, Error};
use scheduler::store::{place, private};
use std::fs::File;
use std::io::{BufWriter, Seek, Write};
use std::path::Path;

/// Numbers with more digits are rounded by a spreadsheet: it counts in IEEE 754 doubles, exact to 2^53.
const EXACT_MAX: u64 = 1 << 53;
/// Tables that only the conversation needs; a backup has them, a spreadsheet has no use for them.
const INNER: [&str; 6] = ["farm_lock", "inbox", "outbox", "card", "button", "question"];

pub(super) async fn write(farm: &FarmOptions, file: &Path) -> anyhow::Result<()> {
    let store = Place::of(farm).open_existing(&farm.database).await?;
    let written = backups::write(&store, file, SystemClock.now()).await?;
    store.close().await;
    println!("{}: {} rows, read back and whole", file.display(), written.rows);
    Ok(())
}

pub(super) async fn restore(options: RestoreOptions) -> anyhow::Result<()> {
    let path = &options.file;
    let open = || File::open(path).with_context(|| format!("{} cannot be read", path.display()));
    let found = backup::check(open()?)?;
    println!("{}: of {}, {} rows, whole", path.display(), found.made_at, found.rows);
    if options.only_check {
        return Ok(());
    }
    let (database, replaces) = (&options.farm.database, options.replace);
    let restored = match options.send_waiting {
        true => backup::restore(open()?, database, replaces).await.map(|restored| (restored, 0)),
        false => backup::restore_quietly(open()?, database, replaces, SystemClock.now()).await,
    };
    match restored {
        Ok((restored, set_aside)) => {
            Place::of(&options.farm).name_restored(database).await?;
            let place = place(database);
            println!("restored: {} rows, in {place}; `pinset check` looks them over", restored.rows);
            if set_aside > 0 {
                println!(
                    "set aside, as most of it went out after the backup was made: messages that waited, {set_aside}; \
                     --send-waiting sends them"
                );
            }
        }
        Err(Error::NotEmpty) => anyhow::bail!(
            "the database holds a farm already, and nothing was changed; stop the bot, make a backup of it, and say \
             --replace to put this one in its place"
        ),
        Err(error) => return Err(error.into()),
    }
    Ok(())
}

pub(super) async fn export(options: ExportOptions) -> anyhow::Result<()> {
    let zone = Config::read(&options.farm.config)?.farm.zone;
    let store = Place::of(&options.farm).open_existing(&options.farm.database).await?;
    let folder = &options.folder;
    private::folder(folder).with_context(|| format!("the folder {} cannot be made", folder.display()))?;
    let (file, _) = backup::write(&store, BufWriter::new(tempfile::tempfile()?), SystemClock.now()).await?;
    store.close().await;
    let mut file = file.into_inner().context("the temporary file cannot be written")?;
    file.rewind()?;
    let (_, mut reader) = Reader::begin(file)?;
    let mut sheet: Option<(String, Vec<String>, Vec<Vec<String>>)> = None;
    let mut tables = 0;
    loop {
        let line = reader.next_line()?;
        if let (Some((_, columns, rows)), Some(Line::Row(values))) = (&mut sheet, &line) {
            rows.push(columns.iter().zip(values).map(|(column, value)| cell(column, value, zone)).collect());
            continue;
        }
        if let Some((name, columns, rows)) = sheet.take().filter(|(name, ..)| !INNER.contains(&name.as_str())) {
            let path = folder.join(format!("{name}.csv"));
            let bytes = table::csv(std::iter::once(columns).chain(rows));
            write_privately(&path, &bytes).with_context(|| format!("{} cannot be written", path.display()))?;
            tables += 1;
        }
        match line {
            Some(Line::Table { name, columns }) => sheet = Some((name, columns, Vec::new())),
            Some(Line::Row(_)) => {}
            None => break,
        }
    }
    println!("{}: {tables} tables; grams and cents are whole numbers, times are those of {zone}", folder.display());
    Ok(())
}

/// Writes a file that only its owner may read, in place of an older one.
fn write_privately(path: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    let folder = path.parent().context("a file in a folder")?;
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
    file.write_all(bytes)?;
    file.persist(path)?;
    Ok(())
}

fn cell(column: &str, value: &Value, zone: Tz) -> String {
    match value {
        Value::Null => String::new(),
        Value::Integer(number) if is_instant(column) => {
            UtcSeconds::new(*number).local(zone).format("%Y-%m-%d %H:%M:%S").to_string()
        }
        Value::Integer(number) if number.unsigned_abs() > EXACT_MAX => format!("#{number}"),
        Value::Integer(number) => number.to_string(),
        Value::Text(text) => text.clone(),
        Value::Double(number) => number.to_string(),
    }
}

/// Whether a column of integers holds UTC seconds, by the names the migrations give.
fn is_instant(column: &str) -> bool {
    column == "at"
        || ["_at", "_until", "not_before", "deadline", "answer_by", "answers_by"]
            .iter()
            .any(|end| column.ends_with(end))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_what_a_spreadsheet_reads_right() {
        let zone = chrono_tz::America::Chicago;
        for (column, value, expected) in [
            // 1780318800 is 2026-06-01 13:00 UTC; Chicago is five hours behind in summer (IANA time zone database).
            ("made_at", Value::Integer(1_780_318_800), "2026-06-01 08:00:00"),
            ("grams", Value::Integer(-100), "-100"),
            ("id", Value::Integer(4_971_973_988_617_027_584), "#4971973988617027584"),
            ("made_by", Value::Integer(1301), "1301"),
            ("left_at", Value::Null, ""),
            ("day", Value::Text("2026-06-04".into()), "2026-06-04"),
        ] {
            assert_eq!(cell(column, &value, zone), expected, "{column}");
        }
    }
}
