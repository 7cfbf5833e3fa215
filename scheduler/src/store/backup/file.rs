//! A backup as a file: lines of JSON, packed with gzip (RFC 1952). The first line says what it is, a line a table names
//! its columns, a line a row holds its values, and the last line holds the number of rows and the SHA-256 of everything
//! before it. What is cut off, changed or added to is found while reading; nothing depends on the database it came from.

use flate2::Compression;
use flate2::bufread::GzDecoder;
use flate2::write::GzEncoder;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::io::{self, BufRead, BufReader, Read, Write};

/// The form of the file.
const FORM: u32 = 1;
/// Longest line read, bytes: the greatest message is a file of 50 MB (Bot API reference), four thirds as base64.
const LINE_BYTES_MAX: u64 = 80_000_000;

/// What a backup says of itself.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Header {
    /// Always 1.
    pub pinset_backup: u32,
    /// Version of the program that wrote it.
    pub program: String,
    /// Number of the last migration of the database.
    pub schema: i64,
    /// UTC epoch seconds.
    pub made_at: i64,
}

impl Header {
    /// The header of a backup made now by this program.
    pub fn new(schema: i64, made_at: i64) -> Header {
        Header { pinset_backup: FORM, program: env!("CARGO_PKG_VERSION").to_owned(), schema, made_at }
    }
}

/// One value of a row.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    Null,
    Integer(i64),
    Text(String),
    Double(f64),
}

/// One line between the first and the last.
#[derive(Clone, Debug, PartialEq)]
pub enum Line {
    Table { name: String, columns: Vec<String> },
    Row(Vec<Value>),
}

#[derive(Serialize, Deserialize)]
struct TableLine {
    table: String,
    columns: Vec<String>,
}

#[derive(Serialize, Deserialize)]
struct LastLine {
    rows: u64,
    sha256: String,
}

/// Why a file is no whole backup.
#[derive(Debug, thiserror::Error)]
pub enum Damage {
    #[error("it cannot be read: {0}")]
    Unreadable(#[from] io::Error),
    #[error("it is not a backup of this program")]
    NotABackup,
    #[error("line {line} is not what belongs there")]
    Line { line: u64 },
    #[error("it ends before its last line")]
    CutOff,
    #[error("its contents are not those that were written")]
    Changed,
}

/// Writes a backup.
pub struct Writer<W: Write> {
    to: GzEncoder<W>,
    hash: Sha256,
    rows: u64,
}

impl<W: Write> Writer<W> {
    /// Begins a backup.
    ///
    /// # Errors
    /// Whatever writing fails with, here and below.
    pub fn begin(to: W, header: &Header) -> io::Result<Writer<W>> {
        let mut writer = Writer { to: GzEncoder::new(to, Compression::default()), hash: Sha256::new(), rows: 0 };
        writer.line(header)?;
        Ok(writer)
    }

    /// Begins a table.
    pub fn table(&mut self, name: &str, columns: Vec<String>) -> io::Result<()> {
        self.line(&TableLine { table: name.to_owned(), columns })
    }

    /// Adds a row to the table begun last.
    pub fn row(&mut self, values: &[Value]) -> io::Result<()> {
        self.rows += 1;
        self.line(&values.iter().map(as_json).collect::<Vec<_>>())
    }

    /// Writes the last line; the number of rows.
    pub fn finish(mut self) -> io::Result<(W, u64)> {
        let sha256 = hexadecimal(self.hash.clone());
        let rows = self.rows;
        self.line(&LastLine { rows, sha256 })?;
        Ok((self.to.finish()?, rows))
    }

    fn line(&mut self, line: &impl Serialize) -> io::Result<()> {
        let mut text = serde_json::to_vec(line)?;
        text.push(b'\n');
        self.hash.update(&text);
        self.to.write_all(&text)
    }
}

/// Reads a backup line by line.
pub struct Reader<R: Read> {
    from: BufReader<GzDecoder<BufReader<R>>>,
    hash: Sha256,
    line: u64,
    rows: u64,
    width: Option<usize>,
}

impl<R: Read> Reader<R> {
    /// Reads the first line.
    ///
    /// # Errors
    /// [`Damage`], here and below.
    pub fn begin(from: R) -> Result<(Header, Reader<R>), Damage> {
        let from = BufReader::new(GzDecoder::new(BufReader::new(from)));
        let mut reader = Reader { from, hash: Sha256::new(), line: 0, rows: 0, width: None };
        let first = reader.take_line().map_err(|_| Damage::NotABackup)?;
        let header: Header = serde_json::from_slice(&first).map_err(|_| Damage::NotABackup)?;
        if header.pinset_backup != FORM {
            return Err(Damage::NotABackup);
        }
        reader.hash.update(&first);
        Ok((header, reader))
    }

