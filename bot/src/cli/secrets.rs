//! Keeps the token out of everything that is printed: it is cut out of every log line and of what a panic says.

use std::io::{self, Write};
use std::sync::OnceLock;

static TOKEN: OnceLock<String> = OnceLock::new();

/// From now on `token` is cut out, and a panic is reported without it.
pub(super) fn keep(token: &str) {
    let _ = TOKEN.set(token.to_owned());
    std::panic::set_hook(Box::new(|panic| {
        let trace = std::backtrace::Backtrace::capture();
        let said = without(TOKEN.get().map(String::as_str), &format!("{panic}\n{trace}"));
        // Nothing can be done where even this cannot be printed.
        let _ = writeln!(io::stderr(), "{said}");
    }));
}

/// `text` without the token; its secret part is cut out wherever it stands, also in an address.
pub(super) fn without(token: Option<&str>, text: &str) -> String {
    match token {
        None => text.to_owned(),
        Some(token) => {
            let secret = token.split_once(':').map_or(token, |(_, secret)| secret);
            text.replace(token, "[token]").replace(secret, "[token]")
        }
    }
}

/// Where log lines go.
pub(super) struct Log;

impl Write for Log {
    fn write(&mut self, line: &[u8]) -> io::Result<usize> {
        match TOKEN.get() {
            None => io::stderr().write_all(line)?,
            // The logger writes a whole line at a time.
            Some(token) => io::stderr().write_all(without(Some(token), &String::from_utf8_lossy(line)).as_bytes())?,
        }
        Ok(line.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        io::stderr().flush()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_is_cut_out_wherever_it_stands() {
        let token = "123456:ABC-secret_part";
        for (text, expected) in [
            (
                "error for https://example.org/bot123456:ABC-secret_part/getMe",
                "error for https://example.org/bot[token]/getMe",
            ),
            ("only the ABC-secret_part", "only the [token]"),
            ("nothing here", "nothing here"),
        ] {
            assert_eq!(without(Some(token), text), expected);
        }
    }
}
