//! Tables for a spreadsheet, as CSV (RFC 4180). Rule: no cell is a formula, whatever somebody called themselves.

/// The rows as a file, the heading first: UTF-8 with its mark before it, without which some spreadsheets garble accents
/// (common practice, no source).
pub fn csv(rows: impl IntoIterator<Item = Vec<String>>) -> Vec<u8> {
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer("\u{feff}".as_bytes().to_vec());
    for row in rows {
        let cells = row.iter().map(|cell| guarded(cell));
        writer.write_record(cells).expect("writing to memory, every row as long as the first");
    }
    writer.into_inner().expect("writing to memory")
}

/// A cell that a spreadsheet would take for a formula gets an apostrophe before it (OWASP, "CSV Injection"); numbers
/// stay numbers.
fn guarded(cell: &str) -> String {
    let is_formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) && cell.parse::<f64>().is_err();
    if is_formula { format!("'{cell}") } else { cell.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The characters named by OWASP, "CSV Injection".
    #[test]
    fn a_cell_is_no_formula() {
        for (cell, expected) in [
            ("=1+1", "'=1+1"),
            ("+cmd", "'+cmd"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("\t=1", "'\t=1"),
            ("-2.500", "-2.500"),
            ("-cmd", "'-cmd"),
            ("Harbour Table", "Harbour Table"),
            ("", ""),
        ] {
            assert_eq!(guarded(cell), expected);
        }
    }

    /// RFC 4180, section 2: CRLF behind each record; cells with commas, quotes or line breaks quoted, quotes doubled.
    #[test]
    fn rows_follow_the_standard() {
        let rows = [vec!["a".to_owned(), "b".to_owned()], vec!["x, \"y\"".to_owned(), "1\n2".to_owned()]];
        assert_eq!(csv(rows), "\u{feff}a,b\r\n\"x, \"\"y\"\"\",\"1\n2\"\r\n".as_bytes());
    }
}