    /// The next line; `None` behind the right last line at the end of the file.
    pub fn next_line(&mut self) -> Result<Option<Line>, Damage> {
        let text = self.take_line()?;
        let wrong = Damage::Line { line: self.line };
        let line = if text.starts_with(b"[") {
            let values: Vec<serde_json::Value> = serde_json::from_slice(&text).map_err(|_| Damage::Changed)?;
            let values = values.into_iter().map(from_json).collect::<Option<Vec<_>>>();
            let values = values.filter(|values| Some(values.len()) == self.width).ok_or(wrong)?;
            self.rows += 1;
            Line::Row(values)
        } else if let Ok(table) = serde_json::from_slice::<TableLine>(&text) {
            self.width = Some(table.columns.len());
            Line::Table { name: table.table, columns: table.columns }
        } else {
            let last: LastLine = serde_json::from_slice(&text).map_err(|_| wrong)?;
            if last.rows != self.rows || last.sha256 != hexadecimal(self.hash.clone()) {
                return Err(Damage::Changed);
            }
            // Reading on also makes gzip check its own sum.
            return if self.from.fill_buf()?.is_empty() { Ok(None) } else { Err(Damage::Changed) };
        };
        self.hash.update(&text);
        Ok(Some(line))
    }

    fn take_line(&mut self) -> Result<Vec<u8>, Damage> {
        let mut text = Vec::new();
        self.line += 1;
        self.from.by_ref().take(LINE_BYTES_MAX).read_until(b'\n', &mut text)?;
        if text.last() == Some(&b'\n') { Ok(text) } else { Err(Damage::CutOff) }
    }
}

/// Integers and texts stand as they are; a double stands as text in an object, so that every bit comes back.
fn as_json(value: &Value) -> serde_json::Value {
    match value {
        Value::Null => serde_json::Value::Null,
        Value::Integer(number) => (*number).into(),
        Value::Text(text) => text.as_str().into(),
        Value::Double(number) => serde_json::json!({ "double": number.to_string() }),
    }
}

fn from_json(value: serde_json::Value) -> Option<Value> {
    Some(match value {
        serde_json::Value::Null => Value::Null,
        serde_json::Value::Number(number) => Value::Integer(number.as_i64()?),
        serde_json::Value::String(text) => Value::Text(text),
        serde_json::Value::Object(object) => Value::Double(object.get("double")?.as_str()?.parse().ok()?),
        _ => return None,
    })
}

fn hexadecimal(hash: Sha256) -> String {
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn written(rows: &[Vec<Value>]) -> Vec<u8> {
        let mut writer = Writer::begin(Vec::new(), &Header::new(5, 1_780_318_800)).expect("begins");
        writer.table("lot", vec!["id".into(), "crop".into()]).expect("writes");
        for row in rows {
            writer.row(row).expect("writes");
        }
        writer.finish().expect("finishes").0
    }

    fn read(bytes: &[u8]) -> Result<Vec<Line>, Damage> {
        let (_, mut reader) = Reader::begin(bytes)?;
        let mut lines = Vec::new();
        while let Some(line) = reader.next_line()? {
            lines.push(line);
        }
        Ok(lines)
    }

    fn value() -> impl Strategy<Value = Value> {
        prop_oneof![
            Just(Value::Null),
            any::<i64>().prop_map(Value::Integer),
            any::<String>().prop_map(Value::Text),
            any::<f64>().prop_filter("a number", |number| !number.is_nan()).prop_map(Value::Double),
        ]
    }

    proptest! {
        #[test]
        fn every_value_comes_back(rows in prop::collection::vec(prop::collection::vec(value(), 2), 0..5)) {
            let lines = read(&written(&rows)).expect("reads");
            let read: Vec<_> = lines.into_iter().skip(1).collect();
            prop_assert_eq!(read, rows.into_iter().map(Line::Row).collect::<Vec<_>>());
        }

        #[test]
        fn a_changed_or_cut_file_is_found(at in any::<prop::sample::Index>(), flip in 1_u8..=255, cut in any::<bool>()) {
            let mut bytes = written(&[vec![Value::Integer(7), Value::Text("oyster".into())]]);
            let at = at.index(bytes.len());
            if cut { bytes.truncate(at) } else { bytes[at] ^= flip }
            let whole = read(&written(&[vec![Value::Integer(7), Value::Text("oyster".into())]])).expect("reads");
            // What means nothing for the contents may differ: time and system in the header (RFC 1952, 2.3.1), and the bits
            // between the end of the last block and the next byte (RFC 1951, 3.2.3).
            if let Ok(lines) = read(&bytes) {
                prop_assert!(!cut && lines == whole, "byte {} was not missed", at);
            }
        }
    }

    /// gzip is read by any other tool: the first bytes are those of RFC 1952, 2.3.1.
    #[test]
    fn the_file_is_gzip_of_lines_of_json() {
        let bytes = written(&[]);
        assert_eq!(bytes[..3], [0x1f, 0x8b, 8]);
        let mut text = String::new();
        GzDecoder::new(bytes.as_slice()).read_to_string(&mut text).expect("unpacks");
        let lines: Vec<serde_json::Value> =
            text.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
        assert_eq!((lines.len(), &lines[0]["schema"], &lines[2]["rows"]), (3, &5.into(), &0.into()));
    }
}
