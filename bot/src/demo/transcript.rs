//! Chats as people read them, on paper.

use bot_api_local::ChatMessage;
use chrono_tz::Tz;
use std::fmt::Write as _;

/// Width of a message, characters.
const WIDTH: usize = 72;

/// A chat with its messages as they stand now, oldest first, each with the local time it was written.
pub fn write(title: &str, messages: &[ChatMessage], zone: Tz) -> String {
    let mut page = format!("\n── {title} {}\n", "─".repeat(WIDTH.saturating_sub(title.chars().count())));
    let mut last_day = None;
    for message in messages.iter().filter(|message| !message.is_deleted) {
        let at = message.date.local(zone);
        if last_day != Some(at.date()) {
            last_day = Some(at.date());
            let _ = writeln!(page, "\n   {}", at.format("%A, %B %-d"));
        }
        let margin = if message.from_bot() { "  │ " } else { "  » " };
        let edited = if message.is_edited { " (edited)" } else { "" };
        let _ = writeln!(page, "\n{}{edited}", at.format("  %H:%M"));
        let text = without_codes(&message.text);
        for line in text.lines().flat_map(wrap) {
            let _ = writeln!(page, "{margin}{line}");
        }
        if let Some(file) = &message.file {
            let _ = writeln!(page, "{margin}📎 {} ({} bytes)", file.file_name, file.bytes.len());
        }
        for row in message.labels() {
            let keys: Vec<String> = row.iter().map(|label| format!("[{label}]")).collect();
            let _ = writeln!(page, "{margin}{}", keys.join(" "));
        }
    }
    page
}

/// Invitation codes are secrets, also made-up ones.
fn without_codes(text: &str) -> String {
    match text.split_once("start=") {
        Some((before, code)) => {
            let rest = code.find(char::is_whitespace).map_or("", |end| &code[end..]);
            format!("{before}start=…{rest}")
        }
        None if text.starts_with("/start ") => "/start …".to_owned(),
        None => text.to_owned(),
    }
}

/// A line cut at blanks so that it fits.
fn wrap(line: &str) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in line.split(' ') {
        let last = lines.last_mut().expect("there is always a line");
        if !last.is_empty() && last.chars().count() + 1 + word.chars().count() > WIDTH {
            lines.push(word.to_owned());
        } else {
            if !last.is_empty() {
                last.push(' ');
            }
            last.push_str(word);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lines_are_cut_at_blanks_and_nothing_is_lost() {
        let long = "five pounds of shiitake ".repeat(9);
        let lines = wrap(long.trim());
        assert!(lines.len() > 2 && lines.iter().all(|line| line.chars().count() <= WIDTH), "{lines:?}");
        assert_eq!(lines.join(" "), long.trim());
    }

    #[test]
    fn codes_are_not_printed() {
        assert_eq!(without_codes("go to https://t.me/x?start=abc now"), "go to https://t.me/x?start=… now");
        assert_eq!(without_codes("/start abc"), "/start …");
    }
}
