//! Calendar files read by a library nobody here wrote: icalendar (PyPI), by `clients/events.py`.

use anyhow::Context;
use std::io::Write;
use std::process::{Command, Stdio};

/// The events of a calendar file (RFC 5545) as the library reads them; `None`, and said so, where it is not installed.
///
/// # Errors
/// When the library does not take the file.
///
/// # Panics
/// In CI, where the library must be there.
pub fn read(file: &[u8]) -> anyhow::Result<Option<serde_json::Value>> {
    let python = std::env::var("PINSET_TEST_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let library = Command::new(&python).args(["-c", "import icalendar"]).stderr(Stdio::null()).status();
    if !library.is_ok_and(|status| status.success()) {
        assert!(std::env::var_os("CI").is_none(), "in CI {python} must find the icalendar library");
        eprintln!("skipped: {python} finds no icalendar library");
        return Ok(None);
    }
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/clients/events.py");
    let mut parser = Command::new(&python).arg(script).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn()?;
    parser.stdin.take().context("its input")?.write_all(file)?;
    let output = parser.wait_with_output()?;
    anyhow::ensure!(output.status.success(), "the file was not read");
    Ok(Some(serde_json::from_slice(&output.stdout)?))
}
